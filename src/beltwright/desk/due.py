"""What falls due in a plant, by the day: for a calendar.

What is due now stands on today, for that is when it can be done; what is coming stands on its own day. Findings say
what is due, the kept intervals what is to come (both `desk.judge`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from beltwright.bench.findings.finding import Finding, Urgency
from beltwright.desk import judge
from beltwright.desk.face import Book
from beltwright.units import System

# findings that are a matter of time, not of what is wrong
_MATTERS_OF_TIME: Final = ("due-", "laid-up", "job-open", "tension-unread", "alignment-unread")
_RUNS_DOWN: Final = "tension-running-down"


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
    """Everything due now or with a day to come, earliest first; of what is to come at a drive, the soonest."""
    return in_order(each for judged in judge.due_of_plant(book, now=now)
                    for each in due_of(judged, now=now, system=system))


def due_of(judged: judge.Judged, *, now: datetime, system: System) -> list[Due]:
    """What is due or to come at one drive."""
    drive = judged.make_up.drive
    some = [(finding.key, day, finding.title, finding.statement.text(system), finding.urgency)
            for finding in judged.findings if (day := _day_of(finding, now)) is not None]
    if not any(key.startswith("due-") or key == "laid-up" for key, *_ in some):
        some += [("next-reading", each.first.date(), each.title, each.recheck.words, "watch")
                 for each in judged.coming[:1]]
    return [Due(drive.tag, drive.name, drive.place, *each) for each in some]


def in_order(due: Iterable[Due]) -> list[Due]:
    """The earliest first."""
    return sorted(due, key=lambda each: (each.day, each.place, each.tag, each.key))


def _day_of(finding: Finding, now: datetime) -> date | None:
    if finding.key == _RUNS_DOWN:
        expected = finding.statement.puts.get("expected")
        try:
            return max(date.fromisoformat(str(expected.value if expected else "")), now.date())
        except ValueError:   # no end in sight
            return None
    return now.date() if finding.key.startswith(_MATTERS_OF_TIME) else None
