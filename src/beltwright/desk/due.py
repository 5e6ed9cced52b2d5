"""What falls due in a plant, by the day: for a calendar.

What is due now stands on today, for that is when it can be done; what is coming stands on its own day. Findings say
what is due (`desk.judge`); the next season's reading follows from the last one and the interval the plant keeps.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from beltwright.bench.findings.finding import Finding, Urgency
from beltwright.desk.face import Book
from beltwright.desk.judge import choices, findings_of_plant
from beltwright.mechanics.recheck import recheck
from beltwright.units import System

# findings that are a matter of time, not of what is wrong
_MATTERS_OF_TIME: Final = ("due-", "laid-up", "job-open", "tension-unread", "alignment-unread")
_RUNS_DOWN: Final = "tension-running-down"
_TENSION: Final = ("force", "frequency")


@dataclass(frozen=True, slots=True)
class Due:
    """Something due at a drive. `key` names it among those of its drive, the same from day to day."""

    tag: str
    name: str
    place: str
    key: str
    day: date
    title: str
    words: str
    urgency: Urgency


def due_of_plant(book: Book, *, now: datetime, system: System) -> list[Due]:
    """Everything due now or with a day to come, earliest first."""
    found: list[Due] = []
    with book.looking():
        coming = dict(_coming(book, now))
        for judged in findings_of_plant(book, now=now):
            drive = judged.make_up.drive
            some = [(finding.key, day, finding.title, finding.statement.text(system), finding.urgency)
                    for finding in judged.findings if (day := _day_of(finding, now)) is not None]
            if not any(key.startswith("due-") or key == "laid-up" for key, *_ in some) \
                    and (next_day := coming.get(judged.make_up.drive_id)):
                some.append(("next-reading", next_day, "Due to be read", "the season's reading of tension", "watch"))
            found += [Due(drive.tag, drive.name, drive.place, *each) for each in some]
    return sorted(found, key=lambda due: (due.day, due.place, due.tag, due.key))


def _day_of(finding: Finding, now: datetime) -> date | None:
    if finding.key == _RUNS_DOWN:
        expected = finding.statement.puts.get("expected")
        try:
            return max(date.fromisoformat(str(expected.value if expected else "")), now.date())
        except ValueError:   # no end in sight
            return None
    return now.date() if finding.key.startswith(_MATTERS_OF_TIME) else None


def _coming(book: Book, now: datetime) -> Iterator[tuple[object, date]]:
    """Drives and the day of their next reading by the calendar."""
    kept = [interval for interval in map(recheck, choices(book.settings()).rechecks) if interval.clock == "calendar"]
    if not kept:
        return
    soonest = timedelta(seconds=min(interval.low for interval in kept))
    for drive_id, readings in book.readings_of_plant(since=now - soonest):
        last = max((reading.taken_at for reading in readings if reading.kind in _TENSION), default=None)
        if last is not None:
            yield drive_id, (last + soonest).date()
