"""Whether a drive of the book slips and squeals as it starts: the bench's working over what is on record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from beltwright.bench import starts
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.history import tension_now
from beltwright.bench.findings.targets import Targets, targets_for
from beltwright.bench.start_given import ToEnter, missing
from beltwright.bench.starts import Ask, Otherwise, Start
from beltwright.desk.face import Book
from beltwright.desk.judge import record_of
from beltwright.plant.drive import Drive


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
