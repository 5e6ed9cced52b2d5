"""Starts to be worked out, and the same equations through SciPy: written apart from ours, by its stiff integrators.

Each stretch in which the same thing holds is one call; its end is one of the integrator's own events.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicHermiteSpline

from beltwright.mechanics.belt_train import Change, Train, Which
from beltwright.mechanics.load_torque import LoadTorque, load_torque
from beltwright.mechanics.motor_feed import Feed
from beltwright.mechanics.motor_torque import TorqueCurve, design_torques, plate, torque_curve
from beltwright.mechanics.run_up import Course, run_up
from beltwright.units import HORSEPOWER, RPM

BUILD_UP = 0.03


@dataclass(frozen=True)
class Start:
    """A start: what turns, what drives, what is driven."""

    train: Train
    curve: TorqueCurve
    load: LoadTorque

    def run(self, **options: object) -> Course:
        """Through ours."""
        feeding = options.pop("feeding", (Feed("full"),))
        return run_up(self.train, self.curve, feeding, BUILD_UP, (Change(0.0, self.load),), **options)  # type: ignore[arg-type]


def start(tension: float, *, kind: str = "fan", inertia: float = 12.0, power: float = 30 * HORSEPOWER,
          rpm: float = 1750.0, belts: int = 4, grip: float = 0.8, loss: float = 0.1, mass: float = 0.18,
          slips: Which = "driver", rigidity: float = 80e3, own: float = 0.25) -> Start:
    """A motor of design B straight on the line, two to one down."""
    rotation = rpm * RPM
    torque = power / rotation
    stiffness = 2 * belts * rigidity / 0.8
    swing = math.sqrt(stiffness * (0.1**2 / own + 0.2**2 / inertia))
    train = Train(own, inertia, 0.1, 0.2, stiffness, loss * stiffness / swing, tension, belts, mass, grip, slips)
    return Start(train, torque_curve(torque, rotation, *design_torques("B", power, rotation)),
                 load_torque(kind, 2 * torque, rotation / 2))


def field_of(made: Start) -> float:
    """Speed of the motor's field."""
    return plate(0.97 * made.curve.speeds[-4]).synchronous


@dataclass
class ByScipy:
    """What SciPy makes of a start: speeds and stretch at its end, slip time, heat, calls of the equations."""

    time: float
    state: np.ndarray
    slip_time: float
    heat: float
    calls: int
    lets_go: list[float]


def by_scipy(made: Start, until: float, *, method: str = "Radau", rtol: float = 1e-9,
             atol_share: float = 1e-9) -> ByScipy:
    """The same start through `solve_ivp`; slip heat rides along as a fourth unknown."""
    train, load = made.train, made.load
    motor = CubicHermiteSpline(made.curve.speeds, made.curve.torques, made.curve.slopes)
    parts = [(float(x), [float(c) for c in cs]) for x, cs in zip(motor.x[:-1], motor.c.T, strict=True)]
    inner = [x for x, _ in parts[1:]]

    def torque(t: float, w: float) -> float:
        x, (a, b, c, d) = parts[bisect_right(inner, w)]
        s = w - x
        return (1.0 - math.exp(-t / BUILD_UP)) * (((a * s + b) * s + c) * s + d)

    def held(y: np.ndarray) -> float:
        v = train.driven_radius * y[1] if train.slips == "driver" else train.driver_radius * y[0]
        return float(2 * train.belts * train.grip * max(train.tension - train.mass * v * v, 0.0))

    def rim_gap(y: np.ndarray) -> float:
        return float(train.driver_radius * y[0] - train.driven_radius * y[1])

    sign, still = 0, load.breakaway > 0.0

    def pull(y: np.ndarray) -> float:
        return sign * held(y) if sign else float(train.stiffness * y[2] + train.damping * rim_gap(y))

    def rubbing(y: np.ndarray) -> float:
        return rim_gap(y) - (sign * held(y) - float(train.stiffness * y[2])) / train.damping if sign else 0.0

    def rhs(t: float, y: np.ndarray) -> list[float]:
        f = pull(y)
        asked = math.copysign(load.steady + load.square * y[1] ** 2, y[1])
        rub = rubbing(y)
        return [(torque(t, y[0]) - train.driver_radius * f) / train.driver_inertia,
                0.0 if still else (train.driven_radius * f - asked) / train.driven_inertia, rim_gap(y) - rub, f * rub]

    def grips_no_more(_t: float, y: np.ndarray) -> float:
        return 1.0 if sign else held(y) - abs(pull(y)) + 1e-9

    def grips_again(t: float, y: np.ndarray) -> float:
        return sign * rubbing(y) if sign and t > last + 1e-6 else 1.0

    def breaks_away(_t: float, y: np.ndarray) -> float:
        return load.breakaway - train.driven_radius * pull(y) if still else 1.0

    events: tuple[Any, ...] = (grips_no_more, grips_again, breaks_away)
    for event in events:
        event.terminal, event.direction = True, -1.0
    integrate: Any = solve_ivp
    y, last, calls, slip_time = np.zeros(4), 0.0, 0, 0.0
    lets_go: list[float] = []
    top = made.curve.speeds[-4]
    scales = atol_share * np.array([top, top / 2, max(made.curve.torques) / (train.driver_radius * train.stiffness),
                                    1e3])
    while last < until:
        found = integrate(rhs, (last, until), y, method=method, rtol=rtol, atol=scales, events=events)
        calls += found.nfev
        y = found.y[:, -1]
        if sign:
            slip_time += found.t[-1] - last
        last = float(found.t[-1])
        if found.status != 1:
            break
        if len(found.t_events[0]):
            sign = 1 if pull(y) > 0.0 else -1
            lets_go.append(last)
        elif len(found.t_events[1]):
            sign = 0
        else:
            still, y[1] = False, 1e-12
    return ByScipy(last, y, slip_time, float(y[3]), calls, lets_go)


def slip_time(course: Course) -> float:
    """How long the belts rubbed in all."""
    ends = [*course.holds, course.time[-1]][:len(course.lets_go)]
    return sum(end - begin for begin, end in zip(course.lets_go, ends, strict=True))
