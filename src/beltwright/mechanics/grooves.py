"""Grooves as the standards draw them: one row per section and range of diameters, read from the tables.

Must not import other modules of `mechanics` but `sections`. Which row a sheave falls in is said by `sheaves`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Final, cast

import numpy as np

from beltwright.errors import InputError
from beltwright.mechanics.sections import DiameterAs, Row, Section, Standard
from beltwright.mechanics.sections import section as section_of
from beltwright.tables import Trust, load

_FILES: Final = {"rma-classical": "grooves_ip20", "rma-narrow": "grooves_ip22", "iso-effective": "grooves_effective"}
_METRIC: Final = "grooves_metric"


@dataclass(frozen=True, slots=True)
class Groove:
    """A groove as its standard draws it, for sheaves of one diameter range. Lengths in m, angles in rad.

    above, up_to:        range of diameters it holds for (none: no limit), and `diameter_as` which diameter that is
    depth:               from the rim to the bottom, least
    spacing, edge:       groove to groove; first groove to the face (its tolerance: `edge_plus`, `edge_minus`)
    rod, rod_over_rim:   diameter of the rod to measure with; how far it stands over the rim, at least
    outside_less_datum:  outside less datum diameter, none where there is no datum diameter
    trust, datum_trust:  of the groove; of the step from outside to datum diameter
    """

    section: str
    standard: Standard
    above: float | None
    up_to: float | None
    diameter_as: DiameterAs
    angle: float
    top_width: float
    depth: float
    spacing: float
    edge: float
    outside_less_datum: float | None
    outside_less_pitch: float
    outside_less_pitch_older: float
    source: str
    trust: Trust
    datum_trust: Trust
    angle_tolerance: float | None = None
    top_width_tolerance: float | None = None
    datum_width: float | None = None
    spacing_tolerance: float | None = None
    edge_plus: float | None = None
    edge_minus: float | None = None
    rod: float | None = None
    rod_over_rim: float | None = None
    note: str = ""


@cache
def grooves_of(section: str, standard: str, combination: bool = False) -> tuple[Groove, ...]:
    """The grooves a standard draws for a section, smallest sheaves first.

    section:     belt section, in either case; a cogged one has the grooves of its plain section [-]
    standard:    rma, din, is or iso [-]
    combination: whether A/B combination grooves are meant [-]
    returns:     one groove for each range of diameters [m], angles [rad]

    ISO, DIN, IS: the top width follows from datum width, rim height and angle, w_d + 2 b tan(angle/2).
    Errors: `InputError` for an unknown section or standard, and for combination grooves of other sections than A and
    B of rma.
    Source: mh31, table 9; ip22 and iso4183 from memory

    >>> [groove.up_to and round(groove.up_to / 0.0254, 2) for groove in grooves_of("C", "rma")]
    [7.99, 12.0, None]
    """
    belt = section_of(section, standard)
    if combination and (belt.system.name != "rma-classical" or belt.plain not in ("A", "B")):
        raise InputError(f"A/B combination grooves take A, AX, B and BX belts of rma, not {belt.name} of "
                         f"{belt.standard}")
    name = _FILES.get(belt.system.name, _METRIC)
    if name == _METRIC:
        made = [_metric(belt, row) for row in load(name).where(section=belt.plain, system=belt.system.name)]
    else:
        kind = "combination" if combination else "standard"
        made = [_drawn(belt, row, name) for row in load(name).where(section=belt.plain, kind=kind)]
    below = [None, *(each.up_to for each in made)]
    return tuple(replace(each, above=limit) for each, limit in zip(made, below, strict=False))


def _drawn(belt: Section, row: Row, name: str) -> Groove:
    # grooves of which the top width, depth and both steps from the outside diameter are in the table
    trust = cast(Trust, row.get("trust") or load(name).trust)
    return Groove(
        section=belt.name, standard=belt.standard, above=None, up_to=_maybe(row, "limit"),
        diameter_as=belt.system.diameter_as, angle=_cell(row, "angle"), top_width=_cell(row, "top_width"),
        depth=_cell(row, "depth"), spacing=_cell(row, "spacing"), edge=_cell(row, "edge"),
        outside_less_datum=_maybe(row, "outside_less_datum"), outside_less_pitch=_cell(row, "outside_less_pitch"),
        outside_less_pitch_older=_cell(row, "outside_less_pitch_older"), source=load(name).source[0], trust=trust,
        datum_trust=trust, angle_tolerance=_maybe(row, "angle_tolerance"),
        top_width_tolerance=_maybe(row, "top_width_tolerance"), datum_width=_maybe(row, "datum_width"),
        spacing_tolerance=_maybe(row, "spacing_tolerance"), edge_plus=_maybe(row, "edge_plus"),
        edge_minus=_maybe(row, "edge_minus"), rod=_maybe(row, "rod"),
        rod_over_rim=_maybe(row, "rod_over_rim"), note=_words(row))


def _metric(belt: Section, row: Row) -> Groove:
    # grooves drawn from the datum line: rim above it, depth below it
    angle, width, rim = _cell(row, "angle"), _cell(row, "datum_width"), _cell(row, "rim")
    return Groove(
        section=belt.name, standard=belt.standard, above=None, up_to=_maybe(row, "limit"), diameter_as="datum",
        angle=angle, top_width=width + 2 * rim * float(np.tan(angle / 2)), depth=rim + _cell(row, "depth_below"),
        spacing=_cell(row, "spacing"), edge=_cell(row, "edge"), outside_less_datum=2 * rim,
        outside_less_pitch=2 * rim, outside_less_pitch_older=2 * rim, source=belt.system.sheaves,
        trust=cast(Trust, row["trust"]), datum_trust=cast(Trust, row["rim_trust"]),
        angle_tolerance=_cell(row, "angle_tolerance"), datum_width=width,
        spacing_tolerance=_cell(row, "spacing_tolerance"), note=_words(row))


def _cell(row: Row, name: str) -> float:
    return cast(float, row[name])


def _maybe(row: Row, name: str) -> float | None:
    return cast("float | None", row.get(name))


def _words(row: Row) -> str:
    return cast("str | None", row.get("note")) or ""
