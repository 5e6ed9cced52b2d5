"""A sheet to draw on: lines, arcs and words in millimetres of paper, out comes SVG.

No style sheet and no script inside, only presentation attributes and class names, so that the drawing may stand inside
a page with a strict content policy and take the page's colours (`currentColor`). Knows nothing of drives.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Final, Literal

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
Weight = Literal["thick", "medium", "thin"]
Dash = Literal["", "dashed", "chain", "dotted"]

WEIGHTS: Final[dict[Weight, float]] = {"thick": 0.55, "medium": 0.32, "thin": 0.18}
# chain: the dash-dot line of centre and pitch lines
DASHES: Final[dict[Dash, str]] = {"": "", "dashed": "1.6 1", "chain": "4 0.9 0.7 0.9", "dotted": "0.2 1"}
# width of a letter over its size, on the safe side for plain faces
LETTER: Final = 0.56


def number(value: float) -> str:
    """A coordinate as SVG has it, to a ten-thousandth of a millimetre."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def printable(words: str) -> str:
    """Words without the signs XML cannot hold, and escaped."""
    return escape("".join(sign if sign.isprintable() else " " for sign in words))


@dataclass
class Canvas:
    """What has been drawn, and how far it reaches. Coordinates in mm, y down."""

    text_size: float
    parts: list[str] = field(default_factory=list)
    low: Point = (math.inf, math.inf)
    high: Point = (-math.inf, -math.inf)

    def reach(self, *points: Point) -> None:
        """Make the drawing reach these points."""
        for x, y in points:
            self.low = (min(self.low[0], x), min(self.low[1], y))
            self.high = (max(self.high[0], x), max(self.high[1], y))

    def path(self, data: str, kind: str, *, weight: Weight = "thin", dash: Dash = "", fill: str = "") -> None:
        """A path as SVG has it; its reach is the caller's to say."""
        filled = f'fill="currentColor" fill-opacity="{fill}" fill-rule="evenodd"' if fill else 'fill="none"'
        self.parts.append(f'<path class="{kind}" d="{data}" {filled} {_stroke(weight, dash)}/>')

    def line(self, points: Sequence[Point], kind: str, *, weight: Weight = "thin", dash: Dash = "",
             closed: bool = False, fill: str = "") -> None:
        """A line through points."""
        self.reach(*points)
        data = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")
        self.path(data, kind, weight=weight, dash=dash, fill=fill)

    def circle(self, centre: Point, radius: float, kind: str, *, weight: Weight = "thin", dash: Dash = "",
               fill: str = "") -> None:
        """A full circle."""
        self.reach((centre[0] - radius, centre[1] - radius), (centre[0] + radius, centre[1] + radius))
        filled = f'fill="currentColor" fill-opacity="{fill}"' if fill else 'fill="none"'
        self.parts.append(f'<circle class="{kind}" cx="{number(centre[0])}" cy="{number(centre[1])}" '
                          f'r="{number(radius)}" {filled} {_stroke(weight, dash)}/>')

    def head(self, tip: Point, towards: Point, size: float = 2.2, kind: str = "arrow") -> None:
        """A filled arrow head: its tip, and the direction in which it points."""
        length = math.hypot(*towards)
        ux, uy = towards[0] / length, towards[1] / length
        back = (tip[0] - size * ux, tip[1] - size * uy)
        half = size * 0.24
        corners = [tip, (back[0] - half * uy, back[1] + half * ux), (back[0] + half * uy, back[1] - half * ux)]
        self.reach(*corners)
        data = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in corners) + "Z"
        self.parts.append(f'<path class="{kind}" d="{data}" fill="currentColor" stroke="none"/>')

    def words(self, at: Point, words: str, kind: str = "label", *, anchor: Anchor = "middle", angle: float = 0.0,
              size: float | None = None, bold: bool = False) -> None:
        """Words, their middle height at a point; `angle` in degrees as the page turns, never upside down."""
        if not words:
            return
        size = size or self.text_size
        turned = math.remainder(angle, 360.0)
        if turned > 90.001 or turned <= -90.001:
            turned = math.remainder(turned + 180.0, 360.0)
            anchor = {"start": "end", "end": "start", "middle": "middle"}[anchor]  # type: ignore[assignment]
        x, y = at
        self._reach_words(at, words, anchor, turned, size)
        place = f'x="{number(x)}" y="{number(y + 0.35 * size)}"'
        spin = f' transform="rotate({number(turned)} {number(x)} {number(y)})"' if abs(turned) > 1e-6 else ""
        self.parts.append(f'<text class="{kind}" {place} font-size="{number(size)}" text-anchor="{anchor}" '
                          f'fill="currentColor"{" font-weight=" + chr(34) + "bold" + chr(34) if bold else ""}{spin}>'
                          f"{printable(words)}</text>")

    def _reach_words(self, at: Point, words: str, anchor: Anchor, angle: float, size: float) -> None:
        long = width(words, size)
        first = {"start": 0.0, "middle": -long / 2, "end": -long}[anchor]
        cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        self.reach(*((at[0] + dx * cos - dy * sin, at[1] + dx * sin + dy * cos)
                     for dx in (first, first + long) for dy in (-0.6 * size, 0.6 * size)))

    def svg(self, corner: Point, size: Point, title: str, desc: str, name: str, font: str = "") -> str:
        """The finished drawing: the part of the canvas from its upper left corner, so wide and so high.

        name: unique in the page, for the title to be found; font: the face, the page's own when empty
        """
        face = f' font-family="{escape(font)}"' if font else ""
        box = " ".join(number(value) for value in (*corner, *size))
        return (f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" viewBox="{box}" width="{number(size[0])}mm" '
                f'height="{number(size[1])}mm" role="img" aria-labelledby="{name}-title {name}-desc"{face} '
                f'stroke-linejoin="round">\n<title id="{name}-title">{printable(title)}</title>\n'
                f'<desc id="{name}-desc">{printable(desc)}</desc>\n' + "\n".join(self.parts) + "\n</svg>")


def width(words: str, size: float) -> float:
    """About how wide words are, on the safe side."""
    return LETTER * size * len(words)


def wrapped(words: str, size: float, wide: float) -> list[str]:
    """Words as lines that stand within a width, by the same estimate."""
    lines: list[str] = []
    for word in words.split():
        if lines and width(f"{lines[-1]} {word}", size) <= wide:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines


def _stroke(weight: Weight, dash: Dash) -> str:
    dashed = f' stroke-dasharray="{DASHES[dash]}"' if dash else ""
    cap = ' stroke-linecap="round"' if dash == "dotted" else ""
    return f'stroke="currentColor" stroke-width="{number(WEIGHTS[weight])}"{dashed}{cap}'
