"""Shigley's Mechanical Engineering Design, ch. 17: centre distance, arc of contact and belt speed."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from beltwright.mechanics.geometry import belt_speed, centre_approximate, centre_from_length, wraps
from beltwright.units import INCH, RPM, from_si
from tests.published.examples import examples, expected

SHIGLEY = examples("shigley_geometry")


@pytest.mark.parametrize("solve", [centre_from_length, centre_approximate])
@pytest.mark.parametrize("example", SHIGLEY.values(), ids=list(SHIGLEY))
def test_centre_wrap_and_speed(example: dict[str, Any], solve: object) -> None:
    assert callable(solve)
    given = example["given"]
    driver, driven, length = (given[key] * INCH for key in ("driver_in", "driven_in", "length_in"))
    centre = solve(driver, driven, length)
    figures = {"centre_in": centre / INCH, "wrap_deg": np.degrees(wraps(driver, driven, centre).driver),
               "speed_ft_min": from_si(float(belt_speed(driver, given["speed_rpm"] * RPM)), "ft/min", "speed")}
    for name in example["printed"] | example.get("derived", {}):
        assert figures[name] == expected(example, name), name
