"""Run-out limits: the same rule in words, worked by hand, and what a dial swing means at the rim."""

from __future__ import annotations

from typing import Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.mechanics.runout import face_wobble, groove_difference_limit, runout_limit
from beltwright.units import INCH
from tests.mechanics.sheave_bodies import Sheave


@pytest.mark.parametrize(("direction", "outside", "limit"), [
    ("radial", 6.0, 0.010), ("radial", 10.0, 0.010), ("radial", 14.0, 0.012),
    ("axial", 4.0, 0.005), ("axial", 5.0, 0.005), ("axial", 12.0, 0.012)])
def test_the_limit_grows_with_each_inch_beyond_its_base(direction: Literal["radial", "axial"], outside: float,
                                                        limit: float) -> None:
    assert runout_limit(direction, outside * INCH) / INCH == pytest.approx(limit)


@pytest.mark.parametrize(("outside", "grooves", "limit"), [
    (12.0, 2, 0.010), (12.0, 6, 0.010), (19.9, 8, 0.011), (20.0, 10, 0.015), (30.0, 12, 0.016)])
def test_grooves_of_one_sheave_may_differ_by_so_much(outside: float, grooves: int, limit: float) -> None:
    assert groove_difference_limit(outside * INCH, grooves) / INCH == pytest.approx(limit)


@given(st.floats(0.05, 2.0), st.floats(1.0, 3.0))
def test_a_larger_sheave_is_never_held_to_less(outside: float, larger: float) -> None:
    sizes = np.array([outside, outside * larger])
    for limit in (runout_limit("radial", sizes), runout_limit("axial", sizes), groove_difference_limit(sizes, 4)):
        assert np.diff(limit)[0] >= 0.0


@given(st.floats(1e-6, 2e-3), st.floats(0.1, 0.6))
def test_wobble_is_what_the_dial_swings_over_the_diameter(wobble: float, diameter: float) -> None:
    sheave = Sheave(diameter, (0.0, 0.0, 0.0), (0.0, 0.0), (wobble, 0.0), 0.0, 0.0)
    dial = [sheave.rim_point(1.0, turn, 1.0, 0.0)[2] for turn in np.linspace(0.0, 2 * np.pi, 73)]
    assert face_wobble(max(dial) - min(dial), diameter) == pytest.approx(wobble, rel=1e-4)
