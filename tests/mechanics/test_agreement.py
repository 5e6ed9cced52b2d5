"""The chi-square limit against SciPy's."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from beltwright.errors import OutOfRange
from beltwright.mechanics.agreement import chi_square_limit


@given(st.integers(1, 60), st.floats(1e-6, 1 - 1e-6))
def test_the_limit_is_scipys(freedom: int, chance: float) -> None:
    assert chi_square_limit(freedom, chance) == pytest.approx(chi2.isf(chance, freedom), rel=1e-7, abs=1e-9)


@pytest.mark.parametrize(("freedom", "chance"), [(0, 0.05), (3, 0.0), (3, 1.0)])
def test_no_reading_to_spare_and_no_chance_are_refused(freedom: int, chance: float) -> None:
    with pytest.raises(OutOfRange):
        chi_square_limit(freedom, chance)
