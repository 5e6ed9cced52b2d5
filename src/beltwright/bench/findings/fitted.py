"""What is fitted on a drive and since when, how long it has run, and what jobs have done to it since.

A reading is judged against what was fitted that day: a reading from before the belts or a sheave were changed says
nothing of those that are on now. A later make-up that only fills in what was unknown changes no part. Judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from itertools import pairwise
from typing import Final
from uuid import UUID

from beltwright.bench.known import WHICH
from beltwright.mechanics.recheck import recheck
from beltwright.plant.drive import Belts, Drive, MakeUp, Sheave
from beltwright.plant.job import Event, Job
from beltwright.plant.reading import Reading

Jobs = Sequence[tuple[Job, Sequence[Event]]]

# two tapes round one rim: within this share it is the same sheave
_SAME_SIZE: Final = 0.02


@dataclass(frozen=True, slots=True)
class Fitted:
    """What is on the drive now, and when each part of it came to be.

    since:     since when belts, driver and driven are those fitted now, as far as that is known
    moved_at:  when the centre distance was changed last; aligned_at: when aligning was confirmed last
    done:      when each step of a job was last done, by its plain key
    laid_up:   since when the belts are relaxed for a long stop, and no return job is closed
    open_job:  a job neither closed nor abandoned
    share:     running share of a day; assumed: taken as all day, nobody having said
    clock:     running hours read, and when
    """

    drive: Drive
    since: Mapping[str, datetime]
    moved_at: datetime | None = None
    done: Mapping[str, datetime] = field(default_factory=dict)
    laid_up: datetime | None = None
    open_job: Job | None = None
    share: float = 1.0
    assumed: bool = True
    clock: tuple[tuple[datetime, float, UUID], ...] = ()

    def hours(self, when: datetime) -> float | None:
        """Running time of the belts at a moment [s]; none when nobody knows since when they run.

        Between the day they were fitted and the hours read since, in proportion; beyond, by the running share of a day.
        """
        since = self.since.get("belts")
        known = [(at, hours) for at, hours, _ in self.clock]
        if since is not None:
            known.insert(0, (since, 0.0))
        if not known:
            return None
        (before, hours), after = known[0], None
        for at, read in known:
            if at > when:
                after = at, read
                break
            before, hours = at, read
        if after is not None and before <= when and after[0] > before:
            return hours + (after[1] - hours) * ((when - before) / (after[0] - before))
        return max(0.0, hours + self.ran(before, when))

    def ran(self, start: datetime, end: datetime) -> float:
        """How long it ran between two moments, by its hours a day [s]."""
        return (end - start).total_seconds() * self.share

    def new(self, when: datetime) -> bool:
        """Whether the belts are new ones at that moment: before their first re-check is due."""
        hours = self.hours(when)
        return hours is not None and hours < recheck("first days").low

    def before(self, part: str, when: datetime) -> bool:
        """Whether a reading of that moment is of a part no longer on the drive."""
        since = self.since.get(part)
        return since is not None and when < since

    def done_since(self, steps: Iterable[str], when: datetime) -> bool:
        """Whether one of these steps was done after that moment."""
        return any(when < at for step in steps if (at := self.done.get(step)) is not None)


def fitted(make_ups: Sequence[MakeUp], jobs: Jobs, hours: Iterable[Reading], moves: Iterable[Reading]) -> Fitted:
    """From a drive's make-ups (earliest first), its jobs with their events, and its readings of hours and moves."""
    drive = make_ups[-1].drive
    since = _changes(make_ups)
    if drive.belts.fitted_on is not None:
        _later(since, "belts", _morning(drive.belts.fitted_on))
    done: dict[str, datetime] = {}
    moved = [move.taken_at for move in moves if move.values.get("move")]
    laid_up: datetime | None = None
    open_job: Job | None = None
    for job, events in sorted(jobs, key=lambda pair: pair[0].opened_at):
        steps, moves_of_job, end = _what_was_done(events)
        moved += moves_of_job
        for step, at in steps.items():
            _later(done, step, at)
        ended, at = end or ("", job.opened_at)
        open_job = job if not ended else open_job
        if job.kind == "lay up" and ("relax" in steps or ended == "closed"):
            laid_up = max(laid_up or steps.get("relax", at), steps.get("relax", at))
        if job.kind == "bring back" and ended == "closed" and laid_up is not None and at >= laid_up:
            laid_up = None
        _parts_changed(job, steps, ended, at, since)
    share = drive.hours_a_day
    clock = tuple(sorted((reading.taken_at, float(reading.values["hours"]), reading.id) for reading in hours
                         if "hours" in reading.values and not _of_old_belts(reading, since)))
    return Fitted(drive, since, max(moved, default=None), done, laid_up, open_job, 1.0 if share is None else share,
                  share is None, clock)


def _of_old_belts(reading: Reading, since: Mapping[str, datetime]) -> bool:
    return "belts" in since and reading.taken_at < since["belts"]


def _what_was_done(events: Sequence[Event]) -> tuple[dict[str, datetime], list[datetime], tuple[str, datetime] | None]:
    """Steps done and not taken back, when the centre was moved, and how the job ended."""
    steps: dict[str, datetime] = {}
    moved: list[datetime] = []
    end: tuple[str, datetime] | None = None
    for event in events:
        step = event.step.partition("@")[0]
        match event.kind:
            case "done":
                _later(steps, step, event.at)
            case "undone":
                steps.pop(step, None)
            case "centre moved":
                moved.append(event.at)
            case "closed" | "abandoned":
                end = event.kind, event.at
    return steps, moved, end


def _parts_changed(job: Job, steps: Mapping[str, datetime], ended: str, at: datetime,
                   since: dict[str, datetime]) -> None:
    """A job that put new belts or a new sheave on."""
    if job.kind not in ("re-belt", "change sheave") or not (ended == "closed" or "belts-on" in steps):
        return
    _later(since, "belts", steps.get("belts-on", at))
    if job.kind != "change sheave" or not (ended == "closed" or "sheave-on" in steps):
        return
    # the make-up says which sheave it was; where it does not, it may have been either
    named = [which for which in WHICH if which in since and since[which] >= job.opened_at]
    for which in named or WHICH:
        _later(since, which, steps.get("sheave-on", at))


def same_parts(before: Drive, after: Drive) -> bool:
    """Whether two versions of a drive have the same sheaves and belts on, as far as both say."""
    return _same_belts(before.belts, after.belts) and all(
        _same_sheave(getattr(before, which), getattr(after, which)) for which in WHICH)


def good_for(make_ups: Sequence[MakeUp], when: datetime) -> int:
    """The fullest make-up with the parts that were on the drive at that time, by its place."""
    at = max((at for at, make_up in enumerate(make_ups) if make_up.since <= when), default=0)
    while at + 1 < len(make_ups) and same_parts(make_ups[at].drive, make_ups[at + 1].drive):
        at += 1
    return at


def _changes(make_ups: Sequence[MakeUp]) -> dict[str, datetime]:
    """When a part was last changed for another, by the make-ups."""
    since: dict[str, datetime] = {}
    for before, after in pairwise(make_ups):
        if not _same_belts(before.drive.belts, after.drive.belts):
            since["belts"] = after.since
        for which in WHICH:
            if not _same_sheave(getattr(before.drive, which), getattr(after.drive, which)):
                since[which] = after.since
    return since


def _same_belts(before: Belts, after: Belts) -> bool:
    return all(_same(getattr(before, name), getattr(after, name))
               for name in ("section", "marking", "count", "joined", "make", "fitted_on"))


def _same_sheave(before: Sheave, after: Sheave) -> bool:
    if not all(_same(getattr(before, name), getattr(after, name)) for name in ("grooves", "material")):
        return False
    if before.diameter is None or after.diameter is None or before.diameter_as != after.diameter_as:
        return True
    return abs(after.diameter - before.diameter) <= _SAME_SIZE * before.diameter


def _same(before: object, after: object) -> bool:
    """Alike, or not known before or after: what is filled in changes nothing."""
    return before is None or after is None or before == after


def _later(times: dict[str, datetime], name: str, when: datetime) -> None:
    times[name] = max(times.get(name, when), when)


def _morning(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)
