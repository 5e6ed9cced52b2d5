"""What a drive's readings say of it, and those of the whole plant: the bench's judgement over a book.

Findings are worked out anew each time from what is on record; nothing of them is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from beltwright.bench.findings.coming import Coming, coming
from beltwright.bench.findings.finding import Finding, Urgency, worst
from beltwright.bench.findings.fitted import Jobs
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.history import Held, tension_history, tension_now
from beltwright.bench.findings.judge import Record, judge, judge_many
from beltwright.bench.findings.noted import Choices
from beltwright.bench.findings.sets import BeltSet, belt_sets
from beltwright.desk.face import Book
from beltwright.plant.drive import MakeUp
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings


@dataclass(frozen=True, slots=True)
class Judged:
    """A drive as it is now, its findings, most urgent first, and the re-checks still to come, the soonest first."""

    make_up: MakeUp
    findings: tuple[Finding, ...]
    coming: tuple[Coming, ...] = ()

    @property
    def urgency(self) -> Urgency:
        """The drive in a word: that of its most urgent finding."""
        return worst(self.findings)


@dataclass(frozen=True, slots=True)
class Past:
    """A drive's past: each occasion its tension was read, each set of belts, and how the tension stands now."""

    held: tuple[Held, ...]
    sets: tuple[BeltSet, ...]
    tension: Tension | None


def findings(book: Book, tag: str, *, now: datetime) -> tuple[Finding, ...]:
    """The findings of the drive with that tag, most urgent first."""
    with book.looking():
        return judge(record_of(book, tag), now=now, choices=choices(book.settings()))


def history(book: Book, tag: str) -> tuple[Held, ...]:
    """The tension of the drive with that tag through the years, each time against what was fitted then."""
    with book.looking():
        return tension_history(record_of(book, tag))


def past(book: Book, tag: str, *, now: datetime) -> Past:
    """What the drive with that tag has been through: its tension in time, its sets of belts, what was learned."""
    with book.looking():
        return past_of(record_of(book, tag), now=now)


def past_of(record: Record, *, now: datetime) -> Past:
    """What a drive has been through, from what is on record of it."""
    return Past(tension_history(record), belt_sets(record, now=now), tension_now(record, now=now))


def tension(book: Book, tag: str, *, now: datetime) -> Tension | None:
    """How the tension of that drive stands, what its own moves have taught and when it runs down; none if not read."""
    with book.looking():
        return tension_now(record_of(book, tag), now=now)


def record_of(book: Book, tag: str) -> Record:
    """What is on record of the drive with that tag."""
    return _record(book, book.drive_by_tag(tag).drive_id)


def _record(book: Book, drive_id: UUID) -> Record:
    return Record(book.make_ups(drive_id), book.readings(drive_id),
                  [(job, book.events(job.id)) for job in book.jobs(drive_id)])


def findings_of_plant(book: Book, *, now: datetime) -> Iterator[Judged]:
    """The findings of every drive, in the order in which the book holds them; one moment's record."""
    with book.looking():
        for make_up, found in judge_many(_records(book), now=now, choices=choices(book.settings())):
            yield Judged(make_up, found)


def due_of_plant(book: Book, *, now: datetime, drive_ids: Iterable[UUID] | None = None) -> Iterator[Judged]:
    """As `findings_of_plant`, with what is still to come at each drive; of these drives alone, where some are named."""
    with book.looking():
        wanted, ahead = choices(book.settings()), dict[UUID, tuple[Coming, ...]]()

        def noting() -> Iterator[Record]:
            for record in _records(book) if drive_ids is None else (_record(book, each) for each in drive_ids):
                ahead[record.make_ups[-1].drive_id] = coming(record, now=now, choices=wanted)
                yield record

        for make_up, found in judge_many(noting(), now=now, choices=wanted):
            yield Judged(make_up, found, ahead.pop(make_up.drive_id))


def to_come(book: Book, tag: str, *, now: datetime) -> tuple[Coming, ...]:
    """The re-checks still to come at the drive with that tag, the soonest first."""
    with book.looking():
        return coming(record_of(book, tag), now=now, choices=choices(book.settings()))


def _records(book: Book) -> Iterator[Record]:
    """Every drive with its make-ups, readings and jobs, a drive at a time: all three come in one order of drives."""
    readings, jobs = book.readings_of_plant(), book.jobs_of_plant()
    next_read, next_worked = next(readings, None), next(jobs, None)
    for drive_id, make_ups in book.make_ups_of_plant():
        read: Sequence[Reading] = ()
        worked: Jobs = ()
        if next_read is not None and next_read[0] == drive_id:
            read, next_read = next_read[1], next(readings, None)
        if next_worked is not None and next_worked[0] == drive_id:
            worked, next_worked = next_worked[1], next(jobs, None)
        yield Record(make_ups, read, worked)


def choices(settings: Settings) -> Choices:
    """What the plant chose, as judgement needs it."""
    kept = settings.defaults.get("rechecks", "")
    names = tuple(name.strip() for name in kept.split(",") if name.strip())
    made = Choices(settings.energy_price, settings.currency)
    return replace(made, rechecks=names) if names else made
