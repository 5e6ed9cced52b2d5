"""ISO 3: metric sheaves and narrow belts come in preferred numbers of the R40 series, digit for digit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from beltwright.mechanics.sheaves import standard_diameters
from beltwright.mechanics.standard_lengths import standard_lengths

R40 = Path(__file__).with_name("iso3_r40.csv").read_text(encoding="utf-8").split()[-40:]
DIGITS = {text.replace(".", "").rstrip("0") for text in R40}


def digits(number: int) -> str:
    return str(number).rstrip("0")


def test_the_series_itself_is_forty_rounded_steps_of_one_decade() -> None:
    steps = 10.0 ** (np.arange(40) / 40)
    assert np.array([float(text) for text in R40]) == pytest.approx(steps, rel=0.0127)


@pytest.mark.parametrize(("name", "whose"), [("3V", "rma"), ("5V", "rma"), ("8V", "rma"), ("SPZ", "iso"),
                                             ("SPA", "iso"), ("SPB", "iso"), ("SPC", "iso")])
def test_narrow_belt_numbers(name: str, whose: str) -> None:
    numbers = [belt.number for belt in standard_lengths(name, whose).belts]
    assert {digits(number) for number in numbers} <= DIGITS
    assert numbers == sorted(set(numbers))


@pytest.mark.parametrize("name", ["Z", "A", "B", "C", "D", "E", "SPZ", "SPA", "SPB", "SPC"])
def test_metric_sheaves(name: str) -> None:
    sizes = [round(size * 1000) for size in standard_diameters(name, "iso").diameters]
    assert {digits(size) for size in sizes} <= DIGITS
