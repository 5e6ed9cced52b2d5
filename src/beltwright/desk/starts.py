"""Whether a drive of the book slips and squeals as it starts: the bench's working over what is on record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final, cast, get_args

from beltwright import units
from beltwright.bench import starts
from beltwright.bench.figure import Figure
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.history import tension_now
from beltwright.bench.findings.targets import Targets, targets_for
from beltwright.bench.start_figures import start_figures
from beltwright.bench.start_given import ToEnter, missing
from beltwright.bench.starts import Ask, Event, Otherwise, Start
from beltwright.desk.columns import believe
from beltwright.desk.face import Book
from beltwright.desk.judge import record_of
from beltwright.errors import InputError
from beltwright.plant.drive import Drive
from beltwright.units import System

# static tensions of a strand that are believed [N], and how many times a load may step up
LEAST_ASKED: Final = 1.0
MOST_ASKED: Final = 20_000.0
MOST_TIMES: Final = 10.0


@dataclass(frozen=True, slots=True)
class Started:
    """A drive's start: worked out, or what stands in the way; what to enter; how it would start otherwise."""

    drive: Drive
    start: Start | None
    why_not: str
    to_enter: tuple[ToEnter, ...]
    otherwise: tuple[Otherwise, ...] = ()


def start(book: Book, tag: str, ask: Ask | None = None, *, now: datetime) -> Started:
    """Work out a start, a jam or a load step of the drive with that tag, as it is fitted and was read last.

    errors: `Infeasible` or `OutOfRange` where what was entered, or asked, cannot be
    """
    drive, targets, tension = _as_it_stands(book, tag, now)
    to_enter = missing(drive)
    known = not to_enter and starts.given_at_all(targets, tension, ask)
    if not known:
        return Started(drive, None, starts.why_not(targets), to_enter)
    return Started(drive, starts.start(targets, tension, ask), "", (), starts.otherwise(targets, tension))


def _as_it_stands(book: Book, tag: str, now: datetime) -> tuple[Drive, Targets, Tension | None]:
    with book.looking():
        record = record_of(book, tag)
    drive = record.make_ups[-1].drive
    return drive, targets_for(drive), tension_now(record, now=now)


def asked(event: str, tension: str, times: str, system: System) -> Ask:
    """What a person asks for, as typed.

    errors: `UnitError` or `InputError` for what cannot be read or is no drive's
    """
    if event not in get_args(Event):
        raise InputError(f"{event!r} is not one of: {', '.join(get_args(Event))}")
    force = None
    if tension.strip():
        force = units.parse(tension, "force", default=units.SHOWN[system]["force"].unit)
        believe(force, "force", LEAST_ASKED, MOST_ASKED, system)
    many = Ask().times
    if times.strip():
        many = units.parse_number(times)
        if not 1.0 < many <= MOST_TIMES:
            raise InputError(f"a load step to {times.strip()} times the load: more than 1, and {MOST_TIMES:g} at most")
    return Ask(cast(Event, event), force, many)


def figure(found: Start, key: str) -> Figure:
    """One figure of a start; `InputError` lists those there are."""
    figures = {each.key: each for each in start_figures(found)}
    name = key.strip().casefold().replace("-", "_").replace(" ", "_")
    name = name if name in figures else f"start_{name}"
    if name not in figures:
        raise InputError(f"no figure {key!r} of a start: {', '.join(each.removeprefix('start_') for each in figures)}")
    return figures[name]
