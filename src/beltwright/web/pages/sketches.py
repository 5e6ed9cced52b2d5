"""Which sketch shows where an answer of the survey is read: one for each question, by column name.

The sketches themselves stand in `_sketch.html`. A question without a line here shows the machine's papers.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

PAPER: Final = "paper"
# those of both sheaves, and of both shafts
_OF_SHEAVE: Final = {"outside": "outside", "grooves": "grooves", "material": "material", "datum": "stamped",
                     "pitch": "stamped", "width": "width", "overhang": "overhang", "bearing_span": "bearing_span",
                     "bearing": "bearing", "bearing_rating": "table"}
_OTHERS: Final = {
    "belt_length_datum": "belt_printed", "belt_length_inside": "belt_inside", "belt_length_outside": "belt_outside",
    "belt_length_effective": "belt_printed", "belt_power": "table", "belts_fitted_on": "day", "running": "hours",
    "ratio": "paper", "service_factor": "paper", "needed_power": "meter", "starting": "starter",
    "driven_inertia": "paper", "motor_inertia": "paper", "locked_rotor_torque": "torque_curve",
    "pull_up_torque": "torque_curve", "breakdown_torque": "torque_curve", "driven_pulses": "blades",
    "driver_pulses": "cylinders", "pulsation": "swing", "motor_lowest_speed": "frequency_drive",
    "motor_highest_speed": "frequency_drive"}
# questions whose sketch is called as they are
_AS_CALLED: Final = (
    "tag", "name", "place", "motor_power", "motor_speed", "motor_frame", "motor_torque", "motor_design",
    "belt_marking", "belt_count", "belts_joined", "belt_standard", "belt_section", "belt_mass", "belt_make", "centre",
    "slack_off", "take_up", "base", "shafts", "incline", "service", "driven_speed", "rotation", "room", "start_load",
    "start_time", "wheel_diameter", "wheel_mass", "foot_spread", "foot_width", "foot_reach", "shaft_height")
SKETCHES: Final = MappingProxyType({
    **{f"{which}_{name}": sketch for which in ("driver", "driven") for name, sketch in _OF_SHEAVE.items()},
    **_OTHERS, **{name: name for name in _AS_CALLED}})


def sketch_of(column: str) -> str:
    """The name of the sketch that shows where a column is read.

    >>> sketch_of("driven_outside"), sketch_of("something new")
    ('outside', 'paper')
    """
    return SKETCHES.get(column, PAPER)
