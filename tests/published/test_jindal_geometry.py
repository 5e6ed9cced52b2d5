"""Jindal, Machine Design, ex. 21-2 to 21-4: belt lengths."""

from __future__ import annotations

from typing import Any

import pytest

from beltwright.mechanics.geometry import belt_length, centre_from_length, length_approximate
from tests.published.examples import examples, expected

JINDAL = examples("jindal_geometry")


@pytest.mark.parametrize("example", JINDAL.values(), ids=list(JINDAL))
def test_length_and_back(example: dict[str, Any]) -> None:
    given = example["given"]
    sizes = given["driver_m"], given["driven_m"]
    length = belt_length(*sizes, given["centre_m"])
    if "exact_m" in example["derived"]:
        assert length == expected(example, "exact_m")
    assert length - given.get("inside_m", 0.0) == expected(example, "length_m")
    assert centre_from_length(*sizes, length) == pytest.approx(given["centre_m"], rel=1e-14)


@pytest.mark.parametrize("example", ["21-2", "21-4"])
def test_the_textbook_form_differs_in_the_fourth_place(example: str) -> None:
    given = JINDAL[example]["given"]
    assert length_approximate(given["driver_m"], given["driven_m"], given["centre_m"]) == \
        expected(JINDAL[example], "approximate_m")
