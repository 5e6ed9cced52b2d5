"""Worn grooves: sinking against a belt let down between its flanks by linear programming; verdicts never soften."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.wear import (
    dish_from_ride,
    forced_slip,
    replace,
    room_below,
    side_shift,
    sink,
    sinkable,
    sound_ride,
    speed_change,
    wear_share,
    worn_diameter,
)
from beltwright.tables import load
from beltwright.units import parse

dish, half_angle = st.floats(0.0, 0.003), st.floats(np.radians(15), np.radians(21))


@given(dish, dish, half_angle)
def test_a_belt_sinks_until_both_flanks_bear(left: float, right: float, angle: float) -> None:
    """The deepest place of a wedge-shaped belt whose corners must stay out of the metal of two worn flanks."""
    top, bottom, height = 0.0085, 0.0085 - 0.011 * np.tan(angle), 0.011
    # unknown: sideways y and depth s; corner (x, z) of the sound belt moves to (x + y, z - s)
    rows, room = [], []
    for side, worn in ((1.0, right), (-1.0, left)):
        for half_width, z in ((top, 0.0), (bottom, -height)):
            # outside the flank: side x cos - z sin, measured from the flank of the sound groove through the belt's top
            rows.append([side * np.cos(angle), np.sin(angle)])
            room.append(top * np.cos(angle) + worn - (half_width * np.cos(angle) - z * np.sin(angle)))
    found = linprog([0.0, -1.0], A_ub=rows, b_ub=room, bounds=[(None, None), (0.0, None)])
    assert found.x is not None
    assert sink(left, right, angle) == pytest.approx(found.x[1], abs=1e-9)
    assert side_shift(left, right, angle) == pytest.approx(found.x[0], abs=1e-9)


@given(dish, dish, half_angle, st.floats(0.0, 0.001), st.booleans())
def test_more_dish_never_sinks_a_belt_less_nor_spares_a_sheave(left: float, right: float, angle: float, more: float,
                                                               on_left: bool) -> None:
    worse = (left + more, right) if on_left else (left, right + more)
    assert sink(*worse, angle) >= sink(left, right, angle)
    assert wear_share(*worse, 0.0008) >= wear_share(left, right, 0.0008)


@given(dish, dish, st.floats(0.0, 0.001), st.floats(1e-4, 1e-3))
def test_a_worse_flank_never_takes_a_sheave_off_the_list(driver: float, driven: float, more: float,
                                                         limit: float) -> None:
    before, after = replace(driver, driven, limit), replace(driver + more, driven, limit)
    assert after.driver >= before.driver
    assert after.driver + after.plan_driver >= before.driver + before.plan_driver
    assert after.driven + after.plan_driven >= before.driven + before.plan_driven
    mirrored = replace(driven, driver, limit)
    assert (mirrored.driven, mirrored.driver, mirrored.plan_driven, mirrored.plan_driver) == before


@pytest.mark.parametrize(("driver", "driven", "said"), [
    ("0 in", "0 in", (False, False, False, False)), ("1/32 in", "1/32 in", (False, False, False, False)),
    ("3/64 in", "1/32 in", (True, False, False, True)), ("3/64 in", "1/64 in", (True, False, False, False)),
    ("1/64 in", "3/64 in", (False, True, False, False)), ("1/32 in", "3/64 in", (False, True, True, False)),
    ("3/64 in", "1/16 in", (True, True, False, False))])
def test_which_sheave_goes_by_the_limit_for_single_belts(driver: str, driven: str,
                                                         said: tuple[bool, bool, bool, bool]) -> None:
    limit = load("wear_limits").where(belts="single")[0]["dish"]
    assert isinstance(limit, float)
    assert tuple(replace(parse(driver, "length"), parse(driven, "length"), limit)) == said


def test_joined_belts_are_held_to_half_the_dish() -> None:
    single, joined = (load("wear_limits").where(belts=kind)[0]["dish"] for kind in ("single", "joined"))
    assert isinstance(single, float)
    assert isinstance(joined, float)
    between = (single + joined) / 2
    assert not replace(between, 0.0, single).driver
    assert replace(between, 0.0, joined).driver


@given(st.floats(0.05, 1.0), st.floats(0.05, 1.0), dish, dish, half_angle)
def test_speed_follows_the_worn_diameters(driver: float, driven: float, one: float, two: float, angle: float) -> None:
    depth = sink(one, one, angle), sink(two, two, angle)
    before = driver / driven
    after = (driver - 2 * depth[0]) / (driven - 2 * depth[1])
    assert before * (1 + speed_change(driver, driven, *depth)) == pytest.approx(after, rel=1e-12)


@given(st.lists(st.floats(0.15, 0.16), min_size=2, max_size=8), st.floats(0.3, 0.4), st.permutations(range(8)))
def test_belts_fight_by_how_their_ratios_differ(driver: list[float], driven: float, order: list[int]) -> None:
    slip = np.asarray(forced_slip(driver, driven))
    # surface speeds of a belt on its two grooves at the common ratio of speeds
    speed = np.asarray(driver), driven * np.mean(np.asarray(driver) / driven)
    assert slip == pytest.approx(1 - speed[1] / speed[0], abs=1e-12)
    assert slip.min() <= 1e-12
    assert slip.max() >= -1e-12
    mixed = [k for k in order if k < len(driver)]
    assert forced_slip(np.asarray(driver)[mixed], driven) == pytest.approx(slip[mixed], abs=1e-15)


def test_alike_grooves_force_no_slip() -> None:
    assert forced_slip([0.2] * 4, [0.5] * 4) == pytest.approx(0.0, abs=1e-15)


@given(dish, half_angle, st.floats(0.012, 0.018), st.floats(0.012, 0.018))
def test_ride_tells_the_dish_it_came_from(worn: float, angle: float, top: float, groove: float) -> None:
    sound = sound_ride(top, groove, angle)
    assert dish_from_ride(sound - sink(worn, worn, angle), sound, angle) == pytest.approx(worn, abs=1e-12)


@given(dish, dish, half_angle)
def test_room_below_goes_as_the_belt_sinks(some: float, more: float, angle: float) -> None:
    low, high = sorted((some, more))
    ride = [-float(sink(each, each, angle)) for each in (low, high)]
    assert room_below(0.014, 0.011, ride[1]) <= room_below(0.014, 0.011, ride[0]) <= 0.014 - 0.011 + 1e-12


def test_values_no_groove_has_are_refused() -> None:
    with pytest.raises(OutOfRange, match="dish left"):
        sink(-1e-4, 0.0, 0.3)
    with pytest.raises(OutOfRange, match="groove angle"):
        sink(1e-4, 0.0, 1.0)
    with pytest.raises(OutOfRange, match="middle of the shaft"):
        worn_diameter(np.array([0.2, 0.01]), 0.005)
    assert list(np.asarray(sinkable(np.array([0.2, 0.01]), 0.005))) == [True, False]
    with pytest.raises(OutOfRange, match="dish limit"):
        wear_share(1e-4, 1e-4, 0.0)
    with pytest.raises(NotKnown, match="two belts"):
        forced_slip([0.2], [0.3])
