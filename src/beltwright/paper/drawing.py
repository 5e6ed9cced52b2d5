"""The side view of a drive, to scale: sheaves, belt, where to press, which way the motor moves.

The belt runs on the line on which its length is reckoned, tangents and arcs exact. Outward in, a reader finds rims,
pitch lines, the belt at its true height, the mark for the press with its deflection to scale, and, on the driver's
base, the room to slack off and take up, to scale too. A drive whose geometry is not known yet is drawn by way of
example and says so. Only lines and words: nothing is told by colour.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from typing import Final

from beltwright.bench.card import Card
from beltwright.paper.frame import PAGE, PAPER, PAPER_METRE, Found, Look, above, below, sheave_words, strip_heights
from beltwright.paper.sheet import cell
from beltwright.paper.svg import Canvas, Point, number, width
from beltwright.plant.identity import loose
from beltwright.units import System

__all__ = ["PAGE", "PAPER", "Found", "Look", "description", "drawing"]

# the scales a drawing is made to, so that any rule reads it: 1 to ...
SCALES: Final = (1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0)
# drawn by way of example where sheaves or centre are not known: driver, driven and centre in m
EXAMPLE: Final = (0.18, 0.32, 0.62)
# steeper than this the slack side does not hang to one side
STEEP: Final = 0.8


@dataclass(frozen=True, slots=True)
class _Drive:
    """The drive in mm of paper: y counts towards the side where it is pressed; `side` is -1 where that is below."""

    driver: float
    driven: float
    driver_rim: float
    driven_rim: float
    centre: float
    belt: float
    scale: float
    incline: float
    known: bool

    @property
    def side(self) -> int:
        return 1 if math.cos(self.incline) > -1e-9 else -1

    @property
    def lean(self) -> float:
        return math.asin((self.driven - self.driver) / self.centre)

    def at(self, x: float, y: float) -> Point:
        """A point of the drive on paper."""
        cos, sin = math.cos(self.incline), math.sin(self.incline)
        return x * cos - self.side * y * sin, -(x * sin + self.side * y * cos)

    def tangent(self, which: str, side: int, out: float = 0.0) -> Point:
        """Where the belt leaves a sheave, `out` beyond the belt's line, in the drive's own axes."""
        x, radius = (0.0, self.driver) if which == "driver" else (self.centre, self.driven)
        far = radius + out
        return x - far * math.sin(self.lean), side * far * math.cos(self.lean)

    def along(self, share: float, side: int, out: float) -> Point:
        """A point beside a span: its share of the way from driver to driven, and how far outside the belt's line."""
        a, b = self.tangent("driver", side, out), self.tangent("driven", side, out)
        return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])

    def turn(self, side: int = 0) -> float:
        """The angle on paper of the line of centres, or of a span."""
        x, y = self.at(math.cos(self.lean * abs(side)), side * math.sin(self.lean))
        return math.degrees(math.atan2(y, x))


def drawing(card: Card, system: System, look: Look = PAPER, *, found: Found | None = None) -> str:
    """The side view of a drive as an SVG drawing, at the largest usual scale that fits.

    found: a tension to be shown against its band
    """
    over, under = strip_heights(look, found)

    def drawn(scale: float) -> tuple[_Drive, Canvas]:
        drive, canvas = _measured(card, scale), Canvas(look.text)
        _draw(canvas, card, drive, system)
        return drive, canvas

    def fits(scale: float) -> bool:
        _, canvas = drawn(scale)
        wide, high = (canvas.high[axis] - canvas.low[axis] for axis in (0, 1))
        return wide <= look.width and high <= look.height - over - under - 1.0

    # whatever fits at one scale fits at the smaller ones: a few trials, not one for each scale
    drive, canvas = drawn(SCALES[bisect_left(SCALES, True, hi=len(SCALES) - 1, key=fits)])
    left = (canvas.low[0] + canvas.high[0] - look.width) / 2
    top, bottom = canvas.low[1] - over - 0.5, canvas.high[1] + under + 0.5
    above(canvas, card, drive.incline, system, look, found, (left, top))
    below(canvas, card, drive.scale, drive.known, system, look, (left, bottom - under))
    return canvas.svg((left, top), (look.width, bottom - top), f"Side view of {card.drive.tag}",
                      description(card, system), f"drive-{loose(card.drive.tag)}", look.font)


def description(card: Card, system: System) -> str:
    """The drawing in words, for who cannot see it."""
    drive = card.drive
    parts = ["To scale." if _to_scale(card) else "Not to scale: sheaves or centre distance are not known yet."]
    if drive.shafts == "vertical":
        parts.append("Vertical shafts, seen from above.")
    parts.append(f"Driver on the left: {sheave_words(card, 'driver', system) or 'size not known'}. "
                 f"Driven: {sheave_words(card, 'driven', system) or 'size not known'}.")
    texts = {key: cell(card, key, system).text for key in ("centre", "span", "deflection", "slack_off", "take_up")}
    for key, words in (("centre", "Centre distance {}."), ("span", "Span, tangent to tangent, {}."),
                       ("deflection", "Press the middle of the span in by {}."),
                       ("slack_off", "The motor moves towards the driven shaft by {} to lay belts in,"),
                       ("take_up", "and away from it by {} to take up.")):
        if texts[key]:
            parts.append(words.format(texts[key]))
    slack = _slack_side(card)
    if slack is not None:
        parts.append(f"Turns {drive.rotation}: the slack side is {'above' if slack > 0 else 'below'}.")
    return " ".join(parts)


def _to_scale(card: Card) -> bool:
    return card.worked.shape is not None


def _measured(card: Card, scale: float) -> _Drive:
    """The drive in mm of paper at 1 to `scale`."""
    known = card.known
    per_metre = PAPER_METRE / scale
    incline = 0.0 if card.drive.shafts == "vertical" else card.drive.incline or 0.0
    height = known.section.height if known.section is not None else 0.012
    if not _to_scale(card):
        driver, driven, centre = EXAMPLE
        rims = (driver + height, driven + height)
    else:
        driver, driven, centre = (known.value(name) for name in ("driver_geometry", "driven_geometry", "centre"))
        rims = (known.value("driver_outside"), known.value("driven_outside"))
    half = per_metre / 2
    return _Drive(driver * half, driven * half, rims[0] * half, rims[1] * half, centre * per_metre,
                  height * per_metre, per_metre, incline, _to_scale(card))


def _draw(canvas: Canvas, card: Card, drive: _Drive, system: System) -> None:
    _sheaves(canvas, drive)
    _belt(canvas, drive)
    _names(canvas, drive)
    _press(canvas, card, drive, system)
    _sides(canvas, card, drive, system)
    under = _base(canvas, card, drive, system)
    _centre(canvas, card, drive, system, under)
    _rotation(canvas, card, drive)


def _sheaves(canvas: Canvas, drive: _Drive) -> None:
    for x, radius, rim in ((0.0, drive.driver, drive.driver_rim), (drive.centre, drive.driven, drive.driven_rim)):
        middle = drive.at(x, 0)
        canvas.circle(middle, rim, "rim", weight="thick")
        canvas.circle(middle, radius, "pitch-line", dash="chain")
        shaft = max(0.9, 0.13 * rim)
        canvas.circle(middle, shaft, "shaft", weight="medium", fill="0.25")
        for dx, dy in ((shaft + 1.6, 0.0), (0.0, shaft + 1.6)):
            canvas.line([drive.at(x - dx, -dy), drive.at(x + dx, dy)], "centre-line")


def _loop(drive: _Drive, out: float) -> str:
    """The closed path of the belt, `out` outside its line."""
    points = [drive.at(*drive.tangent(which, side, out))
              for which, side in (("driver", 1), ("driven", 1), ("driven", -1), ("driver", -1))]
    a, b, c, d = (f"{number(x)} {number(y)}" for x, y in points)
    sweep = 1 if drive.side > 0 else 0
    big, small = number(drive.driven + out), number(drive.driver + out)
    return (f"M{a}L{b}A{big} {big} 0 {int(drive.lean > 0)} {sweep} {c}"
            f"L{d}A{small} {small} 0 {int(drive.lean < 0)} {sweep} {a}Z")


def _belt(canvas: Canvas, drive: _Drive) -> None:
    back = _back(drive)
    canvas.path(_loop(drive, back) + _loop(drive, back - drive.belt), "belt", weight="medium", fill="0.18")
    canvas.path(_loop(drive, 0.0), "belt-line", dash="chain")
    for side in (1, -1):
        canvas.reach(*(drive.at(*drive.along(share, side, back)) for share in (0, 1)))


def _back(drive: _Drive) -> float:
    """How far the belt's back lies outside its line: it sits level with the rim."""
    return min(drive.driver_rim - drive.driver, drive.driven_rim - drive.driven)


def _names(canvas: Canvas, drive: _Drive) -> None:
    for x, rim, name, out in ((0.0, drive.driver_rim, "driver", -1), (drive.centre, drive.driven_rim, "driven", 1)):
        middle = drive.at(x, 0)
        # inside, where the chord at the top of the word leaves room on both sides
        top = 0.48 * rim + 0.5 * canvas.text_size
        if top < rim and 2 * math.sqrt(rim**2 - top**2) > width(name, canvas.text_size) + canvas.text_size:
            canvas.words((middle[0], middle[1] - 0.48 * rim), name, "name", bold=True)
        else:
            far = drive.at(x + out * (rim + 5.5), 0)
            side = far[0] - middle[0]
            canvas.words(far, name, "name", bold=True,
                         anchor="middle" if abs(side) < rim else "start" if side > 0 else "end")


def _press(canvas: Canvas, card: Card, drive: _Drive, system: System) -> None:
    """The span with its dimension, and the arrow where to press with the deflection to scale."""
    size, back = canvas.text_size, _back(drive)
    deep = drive.scale * card.figures["deflection"].value if "deflection" in card.figures else 2.0  # type: ignore[operator]
    ends = [drive.at(*drive.along(share, 1, back)) for share in (0, 1)]
    low = drive.at(*drive.along(0.5, 1, back - deep))
    canvas.line([ends[0], low, ends[1]], "pressed", dash="dashed")
    line = back + 1.9 * size
    tail, tip = drive.along(0.5, 1, line + 1.5 * size), drive.along(0.5, 1, back)
    start, end = drive.at(*tail), drive.at(*tip)
    canvas.line([start, end], "press", weight="thick")
    canvas.head(end, (end[0] - start[0], end[1] - start[1]), 3.4, "press")
    parts = [cell(card, key, system).text for key in ("deflection", "deflection_64ths")]
    words = f"press in by {parts[0]} ({parts[1]})" if parts[0] else "press in, mid-span, by ________"
    canvas.words(drive.at(*drive.along(0.5, 1, line + 2.3 * size)), words, "press", angle=drive.turn(1), bold=True)
    words = f"span {cell(card, 'span', system).text or '________'}"
    clear = 0.47 - width(words, size) / _span(drive) / 2  # of the arrow
    _dimension(canvas, drive, 1, line, back, words, min(0.22, clear))


def _dimension(canvas: Canvas, drive: _Drive, side: int, out: float, start: float, words: str, at: float) -> None:
    """A dimension line along a span, tangent to tangent."""
    ends = [drive.at(*drive.along(share, side, out)) for share in (0, 1)]
    _dimension_line(canvas, ends, "span")
    for share in (0, 1):
        canvas.line([drive.at(*drive.along(share, side, start + 0.8)), drive.at(*drive.along(share, side, out + 1.2))],
                    "extension")
    canvas.words(drive.at(*drive.along(at, side, out + 0.75 * canvas.text_size)), words, "span", angle=drive.turn(side))


def _dimension_line(canvas: Canvas, ends: list[Point], kind: str) -> None:
    (ax, ay), (bx, by) = ends
    canvas.line(ends, kind)
    canvas.head((ax, ay), (ax - bx, ay - by), kind="arrow")
    canvas.head((bx, by), (bx - ax, by - ay), kind="arrow")


def _slack_side(card: Card) -> int | None:
    """Which span is slack, 1 for the one where the drive is pressed; unknown without rotation."""
    if card.drive.rotation is None:
        return None
    incline = 0.0 if card.drive.shafts == "vertical" else card.drive.incline or 0.0
    side = 1 if math.cos(incline) > -1e-9 else -1
    return side if card.drive.rotation == "clockwise" else -side


def _sides(canvas: Canvas, card: Card, drive: _Drive, system: System) -> None:
    slack = _slack_side(card)
    if slack is None:
        return
    size, back = canvas.text_size, _back(drive)
    upright = card.drive.shafts != "vertical" and abs(math.sin(drive.incline)) < STEEP
    deep = drive.scale * card.figures["deflection"].value if "deflection" in card.figures else 2.0  # type: ignore[operator]
    words = {slack: "slack side", -slack: "tight side"}  # by side
    span, wide = _span(drive), width("slack side", size)
    within = back - drive.belt - deep - 0.9 * size
    if drive.along(0.5, 1, 0.0)[1] + within > 0.2 * size:  # nearer to its own span than to the other
        canvas.words(drive.at(*drive.along(0.5, 1, within)), words[1], "side", angle=drive.turn(1))
    elif span > 2.2 * wide:  # between belt and dimension, clear of the arrow
        canvas.words(drive.at(*drive.along(0.76, 1, back + 0.9 * size)), words[1], "side", angle=drive.turn(1))
    bows = slack < 0 and upright
    if bows:
        ends = [drive.at(*drive.along(share, -1, back)) for share in (0, 1)]
        low = drive.at(*drive.along(0.5, -1, back + 2 * deep))
        data = f"M{number(ends[0][0])} {number(ends[0][1])}Q{number(low[0])} {number(low[1])} " \
               f"{number(ends[1][0])} {number(ends[1][1])}"
        canvas.path(data, "bow", weight="medium", dash="dotted")
    if span > wide:
        # past the words under the motor
        share = max(0.55, min(1 - 0.55 * wide / span, (_motor_words(card, system, size) + 0.6 * wide) / span))
        outside = drive.along(share, -1, back + (deep if bows else 0.0) + 1.0 * size)
        canvas.words(drive.at(*outside), words[-1], "side", angle=drive.turn(-1))


def _span(drive: _Drive) -> float:
    """The span on paper."""
    return math.sqrt(drive.centre**2 - (drive.driven - drive.driver) ** 2)


def _motor_words(card: Card, system: System, size: float) -> float:
    """How far the words under the motor reach towards the driven shaft."""
    return max(width(cell(card, "slack_off", system).text, size), width("slack-off", size)) + 1.2


def _base(canvas: Canvas, card: Card, drive: _Drive, system: System) -> float:
    """The driver's base and which way it moves, to scale; how far down it all reaches."""
    size, rim = canvas.text_size, drive.driver_rim
    top = -(rim + 1.2)
    half = max(0.55 * rim, 4.0)
    rail = top - 2.2
    canvas.line([drive.at(x, y) for x, y in ((-half, top), (half, top), (half, rail), (-half, rail))], "motor",
                weight="medium", closed=True, fill="0.08")
    moves = {key: cell(card, key, system) for key in ("take_up", "slack_off")}
    room = {key: drive.scale * (card.figures[key].value or 0.0) if moves[key].text else 6.0 for key in moves}
    left, right = -max(room["take_up"], half) - 2, max(room["slack_off"], half) + 2
    canvas.line([drive.at(left, rail), drive.at(right, rail)], "rail", weight="thick")
    if card.drive.base == "fixed":
        # beside the line that runs down from the shaft; the dimension then clears the name of the lower span
        canvas.words(drive.at(-1.2, rail - size), "fixed base", "motor", anchor="end", angle=drive.turn())
        return min(rail - 2 * size, -max(rim, drive.driven_rim) - 3.4 * size)
    line = rail - 1.6
    for key, sign, word in (("take_up", -1, "take-up"), ("slack_off", 1, "slack-off")):
        tip = drive.at(sign * room[key], line)
        start = drive.at(0, line)
        canvas.line([start, tip], "move", weight="medium")
        canvas.head(tip, (tip[0] - start[0], tip[1] - start[1]), 2.6, "move")
        canvas.line([drive.at(sign * room[key], rail), drive.at(sign * room[key], line - 1)], "move")
        for at, words in enumerate((word, moves[key].text)):
            canvas.words(drive.at(sign * 1.2, line - (1.1 + 1.15 * at) * size), words, "move",
                         anchor="end" if sign < 0 else "start", angle=drive.turn())
    # the dimension below keeps clear of the words where both would stand in one place
    free = (drive.centre - width("centre distance 0000 mm", size)) / 2
    return line - (3.0 if free > _motor_words(card, system, size) else 4.0) * size


def _centre(canvas: Canvas, card: Card, drive: _Drive, system: System, under: float) -> None:
    low = min(under, -drive.driven_rim - 1.6 * canvas.text_size)
    canvas.line([drive.at(0, -drive.driver_rim - 3.6), drive.at(0, low - 1.2)], "extension")
    canvas.line([drive.at(drive.centre, -drive.driven_rim - 2), drive.at(drive.centre, low - 1.2)], "extension")
    _dimension_line(canvas, [drive.at(0, low), drive.at(drive.centre, low)], "centre")
    words = f"centre distance {cell(card, 'centre', system).text or '________'}"
    canvas.words(drive.at(drive.centre / 2, low + 0.75 * canvas.text_size), words, "centre", angle=drive.turn())


def _rotation(canvas: Canvas, card: Card, drive: _Drive) -> None:
    if card.drive.rotation is None:
        return
    # in the drive's own axes a mirrored drive turns the other way
    sense = (-1 if card.drive.rotation == "clockwise" else 1) * drive.side
    for x, rim, middle in ((0.0, drive.driver_rim, math.pi), (drive.centre, drive.driven_rim, 0.0)):
        radius, half = rim + 2.6, min(0.6, 7.0 / rim)
        first, last = middle - sense * half, middle + sense * half
        points = [drive.at(x + radius * math.cos(angle), radius * math.sin(angle))
                  for angle in (first + (last - first) * step / 24 for step in range(25))]
        canvas.line(points, "rotation", weight="medium")
        (ax, ay), (bx, by) = points[-2], points[-1]
        canvas.head((bx, by), (bx - ax, by - ay), 2.8, "rotation")
