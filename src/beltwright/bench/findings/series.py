"""What was read through the years besides tension: slip, groove wear and heat, each beside its limits.

For charts and tables; what to do about it is `judge`'s matter. Slip is reckoned by the sheaves fitted that day. Tension
has its own history, for its band changes with the belts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final, cast

import numpy as np

from beltwright.bench.figure import Figure
from beltwright.bench.findings import heat
from beltwright.bench.findings.fitted import good_for
from beltwright.bench.findings.found_figures import as_read, slip_found
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.noted import NONE, ByKind, by_kind
from beltwright.bench.findings.slip import limit as slip_limit
from beltwright.bench.findings.slip import slip_by
from beltwright.bench.known import WHICH, complete
from beltwright.mechanics.uncertainty import instrument_uncertainty
from beltwright.plant.reading import KINDS, Reading
from beltwright.tables import Trust, load

# limits of each place whose temperature is read: part of the table, its row, words
_HEAT: Final = {"belt": (("good running", "good running up to"), ("hard limit", "hard limit")),
                "groove": (("hand can rest in it", "a hand can rest in it up to"),),
                "bearing": (("warm", "warm from"),), "room": (("good running", "good running up to"),)}
_PLACES: Final = next(field.choices for field in KINDS["temperature"].fields if field.name == "where")


@dataclass(frozen=True, slots=True)
class Point:
    """One value at one moment, with its standard uncertainty, both SI; `reading`: the fact behind it."""

    value: float
    spread: float
    reading: Reading

    @property
    def at(self) -> datetime:
        """When it was read."""
        return self.reading.taken_at


@dataclass(frozen=True, slots=True)
class Limit:
    """A value that is not to be passed, and the words before it: `normal creep up to`."""

    value: float
    words: str


@dataclass(frozen=True, slots=True)
class Series:
    """Points of one sort in order of time, their limits, the least first, and the last value with its working."""

    key: str
    title: str
    kind: str
    points: tuple[Point, ...] = ()
    limits: tuple[Limit, ...] = ()
    last: Figure | None = None


def series_of(record: Record) -> tuple[Series, ...]:
    """Slip, wear of each sheave's grooves and the heat of each place, as far as they were read."""
    noted = by_kind(record.readings)
    every = (_slip(record, noted), *(_wear(record, noted, which) for which in WHICH),
             *(_heat(noted, where) for where in _PLACES))
    return tuple(series for series in every if series.points)


def _slip(record: Record, noted: ByKind) -> Series:
    versions = [good_for(record.make_ups, reading.taken_at) for reading in noted.get("speed", NONE)]
    facts = {at: complete(record.make_ups[at].drive).facts for at in dict.fromkeys(versions)}
    read = [(facts[at], reading) for at, reading in zip(versions, noted.get("speed", NONE), strict=True)
            if all(f"{which}_pitch" in facts[at] for which in WHICH)]
    if not read:
        return Series("slip", "Slip", "share")
    rows = [(*(float(reading.values[f"{which}_speed"]) for which in WHICH),
             *(known[f"{which}_pitch"].value for which in WHICH), *(known[f"{which}_pitch"].spread for which in WHICH),
             float(reading.values.get("resolution", 0.0))) for known, reading in read]
    values, spreads = (column.tolist() for column in slip_by(*np.array(rows).T))
    points = tuple(map(Point, values, spreads, (reading for _, reading in read)))
    limits = (Limit(slip_limit("normal", "high_pct"), "normal creep up to"),
              Limit(slip_limit("retension", "low_pct"), "set the belts again from"))
    return Series("slip", "Slip", "share", points, limits,
                  slip_found(points[-1].reading, points[-1].value, points[-1].spread, read[-1][0]))


def _wear(record: Record, noted: ByKind, which: str) -> Series:
    """The worse flank of every groove gauged."""
    joined = record.make_ups[-1].drive.belts.joined
    row = load("wear_limits").where(belts="joined" if joined else "single")[0]
    feeler = float(instrument_uncertainty("feeler gauge", 0.0))
    points = [Point(max(float(reading.values["left"]), float(reading.values["right"])), feeler, reading)
              for reading in noted.get("groove", NONE) if reading.values["sheave"] == which]
    return _read(f"wear-{which}", f"Dish of the {which} sheave's grooves", "length", points,
                 [(cast(float, row["dish"]), str(row["source"]), cast(Trust, row["trust"]), "replace the sheave from")])


def _heat(noted: ByKind, where: str) -> Series:
    part = where.split()[-1]
    points = [_warm(reading) for reading in noted.get("temperature", NONE) if reading.values["where"] == where]
    return _read(f"heat-{where.replace(' ', '-')}", f"Temperature of the {where}", "temperature", points,
                 [(*heat.limit(part, name), words) for name, words in _HEAT[part]])


def _read(key: str, title: str, kind: str, points: Sequence[Point],
          limits: Sequence[tuple[float, str, Trust, str]]) -> Series:
    """What is shown as it was read, with its limits: value, source, trust, words."""
    last = points[-1] if points else None
    return Series(key, title, kind, tuple(points), tuple(Limit(value, words) for value, *_, words in limits),
                  None if last is None else as_read(key, title, kind, last.value, last.spread, *limits[0][1:3]))


def _warm(reading: Reading) -> Point:
    value = float(reading.values["temperature"])
    return Point(value, float(instrument_uncertainty("infrared thermometer", value)), reading)
