"""Every set of belts a drive has had: since when, until when, how long it ran, and what the job that ended it was for.

Belts are changed by a job or by a new make-up; both tell of one change where they lie within a day of each other.
Running time is by the hours read, beyond them by the drive's hours a day. Judges nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from beltwright.bench.findings.fitted import Fitted, fitted, good_for
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.noted import NONE, ByKind, by_kind
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.job import Event, Job

# a make-up entered within this of a job's "belts on" tells of the same change
_SAME_CHANGE: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class BeltSet:
    """One set of belts.

    make_up: what was fitted then
    since:   none where nobody knows since when they run; until: none while they are on
    ran:     running time [s], none where it is not known; assumed: taken as all day, nobody having said
    why:     the reason given for the job that took them off
    """

    make_up: MakeUp
    since: datetime | None
    until: datetime | None
    ran: float | None
    assumed: bool
    why: str = ""

    def text(self) -> str:
        """What they are: `3 × B112, Northmark`."""
        belts = self.make_up.drive.belts
        return "".join((f"{belts.count} × " if belts.count else "", belts.marking or belts.section or "belts not known",
                        f", {belts.make}" if belts.make else ""))


def belt_sets(record: Record, *, now: datetime) -> tuple[BeltSet, ...]:
    """The sets of belts of a drive, the one on it now last."""
    noted = by_kind(record.readings)
    changed = belts_changed(record)
    starts: list[datetime | None] = [*changed]
    # what was entered with no word of when it was put on ran before the first change known
    if not changed or record.make_ups[0].since < changed[0] - _SAME_CHANGE:
        starts.insert(0, None)
    return tuple(_set(record, noted, since, until, now)
                 for since, until in zip(starts, [*starts[1:], None], strict=True))


def belts_changed(record: Record) -> list[datetime]:
    """When other belts were put on: by each job and by each make-up, a change that both tell of once."""
    by_job = [on for each in record.jobs if (on := _put_on_by(each)) is not None]
    by_record = [since for count in range(1, len(record.make_ups) + 1)
                 if (since := fitted(record.make_ups[:count], (), (), ()).since.get("belts")) is not None]
    alone = [since for since in dict.fromkeys(by_record) if all(abs(since - on) > _SAME_CHANGE for on in by_job)]
    return sorted({*by_job, *alone})


def _put_on_by(job: tuple[Job, Sequence[Event]]) -> datetime | None:
    nothing = MakeUp(job[0].id, job[0].drive_id, job[0].opened_at, Drive("", ""), "", job[0].opened_at)
    return fitted([nothing], [job], (), ()).since.get("belts")


def at_that_time(make_up: MakeUp, changed: Sequence[datetime], noted: ByKind, when: datetime) -> Fitted:
    """The belts as they were at a moment: since when they were on, and the hours read of them until then."""
    since = max((at for at in changed if at <= when), default=None)
    share = make_up.drive.hours_a_day
    clock = tuple(sorted((reading.taken_at, float(reading.values["hours"]), reading.id)
                         for reading in noted.get("hours", NONE)
                         if reading.taken_at <= when and (since is None or reading.taken_at >= since)))
    return Fitted(make_up.drive, {} if since is None else {"belts": since}, share=1.0 if share is None else share,
                  assumed=share is None, clock=clock)


def _set(record: Record, noted: ByKind, since: datetime | None, until: datetime | None, now: datetime) -> BeltSet:
    end = now if until is None else until - timedelta(microseconds=1)
    # the make-up of the next set may have been entered a little before it went on
    surely = end if until is None else until - _SAME_CHANGE
    make_up = record.make_ups[good_for(record.make_ups, surely if since is None else max(since, surely))]
    on = at_that_time(make_up, [] if since is None else [since], noted, end)
    return BeltSet(make_up, since, until, on.hours(end), on.assumed, "" if until is None else _why(record, until))


def _why(record: Record, when: datetime) -> str:
    return next((job.reason for job, events in record.jobs if _put_on_by((job, events)) == when), "")
