"""How far apart a belt's lengths lie under one standard, and what an inch number adds: read from the tables.

Must not import other modules of `mechanics` but `sections` and `grooves`. What is done with it is in `lengths`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import cast

from beltwright.errors import InputError
from beltwright.mechanics.grooves import grooves_of
from beltwright.mechanics.sections import LengthAs, Row
from beltwright.mechanics.sections import section as section_of
from beltwright.tables import Trust, load
from beltwright.units import INCH


@dataclass(frozen=True, slots=True)
class Step:
    """Step from the length for geometry to another [m], with source and trust; it holds up to `limit` of the former."""

    step: float
    source: str
    trust: Trust
    limit: float = math.inf


@cache
def steps_of(section: str, standard: str, edition: str = "newer") -> Mapping[LengthAs, Step]:
    """The steps from a belt's length for geometry to each other length its standard lets one say.

    length = geometry length + step; L_p - L_d = pi (d_p - d_d), L_o - L_d = pi (d_o - d_d)

    section:  belt section, a cogged one as its plain section [-]
    standard: rma, din, is or iso [-]
    edition:  newer or older, where the inch standards lay the pitch line [-]
    returns:  steps by the length they lead to [m]

    Outside lengths a standard does not print take the belt's top as flush with the rim. RMA inside lengths: the
    number itself, below the change of the rule, after the older textbooks.
    Errors: `InputError` for an unknown section, standard or edition.
    Source: din2215; iso4184 and is2494 from memory; statics for the rest

    >>> round(steps_of("B", "is")["inside"].step * 1000), round(steps_of("B", "din")["inside"].step * 1000)
    (-43, -40)
    """
    belt = section_of(section, standard)
    groove = grooves_of(belt.name, belt.standard)[0]
    less_pitch = {"newer": groove.outside_less_pitch, "older": groove.outside_less_pitch_older}.get(edition)
    if less_pitch is None:
        raise InputError(f"unknown edition {edition!r}: say newer or older")
    own = Step(0.0, belt.system.belts, "read")
    if groove.outside_less_datum is None:
        return MappingProxyType({"effective": own, "outside": own,
                                 "pitch": Step(-math.pi * less_pitch, groove.source, groove.trust)})
    found: dict[LengthAs, Step] = {
        "datum": own,
        "pitch": Step(math.pi * (groove.outside_less_datum - less_pitch), groove.source, groove.datum_trust),
        "outside": Step(math.pi * groove.outside_less_datum, "statics", "derived"),
    }
    if belt.standard == "rma":
        first = next(row for row in load("length_numbers_inch").rows if row["section"] == belt.plain)
        add = cast(float, first["add"])
        found["inside"] = Step(-add, "shigley", "memory", cast(float, first["to"]) * INCH + add)
    for row in load("length_offsets_metric").where(system=belt.system.name, section=belt.plain):
        found[cast(LengthAs, row["length_as"])] = Step(
            cast(float, row["step"]), cast(str, row["source"]), cast(Trust, row["trust"]))
    return MappingProxyType(found)


@cache
def inch_rules(section: str) -> tuple[Mapping[str, float], ...]:
    """The rule from an inch marking's number to a length, by ranges of numbers.

    length = number/divisor + add

    section: plain belt section of rma [-]
    returns: from, to, divisor [-] and add [m] of each range, smallest numbers first

    Source: mh31, table 8; ip22 for the narrow sections

    >>> [(rule["from"], round(rule["add"] / 0.0254, 1)) for rule in inch_rules("D")]
    [(100.0, 3.3), (240.0, 0.8)]
    """
    def numbers(row: Row) -> Mapping[str, float]:
        return MappingProxyType({name: cast(float, row[name]) for name in ("from", "to", "divisor", "add")})

    return tuple(numbers(row) for row in load("length_numbers_inch").where(section=section))
