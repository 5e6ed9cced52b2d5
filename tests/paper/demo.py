"""The drives of the demo plant as cards, and ways to read a drawing back; for the tests of what is printed."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping
from functools import cache
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

from pypdf import PdfReader

from beltwright.bench.card import Card, make_card
from beltwright.desk.survey import read_rows, rows_from

Point = tuple[float, float]
SVG = "{http://www.w3.org/2000/svg}"
EXAMPLES = Path(__file__).parents[2] / "examples" / "pellet_mill.csv"


@cache
def cards() -> Mapping[str, Card]:
    """The card of every drive of the demo plant, by tag."""
    with EXAMPLES.open(encoding="utf-8", newline="") as sheet:
        understood = read_rows(rows_from(list(csv.DictReader(sheet, delimiter=";"))))
    assert not understood.bad
    return {drive.tag: make_card(drive) for drive in understood.drives}


def text_of(pdf: bytes) -> str:
    """All words of a PDF, blanks and breaks as single blanks; the marks for breaking long words dropped."""
    words = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    return re.sub(r"\s+", " ", words.replace("\u200b", ""))


class Drawn:
    """A drawing read back: its elements by class, its scale."""

    def __init__(self, svg: str) -> None:
        self.root = ElementTree.fromstring(svg)

    def all(self, kind: str) -> list[ElementTree.Element]:
        return [element for element in self.root.iter() if kind in element.get("class", "").split()]

    def words(self, kind: str) -> list[str]:
        return [element.text or "" for element in self.all(kind) if element.tag == f"{SVG}text"]

    def circles(self, kind: str) -> list[tuple[Point, float]]:
        return [((float(element.attrib["cx"]), float(element.attrib["cy"])), float(element.attrib["r"]))
                for element in self.all(kind) if element.tag == f"{SVG}circle"]

    def lines(self, kind: str) -> list[list[Point]]:
        """The points of every straight-edged path of a class."""
        return [[(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", element.attrib["d"])]
                for element in self.all(kind) if element.tag == f"{SVG}path"]

    def box(self) -> tuple[float, float, float, float]:
        x, y, wide, high = (float(part) for part in self.root.attrib["viewBox"].split())
        return x, y, wide, high

    def scale(self) -> float:
        """1 to this, as printed."""
        (words,) = self.words("scale")
        found = re.search(r"scale 1 : ([\d.]+)", words)
        assert found, words
        return float(found[1])


def apart(a: Point, b: Point) -> float:
    return math.hypot(a[0] - b[0], a[1] - b[1])
