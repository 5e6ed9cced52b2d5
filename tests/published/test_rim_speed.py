"""Rim speed of a cast-iron sheave: 6500 ft/min in one book, 33 m/s in another, 3.82 in the shop."""

from __future__ import annotations

import pytest

from beltwright.mechanics.sheave_limits import greatest_rotation, rim_limit
from beltwright.units import FOOT, INCH, MINUTE, RPM
from tests.published import printed
from tests.published.examples import examples, expected

RIM = examples("rim_speed")


def test_two_books_print_one_limit() -> None:
    limit = rim_limit("cast iron")
    assert limit.speed / (FOOT / MINUTE) == expected(RIM["bloch"], "speed_ft_min")
    assert limit.speed == expected(RIM["lecture-notes"], "speed_m_s")
    assert limit.trust == "read"


@pytest.mark.parametrize("outside_in", RIM["rule"]["given"]["outside_in"])
def test_the_shop_rule(outside_in: float) -> None:
    rpm = float(greatest_rotation(outside_in * INCH, "cast iron")) / RPM
    assert rpm * outside_in / RIM["rule"]["given"]["speed_ft_min"] == printed(RIM["rule"]["printed"]["factor"])
