"""Readings over time as an SVG drawing: marks by shape, the band asked for, limits, and when a limit will be reached.

Made where the page is made, so that it is there with JavaScript off and on paper. Everything comes in shown units and
words; colour is the page's (class names), shape tells without it. Judges and converts nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final, Literal

from beltwright.paper.svg import Canvas, Point, number, printable, width
from beltwright.units import DAY

Shape = Literal["circle", "square", "triangle", "diamond"]

# size of the drawing and its words, in units of the viewBox: legible on a phone
WIDE: Final = 100.0
HIGH: Final = 60.0
TEXT: Final = 3.7
# round the field with the marks
_ABOVE: Final = 6.5
_BELOW: Final = 6.0
_RIGHT: Final = 2.0
_SIZE: Final = 1.15
# most steps along a side
_STEPS_UP: Final = 5
_STEPS_ALONG: Final = 5
# what is foretold further off than this many times the time shown is left to the words
_FAR: Final = 1.0
_LEAST_AHEAD: Final = timedelta(days=60)
_MONTHS: Final = (1, 2, 3, 6, 12, 24, 60, 120)
_DAYS: Final = (1, 2, 7, 14)
_YEAR: Final = 12
# values this near to each other are one, and get room around them
_ALIKE: Final = 1e-4
_LEAST_ROOM: Final = 0.05


@dataclass(frozen=True, slots=True)
class Mark:
    """A value read: when, how large, give or take, its series and what it says when pointed at."""

    at: datetime
    value: float
    away: float
    series: str
    words: str


@dataclass(frozen=True, slots=True)
class Band:
    """What was asked for over a stretch of time."""

    start: datetime
    end: datetime
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Limit:
    """A line that is not to be passed."""

    value: float
    words: str


@dataclass(frozen=True, slots=True)
class Foretold:
    """When a limit will be reached: about, not before, at the latest (none: no end in sight)."""

    value: float
    early: datetime
    about: datetime
    late: datetime | None
    words: str


@dataclass(frozen=True, slots=True)
class Chart:
    """Everything that is drawn. `changed`: when other parts were fitted, with a word."""

    name: str
    title: str
    description: str
    unit: str
    marks: tuple[Mark, ...]
    bands: tuple[Band, ...] = ()
    limits: tuple[Limit, ...] = ()
    changed: tuple[tuple[datetime, str], ...] = ()
    foretold: Foretold | None = None


# as found is open, as left is full: what was done is seen in black and white
SHAPES: Final[dict[str, Shape]] = {"as found": "circle", "as left": "square", "running": "triangle",
                                   "in between": "diamond"}


@dataclass(frozen=True, slots=True)
class _Field:
    """The field with the marks: its corners on paper, and what they stand for."""

    left: float
    begin: float
    end: float
    low: float
    high: float

    def x(self, at: datetime) -> float:
        share = (at.timestamp() - self.begin) / (self.end - self.begin)
        return self.left + min(1.0, max(0.0, share)) * (WIDE - _RIGHT - self.left)

    def y(self, value: float) -> float:
        return HIGH - _BELOW - (value - self.low) / (self.high - self.low) * (HIGH - _BELOW - _ABOVE)


def chart(made: Chart) -> str:
    """The drawing; nothing for a chart without a mark."""
    if not made.marks:
        return ""
    canvas = Canvas(TEXT)
    field, steps = _field(made)
    _grid(canvas, made, field, steps)
    _asked(canvas, made, field)
    _ahead(canvas, made, field)
    _drawn(canvas, made, field)
    _named(canvas, made, field)
    return canvas.svg((0.0, 0.0), (WIDE, HIGH), made.title, made.description, made.name)


def _field(made: Chart) -> tuple[_Field, list[float]]:
    values = [mark.value + sign * mark.away for mark in made.marks for sign in (-1, 1)]
    values += [each for band in made.bands for each in (band.low, band.high)]
    values += [limit.value for limit in made.limits] + ([made.foretold.value] if made.foretold else [])
    steps = round_steps(min(values), max(values), _STEPS_UP)
    begin, end = _time(made)
    words = max(width(_text(step, steps), TEXT) for step in steps)
    return _Field(1.12 * words + 1.5, begin.timestamp(), end.timestamp(), steps[0], steps[-1]), steps


def _time(made: Chart) -> tuple[datetime, datetime]:
    """From when to when the chart goes: with a little room, and ahead as far as what is foretold, in reason."""
    times = [mark.at for mark in made.marks]
    begin, end = min(times), max(times)
    if made.foretold is not None:
        most = end + max((end - begin) * _FAR, _LEAST_AHEAD)
        end = max(end, min(most, max(made.foretold.about, made.foretold.late or made.foretold.about)))
    room = max((end - begin) * 0.03, timedelta(hours=12))
    return begin - room, end + room


def round_steps(low: float, high: float, most: int) -> list[float]:
    """Round numbers from at or below `low` to at or above `high`, at most that many steps between them.

    >>> round_steps(23.1, 41.0, 5)
    [20.0, 25.0, 30.0, 35.0, 40.0, 45.0]
    """
    if high - low < _ALIKE * max(abs(high), abs(low), 1.0):
        room = max(0.1 * abs(low), _LEAST_ROOM)
        low, high = low - room, high + room
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    step = next(step * power for step in (1.0, 2.0, 2.5, 5.0, 10.0, 20.0)
                if math.ceil(high / (step * power) - 1e-9) - math.floor(low / (step * power) + 1e-9) <= most)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(at * step, 12) for at in range(first, last + 1)]


def _text(value: float, steps: Sequence[float]) -> str:
    """A number along the side, with as many digits as tell it from its neighbour."""
    apart = steps[1] - steps[0]
    digits = next(digits for digits in range(8) if abs(round(apart, digits) - apart) < 1e-6 * apart)
    return f"{value:.{digits}f}"


def _grid(canvas: Canvas, made: Chart, field: _Field, steps: Sequence[float]) -> None:
    right, top, bottom = WIDE - _RIGHT, field.y(field.high), field.y(field.low)
    for step in steps:
        y = field.y(step)
        canvas.line([(field.left, y), (right, y)], "grid")
        canvas.words((field.left - 1.0, y), _text(step, steps), "scale", anchor="end")
    canvas.words((0.0, 1.0 + 0.5 * TEXT), made.unit, "scale", anchor="start")
    for when, words in _days(field):
        x = field.x(when)
        canvas.line([(x, bottom), (x, bottom + 1.2)], "tick")
        half = width(words, TEXT) / 2
        canvas.words((min(max(x, half), WIDE - half), bottom + 3.4), words, "scale")
    canvas.line([(field.left, top), (field.left, bottom), (right, bottom)], "axis", weight="medium")
    for when, words in made.changed:
        if field.begin <= when.timestamp() <= field.end:
            x = field.x(when)
            canvas.line([(x, top), (x, bottom)], "changed", dash="dotted", weight="medium")
            canvas.words((x, 1.0 + 0.5 * TEXT), words, "changed",
                         anchor="start" if x < WIDE / 2 else "end")


def _days(field: _Field) -> list[tuple[datetime, str]]:
    """Round days along the foot, few enough to be read."""
    begin, end = (datetime.fromtimestamp(at, UTC) for at in (field.begin, field.end))
    days = (end - begin).total_seconds() / DAY
    most = _STEPS_ALONG
    step = next((step for step in _DAYS if days / step <= most), None)
    if step is not None:
        first = begin.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
        count = int((end - first).total_seconds() // (step * DAY)) + 1
        return [(day, f"{day:%m-%d}") for day in (first + timedelta(days=step * at) for at in range(count))]
    months = (end.year - begin.year) * _YEAR + end.month - begin.month
    step = next((step for step in _MONTHS if months / step <= most), _MONTHS[-1])
    month = begin.year * _YEAR + begin.month - 1
    found = []
    for at in range(-(-(month + 1) // step) * step, end.year * _YEAR + end.month, step):
        day = datetime(at // _YEAR, at % _YEAR + 1, 1, tzinfo=UTC)
        found.append((day, f"{day:%Y}" if step >= _YEAR else f"{day:%Y-%m}"))
    return found


def _asked(canvas: Canvas, made: Chart, field: _Field) -> None:
    """Bands and limits."""
    right = WIDE - _RIGHT
    for band in made.bands:
        left, end = field.x(band.start), field.x(band.end)
        corners = [(left, field.y(band.high)), (end, field.y(band.high)), (end, field.y(band.low)),
                   (left, field.y(band.low))]
        canvas.line(corners, "band", closed=True, fill="0.14")
    for limit in made.limits:
        y = field.y(limit.value)
        canvas.line([(field.left, y), (right, y)], "limit", weight="medium", dash="dashed")


def _named(canvas: Canvas, made: Chart, field: _Field) -> None:
    """The words at limits and at what is foretold, over everything else."""
    right = WIDE - _RIGHT
    taken: list[float] = []
    for limit in made.limits:
        y = field.y(limit.value)
        above = y - 0.62 * TEXT
        canvas.words((right, above if all(abs(above - other) > TEXT for other in taken) else y + 0.7 * TEXT),
                     limit.words, "limit", anchor="end")
        taken.append(above)
    if made.foretold is not None:
        canvas.words((right, field.y(made.foretold.value) + TEXT), made.foretold.words, "foretold", anchor="end")


def _ahead(canvas: Canvas, made: Chart, field: _Field) -> None:
    """From the last mark down to the limit, and the stretch in which it will be reached."""
    told = made.foretold
    if told is None:
        return
    last = max(made.marks, key=lambda mark: mark.at)
    y = field.y(told.value)
    end = told.late if told.late is not None else datetime.fromtimestamp(field.end, UTC)
    early, late = field.x(told.early), field.x(end)
    if told.about.timestamp() <= field.end:
        canvas.line([(field.x(last.at), field.y(last.value)), (field.x(told.about), y)], "foretold", weight="medium",
                    dash="dashed")
        canvas.head((field.x(told.about), y), (field.x(told.about) - field.x(last.at), y - field.y(last.value)), 2.6,
                    "foretold")
    canvas.line([(early, y), (late, y)], "foretold", weight="thick")
    for x in (early, late):
        canvas.line([(x, y - 1.4), (x, y + 1.4)], "foretold", weight="thick")


def _drawn(canvas: Canvas, made: Chart, field: _Field) -> None:
    marks = sorted(made.marks, key=lambda mark: mark.at)
    whole = [(field.x(mark.at), field.y(mark.value)) for mark in marks]
    if len(whole) > 1 and len({mark.series for mark in marks}) <= len(SHAPES):
        _joined(canvas, marks, whole)
    for mark, (x, y) in zip(marks, whole, strict=True):
        kind = f"mark {mark.series.replace(' ', '-')}"
        canvas.parts.append(f'<g class="{kind}"><title>{printable(mark.words)}</title>')
        if mark.away > 0:
            top, bottom = field.y(mark.value + mark.away), field.y(mark.value - mark.away)
            canvas.line([(x, top), (x, bottom)], "away")
        _shape(canvas, SHAPES.get(mark.series, "circle"), (x, y))
        canvas.parts.append("</g>")


def _joined(canvas: Canvas, marks: Sequence[Mark], whole: Sequence[Point]) -> None:
    """A thin line through the marks of different moments; several of one moment are joined by none."""
    if len({mark.at for mark in marks}) == len(marks):
        canvas.line(list(whole), "through")


def _shape(canvas: Canvas, shape: Shape, at: Point) -> None:
    x, y = at
    size = _SIZE
    if shape == "circle":
        canvas.parts.append(f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(size)}" class="open" fill="none" '
                            f'stroke="currentColor" stroke-width="0.5"/>')
        return
    corners = {"square": ((-1, -1), (1, -1), (1, 1), (-1, 1)), "triangle": ((0, -1.2), (1.15, 0.9), (-1.15, 0.9)),
               "diamond": ((0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0))}[shape]
    data = "M" + "L".join(f"{number(x + size * dx)} {number(y + size * dy)}" for dx, dy in corners) + "Z"
    canvas.parts.append(f'<path class="full" d="{data}" fill="currentColor" stroke="none"/>')
