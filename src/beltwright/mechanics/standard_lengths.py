"""Lengths belts are made in, how far one may be off its length, and how far those of one set may differ.

Must not import other modules of `mechanics` but `sections`, `lengths`, `length_steps` and `limits`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final, cast

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.lengths import MILLIMETRE, geometry_length, inch_number, marked_as, marked_length, marks
from beltwright.mechanics.sections import Section
from beltwright.mechanics.sections import section as section_of
from beltwright.tables import Table, Trust, load
from beltwright.units import show

# a length this near a standard one is that one
NEAR: Final = MILLIMETRE


@dataclass(frozen=True, slots=True)
class StandardLength:
    """A belt as made: what to ask the store for, and its length for geometry [m]."""

    marking: str
    number: int
    length: float


@dataclass(frozen=True, slots=True)
class Series:
    """The lengths a section is made in, shortest first, where from, how far to trust it and what to know of it."""

    belts: tuple[StandardLength, ...]
    source: str
    trust: Trust
    note: str


@dataclass(frozen=True, slots=True)
class LengthLimits:
    """What a standard allows a belt's length. In m; none where it says nothing.

    tolerance: plus or minus, against the standard length; matching: greatest difference within one set
    """

    tolerance: float | None
    matching: float | None
    source: str
    trust: Trust
    note: str


@cache
def standard_lengths(section: str, standard: str) -> Series:
    """The lengths a section is made in under a standard.

    section:  belt section, in either case; a cogged one is made in the lengths of its plain section [-]
    standard: rma, din, is or iso [-]
    returns:  belts with their lengths for geometry [m], shortest first

    Belts of other lengths are made too. Errors: `NotKnown` where no series is known here (DIN 2215; 9N, 15N, 25N);
    `InputError` for an unknown section or standard.
    Source: mh31, table 8; ip22, iso4184 from memory; is2494

    >>> [belt.marking for belt in standard_lengths("BX", "rma").belts[:3]]
    ['BX35', 'BX38', 'BX42']
    """
    belt = section_of(section, standard)
    table, numbers = _series(belt)
    made = []
    for number in numbers:
        named = float(marked_length(number, belt.name, belt.standard))
        known = float(geometry_length(named, marked_as(belt.name, belt.standard), belt.name, belt.standard))
        gap = "" if belt.standard == "rma" else " "
        made.append(StandardLength(f"{belt.name}{gap}{number}", number, known))
    return Series(tuple(made), table.source[0], table.trust, table.validity)


def nearest_lengths(length: float, length_as: str, section: str,
                    standard: str) -> tuple[StandardLength | None, StandardLength | None]:
    """The standard belts next below and next above a length; both the same where the length is a standard one.

    length:    the length wanted or found [m], scalar
    length_as: which one that is: datum, inside, outside, effective or pitch [-]
    section:   belt section [-]
    standard:  rma, din, is or iso [-]
    returns:   the belts below and above, none beyond the ends of the series [m]

    Errors: as `standard_lengths` and `lengths.geometry_length`.
    Source: mh31, table 8; ip22, iso4184 from memory; is2494

    >>> below, above = nearest_lengths(1.55, "datum", "SPB", "iso")
    >>> below.marking, above.marking
    ('SPB 1400', 'SPB 1600')
    """
    wanted = float(geometry_length(length, length_as, section, standard))
    belts = standard_lengths(section, standard).belts
    below = [each for each in belts if each.length <= wanted + NEAR]
    above = [each for each in belts if each.length >= wanted - NEAR]
    return (below[-1] if below else None), (above[0] if above else None)


def length_limits(length: float, length_as: str, section: str, standard: str) -> LengthLimits:
    """How far a belt may be off its length, and how far the belts of one set may differ.

    The row of the standard's table; between two standard lengths the row of the shorter, which is the tighter

    length:    the belt's nominal length [m], scalar
    length_as: which one that is: datum, inside, outside, effective or pitch [-]
    section:   belt section [-]
    standard:  rma, din, is or iso [-]
    returns:   tolerance and limit of difference [m]

    RMA classical: read in print. RMA narrow: remembered, not a standard's limit. ISO: from memory, its bands are
    uncertain and the tighter end is given; the tolerance is of narrow belts.
    Errors: `NotKnown` where nothing is known here (E inch, DIN, IS, 9N to 25N); `OutOfRange` outside the table.
    Source: mh31, table 8; iso4184 and practice from memory

    >>> limits = length_limits(113.8 * 0.0254, "datum", "B", "rma")
    >>> round(limits.tolerance / 0.0254, 2), round(limits.matching / 0.0254, 2), limits.trust
    (0.8, 0.3, 'read')
    """
    belt = section_of(section, standard)
    known = float(geometry_length(length, length_as, section, standard))
    if belt.system.name == "rma-classical" and belt.plain != "E":
        return _classical_limits(belt, known)
    if belt.system.name == "rma-narrow":
        table = load("length_limits_ip22")
        row = next((row for row in table.rows if known <= cast(float, row["to"]) + NEAR), None)
        if row is None:
            raise _outside(belt, known, table)
        return LengthLimits(cast("float | None", row["tolerance"]), cast(float, row["matching"]), table.source[0],
                            table.trust, table.validity)
    if belt.system.name in ("iso-classical", "iso-narrow"):
        return _metric_limits(belt, known)
    raise NotKnown(f"no length tolerance and no limit of difference is known here for {belt.name} belts of "
                   f"{belt.standard}")


def _classical_limits(belt: Section, known: float) -> LengthLimits:
    table = load("lengths_ip20")
    rows = [row for row in table.rows if row[belt.plain] is not None]
    number = float(inch_number(known, "datum", belt.name))
    first, last = cast(float, rows[0]["number"]), cast(float, rows[-1]["number"])
    if not first - 0.5 <= number <= last + 0.5:
        raise _outside(belt, known, table)
    row = [row for row in rows if cast(float, row["number"]) <= number + 0.5][-1]
    note = cast("str | None", row["note"]) or ""
    return LengthLimits(cast(float, row["tolerance"]), cast(float, row["matching"]), table.source[0],
                        cast(Trust, row["tolerance_trust"]), note)


def _metric_limits(belt: Section, known: float) -> LengthLimits:
    table = load("length_limits_iso4184")
    row = next((row for row in reversed(table.rows) if known >= cast(float, row["from"]) - NEAR / 2), None)
    if row is None or known > cast(float, table.rows[-1]["to"]) + NEAR / 2:
        raise _outside(belt, known, table)
    tolerance = cast(float, row["tolerance"]) if belt.system.name == "iso-narrow" else None
    return LengthLimits(tolerance, cast(float, row["matching"]), table.source[0], table.trust, table.validity)


def _series(belt: Section) -> tuple[Table, list[int]]:
    # the table a section's lengths are in, and the numbers its belts carry
    if belt.system.name == "rma-classical" and belt.plain != "E":
        table = load("lengths_ip20")
        numbers = [row["number"] for row in table.rows if row[belt.plain] is not None]
    elif belt.standard == "rma":
        table = load("lengths_e" if belt.plain == "E" else "lengths_ip22")
        numbers = [row["number"] for row in table.where(section=belt.plain)]
    elif belt.system.name == "is-classical":
        table = load("lengths_is2494")
        lengths = [cast(float, row["length"]) / MILLIMETRE for row in table.rows]
        numbers = [number for number in lengths if marks(number, belt.name, "is")]
    else:
        table = load("lengths_iso4184")
        rows = () if belt.system.name == "din-classical" else table.where(section=belt.plain)
        numbers = [cast(float, row["length"]) / MILLIMETRE for row in rows]
    if not numbers:
        raise NotKnown(f"no series of lengths is known here for {belt.name} belts of {belt.standard}")
    return table, [round(cast(float, number)) for number in numbers]


def _outside(belt: Section, known: float, table: Table) -> OutOfRange:
    shown = show(known, "length", "inch" if belt.standard == "rma" else "si")
    return OutOfRange(f"a {belt.name} belt of {shown}: outside the table of length limits ({table.title}; "
                      f"{', '.join(table.source)})")
