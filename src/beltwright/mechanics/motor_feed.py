"""How a starter feeds a motor while it starts: all its torque, a third of it, or what voltage or frequency allow.

Must not import other modules of `mechanics` but `limits`, `motor_torque` and `starting`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, NamedTuple, TypeAlias

from beltwright.errors import InputError
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.motor_torque import TorqueCurve, curve_by_number
from beltwright.mechanics.starting import start_practice

WAYS: Final = ("straight on the line", "star-delta", "soft starter", "frequency drive")
# torque of the motor and its slopes in speed and in time, at a time and a speed
Fed: TypeAlias = Callable[[float, float], tuple[float, float, float]]


class Feed(NamedTuple):
    """A stretch of the start: how the motor is fed, for how long [s], and to which of its speeds [rad/s].

    way:   full: all its torque, times `share`; off: none; voltage: the voltage climbs from `share` to full;
           frequency: the field's speed climbs from nought
    climb: time the climb takes [s]
    limit: torque that a frequency drive keeps within [N m]
    """

    way: str
    share: float = 1.0
    climb: float = 0.0
    limit: float = 0.0
    lasts: float = math.inf
    to_speed: float = math.inf


def feeds(way: str, field: float, torque: float, ramp: float | None = None) -> tuple[Feed, ...]:
    """How a starter feeds the motor, one stretch after the other.

    star-delta: a third of the torque to 80 % of speed, a pause, all of it; soft: torque with the voltage's square

    way:     one of `WAYS` [-]
    field:   speed of the motor's field [rad/s]
    torque:  full-load torque, which a frequency drive keeps within 1.5 times [N m]
    ramp:    time of the ramp, or in star, as set; none for what is common practice [s]
    returns: the stretches, the last one without end [s]

    Star with no time set: to 80 % of the field's speed, ten seconds at most.
    Errors: `InputError` for another way; `OutOfRange` for a time of zero or less.
    Source: practice

    >>> [feed.way for feed in feeds("star-delta", 188.5, 40.0)]
    ['full', 'off', 'full']
    """
    above_zero("rotation", field=field)
    above_zero("moment", torque=torque)
    if ramp is not None:
        above_zero("short time", ramp=ramp)
    climb = start_practice("ramp") if ramp is None else ramp
    match way:
        case "straight on the line":
            return (Feed("full"),)
        case "star-delta":
            to_speed = start_practice("star_to_speed") * field if ramp is None else math.inf
            return (Feed("full", 1.0 / 3.0, lasts=climb, to_speed=to_speed),
                    Feed("off", lasts=start_practice("star_pause")), Feed("full"))
        case "soft starter":
            return (Feed("voltage", start_practice("soft_voltage"), climb, lasts=climb), Feed("full"))
        case "frequency drive":
            limit = start_practice("frequency_torque") * torque
            return (Feed("frequency", climb=climb, limit=limit, lasts=climb), Feed("frequency", limit=limit))
    raise InputError(f"way of starting {way!r}: one of {', '.join(WAYS)} is needed")


def fed_torque(curve: TorqueCurve, field: float, feed: Feed, from_when: float, build_up: float) -> Fed:
    """What the motor turns with while it is fed in one way.

    M = M(ω) (1 − exp(−(t − t0)/τ)) times the share, or times the voltage's square; by frequency M = M' (ω_f(t) − ω)

    curve:    its torque over its speed at full voltage and frequency [N m over rad/s]
    field:    speed of its field then [rad/s]
    feed:     how it is fed [-]
    from_when: from which moment on [s]
    build_up: time in which its torque builds up; 0 where it runs already [s]
    returns:  a function from time [s] and speed [rad/s] to torque [N m] and its slopes in speed and in time

    The swings of torque at mains frequency in the first tenths of a second are left out.
    Source: practice

    >>> from beltwright.mechanics.motor_torque import monotone_curve
    >>> steady = monotone_curve([0.0, 100.0], [60.0, 60.0])
    >>> fed_torque(steady, 100.0, Feed("full", 0.5), from_when=0.0, build_up=0.0)(1.0, 50.0)
    (30.0, 0.0, 0.0)
    """
    match feed.way:
        case "off":
            return lambda _time, _speed: (0.0, 0.0, 0.0)
        case "frequency":
            return _by_frequency(curve, field, feed, from_when)
        case "voltage":
            return _by_voltage(curve, feed, from_when, build_up)
    torque_of, share = curve_by_number(curve), feed.share
    if build_up == 0.0:
        return lambda _time, speed: (share * (at := torque_of(speed))[0], share * at[1], 0.0)
    rate = 1.0 / build_up

    def building(time: float, speed: float) -> tuple[float, float, float]:
        torque, slope = torque_of(speed)
        decay = math.exp(-(time - from_when) * rate)
        up = share * (1.0 - decay)
        return torque * up, slope * up, torque * share * rate * decay
    return building


def _by_voltage(curve: TorqueCurve, feed: Feed, since: float, build_up: float) -> Fed:
    torque_of, climb, rate = curve_by_number(curve), (1.0 - feed.share) / feed.climb, 1.0 / build_up

    def climbing(time: float, speed: float) -> tuple[float, float, float]:
        torque, slope = torque_of(speed)
        voltage = feed.share + climb * (time - since)
        decay = math.exp(-(time - since) * rate)
        up = voltage * voltage * (1.0 - decay)
        return torque * up, slope * up, torque * (2.0 * voltage * climb * (1.0 - decay)
                                                  + voltage * voltage * rate * decay)
    return climbing


def _by_frequency(curve: TorqueCurve, field: float, feed: Feed, since: float) -> Fed:
    """Torque by how far the motor lags behind the field it is given, as on its own steep side; limited."""
    most, steep = feed.limit, -curve_by_number(curve)(field)[1]
    climb = field / feed.climb if feed.climb else 0.0

    def following(time: float, speed: float) -> tuple[float, float, float]:
        given = climb * (time - since) if climb else field
        torque = steep * (given - speed)
        if abs(torque) > most:
            return math.copysign(most, torque), 0.0, 0.0
        return torque, -steep, steep * climb
    return following
