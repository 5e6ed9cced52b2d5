"""The job card as a PDF: one or two pages, sharp in black and white, fit to be pinned to the wall.

Lays out what `sheet` says; the template takes the largest type that keeps it to two pages.
"""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date
from typing import Final

from beltwright.bench.card import Card
from beltwright.paper.alignment import alignment_drawing
from beltwright.paper.drawing import PAPER, Found, description, drawing
from beltwright.paper.press import Paper, press, printable
from beltwright.paper.sheet import sheet
from beltwright.plant.job import JobKind
from beltwright.units import System

# what the drawing may take of a page [mm]: the width between the margins, and a height
ROOM: Final[dict[Paper, tuple[float, float]]] = {"a4": (186.0, 84.0), "us-letter": (191.9, 76.0)}


def card_pdf(card: Card, system: System, *, paper: Paper = "a4", plant: str = "", base_url: str = "",
             made_on: date | None = None, kind: JobKind = "re-belt", found: Found | None = None) -> bytes:
    """The card of a drive, ready to print.

    base_url: where the plant's pages are served, for the code; without it the code holds the tag
    kind:     the job it is printed for; found: a tension to be shown on the drawing, against its band
    """
    made = sheet(card, system, plant=plant, base_url=base_url, made_on=made_on, kind=kind)
    texts = {"sheet": asdict(made), "paper": paper, "code_words": "scan for this drive" if base_url.strip() else "tag",
             "drawing_words": description(card, system)}
    width, height = ROOM[paper]
    picture = drawing(card, system, replace(PAPER, width=width, height=height), found=found)
    return press("card", texts, {"drawing.svg": picture, "alignment.svg": alignment_drawing(card, system),
                                 "code.svg": qr(made.address)}, made_on)


def qr(words: str) -> str:
    """A QR code as SVG, with its quiet zone; it still reads with a seventh of it dirty or gone."""
    import segno

    return str(segno.make(printable(words), micro=False, error="m", boost_error=True).svg_inline(border=4))
