"""Jiang's chart of the power a speed ratio adds: an independent reading of K2 and of the top ratio factors."""

from __future__ import annotations

import pytest

from beltwright.mechanics.rating import ratio_power
from beltwright.units import RPM, from_si
from tests.published.examples import examples

JIANG = examples("jiang_ratio")
AGREEMENT = JIANG["agreement"]["given"]


def charted(text: str) -> object:
    return pytest.approx(float(text), rel=AGREEMENT["relative"], abs=AGREEMENT["last_place"])


def added_kw(section: str, rpm: float, ratio: float) -> float:
    return from_si(float(ratio_power(section, rpm * RPM, ratio)), "kW", "power")


@pytest.mark.parametrize("section", ["A", "B", "C"])
def test_the_added_power_at_a_large_ratio(section: str) -> None:
    example = JIANG[section]
    for rpm, text in example["printed"].items():
        assert added_kw(section, float(rpm), example["given"]["ratio"]) == charted(text)


def test_the_upper_four_bands_in_order() -> None:
    example = JIANG["A at 2800 rpm, last four bands"]
    for ratio, text in zip(example["given"]["ratios"], example["printed"]["kW"], strict=True):
        assert added_kw("A", 2800, ratio) == pytest.approx(float(text), abs=0.0075)
