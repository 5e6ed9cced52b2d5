"""The numbers of a drive worked out from what is known: geometry, tension, rating. Judged nowhere here, only computed.

Every number is an array: the drive as read comes first, then the same drive with each measured input moved by its
standard uncertainty in turn. One call of mechanics so gives the value and, from the differences, its uncertainty (GUM,
5.1.3). What cannot be worked out is None, and `why` says what stands in the way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.bench.known import Fact, Known
from beltwright.errors import BeltwrightError, NotKnown
from beltwright.mechanics import geometry, sections, service, setting
from beltwright.mechanics.corrections import arc_factor
from beltwright.mechanics.deflection import mark_deflection
from beltwright.mechanics.rating import rating_method
from beltwright.tables import Trust

Array = npt.NDArray[np.float64]

# inputs that carry an uncertainty, in the order of the rows behind the first
_MOVED: Final = ("driver", "driven", "length", "rotation", "mass", "allowance")


class Shape(NamedTuple):
    """What follows from sheaves and centre alone [m, rad]."""

    centre: Array
    span: Array
    driver_wrap: Array
    driven_wrap: Array
    deflection: Array
    arc_factor: Array


@dataclass(frozen=True, slots=True)
class Worked:
    """A drive's numbers as far as they can be worked out, and why not where they cannot."""

    known: Known
    shape: Shape | None
    set_to: setting.SetTo | None
    adequacy: setting.Adequacy | None
    service: service.ServiceFactor | None
    service_factor: float | None
    rated_by: str
    rated_trust: Trust
    allowance: sections.Spread | None
    lone: bool
    why: Mapping[str, str]


def value(numbers: Any) -> float:
    """The number itself, of an array of the drive as read and moved."""
    return float(np.asarray(numbers).flat[0])


def spread(numbers: Any) -> float:
    """Its standard uncertainty: the differences that the moved inputs make, combined."""
    flat = np.asarray(numbers, dtype=np.float64).ravel()
    return float(np.sqrt(np.sum((flat[1:] - flat[0]) ** 2)))


def work_out(known: Known) -> Worked:
    """All the numbers that what is known allows."""
    why: dict[str, str] = {}
    allowance = sections.stiffness_of(known.section.name) if known.section is not None else None
    inputs = _inputs(known, allowance)
    lone = known.drive.belts.joined or known.drive.belts.count == 1
    found_service, factor = _service_factor(known, why)
    shape = _shape(inputs, why)
    made = _set_to(known, inputs, factor, lone, shape, why)
    rated, by, trust = _rated_power(known, why)
    enough = None
    if made is not None and rated is not None and factor is not None:
        enough = _adequacy(known, rated, by, made, factor, why)
    return Worked(known, shape, made, enough, found_service, factor, by, trust, allowance, lone, why)


def _inputs(known: Known, allowance: sections.Spread | None) -> dict[str, Array]:
    """The inputs of `set_to` that are known, each as the drive as read and then moved, one input a row."""
    facts = {"driver": known.facts.get("driver_geometry"), "driven": known.facts.get("driven_geometry"),
             "driver_pitch": known.facts.get("driver_pitch"), "driven_pitch": known.facts.get("driven_pitch"),
             "centre": known.facts.get("centre_read"), "length": known.facts.get("length"),
             "rotation": known.facts.get("driver_rotation"), "mass": known.facts.get("mass")}
    if allowance is not None:
        facts["allowance"] = Fact(allowance.value, "force", "published table", allowance.source,
                                  spread=(allowance.high - allowance.low) / 12**0.5)
    moved_by = {"driver_pitch": "driver", "driven_pitch": "driven", "centre": "length"}
    inputs = {}
    for name, fact in facts.items():
        if fact is not None:
            rows = np.full(1 + len(_MOVED), fact.value)
            rows[1 + _MOVED.index(moved_by.get(name, name))] += fact.spread
            inputs[name] = rows
    return inputs


def _shape(inputs: Mapping[str, Array], why: dict[str, str]) -> Shape | None:
    if not {"driver", "driven"} <= inputs.keys() or not {"centre", "length"} & inputs.keys():
        why["shape"] = "both sheaves and the centre distance or the belt's length are needed"
        return None
    driver, driven = inputs["driver"], inputs["driven"]
    try:
        centre = inputs["centre"] if "centre" in inputs else geometry.centre_from_length(driver, driven,
                                                                                         inputs["length"])
        wraps = geometry.wraps(driver, driven, centre)
        span = geometry.free_span(driver, driven, centre)
        factor = arc_factor(np.minimum(wraps.driver, wraps.driven))
    except BeltwrightError as error:
        why["shape"] = str(error)
        return None
    return Shape(*(np.asarray(part) for part in (centre, span, wraps.driver, wraps.driven, mark_deflection(span),
                                                 factor)))


def _service_factor(known: Known, why: dict[str, str]) -> tuple[service.ServiceFactor | None, float | None]:
    drive = known.drive
    if drive.service_factor is not None:
        return None, drive.service_factor
    if drive.service is None or drive.hours_a_day is None:
        why["service_factor"] = "the kind of driven machine and its hours a day are needed, or the plant's own factor"
        return None, None
    try:
        found = service.service_factor(drive.service, drive.motor.torque or "normal torque", drive.hours_a_day)
    except BeltwrightError as error:
        why["service_factor"] = str(error)
        return None, None
    return found, value(found.value)


def _set_to(known: Known, inputs: dict[str, Array], factor: float | None, lone: bool, shape: Shape | None,
            why: dict[str, str]) -> setting.SetTo | None:
    needed = {"power": "the motor's power", "belts": "the number of belts"}
    lacking = [words for name, words in needed.items() if name not in known]
    lacking += [words for name, words in (("rotation", "the motor's speed"), ("mass", "the belt section"))
                if name not in inputs]
    if factor is None:
        lacking.append("the service factor")
    if shape is None:
        lacking.append("sheaves and centre")
    if lacking:
        why["set_to"] = f"needed first: {', '.join(lacking)}"
        return None
    assert shape is not None
    length = geometry.belt_length(inputs["driver"], inputs["driven"], shape.centre)
    try:
        return setting.set_to(inputs["driver"], inputs["driven"], inputs["driver_pitch"], inputs["driven_pitch"],
                              length, inputs["rotation"], known.value("power"), factor or 1.0, known.value("belts"),
                              inputs["mass"], inputs["allowance"], lone)
    except BeltwrightError as error:
        why["set_to"] = str(error)
        return None


def _rated_power(known: Known, why: dict[str, str]) -> tuple[float | None, str, Trust]:
    """What one belt carries, before arc and length: by its own table if that was entered, else as published."""
    if known.drive.belts.power is not None:
        return known.drive.belts.power, "own table", "read"
    if known.section is None or not {"driver_pitch", "driven_pitch", "driver_rotation"} <= known.facts.keys():
        why["rating"] = "belt section, both sheaves and the motor's speed are needed"
        return None, "", "practice"
    name, standard = known.section.name, known.section.standard
    try:
        method = rating_method(name, standard)
        rated = setting.published_rating(name, standard, known.value("driver_pitch"), known.value("driven_pitch"),
                                         known.value("driver_rotation"))
    except BeltwrightError as error:
        why["rating"] = f"not judged: {error}" if isinstance(error, NotKnown) else str(error)
        return None, "", "practice"
    return value(rated), method, "reprint" if method == "ip20" else "memory"


def _adequacy(known: Known, rated: float, by: str, made: setting.SetTo, factor: float,
              why: dict[str, str]) -> setting.Adequacy | None:
    assert known.section is not None
    try:
        length = (setting.known_length_factor(known.section.name, known.value("length")) if by == "ip20" else 1.0)
        # a belt's own table is entered for this drive: arc and length are taken to be in it
        arc = 1.0 if by == "own table" else made.arc_factor
        return setting.adequacy(rated, arc, length, known.value("power"), factor, known.value("belts"))
    except BeltwrightError as error:
        why["rating"] = str(error)
        return None
