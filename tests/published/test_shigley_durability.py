"""Shigley's Mechanical Engineering Design, ch. 17: passes and hours of V-belts, and where the method stops."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from beltwright.mechanics.life import (
    belt_life,
    bending_tension,
    durability,
    passes_to_failure,
    peak_tensions,
    running_time,
)
from beltwright.units import FOOT, HOUR, INCH, MINUTE, POUND_FORCE
from tests.published.examples import examples, expected

SHIGLEY = examples("shigley_durability")
FORCES = ("bending_driver_lbf", "bending_driven_lbf", "driver_peak_lbf", "driven_peak_lbf")


@pytest.mark.parametrize("example", SHIGLEY.values(), ids=list(SHIGLEY))
def test_bending_and_peak_tensions(example: dict[str, Any]) -> None:
    given = example["given"]
    sheaves = given["driver_in"] * INCH, given["driven_in"] * INCH
    constant = durability(given["section"]).bending_constant
    peaks = peak_tensions(given["tight_lbf"] * POUND_FORCE, constant, *sheaves)
    found = [*(bending_tension(constant, sheave) for sheave in sheaves), *peaks]
    for name, force in zip(FORCES, found, strict=True):
        if name in example["printed"]:
            assert force / POUND_FORCE == expected(example, name), name


@pytest.mark.parametrize("example", SHIGLEY.values(), ids=list(SHIGLEY))
def test_passes_by_the_law_lie_within_what_the_printed_tensions_allow(example: dict[str, Any]) -> None:
    strength = durability(example["given"]["section"]).strength
    exponent = example["given"]["exponent"]
    driver, driven = (float(example["printed"][name]) for name in FORCES[2:])
    # printed to a tenth of a pound: b near 11 makes 0.4 percent of passes of it
    fewest, most = (float(passes_to_failure((driver + slip) * POUND_FORCE, (driven + slip) * POUND_FORCE, strength,
                                            exponent)) for slip in (0.05, -0.05))
    text = example["printed"]["passes"]
    last_digit = Decimal(text).as_tuple().exponent
    assert isinstance(last_digit, int)
    slack = example.get("wider", {}).get("passes", {}).get("by", 0.5 * 10.0**last_digit)
    assert fewest - slack <= float(text) <= most + slack


@pytest.mark.parametrize("example", SHIGLEY.values(), ids=list(SHIGLEY))
def test_the_answer_stops_at_the_published_limit(example: dict[str, Any]) -> None:
    given = example["given"]
    speed, length = given["speed_ft_min"] * FOOT / MINUTE, given["length_in"] * INCH
    life = belt_life(given["section"], given["tight_lbf"] * POUND_FORCE, given["driver_in"] * INCH,
                     given["driven_in"] * INCH, length, speed)
    assert life.passes == 1e9
    assert life.more_than
    assert not life.less_than
    if "at_most_h" in example["printed"]:
        assert life.time / HOUR == expected(example, "at_most_h")
    if "beyond_range_h" in example["printed"]:
        hours = running_time(float(example["printed"]["passes"]), length, speed) / HOUR
        assert hours == expected(example, "beyond_range_h")
        assert life.time / HOUR < hours / 20


def test_the_two_editions_differ_by_less_than_a_percent_in_passes() -> None:
    """b of section B is 10.929 in the 8th edition and 10.926 later: 0.7 percent at the one-belt example."""
    K = durability("B").strength
    eighth, later = (passes_to_failure(150.1 * POUND_FORCE, 105.2 * POUND_FORCE, K, b) for b in (10.929, 10.926))
    assert durability("B").exponent == 10.929
    assert float(eighth) / float(later) == pytest.approx(1.006, abs=2e-3)
