"""What was measured, seen or heard at a drive: facts, added and never changed.

A correction is a new reading that supersedes the old one and says why. `KINDS` says, for each kind of reading, which
values it holds; prompts, sheet columns, forms and the JSON face are all made from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Final, Literal
from uuid import UUID

from beltwright.plant.trouble import ANSWERS, CAUSES, DEAD_LOOKS, SIGNS, VERDICTS

State = Literal["as found", "as left", "running", "in between"]
Value = float | int | str | bool


@dataclass(frozen=True, slots=True)
class Field:
    """One value of a reading: its name, what to ask, and its kind.

    kind: a quantity of `units.KINDS`, or `count`, `choice`, `yes or no`, `text`
    """

    name: str
    ask: str
    kind: str
    choices: tuple[str, ...] = ()
    required: bool = True
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of reading: what it is called, whether hands are near the belts, and its values in order."""

    name: str
    title: str
    hands_on: bool
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """A fact noted at a drive. `values` are SI, by field name; `typed` is what the person typed, by the same names."""

    id: UUID
    drive_id: UUID
    kind: str
    state: State
    values: Mapping[str, Value]
    typed: Mapping[str, str]
    taken_at: datetime
    by: str
    job_id: UUID | None = None
    supersedes: UUID | None = None
    reason: str = ""
    note: str = ""
    method: str = ""
    extra: Mapping[str, str] = field(default_factory=dict)


_BELT: Final = Field("belt", "which belt, counted from the motor side", "count", low=1, high=40)
_SHEAVE: Final = Field("sheave", "which sheave", "choice", ("driver", "driven"))
_GROOVE: Final = Field("groove", "which groove, counted from the motor side", "count", low=1, high=40)

# outer: away from the motor, the side one stands at with the guard off; inner: towards the motor
FACES: Final[tuple[str, ...]] = ("outer", "inner")
# with the belts on, sheaves of unequal size never stand half a turn on together: then turn and note one at a time
TURNED: Final[tuple[str, ...]] = ("neither", "both", "driver", "driven")

# rows of the table `instruments`: what each is good for
FORCE_GAUGES: Final[tuple[str, ...]] = ("plunger force gauge", "spring scale", "digital force gauge")

PARTS: Final[tuple[str, ...]] = ("belts", "sheave", "bushing or key", "bearing", "bolts", "guard part", "other")

SEEN: Final[tuple[str, ...]] = (
    "cracked", "frayed", "swollen", "glazed", "turned over", "oil or grease", "caked dirt", "missing belt",
    "foreign matter in groove", "squeal at start", "squeal at peak load", "slack side bows", "slack side uneven",
    "whipping", "jumped off", "smell of rubber", "belt dressing", "guard damaged", "hold-down bolts loose",
    "grooves hot to the hand", "nothing wrong",
)

KINDS: Final[Mapping[str, Kind]] = MappingProxyType({kind.name: kind for kind in (
    Kind("force", "Deflection force at mid-span", True, (
        Field("belt", "which belt, counted from the motor side (0 for a joined band)", "count", low=0, high=40),
        Field("force", "force at the mark", "force", low=0.1, high=5000),
        Field("deflection", "deflection, if not the card's", "length", required=False, low=0.0005, high=0.3),
        Field("span", "span, if measured", "length", required=False, low=0.02, high=20),
        Field("gauge", "which gauge, if not a plunger", "choice", FORCE_GAUGES, required=False),
    )),
    Kind("frequency", "Note of the plucked span", True, (
        Field("belt", "which belt, counted from the motor side (0 for a joined band)", "count", low=0, high=40),
        Field("frequency", "frequency", "frequency", low=1, high=500),
        Field("span", "span, if measured", "length", required=False, low=0.02, high=20),
        Field("uncertainty", "uncertainty of the frequency", "frequency", required=False, low=0, high=100),
    )),
    Kind("alignment", "Straightedge or string across both sheaves", True, (
        Field("face", "which face", "choice", FACES),
        Field("turned", "which sheaves stand half a turn on since the first reading", "choice", TURNED),
        Field("height", "how far the line lies above the line of the shafts (below is minus), if not along it",
              "length", required=False, low=-1, high=1),
        Field("driver_far", "gap at the driver's far rim", "length", low=0, high=0.1),
        Field("driver_near", "gap at the driver's near rim", "length", low=0, high=0.1),
        Field("driven_near", "gap at the driven's near rim", "length", low=0, high=0.1),
        Field("driven_far", "gap at the driven's far rim", "length", low=0, high=0.1),
        Field("resolution", "finest step you could read", "length", required=False, low=1e-6, high=0.005),
    )),
    Kind("tilt", "Tilt of both sheaves, level on the face", True, (
        Field("turned", "which sheaves stand half a turn on since the first reading", "choice", TURNED),
        Field("driver_tilt", "driver's tilt out of the vertical, top outward is plus", "angle", low=-0.3, high=0.3),
        Field("driven_tilt", "driven's tilt out of the vertical, top outward is plus", "angle", low=-0.3, high=0.3),
        Field("resolution", "finest step you could read", "angle", required=False, low=1e-6, high=0.05),
    )),
    Kind("rim", "Rim edge to groove", True, (
        _SHEAVE,
        Field("face", "from which face", "choice", FACES),
        Field("thickness", "that face to the middle of the groove of the belt next to it", "length",
              low=0.001, high=0.3),
        Field("resolution", "finest step you could read", "length", required=False, low=1e-6, high=0.005),
    )),
    Kind("run-out", "Run-out by dial gauge, full turn", True, (
        _SHEAVE,
        Field("radial", "radial, full swing of the dial", "length", required=False, low=0, high=0.02),
        Field("axial", "axial at the rim, full swing of the dial", "length", required=False, low=0, high=0.02),
    )),
    Kind("groove", "Groove wear by gauge and feeler", True, (
        _SHEAVE, _GROOVE,
        Field("left", "dish of the flank towards the motor", "length", low=0, high=0.01),
        Field("right", "dish of the flank away from the motor", "length", low=0, high=0.01),
        Field("shine", "bottom of the groove shiny", "yes or no", required=False),
        Field("resolution", "finest feeler you had", "length", required=False, low=1e-6, high=0.001),
    )),
    Kind("ride", "Ride of the belt over the rim", True, (
        _SHEAVE, _GROOVE,
        Field("height", "top of belt above the rim (below is minus)", "length", low=-0.05, high=0.02),
    )),
    Kind("belt length", "Length of one belt, measured off the drive", True, (
        _BELT,
        Field("length", "length", "length", low=0.1, high=30),
        Field("resolution", "finest step you could read", "length", required=False, low=1e-6, high=0.02),
    )),
    Kind("bow", "Bow of the slack side, seen through the guard", False, (
        _BELT,
        Field("bow", "bow of the slack side, from straight to the deepest point", "length", low=0, high=1),
        Field("span", "span, if measured", "length", required=False, low=0.02, high=20),
    )),
    Kind("belt", "What is on the drive, belt by belt", True, (
        _BELT,
        Field("make", "make", "text", required=False),
        Field("marking", "marking", "text", required=False),
        Field("age", "running time on the drive", "time", required=False, low=0, high=1e9),
    )),
    Kind("speed", "Speeds by tachometer or strobe, from outside the guard", False, (
        Field("driver_speed", "driver speed", "rotation", low=0.1, high=3000),
        Field("driven_speed", "driven speed", "rotation", low=0.1, high=3000),
        Field("resolution", "finest step of the instrument", "rotation", required=False, low=1e-4, high=5),
    )),
    Kind("temperature", "Temperature", False, (
        Field("where", "of what", "choice",
              ("belt", "driver groove", "driven groove", "driver bearing", "driven bearing", "room")),
        Field("temperature", "temperature", "temperature", low=-60, high=300),
    )),
    Kind("seen", "Seen, heard or smelt", False, (
        Field("what", "what", "choice", SEEN),
        Field("belt", "which belt, if one", "count", required=False, low=1, high=40),
    )),
    Kind("motor move", "How far the centre distance was changed", True, (
        Field("move", "away from the driven shaft is plus", "length", low=-0.5, high=0.5),
    )),
    Kind("hours", "Running hours since the belts were fitted", False, (
        Field("hours", "running hours", "time", low=0, high=1e9),
    )),
    Kind("part", "A part used", False, (
        Field("part", "which part", "choice", PARTS),
        Field("what", "what is printed on it: marking, make, lot", "text"),
        Field("count", "how many", "count", required=False, low=1, high=1000),
    )),
    Kind("power", "Power the motor takes", False, (
        Field("power", "power", "power", low=1, high=1e8),
    )),
    Kind("answer", "Answer to a question on why it fails", False, (
        Field("sign", "which sign", "choice", SIGNS),
        Field("answer", "is it there", "choice", ANSWERS),
    )),
    Kind("cause", "Cause of trouble confirmed, ruled out or cured", False, (
        Field("cause", "which cause, if it is known", "choice", CAUSES, required=False),
        Field("verdict", "what became of it", "choice", VERDICTS),
        Field("proof", "the reading or sight that proves it", "text", required=False),
    )),
    Kind("belts failed", "Belts failed", False, (
        Field("count", "how many belts", "count", low=1, high=40),
        Field("hours", "running hours since they were fitted", "time", required=False, low=0, high=1e9),
        Field("look", "how the worst of them looks", "choice", DEAD_LOOKS, required=False),
        Field("look_too", "what else shows on it", "choice", DEAD_LOOKS, required=False),
        Field("cause", "what it was put down to", "choice", CAUSES, required=False),
    )),
)})
