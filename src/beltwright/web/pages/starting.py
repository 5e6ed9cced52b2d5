"""Whether a drive slips and squeals as it starts: the verdict, its figures, the drawing and the numbers behind it.

A question is a plain form that asks for the same page: at another tension, for a jam, for a step of the load.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from beltwright.bench.start_figures import Moment, advice, moments, shown_until, start_figures, verdict
from beltwright.bench.starts import Outcome, Start
from beltwright.desk import starts
from beltwright.desk.starts import Started
from beltwright.errors import BeltwrightError, Unknown
from beltwright.paper.sheet import LEGEND, MARKS
from beltwright.paper.start_plot import start_plot
from beltwright.plant.identity import now
from beltwright.units import SHOWN, System, show, show_band, sign
from beltwright.web.addresses import drive_at
from beltwright.web.pages.figures import Shown, figure_shown
from beltwright.web.visit import At, drawn, first_up

router = APIRouter()

EVENTS: Final = {"start": "it starts", "jam": "the machine jams", "load step": "the load grows"}
_TITLES: Final = {"jam": "What if the machine jams?", "load step": "What if the load grows?"}
# outcome -> the word of a verdict whose mark stands for it
ANSWER: Final[dict[Outcome, str]] = {
    "starts clean": "good", "clean in good grooves": "good", "holds": "good", "chirps": "note",
    "squeals": "falls short", "slips": "falls short", "does not come up": "danger", "stalls": "danger"}
# what to set to first, what just holds after it
_FIRST: Final = ("start_least_poor", "start_least")


@dataclass(frozen=True, slots=True)
class ToEnter:
    """What is missing before a start can be worked out, and where it is entered."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class Event:
    """One of the questions."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Row:
    """A line of a table: its heading and its texts."""

    head: str
    cells: tuple[str, ...]
    marked: str = ""


@dataclass(frozen=True, slots=True)
class Worked:
    """A start that was worked out."""

    answer: str
    outcome: str
    said: str
    do: tuple[str, ...]
    first: tuple[tuple[Shown, str], ...]
    figures: tuple[Shown, ...]
    band: str
    tension: str
    drawing: Markup
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    otherwise: tuple[Row, ...]
    estimates: tuple[str, ...]
    caveat: str


@dataclass(frozen=True, slots=True)
class StartingPage:
    """The page. problem: why what was typed cannot be read or cannot be."""

    title: str
    tag: str
    name: str
    back: str
    action: str
    events: tuple[Event, ...]
    tension: str
    tension_unit: str
    times: str
    problem: str
    why_not: str
    to_enter: tuple[ToEnter, ...]
    worked: Worked | None
    legend: tuple[tuple[str, str], ...]


@router.get("/drives/{tag}/starting", name="starting")
def starting(at: At, tag: str, event: str = "start", tension: str = "", times: str = "") -> HTMLResponse:
    """The page of a drive's start."""
    system, when = at.person.system, now()
    typed = (event, tension.strip(), times.strip())
    try:
        started = starts.start(at.book, tag, starts.asked(*typed, system), now=when)
    except Unknown:
        raise
    except BeltwrightError as error:
        drive = at.book.drive_by_tag(tag).drive
        page = starting_page(Started(drive, None, "", ()), typed, system, problem=first_up(str(error)))
        return at.show("starting.html", page, status=422)
    return at.show("starting.html", starting_page(started, typed, system))


def starting_page(started: Started, typed: tuple[str, str, str], system: System, *, problem: str = "") -> StartingPage:
    """Fill the page."""
    drive, (event, tension, times) = started.drive, typed
    return StartingPage(
        title=_TITLES.get(event, "Will it slip as it starts?"), tag=drive.tag, name=drive.name,
        back=drive_at(drive.tag), action=drive_at(drive.tag, "starting"),
        events=tuple(Event(value, words, value == event) for value, words in EVENTS.items()), tension=tension,
        tension_unit=sign(SHOWN[system]["force"].unit), times=times, problem=problem,
        why_not=first_up(started.why_not) if not started.to_enter else "",
        to_enter=tuple(ToEnter(first_up(each.words), f"/survey?{urlencode({'drive': drive.tag, 'ask': each.column})}")
                       for each in started.to_enter),
        worked=_worked(started.start, started, system) if started.start is not None else None,
        legend=tuple(LEGEND.items()))


def _worked(start: Start, started: Started, system: System) -> Worked:
    shown = {figure.key: figure_shown(figure, system) for figure in start_figures(start)}
    fits = {"start_least": start.fits(start.least), "start_least_poor": start.fits(start.least_poor)}
    return Worked(
        answer=ANSWER[start.outcome], outcome=first_up(start.outcome), said=first_up(verdict(start).text(system)),
        do=tuple(line.text(system).rstrip(".") for line in advice(start)),
        first=tuple((shown[key], fits[key]) for key in _FIRST if key in shown),
        figures=tuple(each for key, each in shown.items() if key not in _FIRST),
        band="" if start.band is None else f"{show_band(*start.band, 'force', system)} for "
             f"{'new' if start.new else 'run-in'} belts",
        tension=first_up(start.given.tension_from), drawing=drawn(start_plot(start, system)),
        columns=_columns(system), rows=tuple(_row(moment, start, system) for moment in moments(start, shown_until(
            start))), otherwise=_otherwise(started, system), estimates=_estimates(start, system),
        caveat=first_up(start.given.caveat))


def _columns(system: System) -> tuple[str, ...]:
    def unit(kind: str) -> str:
        return sign(SHOWN[system][kind].unit)

    return ("After, s", f"Motor, {unit('rotation')}", f"Machine, {unit('rotation')}", f"Motor pulls, {unit('moment')}",
            f"Load at the motor, {unit('moment')}", f"Belts pull, {unit('force')}", f"Slip, {unit('speed')}")


def _row(moment: Moment, start: Start, system: System) -> Row:
    def number(value: float, kind: str, digits: int | None = None) -> str:
        unit = sign(SHOWN[system][kind].unit)
        return show(value, kind, system, digits=digits).removesuffix(unit).rstrip()

    slips = any(begin <= moment.time <= end for begin, end in start.slips)
    return Row(number(moment.time, "short time", 2),
               (number(max(moment.driver, 0.0), "rotation"), number(max(moment.driven, 0.0), "rotation"),
                number(moment.motor, "moment"), number(moment.load, "moment"), number(moment.pull, "force"),
                number(abs(moment.slip), "speed")), "slips" if slips else "")


def _otherwise(started: Started, system: System) -> tuple[Row, ...]:
    reach = {None: "", True: "in reach", False: "above it"}
    return tuple(Row(first_up(each.way), (
        show(each.least, "force", system), reach[each.in_band],
        "not reached" if each.up_at is None else show(each.up_at, "short time", system)),
        "as it is" if each.own else "") for each in started.otherwise)


def _estimates(start: Start, system: System) -> tuple[str, ...]:
    """What nobody measured: an answer is no better than these."""
    words: Sequence[tuple[str, str]] = (
        ("locked_rotor", "locked-rotor torque"), ("pull_up", "pull-up torque"), ("breakdown", "breakdown torque"),
        ("rotor_inertia", "motor's rotor"), ("machine_inertia", "machine"), ("driver_sheave_inertia", "driver sheave"),
        ("driven_sheave_inertia", "driven sheave"), ("rigidity", "stretch of one strand"))
    facts = start.given.facts
    return tuple(f"{name} {show(facts[key].value, facts[key].kind, system)}{MARKS.get(facts[key].trust, '')}, "
                 f"{facts[key].how}" for key, name in words if facts[key].trust in MARKS)
