"""Readings that disagree: what, by how much, and which of them is likely wrong.

Where more was read than is needed, the readings check each other. Each check says both numbers, how far apart they
may lie given how well they can be read, and the reading that would explain it if it were another.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from beltwright.bench.figure import Said, say
from beltwright.bench.known import WHICH, Known
from beltwright.errors import BeltwrightError
from beltwright.mechanics import geometry, sections, sheaves
from beltwright.mechanics.standard_lengths import StandardLength, standard_lengths
from beltwright.plant.drive import DiameterAs, Sheave

Weight = Literal["wrong", "doubtful"]

# a used belt has grown by up to this share of its length (common practice: the take-up travel asked of a base)
GROWN: Final = 0.01
# slip and creep of a drive in order, and what no longer is slip
SLIP_USUAL: Final = 0.035
# how near an explanation must come before it is offered
EXPLAINS: Final = 0.004


@dataclass(frozen=True, slots=True)
class Clash:
    """Two readings that disagree: the statement, the columns concerned, the likely one, and what to do."""

    key: str
    weight: Weight
    statement: Said
    columns: tuple[str, ...]
    likely: Said
    do: Said


def clashes(known: Known) -> tuple[Clash, ...]:
    """Every disagreement between the readings of a drive, the gravest first."""
    checks: tuple[Callable[[Known], Clash | None], ...] = (
        _section_against_marking, _more_belts_than_grooves, _marking_against_centre, _speed_against_sheaves,
        _ratio_against_sheaves, _grooves_of_both, _section_against_face)
    found = [clash for check in checks if (clash := check(known)) is not None]
    return tuple(sorted(found, key=lambda clash: clash.weight != "wrong"))


def _section_against_marking(known: Known) -> Clash | None:
    said = known.drive.belts.section
    if said is None or known.marking is None or said.strip().upper() == known.marking.section:
        return None
    return Clash("section", "wrong", say("section {said} was entered, but the belt is marked {marking}",
                                         said=said.strip().upper(), marking=known.marking.text),
                 ("belt_section", "belt_marking"), say("the marking counts here; it is printed on the belt"),
                 say("measure the top width of a belt"))


def _more_belts_than_grooves(known: Known) -> Clash | None:
    count = known.drive.belts.count
    grooves = {which: sheave.grooves for which in WHICH if (sheave := _sheave(known, which)).grooves is not None}
    few = min(((number, which) for which, number in grooves.items() if number is not None), default=None)
    if count is None or few is None or count <= few[0]:
        return None
    return Clash("grooves", "wrong", say("{count} belts, but the {which} sheave has {number} grooves",
                                         count=str(count), which=few[1], number=str(few[0])),
                 ("belt_count", f"{few[1]}_grooves"), say("one of the two was miscounted"), say("count both again"))


def _marking_against_centre(known: Known) -> Clash | None:
    if not {"centre_read", "centre_of_belt", "length_of_centre"} <= known.facts.keys():
        return None
    read, worked = known.facts["centre_read"], known.facts["centre_of_belt"]
    length, by_centre = known.facts["length"], known.facts["length_of_centre"]
    diameters = sum(known.facts[f"{which}_geometry"].spread * 1.6 for which in WHICH)
    room = 2 * (length.spread**2 + by_centre.spread**2 + diameters**2) ** 0.5
    apart = by_centre.value - length.value
    if -room <= apart <= room + GROWN * length.value:
        return None
    statement = say("the belt's length asks for a centre distance of {worked}, the tape says {read}: {apart} of belt "
                    "length apart, where {room} can be", worked=(worked.value, "length"), read=(read.value, "length"),
                    apart=(abs(apart), "length"), room=(room + (GROWN * length.value if apart > 0 else 0), "length"))
    weight: Weight = "wrong" if abs(apart) > 0.02 * length.value else "doubtful"
    likely, do = _why_lengths_differ(known, by_centre.value)
    return Clash("length", weight, statement, ("belt_marking", "centre"), likely, do)


def _why_lengths_differ(known: Known, wanted: float) -> tuple[Said, Said]:
    other = _other_diameter(known, wanted)
    if other is not None:
        which, taken = other
        return (say("it fits if the {which} diameter was a {taken} diameter", which=which, taken=taken),
                say("measure over the rim of the {which} sheave", which=which))
    if (belt := _belt_that_fits(known, wanted)) is not None:
        return (say("a {belt} would fit: the marking was misread, or another belt was put on", belt=belt.marking),
                say("read the marking on every belt again"))
    return (say("no standard belt fits either: the centre distance or a diameter was likely misread"),
            say("measure the centre distance again, then both rims"))


def _belt_that_fits(known: Known, wanted: float) -> StandardLength | None:
    assert known.section is not None
    try:
        belts = standard_lengths(known.section.name, known.section.standard).belts
    except BeltwrightError:
        return None
    near = min(belts, key=lambda belt: abs(belt.length - wanted))
    marked = known.marking is not None and near.number == known.marking.number
    return None if marked or abs(near.length - wanted) > 3 * EXPLAINS * wanted else near


def _other_diameter(known: Known, wanted: float) -> tuple[str, DiameterAs] | None:
    """A sheave whose diameter, taken as another kind, brings belt length and measured centre together."""
    assert known.section is not None
    centre, length = known.value("centre_read"), known.value("length")
    kinds: tuple[DiameterAs, ...] = ("outside", "datum") if known.section.system.diameter_as == "datum" else ()
    for which in WHICH:
        sheave = _sheave(known, which)
        for taken in kinds:
            if sheave.diameter is None or taken == sheave.diameter_as:
                continue
            diameters = {name: known.value(f"{name}_geometry") for name in WHICH}
            diameters[which] = float(sheaves.geometry_diameter(sheave.diameter, taken, known.section.name,
                                                               known.section.standard))
            if not bool(geometry.feasible_centre(diameters["driver"], diameters["driven"], centre)):
                continue
            by_centre = float(geometry.belt_length(diameters["driver"], diameters["driven"], centre))
            if abs(by_centre - length) < EXPLAINS / 2 * length and abs(by_centre - length) < abs(wanted - length) / 3:
                return which, taken
    return None


def _speed_against_sheaves(known: Known) -> Clash | None:
    if not {"ratio", "driver_rotation", "driven_rotation_read"} <= known.facts.keys():
        return None
    expected = known.value("driver_rotation") / known.value("ratio")
    read = known.value("driven_rotation_read")
    lag = 1 - read / expected
    room = 2 * sum((known.facts[name].spread / known.facts[name].value) ** 2
                   for name in ("driver_rotation", "ratio", "driven_rotation_read")) ** 0.5
    if -room <= lag <= SLIP_USUAL + room:
        return None
    statement = say("by the diameters the driven shaft turns at {expected} without slip, it was read at {read}: "
                    "{lag} apart", expected=(expected, "rotation"), read=(read, "rotation"), lag=(abs(lag), "share"))
    if lag > 0 and lag < 0.12:
        return Clash("speed", "doubtful", statement, ("driven_speed",), say("it may be slip"),
                     say("read both speeds under load with one instrument, and the belts' tension"))
    return Clash("speed", "wrong", statement, ("driven_speed", *_diameter_columns(known)),
                 say("more than slip can be, and belts never run ahead: a speed or a diameter was misread"),
                 say("read both speeds with one instrument and measure both rims"))


def _ratio_against_sheaves(known: Known) -> Clash | None:
    said = known.drive.ratio
    if said is None or "ratio" not in known or known.value("ratio") <= 0:
        return None
    worked = known.facts["ratio"]
    if abs(said / worked.value - 1) <= 0.02 + 2 * worked.spread / worked.value:
        return None
    return Clash("ratio", "wrong", say("the ratio was given as {said}, the diameters give {worked}",
                                       said=(said, "number", 3), worked=(worked.value, "number", 3)),
                 ("ratio", *_diameter_columns(known)), say("a sheave may have been changed since the papers were made"),
                 say("measure both rims"))


def _grooves_of_both(known: Known) -> Clash | None:
    driver, driven = known.drive.driver.grooves, known.drive.driven.grooves
    if driver is None or driven is None or driver == driven:
        return None
    return Clash("groove count", "doubtful", say("the driver has {driver} grooves, the driven {driven}",
                                                 driver=str(driver), driven=str(driven)),
                 ("driver_grooves", "driven_grooves"),
                 say("a sheave from another drive, or a miscount; it runs if the belts sit in facing grooves"),
                 say("count again and see that each belt runs straight"))


def _section_against_face(known: Known) -> Clash | None:
    if known.section is None:
        return None
    for which in WHICH:
        sheave = _sheave(known, which)
        if sheave.width is None or sheave.grooves is None:
            continue
        wanted = float(sheaves.face_width(sheave.grooves, known.section.name, known.section.standard))
        if abs(sheave.width - wanted) <= 0.12 * wanted:
            continue
        fits = [name for name in sections.accepted(known.section.standard)
                if abs(float(sheaves.face_width(sheave.grooves, name, known.section.standard)) - sheave.width)
                <= 0.05 * sheave.width and not name.endswith("X")]
        likely = (say("the grooves look like section {fits}: belts of {section} do not belong in them",
                      fits=" or ".join(fits), section=known.section.name) if fits
                  else say("the grooves may be cut for another section, or wider apart than usual"))
        return Clash("face width", "doubtful",
                     say("{number} grooves for {section} make a face of {wanted}, the {which} sheave measures {read}",
                         number=str(sheave.grooves), section=known.section.name, wanted=(wanted, "length"), which=which,
                         read=(sheave.width, "length")), (f"{which}_width", "belt_section"), likely,
                     say("try a groove gauge of the belts' section"))
    return None


def _sheave(known: Known, which: str) -> Sheave:
    return known.drive.driver if which == "driver" else known.drive.driven


def _diameter_columns(known: Known) -> tuple[str, ...]:
    return tuple(f"{which}_{_sheave(known, which).diameter_as}" for which in WHICH
                 if _sheave(known, which).diameter_as is not None)
