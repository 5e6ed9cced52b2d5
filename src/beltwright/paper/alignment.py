"""Both sheaves edge-on with the straightedge along their outer faces: where the four gaps are read.

As a form it shows where A, B, C and D are; as an answer, the driver as it stands, out of line many times enlarged, over
where it belongs, and which way to move what. Along the line of centres it is to scale, across it is not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from beltwright.bench.card import Card
from beltwright.paper.drawing import EXAMPLE, Look
from beltwright.paper.sheet import GAPS
from beltwright.paper.svg import Canvas, Point, wrapped
from beltwright.plant.identity import loose
from beltwright.units import System, show

FORM: Final = Look(92.0, 40.0, 2.6, "B612")
PAGE: Final = Look(100.0, 90.0, 3.2)
# thickness of a sheave, straightedge below the faces, and how far out of line is drawn, all in text sizes
_THICK, _EDGE, _OUT = 2.4, 1.5, 2.0
# how steep the most crooked sheave is drawn
_STEEPEST: Final = 0.3


@dataclass(frozen=True, slots=True)
class OutOfLine:
    """How the driver stands against the driven sheave, and what to do about it, in words already.

    offset: the driver's groove out of the driven sheave's plane, outward (to the straightedge) is plus [m]
    angle:  slope of the driver's plane against the driven's along the line of centres, outward towards the driven
            shaft is plus [rad]
    """

    offset: float
    angle: float
    moves: tuple[str, ...] = ()


def alignment_drawing(card: Card, system: System, look: Look = FORM, *, out: OutOfLine | None = None) -> str:
    """The plan of both faces with the straightedge, as a form or, with `out`, as the answer."""
    canvas = Canvas(look.text)
    size = look.text
    driver, driven, centre = _lengths(card)
    per_metre = (look.width - 4 * size) / (centre + (driver + driven) / 2)
    middle = (driver / 2 * per_metre, centre * per_metre + driver / 2 * per_metre)
    half = (driver / 2 * per_metre, driven / 2 * per_metre)
    enlarged = _enlarged(out, driver / 2, size, per_metre) if out is not None else 0.0
    offset, slope = (out.offset * enlarged, out.angle * enlarged / per_metre) if out is not None else (0.0, 0.0)
    if out is not None:
        _sheave(canvas, middle[0], half[0], 0.0, 0.0, dashed=True)
    _sheave(canvas, middle[0], half[0], offset, slope, name="driver")
    _sheave(canvas, middle[1], half[1], 0.0, 0.0, name="driven")
    canvas.words(((middle[0] + middle[1]) / 2, -(_THICK + 0.6) * size), "motor side", "side")
    edge = _EDGE * size + max(0.0, offset + abs(slope) * half[0])
    _straightedge(canvas, (middle[0] - half[0] - size, middle[1] + half[1] + size), edge)
    for letter, (name, _), (x, y) in zip("ABCD", GAPS, _points(middle, half, offset, slope), strict=True):
        assert letter == name
        _gap(canvas, (x, y), edge, letter)
    if out is not None:
        _back_into_line(canvas, middle[0], half[0], offset, slope)
    return _finish(canvas, card, system, look, out, enlarged)


def _lengths(card: Card) -> tuple[float, float, float]:
    known = card.known
    if card.worked.shape is None or not {"driver_outside", "driven_outside", "centre"} <= known.facts.keys():
        return EXAMPLE
    return known.value("driver_outside"), known.value("driven_outside"), known.value("centre")


def _enlarged(out: OutOfLine, radius: float, size: float, per_metre: float) -> float:
    """How many mm of paper a metre out of line is drawn as: never so many that a sheave looks to lie on its side."""
    most = max((abs(out.offset) + abs(out.angle) * radius) / (_OUT * size), abs(out.angle) / (per_metre * _STEEPEST))
    return 1 / most if most > 0 else 0.0


def _at(x: float, along: float, across: float, offset: float, slope: float) -> Point:
    """A point of a sheave that stands out of line: along its face from its middle, across it outward (down)."""
    cos = math.sqrt(1 - slope * slope)
    return x + along * cos - across * slope, offset + along * slope + across * cos


def _sheave(canvas: Canvas, x: float, half: float, offset: float, slope: float, *, name: str = "",
            dashed: bool = False) -> None:
    """A sheave edge-on, its outer face at the bottom; the shaft goes up to motor or machine."""
    thick = _THICK * canvas.text_size
    corners = [_at(x, along, across, offset, slope)
               for along, across in ((-half, 0), (half, 0), (half, -thick), (-half, -thick))]
    canvas.line(corners, "place" if dashed else "sheave", weight="thin" if dashed else "thick",
                dash="dashed" if dashed else "", closed=True)
    if dashed:
        return
    for share in (0.33, 0.67):
        canvas.line([_at(x, along, -thick * share, offset, slope) for along in (-half, half)], "groove")
    shaft, up = 0.55 * canvas.text_size, -thick - 1.5 * canvas.text_size
    for side in (-shaft, shaft):
        canvas.line([_at(x, side, across, offset, slope) for across in (-thick, up)], "shaft", weight="medium")
    canvas.words(_at(x, 0.0, up - 0.8 * canvas.text_size, offset, slope), name, "name", bold=True)


def _straightedge(canvas: Canvas, ends: tuple[float, float], y: float) -> None:
    canvas.line([(ends[0], y), (ends[1], y), (ends[1], y + 1.1), (ends[0], y + 1.1)], "straightedge", weight="medium",
                closed=True, fill="0.3")


def _points(middle: tuple[float, float], half: tuple[float, float], offset: float, slope: float) -> list[Point]:
    """The four points of the faces, as on the form: driver far, driver near, driven near, driven far."""
    inset = 0.92
    driver = [_at(middle[0], along, 0.0, offset, slope) for along in (-half[0] * inset, half[0] * inset)]
    return [*driver, (middle[1] - half[1] * inset, 0.0), (middle[1] + half[1] * inset, 0.0)]


def _gap(canvas: Canvas, face: Point, edge: float, letter: str) -> None:
    x, y = face
    canvas.line([(x, y), (x, edge)], "gap", weight="medium")
    size = min(1.5, (edge - y) / 2.2)
    if size > 0.4:
        canvas.head((x, edge), (0, 1), size, "gap")
        canvas.head((x, y), (0, -1), size, "gap")
    below = edge + 1.1 + 1.15 * canvas.text_size
    canvas.circle((x, below), 0.85 * canvas.text_size, "letter", weight="medium")
    canvas.words((x, below), letter, "letter", bold=True)


def _back_into_line(canvas: Canvas, x: float, half: float, offset: float, slope: float) -> None:
    """Arrows from where the driver stands to where it belongs, at both ends of its back."""
    thick = _THICK * canvas.text_size
    for along in (-half * 0.6, half * 0.6):
        now = _at(x, along, -thick, offset, slope)
        if abs(now[1] + thick) > 0.3 * canvas.text_size:
            wanted = (now[0], -thick)
            canvas.line([now, wanted], "move", weight="thick")
            canvas.head(wanted, (0, wanted[1] - now[1]), 2.4, "move")


def _finish(canvas: Canvas, card: Card, system: System, look: Look, out: OutOfLine | None, enlarged: float) -> str:
    size = look.text
    left = (canvas.low[0] + canvas.high[0] - look.width) / 2
    line = canvas.high[1] + 1.1 * size
    says = list(out.moves) if out is not None else []
    seen = "Edge-on; straightedge on the outer faces, away from the motor."
    if out is not None and enlarged:
        seen = f"Edge-on; out of line drawn enlarged, dashed where the driver belongs. {_numbers(out, system)}"
    lines = [part for words in (seen, *says) for part in wrapped(words, size, look.width)]
    for words in lines:
        canvas.words((left, line), words, "says", anchor="start")
        line += 1.35 * size
    top = canvas.low[1] - 0.4
    desc = " ".join([seen, *(f"{letter}: {words}." for letter, words in GAPS), *says])
    return canvas.svg((left, top), (look.width, line - top), f"Alignment of {card.drive.tag}", desc,
                      f"alignment-{loose(card.drive.tag)}", look.font)


def _numbers(out: OutOfLine, system: System) -> str:
    way = "out" if out.offset > 0 else "in"
    digits = 1 if system == "si" else 3
    return (f"Driver {show(abs(out.offset), 'length', system, digits=digits)} too far {way}, "
            f"turned {show(abs(out.angle), 'angle', system, digits=2)}.")
