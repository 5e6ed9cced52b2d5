"""Belts enough or not: rounding up, the service factor reached, scalars and arrays."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import OutOfRange
from beltwright.mechanics import adequacy as a

POWERS = st.floats(1.0, 1e6)
FACTORS = st.floats(1.0, 2.0)


@given(POWERS, FACTORS, POWERS)
def test_the_belts_to_fit_reach_the_service_factor_and_one_fewer_does_not(
        power: float, service_factor: float, belt_power: float) -> None:
    needed = a.design_power(power, service_factor)
    belts = a.belts_to_fit(needed, belt_power)
    assert a.service_factor_reached(power, belt_power, belts) >= service_factor * (1 - 2e-9)
    assert a.enough_belts(belts, needed, belt_power)
    if belts > 1:
        assert a.service_factor_reached(power, belt_power, belts - 1) < service_factor
        assert not a.enough_belts(belts - 1, needed, belt_power)


@given(st.integers(1, 40), st.floats(0.1, 1e5))
def test_a_rounding_error_costs_no_belt(belts: int, belt_power: float) -> None:
    # N times a belt's power, summed belt by belt, is N belts
    needed = float(np.sum(np.full(belts, belt_power)))
    assert a.belts_to_fit(needed, belt_power) == belts
    assert a.belts_to_fit(needed * (1 + 1e-6), belt_power) == belts + 1


def test_the_least_load_still_takes_a_belt() -> None:
    assert a.belts_to_fit(1e-9, 1e6) == 1


@given(POWERS, st.floats(0.5, 1.0), st.floats(0.7, 1.3))
def test_corrections_multiply(rated: float, arc: float, length: float) -> None:
    assert a.corrected_power(rated, arc, length) == pytest.approx(rated * arc * length)
    assert a.corrected_power(rated, arc) == pytest.approx(rated * arc)


def test_arrays_give_what_scalars_give() -> None:
    power = np.array([5e3, 11e3, 30e3])
    belt = np.array([2.1e3, 3.7e3, 9.4e3 * 0.795])
    needed = a.design_power(power, 1.3)
    assert a.belts_to_fit(needed, belt).tolist() == [4, 4, 6]  # type: ignore[union-attr]
    assert a.enough_belts(np.array([3, 4, 6]), needed, belt).tolist() == [False, True, True]  # type: ignore[union-attr]
    reached = a.service_factor_reached(power, belt, np.array([3, 4, 6]))
    assert reached == pytest.approx(np.array([1.26, 1.34545, 1.4946]), abs=1e-4)


@pytest.mark.parametrize("wrong", [0.0, -1.0, np.nan, np.inf])
def test_powers_and_factors_no_drive_has_are_refused(wrong: float) -> None:
    for call in (lambda: a.design_power(wrong, 1.2), lambda: a.design_power(1e3, wrong),
                 lambda: a.corrected_power(wrong, 0.9), lambda: a.corrected_power(1e3, 0.9, wrong),
                 lambda: a.belts_required(1e3, wrong), lambda: a.belts_to_fit(np.array([1.0, wrong]), 1e3),
                 lambda: a.service_factor_reached(1e3, 1e3, wrong), lambda: a.enough_belts(wrong, 1e3, 1e3)):
        with pytest.raises(OutOfRange, match="a value above zero is needed"):
            call()
