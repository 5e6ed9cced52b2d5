"""Hamrock, Schmid and Jacobson, Fundamentals of Machine Elements, problem 19.14: power of a V belt."""

from __future__ import annotations

import math

from beltwright.mechanics.friction import wedge_ratio
from beltwright.units import from_si, to_si
from tests.published.examples import examples, expected


def test_19_14() -> None:
    example = examples("hamrock")["19.14"]
    given = example["given"]
    half_angle = math.radians(given["half_groove_deg"])
    assert given["friction"] / math.sin(half_angle) == expected(example, "friction_over_sine")
    net_tight = given["tight_lbf"] - given["centrifugal_lbf"]
    net_slack = given["slack_lbf"] - given["centrifugal_lbf"]
    ratio = wedge_ratio(given["friction"], math.radians(given["wrap_deg"]), half_angle)
    assert ratio == expected(example, "ratio")
    assert net_tight / net_slack == expected(example, "ratio")
    pull = to_si(given["tight_lbf"] - given["slack_lbf"], "lbf", "force")
    power = pull * to_si(given["speed_ft_min"], "ft/min", "speed")
    assert from_si(power, "hp", "power") == expected(example, "power_hp")
