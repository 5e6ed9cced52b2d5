"""A drive's readings in order: by kind, in time, split into occasions; and the case that every topic is handed.

An occasion is one visit with one intent: readings of one job and one state, taken within hours of each other and with
no move of the motor in between. What was read as left settles what was found: the last occasion is what counts, and
of a job that noted both, the one as left. Judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from beltwright.bench.findings.fitted import Fitted
from beltwright.bench.findings.targets import Targets
from beltwright.plant.reading import Reading

# readings of one visit lie no further apart than a shift
OCCASION: Final = timedelta(hours=12)
ByKind = Mapping[str, Sequence[Reading]]
NONE: Final[Sequence[Reading]] = ()


@dataclass(frozen=True, slots=True)
class Choices:
    """What a plant chose: the price of energy [1/J] and how money is written, and which re-checks it keeps."""

    energy_price: float | None = None
    currency: str = ""
    rechecks: tuple[str, ...] = ("run-in", "first days", "season")


@dataclass(frozen=True, slots=True)
class Asked:
    """The occasions at which tension was read that are to be worked out, and what for, as places among them.

    now:       the one that counts; since_set: those since the belts were last set, in order
    moves:     pairs with a move of the motor between them: before, move, its uncertainty [m], after
    """

    occasions: Sequence[Sequence[Reading]]
    now: int
    since_set: Sequence[int] = ()
    moves: Sequence[tuple[int, float, float, int]] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """One drive to be judged: its numbers, what is fitted, what was noted, and now.

    noted: by kind, in order of time; of tension only what `asked` needs and the last of each kind
    """

    targets: Targets
    fitted: Fitted
    noted: ByKind
    asked: Asked | None
    now: datetime
    choices: Choices = field(default_factory=Choices)

    def of(self, kind: str, part: str = "") -> Sequence[Reading]:
        """The readings of a kind in order of time, without those of a part that is no longer on the drive."""
        return of_part(self.noted, self.fitted, kind, part)


def of_part(noted: ByKind, fitted: Fitted, kind: str, part: str) -> Sequence[Reading]:
    """The readings of a kind in order of time, without those of a part that is no longer on the drive."""
    found = noted.get(kind, NONE)
    since = fitted.since.get(part)
    if since is None or not found or found[0].taken_at >= since:
        return found
    return [reading for reading in found if reading.taken_at >= since]


def in_time(reading: Reading) -> tuple[datetime, int]:
    """Readings in order of time; of one moment, in the order in which they were noted."""
    return reading.taken_at, reading.id.int


def by_kind(readings: Iterable[Reading]) -> dict[str, list[Reading]]:
    """Readings by kind, each in order of time; those that were corrected left out."""
    ordered = sorted(readings, key=in_time)
    replaced = {reading.supersedes for reading in ordered if reading.supersedes is not None}
    found: dict[str, list[Reading]] = {}
    for reading in ordered:
        kind = reading.kind
        if kind in found:
            found[kind].append(reading)
        else:
            found[kind] = [reading]
    if replaced:
        return {kind: [reading for reading in some if reading.id not in replaced] for kind, some in found.items()}
    return found


def occasions(readings: Sequence[Reading], moves: Sequence[datetime] = ()) -> list[list[Reading]]:
    """Readings in order of time, split into occasions; `moves`: when the motor was moved."""
    found: list[list[Reading]] = []
    job, state, begun, before = None, "", None, None
    for reading in readings:
        at = reading.taken_at
        if (begun is None or before is None or reading.state != state or reading.job_id != job
                or at - begun > OCCASION or (moves and any(before <= move <= at for move in moves))):
            found.append([reading])
            job, state, begun = reading.job_id, reading.state, at
        else:
            found[-1].append(reading)
        before = at
    return found


def current(found: Sequence[Sequence[Reading]]) -> int:
    """Which of the occasions, in order of time, is how things stand now; -1 where there is none.

    The last one, unless its job noted another as left: that job's clock may have been set back in between.
    """
    if not found:
        return -1
    last = found[-1][0]
    if last.state != "as left" and last.job_id is not None:
        for at in range(len(found) - 2, -1, -1):
            first = found[at][0]
            if first.job_id == last.job_id and first.state == "as left":
                return at
    return len(found) - 1


def latest(readings: Sequence[Reading], moves: Sequence[datetime] = ()) -> Sequence[Reading]:
    """The readings of the occasion that counts; `moves`: when the motor was moved."""
    found = occasions(readings, moves)
    return found[current(found)] if found else NONE
