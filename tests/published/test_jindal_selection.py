"""Jindal, Machine Design, examples 21-4 and 21-5: how many belts."""

from __future__ import annotations

import pytest

from beltwright.mechanics.adequacy import (
    belts_required,
    belts_to_fit,
    corrected_power,
    design_power,
    enough_belts,
    service_factor_reached,
)
from tests.published.examples import examples, expected

JINDAL = examples("jindal_selection")


def test_4_01_belts_are_five() -> None:
    example = JINDAL["21-5"]
    given = example["given"]
    power = corrected_power(given["rated_power_kW"], given["arc_factor"], given["length_factor"])
    assert belts_required(given["design_power_kW"], power) == expected(example, "belts")
    taken = example["misprint"]["belts_to_fit"]
    assert belts_to_fit(given["design_power_kW"], power) == float(taken["recomputed"]) != float(taken["printed"])
    assert not enough_belts(float(taken["printed"]), given["design_power_kW"], power)
    short = 1 - service_factor_reached(given["design_power_kW"], power, float(taken["printed"]))
    assert 100 * short == pytest.approx(float(example["derived"]["service_factor_short_percent"]), abs=0.05)


def test_2_87_belts_are_three() -> None:
    example = JINDAL["21-4"]
    given = example["given"]
    needed = design_power(given["power_kW"], given["service_factor"])
    power = corrected_power(given["rated_power_kW"] * given["ratio_factor"], given["arc_factor"])
    assert belts_required(needed, power) == expected(example, "belts")
    assert belts_to_fit(needed, power) == float(example["printed"]["belts_to_fit"])
