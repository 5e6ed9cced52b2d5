"""Run-out limits: the same rule in words, worked by hand, and what a dial swing means at the rim."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import OutOfRange
from beltwright.mechanics import Numbers
from beltwright.mechanics.misalignment import face_wobble
from beltwright.mechanics.runout import (
    axial_runout,
    groove_difference,
    metric_runout,
    outside_tolerance,
    radial_runout,
    sheave_limits,
)
from beltwright.units import INCH
from tests.mechanics.sheave_bodies import Sheave


@pytest.mark.parametrize(("rule", "outside", "limit"), [
    (radial_runout, 6.0, 0.010), (radial_runout, 10.0, 0.010), (radial_runout, 14.0, 0.012),
    (axial_runout, 4.0, 0.005), (axial_runout, 5.0, 0.005), (axial_runout, 12.0, 0.012),
    (outside_tolerance, 3.0, 0.020), (outside_tolerance, 8.0, 0.020), (outside_tolerance, 12.0, 0.040)])
def test_the_limit_grows_with_each_inch_beyond_its_base(rule: Callable[[Numbers], Numbers], outside: float,
                                                        limit: float) -> None:
    assert rule(outside * INCH) / INCH == pytest.approx(limit)


@pytest.mark.parametrize(("outside", "grooves", "limit"), [
    (12.0, 2, 0.010), (12.0, 6, 0.010), (19.9, 8, 0.011), (20.0, 10, 0.015), (30.0, 12, 0.016)])
def test_grooves_of_one_sheave_may_differ_by_so_much(outside: float, grooves: int, limit: float) -> None:
    assert groove_difference(outside * INCH, grooves) / INCH == pytest.approx(limit)


@given(st.floats(0.05, 2.0), st.floats(1.0, 3.0))
def test_a_larger_sheave_is_never_held_to_less(outside: float, larger: float) -> None:
    sizes = np.array([outside, outside * larger])
    for limit in (radial_runout(sizes), axial_runout(sizes), outside_tolerance(sizes), groove_difference(sizes, 4),
                  metric_runout(sizes)):
        assert np.diff(limit)[0] >= 0.0


def test_the_rule_of_the_sheaves_own_standard_comes_first() -> None:
    inch, metric = (sheave_limits(0.3, 4, "B", standard) for standard in ("rma", "is"))
    assert [each.rule for each in inch] == [each.rule for each in metric][::-1]
    assert inch[0].radial == pytest.approx(float(radial_runout(0.3)))
    assert metric[0].radial == pytest.approx(0.0003)
    assert metric[0].groove_difference is None


@pytest.mark.parametrize("rule", [radial_runout, axial_runout, outside_tolerance, metric_runout])
def test_a_sheave_of_no_size_is_refused(rule: Callable[[Numbers], Numbers]) -> None:
    with pytest.raises(OutOfRange):
        rule(np.array([0.3, 0.0]))


@given(st.floats(1e-6, 2e-3), st.floats(0.1, 0.6))
def test_wobble_is_what_the_dial_swings_over_the_diameter(wobble: float, diameter: float) -> None:
    sheave = Sheave(diameter, (0.0, 0.0, 0.0), (0.0, 0.0), (wobble, 0.0), 0.0, 0.0)
    dial = [sheave.rim_point(1.0, turn, 1.0, 0.0)[2] for turn in np.linspace(0.0, 2 * np.pi, 73)]
    assert face_wobble(max(dial) - min(dial), diameter) == pytest.approx(wobble, rel=1e-4)
