"""Wentzell, Machine Design, ex. 14.2 and 14.3: stock belt, centre distance, arc of contact, belt speed."""

from __future__ import annotations

import numpy as np
import pytest

from beltwright.mechanics.geometry import (
    belt_speed,
    centre_approximate,
    centre_from_length,
    length_approximate,
    speed_ratio,
    wraps,
)
from beltwright.units import INCH, RPM, from_si
from tests.published import printed
from tests.published.examples import examples, expected

WENTZELL = examples("wentzell")


@pytest.mark.parametrize("example", ["14.2 length", "14.3"])
def test_length_rounds_up_to_the_stock_belt(example: str) -> None:
    given = WENTZELL[example]["given"]
    length = length_approximate(given["driver_in"], given["driven_in"], given["centre_in"])
    assert length == expected(WENTZELL[example], "length_in")
    assert length < float(WENTZELL[example]["printed"]["stock_length_in"])


def test_centre_wrap_and_speed_of_the_drive_with_its_stock_belt() -> None:
    example = WENTZELL["14.2 drive"]
    driver, driven, length = (example["given"][key] * INCH for key in ("driver_in", "driven_in", "length_in"))
    centre = centre_from_length(driver, driven, length)
    small, large = (np.degrees(arc) for arc in wraps(driver, driven, centre))
    assert centre / INCH == expected(example, "centre_in")
    assert centre_approximate(driver, driven, length) / INCH == expected(example, "centre_in")
    assert speed_ratio(driver, driven) == expected(example, "ratio")
    assert small == expected(example, "exact_wrap_deg")
    assert large == expected(example, "large_wrap_deg")
    speed = belt_speed(driver, example["given"]["speed_rpm"] * RPM)
    assert from_si(float(speed), "ft/min", "speed") == expected(example, "speed_ft_min")


def test_the_printed_arc_is_a_hundredth_of_a_degree_off_for_the_reason_given() -> None:
    example = WENTZELL["14.2 drive"]
    small = np.degrees(wraps(4.0, 6.0, centre_from_length(4.0, 6.0, 54.0)).driver)
    assert small == expected(example, "wrap_deg")
    assert small != printed(example["printed"]["wrap_deg"])
    small_angle_form = 180 - 57.3 * (6.0 - 4.0) / 19.12
    assert small_angle_form == printed(example["printed"]["wrap_deg"])
