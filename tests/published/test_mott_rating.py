"""Mott, example 7-1: the one outside point for the narrow rating, and it disagrees."""

from __future__ import annotations

import pytest

from beltwright.errors import NotKnown
from beltwright.mechanics.corrections import length_factor
from beltwright.mechanics.rating import coefficients, power_ip22, ratio_power
from beltwright.mechanics.service import service_factor
from beltwright.tables import load
from beltwright.units import HORSEPOWER, INCH, RPM, to_si
from tests.published.examples import examples, expected

EXAMPLE = examples("mott_rating")["7-1"]
GIVEN = EXAMPLE["given"]


def test_the_narrow_rating_lies_13_percent_above_the_printed_one() -> None:
    """Neither proof nor refutation: the chart is older than the equation. It is why the rating stays unverified."""
    pitch, rotation = GIVEN["pitch_in"] * INCH, GIVEN["rotation_rpm"] * RPM
    ratio = GIVEN["driven_in"] / GIVEN["pitch_in"]
    power = power_ip22(GIVEN["section"], pitch, rotation, ratio) / HORSEPOWER
    assert power == expected(EXAMPLE, "equation_hp")
    assert power_ip22(GIVEN["section"], pitch, rotation) / HORSEPOWER == expected(EXAMPLE, "basic_hp")
    assert ratio_power(GIVEN["section"], rotation, ratio, "ip22") / HORSEPOWER == expected(EXAMPLE, "added_hp")
    assert power / float(EXAMPLE["printed"]["power_hp"]) == expected(EXAMPLE, "equation_over_print")
    assert all(coefficients(section, "ip22").trust == "memory" for section in ("3V", "5V", "8V"))


def test_the_service_factor() -> None:
    found = service_factor(GIVEN["machine"], GIVEN["driver_class"], to_si(GIVEN["hours"], "h/d", "hours a day"))
    assert found.value == expected(EXAMPLE, "service_factor")
    # 12 hours lie between the printed bands: the reading across the gap is Mott's
    assert not found.printed
    assert "mott" in found.sources


def test_one_length_factor_of_a_narrow_belt_is_known_and_no_other_made_of_it() -> None:
    (row,) = load("narrow_length_factors").where(section=GIVEN["section"], number=float(GIVEN["length_number"]))
    assert row["factor"] == expected(EXAMPLE, "length_factor")
    assert row["trust"] == "read"
    with pytest.raises(NotKnown, match="5V"):
        length_factor("5V", 100 * INCH)
