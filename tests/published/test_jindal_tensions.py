"""Jindal, Machine Design, ch. 21: a V-flat drive, and a slip of sign."""

from __future__ import annotations

import math

from beltwright.mechanics.friction import (
    carried_tensions,
    centrifugal_tension,
    net_tensions,
    power_at_limit,
    v_flat_ratio,
    wedge_ratio,
)
from beltwright.mechanics.geometry import belt_speed, wraps
from beltwright.mechanics.tension import effective_pull
from beltwright.units import to_si
from tests.published import printed
from tests.published.examples import examples, expected

JINDAL = examples("jindal_tensions")


def test_21_1_the_flat_sheave_governs() -> None:
    example = JINDAL["21-1"]
    given = example["given"]
    small, large = wraps(given["driver_m"], given["driven_m"], given["centre_m"])
    half_angle = math.radians(given["half_groove_deg"])
    mass = given["area_mm2"] * 1e-6 * given["density_kg_m3"]
    limit = given["area_mm2"] * given["stress_MPa"]
    speed = belt_speed(given["driver_m"], to_si(given["speed_rpm"], "rpm", "rotation"))
    ratio = v_flat_ratio(given["friction"], small, half_angle, large)
    power = power_at_limit(limit, ratio, speed, mass)
    centrifugal = centrifugal_tension(mass, speed)
    strands = carried_tensions(*net_tensions(effective_pull(power, speed), ratio), centrifugal)
    assert math.log(ratio) == expected(example, "flat_exponent")
    assert math.log(wedge_ratio(given["friction"], small, half_angle)) == expected(example, "wedge_exponent")
    assert centrifugal == expected(example, "centrifugal_N")
    assert strands.tight == expected(example, "tight_N")
    assert strands.slack == expected(example, "slack_N")
    assert power == expected(example, "power_per_belt_W")
    needed = given["power_kW"] * 1e3 / power
    assert needed == expected(example, "belts_exact")
    assert math.ceil(needed) == expected(example, "belts")


def test_21_2_the_slack_side_is_printed_with_the_centrifugal_part_taken_off_twice() -> None:
    example = JINDAL["21-2"]
    given = example["given"]
    speed = belt_speed(given["driver_m"], to_si(given["speed_rpm"], "rpm", "rotation"))
    centrifugal = centrifugal_tension(given["mass_kg_m"], speed)
    assert centrifugal == expected(example, "centrifugal_N")
    misprint = example["misprint"]["slack_N"]
    net_slack = float(misprint["recomputed"]) - centrifugal
    assert net_slack - centrifugal == printed(misprint["printed"]), misprint["reason"]
