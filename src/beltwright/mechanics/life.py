"""How long a belt lasts by the textbook durability method: each pass round a sheave bends it and uses up a little.

At every sheave the tight side's tension peaks by the bending, Kb/d. A belt under peak tension T alone would stand
(K/T)^b passes; two sheaves use it up side by side. The constants were fitted for 100 million to 1000 million passes:
outside that the answer is "fewer than" or "more than", never a number. The method knows no heat, dirt, misalignment
or shock, so a life by it is for comparing drives, not for a calendar. Must not import other modules of `mechanics`
but `limits`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple, cast

import numpy as np

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.tables import Trust, cite, load
from beltwright.units import show


class Durability(NamedTuple):
    """Constants of one section.

    bending_constant: Kb, divided by a diameter the tension that bending adds [N m]
    mass:             Kc, the belt's mass per length as the method has it [kg/m]
    strength:         K of the life law [N]; exponent: b of the life law
    smallest:         smallest sheave the constants hold for [m]
    fewest, most:     passes between which they hold
    """

    bending_constant: float
    mass: float
    strength: float
    exponent: float
    smallest: float
    fewest: float
    most: float
    trust: Trust


class Peaks(NamedTuple):
    """Greatest tension of the belt on each sheave, bending included [N]."""

    driver: Numbers
    driven: Numbers


class BeltLife(NamedTuple):
    """Life of a belt, held to what the method may say.

    passes, time: passes and running time [s]; where a flag is up they are the limit that was passed
    more_than:    true where the belt lasts longer than that
    less_than:    true where it fails sooner than that
    """

    passes: Numbers
    time: Numbers
    more_than: Mask
    less_than: Mask


def durability(section: str) -> Durability:
    """The constants of the durability method for a section.

    row of the table `durability`

    section: belt section: A to E, 3V, 5V, 8V [-]
    returns: constants of bending, mass and life, with their limits [SI units]

    Errors: `NotKnown` for a section the method has no constants for (cogged and metric narrow belts).
    Source: shigley, tables 17-16 and 17-17

    >>> round(durability("B").mass, 3), durability("B").exponent
    (0.166, 10.929)
    """
    rows = _rows()
    if section not in rows:
        raise NotKnown(f"No durability constants are published for section {section}: {cite('shigley')}, "
                       f"has them for {', '.join(rows)}.")
    return rows[section]


def covers(section: str, driver: Numbers, driven: Numbers) -> Mask:
    """Whether both sheaves are large enough for the durability constants to hold.

    d ≥ d_min, D ≥ d_min

    section: belt section: A to E, 3V, 5V, 8V [-]
    driver:  pitch diameter of the driving sheave [m], scalar or array
    driven:  pitch diameter of the driven sheave [m], scalar or array
    returns: true where `belt_life` has an answer [-], shape of the broadcast inputs

    Errors: `NotKnown` for a section without constants.
    Source: shigley, table 17-17

    >>> [bool(holds) for holds in covers("B", np.array([0.12, 0.16]), 0.3)]
    [False, True]
    """
    smallest = durability(section).smallest
    # a sheave of the very size counts, however its inches were converted
    return np.greater_equal(np.minimum(driver, driven), smallest * (1 - 1e-9))


def bending_tension(bending_constant: Numbers, diameter: Numbers) -> Numbers:
    """The tension that bending a belt round a sheave amounts to.

    Tb = Kb/d

    bending_constant: Kb of the section [N m], scalar or array
    diameter:         pitch diameter of the sheave [m], scalar or array
    returns:          tension at the outside of the bend, over that of the strand [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> round(float(bending_tension(65.08, 0.15748)), 1)
    413.3
    """
    above_zero("moment", bending_constant=bending_constant)
    above_zero("length", diameter=diameter)
    return np.divide(bending_constant, diameter)


def peak_tensions(tight: Numbers, bending_constant: Numbers, driver: Numbers, driven: Numbers) -> Peaks:
    """The two peaks of tension a belt goes through in one pass.

    T1 = F1 + Kb/d, T2 = F1 + Kb/D

    tight:            tension of the tight side, centrifugal part included [N], scalar or array
    bending_constant: Kb of the section [N m], scalar or array
    driver:           pitch diameter of the driving sheave [m], scalar or array
    driven:           pitch diameter of the driven sheave [m], scalar or array
    returns:          peak at the driving and at the driven sheave [N], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative tension and other values of zero or less.
    Source: shigley, ch. 17

    >>> [round(float(peak)) for peak in peak_tensions(254.5, 65.08, 0.1575, 0.3048)]
    [668, 468]
    """
    at_least_zero("force", tight=tight)
    return Peaks(tight + bending_tension(bending_constant, driver), tight + bending_tension(bending_constant, driven))


def passes_to_failure(driver_peak: Numbers, driven_peak: Numbers, strength: Numbers, exponent: Numbers) -> Numbers:
    """How often a belt goes round before it fails, by the bare law.

    Np = 1/((T1/K)^b + (T2/K)^b)

    driver_peak: greatest tension at the driving sheave [N], scalar or array
    driven_peak: greatest tension at the driven sheave [N], scalar or array
    strength:    K of the section [N], scalar or array
    exponent:    b of the section [-], scalar or array
    returns:     passes [-], shape of the broadcast inputs

    For workings only: what lies outside the fitted range is no advice, see `belt_life`.
    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> f"{passes_to_failure(668.0, 468.0, strength=5307.0, exponent=10.929):.1e}"
    '6.7e+09'
    """
    above_zero("force", driver_peak=driver_peak, driven_peak=driven_peak, strength=strength)
    above_zero("number", exponent=exponent)
    return 1 / (np.divide(driver_peak, strength) ** exponent + np.divide(driven_peak, strength) ** exponent)


def running_time(passes: Numbers, length: Numbers, speed: Numbers) -> Numbers:
    """How long a number of passes takes.

    t = Np L/v

    passes:  times the belt goes round [-], scalar or array
    length:  pitch length of the belt [m], scalar or array
    speed:   belt speed [m/s], scalar or array
    returns: running time [s], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> float(running_time(1e9, length=2.5, speed=25.0))
    100000000.0
    """
    above_zero("number", passes=passes)
    above_zero("length", length=length)
    above_zero("speed", speed=speed)
    return passes * np.divide(length, speed)


def belt_life(section: str, tight: Numbers, driver: Numbers, driven: Numbers, length: Numbers,
              speed: Numbers) -> BeltLife:
    """How long one belt lasts under its tight-side tension, held to what the method may say.

    t = Np L/v with Np = 1/((T1/K)^b + (T2/K)^b), T = F1 + Kb/d at each sheave

    section: belt section: A to E, 3V, 5V, 8V [-]
    tight:   tension of the tight side of one belt, centrifugal part included [N], scalar or array
    driver:  pitch diameter of the driving sheave [m], scalar or array
    driven:  pitch diameter of the driven sheave [m], scalar or array
    length:  pitch length of the belt [m], scalar or array
    speed:   belt speed [m/s], scalar or array
    returns: passes [-] and running time [s], with flags for "more than" and "less than" these

    Two sheaves, steady load. Errors: `NotKnown` for a section without constants, `OutOfRange` for a sheave below the
    smallest the constants hold for (ask `covers` first) and for values no drive has.
    Source: shigley, ch. 17

    >>> life = belt_life("B", tight=254.5, driver=0.15748, driven=0.3048, length=2.33172, speed=25.562)
    >>> f"{life.passes:.0e}", bool(life.more_than)
    ('1e+09', True)
    """
    limits = durability(section)
    allowed = covers(section, driver, driven)
    if not np.all(allowed):
        sizes = first_refused(allowed, driver, driven)
        least, small = (f"{show(size, 'length', 'si')} ({show(size, 'length', 'inch')})"
                        for size in (limits.smallest, min(sizes)))
        raise OutOfRange(f"A sheave of {small} for section {section}: the durability constants hold from {least} up "
                         f"({cite('shigley')}).")
    peaks = peak_tensions(tight, limits.bending_constant, driver, driven)
    bare = passes_to_failure(*peaks, limits.strength, limits.exponent)
    more, less = np.greater(bare, limits.most), np.less(bare, limits.fewest)
    # not a number beyond the limit made presentable: the flags turn the limit into "more than" and "less than"
    told = np.where(more, limits.most, np.where(less, limits.fewest, bare))[()]
    return BeltLife(told, running_time(told, length, speed), more, less)


@cache
def _rows() -> dict[str, Durability]:
    def number(row: Mapping[str, float | str | None], column: str) -> float:
        return cast(float, row[column])

    return {cast(str, row["section"]): Durability(
        number(row, "bending"), number(row, "mass"), number(row, "strength"), number(row, "exponent"),
        number(row, "smallest"), number(row, "fewest"), number(row, "most"), cast(Trust, row["trust"]))
        for row in load("durability").rows}
