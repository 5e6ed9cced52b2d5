"""Base rates against SciPy's Beta distribution, and what must hold of adding cases."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from beltwright.errors import OutOfRange
from beltwright.mechanics.base_rates import sharpened

_CASES = st.integers(0, 50).flatmap(lambda troubles: st.tuples(st.integers(0, troubles), st.just(troubles)))


@given(st.floats(0.001, 0.999), st.floats(0.5, 200.0), _CASES)
def test_mean_and_uncertainty_are_those_of_the_beta_distribution(rate: float, weight: float,
                                                                 cases: tuple[int, int]) -> None:
    found, troubles = cases
    after = sharpened(rate, weight, found, troubles)
    beta = stats.beta(rate * weight + found, (1.0 - rate) * weight + troubles - found)
    assert after.mean == pytest.approx(beta.mean(), rel=1e-9)
    assert after.uncertainty == pytest.approx(beta.std(), rel=1e-9)


@given(st.floats(0.001, 0.999), st.floats(0.5, 200.0), _CASES, _CASES)
def test_cases_count_alike_whether_they_come_at_once_or_one_after_the_other(
        rate: float, weight: float, first: tuple[int, int], second: tuple[int, int]) -> None:
    step = sharpened(rate, weight, *first)
    after = sharpened(step.mean, step.weight, *second)
    at_once = sharpened(rate, weight, first[0] + second[0], first[1] + second[1])
    assert after.mean == pytest.approx(at_once.mean, rel=1e-9)
    assert after.uncertainty == pytest.approx(at_once.uncertainty, rel=1e-9)


@pytest.mark.parametrize("case", [(1.1, 20.0, 0, 0), (0.1, 0.0, 0, 0), (0.1, 20.0, 3, 2), (0.1, 20.0, -1, 2)])
def test_what_cannot_be_is_refused(case: tuple[float, float, int, int]) -> None:
    with pytest.raises(OutOfRange, match="base rate"):
        sharpened(*case)
