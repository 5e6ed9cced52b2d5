"""Corrections of a belt's rated power: for an arc of contact below half a turn, and for the belt's length.

Arc of contact, three forms of one thing, side by side:

    arc_factor           1.25 (1 - 5^(-theta/180)): the one Beltwright rates with. It is smooth, rests on the same
                         tension ratio of 5 at half a turn as the set tensions do, and lies within 0.0045 of the table.
    arc_factor_printed   the printed table, interpolated on (D - d)/C, as a person with the handbook reads it.
    arc_factor_fit       Shigley's parabola through that table.

Length: classical belts by the standard's factors, interpolated between its lengths and refused outside them. For
narrow belts too few points are known to interpolate: `length_factor` says so, and whoever rates a narrow belt leaves
the factor out and says that. Imports only `limits` of `mechanics`.
"""

from __future__ import annotations

from functools import cache
from typing import Final, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, first_refused
from beltwright.tables import load
from beltwright.units import show

_Column = npt.NDArray[np.float64]
# a table's ends are met by lengths and arcs worked out another way: allow them a rounding error
_ROUNDING: Final = 1e-9
# cogged belts have the lengths of the plain ones
_PLAIN: Final = {"AX": "A", "BX": "B", "CX": "C"}


def arc_in_range(wrap: Numbers) -> Mask:
    """Where the arc factors answer: from the table's end to half a turn.

    2 acos(1.5/2) <= theta <= pi

    wrap:    arc of contact on the small sheave [rad], scalar or array
    returns: true inside [-], shape of `wrap`

    Source: mh31, table 12

    >>> arc_in_range(np.radians([80.0, 83.0, 180.0, 190.0]))
    array([False,  True,  True, False])
    """
    shortest = 2 * np.arccos(_arc_table()[0][-1] / 2)
    return (np.asarray(wrap) >= shortest - _ROUNDING) & (np.asarray(wrap) <= np.pi + _ROUNDING)


def arc_factor(wrap: Numbers) -> Numbers:
    """How much of its half-turn power a belt carries on a shorter arc, both sheaves grooved: the form used for rating.

    G = 1.25 (1 - 5^(-theta/pi))

    wrap:    arc of contact on the small sheave [rad], scalar or array
    returns: arc-of-contact correction [-], shape of `wrap`

    The tension ratio is 5 at half a turn and falls as friction has it. The form is from memory; it lies within 0.0045
    of every printed row of the table. 83 to 180 degrees. Arrays: ask `arc_in_range` first.
    Errors: `OutOfRange` outside the table's arcs.
    Source: iso5292, form from memory; mh31, table 12

    >>> round(float(arc_factor(np.radians(151))), 3)
    0.926
    """
    _check_arc(wrap)
    return 1.25 * (1.0 - np.exp(wrap * (-np.log(5.0) / np.pi)))


def arc_factor_printed(wrap: Numbers) -> Numbers:
    """The arc factor as read from the printed table, both sheaves grooved.

    table on (D - d)/C = 2 cos(theta/2), straight between rows

    wrap:    arc of contact on the small sheave [rad], scalar or array
    returns: arc-of-contact correction [-], shape of `wrap`

    83 to 180 degrees; printed to two decimals.
    Errors: `OutOfRange` outside the table.
    Source: mh31, table 12

    >>> round(float(arc_factor_printed(np.radians(151))), 3)
    0.93
    """
    _check_arc(wrap)
    difference, grooved, _ = _arc_table()
    return np.interp(2.0 * np.cos(np.asarray(wrap) / 2.0), difference, grooved)


def arc_factor_v_flat(wrap: Numbers) -> Numbers:
    """The arc factor of a drive whose large sheave is a flat pulley, from the printed table.

    table on (D - d)/C = 2 cos(theta/2), straight between rows

    wrap:    arc of contact on the small, grooved sheave [rad], scalar or array
    returns: arc-of-contact correction [-], shape of `wrap`

    The flat pulley limits the drive until its longer arc makes up for the missing wedge, from about 127 degrees on.
    Errors: `OutOfRange` outside the table.
    Source: mh31, table 12

    >>> round(float(arc_factor_v_flat(np.pi)), 2)
    0.75
    """
    _check_arc(wrap)
    difference, _, flat = _arc_table()
    return np.interp(2.0 * np.cos(np.asarray(wrap) / 2.0), difference, flat)


def arc_factor_fit(wrap: Numbers) -> Numbers:
    """Shigley's parabola through the arc-of-contact table, for checks of that book's examples.

    K_1 = 0.143543 + 0.007468 theta - 0.000015052 theta^2, theta in degrees

    wrap:    arc of contact on the small sheave [rad], scalar or array
    returns: arc-of-contact correction [-], shape of `wrap`

    83 to 180 degrees.
    Errors: `OutOfRange` outside the table.
    Source: shigley, solution 17-18

    >>> round(float(arc_factor_fit(np.radians(156.5))), 3)
    0.944
    """
    _check_arc(wrap)
    degrees = np.degrees(wrap)
    return 0.143543 + 0.007468 * degrees - 1.5052e-5 * degrees * degrees


def has_length_factor(section: str) -> bool:
    """Whether length factors are known for a section, so that `length_factor` can answer.

    A, B, C, D, AX, BX, CX

    section: belt section: A, B, ..., 3V, ..., SPC [-]
    returns: true for the classical inch sections A to D and AX to CX [-]

    Source: ip20-1988

    >>> has_length_factor("BX"), has_length_factor("5V")
    (True, False)
    """
    return _PLAIN.get(section, section) in _length_tables()


def length_in_range(section: str, length: Numbers) -> Mask:
    """Where `length_factor` answers.

    shortest <= L <= longest length of the section's table

    section: belt section: A, B, C, D, AX, BX, CX [-]
    length:  datum length [m], scalar or array
    returns: true inside the table [-], shape of `length`

    Errors: `NotKnown` for a section without length factors.
    Source: ip20-1988

    >>> length_in_range("A", np.array([0.5, 1.5]))
    array([False,  True])
    """
    lengths, _ = _length_table(section)
    return ((np.asarray(length) >= lengths[0] * (1.0 - _ROUNDING))
            & (np.asarray(length) <= lengths[-1] * (1.0 + _ROUNDING)))


def length_factor(section: str, length: Numbers) -> Numbers:
    """How much more or less a belt carries for being longer or shorter than its section's reference length.

    K_L = table(section, datum length), straight between the standard lengths

    section: belt section: A, B, C, D, AX, BX, CX [-]
    length:  datum length [m], scalar or array
    returns: length correction [-], shape of `length`

    A longer belt bends less often. All factors are from memory. Arrays: ask `length_in_range` first.
    Errors: `OutOfRange` outside the section's standard lengths; `NotKnown` for narrow and other sections.
    Source: ip20-1988, table of length factors from memory

    >>> from beltwright.units import INCH
    >>> round(float(length_factor("BX", 86.8 * INCH)), 2)
    0.99
    """
    lengths, factors = _length_table(section)
    above_zero("length", length=length)
    good = length_in_range(section, length)
    if not np.all(good):
        (first,) = first_refused(good, length)
        shortest, longest = (show(end, "length", "si") for end in (float(lengths[0]), float(lengths[-1])))
        raise OutOfRange(f"datum length {show(first, 'length', 'si')}: length factors of section {section} run from "
                         f"{shortest} to {longest}")
    return np.interp(length, lengths, factors)


def _check_arc(wrap: Numbers) -> None:
    good = arc_in_range(wrap)
    if not np.all(good):
        (first,) = first_refused(good, wrap)
        raise OutOfRange(f"arc of contact {show(first, 'angle', 'si')}: arc factors are published from 83° to 180° on "
                         f"the small sheave")


def _length_table(section: str) -> tuple[_Column, _Column]:
    table = _length_tables().get(_PLAIN.get(section, section))
    if table is None:
        raise NotKnown(f"no length factors are known for section {section}: rate it without, and say so")
    return table


@cache
def _arc_table() -> tuple[_Column, _Column, _Column]:
    table = load("arc_factors")
    return (np.array(table.column("difference")), np.array(table.column("grooved")), np.array(table.column("flat")))


@cache
def _length_tables() -> dict[str, tuple[_Column, _Column]]:
    rows = load("length_factors").rows
    tables = {}
    for section in dict.fromkeys(cast(str, row["section"]) for row in rows):
        own = [row for row in rows if row["section"] == section]
        tables[section] = (np.array([cast(float, row["length"]) for row in own]),
                           np.array([cast(float, row["factor"]) for row in own]))
    return tables
