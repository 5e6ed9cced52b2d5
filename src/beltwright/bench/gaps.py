"""What to go and read at the machine, in the order of what it unlocks.

Facts follow from facts by the rules below; a figure needs facts. For each reading that is missing, count the figures
that become known once it is there; readings that only help together are counted together. Nothing here is a number of
mechanics.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from beltwright.bench.known import Known
from beltwright.plant.drive import Drive

# (facts needed, fact that follows)
RULES: Final[tuple[tuple[frozenset[str], str], ...]] = tuple((frozenset(needs.split()), gives) for needs, gives in (
    ("marking", "section"), ("marking", "length"), ("driver section ratio_said", "driven"),
    ("driven section ratio_said", "driver"), ("driver_speed driven_speed", "ratio_said"),
    ("driver driven length", "centre"), ("driver driven centre", "length"), ("driver driven", "ratio"),
    ("service running", "service_factor"), ("power service_factor", "design_power"),
    ("driver driven centre", "span"), ("driver driver_speed", "speed"), ("driven ratio_said driver_speed", "speed"),
    ("section driver driven driver_speed length published", "rating"), ("belt_power", "rating"),
    ("design_power speed belts span section", "tension"),
))

# figure groups of a card: what each needs
FIGURES: Final[dict[str, frozenset[str]]] = {name: frozenset(needs.split()) for name, needs in (
    ("span", "span"), ("deflection", "span"), ("wrap", "span"), ("slack-off", "length section"),
    ("take-up", "length section"), ("belt speed", "speed"), ("speed ratio", "ratio"),
    ("groove gauge", "driver section"), ("smallest sheave", "driver section"), ("alignment over the centre", "centre"),
    ("design power", "design_power"), ("belts required", "rating design_power span"),
    ("service factor reached", "rating power belts span"), ("static tension", "tension"),
    ("deflection force", "tension"),
    ("span frequency", "tension"), ("shaft pull", "tension"), ("set to draw from the store", "marking belts"),
    ("rim speed against limit", "speed material"), ("bearing load", "tension shaft"),
)}

# readings a person can take: fact, column, words. In the order in which a mechanic would take them at equal worth.
READINGS: Final[tuple[tuple[str, str, str], ...]] = (
    ("marking", "belt_marking", "the marking printed on a belt"),
    ("section", "belt_section", "the belt section, by marking or top width"),
    ("driver", "driver_outside", "outside diameter of the driver sheave"),
    ("driven", "driven_outside", "outside diameter of the driven sheave"),
    ("centre", "centre", "distance between the shafts"),
    ("belts", "belt_count", "number of belts"),
    ("power", "motor_power", "power on the motor plate"),
    ("driver_speed", "motor_speed", "speed on the motor plate"),
    ("service", "service", "kind of driven machine"),
    ("running", "running", "hours it runs in a day"),
    ("belt_power", "belt_power", "power of one belt, from its own table"),
    ("driven_speed", "driven_speed", "speed of the driven shaft"),
    ("material", "driver_material", "material of the sheaves"),
    ("shaft", "driven_overhang", "overhang and bearing span of the driven shaft"),
)


@dataclass(frozen=True, slots=True)
class Gap:
    """A reading that is missing: its column, what it is, and the figures that it unlocks."""

    column: str
    words: str
    unlocks: tuple[str, ...]
    together_with: tuple[str, ...] = ()


def gaps(known: Known, *, rated: bool) -> tuple[Gap, ...]:
    """What to read next, most worth first. `rated`: whether a published rating exists for the section.

    Readings that unlock nothing alone are listed behind the pair or triple in which they do.
    """
    have = _facts(known, rated)
    missing = [(fact, column, words) for fact, column, words in READINGS if fact not in _closure(have)]
    found: list[Gap] = []
    while missing:
        best = _best(have, missing)
        if best is None:
            break
        group, unlocked = best
        columns = tuple(words for _, _, words in group)
        for at, (_, column, words) in enumerate(group):
            others = columns[:at] + columns[at + 1:]
            found.append(Gap(column, words, unlocked, others))
        have |= {fact for fact, _, _ in group}
        missing = [entry for entry in missing if entry[0] not in _closure(have)]
    return tuple(found)


_Reading = tuple[str, str, str]


def _best(have: set[str], missing: list[_Reading]) -> tuple[tuple[_Reading, ...], tuple[str, ...]] | None:
    """The smallest group of readings that unlocks anything, and of those the one that unlocks most."""
    before = _figures(have)
    for size in range(1, len(missing) + 1):
        tried = ((group, _figures(have | {fact for fact, _, _ in group}) - before)
                 for group in combinations(missing, size))
        worth = [(group, unlocked) for group, unlocked in tried if unlocked]
        if worth:
            group, unlocked = max(worth, key=lambda pair: len(pair[1]))
            return group, tuple(name for name in FIGURES if name in unlocked)
    return None


def _figures(have: Iterable[str]) -> set[str]:
    facts = _closure(have)
    return {name for name, needs in FIGURES.items() if needs <= facts}


def _closure(have: Iterable[str]) -> set[str]:
    facts = set(have)
    grown = True
    while grown:
        grown = False
        for needs, gives in RULES:
            if gives not in facts and needs <= facts:
                facts.add(gives)
                grown = True
    return facts


def _facts(known: Known, rated: bool) -> set[str]:
    drive: Drive = known.drive
    has = {
        "marking": known.marking is not None, "section": known.section is not None,
        "driver": "driver_geometry" in known, "driven": "driven_geometry" in known, "centre": "centre" in known,
        "length": "length" in known, "belts": "belts" in known, "power": "power" in known,
        "driver_speed": "driver_rotation" in known, "driven_speed": drive.driven_speed is not None,
        "ratio_said": drive.ratio is not None, "service": drive.service is not None,
        "running": drive.hours_a_day is not None, "service_factor": drive.service_factor is not None,
        "belt_power": drive.belts.power is not None, "published": rated,
        "material": drive.driver.material is not None and drive.driven.material is not None,
        "shaft": drive.driven.shaft.overhang is not None and drive.driven.shaft.bearing_span is not None,
    }
    return {fact for fact, there in has.items() if there}
