"""The numbers of a drive that its readings are held against, as plain floats: span, mass, bands, pulls.

For one drive they come from what was worked out for its card; for a plant all drives are worked at once, as arrays,
by the same functions of mechanics. A test holds both against each other. Judges nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

from beltwright.bench.known import Known, complete
from beltwright.bench.worked import Worked, spread, value, work_out
from beltwright.errors import BeltwrightError
from beltwright.mechanics import geometry, sections, service, setting
from beltwright.mechanics.deflection import lone_belt_allowance
from beltwright.plant.drive import Drive, DriverClass

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Pair = tuple[float, float]

_FACTS: Final = frozenset(("driver_geometry", "driven_geometry", "driver_pitch", "driven_pitch", "driver_rotation",
                           "power", "belts", "mass"))
# two sheaves of 1 m, 3 m apart: d, D, pitch d, pitch D, L, and one of everything else
_STAND_IN: Final = (1.0, 1.0, 1.0, 1.0, 6.0 + math.pi, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class SetTo:
    """What the drive's load asks for, per belt where it is a tension, force or note.

    run_in, new: bands of static tension [N]; wrap: the smaller one [rad]
    pull, centrifugal: of one belt, under the design power [N]
    """

    run_in: Pair
    new: Pair
    wrap: float
    arc_factor: float
    speed: float
    design_power: float
    pull: float
    centrifugal: float


@dataclass(frozen=True, slots=True)
class Targets:
    """The numbers of one drive; None for what is not known, `why` says what stands in the way of the set-to numbers.

    allowance: what a strand's stiffness adds when it is pressed in as it is on this drive (alone or among others) [N]
    growth:    how much longer the belt's path grows per move of the motor [-]
    """

    known: Known
    centre: float | None = None
    span: float | None = None
    span_spread: float = 0.0
    length: float | None = None
    growth: float | None = None
    mass: float | None = None
    mass_spread: float = 0.0
    allowance: float | None = None
    allowance_spread: float = 0.0
    set_to: SetTo | None = None
    why: str = ""

    @property
    def drive(self) -> Drive:
        """The drive they are for."""
        return self.known.drive

    @property
    def joined(self) -> bool:
        """Whether its belts are joined in a band, and so are pressed and plucked as one."""
        return self.known.drive.belts.joined

    @property
    def belts(self) -> int | None:
        """How many belts it has."""
        return self.known.drive.belts.count

    def fact(self, name: str) -> float | None:
        """A known number of the drive, or none."""
        found = self.known.facts.get(name)
        return None if found is None else found.value

    def fact_spread(self, name: str) -> float:
        """Standard uncertainty of a known number."""
        return self.known.facts[name].spread


def targets_of(worked: Worked) -> Targets:
    """From the numbers worked out for one drive's card."""
    known, shape, made = worked.known, worked.shape, worked.set_to
    fact = known.facts.get("mass")
    mass, mass_spread = (None, 0.0) if fact is None else (fact.value, fact.spread)
    why = "" if made is not None else worked.why.get("set_to") or worked.why.get("shape", "")
    if shape is None:
        return Targets(known, mass=mass, mass_spread=mass_spread, why=why)
    centre, span = value(shape.centre), value(shape.span)
    driver, driven = known.value("driver_geometry"), known.value("driven_geometry")
    length = float(geometry.belt_length(driver, driven, centre))
    stiff = worked.allowance
    share = float(lone_belt_allowance(1.0, span, length)) if worked.lone else 1.0
    return Targets(known, centre, span, spread(shape.span), length,
                   float(geometry.length_per_centre(driver, driven, centre)), mass, mass_spread,
                   None if stiff is None else stiff.value * share, 0.0 if stiff is None else _spread_of(stiff) * share,
                   None if made is None else _plainly(made), why)


def targets_for(drive: Drive) -> Targets:
    """Of one drive."""
    return targets_of(work_out(complete(drive)))


def targets_of_plant(drives: Sequence[Drive]) -> list[Targets]:
    """Of many drives at once, in their order."""
    known = [complete(drive) for drive in drives]
    factors = [_factor(drive) for drive in drives]
    ready = [at for at, each in enumerate(known) if factors[at] is not None and each.facts.keys() >= _FACTS
             and ("centre_read" in each.facts or "length" in each.facts)]
    found: dict[int, Targets] = {}
    if ready:
        made = _many([known[at] for at in ready], np.array([factors[at] for at in ready], dtype=np.float64))
        found = {at: each for at, each in zip(ready, made, strict=True) if each is not None}
    return [found[at] if at in found else targets_of(work_out(each)) for at, each in enumerate(known)]


def _many(known: Sequence[Known], factor: Array) -> list[Targets | None]:
    """Of drives of which everything is known; none for a drive outside what the formulas hold for."""
    facts = {name: np.array([each.facts[name].value for each in known]) for name in _FACTS}
    read = np.array(["centre_read" in each.facts for each in known])
    good, driver, driven, centre = _shapes(known, facts, read)
    span = np.asarray(geometry.free_span(driver, driven, centre))
    length = np.asarray(geometry.belt_length(driver, driven, centre))[:, 0]
    good &= setting.settable(driver[:, 0], driven[:, 0], length)
    for name in ("driver_pitch", "driven_pitch", "driver_rotation", "power", "belts", "mass"):
        good &= facts[name] > 0.0
    lone = np.array([each.drive.belts.joined or each.drive.belts.count == 1 for each in known])
    stiff = [sections.stiffness_of(each.section.name) for each in known if each.section is not None]
    allowance = np.array([each.value for each in stiff])
    made = _set_all((driver[:, 0], driven[:, 0], facts["driver_pitch"], facts["driven_pitch"], length,
                     facts["driver_rotation"], facts["power"], factor, facts["belts"], facts["mass"], allowance),
                    lone, good)
    share = np.where(lone, span[:, 0] / length, 1.0)
    away = np.sqrt(np.sum((span[:, 1:] - span[:, :1]) ** 2, axis=1))
    growth = geometry.length_per_centre(driver[:, 0], driven[:, 0], centre[:, 0])
    columns = (centre[:, 0], span[:, 0], away, length, growth, facts["mass"],
               np.array([each.facts["mass"].spread for each in known]), allowance * share,
               np.array([_spread_of(each) for each in stiff]) * share)
    tensions = made.tensions
    asked = (tensions.run_in.low, tensions.run_in.high, tensions.new.low, tensions.new.high,
             np.minimum(made.driver_wrap, made.driven_wrap), made.arc_factor, made.speed, made.design_power, made.pull,
             made.centrifugal)
    return [_targets(each, numbers, wants) if holds else None
            for each, holds, numbers, wants in zip(known, good.tolist(), _rows(columns), _rows(asked), strict=True)]


def _set_all(columns: tuple[Array, ...], lone: Mask, good: Mask) -> setting.SetTo:
    """The set-to numbers of all; a sound drive stands in where none is, so that all are worked in one go."""
    d, D, dp, Dp, L, turn, power, factor, belts, mass, stiff = (  # noqa: N806 symbols of the formulas
        np.where(good, column, sound) for column, sound in zip(columns, _STAND_IN, strict=True))
    return setting.set_to(d, D, dp, Dp, L, turn, power, factor, belts, mass, stiff, lone)


def _targets(known: Known, numbers: tuple[float, ...], asked: tuple[float, ...]) -> Targets:
    centre, span, span_spread, length, growth, mass, mass_spread, allowance, allowance_spread = numbers
    low, high, new_low, new_high, wrap, arc, speed, power, pull, centrifugal = asked
    return Targets(known, centre, span, span_spread, length, growth, mass, mass_spread, allowance, allowance_spread,
                   SetTo((low, high), (new_low, new_high), wrap, arc, speed, power, pull, centrifugal))


def _shapes(known: Sequence[Known], facts: Mapping[str, Array],
            read: Mask) -> tuple[Mask, Array, Array, Array]:
    """Which drives can be, and diameters and centres: each drive as read, then with each of the three moved."""
    by = [each.facts["centre_read" if taped else "length"] for each, taped in zip(known, read.tolist(), strict=True)]
    columns = (facts["driver_geometry"], facts["driven_geometry"], np.array([fact.value for fact in by]))
    spreads = (*(np.array([each.facts[name].spread for each in known]) for name in (
        "driver_geometry", "driven_geometry")), np.array([fact.spread for fact in by]))
    moved = [np.repeat(column[:, None], 1 + len(columns), axis=1) for column in columns]
    for row, away in enumerate(spreads):
        moved[row][:, 1 + row] += away
    taped = read[:, None]
    good = np.all(np.where(taped, geometry.feasible_centre(*moved), geometry.feasible(*moved)), axis=1)
    sound = (np.ones_like(taped, dtype=np.float64),) * 2 + (np.where(taped, 3.0, _STAND_IN[4]),)
    driver, driven, third = (np.where(good[:, None], column, stand_in)
                             for column, stand_in in zip(moved, sound, strict=True))
    centre = third.copy()
    centre[~read] = geometry.centre_from_length(driver[~read], driven[~read], third[~read])
    return np.asarray(good), driver, driven, centre


def _rows(columns: Sequence[object]) -> Iterator[tuple[float, ...]]:
    return zip(*(np.asarray(column).tolist() for column in columns), strict=True)


def _plainly(made: setting.SetTo) -> SetTo:
    run_in, new = made.tensions
    return SetTo((value(run_in.low), value(run_in.high)), (value(new.low), value(new.high)),
                 min(value(made.driver_wrap), value(made.driven_wrap)), value(made.arc_factor), value(made.speed),
                 value(made.design_power), value(made.pull), value(made.centrifugal))


def _spread_of(stiff: sections.Spread) -> float:
    return float((stiff.high - stiff.low) / 12**0.5)


def _factor(drive: Drive) -> float | None:
    if drive.service_factor is not None:
        return drive.service_factor
    if drive.service is None or drive.hours_a_day is None:
        return None
    return _looked_up(drive.service, drive.motor.torque or "normal torque", drive.hours_a_day)


@lru_cache(4096)
def _looked_up(machine: str, torque: DriverClass, hours_a_day: float) -> float | None:
    try:
        return value(service.service_factor(machine, torque, hours_a_day).value)
    except BeltwrightError:
        return None
