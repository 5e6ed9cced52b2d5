"""A start as text: the verdict, its numbers, the run-up drawn in letters, what to do, how it would start otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from beltwright.bench.start_figures import advice, shown_until, start_figures, verdict
from beltwright.bench.starts import Outcome, Start
from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, length, pad, table, wrapped
from beltwright.desk.starts import Started
from beltwright.paper.sheet import MARKS
from beltwright.units import SHOWN, System, from_si, show, show_band, sign

# outcome -> the word whose mark goes before it
_MARKED: Final[dict[Outcome, str]] = {
    "starts clean": "good", "clean in good grooves": "good", "holds": "good", "chirps": "note",
    "squeals": "falls short", "slips": "falls short", "does not come up": "danger", "stalls": "danger"}
_ROWS: Final = 13
# columns that a value and what is said of it need beside its title
_LEAST: Final = 30
_WIDEST: Final = 90


def start_lines(started: Started, system: System, width: int, signs: Signs) -> list[str]:
    """The lines of a start."""
    start = started.start
    assert start is not None
    mark = signs.marks[_MARKED[start.outcome]]
    outcome = f"{mark} {start.outcome.upper()}"
    name = f"{started.drive.tag}  {started.drive.name}: {_question(start)}"
    lines = [signs.heavy * width, *wrapped(name, width), outcome, signs.heavy * width]
    words = verdict(start).text(system)
    lines += [*wrapped(f"{words[:1].upper()}{words[1:]}.", width), "", *_figures(start, system, width)]
    if do := advice(start):
        lines.append("")
    for number, line in enumerate(do, start=1):
        lines += wrapped(line.text(system), width, first=f"{number}. ")
    lines += ["", *_plot(start, system, width, signs)]
    if start.ask.event == "start":
        lines += ["", *_otherwise(started, system, width, signs)]
    lines += ["", *_estimates(start, system, width)]
    lines += wrapped(f"{MARKS['practice']} rests on common practice in part.", width)
    lines += wrapped(f"How a figure came about: beltwright run-up {started.drive.tag} --why FIGURE: "
                     f"{', '.join(each.key.removeprefix('start_') for each in start_figures(start))}", width)
    return [*lines, signs.heavy * width]


def _question(start: Start) -> str:
    match start.ask.event:
        case "jam":
            return "its machine jams"
        case "load step":
            return f"its load grows to {start.ask.times:g} times"
    return "as it starts"


def _figures(start: Start, system: System, width: int) -> list[str]:
    figures = start_figures(start)
    titles = max(length(figure.title) for figure in figures)
    lines = []
    for figure in figures:
        text = f"{figure.text(system)}{MARKS.get(figure.working.trust, '')} {figure.spread_text(system)}".rstrip()
        if figure.key == "start_tension":
            text += f"  ({start.given.tension_from})"
        if figure.key in ("start_least", "start_least_poor"):
            fits = start.fits(start.least if figure.key == "start_least" else start.least_poor)
            text += f"  {fits}" if fits else ""
        lines += _figure(figure.title, text, titles, width)
    if start.band is not None and start.ask.event != "jam":
        lines += _figure(f"Its band, {_belts(start)}", show_band(*start.band, "force", system), titles, width)
    return lines


def _figure(title: str, text: str, titles: int, width: int) -> list[str]:
    """A title and its value beside it; under it where the screen is narrow."""
    if titles + _LEAST > width:
        return [*wrapped(title, width, first="  "), *wrapped(text, width, first="      ")]
    return wrapped(text, width, first=f"  {pad(title, titles)}  ")


def _belts(start: Start) -> str:
    return "new belts" if start.new else "run-in belts"


def _plot(start: Start, system: System, width: int, signs: Signs) -> list[str]:
    """Speeds of both rims over time, the slip between them hatched."""
    course, train, until = start.course, start.given.train, shown_until(start)
    unit = SHOWN[system]["speed"].unit
    drawn = "●" if signs.box == "☐" else "*"
    other = "○" if signs.box == "☐" else "o"
    wide = min(width, _WIDEST) - 9
    time = np.linspace(0.0, until, wide)
    rims = [np.maximum(np.interp(time, course.time, speeds) * radius, 0.0) for speeds, radius in (
        (course.driver, train.driver_radius), (course.driven, train.driven_radius))]
    slip = np.zeros(wide, dtype=bool)
    for begin, end in start.slips:
        slip |= (time >= begin) & (time <= end)
    top = max(float(np.max(rim)) for rim in rims) or 1.0
    rows = [[" "] * wide for _ in range(_ROWS)]
    for at in range(wide):
        first, second = (_ROWS - 1 - round(float(rim[at]) / top * (_ROWS - 1)) for rim in rims)
        if slip[at]:
            for between in range(min(first, second) + 1, max(first, second)):
                rows[between][at] = "/"
        rows[second][at], rows[first][at] = other, drawn
    lines = wrapped(f"{drawn} motor's rim   {other} machine's rim   {'/ slip' if start.slips else 'no slip'}", width)
    for number, row in enumerate(rows):
        value = top * (_ROWS - 1 - number) / (_ROWS - 1)
        scale = f"{from_si(value, unit, 'speed'):6.{1 if unit == 'm/s' else 0}f}" if number % 3 == 0 else " " * 6
        lines.append(f"{scale} |{''.join(row)}")
    lines.append(f"{sign(unit):>6} +{'-' * wide}")
    half, last = show(until / 2, "short time", system), show(until, "short time", system)
    lines.append(f"{' ' * 8}0{half:^{wide - 1 - length(last)}}{last}")
    return lines


def _otherwise(started: Started, system: System, width: int, signs: Signs) -> list[str]:
    rows: list[Sequence[str]] = [
        (f"{each.way}{' (as it is)' if each.own else ''}", show(each.least, "force", system),
         "" if each.in_band is None else "in reach" if each.in_band else "above it",
         "not reached" if each.up_at is None else show(each.up_at, "short time", system))
        for each in started.otherwise]
    return table((Column("started", least=14), Column("least tension,\npoor grooves", "right"), Column("of the band"),
                  Column("up to speed\nafter", "right")), rows, width=width, signs=signs)


def _estimates(start: Start, system: System, width: int) -> list[str]:
    """What nobody entered or measured, in a sentence: an answer is no better than these."""
    names = {"rotor_inertia": "the motor's rotor", "machine_inertia": "the machine", "rigidity": "the belts' stretch",
             "driver_sheave_inertia": "the driver sheave", "driven_sheave_inertia": "the driven sheave",
             "locked_rotor": "locked-rotor torque", "breakdown": "breakdown torque"}
    some = [f"{words} {show(fact.value, fact.kind, system)} ({fact.how})" for name, words in names.items()
            if (fact := start.given.facts[name]).trust in ("practice", "memory")]
    caveat = start.given.caveat
    return [*(wrapped(f"{caveat[:1].upper()}{caveat[1:]}.", width) if caveat else ()),
            *(wrapped(f"Not measured: {'; '.join(some)}.", width) if some else ())]
