"""Shigley's Mechanical Engineering Design, ch. 17: strand tensions and initial tension, centrifugal part included."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from beltwright.mechanics.friction import carried_tensions, centrifugal_tension, net_tensions, ratio_at_arc
from beltwright.mechanics.geometry import belt_speed, centre_from_length, wraps
from beltwright.mechanics.sections import mass_of
from beltwright.mechanics.tension import (
    effective_pull,
    initial_with_centrifugal,
    initial_without_centrifugal,
    static_from_ratio,
)
from beltwright.units import FOOT, MINUTE, POUND_FORCE, from_si, to_si
from tests.published import printed
from tests.published.examples import examples, expected

SHIGLEY = examples("shigley_tensions")


def worked(given: dict[str, Any]) -> dict[str, float]:
    """Every figure of the book's procedure, in its units."""
    driver, driven, length = (to_si(given[key], "in", "length") for key in ("driver_in", "driven_in", "length_in"))
    centre = centre_from_length(driver, driven, length)
    wrap = wraps(driver, driven, centre).driver
    speed = belt_speed(driver, to_si(given["speed_rpm"], "rpm", "rotation"))
    # Kc (V/1000)^2 pounds is m v^2: the mass behind the book's centrifugal constant
    mass = given["centrifugal_lbf_per_kfpm2"] * POUND_FORCE / (1000 * FOOT / MINUTE) ** 2
    ratio = ratio_at_arc(wrap)
    design_power = to_si(given["power_hp"], "hp", "power") * given["service_factor"]
    centrifugal = centrifugal_tension(mass, speed)
    net = net_tensions(effective_pull(design_power, speed) / given["belts"], ratio)
    carried = carried_tensions(*net, centrifugal)
    initial = initial_without_centrifugal(*carried, centrifugal)
    # the same tension by the other definition, and as the static tension to set
    assert initial_with_centrifugal(*net, centrifugal) == pytest.approx(initial + centrifugal, rel=1e-12)
    static = static_from_ratio(design_power, given["belts"], speed, mass, ratio)
    assert static == pytest.approx(initial + centrifugal, rel=1e-12)
    forces = {"pull": carried.tight - carried.slack, "centrifugal": centrifugal, "tight": carried.tight,
              "slack": carried.slack, "initial": initial}
    return {"speed_ft_min": from_si(float(speed), "ft/min", "speed"), "ratio": float(ratio),
            "wrap_deg": float(np.degrees(wrap)),
            **{f"{name}_lbf": from_si(float(force), "lbf", "force") for name, force in forces.items()}}


@pytest.mark.parametrize("example", SHIGLEY.values(), ids=list(SHIGLEY))
def test_strands_and_initial_tension(example: dict[str, Any]) -> None:
    figures = worked(example["given"])
    for name in example.get("printed", {}) | example.get("derived", {}):
        assert figures[name] == expected(example, name), name


def test_the_published_centrifugal_constant_is_a_mass_within_the_spread_of_the_lists() -> None:
    """Kc of section B, 0.965, is 0.166 kg/m: the lightest of the published masses."""
    mass = 0.965 * POUND_FORCE / (1000 * FOOT / MINUTE) ** 2
    spread = mass_of("B")
    assert mass == printed("0.166")
    assert spread.low <= mass * (1 + 3e-3)
    assert mass <= spread.high
