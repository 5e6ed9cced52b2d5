"""Base rates: what the trade says, sharpened by the plant's own cases, and by the drive's own; kept apart and shown.

A case is one trouble cleared up: the causes confirmed between two closings, or what belts that failed were put down to.
The trade's word weighs as 20 cases against the plant's, the plant's as 10 against the drive's: judgement, for drives of
one plant are more alike than drives of the trade, and one drive is more like itself. No disk, no page.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from beltwright.bench.causes.knowledge import Knowledge
from beltwright.mechanics.base_rates import sharpened
from beltwright.plant.reading import Reading

TRADE_WEIGHT: Final = 20.0
PLANT_WEIGHT: Final = 10.0
# kinds of reading that cases are counted from
KINDS_COUNTED: Final = ("cause", "belts failed")


@dataclass(frozen=True, slots=True)
class Counts:
    """Cases cleared up, and in how many of them each cause was found."""

    troubles: int = 0
    found: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Rate:
    """A cause's base rate three times: the trade's, with the plant's other drives, with this drive's own cases.

    plant_seen, drive_seen: in how many of how many cases it was found
    uncertainty:            standard uncertainty of the drive's
    """

    cause: str
    trade: float
    plant: float
    drive: float
    plant_seen: tuple[int, int]
    drive_seen: tuple[int, int]
    uncertainty: float


def counted(readings: Iterable[Reading]) -> Counts:
    """The cases of one drive, from its readings in order of time; the trouble still open is none yet."""
    troubles = 0
    found: Counter[str] = Counter()
    now: set[str] = set()
    for reading in readings:
        cause, verdict = str(reading.values.get("cause") or ""), reading.values.get("verdict")
        if reading.kind == "belts failed":
            # belts failing again begin another trouble; what went before was one for itself
            troubles, now = _closed(troubles, found, now)
            if cause:
                now.add(cause)
            continue
        if reading.kind != "cause":
            continue
        if verdict in ("confirmed", "cured") and cause:
            now.add(cause)
        elif verdict == "ruled out":
            now.discard(cause)
        if verdict in ("cured", "closed"):
            troubles, now = _closed(troubles, found, now)
    return Counts(troubles, dict(found))


def _closed(troubles: int, found: Counter[str], now: set[str]) -> tuple[int, set[str]]:
    found.update(now)
    return troubles + bool(now), set()


def together(some: Iterable[Counts]) -> Counts:
    """The cases of several drives."""
    troubles = 0
    found: Counter[str] = Counter()
    for each in some:
        troubles += each.troubles
        found.update(each.found)
    return Counts(troubles, dict(found))


def rates(knowledge: Knowledge, *, plant: Counts, drive: Counts) -> Mapping[str, Rate]:
    """The base rate of each cause; `plant`: the cases of the plant's other drives, so that none counts twice."""
    made = {}
    for name, cause in knowledge.causes.items():
        there = sharpened(cause.base, TRADE_WEIGHT, plant.found.get(name, 0), plant.troubles)
        here = sharpened(there.mean, PLANT_WEIGHT, drive.found.get(name, 0), drive.troubles)
        made[name] = Rate(name, cause.base, float(there.mean), float(here.mean),
                          (plant.found.get(name, 0), plant.troubles), (drive.found.get(name, 0), drive.troubles),
                          float(here.uncertainty))
    return made


def priors(knowledge: Knowledge, rated: Mapping[str, Rate], decided: Mapping[str, str]) -> Sequence[float]:
    """The chance of each cause before the evidence: its base rate, or what is settled in this inquiry."""
    settled = {"confirmed": 1.0, "ruled out": 0.0}
    return [settled.get(decided.get(name, ""), rated[name].drive) for name in knowledge.causes]
