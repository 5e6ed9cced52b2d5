"""The round of a day: which drives to look at through the guard today, and which may wait.

A drive is looked at when it is grave, when a re-check is due, or when nobody noted anything at it for as long as the
published weekly look allows. One that is laid up does not turn and is left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal
from uuid import UUID

from beltwright.bench.findings.finding import URGENCIES
from beltwright.desk.face import Book
from beltwright.mechanics.recheck import recheck

Which = Literal["today", "hand", "all"]
WHICH: Final[tuple[Which, ...]] = ("today", "hand", "all")
# findings by their titles, which is what is kept of ten thousand drives
_LAID_UP: Final = "Laid up"
_DUE: Final = ("Overdue to be read", "Due to be read", "Belts to be set again", "Tension not read since",
               "Not aligned since", "A job was left open")
_GRAVE: Final = URGENCIES[:2]


@dataclass(frozen=True, slots=True)
class Seen:
    """The last note at a drive: when and by whom."""

    at: datetime
    by: str


def weekly() -> timedelta:
    """How long a drive may go without a look, as the published weekly look has it."""
    return timedelta(seconds=recheck("weekly look").high)


def lately_seen(book: Book, *, now: datetime) -> Mapping[UUID, Seen]:
    """The last note at each drive at which something was noted within the week."""
    return {drive_id: Seen(last.taken_at, last.by)
            for drive_id, readings in book.readings_of_plant(since=now - weekly())
            if (last := max(readings, key=lambda reading: reading.taken_at))}


def stands_still(titles: Sequence[str]) -> bool:
    """Whether a drive does not turn, by the titles of its findings: there is nothing to see through its guard."""
    return any(title.startswith(_LAID_UP) for title in titles)


def why_today(stands: str, titles: Sequence[str], seen: Seen | None) -> str:
    """Why a drive is looked at today, in a few words; nothing where it may wait.

    stands: how it stands, nothing while that is being judged; titles: of its findings
    seen:   the last note within the week, none where there is none

    >>> why_today("sound", (), None)
    'not looked at for a week'
    >>> why_today("stop and mend", ("Laid up: do not start",), None)
    ''
    """
    if stands_still(titles):
        return ""
    if not stands:
        return "not judged yet"   # better one look too many
    if stands in _GRAVE:
        return "needs a hand"
    if any(title.startswith(_DUE) for title in titles):
        return "due to be read"
    return "not looked at for a week" if seen is None else ""
