"""Judging: a drive's make-ups, readings and jobs in, its findings out, most urgent first.

Many drives are judged together: what takes numbers is asked of mechanics once for all of them, what takes words is said
drive by drive. One drive alone goes the same way.
"""

from __future__ import annotations

import gc
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Final

from beltwright.bench.figure import Said, say
from beltwright.bench.findings.aligned import Aligned, alignments
from beltwright.bench.findings.alignment import on_alignment
from beltwright.bench.findings.belt_set import on_set
from beltwright.bench.findings.due import Due, laid_up, on_due, standings
from beltwright.bench.findings.finding import Finding, in_order
from beltwright.bench.findings.fitted import Fitted, Jobs, fitted
from beltwright.bench.findings.grooves import on_grooves
from beltwright.bench.findings.heat import on_heat
from beltwright.bench.findings.held import Tension, asked, tensions, trimmed
from beltwright.bench.findings.joins import joined
from beltwright.bench.findings.note_mass import NoteMass, Pair, learn, on_note_mass, pairs_of, with_learned
from beltwright.bench.findings.noted import NONE, Asked, ByKind, Case, Choices, by_kind
from beltwright.bench.findings.runout import on_runout
from beltwright.bench.findings.seen import on_seen
from beltwright.bench.findings.slip import Slipped, on_slip, slips
from beltwright.bench.findings.start import on_start
from beltwright.bench.findings.targets import Targets, targets_for, targets_of_plant
from beltwright.bench.findings.tension import LIKELIER, chance_of_slack, on_tension
from beltwright.bench.findings.whip import on_whip
from beltwright.plant.drive import MakeUp
from beltwright.plant.reading import Reading

# drives judged together: enough for arrays to pay, few enough to hold their readings in memory
TOGETHER: Final = 256


@dataclass(frozen=True, slots=True)
class Record:
    """What is on record of one drive: its make-ups, earliest first, its readings and its jobs with their events."""

    make_ups: Sequence[MakeUp]
    readings: Sequence[Reading] = ()
    jobs: Jobs = ()


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A drive whose notes are in order, waiting for its numbers."""

    make_ups: Sequence[MakeUp]
    fitted: Fitted
    noted: ByKind
    asked: Asked | None
    pairs: Sequence[Pair] = ()


def judge(record: Record, *, now: datetime, choices: Choices | None = None) -> tuple[Finding, ...]:
    """The findings of one drive, most urgent first; one finding “sound” where there is nothing to mend."""
    return _judge([_waiting(record)], [targets_for(record.make_ups[-1].drive)], now, choices or Choices())[0]


def judge_many(records: Iterable[Record], *, now: datetime,
               choices: Choices | None = None) -> Iterator[tuple[MakeUp, tuple[Finding, ...]]]:
    """Each drive as it is now with its findings, exactly as alone; records are taken a few hundred at a time."""
    coming = map(_waiting, records)
    while judged := _next_judged(coming, now, choices or Choices()):
        yield from judged


def _next_judged(coming: Iterator[_Waiting], now: datetime,
                 choices: Choices) -> list[tuple[MakeUp, tuple[Finding, ...]]]:
    """The next few hundred drives. Python's collector rests meanwhile: nothing here goes round in circles, and looking
    through all these readings again and again would cost as much as a third of the judging."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        some = list(islice(coming, TOGETHER))
        if not some:
            return []
        numbers = targets_of_plant([each.make_ups[-1].drive for each in some])
        return list(zip([each.make_ups[-1] for each in some], _judge(some, numbers, now, choices), strict=True))
    finally:
        if collecting:
            gc.enable()


def _waiting(record: Record) -> _Waiting:
    noted = by_kind(record.readings)
    on = fitted(record.make_ups, record.jobs, noted.get("hours", NONE), noted.get("motor move", NONE))
    asks = asked(noted, on)
    return _Waiting(record.make_ups, on, trimmed(noted, asks), asks, pairs_of(noted, on))


def _judge(some: Sequence[_Waiting], numbers: Sequence[Targets], now: datetime,
           choices: Choices) -> list[tuple[Finding, ...]]:
    learned = learn([(targets, each.pairs) for each, targets in zip(some, numbers, strict=True)])
    cases = [Case(with_learned(targets, found), each.fitted, each.noted, each.asked, now, choices)
             for each, targets, found in zip(some, numbers, learned, strict=True)]
    return [_findings(*each) for each in zip(cases, tensions(cases), alignments(cases), slips(cases), standings(cases),
                                             learned, strict=True)]


def _findings(case: Case, tension: Tension | None, aligned: Aligned | None, slipped: Slipped | None,
              standing: Sequence[Due], learned: NoteMass | None) -> tuple[Finding, ...]:
    stopped = laid_up(case)
    set_at = _set_at(tension)
    found = [*stopped, *on_grooves(case), *on_set(case), *on_slip(case, slipped, set_at),
             *on_heat(case, tension, slipped, set_at),
             *on_seen(case, chance_of_slack(tension), _sound_since(tension)), *on_runout(case)]
    # relaxed belts are slack on purpose, and nothing falls due on a drive that stands still
    if not stopped:
        found += on_whip(case, tension, found)
        found += [*on_tension(case, tension), *on_start(case, tension), *on_note_mass(learned),
                  *on_alignment(case, aligned), *on_due(case, tension, standing)]
    return in_order(joined(found)) if found else (_sound(case, tension, aligned),)


def _set_at(tension: Tension | None) -> datetime | None:
    """When the tension was last read as left."""
    now = None if tension is None else tension.strands
    return now.at if now is not None and now.state == "as left" else None


def _sound_since(tension: Tension | None) -> datetime | None:
    """When the tension was left inside its band; none where it was not, or the motor was moved since."""
    at = _set_at(tension)
    if at is None or tension is None or tension.moved is not None or not tension.chances:
        return None
    return at if all(chance.inside >= LIKELIER for chance in tension.chances) else None


def _sound(case: Case, tension: Tension | None, aligned: Aligned | None) -> Finding:
    """Nothing to mend, as far as it was read: what was, and what was not."""
    readings: list[Reading] = []
    read: list[str] = []
    numbers: dict[str, tuple[float, str] | tuple[float, str, int] | str] = {}
    sure: float | None = None
    if tension is not None and tension.strands is not None and tension.band is not None:
        read.append("tension {mean} where {low} to {high} is right")
        numbers |= {"mean": (tension.strands.mean, "force"), "low": (tension.band[0], "force"),
                    "high": (tension.band[1], "force")}
        sure = min(chance.inside for chance in tension.chances)
        readings += tension.strands.readings
    if aligned is not None and not aligned.why_not:
        read.append("in line within {angle}")
        numbers["angle"] = (aligned.worst[0], "angle", 2)
        readings += aligned.readings
    read += [words for kind, words in (("groove", "grooves gauged"), ("seen", "looked over"), ("speed", "speeds read"),
                                       ("temperature", "temperatures read")) if kind in case.noted]
    statement: Said = say(f"nothing to mend as far as it was read: {'; '.join(read) or 'nothing was'}", **numbers)
    last = max((some[-1].taken_at for some in case.noted.values() if some), default=None)
    return Finding("sound", "sound", "Sound", statement, sure, readings=tuple(reading.id for reading in readings),
                   at=last)
