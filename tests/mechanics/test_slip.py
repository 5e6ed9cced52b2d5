"""Slip and what it costs: a drive made to slip by a known share, propagation by a second engine, power balances."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from beltwright.errors import OutOfRange
from beltwright.mechanics.geometry import driven_rotation as driven_without_slip
from beltwright.mechanics.slip import (
    believable,
    belt_efficiency,
    energy_saved,
    measured_slip,
    money,
    needs_setting,
    normal_creep,
    power_at_speed,
    power_lost,
    slip_since,
    slip_spread,
    yearly_energy,
)
from beltwright.tables import cite, load
from beltwright.units import HOUR

sizes = st.floats(0.05, 1.5)
speeds = st.floats(5.0, 400.0)
small = st.floats(0.0, 0.3)


@given(speeds, sizes, sizes, small)
def test_a_drive_made_to_slip_shows_that_slip(rotation: float, driver: float, driven: float, slip: float) -> None:
    """Speed-up and slow-down drives alike: the lag is always of the driven side."""
    lagging = driven_without_slip(driver, driven, rotation) * (1 - slip)
    assert measured_slip(rotation, lagging, driver, driven) == pytest.approx(slip, abs=1e-12)


@given(speeds, speeds, sizes, sizes, *[st.floats(1e-5, 0.02)] * 4)
def test_slip_spread_agrees_with_a_second_engine(
        w1: float, w2: float, d: float, D: float, a: float, b: float, c: float, e: float) -> None:
    oracle = 1 - ufloat(w2, b * w2) * ufloat(D, e * D) / (ufloat(w1, a * w1) * ufloat(d, c * d))
    ours = slip_spread(w1, w2, d, D, driver_rotation_uncertainty=a * w1, driven_rotation_uncertainty=b * w2,
                       driver_uncertainty=c * d, driven_uncertainty=e * D)
    assert ours.uncertainty == pytest.approx(oracle.std_dev)


@given(speeds, sizes, sizes, small, small, st.floats(0.9, 1.1))
def test_slip_since_the_last_setting_does_not_need_the_diameters(
        rotation: float, driver: float, driven: float, then: float, more: float, motor: float) -> None:
    """The motor's own speed may have changed with the load in between."""
    set_speed = driven_without_slip(driver, driven, rotation) * (1 - then)
    now = set_speed * motor * (1 - more)
    assert slip_since(rotation * motor, now, rotation, set_speed) == pytest.approx(more, abs=1e-12)
    both = measured_slip(rotation * motor, now, driver, driven)
    assert both == pytest.approx(1 - (1 - then) * (1 - more))


def test_limits_split_slip_into_normal_watch_and_set_again() -> None:
    slip = np.array([0.0, 0.02, 0.021, 0.03, 0.031])
    assert list(np.asarray(normal_creep(slip))) == [True, True, False, False, False]
    assert list(np.asarray(needs_setting(slip))) == [False, False, False, False, True]
    assert not np.any(np.asarray(normal_creep(slip)) & np.asarray(needs_setting(slip)))


def test_a_driven_sheave_ahead_of_its_belt_is_doubted() -> None:
    assert list(np.asarray(believable(np.array([-0.02, -0.004, 0.5, 1.0]), 0.005))) == [False, True, True, False]


@given(st.floats(1e3, 5e5), st.floats(0.9, 1.0), small)
def test_power_in_is_power_out_and_heat(power: float, torque_part: float, slip: float) -> None:
    """Torque and speed at the driven shaft, worked out apart, give what the efficiency says."""
    torque_in, speed_in = power / 150.0, 150.0
    out = torque_in * torque_part * speed_in * (1 - slip)
    eta = belt_efficiency(torque_part, slip)
    assert power * eta == pytest.approx(out)
    assert power_lost(power, eta) == pytest.approx(power - out, abs=1e-9 * power)


@given(st.floats(1e3, 5e5), st.floats(0.5, 0.99), st.floats(0.5, 0.99))
def test_saving_is_the_difference_of_two_years_at_equal_output(power: float, before: float, after: float) -> None:
    """The machine takes the same power both years; the belts' input differs."""
    hours = 4000 * HOUR
    saved = power / before * hours - power / after * hours
    assert energy_saved(power / before * hours, before, after) == pytest.approx(saved, abs=1e-9 * power * hours)


@given(st.integers(0, 20), st.integers(0, 20), st.floats(0.1, 50.0), st.floats(1.0, 100.0))
def test_a_fan_that_slips_less_takes_more(before: int, after: int, resistance: float, flow: float) -> None:
    """Flow goes with the fan's speed, pressure with the square of flow through the same ducts; power with both."""
    flow_after = flow * (100 - after) / (100 - before)
    air_before, air_after = resistance * flow**2 * flow, resistance * flow_after**2 * flow_after
    taken = power_at_speed(air_before, before / 100, after / 100)
    assert taken == pytest.approx(air_after)
    assert (taken > air_before) == (after < before) or after == before


def test_published_efficiencies_stay_within_what_is_possible_and_say_where_they_come_from() -> None:
    for row in load("belt_efficiency").rows:
        assert isinstance(row["low_pct"], float)
        assert isinstance(row["high_pct"], float)
        assert 0.9 <= row["low_pct"] <= row["high_pct"] < 1.0
        assert cite(str(row["source"]))


@pytest.mark.parametrize("refused", [
    lambda: measured_slip(0.0, 60.0, 0.2, 0.5),
    lambda: measured_slip(150.0, 60.0, -0.2, 0.5),
    lambda: slip_since(150.0, 60.0, 0.0, 60.0),
    lambda: belt_efficiency(1.01, 0.0),
    lambda: power_lost(1e3, -0.1),
    lambda: yearly_energy(1e3, 1.0, 0.0, 1.0),
    lambda: yearly_energy(1e3, 1.0, 0.9, 1.2),
    lambda: energy_saved(1e3, 0.9, 0.0),
    lambda: money(1e3, -1.0),
    lambda: power_at_speed(1e3, 1.0, 0.0),
])
def test_what_no_drive_shows_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()
