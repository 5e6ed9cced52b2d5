"""What a motor turns with: its curve against SciPy's monotone cubic and its points, plates, design letters, feeds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from beltwright.errors import InputError, OutOfRange
from beltwright.mechanics import load_torque, motor_feed, motor_torque
from beltwright.tables import load
from beltwright.units import HORSEPOWER, RPM


@given(st.lists(st.floats(-500.0, 500.0).map(lambda torque: round(torque, 3)), min_size=3, max_size=8))
def test_the_curve_is_the_monotone_cubic_inside(torques: list[float]) -> None:
    speeds = [float(at * at + 3 * at) for at in range(len(torques))]
    ours = motor_torque.monotone_curve(speeds, torques)
    theirs = PchipInterpolator(speeds, torques)
    inside = np.linspace(speeds[1], speeds[-2], 50)
    # the first and last stretch differ: SciPy bends its ends, ours leave them straight
    assert motor_torque.torque_at(ours, inside) == pytest.approx(theirs(inside), rel=1e-9, abs=1e-9)
    by_number = motor_torque.curve_by_number(ours)
    for speed in inside:
        assert by_number(float(speed))[0] == pytest.approx(float(motor_torque.torque_at(ours, speed)), rel=1e-9,
                                                           abs=1e-9)
        near = 1e-6
        slope = (by_number(float(speed) + near)[0] - by_number(float(speed) - near)[0]) / (2 * near)
        assert by_number(float(speed))[1] == pytest.approx(slope, rel=1e-3, abs=1e-3)


@pytest.mark.parametrize("letter", motor_torque.DESIGNS)
@pytest.mark.parametrize(("horsepower", "rpm"), [(5, 1740), (30, 1165), (100, 1775), (15, 870)])
def test_the_curve_goes_through_what_the_letter_promises(letter: str, horsepower: float, rpm: float) -> None:
    power, rotation = horsepower * HORSEPOWER, rpm * RPM
    shares = motor_torque.design_torques(letter, power, rotation)
    curve = motor_torque.torque_curve(100.0, rotation, *shares)
    field = motor_torque.plate(rotation).synchronous
    driving = np.linspace(0.0, field, 2001)
    torque = np.asarray(motor_torque.torque_at(curve, driving))
    assert float(torque[0]) == pytest.approx(100 * shares.locked_rotor)
    assert float(np.max(torque)) == pytest.approx(100 * max(shares.breakdown, shares.locked_rotor), rel=1e-4)
    assert float(motor_torque.torque_at(curve, rotation)) == pytest.approx(100.0)
    assert float(torque[-1]) == pytest.approx(0.0, abs=1e-9)
    assert np.all(torque[driving < rotation] > 100 * min(0.999, shares.pull_up * 0.999))
    # as a generator it brakes as hard as it drove
    assert float(motor_torque.torque_at(curve, 2 * field - rotation)) == pytest.approx(-100.0)


@given(st.floats(1.2, 4.0), st.floats(0.005, 0.05))
def test_breakdown_lies_where_kloss_has_it(breakdown: float, slip: float) -> None:
    curve = motor_torque.torque_curve(1.0, 1800 * RPM * (1 - slip), 0.9, 0.8, breakdown)
    peak = curve.speeds[int(np.argmax(curve.torques))] / (1800 * RPM)
    by_root = brentq(lambda s: 2 * breakdown / (slip / s + s / slip) - 1.0, slip, 1.0)
    assert 1.0 - peak == pytest.approx(by_root, rel=1e-9)


@pytest.mark.parametrize(("rpm", "poles", "field"), [
    (3550, 2, 3600), (2930, 2, 3000), (1760, 4, 1800), (1455, 4, 1500), (1170, 6, 1200), (975, 6, 1000), (880, 8, 900),
    (730, 8, 750), (1660, 4, 1800),
])
def test_plates_tell_poles_and_field(rpm: float, poles: int, field: float) -> None:
    found = motor_torque.plate(rpm * RPM)
    assert found.poles == poles
    assert found.synchronous / RPM == pytest.approx(field)


def test_design_c_and_d_keep_within_what_the_motor_guide_allows_and_fall_with_size() -> None:
    rows = load("design_cd_torques").rows
    assert load("design_cd_torques").trust == "memory"
    assert {row["locked_rotor"] for row in rows if row["design"] == "D"} == {2.75}
    for poles in (4.0, 6.0, 8.0):
        shares = [float(row["locked_rotor"]) for row in rows  # type: ignore[arg-type]
                  if row["design"] == "C" and row["poles"] == poles]
        assert shares == sorted(shares, reverse=True)
        assert 2.0 <= min(shares) <= max(shares) <= 2.85


def test_a_frequency_drive_holds_its_torque_and_follows_its_ramp() -> None:
    curve = motor_torque.torque_curve(40.0, 1750 * RPM, 1.65, 1.16, 2.0)
    field = 1800 * RPM
    ramp, after = motor_feed.feeds("frequency drive", field, 40.0, 5.0)
    torque = motor_feed.fed_torque(curve, field, ramp, 0.0, 0.03)
    assert torque(2.5, 0.0)[0] == pytest.approx(60.0)
    assert torque(2.5, field)[0] == pytest.approx(-60.0)
    assert torque(2.5, field / 2)[0] == pytest.approx(0.0, abs=1e-9)
    value, slope, in_time = torque(2.5, field / 2 - 1.0)
    assert (torque(2.5 + 1e-6, field / 2 - 1.0)[0] - value) / 1e-6 == pytest.approx(in_time, rel=1e-4)
    assert value == pytest.approx(-slope)
    assert math.isinf(after.lasts)


@given(st.floats(0.05, 9.9), st.floats(0.0, 180.0))
def test_a_voltage_ramp_s_slopes_are_its_own(time: float, speed: float) -> None:
    curve = motor_torque.torque_curve(40.0, 1750 * RPM, 1.65, 1.16, 2.0)
    ramp, _ = motor_feed.feeds("soft starter", 1800 * RPM, 40.0)
    torque = motor_feed.fed_torque(curve, 1800 * RPM, ramp, 0.0, 0.03)
    near = 1e-6
    value, slope, in_time = torque(time, speed)
    assert (torque(time + near, speed)[0] - torque(time - near, speed)[0]) / (2 * near) == pytest.approx(
        in_time, rel=1e-3, abs=1e-4)
    assert (torque(time, speed + near)[0] - torque(time, speed - near)[0]) / (2 * near) == pytest.approx(
        slope, rel=1e-3, abs=1e-3)
    assert value <= float(motor_torque.torque_at(curve, speed)) * (0.4 + 0.06 * time) ** 2 * (1 + 1e-9)


@pytest.mark.parametrize(("refused", "error", "said"), [
    (lambda: motor_torque.plate(400 * RPM), OutOfRange, "525 and 3599 rpm"),
    (lambda: motor_torque.plate(3600 * RPM), OutOfRange, "525 and 3599 rpm"),
    (lambda: motor_torque.design_torques("E", 7e3, 1750 * RPM), InputError, "A, B, C, D"),
    (lambda: motor_torque.design_torques("C", 7e3, 3500 * RPM), OutOfRange, "4, 6, 8"),
    (lambda: motor_torque.design_torques("D", 500e3, 1750 * RPM), OutOfRange, "111.85 kW"),
    (lambda: motor_torque.torque_curve(40.0, 1750 * RPM, 1.6, 1.2, 0.9), OutOfRange, "more than 100%"),
    (lambda: motor_torque.torque_at(motor_torque.monotone_curve([0.0, 1.0], [1.0, 1.0]), 2.0), OutOfRange, "outside"),
    (lambda: motor_torque.monotone_curve([0.0, 0.0], [1.0, 1.0]), OutOfRange, "greater speed"),
    (lambda: load_torque.load_torque("moon", 1.0, 1.0), InputError, "fan; centrifugal pump"),
    (lambda: load_torque.load_torque("fan", -1.0, 1.0), OutOfRange, "torque"),
    (lambda: load_torque.wheel_inertia(0.0, 1.0), OutOfRange, "mass"),
])
def test_what_no_motor_or_machine_has_is_refused(refused: object, error: type[Exception], said: str) -> None:
    assert callable(refused)
    with pytest.raises(error, match=said):
        refused()


def test_a_load_asks_at_full_speed_for_what_it_was_given_or_less() -> None:
    for kind in load_torque.load_kinds():
        asked = load_torque.load_torque(kind, 80.0, 90.0)
        full = asked.steady + asked.square * 90.0**2
        assert full <= 80.0 * (1 + 1e-12)
        assert kind.endswith("empty") or "compressor" in kind or full == pytest.approx(80.0)


def test_inertias_of_wheels_lie_between_disc_and_rim_and_rotors_within_their_doubt() -> None:
    assert 0.125 < float(load_torque.wheel_inertia(1.0, 1.0)) < 0.25
    low, middle, high = load_torque.rotor_inertia(np.array([7.0, 49.0, 480.0]))
    assert np.all(low < middle)
    assert np.all(middle < high)
    # a solid iron disc is the most a sheave can be
    disc = math.pi / 32 * 7200 * 0.1 * 0.4**4
    assert float(load_torque.sheave_inertia(0.4, 0.1)) < disc
