"""What is known of a drive: the record completed, each fact with how it came to be known.

A drive is given by any sufficient set of readings. Here the rest is worked out, in a fixed order, and nothing is
guessed: what cannot be worked out stays unknown. Whether readings agree with each other is `clashes`' matter, what to
read next is `gaps`'.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final, cast

from beltwright.bench.figure import Origin
from beltwright.errors import BeltwrightError
from beltwright.mechanics import geometry, lengths, sections, sheaves
from beltwright.mechanics.standard_lengths import length_limits
from beltwright.mechanics.uncertainty import instrument_uncertainty
from beltwright.plant.drive import Drive, Sheave, Standard
from beltwright.tables import Trust
from beltwright.units import to_si

WHICH: Final = ("driver", "driven")
# a plant's drives share their sheave sizes and markings: looked up once each
_SHARED: Final = 4096


@dataclass(frozen=True, slots=True)
class Fact:
    """A number known of a drive [SI]: how it came to be known, whose it is, and its standard uncertainty."""

    value: float
    kind: str
    origin: Origin
    how: str
    sources: tuple[str, ...] = ("statics",)
    trust: Trust = "derived"
    spread: float = 0.0


@dataclass(frozen=True, slots=True)
class Known:
    """A drive, what is known of it by name, its belt section, and what could not be used and why."""

    drive: Drive
    section: sections.Section | None
    marking: lengths.Marking | None
    facts: Mapping[str, Fact]
    unusable: tuple[tuple[str, str], ...] = field(default=())

    def __contains__(self, name: str) -> bool:
        return name in self.facts

    def value(self, name: str) -> float:
        """The value of a fact that is known; `KeyError` if it is not."""
        return self.facts[name].value


def complete(drive: Drive) -> Known:
    """Work out what follows from what was read.

    Facts: `{driver,driven}_{outside,datum,pitch,geometry}`, `length`, `centre`, `driver_rotation`, `driven_rotation`,
    `ratio`, `power`, `belts`, `mass`. `geometry` diameters and `length` lie on the same line, as the standard of the
    belt has it.
    """
    facts: dict[str, Fact] = {}
    unusable: list[tuple[str, str]] = []
    marking, section = _section(drive, unusable)
    _speeds(drive, facts)
    if section is not None:
        for which in WHICH:
            _diameters(which, cast(Sheave, getattr(drive, which)), section, facts, unusable)
        _other_sheave(drive, section, facts)
        _mass(drive, section, facts, unusable)
    if drive.belts.count is not None:
        facts["belts"] = Fact(float(drive.belts.count), "number", "stated", "counted")
    _length_and_centre(drive, section, marking, facts, unusable)
    _ratio(facts)
    if drive.needed_power is not None:
        facts["power"] = Fact(drive.needed_power, "power", "measured", "measured at full load")
    elif drive.motor.power is not None:
        facts["power"] = Fact(drive.motor.power, "power", "stated", "motor plate")
    return Known(drive, section, marking, facts, tuple(unusable))


def _section(drive: Drive, unusable: list[tuple[str, str]]) -> tuple[lengths.Marking | None, sections.Section | None]:
    belts = drive.belts
    marking = None
    if belts.marking:
        try:
            marking = _marking(belts.marking, belts.standard)
        except BeltwrightError as error:
            unusable.append(("belt_marking", str(error)))
    name = marking.section if marking is not None else belts.section
    if not name:
        return marking, None
    standard = marking.standard if marking is not None else belts.standard or _settled(name)
    if standard is None:
        unusable.append(("belt_standard", f"section {name} is made to more than one standard: say which, "
                         f"{', '.join(sections.standards_of(name))}"))
        return marking, None
    try:
        return marking, sections.section(name, standard)
    except BeltwrightError as error:
        unusable.append(("belt_section", str(error)))
        return marking, None


@lru_cache(_SHARED)
def _marking(text: str, standard: Standard | None) -> lengths.Marking:
    return lengths.read_marking(text, standard)


def _settled(name: str) -> Standard | None:
    """The standard of a section that only one has, or whose sheave sizes are inch everywhere it is named alone."""
    try:
        standards = sections.standards_of(name)
    except BeltwrightError:
        return "rma"
    if standards == ("din", "iso"):
        return "iso"
    return standards[0] if len(standards) == 1 else None


def _speeds(drive: Drive, facts: dict[str, Fact]) -> None:
    if drive.motor.speed is not None:
        facts["driver_rotation"] = Fact(drive.motor.speed, "rotation", "stated", "motor plate",
                                        spread=0.005 * drive.motor.speed)
    if drive.driven_speed is not None:
        facts["driven_rotation_read"] = Fact(drive.driven_speed, "rotation", "measured", "tachometer or plate",
                                             spread=_speed_spread(drive.driven_speed))


def _diameters(which: str, sheave: Sheave, section: sections.Section, facts: dict[str, Fact],
               unusable: list[tuple[str, str]]) -> None:
    if sheave.diameter is None or sheave.diameter_as is None:
        return
    given = sheave.diameter_as
    measured = given == "outside"
    spread = _diameter_spread(sheave.diameter, measured)
    try:
        _put_diameters(which, sheave.diameter, given, section, "measured" if measured else "stated", spread, facts)
    except BeltwrightError as error:
        unusable.append((f"{which}_{given}", str(error)))


def _put_diameters(which: str, diameter: float, given: str, section: sections.Section, origin: Origin, spread: float,
                   facts: dict[str, Fact]) -> None:
    source = section.system.sheaves
    trust: Trust = "read" if section.system.name == "rma-classical" else "memory"
    for name, value in _every_diameter(diameter, given, section.name, section.standard):
        same = name == given or (name == "geometry" and section.system.diameter_as == given)
        facts[f"{which}_{name}"] = Fact(
            value, "length", origin if same else "worked out",
            ("over the rim" if given == "outside" else "stamped or listed") if same
            else f"from the {given} diameter, {section.system.title}", (source,), "derived" if same else trust, spread)


@lru_cache(_SHARED)
def _every_diameter(diameter: float, given: str, section: str, standard: str) -> tuple[tuple[str, float], ...]:
    args = (diameter, given, section, standard)
    wanted = {"outside": sheaves.outside_diameter(*args), "pitch": sheaves.pitch_diameter(*args),
              "geometry": sheaves.geometry_diameter(*args)}
    if sections.section(section, standard).system.diameter_as == "datum":
        wanted["datum"] = sheaves.datum_diameter(*args)
    return tuple((name, float(value)) for name, value in wanted.items())


def _other_sheave(drive: Drive, section: sections.Section, facts: dict[str, Fact]) -> None:
    """One sheave and the speeds give the other, on the pitch line."""
    have = [which for which in WHICH if f"{which}_pitch" in facts]
    ratio = _stated_ratio(drive)
    if len(have) != 1 or ratio is None:
        return
    one = facts[f"{have[0]}_pitch"].value
    other = "driven" if have[0] == "driver" else "driver"
    pitch = one * ratio if other == "driven" else one / ratio
    _put_diameters(other, pitch, "pitch", section, "worked out", 0.02 * pitch, facts)


def _stated_ratio(drive: Drive) -> float | None:
    if drive.ratio is not None:
        return drive.ratio
    if drive.motor.speed is not None and drive.driven_speed is not None:
        return drive.motor.speed / drive.driven_speed
    return None


def _mass(drive: Drive, section: sections.Section, facts: dict[str, Fact], unusable: list[tuple[str, str]]) -> None:
    if drive.belts.mass is not None:
        facts["mass"] = Fact(drive.belts.mass, "mass per length", "measured", "weighed",
                             spread=float(instrument_uncertainty("weighed belt", drive.belts.mass)))
        return
    try:
        found = sections.mass_of(section.name, section.standard, drive.belts.joined)
    except BeltwrightError as error:
        unusable.append(("belt_mass", str(error)))
        return
    spread = max((found.high - found.low) / 12**0.5, 0.03 * found.value)
    facts["mass"] = Fact(found.value, "mass per length", "published table",
                         f"section {section.name}, by table", (found.source,), found.trust, spread)


def _length_and_centre(drive: Drive, section: sections.Section | None, marking: lengths.Marking | None,
                       facts: dict[str, Fact], unusable: list[tuple[str, str]]) -> None:
    if section is not None:
        _belt_length(drive, section, marking, facts, unusable)
    if drive.centre is not None:
        facts["centre_read"] = Fact(drive.centre, "length", "measured", "tape, shaft to shaft",
                                    spread=float(instrument_uncertainty("tape over the span", drive.centre)))
    if not {"driver_geometry", "driven_geometry"} <= facts.keys():
        if "centre_read" in facts:
            facts["centre"] = facts["centre_read"]
        return
    driver, driven = facts["driver_geometry"].value, facts["driven_geometry"].value
    try:
        if "length" in facts:
            length = facts["length"]
            centre, per_length = _centre_of_belt(driver, driven, length.value)
            facts["centre_of_belt"] = Fact(centre, "length", "worked out", "from belt length and sheaves", ("statics",),
                                           length.trust, length.spread * per_length)
        if "centre_read" in facts:
            worked = float(geometry.belt_length(driver, driven, facts["centre_read"].value))
            facts["length_of_centre"] = Fact(worked, "length", "worked out", "from centre and sheaves",
                                             spread=2 * facts["centre_read"].spread)
    except BeltwrightError as error:
        unusable.append(("centre" if "centre_read" in facts else "belt_marking", str(error)))
    for name, first, second in (("centre", "centre_read", "centre_of_belt"), ("length", "length", "length_of_centre")):
        found = facts.get(first) or facts.get(second)
        if found is not None and not (name == "centre" and _touching(driver, driven, found.value)):
            facts[name] = found


@lru_cache(_SHARED)
def _centre_of_belt(driver: float, driven: float, length: float) -> tuple[float, float]:
    """Centre distance by the belt's length, and how it moves with it."""
    centre = float(geometry.centre_from_length(driver, driven, length))
    return centre, float(geometry.centre_per_length(driver, driven, centre))


def _touching(driver: float, driven: float, centre: float) -> bool:
    return not bool(geometry.feasible_centre(driver, driven, centre))


def _belt_length(drive: Drive, section: sections.Section, marking: lengths.Marking | None, facts: dict[str, Fact],
                 unusable: list[tuple[str, str]]) -> None:
    origin: Origin = "stated"
    if marking is not None:
        name, value, given = "belt_marking", marking.length, marking.length_as
        how = f"marking {marking.text}, {section.system.title}"
    elif drive.belts.length is not None and drive.belts.length_as is not None:
        name, value, given = f"belt_length_{drive.belts.length_as}", drive.belts.length, drive.belts.length_as
        origin, how = "measured", f"{given} length of the belt"
    else:
        return
    try:
        length = _on_the_line(value, given, section.name, section.standard)
    except BeltwrightError as error:
        unusable.append((name, str(error)))
        return
    spread = _diameter_spread(length, measured=True) if origin == "measured" else _length_spread(
        length, section.name, section.standard)
    trust: Trust = "read" if section.system.name == "rma-classical" and section.plain != "E" else "memory"
    facts["length"] = Fact(length, "length", origin, how, (section.system.belts,), trust, spread)


@lru_cache(_SHARED)
def _on_the_line(length: float, length_as: str, section: str, standard: str) -> float:
    return float(lengths.geometry_length(length, length_as, section, standard))


@lru_cache(_SHARED)
def _length_spread(length: float, section: str, standard: str) -> float:
    """A belt as made lies anywhere within its length tolerance; where none is known, within 1 percent."""
    try:
        limits = length_limits(length, sections.section(section, standard).system.length_as, section, standard)
    except BeltwrightError:
        return 0.01 * length / 3**0.5
    return (limits.tolerance if limits.tolerance is not None else 0.01 * length) / 3**0.5


def _ratio(facts: dict[str, Fact]) -> None:
    if {"driver_pitch", "driven_pitch"} <= facts.keys():
        driver, driven = facts["driver_pitch"], facts["driven_pitch"]
        ratio = driven.value / driver.value
        share = ((driver.spread / driver.value) ** 2 + (driven.spread / driven.value) ** 2) ** 0.5
        facts["ratio"] = Fact(ratio, "number", "worked out", "from the pitch diameters", driver.sources, driver.trust,
                              ratio * share)
        if "driver_rotation" in facts:
            turned = facts["driver_rotation"].value / ratio
            facts["driven_rotation"] = Fact(turned, "rotation", "worked out", "motor speed over ratio, without slip")
    if "driven_rotation" not in facts and "driven_rotation_read" in facts:
        facts["driven_rotation"] = facts["driven_rotation_read"]


def _diameter_spread(value: float, measured: bool) -> float:
    """Uncertainty of a diameter: a tape or calliper over a rim, or a stamped size with its making tolerance."""
    return max(0.001, 0.002 * value) / 3**0.5 if measured else max(0.0005, 0.001 * value) / 3**0.5


def _speed_spread(value: float) -> float:
    """Uncertainty of a shaft speed: read to the turn, and steady to one in five hundred."""
    return float(max(to_si(1, "rpm", "rotation"), 0.002 * value))
