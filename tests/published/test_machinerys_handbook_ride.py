"""Machinery's Handbook, 31st ed., table 9: a belt as wide as the datum width rides at the datum line, in any groove."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from beltwright.mechanics.wear import sound_ride

LINES = Path(__file__).with_name("machinerys_handbook_grooves.csv").read_text(encoding="utf-8").splitlines()
GROOVES = [row for row in csv.DictReader(LINES[1:]) if row["section"] in "ABCD"]


@pytest.mark.parametrize("row", GROOVES, ids=lambda row: f"{row['section']}{row['angle_deg']}")
def test_ride_of_the_datum_width_is_the_printed_step_to_the_datum_diameter(row: dict[str, str]) -> None:
    half_angle = np.radians(float(row["angle_deg"]) / 2)
    ride = sound_ride(float(row["datum_width_in"]), float(row["top_width_in"]), half_angle)
    # both widths are printed to 0.001 in: half of that each, through the flank
    assert -2 * ride == pytest.approx(float(row["outside_less_datum_in"]), abs=0.001 / np.tan(half_angle))
