"""What is coming up on a drive: new belts to be read again after their first hours, the season's reading.

The day follows from the hours run, the running share of a day and the plant's choice of published intervals. What is
due already is a finding (`due`). Judges nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from beltwright.bench.findings.due import last_read, ran_in
from beltwright.bench.findings.fitted import Fitted, fitted
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.noted import NONE, Choices, by_kind
from beltwright.mechanics.recheck import Recheck, recheck
from beltwright.plant.reading import Reading


@dataclass(frozen=True, slots=True)
class Coming:
    """A re-check to come: from `first` on, done by `last` at the latest (none where no end is printed)."""

    recheck: Recheck
    first: datetime
    last: datetime | None
    assumed: bool = False

    @property
    def title(self) -> str:
        """What there is to do."""
        return {"set": "Read the tension and set it again", "read": "Read the tension", "look": "Look it over"}[
            self.recheck.action]

    @property
    def days(self) -> str:
        """From which day to which."""
        first = self.first.date()
        if self.last is None:
            return f"from {first} on"
        return f"{first}" if self.last.date() == first else f"{first} to {self.last.date()}"


def coming(record: Record, *, now: datetime, choices: Choices | None = None) -> tuple[Coming, ...]:
    """The re-checks still to come on a drive, the soonest first; none while it is laid up."""
    noted = by_kind(record.readings)
    on = fitted(record.make_ups, record.jobs, noted.get("hours", NONE), noted.get("motor move", NONE))
    if on.laid_up is not None:
        return ()
    last = last_read(noted, on)
    found = [each for name in (choices or Choices()).rechecks
             if (each := _coming(recheck(name), on, last, now)) is not None]
    return tuple(sorted(found, key=lambda each: (each.first, each.recheck.name)))


def _coming(interval: Recheck, on: Fitted, last: Reading | None, now: datetime) -> Coming | None:
    if interval.clock == "running":
        run = on.hours(now)
        if run is None or run >= interval.low or on.share <= 0.0 or (interval.name == "run-in" and ran_in(on)):
            return None
        return Coming(interval, now + timedelta(seconds=(interval.low - run) / on.share),
                      _after(now, (interval.high - run) / on.share), on.assumed and not on.clock)
    if last is None or (now - last.taken_at).total_seconds() >= interval.low:
        return None
    return Coming(interval, last.taken_at + timedelta(seconds=interval.low), _after(last.taken_at, interval.high))


def _after(start: datetime, seconds: float) -> datetime | None:
    return None if seconds == float("inf") else start + timedelta(seconds=seconds)
