"""ISO 4183 grooves, from memory: where angle and rim put the top width, and which sheave has which angle."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from beltwright.mechanics.grooves import grooves_of
from beltwright.mechanics.sheaves import groove_angle, outside_diameter
from beltwright.units import from_si
from tests.published.examples import examples, expected

GROOVES = examples("iso_grooves")


@pytest.mark.parametrize("example", GROOVES.values(), ids=list(GROOVES))
def test_top_width_follows_from_datum_width_rim_and_angle(example: dict[str, Any]) -> None:
    small, large = grooves_of(example["given"]["section"], "iso")
    assert from_si(small.top_width, "mm", "length") == expected(example, "top_small_mm")
    assert from_si(large.top_width, "mm", "length") == expected(example, "top_large_mm")


@pytest.mark.parametrize("example", GROOVES.values(), ids=list(GROOVES))
def test_outside_is_datum_and_two_rims(example: dict[str, Any]) -> None:
    given = example["given"]
    for name in (given["section"], given.get("narrow", given["section"])):
        rim = (outside_diameter(0.8, "datum", name, "iso") - 0.8) / 2
        assert from_si(float(rim), "mm", "length") == expected(example, "rim_mm")


@pytest.mark.parametrize("example", GROOVES.values(), ids=list(GROOVES))
def test_the_small_angle_ends_at_the_limit(example: dict[str, Any]) -> None:
    given = example["given"]
    sizes = (given["limit_mm"] + np.array([0.0, 1.0])) / 1000
    for name in (given["section"], given.get("narrow", given["section"])):
        below, beyond = np.degrees(groove_angle(sizes, "datum", name, "iso"))
        assert below == pytest.approx(36.0 if name in "DE" else 34.0)
        assert beyond == pytest.approx(38.0)
        by_rim = groove_angle(outside_diameter(sizes, "datum", name, "iso"), "outside", name, "iso")
        assert np.degrees(by_rim).tolist() == [below, beyond]
