"""Khurmi and Gupta, Theory of Machines, ch. 11: V belts and ropes by wedge friction."""

from __future__ import annotations

import math

import pytest

from beltwright.mechanics.friction import (
    best_speed,
    centrifugal_tension,
    net_tensions,
    power_at_limit,
    wedge_ratio,
)
from beltwright.mechanics.geometry import belt_length, belt_speed, wraps
from beltwright.mechanics.tension import effective_pull, initial_with_centrifugal
from beltwright.units import from_si, to_si
from tests.published.examples import examples, expected

KHURMI = examples("khurmi")


def test_11_17_two_belts_at_their_allowable_stress_and_the_speed_for_most_power() -> None:
    example = KHURMI["11.17"]
    given = example["given"]
    mass = given["area_mm2"] * 1e-6 * given["density_kg_m3"]
    limit = given["area_mm2"] * given["stress_MPa"]
    speed = belt_speed(given["driver_m"], to_si(given["speed_rpm"], "rpm", "rotation"))
    ratio = wedge_ratio(given["friction"], math.radians(given["wrap_deg"]), math.radians(given["half_groove_deg"]))
    power = given["belts"] * power_at_limit(limit, ratio, speed, mass)
    centrifugal = centrifugal_tension(mass, speed)
    assert centrifugal == expected(example, "centrifugal_N")
    assert limit - centrifugal == expected(example, "net_tight_N")
    assert (limit - centrifugal) / ratio == expected(example, "net_slack_N")
    assert power / 1e3 == expected(example, "power_kW")
    fastest = from_si(float(2 * best_speed(limit, mass) / given["driver_m"]), "rpm", "rotation")
    assert fastest == expected(example, "best_speed_rpm")


def test_11_18_power_at_the_best_speed() -> None:
    example = KHURMI["11.18"]
    given = example["given"]
    limit = given["area_mm2"] * given["stress_MPa"]
    speed = best_speed(limit, given["mass_kg_m"])
    ratio = wedge_ratio(given["friction"], math.radians(given["wrap_deg"]), math.radians(given["half_groove_deg"]))
    power = power_at_limit(limit, ratio, speed, given["mass_kg_m"])
    strands = net_tensions(effective_pull(power, speed), ratio)
    assert speed == expected(example, "speed_m_s")
    assert strands.tight == expected(example, "net_tight_N")
    assert strands.slack == expected(example, "net_slack_N")
    assert power / 1e3 == expected(example, "power_kW")


def test_11_19_belts_needed_for_a_compressor() -> None:
    example = KHURMI["11.19"]
    given = example["given"]
    driver, driven, centre = given["driver_m"], given["driven_m"], given["centre_m"]
    wrap = wraps(driver, driven, centre).driver
    speed = to_si(given["speed_m_min"], "m/min", "speed")
    mass = given["area_mm2"] * 1e-6 * given["density_kg_m3"]
    limit = given["area_mm2"] * given["stress_MPa"]
    ratio = wedge_ratio(given["friction"], wrap, math.radians(given["half_groove_deg"]))
    power = power_at_limit(limit, ratio, speed, mass)
    strands = net_tensions(effective_pull(power, speed), ratio)
    needed = given["power_kW"] * 1e3 / power
    assert math.degrees(wrap) == expected(example, "wrap_deg")
    assert centrifugal_tension(mass, speed) == expected(example, "centrifugal_N")
    assert strands.tight == expected(example, "net_tight_N")
    assert strands.slack == expected(example, "net_slack_N")
    assert power / 1e3 == expected(example, "power_per_belt_kW")
    assert needed == expected(example, "belts_exact")
    assert math.ceil(needed) == expected(example, "belts")
    assert belt_length(driver, driven, centre) == expected(example, "length_m")


def test_11_22_initial_tension_of_each_rope() -> None:
    example = KHURMI["11.22"]
    given = example["given"]
    speed = belt_speed(given["driver_m"], to_si(given["speed_rpm"], "rpm", "rotation"))
    ratio = wedge_ratio(given["friction"], math.radians(given["wrap_deg"]), math.radians(given["half_groove_deg"]))
    pull = effective_pull(given["power_kW"] * 1e3 / given["ropes"], speed)
    strands = net_tensions(pull, ratio)
    assert ratio == expected(example, "ratio")
    assert pull == expected(example, "pull_N")
    assert strands.tight == expected(example, "net_tight_N")
    assert strands.slack == expected(example, "net_slack_N")
    assert initial_with_centrifugal(*strands, centrifugal=0.0) == expected(example, "initial_N")


def test_the_wrap_in_11_19_is_an_angle_in_radians_not_in_degrees() -> None:
    """A slip seen in a worked copy: 158 taken as radians. It would make the belt grip without limit."""
    given = KHURMI["11.19"]["given"]
    wrap = float(wraps(given["driver_m"], given["driven_m"], given["centre_m"]).driver)
    assert wrap == pytest.approx(2.758, abs=5e-4)
