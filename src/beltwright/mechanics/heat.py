"""Heat: what belts, grooves, bearings and the room may have, what too much of it costs in belt life, what slip makes.

Two halving rules are in print, one by the belt's temperature (per 10 K), one by the room's (per 20 K). They say the
same thing twice, since 20 K more in the room is 10 K more in the belt; used together, or with the wrong temperature,
they double or halve the answer. So each is a function of its own and takes its temperature by name only. Neither
claims a longer life below its base. Must not import other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple, cast

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.tables import load
from beltwright.units import show


class Rise(NamedTuple):
    """Least and most a temperature is expected to stand above the room's."""

    low: Numbers
    high: Numbers


def runs_cool(belt_temperature: Numbers, room_temperature: Numbers) -> Mask:
    """Whether a drive runs at a good temperature.

    belt <= 60 degC (140 degF) while the room < 43 degC (110 degF)

    belt_temperature: temperature of the running belt [degC], scalar or array
    room_temperature: temperature of the air round the drive [degC], scalar or array
    returns:          true where it does; never in a hotter room, for which nothing is printed [-], shape of the inputs

    Source: infrared-tip

    >>> bool(runs_cool(55.0, 25.0)), bool(runs_cool(55.0, 45.0))
    (True, False)
    """
    return ((np.asarray(belt_temperature) <= _limit("belt", "good running"))
            & (np.asarray(room_temperature) < _limit("room", "good running")))


def room_usable(room_temperature: Numbers) -> Mask:
    """Whether standard belts may be used in a room at all.

    about -34 degC to 54 degC (-30 degF to 130 degF), the stricter of the figures in print

    room_temperature: temperature of the air round the drive [degC], scalar or array
    returns:          true where they may [-], shape of `room_temperature`

    The same article goes to 71 degC (160 degF) at most.
    Source: shepherd1992

    >>> [bool(usable) for usable in room_usable(np.array([-40.0, 20.0, 60.0]))]
    [False, True, False]
    """
    row = load("temperature_limits").where(part="room", name="usable")[0]
    low, high = cast(float, row["low_degC"]), cast(float, row["high_degC"])
    return (np.asarray(room_temperature) >= low) & (np.asarray(room_temperature) <= high)


def too_hot(belt_temperature: Numbers) -> Mask:
    """Whether a belt is hotter than a standard compound stands.

    belt > 85 degC (185 degF)

    belt_temperature: temperature of the running belt [degC], scalar or array
    returns:          true where it is [-], shape of `belt_temperature`

    From memory, not verified; ethylene-propylene compounds stand some 110 degC.
    Source: practice

    >>> bool(too_hot(85.0)), bool(too_hot(86.0))
    (False, True)
    """
    return np.asarray(belt_temperature) > _limit("belt", "hard limit")


@cache
def _limit(part: str, name: str) -> float:
    return cast(float, load("temperature_limits").where(part=part, name=name)[0]["high_degC"])


def belt_rule_holds(*, belt_temperature: Numbers) -> Mask:
    """Whether the halving rule by belt temperature may be asked: not above the hard limit of the compound.

    belt <= 85 degC

    belt_temperature: temperature of the running belt [degC], scalar or array
    returns:          true where `life_by_belt_heat` has an answer [-], shape of `belt_temperature`

    Source: practice

    >>> bool(belt_rule_holds(belt_temperature=90.0))
    False
    """
    return np.asarray(belt_temperature) <= _rule("belt")[2]


def room_rule_holds(*, room_temperature: Numbers) -> Mask:
    """Whether the halving rule by room temperature may be asked: not above what any print allows a room.

    room <= 71 degC

    room_temperature: prolonged temperature of the air round the drive [degC], scalar or array
    returns:          true where `life_by_room_heat` has an answer [-], shape of `room_temperature`

    Source: shepherd1992

    >>> bool(room_rule_holds(room_temperature=50.0))
    True
    """
    return np.asarray(room_temperature) <= _rule("room")[2]


def life_by_belt_heat(*, belt_temperature: Numbers) -> Numbers:
    """What is left of a belt's life at the temperature of the belt: half for each 10 K above 60 degC.

    0.5^((T - 60)/10), 1 up to 60 degC

    belt_temperature: temperature of the running belt, over most of its time [degC], scalar or array
    returns:          share of the life at 60 degC [-], shape of `belt_temperature`

    Not together with `life_by_room_heat`: both say the same thing. A cool belt earns no extra life.
    Errors: `OutOfRange` above 85 degC (ask `belt_rule_holds` first).
    Source: infrared-tip

    >>> float(life_by_belt_heat(belt_temperature=70.0)), float(life_by_belt_heat(belt_temperature=40.0))
    (0.5, 1.0)
    """
    return _halved("belt", belt_temperature, belt_rule_holds(belt_temperature=belt_temperature))


def life_by_room_heat(*, room_temperature: Numbers) -> Numbers:
    """What is left of a belt's life in a hot room: half for each 20 K above 43 degC.

    0.5^((T - 43)/20), 1 up to 43 degC

    room_temperature: prolonged temperature of the air round the drive [degC], scalar or array
    returns:          share of the life in a room of 43 degC [-], shape of `room_temperature`

    The print gives the halving; the base is derived, the room in which a good drive keeps its belts at 60 degC.
    Not together with `life_by_belt_heat`: both say the same thing. A cool room earns no extra life.
    Errors: `OutOfRange` above 71 degC (ask `room_rule_holds` first).
    Source: shepherd1992

    >>> round(float(life_by_room_heat(room_temperature=63.0)), 3), float(life_by_room_heat(room_temperature=20.0))
    (0.5, 1.0)
    """
    return _halved("room", room_temperature, room_rule_holds(room_temperature=room_temperature))


def _halved(form: str, temperature: Numbers, holds: Mask) -> Numbers:
    base, each, highest = _rule(form)
    if not np.all(holds):
        worst = show(float(np.max(temperature)), "temperature", "si")
        raise OutOfRange(f"{form} at {worst}: the halving rule of belt life ends at "
                         f"{show(highest, 'temperature', 'si')}; above it belts do not last")
    return 0.5 ** (np.maximum(np.asarray(temperature) - base, 0.0) / each)


@cache
def _rule(form: str) -> tuple[float, float, float]:
    row = load("heat_life").where(form=form)[0]
    return cast("tuple[float, float, float]", (row["base_degC"], row["halves_each_K"], row["highest_degC"]))


def sheave_area(outside: Numbers, width: Numbers) -> Numbers:
    """The surface by which a sheave gives its heat to the air: both faces and the rim.

    A = pi d^2/2 + pi d B

    outside: outside diameter [m], scalar or array
    width:   face width over all grooves [m], scalar or array
    returns: surface [m2], shape of the broadcast inputs

    Spokes, hub and what the belts cover left out, which cancel roughly.
    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> round(float(sheave_area(0.2, 0.1)), 4)
    0.1257
    """
    above_zero("length", outside=outside, width=width)
    return np.pi * outside * (0.5 * outside + width)


def belts_area(length: Numbers, belts: Numbers, top_width: Numbers, thickness: Numbers) -> Numbers:
    """The surface by which the belts themselves give their heat to the air.

    A = 2 (b + h) L N

    length:    belt length [m], scalar or array
    belts:     number of belts [-], scalar or array
    top_width: width of the section at its top [m], scalar or array
    thickness: height of the section [m], scalar or array
    returns:   surface [m2], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> round(belts_area(2.0, 3, top_width=0.017, thickness=0.011), 3)
    0.336
    """
    above_zero("length", length=length, top_width=top_width, thickness=thickness)
    above_zero("number", belts=belts)
    return 2.0 * (top_width + thickness) * length * belts


def expected_rise(lost_power: Numbers, area: Numbers) -> Rise:
    """How far above the room lost power should warm the surface it leaves by: an estimate, for the order of size only.

    dT = P_L / (h A), h from 60 down to 15 W/(m2 K)

    lost_power: power turned into heat there [W], scalar or array
    area:       surface that gives it to the air, sheaves and belts it reaches together [m2], scalar or array
    returns:    least and most rise over the room [K], each in the shape of the broadcast inputs

    Steady state, after an hour at one load. It tells whether the heat found can come from slip at all, not how much
    slip there is: measure the speeds for that. Common practice, no source.
    Errors: `OutOfRange` for a negative power or a surface of zero or less.
    Source: practice

    >>> expected_rise(300.0, 0.5)
    Rise(low=10.0, high=40.0)
    """
    at_least_zero("power", lost_power=lost_power)
    above_zero("area", area=area)
    row = load("convection").rows[0]
    slow, fast = cast(float, row["low_W_m2K"]), cast(float, row["high_W_m2K"])
    return Rise(lost_power / (fast * area), lost_power / (slow * area))
