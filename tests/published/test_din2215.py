"""DIN 2215 as given in DIN-Normen, part 107, table 441.1, and its length steps from a reprint."""

from __future__ import annotations

from typing import Any

import pytest

from beltwright.mechanics.lengths import convert_length, geometry_length, read_marking
from beltwright.mechanics.sections import section
from beltwright.units import from_si
from tests.published.examples import examples, expected

BELTS = examples("din2215")
FIELDS = {"width_mm": "width", "height_mm": "height", "datum_width_mm": "datum_width", "smallest_mm": "smallest"}


@pytest.mark.parametrize("example", BELTS.values(), ids=list(BELTS))
def test_sizes_as_printed(example: dict[str, Any]) -> None:
    belt = section(example["given"]["section"], "din")
    for figure, field in FIELDS.items():
        assert from_si(getattr(belt, field), "mm", "length") == expected(example, figure)
    assert (belt.smallest_as, belt.smallest_trust) == ("datum", "read")
    assert belt.cogged == example["given"]["section"].endswith("X")


@pytest.mark.parametrize("name", ["A", "B", "C"])
def test_lengths_step_as_printed(name: str) -> None:
    inside = 3.0
    datum = geometry_length(inside, "inside", name, "din")
    outside = convert_length(inside, "inside", "outside", name, "din")
    assert from_si(float(datum) - inside, "mm", "length") == expected(BELTS[name], "datum_less_inside_mm")
    assert from_si(float(outside) - inside, "mm", "length") == expected(BELTS[name], "outside_less_inside_mm")


@pytest.mark.parametrize("name", ["Z", "A", "B", "C", "D", "E"])
def test_a_marking_by_top_width_is_the_section_of_that_width(name: str) -> None:
    width = BELTS[name]["printed"]["width_mm"]
    belt = read_marking(f"{width}x3150 Li")
    assert (belt.section, belt.standard, belt.length, belt.length_as) == (name, "din", 3.15, "inside")
