"""Drives for the tests of judgement: a sound one, as cells of a survey, to be spoilt one reading at a time."""

from __future__ import annotations

import csv
from pathlib import Path

from beltwright.desk.survey import drive_from, read_rows, rows_from
from beltwright.plant.drive import Drive

# Shigley's example 17-4 as a mechanic would read it: 7.4 and 11.0 in sheaves, three B112, 10 hp at 1750 rpm
SOUND = {
    "tag": "FAN-1", "name": "fan", "motor_power_hp": "10", "motor_speed_rpm": "1750", "motor_frame": "215T",
    "driver_datum_in": "7.4", "driven_datum_in": "11.0", "driver_grooves": "3", "driven_grooves": "3",
    "driver_material": "cast iron", "driven_material": "cast iron", "belt_marking": "B112", "belt_count": "3",
    "centre_in": "42.4", "driven_speed_rpm": "1187", "service": "fans over 10 hp", "running_h_per_day": "16",
    "room_c": "25", "driven_overhang_mm": "100", "driven_bearing_span_mm": "500",
}


def a_drive(**cells: str | None) -> Drive:
    """The sound drive with some cells changed, added, or (None) left out."""
    return drive_from({name: text for name, text in {**SOUND, **cells}.items() if text is not None})


def demo_drives() -> tuple[Drive, ...]:
    """The invented plant of the examples."""
    path = Path(__file__).parents[2] / "examples" / "pellet_mill.csv"
    with path.open(encoding="utf-8", newline="") as file:
        understood = read_rows(rows_from(list(csv.DictReader(file, delimiter=";"))))
    assert not understood.problems
    return understood.drives
