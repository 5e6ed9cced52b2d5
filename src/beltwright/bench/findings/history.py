"""Tension through the years: every occasion on which it was read, held against what was fitted and asked for that day.

For charts and tables; what is open now is `judge`'s matter. A make-up that only fills in what was unknown is good for
the readings before it too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from beltwright.bench.findings.fitted import Fitted, fitted, same_parts
from beltwright.bench.findings.held import Tension, asked, tensions
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.noted import NONE, Case, by_kind, in_time, occasions
from beltwright.bench.findings.strands import Strands, strands
from beltwright.bench.findings.targets import Pair, Targets, targets_for
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.reading import Reading


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
    versions = [_good_for(record.make_ups, found[0].taken_at) for found in every]
    numbers: dict[int, Targets] = {at: targets_for(record.make_ups[at].drive) for at in dict.fromkeys(versions)}
    read = strands([(numbers[at], [found]) for at, found in zip(versions, every, strict=True)])
    changed = _belts_changed(record)
    history = []
    for at, (now,) in zip(versions, read, strict=True):
        if now is None:
            continue
        new = _new(record.make_ups[at], changed, noted.get("hours", NONE), now.at)
        asks = numbers[at].set_to
        history.append(Held(now, new, None if asks is None else asks.new if new else asks.run_in,
                            record.make_ups[at]))
    return tuple(history)


def _belts_changed(record: Record) -> list[datetime]:
    """When other belts were put on: by each make-up and by each job."""
    by_record = [fitted(record.make_ups[:count], (), (), ()) for count in range(1, len(record.make_ups) + 1)]
    by_job = [fitted([replace(record.make_ups[0], drive=Drive("", ""))], [job], (), ()) for job in record.jobs]
    return sorted(since for on in (*by_record, *by_job) if (since := on.since.get("belts")) is not None)


def _new(make_up: MakeUp, changed: Sequence[datetime], hours: Sequence[Reading], when: datetime) -> bool:
    """Whether the belts were new ones at that time."""
    since = max((at for at in changed if at <= when), default=None)
    share = make_up.drive.hours_a_day
    clock = tuple((reading.taken_at, float(reading.values["hours"]), reading.id) for reading in hours
                  if reading.taken_at <= when and (since is None or reading.taken_at >= since))
    on = Fitted(make_up.drive, {} if since is None else {"belts": since}, share=1.0 if share is None else share,
                clock=clock)
    return on.new(when)


def tension_now(record: Record, *, now: datetime) -> Tension | None:
    """How the tension stands: strands, band, chances, what the drive's moves taught, when it runs down; none unread."""
    noted = by_kind(record.readings)
    on = fitted(record.make_ups, record.jobs, noted.get("hours", NONE), noted.get("motor move", NONE))
    case = Case(targets_for(record.make_ups[-1].drive), on, noted, asked(noted, on), now)
    return tensions([case])[0]


def _good_for(make_ups: Sequence[MakeUp], when: datetime) -> int:
    """The fullest make-up with the parts that were on the drive at that time."""
    at = max((at for at, make_up in enumerate(make_ups) if make_up.since <= when), default=0)
    while at + 1 < len(make_ups) and same_parts(make_ups[at].drive, make_ups[at + 1].drive):
        at += 1
    return at
