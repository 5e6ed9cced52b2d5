"""The Guide's own examples: repeated readings, a bound, a step, and the end gauge with its few degrees of freedom."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from beltwright.mechanics.uncertainty import (
    bound_uncertainty,
    combined,
    coverage_factor,
    effective_degrees,
    expanded,
    repeat_uncertainty,
    resolution_uncertainty,
)
from tests.published import printed

EXAMPLES: dict[str, Any] = json.loads(Path(__file__).with_name("gum_examples.json").read_text(encoding="utf-8"))


def test_twenty_readings() -> None:
    example = EXAMPLES["repeat_readings"]
    assert repeat_uncertainty(example["readings_degC"]) == printed(example["uncertainty_of_mean_degC"])


def test_bound_and_step() -> None:
    assert bound_uncertainty(EXAMPLES["bound"]["bound"]) == printed(EXAMPLES["bound"]["uncertainty"])
    assert resolution_uncertainty(EXAMPLES["resolution"]["step"]) == printed(EXAMPLES["resolution"]["uncertainty"])


def test_end_gauge() -> None:
    example = EXAMPLES["end_gauge"]
    uncertainty = combined(example["parts_nm"])
    assert uncertainty == printed(example["combined_nm"])
    degrees = effective_degrees(example["parts_nm"], example["degrees"])
    assert math.floor(degrees) == example["degrees_used"]
    assert coverage_factor(degrees, example["level"]) == printed(example["coverage_factor"])
    assert expanded(float(example["combined_nm"]), degrees, example["level"]) == printed(example["expanded_nm"])
    assert expanded(uncertainty, degrees, example["level"]) == pytest.approx(float(example["expanded_nm"]), abs=1.0)
