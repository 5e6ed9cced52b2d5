"""What belts do to shafts: the pull at each sheave as a vector, what it makes of the bearings, and two rules of thumb.

A pull is given at one sheave: along the line of centres, plus towards the other shaft, and across it, plus towards the
tight strand. What a belt needs to go round, m v^2, bends back into the belt itself and never reaches the shaft, so
running pulls take the net tensions (see `friction`). Weights of sheave, shaft and rotor are left out. Must not import
other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple, cast

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.tables import load as load_table
from beltwright.units import show


class ShaftPull(NamedTuple):
    """Pull of all belts on one shaft: two components [N], their resultant [N], its direction [rad].

    along:     towards the other shaft
    across:    square to the line of centres, plus towards the tight strand
    direction: from the line of centres, plus towards the tight strand
    """

    along: Numbers
    across: Numbers
    resultant: Numbers
    direction: Numbers


class BearingLoads(NamedTuple):
    """Load on the bearing next to the sheave, in the pull's direction, and on the far one, against it [N]."""

    near: Numbers
    far: Numbers


def running_pull(net_tight: Numbers, net_slack: Numbers, wrap: Numbers, belts: Numbers) -> ShaftPull:
    """Pull on a shaft while the drive carries load, at the sheave with this wrap.

    along = N (T1 + T2) sin(θ/2), across = N (T1 - T2) cos(θ/2), R = N √(T1² + T2² - 2 T1 T2 cos θ)

    net_tight: tight-side tension less the centrifugal part, one strand [N], scalar or array
    net_slack: slack-side tension less the centrifugal part, one strand [N], scalar or array
    wrap:      arc of contact on the sheave looked at [rad], scalar or array
    belts:     number of belts [-], scalar or array
    returns:   pull along and across the line of centres and in all [N], its direction [rad]

    Both shafts feel the same pull, turned about: the wraps add up to one turn, so only the sign of `across` changes.
    Errors: `OutOfRange` for negative tensions and for a wrap or a number of belts of zero or less.
    Source: statics

    >>> round(float(running_pull(254.53, 50.91, np.pi, belts=5).resultant), 1)
    1527.2
    """
    at_least_zero("force", net_tight=net_tight, net_slack=net_slack)
    above_zero("number", belts=belts)
    _arc(wrap)
    along = belts * np.add(net_tight, net_slack) * np.sin(np.divide(wrap, 2))
    across = belts * np.subtract(net_tight, net_slack) * np.cos(np.divide(wrap, 2))
    return ShaftPull(along, across, np.hypot(along, across), np.arctan2(across, along))


def static_pull(tension: Numbers, wrap: Numbers, belts: Numbers) -> Numbers:
    """Pull on a shaft at rest, straight towards the other shaft.

    F = 2 N T sin(θ/2)

    tension: static tension of one strand, as set for new or for run-in belts [N], scalar or array
    wrap:    arc of contact on either sheave [rad], scalar or array
    belts:   number of belts [-], scalar or array
    returns: pull along the line of centres [N], shape of the broadcast inputs

    With the tension new belts are set to, it is the most the bearings have to stand at rest.
    Errors: `OutOfRange` for a tension, a wrap or a number of belts of zero or less.
    Source: gbt13575

    >>> round(float(static_pull(268.6, np.radians(151.9), belts=4)), 1)
    2084.5
    """
    above_zero("force", tension=tension)
    above_zero("number", belts=belts)
    _arc(wrap)
    return 2 * belts * tension * np.sin(np.divide(wrap, 2))


def bearing_loads(load: Numbers, overhang: Numbers, bearing_span: Numbers) -> BearingLoads:
    """What a pull on an overhung sheave makes of the two bearings behind it.

    near = F (a + b)/a in the pull's direction, far = F b/a against it

    load:         pull on the shaft at the sheave's load centre [N], scalar or array
    overhang:     load centre of the sheave to the near bearing [m], scalar or array
    bearing_span: near bearing to far bearing [m], scalar or array
    returns:      loads on the near and the far bearing [N], shape of the broadcast inputs

    Shaft stiff, bearings that do not clamp it; the load centre is the middle of the grooves in use.
    Errors: `OutOfRange` for a negative load or overhang and a bearing span of zero or less.
    Source: statics

    >>> bearing_loads(1000.0, overhang=0.1, bearing_span=0.4)
    BearingLoads(near=1250.0, far=250.0)
    """
    at_least_zero("force", load=load)
    at_least_zero("length", overhang=overhang)
    above_zero("length", bearing_span=bearing_span)
    far = load * overhang / bearing_span
    return BearingLoads(load + far, far)


def overhung_load(power: Numbers, diameter: Numbers, rotation: Numbers, location_factor: Numbers = 1.0) -> Numbers:
    """Load on an overhung shaft by the rule for gear reducers and motors, when no tension is known.

    F = 1.5 · 2 P/(ω d) · Lf, in inch units 126 000 hp · 1.5 · Lf/(d n)

    power:           power carried [W], scalar or array
    diameter:        pitch diameter of the sheave on that shaft [m], scalar or array
    rotation:        angular speed of that shaft [rad/s], scalar or array
    location_factor: the maker's allowance for where on the shaft the load sits, 1 at its middle [-], scalar or array
    returns:         overhung load [N], shape of the broadcast inputs

    The printed 126 000 is rounded down from 126 051, by 0.04 %.
    Errors: `OutOfRange` for a negative power and for other values of zero or less.
    Source: practice

    >>> round(float(overhung_load(7500.0, 0.15, 150.0)))
    1000
    """
    at_least_zero("power", power=power)
    above_zero("length", diameter=diameter)
    above_zero("rotation", rotation=rotation)
    above_zero("number", location_factor=location_factor)
    return _factor("overhung load", "V-belt") * 2 * power / (rotation * diameter) * location_factor


def bending_force(pull: Numbers) -> Numbers:
    """Force that bends the shaft, from the effective pull alone.

    F = 1.5 (T1 - T2)

    pull:    effective pull of all belts, tight less slack [N], scalar or array
    returns: force on the shaft [N], shape of `pull`

    Exact where the wrap is half a turn and the tight side pulls five times the slack side: (5 + 1)/(5 - 1).
    Errors: `OutOfRange` for a negative pull.
    Source: mott

    >>> bending_force(800.0)
    1200.0
    """
    at_least_zero("force", pull=pull)
    return _factor("bending force", "V-belt") * pull


@cache
def _factor(rule: str, drive: str) -> float:
    return cast(float, load_table("shaft_pull_factors").where(rule=rule, drive=drive)[0]["factor"])


def _arc(wrap: Numbers) -> None:
    above_zero("angle", wrap=wrap)
    if np.any(np.asarray(wrap) >= 2 * np.pi):
        raise OutOfRange(f"arc of contact of {show(float(np.max(wrap)), 'angle', 'si')}: less than 360° is needed")
