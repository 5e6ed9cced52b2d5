"""Mott, Machine Elements in Mechanical Design, ex. 7-1: belt length, and his form of the centre distance."""

from __future__ import annotations

import math

import pytest

from beltwright.mechanics.geometry import belt_length, centre_approximate, centre_from_length, length_approximate
from tests.published.examples import examples, expected

EXAMPLE = examples("mott_geometry")["7-1"]
SIZES = EXAMPLE["given"]["driver_in"], EXAMPLE["given"]["driven_in"]


def test_length_by_both_forms() -> None:
    assert belt_length(*SIZES, EXAMPLE["given"]["centre_in"]) == expected(EXAMPLE, "length_in")
    assert length_approximate(*SIZES, EXAMPLE["given"]["centre_in"]) == expected(EXAMPLE, "length_in")


def test_his_centre_distance_is_shigleys_written_otherwise() -> None:
    length = float(EXAMPLE["printed"]["length_in"])
    d, D = SIZES
    B = 4 * length - 2 * math.pi * (D + d)
    by_mott = (B + math.sqrt(B**2 - 32 * (D - d) ** 2)) / 16
    assert centre_approximate(d, D, length) == pytest.approx(by_mott, rel=1e-14)
    assert centre_from_length(d, D, length) == pytest.approx(EXAMPLE["given"]["centre_in"], abs=0.02)
