"""The steps of a survey: which questions stand on one screen, in the order in which one walks round a drive.

Every question of `desk.columns` has its place in exactly one step: first those that are asked of every drive, then
those that only few can or need to answer. A sketch of where each is read goes by its name (`sketches`).
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from beltwright.desk.columns import COLUMNS, Column


@dataclass(frozen=True, slots=True)
class Step:
    """One screen: its questions by column name, `more` for those that few answer."""

    key: str
    title: str
    where: str
    asks: tuple[str, ...]
    more: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """All its questions."""
        return self.asks + self.more


def _sheave(which: str, where: str) -> Step:
    return Step(which, f"{which.capitalize()} sheave", where,
                (f"{which}_outside", f"{which}_grooves", f"{which}_material"),
                (f"{which}_datum", f"{which}_pitch", f"{which}_width"))


_SHAFTS: Final = tuple(f"{which}_{name}" for which in ("driver", "driven")
                       for name in ("overhang", "bearing_span", "bearing", "bearing_rating"))
_ASKED: Final = (
    Step("drive", "Which drive it is", "The tag on the machine or in the plant's list.", ("tag", "name", "place")),
    Step("motor", "Motor", "All of it stands on the motor's plate.", ("motor_power", "motor_speed"),
         ("motor_frame", "motor_torque")),
    _sheave("driver", "The sheave on the motor. Measure over the rim, or read what is stamped on it."),
    _sheave("driven", "The sheave on the machine. Measure over the rim, or read what is stamped on it."),
    Step("belts", "Belts", "Printed on the back of the belt; turn it by hand, locked out, until you see it.",
         ("belt_marking", "belt_count", "belts_joined"),
         ("belt_standard", "belt_section", "belt_length_datum", "belt_length_inside", "belt_length_outside",
          "belt_length_effective", "belt_power", "belt_mass", "belt_make", "belts_fitted_on")),
    Step("centre", "Distance and base", "From the middle of one shaft to the middle of the other.",
         ("centre", "slack_off", "take_up"), ("base", "shafts", "incline")),
    Step("running", "What it turns, and how", "Ask the operator; take speeds from outside the guard.",
         ("service", "running", "driven_speed"), ("rotation", "room", "ratio", "service_factor", "needed_power")),
    Step("start", "How it starts", "Only to work out whether it slips and squeals at the start. Leave it out when in "
         "doubt.", ("motor_design", "starting", "start_load"),
         ("start_time", "driven_inertia", "wheel_diameter", "wheel_mass", "motor_inertia", "locked_rotor_torque",
          "pull_up_torque", "breakdown_torque")),
    Step("whip", "What shakes the belts", "Only to work out whether a span swings in step with what shakes it. Leave "
         "it out when in doubt.", ("driven_pulses", "pulsation"),
         ("driver_pulses", "motor_lowest_speed", "motor_highest_speed")),
    Step("shafts", "Shafts, bearings, feet", "Only for the load on the bearings and for shims under the feet. Leave it "
         "out when in doubt.", (), _SHAFTS),
)
# asked on the last screen, when all is looked over
LAST: Final = ("note",)


def _with_the_rest(asked: tuple[Step, ...]) -> tuple[Step, ...]:
    """A question that has no place yet is asked on the last screen but one."""
    placed = {name for step in asked for name in step.names}
    rest = tuple(column.name for column in COLUMNS if column.name not in placed and column.name not in LAST)
    last = asked[-1]
    return (*asked[:-1], Step(last.key, last.title, last.where, last.asks, last.more + rest))


STEPS: Final[tuple[Step, ...]] = _with_the_rest(_ASKED)
BY_KEY: Final = MappingProxyType({step.key: step for step in STEPS})
COLUMN: Final = MappingProxyType({column.name: column for column in COLUMNS})


def step_of(name: str) -> Step:
    """The step on which a column is asked; the first one for a column there is none of."""
    return next((step for step in STEPS if name in step.names), STEPS[0])


def columns_of(step: Step) -> tuple[Column, ...]:
    """The questions of a step."""
    return tuple(COLUMN[name] for name in step.names)
