"""Wedge friction against an integration of the belt on the sheave, and the identities of power and speed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from beltwright.errors import OutOfRange
from beltwright.mechanics.friction import (
    best_speed,
    carried_tensions,
    centrifugal_tension,
    net_tensions,
    power_at_limit,
    ratio_at_arc,
    runs_at,
    v_flat_ratio,
    wedge_ratio,
    working_friction,
)

frictions = st.floats(0.05, 0.6)
arcs = st.floats(1.0, 5.0)
half_grooves = st.floats(math.radians(15), math.radians(21))


@given(friction=frictions, wrap=arcs, half_angle=half_grooves, centrifugal=st.floats(0.0, 200.0))
def test_the_belt_slice_by_slice_gives_the_wedge_ratio_of_the_net_tensions(
        friction: float, wrap: float, half_angle: float, centrifugal: float) -> None:
    """Oracle: each slice is pressed by (T - Tc) dtheta, held by two flanks of friction, integrated along the arc."""
    slack = 50.0
    arc = solve_ivp(lambda _, T: friction * (T - centrifugal) / math.sin(half_angle), (0.0, wrap),
                    [slack + centrifugal], rtol=1e-10, atol=1e-10)
    assert (arc.y[0, -1] - centrifugal) / slack == pytest.approx(wedge_ratio(friction, wrap, half_angle), rel=1e-7)


@given(friction=frictions, first=arcs, second=arcs, half_angle=half_grooves)
def test_arcs_add_and_ratios_multiply(friction: float, first: float, second: float, half_angle: float) -> None:
    together = wedge_ratio(friction, first + second, half_angle)
    apart = wedge_ratio(friction, first, half_angle) * wedge_ratio(friction, second, half_angle)
    assert together == pytest.approx(apart, rel=1e-12)


@given(wrap=arcs, half_angle=half_grooves)
def test_the_working_rule_is_a_wedge_of_its_working_friction(wrap: float, half_angle: float) -> None:
    assert wedge_ratio(working_friction(half_angle), wrap, half_angle) == pytest.approx(ratio_at_arc(wrap), rel=1e-12)


@pytest.mark.parametrize(("groove_deg", "friction"), [(34, 0.150), (36, 0.158), (38, 0.167)])
def test_working_friction_by_groove_angle(groove_deg: float, friction: float) -> None:
    assert working_friction(math.radians(groove_deg / 2)) == pytest.approx(friction, abs=5e-4)


@given(friction=frictions, lean=st.floats(0.0, 1.2), half_angle=half_grooves)
def test_a_v_flat_drive_slips_where_it_holds_less(friction: float, lean: float, half_angle: float) -> None:
    small, large = math.pi - lean, math.pi + lean
    grooved = wedge_ratio(friction, small, half_angle)
    flat = wedge_ratio(friction, large, math.pi / 2)
    assert v_flat_ratio(friction, small, half_angle, large) == min(grooved, flat)


@given(pull=st.floats(1.0, 5000.0), ratio=st.floats(1.01, 50.0), centrifugal=st.floats(0.0, 500.0))
def test_strands_have_the_pull_and_the_ratio(pull: float, ratio: float, centrifugal: float) -> None:
    net = net_tensions(pull, ratio)
    carried = carried_tensions(*net, centrifugal)
    assert net.tight - net.slack == pytest.approx(pull, rel=1e-9)
    assert net.tight / net.slack == pytest.approx(ratio, rel=1e-12)
    assert carried.tight - carried.slack == pytest.approx(pull, rel=1e-9, abs=1e-9)


@given(limit=st.floats(100.0, 5000.0), mass=st.floats(0.05, 1.0), ratio=st.floats(1.5, 20.0))
def test_no_speed_carries_more_than_the_best_one(limit: float, mass: float, ratio: float) -> None:
    top = math.sqrt(limit / mass)
    found = minimize_scalar(lambda v: -float(power_at_limit(limit, ratio, v, mass)), bounds=(0.01 * top, 0.99 * top),
                            method="bounded", options={"xatol": 1e-9 * top})
    assert best_speed(limit, mass) == pytest.approx(found.x, rel=1e-4)
    assert centrifugal_tension(mass, best_speed(limit, mass)) == pytest.approx(limit / 3, rel=1e-12)


def test_arrays_and_numbers_alike() -> None:
    wraps = np.array([2.5, 3.0])
    together = power_at_limit(800.0, wedge_ratio(0.3, wraps, 0.3), np.array([[10.0], [15.0]]), 0.2)
    assert np.shape(together) == (2, 2)
    assert np.asarray(together)[1, 0] == power_at_limit(800.0, wedge_ratio(0.3, 2.5, 0.3), 15.0, 0.2)


def test_a_belt_at_its_limit_by_speed_alone_carries_nothing_and_says_so() -> None:
    speeds = np.array([30.0, 45.0])
    assert list(np.asarray(runs_at(560.0, speeds, 0.35))) == [True, False]
    with pytest.raises(OutOfRange, match=r"belt speed of 45\.0 m/s: at 40\.0 m/s the belt's own mass takes all"):
        power_at_limit(560.0, 5.0, speeds, 0.35)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_values_no_groove_has_are_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="friction of"):
        wedge_ratio(np.array([0.2, bad]), 3.0, 0.3)
    with pytest.raises(OutOfRange, match="half angle of"):
        wedge_ratio(0.2, 3.0, bad)


def test_a_ratio_of_one_and_a_groove_wider_than_flat_are_refused() -> None:
    with pytest.raises(OutOfRange, match=r"tension ratio of 1\.00: a belt carries power above 1 only"):
        net_tensions(100.0, 1.0)
    with pytest.raises(OutOfRange, match=r"90° \(a flat face\) is the most"):
        wedge_ratio(0.2, 3.0, 1.6)
