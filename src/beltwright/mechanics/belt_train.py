"""What turns at a start and the belts between: inertias, radii, stretch, grip; and the equations they obey.

Must not import other modules of `mechanics` but `limits`, `load_torque`, `motor_feed`, `motor_torque`, `rosenbrock`.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final, Literal, NamedTuple

import numpy as np

from beltwright.errors import Infeasible, OutOfRange
from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.mechanics.load_torque import LoadTorque
from beltwright.mechanics.motor_feed import Fed
from beltwright.mechanics.motor_torque import TorqueCurve, curve_by_number, torque_at
from beltwright.mechanics.rosenbrock import Rates, Slopes, State

Which = Literal["driver", "driven"]
# speeds at which the quick answer looks
_SPEEDS: Final = 101


class Train(NamedTuple):
    """What turns, and the belts between.

    driver_inertia, driven_inertia: with their sheaves, each at its own shaft [kg m2]
    driver_radius, driven_radius:   of the pitch line [m]
    stiffness, damping: of all belts, both strands together [N/m], [N s/m]
    tension, belts, mass: static tension [N], their number [-], mass per length [kg/m], of one strand
    grip:   (R − 1)/(R + 1), R tight over slack at which the weaker sheave lets go [-]
    slips:  which sheave that is
    """

    driver_inertia: float
    driven_inertia: float
    driver_radius: float
    driven_radius: float
    stiffness: float
    damping: float
    tension: float
    belts: float
    mass: float
    grip: float
    slips: Which = "driver"


class Change(NamedTuple):
    """From a moment on [s] the machine asks for another torque; `held`: it does not move again once it stands."""

    at: float
    load: LoadTorque
    held: bool = False


def held_at(train: Train, rotation: float) -> float:
    """The greatest pull the belts hold with at a speed of the sheave that keeps its grip.

    F_h = 2 N (T − m v²) (R − 1)/(R + 1), nought where nothing presses them into the groove any more

    train:    inertias, radii and belts [SI]
    rotation: speed of the sheave that keeps its grip [rad/s]
    returns:  pull of all belts [N]

    Source: statics

    >>> round(held_at(Train(0.1, 2.0, 0.1, 0.2, 1e6, 300.0, 500.0, 4, 0.2, 0.8), 100.0), 1)
    2688.0
    """
    radius = train.driven_radius if train.slips == "driver" else train.driver_radius
    net = train.tension - train.mass * (radius * rotation) ** 2
    return 2.0 * train.belts * train.grip * max(net, 0.0)


def standing_pull(train: Train, curve: TorqueCurve, demand: LoadTorque, rotation: Numbers,
                  share: float = 1.0) -> Numbers:
    """The pull that a start asks, at a speed, of belts that neither stretch nor slip: the closed form of a start.

    F = (M J2' + L' J1)/((J1 + J2') r1), J2' = J2 (r1/r2)², L' = L r1/r2

    train:    inertias, radii and belts [SI]
    curve:    the motor's torque over its speed [N m over rad/s]
    demand:   what the machine asks for [N m over rad/s]
    rotation: speed of the motor [rad/s], scalar or array
    share:    part of the torque that the starter lets through [-]
    returns:  pull of all belts [N], shape of `rotation`

    Stretch adds to it, by a swing that a torque switched on at once makes twice as high at most.
    Source: statics

    >>> from beltwright.mechanics.motor_torque import monotone_curve
    >>> train = Train(0.1, 2.0, 0.1, 0.2, 1e6, 300.0, 500.0, 4, 0.2, 0.8)
    >>> steady = monotone_curve([0.0, 100.0], [60.0, 60.0])
    >>> round(float(standing_pull(train, steady, LoadTorque(0.0, 0.0, 0.0), 50.0)), 1)
    500.0
    """
    ratio = train.driver_radius / train.driven_radius
    far = train.driven_inertia * ratio * ratio
    asked = (demand.steady + demand.square * np.square(rotation * ratio)) * ratio
    return (share * torque_at(curve, rotation) * far + asked * train.driver_inertia) / (
        (train.driver_inertia + far) * train.driver_radius)


def standing_tension(train: Train, curve: TorqueCurve, demand: LoadTorque) -> float:
    """The least static tension that holds a start as long as belts do not stretch: the quick answer.

    T = greatest of F/(2 N g) + m v² over the speeds up to the motor's own, and of the pull that breaks the machine away

    train:   inertias, radii and belts [SI]
    curve:   the motor's torque over its speed [N m over rad/s]
    demand:  what the machine asks for [N m over rad/s]
    returns: static tension of one strand [N]

    What stretch adds comes and goes within tenths of a second.
    Source: statics

    >>> from beltwright.mechanics.motor_torque import monotone_curve
    >>> train = Train(0.1, 2.0, 0.1, 0.2, 1e6, 300.0, 500.0, 4, 1e-9, 0.8)
    >>> round(standing_tension(train, monotone_curve([0.0, 100.0], [60.0, 60.0]), LoadTorque(0.0, 0.0, 0.0)), 3)
    78.125
    """
    top = max(speed for speed, torque in zip(curve.speeds, curve.torques, strict=True) if torque >= 0.0)
    speeds = np.linspace(0.0, top, _SPEEDS)
    pull = np.abs(np.asarray(standing_pull(train, curve, demand, speeds)))
    breaks = min(demand.breakaway / train.driven_radius, float(max(curve.torques)) / train.driver_radius)
    per_pull = 1.0 / (2.0 * train.belts * train.grip)
    held = pull * per_pull + train.mass * np.square(train.driver_radius * speeds)
    return max(float(np.max(held)), breaks * per_pull)


def running_state(train: Train, curve: TorqueCurve, demand: LoadTorque) -> State:
    """A drive at its full speed: where the motor gives just what the machine asks for.

    M(ω1) = L(ω1 r1/r2) r1/r2, on the fast side of the motor's breakdown

    train:   inertias, radii and belts [SI]
    curve:   the motor's torque over its speed [N m over rad/s]
    demand:  what the machine asks for [N m over rad/s]
    returns: speeds of both shafts and stretch of the belts [rad/s, rad/s, m]

    Errors: `Infeasible` where the machine asks for more than the motor's breakdown torque, or the belts do not hold it.
    Source: statics

    >>> from beltwright.mechanics.motor_torque import monotone_curve
    >>> train = Train(0.1, 2.0, 0.1, 0.2, 1e6, 300.0, 500.0, 4, 0.2, 0.8)
    >>> curve = monotone_curve([0.0, 90.0, 100.0, 110.0], [60.0, 80.0, 0.0, -80.0])
    >>> driver, driven, stretch = running_state(train, curve, LoadTorque(0.0, 80.0, 0.0))
    >>> 90.0 < driver < 100.0, driven / driver, round(stretch * train.stiffness, 6)
    (True, 0.5, 400.0)
    """
    ratio = train.driver_radius / train.driven_radius
    torque = curve_by_number(curve)
    best = max(range(len(curve.torques)), key=curve.torques.__getitem__)
    low, high = max(curve.speeds[best], 0.0), curve.speeds[-1]

    def left(speed: float) -> float:
        return torque(speed)[0] - ratio * (demand.steady + demand.square * (speed * ratio) ** 2)

    if left(low) < 0.0:
        raise Infeasible("the machine asks for more than the motor's greatest torque: it does not run at full load")
    while high - low > 1e-12 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if left(middle) > 0.0 else (low, middle)
    pull = (demand.steady + demand.square * (low * ratio) ** 2) / train.driven_radius
    turned = low * ratio
    if pull >= held_at(train, turned if train.slips == "driver" else low):
        raise Infeasible("the belts do not hold the load at full speed: they slip before anything happens")
    return low, turned, pull / train.stiffness


def check_train(train: Train, loads: Sequence[Change]) -> None:
    """Let pass only a drive that can be.

    inertias, radii, stiffness, damping, tension, belts, mass above zero; grip up to 1; loads of zero or more, in order

    train:   inertias, radii and belts [SI]
    loads:   what the machine asks for from which moment on [N m over s]
    returns: nothing [-]

    Errors: `OutOfRange` naming what no drive has.
    Source: practice

    >>> check_train(Train(0.1, 2.0, 0.1, 0.2, 1e6, 300.0, 500.0, 4, 0.2, 0.8), [Change(0.0, LoadTorque(1.0, 1.0, 0.0))])
    """
    above_zero("inertia", driver_inertia=train.driver_inertia, driven_inertia=train.driven_inertia)
    above_zero("length", driver_radius=train.driver_radius, driven_radius=train.driven_radius)
    above_zero("stiffness", stiffness=train.stiffness)
    above_zero("number", damping=train.damping, belts=train.belts, grip=train.grip)
    above_zero("force", tension=train.tension)
    above_zero("mass per length", mass=train.mass)
    if train.grip > 1.0:
        raise OutOfRange(f"grip of {train.grip:.3f}: at 1 the slack strand is slack altogether, no belt holds more")
    if not loads or loads[0].at != 0.0 or any(a.at >= b.at for a, b in pairwise(loads)):
        raise OutOfRange("the machine's load is needed from nought on, each change later than the one before")
    for change in loads:
        at_least_zero("moment", breakaway=change.load.breakaway, steady=change.load.steady)
        at_least_zero("number", square=change.load.square)


def train_equations(train: Train, motor: Fed, demand: LoadTorque, slipping: int, still: bool) -> tuple[Rates, Slopes]:
    """The equations while the belts hold, or slip, and the machine stands, or turns.

    J1 ω1' = M − r1 F, J2 ω2' = r2 F − L; u' = w and F = K u + C w, or F = ±F_h and u' = (F − K u)/C

    train:    inertias, radii and belts [SI]
    motor:    its torque at a time and a speed, with slopes [N m]
    demand:   what the machine asks for [N m over rad/s]
    slipping: 0 while the belts hold, 1 where the driver runs ahead, -1 where it lags [-]
    still:    whether the machine stands [-]
    returns:  rates of both speeds and the stretch [rad/s2, rad/s2, m/s], and their slopes

    The load holds back as while the machine goes forward, also a hair's breadth past rest: whoever steps through time
    finds the moment at which it stands, and rates that jump there would hide it.
    Source: statics

    >>> train = Train(0.1, 2.0, 0.1, 0.2, 1e6, 300.0, 500.0, 4, 0.2, 0.8)
    >>> rates, _ = train_equations(train, lambda time, speed: (60.0, 0.0, 0.0), LoadTorque(0.0, 0.0, 0.0), 1, False)
    >>> [round(rate, 2) for rate in rates(0.0, 50.0, 0.0, 0.0032)]
    [-2600.0, 320.0, 0.0]
    """
    j1, j2, r1, r2 = train.driver_inertia, train.driven_inertia, train.driver_radius, train.driven_radius
    k, c, s = train.stiffness, train.damping, slipping
    steady, square = demand.steady, demand.square
    both = 2.0 * train.belts * train.grip
    tension, mass, by_driven = train.tension, train.mass, train.slips == "driver"
    turn = 0.0 if still else 1.0

    def holding(t: float, a: float, b: float, u: float) -> State:
        w = r1 * a - r2 * b
        pull = k * u + c * w
        asked = steady + square * b * abs(b)
        return (motor(t, a)[0] - r1 * pull) / j1, turn * (r2 * pull - asked) / j2, w

    def holding_slopes(t: float, a: float, b: float, _u: float) -> tuple[float, ...]:
        _, slope, in_time = motor(t, a)
        lag = 2.0 * square * abs(b)
        return ((slope - c * r1 * r1) / j1, c * r1 * r2 / j1, -r1 * k / j1,
                turn * c * r1 * r2 / j2, turn * (-c * r2 * r2 - lag) / j2, turn * r2 * k / j2,
                r1, -r2, 0.0, in_time / j1)

    def sliding(t: float, a: float, b: float, u: float) -> State:
        v = r2 * b if by_driven else r1 * a
        net = tension - mass * v * v
        pull = s * both * net if net > 0.0 else 0.0
        asked = steady + square * b * abs(b)
        return (motor(t, a)[0] - r1 * pull) / j1, turn * (r2 * pull - asked) / j2, (pull - k * u) / c

    def sliding_slopes(t: float, a: float, b: float, _u: float) -> tuple[float, ...]:
        _, slope, in_time = motor(t, a)
        radius, turned = (r2, b) if by_driven else (r1, a)
        v = radius * turned
        fall = -2.0 * s * both * mass * v * radius if tension > mass * v * v else 0.0
        by_a, by_b = (0.0, fall) if by_driven else (fall, 0.0)
        return ((slope - r1 * by_a) / j1, -r1 * by_b / j1, 0.0,
                turn * r2 * by_a / j2, turn * (r2 * by_b - 2.0 * square * abs(b)) / j2, 0.0,
                by_a / c, by_b / c, -k / c, in_time / j1)

    return (sliding, sliding_slopes) if s else (holding, holding_slopes)
