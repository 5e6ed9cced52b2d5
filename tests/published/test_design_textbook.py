"""A design textbook's V-belt step: room for laying on and for take-up."""

from __future__ import annotations

from typing import Any

import pytest

from beltwright.mechanics.takeup import textbook_travel
from beltwright.units import from_si
from tests.published.examples import examples, expected

EXAMPLES = examples("design_textbook")


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=list(EXAMPLES))
def test_shortest_and_longest_centre(example: dict[str, Any]) -> None:
    given = example["given"]
    travel = textbook_travel(given["length_mm"] / 1000)
    assert given["centre_mm"] - from_si(float(travel.slack_off), "mm", "length") == expected(example, "shortest_mm")
    assert given["centre_mm"] + from_si(float(travel.take_up), "mm", "length") == expected(example, "longest_mm")
