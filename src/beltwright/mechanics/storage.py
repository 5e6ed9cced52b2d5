"""Belts in the store: how long they keep, in what climate, and how they are laid.

Shelf life goes by the rubber makers' bulletin: no change worth speaking of for eight years up to 85 degF, half of that
for each 15 degF above, never above 115 degF. Other rules in print (by kind of rubber, other reprints) stand beside it
in the table `shelf_life`. Must not import other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from functools import cache
from typing import Final, NamedTuple, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.tables import load
from beltwright.units import show

# the coiling table is printed for the class of sections that bend easily
COILED: Final = ("A", "AX", "B", "BX", "3V", "3VX")
# a peg thinner than this bends the belt sharper than its smallest sheave may
_PEG_HEIGHTS: Final = 10.0


class Coiling(NamedTuple):
    """How many coils a belt is laid in, and the loops that then lie one on another."""

    coils: Numbers
    loops: Numbers


class _Bulletin(NamedTuple):
    life: float
    base: float
    halves_each: float
    highest: float


def may_be_kept(storage_temperature: Numbers) -> Mask:
    """Whether belts may be kept at this temperature at all.

    T <= 46 degC (115 degF)

    storage_temperature: temperature belts are kept at [degC], scalar or array
    returns:             true where `shelf_life` has an answer [-], shape of `storage_temperature`

    Source: ip3-4

    >>> bool(may_be_kept(40.0)), bool(may_be_kept(50.0))
    (True, False)
    """
    return np.asarray(storage_temperature) <= _bulletin().highest


def shelf_life(storage_temperature: Numbers) -> Numbers:
    """How long a belt keeps on the shelf at a steady temperature.

    8 years 0.5^((T - 29.4)/8.33), 8 years up to 29.4 degC (85 degF)

    storage_temperature: temperature belts are kept at [degC], scalar or array
    returns:             time [s], shape of `storage_temperature`

    Humidity under 70 percent, no direct sun. A cooler store earns no more. From memory, not verified; another reprint
    says 7 years. Between the printed steps the halving is taken as smooth.
    Errors: `OutOfRange` above 46 degC, where belts must not be kept (ask `may_be_kept` first).
    Source: ip3-4

    >>> from beltwright.units import YEAR
    >>> [round(float(life), 2) for life in shelf_life(np.array([20.0, 37.8])) / YEAR]
    [8.0, 3.99]
    """
    rule = _bulletin()
    if not np.all(may_be_kept(storage_temperature)):
        raise OutOfRange(f"a store at {show(float(np.max(storage_temperature)), 'temperature', 'si')}: belts must "
                         f"never be kept above {show(rule.highest, 'temperature', 'si')}")
    return rule.life * 0.5 ** (np.maximum(np.asarray(storage_temperature) - rule.base, 0.0) / rule.halves_each)


def shelf_life_used(kept: npt.ArrayLike, storage_temperature: npt.ArrayLike) -> Numbers:
    """What share of its shelf life a belt has used, kept for so long at this temperature and then at that.

    sum of t_i / life(T_i)

    kept:                how long at each temperature, stretches along the last axis [s], array
    storage_temperature: temperature of each stretch [degC], array
    returns:             share used, 1 when it is over [-], shape without the last axis

    Stretches add up in proportion: derived from the halving rule, not in the bulletin.
    Errors: `OutOfRange` for a stretch below zero or a store above 46 degC.
    Source: ip3-4

    >>> from beltwright.units import YEAR
    >>> round(float(shelf_life_used([2 * YEAR, 1 * YEAR], [20.0, 37.8])), 2)
    0.5
    """
    stretches = np.atleast_1d(np.asarray(kept, dtype=float))
    at_least_zero("time", kept=stretches)
    return np.sum(stretches / shelf_life(np.asarray(storage_temperature, dtype=float)), axis=-1)


@cache
def _bulletin() -> _Bulletin:
    row = load("shelf_life").where(rule="bulletin")[0]
    return _Bulletin(*(cast(float, row[name]) for name in ("low_year", "base_degC", "halves_each_K", "highest_degC")))


def cool_enough(storage_temperature: Numbers) -> Mask:
    """Whether a store is cool enough for belts.

    T < 25 degC

    storage_temperature: temperature belts are kept at [degC], scalar or array
    returns:             true where it is [-], shape of `storage_temperature`

    Source: iso2230, 6.2.1

    >>> bool(cool_enough(24.0)), bool(cool_enough(25.0))
    (True, False)
    """
    return np.asarray(storage_temperature) < _degrees("upper limit", "high_degC")


def needs_warming(storage_temperature: Numbers) -> Mask:
    """Whether belts from the store are too cold to be bent: handle with care and warm them to about 30 degC first.

    T < 15 degC

    storage_temperature: temperature belts were kept at [degC], scalar or array
    returns:             true where they are [-], shape of `storage_temperature`

    Source: iso2230

    >>> bool(needs_warming(8.0))
    True
    """
    return np.asarray(storage_temperature) < _degrees("handle with care", "low_degC")


@cache
def _degrees(name: str, column: str) -> float:
    return cast(float, load("storage_limits").where(what="temperature", name=name)[0][column])


def dry_enough(humidity: Numbers, polyurethane: Mask = False) -> Mask:
    """Whether the air of a store is dry enough for belts.

    RH < 70 %, 65 % for polyurethane

    humidity:     relative humidity, 1 is saturated [-], scalar or array
    polyurethane: whether the belt is of polyurethane [-], scalar or array
    returns:      true where it is [-], shape of the broadcast inputs

    Errors: `OutOfRange` for a humidity outside 0 to 100 percent.
    Source: iso2230, 6.2.2

    >>> bool(dry_enough(0.68)), bool(dry_enough(0.68, polyurethane=True))
    (True, False)
    """
    at_least_zero("share", humidity=humidity)
    if np.any(np.asarray(humidity) > 1.0):
        raise OutOfRange(f"humidity of {show(float(np.max(humidity)), 'share', 'si')}: 0% to 100% is possible")
    return np.asarray(humidity) < np.where(polyurethane, _humidity("polyurethane"), _humidity("rubber"))


@cache
def _humidity(name: str) -> float:
    return cast(float, load("storage_limits").where(what="humidity", name=name)[0]["high_pct"])


def peg(smallest: Numbers, thickness: Numbers) -> Numbers:
    """How thick a peg or saddle has to be for belts to hang on.

    the larger of the section's smallest sheave and 10 belt heights

    smallest:  smallest sheave the section may run on [m], scalar or array
    thickness: height of the section [m], scalar or array
    returns:   diameter [m], shape of the broadcast inputs

    Two rules of the trade; the larger serves both. Common practice, no source.
    Errors: `OutOfRange` for values of zero or less.
    Source: practice

    >>> round(float(peg(0.137, 0.0104)), 3)
    0.137
    """
    above_zero("length", smallest=smallest, thickness=thickness)
    return np.maximum(smallest, _PEG_HEIGHTS * thickness)


def coiling(length: Numbers, section: str) -> Coiling:
    """In how many coils a long belt is laid, so that it does not hang by its own weight.

    up to 60 in none, to 120 in 1, to 180 in 2, above 3; loops = 2 coils + 1

    length:  belt length [m], scalar or array
    section: belt section, A, B, 3V or one of their cogged forms [-]
    returns: coils and loops [-], each in the shape of `length`

    From memory, not verified.
    Errors: `OutOfRange` for a length of zero or less and for the sections the table has not.
    Source: ip3-4

    >>> [int(number) for number in coiling(2.5, "B")]
    [1, 3]
    """
    above_zero("length", length=length)
    if section not in COILED:
        raise OutOfRange(f"section {section}: the coiling table at hand is for {', '.join(COILED)} only")
    above, coils, loops = (np.asarray(load("belt_coiling").column(name)) for name in ("above_in", "coils", "loops"))
    row = np.searchsorted(above, length, side="left") - 1
    return Coiling(coils[row], loops[row])
