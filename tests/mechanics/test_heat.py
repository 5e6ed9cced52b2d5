"""Temperature limits, the two halving rules kept apart, and the heat balance of a sheave."""

from __future__ import annotations

import inspect

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize

from beltwright.errors import OutOfRange
from beltwright.mechanics.heat import (
    belt_rule_holds,
    belts_area,
    expected_rise,
    life_by_belt_heat,
    life_by_room_heat,
    room_rule_holds,
    room_usable,
    runs_cool,
    sheave_area,
    too_hot,
)
from beltwright.tables import cite, load


def test_good_running_needs_a_cool_belt_and_a_room_for_which_the_figure_was_printed() -> None:
    belts, rooms = np.array([60.0, 60.1, 60.0, 30.0]), np.array([42.9, 20.0, 43.0, 50.0])
    assert list(np.asarray(runs_cool(belts, rooms))) == [True, False, False, False]


def test_room_and_hard_limit() -> None:
    assert list(np.asarray(room_usable(np.array([-34.5, -34.0, 54.0, 55.0])))) == [False, True, True, False]
    assert list(np.asarray(too_hot(np.array([85.0, 85.1])))) == [False, True]


@given(st.floats(60.0, 75.0), st.floats(43.0, 51.0))
def test_each_rule_halves_by_its_own_step(belt: float, room: float) -> None:
    assert life_by_belt_heat(belt_temperature=belt + 10) == pytest.approx(
        0.5 * float(life_by_belt_heat(belt_temperature=belt)))
    assert life_by_room_heat(room_temperature=room + 20) == pytest.approx(
        0.5 * float(life_by_room_heat(room_temperature=room)))


@given(st.floats(-40.0, 85.0), st.floats(0.0, 30.0))
def test_a_hotter_belt_never_lasts_longer_and_a_cold_one_earns_nothing(belt: float, cooler: float) -> None:
    life = float(life_by_belt_heat(belt_temperature=belt))
    assert life <= float(life_by_belt_heat(belt_temperature=belt - cooler)) <= 1.0
    assert life == 1.0 or belt > 60.0


@given(st.floats(0.0, 28.0))
def test_the_two_rules_are_one_rule_told_twice(hotter: float) -> None:
    """So much over 43 in the room is half as much over 60 in the belt; the product of both would count it twice."""
    by_room = life_by_room_heat(room_temperature=43.0 + hotter)
    by_belt = life_by_belt_heat(belt_temperature=60.0 + hotter / 2)
    assert by_room == pytest.approx(by_belt)


def test_a_rule_takes_its_own_temperature_by_name_only() -> None:
    for rule, temperature in ((life_by_belt_heat, "belt_temperature"), (life_by_room_heat, "room_temperature")):
        parameters = inspect.signature(rule).parameters
        assert [(each.name, each.kind) for each in parameters.values()] == [
            (temperature, inspect.Parameter.KEYWORD_ONLY)]


def test_beyond_their_ends_the_rules_are_refused_not_stretched() -> None:
    assert list(np.asarray(belt_rule_holds(belt_temperature=np.array([85.0, 85.5, np.nan])))) == [True, False, False]
    assert list(np.asarray(room_rule_holds(room_temperature=np.array([71.0, 72.0])))) == [True, False]
    with pytest.raises(OutOfRange, match=r"86 °C.*85 °C"):
        life_by_belt_heat(belt_temperature=np.array([40.0, 86.0]))
    with pytest.raises(OutOfRange, match="room at 72 °C"):
        life_by_room_heat(room_temperature=72.0)


@given(st.floats(0.05, 1.5), st.floats(0.01, 0.4))
def test_sheave_surface_is_that_of_a_cylinder(outside: float, width: float) -> None:
    faces = 2 * integrate.quad(lambda r: 2 * np.pi * r, 0.0, outside / 2)[0]
    rim = integrate.quad(lambda _: width, 0.0, np.pi * outside)[0]
    assert sheave_area(outside, width) == pytest.approx(faces + rim)


def test_belt_surface_goes_round_the_section_along_every_belt() -> None:
    round_the_section = 0.013 + 0.008 + 0.013 + 0.008
    assert belts_area(2.5, 4, top_width=0.013, thickness=0.008) == pytest.approx(4 * 2.5 * round_the_section)


@given(st.floats(0.0, 5e3), st.floats(0.01, 5.0), st.floats(15.0, 60.0))
def test_rise_balances_heat_made_and_given_off(lost: float, area: float, coefficient: float) -> None:
    rise = expected_rise(lost, area)
    balance = optimize.brentq(lambda over: coefficient * area * over - lost, -1.0, 1e6)
    assert float(rise.low) - 1e-6 <= balance <= float(rise.high) + 1e-6


@pytest.mark.parametrize("refused", [
    lambda: sheave_area(-0.2, 0.1),
    lambda: belts_area(2.0, 0, 0.013, 0.008),
    lambda: expected_rise(-1.0, 0.5),
    lambda: expected_rise(100.0, 0.0),
])
def test_what_no_sheave_has_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()


def test_every_limit_says_who_says_so() -> None:
    for table in ("temperature_limits", "heat_life"):
        for row in load(table).rows:
            assert cite(str(row["source"]))
            assert row["trust"]
