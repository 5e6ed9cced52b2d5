"""Tension through the years: every occasion on which it was read, held against what was fitted and asked for that day.

For charts and tables; what is open now is `judge`'s matter. A make-up that only fills in what was unknown is good for
the readings before it too.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from beltwright.bench.findings.fitted import Fitted, fitted, good_for
from beltwright.bench.findings.held import Tension, asked, tensions
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.note_mass import NoteMass, learn, pairs_of, with_learned
from beltwright.bench.findings.noted import NONE, ByKind, Case, by_kind, in_time, occasions
from beltwright.bench.findings.sets import at_that_time, belts_changed
from beltwright.bench.findings.strands import Strands, strands
from beltwright.bench.findings.targets import Pair, Targets, targets_for
from beltwright.plant.drive import MakeUp


@dataclass(frozen=True, slots=True)
class Held:
    """One occasion: the set as read, whether the belts were new, the band they were held against, the make-up of then.

    band: none where the set-to numbers were not known
    """

    strands: Strands
    new: bool
    band: Pair | None
    make_up: MakeUp


def tension_history(record: Record) -> tuple[Held, ...]:
    """Every occasion on which tension was read, in order of time; those that tell no tension are left out."""
    noted = by_kind(record.readings)
    readings = sorted([*noted.get("force", NONE), *noted.get("frequency", NONE)], key=in_time)
    moves = [move.taken_at for move in noted.get("motor move", NONE)]
    every = occasions(readings, moves)
    versions = [good_for(record.make_ups, found[0].taken_at) for found in every]
    numbers: dict[int, Targets] = {at: targets_for(record.make_ups[at].drive) for at in dict.fromkeys(versions)}
    # the mass learned is that of the belts now on
    on, learned = _learned(record, noted)
    since = on.since.get("belts")
    used = [with_learned(numbers[at], learned if since is None or found[0].taken_at >= since else None)
            for at, found in zip(versions, every, strict=True)]
    read = strands([(targets, [found]) for targets, found in zip(used, every, strict=True)])
    changed = belts_changed(record)
    history = []
    for at, (now,) in zip(versions, read, strict=True):
        if now is None:
            continue
        new = at_that_time(record.make_ups[at], changed, noted, now.at).new(now.at)
        asks = numbers[at].set_to
        history.append(Held(now, new, None if asks is None else asks.new if new else asks.run_in,
                            record.make_ups[at]))
    return tuple(history)


def tension_now(record: Record, *, now: datetime) -> Tension | None:
    """How the tension stands: strands, band, chances, what the drive's moves taught, when it runs down; none unread."""
    noted = by_kind(record.readings)
    on, learned = _learned(record, noted)
    case = Case(with_learned(targets_for(record.make_ups[-1].drive), learned), on, noted, asked(noted, on), now)
    return tensions([case])[0]


def _learned(record: Record, noted: ByKind) -> tuple[Fitted, NoteMass | None]:
    """What is fitted now, and the mass its notes are worked with where the drive's readings lead to another."""
    on = fitted(record.make_ups, record.jobs, noted.get("hours", NONE), noted.get("motor move", NONE))
    return on, learn([(targets_for(record.make_ups[-1].drive), pairs_of(noted, on))])[0]
