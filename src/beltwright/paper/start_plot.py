"""A start as an SVG drawing: how fast both rims go, where the belts slip between them, and what motor and machine pull.

Made where the page is made, so that it is there with JavaScript off and on paper. Slip is shaded, hatched and named;
lines are told apart by their dashes. Judges nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from beltwright.bench.start_figures import shown_until
from beltwright.bench.starts import Start
from beltwright.paper.chart import TEXT, WIDE, round_steps
from beltwright.paper.svg import Canvas, Dash, Point, Weight, width
from beltwright.units import SHOWN, System, from_si, show, sign

Array = npt.NDArray[np.float64]

# the two fields under one another, in units of the viewBox; legible on a phone
_FIELD: Final = 42.0
_HEAD: Final = 11.5
_FOOT: Final = 10.0
_GAP: Final = 2.5
_RIGHT: Final = 2.5
HIGH: Final = 2 * (_FIELD + _HEAD) + _GAP + _FOOT
_POINTS: Final = 240
_HATCH: Final = 1.3
_STEPS_UP, _STEPS_ALONG = 4, 5
# a machine that is braked to a stand pulls many times what a motor does: past this much of it the line is cut off
_CUT: Final = 1.6


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of a field: name, values in shown units, how it is drawn."""

    name: str
    values: Array
    kind: str
    weight: Weight
    dash: Dash = ""


@dataclass(frozen=True, slots=True)
class _Field:
    """A field: where it begins and ends on paper, what its sides stand for, and the steps along them."""

    top: float
    left: float
    times: list[float]
    steps: list[float]

    def at(self, time: float, value: float) -> Point:
        share = (time - self.times[0]) / (self.times[-1] - self.times[0])
        up = max((value - self.steps[0]) / (self.steps[-1] - self.steps[0]), 0.0)
        return (self.left + share * (WIDE - _RIGHT - self.left), self.top + (1.0 - up) * _FIELD)


def start_plot(start: Start, system: System, name: str = "start") -> str:
    """The drawing of a start, a jam or a load step."""
    time, columns = _sampled(start)
    train = start.given.train
    speed, moment = SHOWN[system]["speed"].unit, SHOWN[system]["moment"].unit
    ratio = train.driver_radius / train.driven_radius
    rims = (_Line("motor's rim", columns["driver"] * train.driver_radius / _one(speed, "speed"), "driver", "thick"),
            _Line("machine's rim", columns["driven"] * train.driven_radius / _one(speed, "speed"), "driven", "thick",
                  "dashed"))
    most = _CUT * max(max(start.given.curve.torques), float(np.max(np.abs(columns["motor"])))) / _one(moment, "moment")
    pulls = (_Line("motor", columns["motor"] / _one(moment, "moment"), "driver", "thick"),
             _Line("load, at the motor's shaft", np.minimum(columns["load"] * ratio / _one(moment, "moment"), most),
                   "driven", "thick", "dashed"))
    canvas = Canvas(TEXT)
    times = round_steps(0.0, float(time[-1]), _STEPS_ALONG)
    steps = [_steps_up(some) for some in (rims, pulls)]
    left = 1.12 * max(width(_number(step, each), TEXT) for each in steps for step in each) + 1.5
    upper = _Field(_HEAD, left, times, steps[0])
    lower = _Field(2 * _HEAD + _FIELD + _GAP, left, times, steps[1])
    _slips(canvas, start, upper, time, rims)
    for field, lines, title in ((upper, rims, f"Speed of the rims, {sign(speed)}"),
                                (lower, pulls, f"Torque, {sign(moment)}")):
        _frame(canvas, field, title, lines)
        for line in lines:
            canvas.line([field.at(*point) for point in zip(time.tolist(), line.values.tolist(), strict=True)],
                        line.kind, weight=line.weight, dash=line.dash)
    _shade(canvas, start, lower, float(time[-1]))
    _named(canvas, start, upper, float(time[-1]))
    for step in times:
        x, y = lower.at(step, lower.steps[0])
        words = _number(step, times)
        canvas.words((min(x, WIDE - width(words, TEXT) / 2), y + 3.4), words, "scale")
    canvas.words((WIDE / 2, HIGH - 0.6 * TEXT), "seconds", "scale")
    title = f"{_what(start)}, {show(start.tension, 'force', system)} in each strand"
    return canvas.svg((0.0, 0.0), (WIDE, HIGH), title, described(start, system), name)


def described(start: Start, system: System) -> str:
    """The drawing in a sentence, for who cannot see it."""
    words = f"Speeds of both rims and torques of motor and load over {show(shown_until(start), 'short time', system)}."
    if not start.slips:
        return f"{words} The belts hold: both rims go alike."
    begin, end = start.slips[0]
    more = f", and {len(start.slips) - 1} more times" if len(start.slips) > 1 else ""
    return (f"{words} The belts slip from {show(begin, 'short time', system, digits=2)} to "
            f"{show(end, 'short time', system, digits=2)}{more}: one rim runs ahead of the other.")


def _steps_up(lines: Sequence[_Line]) -> list[float]:
    """Steps up the side; a swing a little below nought is no reason for half a field below it."""
    low, high = (min(float(np.min(line.values)) for line in lines), max(float(np.max(line.values)) for line in lines))
    return round_steps(0.0 if low > -0.1 * high else low, high, _STEPS_UP)


def _what(start: Start) -> str:
    return {"start": "Start", "jam": "Jam", "load step": "Load step"}[start.ask.event]


def _one(unit: str, kind: str) -> float:
    return 1.0 / from_si(1.0, unit, kind)


def _sampled(start: Start) -> tuple[Array, dict[str, Array]]:
    """The course at even times, and at the moments when the belts let go and hold again."""
    course, until = start.course, shown_until(start)
    own = np.asarray(course.time)
    near = own[own <= until]
    thin = near[:: max(1, len(near) // _POINTS)]
    edges = [time for pair in start.slips for time in pair if time <= until]
    time = np.unique(np.concatenate((np.linspace(0.0, until, _POINTS), thin, edges)))
    return time, {name: np.interp(time, own, getattr(course, name)) for name in ("driver", "driven", "motor", "load")}


def _number(value: float, steps: Sequence[float]) -> str:
    apart = steps[1] - steps[0]
    digits = next(digits for digits in range(8) if abs(round(apart, digits) - apart) < 1e-6 * apart)
    return f"{value:.{digits}f}"


def _frame(canvas: Canvas, field: _Field, title: str, lines: Sequence[_Line]) -> None:
    """Title, a sample of each line, steps along the sides."""
    canvas.words((0.0, field.top - _HEAD + 0.7 * TEXT), title, "title", anchor="start", bold=True)
    x = field.left
    for line in lines:
        y = field.top - 3.4
        canvas.line([(x, y), (x + 7.0, y)], line.kind, weight=line.weight, dash=line.dash)
        canvas.words((x + 8.0, y), line.name, line.kind, anchor="start")
        x += 11.0 + width(line.name, TEXT)
    right = WIDE - _RIGHT
    for step in field.steps:
        y = field.at(field.times[0], step)[1]
        canvas.line([(field.left, y), (right, y)], "grid")
        canvas.words((field.left - 1.0, y), _number(step, field.steps), "scale", anchor="end")
    for step in field.times:
        x, bottom = field.at(step, field.steps[0])
        canvas.line([(x, bottom), (x, bottom + 1.2)], "tick")
    low, high = field.at(field.times[0], field.steps[0]), field.at(field.times[0], field.steps[-1])
    canvas.line([high, low, (right, low[1])], "axis", weight="medium")


def _slips(canvas: Canvas, start: Start, field: _Field, time: Array, rims: tuple[_Line, _Line]) -> None:
    """The gap between the rims while the belts slip: shaded, and hatched upright."""
    for begin, end in start.slips:
        here = (time >= begin) & (time <= end)
        if np.count_nonzero(here) < 2:
            continue
        at = time[here].tolist()
        above, below = (line.values[here].tolist() for line in rims)
        upper = [field.at(*point) for point in zip(at, above, strict=True)]
        lower = [field.at(*point) for point in zip(at, below, strict=True)]
        canvas.line([*upper, *reversed(lower)], "slip", closed=True, fill="0.16")
        x = upper[0][0] + _HATCH
        while x < upper[-1][0]:
            ys = [float(np.interp(x, [p[0] for p in side], [p[1] for p in side])) for side in (upper, lower)]
            if abs(ys[1] - ys[0]) > 0.5:
                canvas.line([(x, ys[0]), (x, ys[1])], "slip")
            x += _HATCH


def _shade(canvas: Canvas, start: Start, field: _Field, until: float) -> None:
    """The times of slip across the field of torques."""
    for begin, end in start.slips:
        if begin < until:
            left, top = field.at(begin, field.steps[-1])
            right, bottom = field.at(min(end, until), field.steps[0])
            canvas.line([(left, top), (right, top), (right, bottom), (left, bottom)], "slip", closed=True, fill="0.08")


def _named(canvas: Canvas, start: Start, field: _Field, until: float) -> None:
    """The word at the slip: low in its field, where neither rim is at its end; or that there is none."""
    y = field.at(0.0, field.steps[0])[1] - 0.8 * TEXT
    right = WIDE - _RIGHT - 1.0
    if not start.slips:
        canvas.words((right, y), "no slip", "held", anchor="end", bold=True)
        return
    words = f"slips {start.slip_time:.2f} s" + (f" in {len(start.slips)} goes" if len(start.slips) > 1 else "")
    begin, end = max(start.slips, key=lambda pair: pair[1] - pair[0])
    middle = field.at(0.5 * (begin + min(end, until)), 0.0)[0]
    half = width(words, TEXT) / 2
    canvas.words((min(max(middle, field.left + half + 1.0), right - half), y), words, "slip", bold=True)
