"""What a driven machine asks for while it starts, and the inertias that a start has to bring up to speed.

Must not import other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple, cast

import numpy as np

from beltwright.errors import InputError
from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.tables import load as load_table


class LoadTorque(NamedTuple):
    """What a machine's shaft asks for: to break away [N m], steadily [N m], and with the square of speed [N m s2]."""

    breakaway: float
    steady: float
    square: float


class Estimate(NamedTuple):
    """An inertia that nobody measured [kg m2]: least, likely and most."""

    low: Numbers
    middle: Numbers
    high: Numbers


def load_kinds() -> tuple[str, ...]:
    """The kinds of load that a start can be worked out against.

    rows of the table `load_torques`

    returns: names [-]

    Source: practice

    >>> load_kinds()[0]
    'fan'
    """
    return tuple(str(row["load"]) for row in load_table("load_torques").rows)


def load_torque(load_kind: str, torque: float, rotation: float) -> LoadTorque:
    """What a machine of that kind asks for on its way up.

    M = M_N (a + b (ω/ω_N)²), to break away M_N c; a, b, c by kind

    load_kind: kind of load, one of `load_kinds` [-]
    torque:   what it asks for at full speed, at its own shaft [N m]
    rotation: that speed [rad/s]
    returns:  the parts of its torque [N m, N m, N m s2]

    Common practice, no source: a valve shut or a belt left loaded changes it.
    Errors: `InputError` for another kind; `OutOfRange` for a negative torque or a speed of zero or less.
    Source: practice

    >>> load_torque("fan", 100.0, 50.0)
    LoadTorque(breakaway=10.0, steady=5.0, square=0.038)
    """
    at_least_zero("moment", torque=torque)
    above_zero("rotation", rotation=rotation)
    rows = load_table("load_torques").where(load=load_kind)
    if not rows:
        raise InputError(f"kind of load {load_kind!r}: one of {'; '.join(load_kinds())} is needed")
    breakaway, steady, square = (cast(float, rows[0][name]) for name in LoadTorque._fields)
    return LoadTorque(breakaway * torque, steady * torque, square * torque / rotation**2)


def sheave_inertia(diameter: Numbers, width: Numbers) -> Numbers:
    """Inertia of an iron sheave, estimated from its size.

    J = k π ρ b d⁴/32, k how full it is

    diameter: outside diameter [m], scalar or array
    width:    face width over all grooves [m], scalar or array
    returns:  inertia at its shaft [kg m2], shape of the broadcast inputs

    A disc with part of its iron left out for grooves, web and arms. An estimate.
    Errors: `OutOfRange` for values of zero or less.
    Source: practice

    >>> round(float(sheave_inertia(0.4, 0.1)), 3)
    1.086
    """
    above_zero("length", diameter=diameter, width=width)
    return _share("sheave_fullness") * np.pi * _share("iron_density") * width * np.power(diameter, 4) / 32


def wheel_inertia(wheel_mass: Numbers, wheel_diameter: Numbers) -> Numbers:
    """Inertia of a fan wheel, flywheel or rotor, estimated from its weight and size.

    J = m (k d)², k d the radius at which its mass might stand

    wheel_mass:     mass of the wheel [kg], scalar or array
    wheel_diameter: its outside diameter [m], scalar or array
    returns:  inertia at its shaft [kg m2], shape of the broadcast inputs

    Between a disc (0.354) and a rim (0.5). An estimate.
    Errors: `OutOfRange` for values of zero or less.
    Source: practice

    >>> round(float(wheel_inertia(50.0, 1.0)), 6)
    8.0
    """
    above_zero("mass", wheel_mass=wheel_mass)
    above_zero("length", wheel_diameter=wheel_diameter)
    return wheel_mass * np.square(_share("wheel_radius") * wheel_diameter)


def rotor_inertia(torque: Numbers) -> Estimate:
    """Inertia of a motor's rotor, estimated from its full-load torque.

    J = 0.035 (M/49)^1.45 kg m², half of it to twice

    torque:  full-load torque of the motor [N m], scalar or array
    returns: least, likely and most inertia [kg m2], each in the shape of `torque`

    Squirrel-cage motors in cast frames. The lighter the rotor, the more of the motor's torque goes through the belts.
    Errors: `OutOfRange` for a torque of zero or less.
    Source: practice

    >>> [round(float(each), 4) for each in rotor_inertia(49.0)]
    [0.0175, 0.035, 0.07]
    """
    above_zero("moment", torque=torque)
    middle = _share("rotor_inertia") * np.power(torque / _share("rotor_torque"), _share("rotor_power"))
    return Estimate(middle / 2, middle, middle * 2)


@cache
def _share(what: str) -> float:
    return cast(float, load_table("start_inertias").where(what=what)[0]["value"])
