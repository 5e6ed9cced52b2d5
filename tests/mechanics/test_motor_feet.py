"""Moves of the motor's feet against the motor turned as one rigid body in space."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from beltwright.errors import OutOfRange
from beltwright.mechanics.motor_feet import FEET, base_slopes, foot_moves, shims, swing_back_feet
from tests.mechanics.sheave_bodies import Array, plane

SMALL = 1e-6
slope, length, incline = st.floats(-SMALL, SMALL), st.floats(0.05, 0.8), st.floats(-1.4, 1.4)


def feet(spread: float, width: float, reach: float, height: float) -> Array:
    """Feet from the middle of the sheave, in axes along the floor, up and outward, shaft straight."""
    return np.array([[width / 2 * (1 if foot.endswith("near") else -1), -height,
                      -reach - (spread if foot.startswith("back") else 0.0)] for foot in FEET])


def onto_floor(incline: float) -> Array:
    """Axes along and across the line of centres, turned onto floor and vertical."""
    turned: Array = Rotation.from_euler("z", incline).as_matrix()
    return turned


@given(st.floats(-0.01, 0.01), slope, slope, incline, length, length, length, length)
def test_feet_go_where_the_rigid_motor_takes_them(offset: float, angle: float, twist: float, incline: float,
                                                  spread: float, width: float, reach: float, height: float) -> None:
    floor = onto_floor(incline)
    straight = feet(spread, width, reach, height)
    leaning = floor @ plane(angle, twist).as_matrix() @ floor.T
    now = straight @ leaning.T + np.array([0.0, 0.0, offset])
    moves = foot_moves(offset, angle, twist, incline, spread, width, reach, height)
    assert moves == pytest.approx(straight - now, abs=1e-11)


@given(st.floats(-0.003, 0.003), st.floats(-0.01, 0.01), st.floats(-0.01, 0.01), incline, length, length, length,
       length)
def test_moved_feet_leave_the_drive_in_line_at_its_old_centre(
        offset: float, angle: float, twist: float, incline: float, spread: float, width: float, reach: float,
        height: float) -> None:
    """The body that best fits the moved feet: its sheave in the driven's plane, parallel, and no nearer or farther."""
    floor, straight = onto_floor(incline), feet(spread, width, reach, height)
    lean = floor @ plane(angle, twist).as_matrix() @ floor.T
    now = straight @ lean.T + np.array([0.0, 0.0, offset])
    moved = now + foot_moves(offset, angle, twist, incline, spread, width, reach, height)
    fitted, _ = Rotation.align_vectors(moved - moved.mean(axis=0), straight - straight.mean(axis=0))
    middle = moved.mean(axis=0) - fitted.apply(straight.mean(axis=0))
    size = 3 * (abs(angle) + abs(twist)) ** 2 * np.linalg.norm(straight, axis=1).max() / min(spread, width)
    assert fitted.apply([0.0, 0.0, 1.0])[:2] == pytest.approx(0.0, abs=1e-9 + size)
    assert middle == pytest.approx(0.0, abs=1e-9 + size)


@given(slope, slope, incline, length, length)
def test_swinging_the_back_feet_turns_the_motor_about_the_front_ones(angle: float, twist: float, incline: float,
                                                                     spread: float, reach: float) -> None:
    plan, _ = base_slopes(angle, twist, incline)
    # seen from above: shaft from sheave to back feet, turned about the front feet until it points straight back
    shaft = np.array([-plan, 1.0]) / np.hypot(plan, 1.0)
    front, back = -reach * shaft, -(reach + spread) * shaft
    swing = swing_back_feet(plan, incline, spread, reach)
    assert swing.back == pytest.approx(front[0] - back[0], abs=1e-11)
    assert swing.centre_change == pytest.approx(-front[0] * np.cos(incline), abs=1e-11)


@given(slope, incline, length, length)
def test_shims_only_raise_and_take_the_tilt_out(tilt: float, incline: float, spread: float, reach: float) -> None:
    front, back, centre_change = (float(each) for each in shims(tilt, incline, spread, reach))
    assert min(front, back) == 0.0
    assert max(front, back) >= 0.0
    # side view: the shaft falls outward where the sheave's top leans out
    heights = tilt * reach + front, tilt * (reach + spread) + back
    assert heights[1] - heights[0] == pytest.approx(0.0, abs=1e-15)
    assert centre_change == pytest.approx(-heights[0] * np.sin(incline), abs=1e-15)


@given(st.floats(-0.02, 0.02), st.floats(1.0, 4.0))
def test_a_worse_tilt_never_asks_for_thinner_shims(tilt: float, worse: float) -> None:
    some, more = shims(tilt, 0.0, 0.2, 0.15), shims(worse * tilt, 0.0, 0.2, 0.15)
    assert more.front >= some.front
    assert more.back >= some.back


def test_a_drive_in_line_asks_for_no_move() -> None:
    assert foot_moves(0.0, 0.0, 0.0, 0.3, 0.2, 0.25, 0.15, 0.16) == pytest.approx(0.0, abs=0.0)


@pytest.mark.parametrize("wrong", range(4))
def test_feet_without_a_distance_are_refused(wrong: int) -> None:
    sizes = [0.2, 0.25, 0.15, 0.16]
    sizes[wrong] = 0.0
    with pytest.raises(OutOfRange, match=["foot spread", "foot width", "foot reach", "shaft height"][wrong]):
        foot_moves(0.0, 0.0, 0.0, 0.0, sizes[0], sizes[1], sizes[2], sizes[3])
