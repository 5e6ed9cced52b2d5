"""What a squirrel-cage motor turns with at every speed.

The curve runs through the points a plate's design letter or a data sheet gives: locked rotor, pull-up, breakdown, full
load, no load. How a starter feeds it is `motor_feed`'s matter. Must not import other modules of `mechanics` but
`limits` and `starting`.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import Final, NamedTuple, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import InputError, OutOfRange
from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.starting import design_b_torques, start_practice
from beltwright.tables import load
from beltwright.units import RPM, show

DESIGNS: Final = ("A", "B", "C", "D")
# mains frequency over pairs of poles, in turns a minute: 2 to 8 poles at 60 and at 50 Hz
_SYNCHRONOUS: Final = ((2, 3600.0), (2, 3000.0), (4, 1800.0), (4, 1500.0), (6, 1200.0), (6, 1000.0), (8, 900.0),
                       (8, 750.0))


class Plate(NamedTuple):
    """A motor's poles and the speed of its field [rad/s]."""

    poles: int
    synchronous: float


class Shares(NamedTuple):
    """Torques over full-load torque: held still, least on the way up, greatest."""

    locked_rotor: float
    pull_up: float
    breakdown: float


class TorqueCurve(NamedTuple):
    """A smooth curve without overshoot: speeds [rad/s], torques [N m] and slopes there [N m s]."""

    speeds: tuple[float, ...]
    torques: tuple[float, ...]
    slopes: tuple[float, ...]


def plate(rotation: float) -> Plate:
    """Poles and speed of the field of an induction motor, from its speed at full load.

    the first of 3600, 3000, 1800, 1500, 1200, 1000, 900, 750 rpm above it

    rotation: speed at full load, from the plate [rad/s]
    returns:  number of poles [-] and speed of the field [rad/s]

    2 to 8 poles on 50 or 60 Hz. A motor of high slip keeps the field it lags behind.
    Errors: `OutOfRange` for a speed that no such motor has.
    Source: statics

    >>> plate(1750 * RPM).poles, round(plate(1440 * RPM).synchronous / RPM)
    (4, 1500)
    """
    above_zero("rotation", rotation=rotation)
    above = [(rpm * RPM, poles) for poles, rpm in _SYNCHRONOUS if rotation < rpm * RPM * (1 - 1e-4)]
    if not above or rotation < 0.7 * min(above)[0]:
        raise OutOfRange(f"motor speed of {show(rotation, 'rotation', 'si')}: induction motors of 2 to 8 poles at 50 "
                         f"or 60 Hz run at full load between 525 and 3599 rpm")
    synchronous, poles = min(above)
    return Plate(poles, synchronous)


def design_torques(letter: str, power: float, rotation: float) -> Shares:
    """The least torques that a NEMA design letter promises, over full-load torque.

    locked rotor and breakdown by table; pull-up 0.7 to 1 of the locked-rotor torque by rule

    letter:   design letter A, B, C or D [-]
    power:    rated power of the motor [W]
    rotation: speed at full load [rad/s]
    returns:  locked-rotor, pull-up and breakdown torque over full-load torque [-]

    From memory. Least values at rated voltage: a real motor may pull harder. Design A by the rows of design B, which
    its breakdown exceeds. Design D pulls hardest held still.
    Errors: `InputError` for another letter; `OutOfRange` outside the tables.
    Source: nema-mg1-12

    >>> [round(share, 3) for share in design_torques("B", 7460.0, 1750 * RPM)]
    [1.65, 1.155, 2.0]
    """
    if letter not in DESIGNS:
        raise InputError(f"design letter {letter!r}: one of {', '.join(DESIGNS)} is needed")
    poles = plate(rotation).poles
    if letter in "AB":
        found = design_b_torques(power, poles)
        locked, breakdown = float(found.locked_rotor), float(found.breakdown)
    else:
        locked, breakdown = _other_designs(letter, power, poles)
    return Shares(locked, pull_up_torque(letter, locked), breakdown)


def pull_up_torque(letter: str, locked_rotor: float) -> float:
    """The least torque that a motor gives on its way up, from the torque it gives held still.

    by design letter and locked-rotor torque, rows of the table `pull_up_rules`

    letter:       design letter A, B, C or D [-]
    locked_rotor: torque held still, over full-load torque [-]
    returns:      pull-up torque over full-load torque [-]

    From memory.
    Errors: `OutOfRange` for a torque of zero or less.
    Source: nema-mg1-12

    >>> pull_up_torque("B", 1.3), round(pull_up_torque("C", 2.0), 3)
    (1.0, 1.4)
    """
    above_zero("number", locked_rotor=locked_rotor)
    for row in load("pull_up_rules").rows:
        if row["design"] == letter and locked_rotor <= cast(float, row["locked_rotor_to"]) * (1 + 1e-9):
            of_locked, of_full = row["of_locked_rotor"], row["of_full_load"]
            return locked_rotor * of_locked if isinstance(of_locked, float) else cast(float, of_full)
    raise InputError(f"design letter {letter!r}: one of {', '.join(DESIGNS)} is needed")


def torque_curve(torque: float, rotation: float, locked_rotor: float, pull_up: float, breakdown: float) -> TorqueCurve:
    """A motor's torque over its speed, through its points.

    s_b = s_N (b + √(b² − 1)), b breakdown over full-load torque; pull-up at 0.3 of the field's speed

    torque:       full-load torque [N m]
    rotation:     speed at full load [rad/s]
    locked_rotor: torque held still, over full-load torque [-]
    pull_up:      least torque on the way up, over full-load torque [-]
    breakdown:    greatest torque, over full-load torque [-]
    returns:      curve from a little backwards to past the field's speed, where the motor brakes [N m over rad/s]

    The breakdown's speed by Kloss; a motor that pulls hardest held still (design D) has no dip. Between the points a
    monotone cubic: no hump that no point asks for. Rated voltage.
    Errors: `OutOfRange` for torques that are no motor's.
    Source: kloss; the pull-up's speed is practice

    >>> curve = torque_curve(40.0, 1750 * RPM, 1.65, 1.16, 2.0)
    >>> round(float(torque_at(curve, 1750 * RPM)), 6), round(float(torque_at(curve, 0.0)), 6)
    (40.0, 66.0)
    """
    above_zero("moment", torque=torque)
    above_zero("number", locked_rotor=locked_rotor, pull_up=pull_up)
    if not math.isfinite(breakdown) or breakdown <= 1.0:
        raise OutOfRange(f"breakdown torque of {show(breakdown, 'share', 'si', digits=0)} of full-load torque: more "
                         "than 100% is needed")
    field = plate(rotation).synchronous
    slip = 1.0 - rotation / field
    peak = slip * (breakdown + math.sqrt(breakdown * breakdown - 1.0))
    dip = start_practice("pull_up_speed")
    if breakdown <= locked_rotor * (1 + 1e-9) or peak >= 1.0 - dip:
        points = [(0.0, locked_rotor), (1.0 - slip, 1.0)]
    elif pull_up < locked_rotor:
        points = [(0.0, locked_rotor), (dip, pull_up), (1.0 - peak, breakdown), (1.0 - slip, 1.0)]
    else:
        points = [(0.0, locked_rotor), (1.0 - peak, breakdown), (1.0 - slip, 1.0)]
    # thrown backwards it pulls as held still; past its field it brakes as it drove
    beyond = [(2.0 - share, -part) for share, part in reversed(points[len(points) - 2:])]
    whole = [(-1.0, points[0][1]), *points, (1.0, 0.0), *beyond]
    return monotone_curve([share * field for share, _ in whole], [part * torque for _, part in whole])


def monotone_curve(speeds: Sequence[float], torques: Sequence[float]) -> TorqueCurve:
    """A smooth curve through points that has no hump and no dip but theirs.

    cubic between the points; slopes the weighted harmonic mean of those beside, nought at a peak or dip

    speeds:  of the points, climbing [rad/s]
    torques: at them [N m]
    returns: the curve, with its slope at each point [N m over rad/s]

    Errors: `OutOfRange` for fewer than two points or speeds that do not climb.
    Source: fritsch1984

    >>> monotone_curve([0.0, 1.0, 2.0], [0.0, 4.0, 4.0]).slopes
    (4.0, 0.0, 0.0)
    """
    x, y = np.asarray(speeds, dtype=np.float64), np.asarray(torques, dtype=np.float64)
    if len(x) < 2 or len(x) != len(y) or not np.all(np.diff(x) > 0.0) or not np.all(np.isfinite(y)):
        raise OutOfRange("a curve needs two points or more, each at a greater speed than the one before")
    gap = np.diff(x)
    rise = np.diff(y) / gap
    slopes = np.concatenate(([rise[0]], np.zeros(len(x) - 2), [rise[-1]]))
    for at in range(1, len(x) - 1):
        if rise[at - 1] * rise[at] > 0.0:
            first, second = 2 * gap[at] + gap[at - 1], gap[at] + 2 * gap[at - 1]
            slopes[at] = (first + second) / (first / rise[at - 1] + second / rise[at])
    return TorqueCurve(tuple(x.tolist()), tuple(y.tolist()), tuple(slopes.tolist()))


def torque_at(curve: TorqueCurve, rotation: Numbers) -> Numbers:
    """The torque of a curve at a speed.

    cubic through the two points beside it

    curve:    torque over speed [N m over rad/s]
    rotation: speed of the motor [rad/s], scalar or array
    returns:  torque [N m], shape of `rotation`

    Errors: `OutOfRange` for a speed outside the curve.
    Source: fritsch1984

    >>> float(torque_at(monotone_curve([0.0, 1.0], [2.0, 4.0]), 0.5))
    3.0
    """
    x, y, d = (np.asarray(part) for part in curve)
    at = np.asarray(rotation, dtype=np.float64)
    if not np.all((at >= x[0]) & (at <= x[-1])):
        raise OutOfRange(f"motor speed outside its torque curve, {show(float(x[0]), 'rotation', 'si')} to "
                         f"{show(float(x[-1]), 'rotation', 'si')}")
    left = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    gap = x[left + 1] - x[left]
    s = (at - x[left]) / gap
    rise: npt.NDArray[np.float64] = y[left + 1] - y[left]
    a, b = gap * d[left] - rise, rise - gap * d[left + 1]
    return y[left] + s * rise + s * (1 - s) * (a * (1 - s) + b * s)


def curve_by_number(curve: TorqueCurve) -> Callable[[float], tuple[float, float]]:
    """The same curve for one speed at a time, with its slope: for equations that are asked ten thousand times.

    cubic through the two points beside it; level past its ends

    curve:   torque over speed [N m over rad/s]
    returns: a function from speed [rad/s] to torque and slope [N m, N m s]

    Source: fritsch1984

    >>> curve_by_number(monotone_curve([0.0, 1.0], [2.0, 4.0]))(0.5)
    (3.0, 2.0)
    """
    speeds, torques, slopes = curve
    inner = speeds[1:-1]
    parts = []
    for at in range(len(speeds) - 1):
        gap = speeds[at + 1] - speeds[at]
        rise = torques[at + 1] - torques[at]
        third = (slopes[at] + slopes[at + 1] - 2.0 * rise / gap) / gap**2
        second = (3.0 * rise / gap - 2.0 * slopes[at] - slopes[at + 1]) / gap
        parts.append((speeds[at], torques[at], slopes[at], second, third))
    least, most = speeds[0], speeds[-1]

    def torque(speed: float) -> tuple[float, float]:
        if speed < least:
            return torques[0], 0.0
        if speed > most:
            return torques[-1], 0.0
        begin, flat, slope, second, third = parts[bisect_right(inner, speed)]
        s = speed - begin
        return flat + s * (slope + s * (second + s * third)), slope + s * (2.0 * second + 3.0 * s * third)
    return torque


def _other_designs(design: str, power: float, poles: int) -> tuple[float, float]:
    rows = load("design_cd_torques").where(design=design, poles=float(poles))
    if not rows:
        listed = sorted({int(cast(float, row["poles"])) for row in load("design_cd_torques").where(design=design)})
        raise OutOfRange(f"a design {design} motor of {poles} poles: the table has {', '.join(map(str, listed))}")
    powers = [cast(float, row["power"]) for row in rows]
    if not powers[0] * (1 - 1e-9) <= power <= powers[-1] * (1 + 1e-9):
        raise OutOfRange(f"a design {design} motor of {show(power, 'power', 'si')} and {poles} poles: the table has "
                         f"{show(powers[0], 'power', 'si')} to {show(powers[-1], 'power', 'si')}")
    return (float(np.interp(power, powers, [cast(float, row["locked_rotor"]) for row in rows])),
            float(np.interp(power, powers, [cast(float, row["breakdown"]) for row in rows])))
