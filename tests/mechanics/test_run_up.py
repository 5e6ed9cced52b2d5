"""A start in time: against closed forms, against SciPy's stiff integrators, and for sense."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from beltwright.errors import Infeasible, InputError, OutOfRange
from beltwright.mechanics.belt_train import (
    Change,
    Train,
    Which,
    held_at,
    running_state,
    standing_pull,
    standing_tension,
)
from beltwright.mechanics.load_torque import LoadTorque, load_kinds, load_torque
from beltwright.mechanics.motor_feed import WAYS, Feed, feeds
from beltwright.mechanics.motor_torque import (
    DESIGNS,
    curve_by_number,
    design_torques,
    monotone_curve,
    torque_curve,
)
from beltwright.mechanics.rosenbrock import rodas_step
from beltwright.mechanics.run_up import Course, run_up
from beltwright.units import HORSEPOWER, RPM
from tests.mechanics.starts import BUILD_UP, Start, by_scipy, field_of, slip_time, start

FREE = LoadTorque(0.0, 0.0, 0.0)


def left_over(made: Start, course: Course) -> float:
    """Work of the motor that is found nowhere again, over all of it."""
    train = made.train
    stored = 0.5 * (train.driver_inertia * course.driver[-1]**2 + train.driven_inertia * course.driven[-1]**2
                    + train.stiffness * course.stretch[-1]**2)
    return (course.work - course.taken - course.heat[-1] - course.damped - stored) / course.work


def test_the_step_is_of_fourth_order_in_state_and_in_time() -> None:
    def rates(t: float, a: float, b: float, c: float) -> tuple[float, float, float]:
        return -a * b + math.sin(3 * t), a * c - b * b, -c * a + b

    def slopes(t: float, a: float, b: float, c: float) -> tuple[float, ...]:
        return -b, -a, 0.0, c, -2 * b, a, -c, 1.0, -a, 3 * math.cos(3 * t)

    begin = (1.0, 2.0, 0.5)
    exact = solve_ivp(lambda t, y: rates(t, *y), (0.0, 1.0), begin, method="DOP853", rtol=1e-13, atol=1e-14).y[:, -1]
    errors = []
    for parts in (20, 40):
        state = begin
        for at in range(parts):
            state, _, _ = rodas_step(rates, slopes, at / parts, state, rates(at / parts, *state), 1 / parts)
        errors.append(float(np.max(np.abs(np.array(state) - exact))))
    assert 12.0 < errors[0] / errors[1] < 20.0
    inside = []
    for step in (0.1, 0.05):
        half = solve_ivp(lambda t, y: rates(t, *y), (0.0, step / 2), begin, method="DOP853", rtol=1e-13,
                         atol=1e-15).y[:, -1]
        _, _, middle = rodas_step(rates, slopes, 0.0, begin, rates(0.0, *begin), step)
        inside.append(float(np.max(np.abs(np.array(middle) - half))))
    assert inside[0] / inside[1] > 7.0
    assert inside[1] < 1e-5


@pytest.mark.parametrize("kind", ["fan", "conveyor", "mill, started empty"])
@pytest.mark.parametrize("tension", [150.0, 250.0, 320.0, 600.0])
def test_scipy_comes_to_the_same(kind: str, tension: float) -> None:
    made = start(tension, kind=kind)
    ours, theirs = made.run(longest=2.0), by_scipy(made, 2.0)
    assert ours.driver[-1] == pytest.approx(theirs.state[0], rel=2e-5)
    assert ours.driven[-1] == pytest.approx(theirs.state[1], rel=2e-5)
    assert slip_time(ours) == pytest.approx(theirs.slip_time, rel=1e-3, abs=1e-4)
    assert ours.heat[-1] == pytest.approx(theirs.heat, rel=1e-3, abs=1e-2)
    if tension <= 250.0:
        assert ours.lets_go[0] == pytest.approx(theirs.lets_go[0], rel=1e-4)


def test_a_driven_sheave_that_slips_holds_by_the_driver_s_speed() -> None:
    made = start(250.0, slips="driven", mass=0.4)
    ours, theirs = made.run(longest=2.0), by_scipy(made, 2.0)
    assert len(ours.lets_go) >= 1
    assert ours.driven[-1] == pytest.approx(theirs.state[1], rel=2e-5)
    assert slip_time(ours) == pytest.approx(theirs.slip_time, rel=1e-3)


@given(st.floats(20.0, 200.0), st.floats(0.5, 50.0), st.floats(60.0, 2000.0))
@settings(max_examples=25, deadline=None)
def test_constant_torque_runs_up_by_its_impulse(torque: float, inertia: float, tension: float) -> None:
    """r2 J1 ω1 + r1 J2 ω2 = r2 M (t − τ (1 − exp(−t/τ))): whatever belts do, they pull as hard at both ends."""
    made = start(tension, inertia=inertia)
    steady = monotone_curve([-1000.0, 4000.0], [torque, torque])
    course = run_up(made.train, steady, (Feed("full"),), BUILD_UP, (Change(0.0, FREE),), longest=0.5)
    train = made.train
    for time, driver, driven in zip(course.time[1:], course.driver[1:], course.driven[1:], strict=True):
        given = train.driven_radius * torque * (time - BUILD_UP * (1.0 - math.exp(-time / BUILD_UP)))
        got = (train.driven_radius * train.driver_inertia * driver
               + train.driver_radius * train.driven_inertia * driven)
        assert got == pytest.approx(given, rel=1e-4, abs=1e-4 * train.driven_radius * torque)


def test_stiff_belts_that_hold_run_up_as_one_wheel() -> None:
    """t = ∫ (J1 + J2 i²) dω/(M − i L(i ω)): the run-up of a rigid drive, by quadrature."""
    made = replace(start(3000.0, rigidity=8e7), curve=start(3000.0).curve)
    ratio = made.train.driver_radius / made.train.driven_radius
    whole = made.train.driver_inertia + made.train.driven_inertia * ratio**2
    torque = curve_by_number(made.curve)
    course = made.run(longest=30.0, tolerance=1e-6)
    reached = 0.9 * field_of(made)
    ours = float(np.interp(reached, course.driver, course.time))
    rigid, _ = quad(lambda w: whole / (torque(w)[0] - ratio * (made.load.steady + made.load.square * (w * ratio)**2)),
                    0.0, reached, points=[at for at in made.curve.speeds if 0.0 < at < reached], limit=200)
    # the motor's torque builds up late by its time constant; the machine breaks away within that
    assert ours == pytest.approx(rigid + BUILD_UP, rel=2e-3)
    assert not course.lets_go
    assert np.asarray(course.driven) == pytest.approx(np.asarray(course.driver) * ratio, abs=1e-2)


def test_belts_that_slip_all_the_way_pull_as_their_grip_says() -> None:
    """Hardly any mass: both shafts gain speed steadily, and the heat is the pull times the way rubbed."""
    made = start(60.0, mass=1e-9)
    steady = monotone_curve([-1000.0, 4000.0], [120.0, 120.0])
    course = run_up(made.train, steady, (Feed("full"),), 1e-4, (Change(0.0, FREE),), longest=0.4)
    train, pull = made.train, held_at(made.train, 0.0)
    assert pull == pytest.approx(2 * 4 * 60.0 * 0.8)
    driver = (120.0 - pull * 0.1) / train.driver_inertia
    driven = pull * 0.2 / train.driven_inertia
    # from the moment on at which they let go and their stretch has settled
    first = next(at for at, time in enumerate(course.time) if course.lets_go and time > course.lets_go[0] + 0.01)
    over = course.time[-1] - course.time[first]
    assert course.driver[-1] - course.driver[first] == pytest.approx(driver * over, rel=1e-5)
    assert course.driven[-1] - course.driven[first] == pytest.approx(driven * over, rel=1e-5)
    rubbed = 0.5 * (course.slip[first] + course.slip[-1]) * over
    assert course.heat[-1] - course.heat[first] == pytest.approx(pull * rubbed, rel=1e-5)


@given(st.floats(40.0, 900.0), st.sampled_from(load_kinds()), st.floats(0.5, 40.0), st.floats(0.02, 0.4),
       st.sampled_from(WAYS))
@settings(max_examples=40, deadline=None)
def test_no_work_is_lost_and_none_made(tension: float, kind: str, inertia: float, loss: float, way: str) -> None:
    made = start(tension, kind=kind, inertia=inertia, loss=loss)
    course = made.run(feeding=feeds(way, field_of(made), 122.0, 3.0), longest=20.0)
    if course.work > 1.0:
        assert abs(left_over(made, course)) < 1e-3


@given(st.sampled_from(DESIGNS), st.sampled_from(WAYS), st.sampled_from(load_kinds()), st.integers(1, 10),
       st.floats(0.03, 0.3), st.floats(0.3, 5.0), st.floats(0.1, 100.0), st.floats(1e4, 1e6), st.floats(0.05, 0.3),
       st.floats(0.2, 6.0), st.booleans(), st.floats(0.4, 0.95), st.sampled_from(("driver", "driven")),
       st.floats(0.3, 1.6), st.none() | st.floats(0.5, 60.0))
@settings(max_examples=80, deadline=None)
def test_whatever_drive_there_is_comes_to_an_end_and_never_gets_heat_back(
        letter: str, way: str, kind: str, belts: int, radius: float, ratio: float, heavy: float, rigidity: float,
        loss: float, tight: float, fast: bool, grip: float, slips: Which, loaded: float, ramp: float | None) -> None:
    power, rotation = 30 * HORSEPOWER, 1165 * RPM
    torque = power / rotation
    curve = torque_curve(torque, rotation, *design_torques(letter, power, rotation))
    own, mass = 0.4, 0.3
    inertia = own * ratio**2 * heavy
    stiffness = 2 * belts * rigidity / 0.8
    swing = math.sqrt(stiffness * (radius**2 / own + (radius * ratio)**2 / inertia))
    tension = torque / radius / (2 * belts) * tight + (mass * (rotation * radius)**2 if fast else 0.0)
    train = Train(own, inertia, radius, radius * ratio, stiffness, loss * stiffness / swing, tension, belts, mass, grip,
                  slips)
    made = Start(train, curve, load_torque(kind, torque * ratio * loaded, rotation / ratio))
    course = made.run(feeding=feeds(way, field_of(made), torque, ramp), longest=60.0)
    assert all(math.isfinite(number) for number in (course.driver[-1], course.driven[-1], course.heat[-1]))
    most = max(course.heat[-1], 1.0)
    assert all(after >= before - 1e-6 * most for before, after in pairwise(course.heat))
    assert len(course.lets_go) - len(course.holds) in (0, 1)
    assert all(begin <= end for begin, end in zip(course.lets_go, course.holds, strict=False))
    # work of a motor that never turns is next to nothing: held against what its rotor could hold
    assert abs(left_over(made, course)) * course.work < 1e-3 * course.work + 1e-5 * own * rotation**2


@given(st.floats(80.0, 500.0), st.floats(1.02, 3.0), st.sampled_from(("fan", "conveyor", "steady torque")),
       st.floats(1.0, 30.0))
@settings(max_examples=40, deadline=None)
def test_more_tension_never_slips_longer(tension: float, more: float, kind: str, inertia: float) -> None:
    slack, tight = (start(each, kind=kind, inertia=inertia).run(longest=30.0)
                    for each in (tension, tension * more))
    assert slip_time(tight) <= slip_time(slack) * (1 + 1e-3) + 2e-3
    if slack.settled:   # belts that slip to the end and hold with more pull make more heat until somebody stops them
        assert tight.heat[-1] <= slack.heat[-1] * (1 + 1e-3) + 1e-1


@given(st.sampled_from(load_kinds()), st.floats(1.0, 40.0), st.sampled_from(WAYS))
@settings(max_examples=25, deadline=None)
def test_the_least_tension_holds_and_a_little_less_does_not(kind: str, inertia: float, way: str) -> None:
    def run(tension: float) -> Course:
        made = start(tension, kind=kind, inertia=inertia)
        return made.run(feeding=feeds(way, field_of(made), 122.0, 4.0), longest=60.0)

    needed = run(1e6).needed
    assert not run(needed * 1.003).lets_go
    assert run(needed * 0.99).lets_go


def test_the_closed_form_without_stretch_is_the_floor_of_what_a_start_asks() -> None:
    for kind in load_kinds():
        made = start(1e6, kind=kind)
        course = made.run()
        speeds = np.linspace(0.0, field_of(made), 401)
        standing = float(np.max(standing_pull(made.train, made.curve, made.load, speeds)))
        assert max(course.pull) >= standing * 0.999
        assert max(course.pull) <= 2.0 * standing
        assert standing_tension(made.train, made.curve, made.load) <= course.needed * 1.001


def test_a_machine_that_asks_for_too_much_stands_and_the_motor_with_it() -> None:
    made = start(1e4, kind="conveyor")
    course = replace(made, load=LoadTorque(2000.0, 1500.0, 0.0)).run(longest=10.0)
    assert course.settled
    assert max(course.driven) == 0.0
    assert abs(course.driver[-1]) < 1e-3
    slipping = replace(start(40.0, kind="conveyor"), load=LoadTorque(2000.0, 1500.0, 0.0)).run(longest=5.0)
    assert not slipping.settled
    assert max(slipping.driven) == 0.0
    assert slipping.driver[-1] > 0.9 * field_of(made)


def test_star_delta_changes_over_at_its_speed_and_pulls_a_third_before() -> None:
    made = start(1e4, inertia=3.0, kind="mill, started empty")
    course = made.run(feeding=feeds("star-delta", field_of(made), 122.0))
    off = [at for at, torque in enumerate(course.motor) if torque == 0.0 and course.time[at] > 0.0]
    assert course.driver[off[0]] == pytest.approx(0.8 * field_of(made), rel=2e-2)
    star = max(course.motor[:off[0]])
    torque = curve_by_number(made.curve)
    assert star <= max(made.curve.torques) / 3 * (1 + 1e-9)
    assert star == pytest.approx(max(torque(w)[0] for w in course.driver[:off[0]]) / 3, rel=1e-2)
    gentle = made.run(feeding=feeds("frequency drive", field_of(made), 122.0, 8.0))
    assert gentle.needed < min(course.needed, made.run().needed)


def test_a_jam_stops_the_machine_and_the_belts_slip_on() -> None:
    made = start(400.0)
    running = running_state(made.train, made.curve, made.load)
    brake = made.train.driven_inertia * running[1] / 0.2 + 400.0
    course = run_up(made.train, made.curve, (Feed("full"),), BUILD_UP,
                    (Change(0.0, made.load), Change(0.1, LoadTorque(brake, brake, 0.0), held=True)),
                    running, longest=2.0)
    assert course.driven[-1] == 0.0
    stood = next(time for time, driven in zip(course.time, course.driven, strict=True) if driven == 0.0)
    assert 0.25 < stood < 0.45
    assert len(course.lets_go) >= 1
    before = course.driver[0]
    assert all(abs(driver - before) < 1e-3 for time, driver in zip(course.time, course.driver, strict=True)
               if time <= 0.1)


@pytest.mark.parametrize(("spoiled", "said"), [
    ({"driver_inertia": 0.0}, "driver inertia"), ({"driven_inertia": -1.0}, "driven inertia"),
    ({"stiffness": math.nan}, "stiffness"), ({"damping": 0.0}, "damping"), ({"tension": 0.0}, "tension"),
    ({"mass": 0.0}, "mass"), ({"belts": 0}, "belts"), ({"grip": 1.2}, "grip"), ({"driver_radius": math.inf}, "radius"),
])
def test_what_no_drive_has_is_refused(spoiled: dict[str, float], said: str) -> None:
    made = start(400.0)
    with pytest.raises(OutOfRange, match=said):
        replace(made, train=made.train._replace(**spoiled)).run()  # type: ignore[arg-type]


def test_loads_out_of_order_other_ways_and_a_load_past_the_motor_are_refused() -> None:
    made = start(400.0)
    with pytest.raises(OutOfRange, match="from nought on"):
        run_up(made.train, made.curve, (Feed("full"),), BUILD_UP, (Change(1.0, made.load),))
    with pytest.raises(OutOfRange, match="breakaway"):
        run_up(made.train, made.curve, (Feed("full"),), BUILD_UP, (Change(0.0, LoadTorque(-1.0, 0.0, 0.0)),))
    with pytest.raises(InputError, match="straight on the line"):
        feeds("by hand", 188.0, 40.0)
    with pytest.raises(Infeasible, match="greatest torque"):
        running_state(made.train, made.curve, LoadTorque(0.0, 900.0, 0.0))
    with pytest.raises(Infeasible, match="slip before"):
        running_state(start(60.0).train, made.curve, made.load)
