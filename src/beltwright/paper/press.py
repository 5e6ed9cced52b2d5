"""Templates and texts in, a PDF out: the one place that knows the typesetter.

Texts go in as a JSON file of the typesetter's own, never into the source of a template. Only the shipped face is used
besides the typesetter's built-in ones, so that a sheet looks the same on every machine.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from importlib.resources import as_file, files
from typing import Any, Final, Literal

Paper = Literal["a4", "us-letter"]
PAPERS: Final[Mapping[str, Paper]] = {"a4": "a4", "letter": "us-letter"}
# a word longer than this may be broken anywhere: a tag or a name without a blank
LONG_WORD: Final = 22
_PAGES: Final = re.compile(rb"/Type\s*/Pages\b.*?/Count\s+(\d+)", re.DOTALL)


def press(template: str, data: Mapping[str, Any], pictures: Mapping[str, str], made_on: date | None = None) -> bytes:
    """Set a template with its texts and pictures.

    template: a file of `templates`, without `.typ`
    data:     handed over as `card.json`, words of any kind in it
    pictures: SVG by file name
    made_on:  written into the file as the day it was made, so that the same card gives the same bytes
    """
    import typst

    texts = files("beltwright.paper") / "templates"
    sources = {"main.typ": (texts / f"{template}.typ").read_bytes(), "parts.typ": (texts / "parts.typ").read_bytes(),
               "card.json": json.dumps(clean(data)).encode(),
               **{name: svg.encode() for name, svg in pictures.items()}}
    stamp = datetime.combine(made_on or date(1970, 1, 1), time(), UTC)
    with as_file(files("beltwright.paper") / "fonts") as fonts:
        set_in: Any = typst.compile  # takes files by name too, which its types do not say
        return bytes(set_in(sources, font_paths=[str(fonts)], ignore_system_fonts=True, timestamp=stamp))


def pages(pdf: bytes) -> int:
    """How many pages a PDF of ours has."""
    found = _PAGES.search(pdf)
    assert found is not None
    return int(found[1])


def clean(data: Any) -> Any:
    """Texts without signs that no sheet can hold, and with very long words made breakable."""
    if isinstance(data, str):
        return " ".join(_breakable(word) for word in printable(data).split(" "))
    if isinstance(data, Mapping):
        return {key: clean(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [clean(value) for value in data]
    return data


def printable(words: str) -> str:
    """Words with a blank for every sign that cannot be printed: control signs, halves of signs, direction marks."""
    return "".join(sign if sign.isprintable() else " " for sign in words)


def _breakable(word: str) -> str:
    if len(word) <= LONG_WORD:
        return word
    return "\u200b".join(word[at:at + LONG_WORD // 2] for at in range(0, len(word), LONG_WORD // 2))
