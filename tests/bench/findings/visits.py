"""Readings of invented visits to a sound drive, to be spoilt one at a time; and any that can be typed at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import get_args
from uuid import UUID

from hypothesis import strategies as st

from beltwright.bench.findings.finding import Finding
from beltwright.bench.findings.fitted import Jobs
from beltwright.bench.findings.judge import Record, judge
from beltwright.bench.findings.noted import Choices
from beltwright.bench.findings.targets import Targets, targets_for
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.job import Event, EventKind, Job, JobKind
from beltwright.plant.reading import KINDS, Field, Reading, State, Value
from tests.bench.drives import a_drive

MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
FITTED = MONDAY - timedelta(days=400)
NOW = MONDAY + timedelta(hours=4)
DRIVE_ID = new_id()


def make_up(drive: Drive, *, since: datetime = FITTED) -> MakeUp:
    return MakeUp(new_id(), DRIVE_ID, since, drive, "Ann", since)


def reading(kind: str, state: State = "as found", *, at: datetime = MONDAY, job: UUID | None = None,
            supersedes: UUID | None = None, **values: Value) -> Reading:
    return Reading(new_id(), DRIVE_ID, kind, state, values, {}, at, "Ann", job, supersedes)


def found(readings: Sequence[Reading] = (), *, drive: Drive | None = None, make_ups: Sequence[MakeUp] | None = None,
          jobs: Jobs = (), now: datetime = NOW, choices: Choices | None = None) -> dict[str, Finding]:
    """The findings of a drive with these readings, by key, in their order."""
    versions = make_ups or [make_up(drive or a_drive())]
    return {finding.key: finding for finding in judge(Record(versions, readings, jobs), now=now, choices=choices)}


def targets(drive: Drive | None = None) -> Targets:
    return targets_for(drive or a_drive())


def low(drive: Drive | None = None) -> float:
    """The low end of the band of run-in belts [N]."""
    made = targets(drive).set_to
    assert made is not None
    return made.run_in[0]


def note_of(tension: float, drive: Drive | None = None) -> float:
    """The note of a plain string at that tension, by the textbook, on the span of the drive."""
    numbers = targets(drive)
    assert numbers.span is not None
    assert numbers.mass is not None
    return float((tension / numbers.mass) ** 0.5 / (2 * numbers.span))


def plucked(*shares: float, state: State = "as found", at: datetime = MONDAY, drive: Drive | None = None,
            job: UUID | None = None) -> list[Reading]:
    """The set read by note, each belt at a share of the low end of the run-in band."""
    return [reading("frequency", state, at=at + timedelta(seconds=belt), belt=belt, job=job,
                    frequency=note_of(share * low(drive), drive)) for belt, share in enumerate(shares, start=1)]


def laid(driver_far: float = 0.0, driver_near: float = 0.0, driven_near: float = 0.0, driven_far: float = 0.0, *,
         turned: str = "neither", state: State = "as found", at: datetime = MONDAY, face: str = "outer") -> Reading:
    return reading("alignment", state, at=at, face=face, turned=turned, driver_far=driver_far, driver_near=driver_near,
                   driven_near=driven_near, driven_far=driven_far)


def a_job(kind: JobKind, *steps: str, opened: datetime = MONDAY, ends: EventKind | None = "closed",
          minutes: float = 1.0) -> tuple[Job, list[Event]]:
    """A job with some of its steps done, a minute apart, and ended."""
    job = Job(new_id(), DRIVE_ID, kind, (), opened, "Ann")
    events = [Event(new_id(), job.id, "done", step, "Ann", opened + timedelta(minutes=minutes * (count + 1)))
              for count, step in enumerate(steps)]
    if ends is not None:
        events.append(Event(new_id(), job.id, ends, "", "Ann", opened + timedelta(minutes=minutes * (len(steps) + 1))))
    return job, events


# --- anything that can be typed --------------------------------------------------------------------------------------

def _values(field: Field) -> st.SearchStrategy[Value]:
    match field.kind:
        case "choice":
            return st.sampled_from(field.choices)
        case "count":
            return st.integers(int(field.low or 0), min(int(field.high or 9), 6))
        case "yes or no":
            return st.booleans()
        case "text":
            return st.sampled_from(("", "one make", "another make", "B112", "B 120"))
        case _:
            assert field.low is not None
            assert field.high is not None
            return st.one_of(st.floats(field.low, field.high), st.floats(field.low, min(field.high, field.low + 1)),
                             st.sampled_from((field.low, field.high)))


@st.composite
def any_reading(draw: st.DrawFn) -> Reading:
    kind = draw(st.sampled_from(list(KINDS.values())))
    values: Mapping[str, Value] = {field.name: draw(_values(field)) for field in kind.fields
                                   if field.required or draw(st.booleans())}
    at = MONDAY - draw(st.timedeltas(timedelta(0), timedelta(days=500)))
    state = draw(st.sampled_from(get_args(State)))
    return Reading(new_id(), DRIVE_ID, kind.name, state, values, {}, at, "Ann", draw(st.sampled_from((None, *_JOBS))))


_JOBS = (new_id(), new_id())
