"""How long rolling bearings last under the pull of the belts, and what a mechanic's choices do to that.

Basic rating life after ISO 281: nine bearings in ten outlast it. The load is the radial load of one bearing (see
`shaft_load.bearing_loads`); belts put no thrust on a shaft. Grease, dirt and heat shorten lives in ways that are not
in these forms. Must not import other modules of `mechanics` but `limits` and `shaft_load`.
"""

from __future__ import annotations

from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple, cast

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, first_refused
from beltwright.mechanics.shaft_load import bearing_loads
from beltwright.tables import cite
from beltwright.tables import load as load_table
from beltwright.units import TURN, show

# ISO 281, clauses on basic rating life: p, point contact for balls and line contact for rollers
EXPONENTS: Final = MappingProxyType({"ball": 3.0, "roller": 10 / 3})
# the rating C is the load at which the rating life is this many turns
_RATED_TURNS: Final = 1e6


class LifeChange(NamedTuple):
    """By how many times the lives of the near and of the far bearing change."""

    near: Numbers
    far: Numbers


class _Weibull(NamedTuple):
    least: float
    characteristic: float
    slope: float


def rating_turns(rating: Numbers, load: Numbers, exponent: Numbers) -> Numbers:
    """Basic rating life in turns: what nine bearings in ten outlast.

    L10 = (C/P)^p million turns

    rating:   basic dynamic load rating of the bearing [N], scalar or array
    load:     radial load on the bearing [N], scalar or array
    exponent: p, 3 for ball and 10/3 for roller bearings, see `EXPONENTS` [-], scalar or array
    returns:  rating life [turns], shape of the broadcast inputs

    Steady load. Errors: `OutOfRange` for values of zero or less, and for loads above half the rating, where the law
    ends; ask `load_rated` first.
    Source: iso281

    >>> float(rating_turns(16_000.0, 2_000.0, EXPONENTS["ball"]))
    512000000.0
    """
    above_zero("force", rating=rating, load=load)
    above_zero("number", exponent=exponent)
    if not np.all(load_rated(rating, load)):
        carries, heavy = (show(value, "force", "si") for value in first_refused(load_rated(rating, load), rating, load))
        raise OutOfRange(f"A bearing rated {carries} under {heavy}: {cite('iso281')} holds up to half the rating.")
    return _RATED_TURNS * np.divide(rating, load) ** exponent


def load_rated(rating: Numbers, load: Numbers) -> Mask:
    """Whether a load is small enough for the rating life to mean anything.

    P ≤ C/2

    rating:  basic dynamic load rating of the bearing [N], scalar or array
    load:    radial load on the bearing [N], scalar or array
    returns: true where `rating_turns` and `rating_life` hold [-], shape of the broadcast inputs

    Source: iso281

    >>> bool(load_rated(16_000.0, 9_000.0))
    False
    """
    return np.less_equal(load, np.divide(rating, 2))


def rating_life(rating: Numbers, load: Numbers, exponent: Numbers, rotation: Numbers) -> Numbers:
    """Basic rating life in running time.

    L10h = L10 2π/ω, in hours 10^6/(60 n) (C/P)^p

    rating:   basic dynamic load rating of the bearing [N], scalar or array
    load:     radial load on the bearing [N], scalar or array
    exponent: p, 3 for ball and 10/3 for roller bearings, see `EXPONENTS` [-], scalar or array
    rotation: angular speed of the shaft [rad/s], scalar or array
    returns:  running time that nine bearings in ten outlast [s], shape of the broadcast inputs

    Steady load and speed. Errors: as `rating_turns`.
    Source: iso281

    >>> from beltwright.units import HOUR, RPM
    >>> round(float(rating_life(16_000.0, 2_000.0, EXPONENTS["ball"], rotation=1000 * RPM)) / HOUR)
    8533
    """
    above_zero("rotation", rotation=rotation)
    return rating_turns(rating, load, exponent) * (TURN / rotation)


def rating_needed(load: Numbers, life: Numbers, exponent: Numbers, rotation: Numbers) -> Numbers:
    """The basic dynamic load rating that gives a wanted rating life.

    C = P (L10h ω/(2π) / 10^6)^(1/p)

    load:     radial load on the bearing [N], scalar or array
    life:     wanted running time that nine bearings in ten outlast [s], scalar or array
    exponent: p, 3 for ball and 10/3 for roller bearings, see `EXPONENTS` [-], scalar or array
    rotation: angular speed of the shaft [rad/s], scalar or array
    returns:  basic dynamic load rating [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: iso281

    >>> from beltwright.units import HOUR, RPM
    >>> round(float(rating_needed(3000.0, 25_000 * HOUR, EXPONENTS["ball"], rotation=350 * RPM)), -1)
    24200.0
    """
    above_zero("force", load=load)
    above_zero("time", life=life)
    above_zero("number", exponent=exponent)
    above_zero("rotation", rotation=rotation)
    return load * (life * rotation / TURN / _RATED_TURNS) ** np.divide(1, exponent)


def reliability_factor(reliability: Numbers) -> Numbers:
    """What the rating life is multiplied by where more than nine bearings in ten must outlast it.

    Lna = a1 L10

    reliability: share of bearings that outlast the life, 0.90 to 0.99 [-], scalar or array
    returns:     a1 [-], shape of `reliability`

    Between rows of the table in a straight line. Errors: `OutOfRange` below 90 % and above 99 %; ask
    `reliability_tabled` first.
    Source: iso281

    >>> float(reliability_factor(0.95))
    0.64
    """
    shares, factors = _reliability_rows()
    if not np.all(reliability_tabled(reliability)):
        (asked,) = first_refused(reliability_tabled(reliability), reliability)
        raise OutOfRange(f"Reliability of {show(asked, 'share', 'si')}: {cite('iso281')} gives factors from "
                         f"{show(shares[0], 'share', 'si')} to {show(shares[-1], 'share', 'si')}.")
    return np.interp(reliability, shares, factors)


def reliability_tabled(reliability: Numbers) -> Mask:
    """Whether `reliability_factor` covers this share.

    0.90 ≤ S ≤ 0.99

    reliability: share of bearings that outlast the life [-], scalar or array
    returns:     true where covered [-], shape of `reliability`

    Source: iso281

    >>> bool(reliability_tabled(0.999))
    False
    """
    shares, _ = _reliability_rows()
    return np.greater_equal(reliability, shares[0]) & np.less_equal(reliability, shares[-1])


def survival(life: Numbers, rated_life: Numbers) -> Numbers:
    """The share of bearings that outlast a running time, from their rating life.

    R = exp(-((x - x0)/(θ - x0))^b), x = life/L10

    life:       running time asked about [s], scalar or array
    rated_life: basic rating life [s], scalar or array
    returns:    share that outlasts it [-], shape of the broadcast inputs

    1 below the least life x0. Errors: `OutOfRange` for a rated life of zero or less.
    Source: shigley, ch. 11

    >>> round(float(survival(25_000.0, 25_000.0)), 2)
    0.9
    """
    above_zero("time", life=life, rated_life=rated_life)
    least, characteristic, slope = _weibull()
    beyond = np.maximum(np.divide(life, rated_life) - least, 0.0)
    return np.exp(-((beyond / (characteristic - least)) ** slope))


def life_change(load_ratio: Numbers, exponent: Numbers) -> Numbers:
    """By how many times a bearing's life changes when its load does, as with belts set too tight.

    L/L' = (P'/P)^-p

    load_ratio: new load over old; 1.5 for belts half as tight again [-], scalar or array
    exponent:   p, 3 for ball and 10/3 for roller bearings, see `EXPONENTS` [-], scalar or array
    returns:    new life over old [-], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: iso281

    >>> round(float(life_change(1.5, EXPONENTS["ball"])), 2)
    0.3
    """
    above_zero("number", load_ratio=load_ratio, exponent=exponent)
    return np.divide(1, load_ratio) ** exponent


def overhang_change(overhang: Numbers, new_overhang: Numbers, bearing_span: Numbers, exponent: Numbers) -> LifeChange:
    """By how many times the two bearings' lives change when a sheave is moved along its shaft.

    near ((a + b')/(a + b))^-p, far (b'/b)^-p

    overhang:     load centre of the sheave to the near bearing, as it is [m], scalar or array
    new_overhang: the same after the move [m], scalar or array
    bearing_span: near bearing to far bearing [m], scalar or array
    exponent:     p, 3 for ball and 10/3 for roller bearings, see `EXPONENTS` [-], scalar or array
    returns:      new life over old for the near and the far bearing [-], shape of the broadcast inputs

    Same pull, no other loads on the shaft. Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> [round(float(times), 2) for times in overhang_change(0.1, 0.05, bearing_span=0.3, exponent=3.0)]
    [1.49, 8.0]
    """
    above_zero("length", overhang=overhang, new_overhang=new_overhang)
    before, after = bearing_loads(1.0, overhang, bearing_span), bearing_loads(1.0, new_overhang, bearing_span)
    return LifeChange(life_change(np.divide(after.near, before.near), exponent),
                      life_change(np.divide(after.far, before.far), exponent))


@cache
def _reliability_rows() -> tuple[tuple[float, ...], tuple[float, ...]]:
    table = load_table("bearing_reliability")
    return table.column("reliability"), table.column("factor")


@cache
def _weibull() -> _Weibull:
    row = load_table("bearing_weibull").rows[0]
    return _Weibull(*(cast(float, row[field]) for field in _Weibull._fields))
