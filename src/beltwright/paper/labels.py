"""Labels for guards: a code that the phone's own camera opens, and the drive's tag in large letters.

The code holds a plain address, nothing else, so that any phone reads it; without the address of the plant's pages it
holds the tag.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from beltwright.errors import InputError
from beltwright.paper.card_pdf import qr
from beltwright.paper.press import Paper, press
from beltwright.paper.sheet import address
from beltwright.plant.drive import Drive

WORDS: Final = "Look at it through the guard. Scan for its card."
WORDS_TAG: Final = "Look at it through the guard."
# labels on a sheet
ON_A_SHEET: Final = 10


def labels_pdf(drives: Sequence[Drive], *, base_url: str = "", paper: Paper = "a4", plant: str = "", used: int = 0,
               made_on: date | None = None) -> bytes:
    """A sheet of labels, ten to a page, or as many sheets as it takes.

    used: places at the start of the first sheet that are gone already
    """
    if not drives:
        raise InputError("no drives to make labels for")
    if not 0 <= used < ON_A_SHEET:
        raise InputError(f"{used} labels of the first sheet used up: from 0 to {ON_A_SHEET - 1} is accepted")
    pictures = {f"code-{at}.svg": qr(address(drive.tag, base_url)) for at, drive in enumerate(drives)}
    labels = [{"tag": "", "name": "", "place": "", "code": "", "address": ""}] * used
    labels += [{"tag": drive.tag, "name": drive.name, "place": drive.place, "code": f"code-{at}.svg",
                "address": address(drive.tag, base_url)} for at, drive in enumerate(drives)]
    texts = {"paper": paper, "plant": plant, "words": WORDS if base_url.strip() else WORDS_TAG, "labels": labels}
    return press("labels", texts, pictures, made_on)
