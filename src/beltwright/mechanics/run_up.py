"""A start in time: motor and machine brought up to speed through belts that stretch, and slip when asked for too much.

Three unknowns: both shafts' speeds ω1, ω2 and the stretch u of the belts, the rims' way apart.

    J1 ω1' = M(ω1, t) − r1 F        J2 ω2' = r2 F − L(ω2)
    holding:   u' = r1 ω1 − r2 ω2 = w,   F = K u + C w,   as long as |F| <= F_h
    slipping:  F = ±F_h,   u' = (F − K u)/C,   slip speed w − u'
    F_h = 2 N (T − m v²) (R − 1)/(R + 1), v of the sheave that keeps its grip

The moment at which the belts let go, hold again, or the machine breaks away is found, not stepped over. Must not import
other modules of `mechanics` but `limits`, `load_torque`, `motor_torque` and `rosenbrock`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from beltwright.errors import Infeasible
from beltwright.mechanics.belt_train import Change, Train, check_train, held_at, train_equations
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.motor_feed import Fed, Feed, fed_torque
from beltwright.mechanics.motor_torque import TorqueCurve
from beltwright.mechanics.rosenbrock import Rates, Slopes, State, rodas_step

# a start that is not over by then is given up [s]
LONGEST: Final = 120.0
TOLERANCE: Final = 1e-5
# settled: speeds that change by less than this share of full speed in a second
_SETTLED: Final = 1e-4
_LEAST_STEP: Final = 1e-9
_MOST_STEPS: Final = 200_000
_FOUND: Final = 1e-10


class Course(NamedTuple):
    """A start step by step, and what it comes to.

    time, driver, driven, stretch: at the end of each step [s, rad/s, rad/s, m]
    pull:      of all belts, tight less slack [N]; slip: speed at which they rub [m/s], nought while they hold
    motor, load: torques at their shafts [N m]; heat: of slip up to then [J]
    work:      of the motor; taken: by the machine; damped: in the belts' own swing [J]
    lets_go:   moments at which the belts let go, holds: at which they hold again [s]
    settled:   whether it ended because nothing changed any more
    needed:    the least static tension at which the belts would have held through the course as it ran [N]
    """

    time: tuple[float, ...]
    driver: tuple[float, ...]
    driven: tuple[float, ...]
    stretch: tuple[float, ...]
    pull: tuple[float, ...]
    slip: tuple[float, ...]
    motor: tuple[float, ...]
    load: tuple[float, ...]
    heat: tuple[float, ...]
    work: float
    taken: float
    damped: float
    lets_go: tuple[float, ...]
    holds: tuple[float, ...]
    settled: bool
    needed: float


def run_up(train: Train, curve: TorqueCurve, feeding: Sequence[Feed], build_up: float, loads: Sequence[Change],
           begin: State = (0.0, 0.0, 0.0), longest: float = LONGEST, tolerance: float = TOLERANCE) -> Course:
    """A start worked out in time until nothing changes any more.

    J1 ω1' = M − r1 F, J2 ω2' = r2 F − L, F = K u + C u' or, slipping, F_h

    train:     inertias, radii and belts [SI]
    curve:     the motor's torque over its speed [N m over rad/s]
    feeding:   how it is fed, stretch after stretch; the last one without end [-]
    build_up:  time in which its torque builds up once it is switched on [s]
    loads:     what the machine asks for from which moment on; the first from nought [N m over s]
    begin:     speeds of both shafts and stretch of the belts at the start [rad/s, rad/s, m]
    longest:   time after which it is given up [s]
    tolerance: error allowed a step, over the size of each unknown [-]
    returns:   the course, step by step [SI]

    Fixed centres: what the tight strand gains the slack one loses. One friction, at rest and rubbing; belts alike.
    Errors: `OutOfRange` for values no drive has; `Infeasible` where the steps become too short.
    Source: statics; friction as in `friction.wedge_ratio`

    >>> from beltwright.mechanics.load_torque import LoadTorque
    >>> from beltwright.mechanics.motor_torque import monotone_curve
    >>> train = Train(0.1, 2.0, 0.1, 0.2, 1e6, 300.0, 2000.0, 4, 0.2, 0.8)
    >>> steady = monotone_curve([-400.0, 400.0], [50.0, 50.0])
    >>> course = run_up(train, steady, (Feed("full"),), 0.03, (Change(0.0, LoadTorque(0.0, 0.0, 0.0)),), longest=1.0)
    >>> abs(course.driver[-1] - 50.0 * (1.0 - 0.03) / (0.1 + 2.0 / 4.0)) < 0.1, course.lets_go
    (True, ())
    """
    check_train(train, loads)
    above_zero("short time", build_up=build_up, longest=longest)
    above_zero("number", tolerance=tolerance)
    run = _Run(train, curve, build_up, tuple(feeding), tuple(loads), begin, tolerance)
    run.go(longest)
    return run.course()


class _Run:
    """The work of one start: where it stands, which equations hold, and what has been added up."""

    def __init__(self, train: Train, curve: TorqueCurve, build_up: float, feeding: tuple[Feed, ...],
                 loads: tuple[Change, ...], begin: State, tolerance: float) -> None:
        self.train, self.build_up, self.feeding, self.loads = train, build_up, feeding, loads
        self.curve = curve
        self.torque_scale = max(curve.torques)
        self.field = next(speed for speed, torque in zip(reversed(curve.speeds), reversed(curve.torques), strict=True)
                          if torque >= 0.0)
        self.time, self.state, self.tolerance = 0.0, begin, tolerance
        top = max(self.field, begin[0])
        self.scales = (top, top * train.driver_radius / train.driven_radius,
                       self.torque_scale / (train.driver_radius * train.stiffness))
        self.fed, self.fed_since, self.loaded = 0, 0.0, 0
        self.began_running = begin[0] > 0.0
        self.motor = self._motor_now()
        self.slipping, self.still = 0, self._stands(begin)
        self.rows: list[tuple[float, ...]] = []
        self.heat = self.work = self.taken = self.damped = self.needed = 0.0
        self.lets_go: list[float] = []
        self.holds: list[float] = []
        self.settled = False

    # --- what holds now ---

    def _stands(self, state: State) -> bool:
        now = self.loads[self.loaded].load
        return state[1] <= 0.0 and (now.breakaway > 0.0 or now.steady > 0.0)

    def _motor_now(self) -> Fed:
        """The motor as it is fed now: where it has its torque already, that does not build up anew."""
        going_on = self.began_running if self.fed == 0 else self.feeding[self.fed - 1].way != "off"
        return fed_torque(self.curve, self.field, self.feeding[self.fed], self.fed_since,
                          0.0 if going_on and self.feeding[self.fed].way == "full" else self.build_up)

    def equations(self) -> tuple[Rates, Slopes]:
        """The equations as things are now."""
        return train_equations(self.train, self.motor, self.loads[self.loaded].load, self.slipping, self.still)

    def held(self, state: State) -> float:
        """What the belts hold with now."""
        return held_at(self.train, state[1] if self.train.slips == "driver" else state[0])

    def pull(self, state: State) -> float:
        """What the belts pull with now."""
        train, (a, b, u) = self.train, state
        if self.slipping:
            return self.slipping * self.held(state)
        return train.stiffness * u + train.damping * (train.driver_radius * a - train.driven_radius * b)

    def rubbing(self, state: State) -> float:
        """Speed at which the belts rub now."""
        if not self.slipping:
            return 0.0
        train, (a, b, u) = self.train, state
        return (train.driver_radius * a - train.driven_radius * b
                - (self.slipping * self.held(state) - train.stiffness * u) / train.damping)

    def ahead(self, state: State) -> tuple[float, str]:
        """How far the next change of what holds is away, below nought once it has come; and which change it is."""
        train = self.train
        if self.slipping:
            nearest = self.slipping * self.rubbing(state) / (self.scales[0] * train.driver_radius), "hold"
        else:
            most = 2.0 * train.belts * train.grip * train.tension
            nearest = (self.held(state) - abs(self.pull(state))) / most + 1e-12, "let go"
        change = self.loads[self.loaded]
        if self.still:
            if not change.held:
                away = (change.load.breakaway - train.driven_radius * self.pull(state)) / self.torque_scale
                nearest = min(nearest, (away + 1e-12, "break away"))
        elif change.load.steady > 0.0 or change.load.breakaway > 0.0:
            nearest = min(nearest, (state[1] / self.scales[1] + 1e-12, "stand"))
        return min(nearest, ((self.feeding[self.fed].to_speed - state[0]) / self.field, "feed"))

    # --- going on ---

    def go(self, longest: float) -> None:
        """Go on until nothing changes any more, or the time is up."""
        step = 1e-2 * math.sqrt(min(self.train.driver_inertia, 1.0) / self.train.stiffness) + 1e-6
        rates, slopes = self.equations()
        rate = rates(self.time, *self.state)
        self._note()
        fresh = True
        for _ in range(_MOST_STEPS):
            limit = min(longest, self.fed_since + self.feeding[self.fed].lasts,
                        self.loads[self.loaded + 1].at if self.loaded + 1 < len(self.loads) else math.inf)
            last = self.time + step >= limit - _LEAST_STEP
            taken = max(limit - self.time, 0.1 * _LEAST_STEP) if last else step
            state, off, middle = rodas_step(rates, slopes, self.time, self.state, rate, taken)
            size = self._error(state, off)
            if size > 1.0 and taken > _LEAST_STEP:
                step = taken * max(0.2, 0.9 * size**-0.25)
                continue
            far, what = self.ahead(state)
            came = far < 0.0
            if came and fresh and taken > 1e-7:
                # just changed: nought is where it stands, so first see that it goes the right way
                step = taken * 0.1
                continue
            if came:
                taken, state, middle = self._found(rates, slopes, rate, taken, state, middle)
                last = False
            new_rate = rates(self.time + taken, *state)
            self._add(taken, state, middle)
            self.time, self.state = limit if last else self.time + taken, state
            step = max(taken, step if last or came else taken) * min(5.0, 0.9 * max(size, 1e-8) ** -0.25)
            rate, fresh = new_rate, False
            if came or last:
                self._note()   # torques may jump: both sides of it are on record
                self._switch(what if came else "time", limit)
                if self.time >= longest - _LEAST_STEP:
                    break
                rates, slopes = self.equations()
                rate, fresh = rates(self.time, *self.state), True
                step = min(step, 1e-3)
            self._note()
            if not fresh and self._over(rate):
                self.settled = True
                return
        else:
            raise Infeasible("the start could not be worked out: its steps became too short")
        self._note()

    def _error(self, state: State, off: State) -> float:
        worst = 0.0
        for new, error, scale in zip(state, off, self.scales, strict=True):
            worst = max(worst, abs(error) / (scale + abs(new)))
        return worst / self.tolerance if math.isfinite(worst) else math.inf

    def _found(self, rates: Rates, slopes: Slopes, rate: State, taken: float, state: State,
               middle: State) -> tuple[float, State, State]:
        """How long the step may be until the change comes, and the states there and half way: false position."""
        low, high, at_low, at_high = 0.0, taken, self.ahead(self.state)[0], self.ahead(state)[0]
        found = state, middle
        at_low, side = max(at_low, 1e-15), 0
        for _ in range(60):
            part = high - (high - low) * at_high / (at_high - at_low)
            part = min(max(part, low + 1e-3 * (high - low)), high - 1e-3 * (high - low))
            trial, _, half = rodas_step(rates, slopes, self.time, self.state, rate, part)
            away = self.ahead(trial)[0]
            if abs(away) < _FOUND:
                return part, trial, half
            if away < 0.0:
                high, at_high, found = part, away, (trial, half)
                at_low, side = at_low * (0.5 if side == 1 else 1.0), 1
            else:
                low, at_low = part, away
                at_high, side = at_high * (0.5 if side == -1 else 1.0), -1
            if high - low < 1e-13 * (1.0 + self.time):
                break
        return high, *found

    def _switch(self, what: str, limit: float) -> None:
        """What changes at this moment."""
        if what == "time":
            if limit == self.fed_since + self.feeding[self.fed].lasts:
                self._next_feed()
            if self.loaded + 1 < len(self.loads) and limit == self.loads[self.loaded + 1].at:
                self.loaded += 1
                self.still = self._stands(self.state)
            return
        what = self.ahead(self.state)[1]
        if what == "let go":
            self.slipping = 1 if self.pull(self.state) > 0.0 else -1
            self.lets_go.append(self.time)
        elif what == "hold":
            self.slipping = 0
            self.holds.append(self.time)
        elif what == "break away":
            self.still = False
            a, _, u = self.state
            self.state = (a, 1e-9 * self.scales[1], u)
        elif what == "stand":
            a, _, u = self.state
            self.state, self.still = (a, 0.0, u), True
        else:
            self._next_feed()

    def _next_feed(self) -> None:
        self.fed, self.fed_since = self.fed + 1, self.time
        self.motor = self._motor_now()

    def _over(self, rate: State) -> bool:
        """Whether nothing changes any more and nothing is to come."""
        if self.loaded + 1 < len(self.loads) or not math.isinf(self.feeding[self.fed].lasts) or self.slipping:
            return False
        if self.time - self.fed_since < 10 * self.build_up or self.time - self.loads[self.loaded].at < 0.5:
            return False
        return all(abs(each) < _SETTLED * scale for each, scale in zip(rate[:2], self.scales, strict=False)) and (
            abs(rate[2]) < _SETTLED * self.field * self.train.driver_radius)

    # --- adding up ---

    def _add(self, taken: float, state: State, mid: State) -> None:
        """Work and heat of a step by Simpson's rule."""
        total = [0.0, 0.0, 0.0, 0.0]
        for weight, time, at in ((1.0, self.time, self.state), (4.0, self.time + taken / 2, mid),
                                 (1.0, self.time + taken, state)):
            pull = self.pull(at)
            rub = self.rubbing(at)
            stretching = self.train.driver_radius * at[0] - self.train.driven_radius * at[1] - rub
            total[0] += weight * self.motor(time, at[0])[0] * at[0]
            total[1] += weight * self._asked(at[1]) * at[1]
            total[2] += weight * pull * rub
            total[3] += weight * self.train.damping * stretching * stretching
            self._need(at, pull)
        self.work += total[0] * taken / 6
        self.taken += total[1] * taken / 6
        self.heat += total[2] * taken / 6
        self.damped += total[3] * taken / 6

    def _need(self, state: State, pull: float) -> None:
        train = self.train
        v = train.driven_radius * state[1] if train.slips == "driver" else train.driver_radius * state[0]
        self.needed = max(self.needed, abs(pull) / (2.0 * train.belts * train.grip) + train.mass * v * v)

    def _asked(self, turned: float) -> float:
        """What the machine asks for at a speed; at rest as much as holds it."""
        load = self.loads[self.loaded].load
        if self.still:
            return 0.0
        return load.steady + load.square * turned * abs(turned)

    def _note(self) -> None:
        a, b, u = self.state
        pull = self.pull(self.state)
        asked = min(max(self.train.driven_radius * pull, 0.0), self.torque_scale * self.scales[0] / self.scales[1]) if (
            self.still) else self._asked(b)
        self.rows.append((self.time, a, b, u, pull, self.rubbing(self.state), self.motor(self.time, a)[0], asked,
                          self.heat))

    def course(self) -> Course:
        """What came of it."""
        time, driver, driven, stretch, pull, slip, motor, load, heat = (
            tuple(column) for column in zip(*self.rows, strict=True))
        return Course(time, driver, driven, stretch, pull, slip, motor, load, heat, self.work, self.taken,
                      self.damped, tuple(self.lets_go), tuple(self.holds), self.settled, self.needed)
