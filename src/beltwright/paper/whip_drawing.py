"""The chart of a drive's whip, to scale: notes of both spans over tension or speed, and what shakes them.

Each shaker is a line with a letter at its end and a stripe as wide as “near” is; a span is to keep out of the stripes.
Solid is the tight side, dashed the slack side. The tables beside the chart hold the same numbers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from string import ascii_uppercase
from typing import Final

from beltwright.bench.whip_chart import OverSpeed, Shaker, Tongue, Whip
from beltwright.paper.frame import Look
from beltwright.paper.svg import Canvas, Dash, Point, Weight, width
from beltwright.units import SHOWN, System, from_si, show, sign, to_si

PAGE: Final = Look(100.0, 92.0, 3.4)
PAPER: Final = Look(180.0, 120.0, 3.6, "sans-serif")
# the highest note drawn, over the highest of the spans
_HEADROOM: Final = 1.25
_LINES: Final[Mapping[str, Dash]] = {"driver": "chain", "driven": "chain", "belt": "dotted"}


@dataclass(frozen=True, slots=True)
class Plot:
    """Where the axes lie on paper [mm] and what they run to: one from `x_low` to `x_high`, notes from nought up."""

    left: float
    top: float
    wide: float
    high: float
    x_low: float
    x_high: float
    y_high: float

    def at(self, x: float, y: float) -> Point:
        """A point on paper."""
        return (self.left + self.wide * (x - self.x_low) / (self.x_high - self.x_low),
                self.top + self.high * (1.0 - y / self.y_high))


def letters(made: Whip) -> dict[str, str]:
    """A letter for everything that shakes, by its key: what is judged first."""
    return dict(zip((shaker.key for shaker in made.shakers), ascii_uppercase, strict=False))


def tension_chart(made: Whip, system: System, look: Look = PAGE) -> str:
    """Notes over static tension: the run-in band shaded, the clear part of it underlined, the tension looked at."""
    curves = made.curves
    canvas, plot = _begin(look, curves.over, (*curves.tight, *curves.slack))
    low, high = made.band
    canvas.line([plot.at(x, y) for x, y in ((low, 0), (high, 0), (high, plot.y_high), (low, plot.y_high))], "band",
                closed=True, fill="0.07", weight="medium")
    canvas.words((_middle(plot, low, high), plot.top - 0.8 * look.text), "run-in band", "band")
    named = letters(made)
    level = [(plot.x_low, 1.0), (plot.x_high, 1.0)]
    for shaker in made.shakers:
        _shaker(canvas, plot, shaker, level, made.near)
    for tongue in made.tongues:
        _tongue(canvas, plot, tongue)
    _letters(canvas, plot, [(shaker.meets, named[shaker.key]) for shaker in made.shakers])
    _curves(canvas, plot, curves.over, curves.tight, curves.slack)
    _looked_at(canvas, plot, made, system)
    if made.window is not None:
        _underlined(canvas, plot, made.window, "clear")
    _axes(canvas, plot, "static tension of one strand", "force", system)
    return _done(canvas, look, f"Notes of the spans of {made.targets.drive.tag} over static tension",
                 f"{_in_words(made)} The tables beside this chart hold its numbers.", "whip")


def speed_chart(made: Whip, over: OverSpeed, system: System, look: Look = PAGE) -> str:
    """Notes over the speed of a variable motor, what shakes as rays, the speeds to keep out of underlined."""
    curves = over.curves
    canvas, plot = _begin(look, curves.over, (*curves.tight, *curves.slack))
    named = letters(made)
    ends = []
    for shaker in over.shakers:
        ray = [(plot.x_low, plot.x_low / over.rated), (plot.x_high, plot.x_high / over.rated)]
        _shaker(canvas, plot, shaker, ray, made.near)
        ends.append((shaker.meets * plot.x_high / over.rated, named[shaker.key]))
    _letters(canvas, plot, ends)
    # a ray that leaves through the top has its letter there
    _letters_above(canvas, plot, [(plot.x_high * plot.y_high / end, letter) for end, letter in ends
                                  if end > plot.y_high])
    _curves(canvas, plot, curves.over, curves.tight, curves.slack)
    for stretch in over.near:
        _underlined(canvas, plot, stretch, "near")
    _axes(canvas, plot, "motor speed", "rotation", system)
    return _done(canvas, look, f"Notes of the spans of {made.targets.drive.tag} over motor speed",
                 "The notes fall as the belt runs faster, what shakes rises; where they meet is in the table beside "
                 "this chart.", "whip-speed")


def _begin(look: Look, over: Sequence[float], notes: Sequence[float]) -> tuple[Canvas, Plot]:
    size = look.text
    canvas = Canvas(size)
    left, right, top, bottom = 3.4 * size, 2.4 * size, 2.4 * size, 4.2 * size
    plot = Plot(left, top, look.width - left - right, look.height - top - bottom, over[0], over[-1],
                _HEADROOM * max(notes))
    canvas.reach((0.0, 0.0), (look.width, look.height))
    return canvas, plot


def _done(canvas: Canvas, look: Look, title: str, desc: str, name: str) -> str:
    return canvas.svg((0.0, 0.0), (look.width, look.height), title, desc, name, look.font)


def _in_words(made: Whip) -> str:
    sides = ", ".join(f"{side.name} side {show(side.note, 'frequency', 'si')}" for side in made.sides)
    return f"At {show(made.tension, 'force', 'si')}: {sides}."


def _middle(plot: Plot, low: float, high: float) -> float:
    return 0.5 * (plot.at(low, 0)[0] + plot.at(high, 0)[0])


def _shaker(canvas: Canvas, plot: Plot, shaker: Shaker, run: Sequence[tuple[float, float]], near: float) -> None:
    """A line from one side of the plot to the other, its stripe about it where it is judged. run: x, and the share of
    the shaker's own frequency there."""
    line = [(x, share * shaker.meets) for x, share in run]
    if shaker.judged and not shaker.feeds:
        low, high = ([(x, y * side) for x, y in line] for side in (1 - near, 1 + near))
        stripe = _below_top(plot, low + high[::-1])
        if len(stripe) > 2:
            canvas.line([plot.at(*point) for point in stripe], "stripe", closed=True, fill="0.13")
    drawn = _below_top(plot, line)
    if len(drawn) > 1:
        dash: Dash = "dashed" if shaker.feeds else _LINES.get(shaker.key.split()[0], "")
        weight: Weight = "medium" if shaker.judged else "thin"
        canvas.line([plot.at(*point) for point in drawn], "shaker", dash=dash if shaker.judged else "dotted",
                    weight=weight)


def _below_top(plot: Plot, points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Points of a line or an outline, cut off where it leaves the plot at its top."""
    top = plot.y_high
    kept: list[tuple[float, float]] = []
    closed = [*points, points[0]] if len(points) > 2 else list(points)
    for (x, y), (x_next, y_next) in pairwise(closed):
        if y <= top:
            kept.append((x, y))
        if (y > top) != (y_next > top):
            share = (top - y) / (y_next - y)
            kept.append((x + share * (x_next - x), top))
    if len(points) == 2 and closed[-1][1] <= top:
        kept.append(closed[-1])
    return kept


def _tongue(canvas: Canvas, plot: Plot, tongue: Tongue) -> None:
    outline = [*zip(tongue.tensions, tongue.low, strict=True), *reversed(list(zip(tongue.tensions, tongue.high,
                                                                                  strict=True)))]
    shape = _below_top(plot, outline)
    if len(shape) > 2:
        canvas.line([plot.at(*point) for point in shape], "tongue", closed=True, fill="0.28")


def _letters(canvas: Canvas, plot: Plot, ends: Sequence[tuple[float, str]]) -> None:
    """The letters at the right, each at its line or as near as the others let it stand."""
    size, x = canvas.text_size, plot.left + plot.wide + 0.5 * canvas.text_size
    places = [(plot.at(plot.x_low, y)[1], letter) for y, letter in ends if y <= plot.y_high]
    for place, words in _together(places, 1.05 * size):
        canvas.words((x, place), words, "letter", anchor="start", bold=True,
                     size=size if len(words) < 3 else 0.8 * size)


def _letters_above(canvas: Canvas, plot: Plot, ends: Sequence[tuple[float, str]]) -> None:
    """The letters along the top."""
    size = canvas.text_size
    places = [(plot.at(x, 0)[0], letter) for x, letter in ends if x >= plot.x_low]
    for place, words in _together(places, 1.6 * size):
        canvas.words((place, plot.top - 0.8 * size), words, "letter", bold=True)


def _together(places: Sequence[tuple[float, str]], apart: float) -> list[tuple[float, str]]:
    """Lines that end in one place share their letters."""
    groups: list[tuple[float, str]] = []
    for place, letter in sorted(places):
        if groups and place - groups[-1][0] < apart:
            groups[-1] = (groups[-1][0], groups[-1][1] + letter)
        else:
            groups.append((place, letter))
    return groups


def _curves(canvas: Canvas, plot: Plot, over: Sequence[float], tight: Sequence[float], slack: Sequence[float]) -> None:
    size = canvas.text_size
    dashes: tuple[tuple[str, Sequence[float], Dash], ...] = (("tight", tight, ""), ("slack", slack, "dashed"))
    for name, notes, dash in dashes:
        canvas.line([plot.at(x, y) for x, y in zip(over, notes, strict=True)], name, weight="thick", dash=dash)
        # above the line, on the side where it is lower and leaves room
        rises = notes[-1] > notes[0]
        at = round((0.86 if rises else 0.12) * (len(over) - 1))
        x, y = plot.at(over[at], notes[at])
        canvas.words((x, y - 1.1 * size), name, name, anchor="end" if rises else "start", bold=True)


def _looked_at(canvas: Canvas, plot: Plot, made: Whip, system: System) -> None:
    """The tension looked at: a line down to the axis, a dot on each span's note with the note beside it."""
    size, x = canvas.text_size, made.tension
    canvas.line([plot.at(x, 0), plot.at(x, plot.y_high)], "looked-at", weight="medium")
    for side in made.sides:
        place = plot.at(x, side.note)
        canvas.circle(place, 0.32 * size, side.name, fill="1", weight="thin")
        # on the side where there is room: the names of the curves stand far right
        left = place[0] > plot.left + 0.5 * plot.wide
        dx, dy = (-0.6, -0.7) if left else (0.6, 0.95)
        canvas.words((place[0] + dx * size, place[1] + dy * size), show(side.note, "frequency", system),
                     f"note {side.name}", anchor="end" if left else "start", bold=True)


def _underlined(canvas: Canvas, plot: Plot, stretch: tuple[float, float], words: str) -> None:
    """A stretch of the axis, underlined, and named: one of several only where there is room."""
    size = canvas.text_size
    (a, y), (b, _) = (plot.at(x, 0) for x in stretch)
    canvas.line([(a, y - 0.25 * size), (b, y - 0.25 * size), (b, y + 0.25 * size), (a, y + 0.25 * size)], words,
                closed=True, fill="1")
    if words == "clear" or b - a > width(words, size):
        canvas.words((0.5 * (a + b), y - 0.95 * size), words, words, bold=True)


def _axes(canvas: Canvas, plot: Plot, what: str, kind: str, system: System) -> None:
    size, unit = canvas.text_size, SHOWN[system][kind].unit
    corner = plot.at(plot.x_low, 0)
    canvas.line([plot.at(plot.x_low, plot.y_high), corner, plot.at(plot.x_high, 0)], "axis", weight="medium")
    for shown in ticks(from_si(plot.x_low, unit, kind), from_si(plot.x_high, unit, kind), 5):
        x, y = plot.at(to_si(shown, unit, kind), 0)
        canvas.line([(x, y), (x, y + 0.4 * size)], "tick", weight="medium")
        canvas.words((x, y + 1.2 * size), f"{shown:g}", "tick")
    canvas.words((plot.left + 0.5 * plot.wide, corner[1] + 2.7 * size), f"{what}, {sign(unit)}", "axis")
    for shown in ticks(0.0, plot.y_high, 6):
        x, y = plot.at(plot.x_low, shown)
        canvas.line([(x - 0.4 * size, y), (x, y)], "tick", weight="medium")
        canvas.words((x - 0.7 * size, y), f"{shown:g}", "tick", anchor="end")
    canvas.words((0.2 * size, 0.8 * size), "Hz", "axis", anchor="start")


def ticks(low: float, high: float, wanted: int) -> list[float]:
    """Round numbers in a range, about so many.

    >>> ticks(0.0, 43.0, 6)
    [0.0, 10.0, 20.0, 30.0, 40.0]
    """
    power = 10.0 ** math.floor(math.log10((high - low) / wanted))
    steps = (each * power for each in (1.0, 2.0, 2.5, 5.0))
    step = next((each for each in steps if (high - low) / each <= wanted), 10.0 * power)
    first = math.ceil(low / step - 1e-9)
    return [each * step for each in range(first, math.floor(high / step + 1e-9) + 1)]
