"""Khurmi and Gupta, Theory of Machines, ex. 11.19: the belt length by both forms, and the centre distance back."""

from __future__ import annotations

import pytest

from beltwright.mechanics.geometry import belt_length, centre_approximate, centre_from_length, length_approximate
from tests.published.examples import examples, expected

EXAMPLE = examples("khurmi")["11.19"]
SIZES = EXAMPLE["given"]["driver_m"], EXAMPLE["given"]["driven_m"]


@pytest.mark.parametrize(("length_form", "centre_form"), [(belt_length, centre_from_length),
                                                          (length_approximate, centre_approximate)])
def test_length_and_back(length_form: object, centre_form: object) -> None:
    assert callable(length_form)
    assert callable(centre_form)
    length = length_form(*SIZES, EXAMPLE["given"]["centre_m"])
    assert length == expected(EXAMPLE, "length_m")
    assert centre_form(*SIZES, length) == pytest.approx(EXAMPLE["given"]["centre_m"], rel=1e-12)
