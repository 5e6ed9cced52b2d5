"""The questions of a survey: what can be read at a machine, where to read it, and how a cell of a sheet is understood.

One list serves the sheet's columns, the template, the pages and the JSON face. A column that holds a quantity carries
its unit in its name: `centre_mm` and `centre_in` are the same question, and a row fills one of them.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from types import MappingProxyType
from typing import Final, get_args

from beltwright import units
from beltwright.errors import UnitError
from beltwright.plant.drive import STANDARDS, Starting, StartLoad

Answer = float | int | str | bool | date


@dataclass(frozen=True, slots=True)
class Column:
    """One question.

    path:  where the answer stands in the `Drive` record, dotted
    kind:  a quantity of `units.KINDS`, or `text`, `count`, `choice`, `yes or no`, `date`, `machine`
    marks: a second field that the column's name settles (`driver.diameter_as` = `outside`)
    low, high: SI, the range in which an answer is believed
    """

    name: str
    path: str
    kind: str
    ask: str
    look: str = ""
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    marks: tuple[str, str] | None = None
    units: tuple[str, ...] = ()


_INCH_TOO: Final = ("mm", "in")
_GROUPS: Final[dict[str, tuple[str, ...]]] = {
    "length": _INCH_TOO, "power": ("kW", "hp"), "rotation": ("rpm",), "temperature": ("degC", "degF"),
    "force": ("N", "lbf"), "mass per length": ("kg/m", "lb/ft"), "angle": ("deg",), "hours a day": ("h/d",),
    "inertia": ("kg m2", "lb ft2"), "short time": ("s",), "share": ("%",), "mass": ("kg", "lb"),
}


def _sheave(which: str) -> tuple[Column, ...]:
    def asked(name: str, of: str, look: str) -> Column:
        return Column(f"{which}_{name}", f"{which}.diameter", "length", f"{which} sheave, {of}", look,
                      low=0.03, high=4.0, marks=(f"{which}.diameter_as", name))

    return (
        asked("outside", "outside diameter", "over the rim: calliper, or tape round the rim divided by 3.1416"),
        asked("datum", "datum diameter", "stamped on the hub or rim, or from its list"),
        asked("pitch", "pitch diameter", "stamped on the hub or rim, or from its list"),
        Column(f"{which}_grooves", f"{which}.grooves", "count", f"{which} sheave, number of grooves",
               "count the grooves, also the empty ones", low=1, high=40),
        Column(f"{which}_material", f"{which}.material", "choice", f"{which} sheave, material",
               "grey and grainy where chipped: cast iron; stamped where ductile iron or steel",
               ("cast iron", "ductile iron", "steel")),
        Column(f"{which}_width", f"{which}.width", "length", f"{which} sheave, width over the rims",
               "rule across the face, rim to rim", low=0.008, high=1.5),
        Column(f"{which}_overhang", f"{which}.shaft.overhang", "length",
               f"{which} shaft, middle of the belts to the near bearing", "rule along the shaft, to the middle of the "
               "bearing housing", low=0.005, high=3.0),
        Column(f"{which}_bearing_span", f"{which}.shaft.bearing_span", "length",
               f"{which} shaft, near bearing to far bearing", "middle to middle of the housings", low=0.02, high=10.0),
        Column(f"{which}_bearing", f"{which}.shaft.bearing", "choice", f"{which} shaft, kind of near bearing",
               "from the bearing's number or the machine's papers", ("ball", "roller")),
        Column(f"{which}_bearing_rating", f"{which}.shaft.rating", "force",
               f"{which} shaft, dynamic load rating C of the near bearing", "from the bearing's own table",
               low=100.0, high=1e8),
    )


COLUMNS: Final[tuple[Column, ...]] = (
    Column("tag", "tag", "text", "tag of the drive", "on the machine or in the plant's list"),
    Column("name", "name", "text", "what it drives", "as people here call it"),
    Column("place", "place", "text", "where it stands", "building / line, with a slash between"),
    Column("motor_power", "motor.power", "power", "motor, rated power", "motor plate", low=10.0, high=5e6),
    Column("motor_speed", "motor.speed", "rotation", "motor, speed at full load", "motor plate", low=1.0, high=1300.0),
    Column("motor_frame", "motor.frame", "text", "motor, frame", "motor plate, such as 254T"),
    Column("motor_torque", "motor.torque", "choice", "motor, class of torque",
           "high torque: high slip, single-phase, series or compound wound, single-cylinder engine, clutch",
           ("normal torque", "high torque")),
    *_sheave("driver"),
    *_sheave("driven"),
    Column("belt_section", "belts.section", "text", "belt section", "printed on the belt, or by its top width"),
    Column("belt_marking", "belts.marking", "text", "marking printed on the belt",
           "on the back of the belt, such as B112, 5V1250, SPB 2500"),
    Column("belt_standard", "belts.standard", "choice", "whose lengths the marking follows",
           "; ".join(f"{key}: {words}" for key, words in STANDARDS.items()), tuple(STANDARDS)),
    *(Column(f"belt_length_{name}", "belts.length", "length", f"belt, {name} length", look, low=0.2, high=30.0,
             marks=("belts.length_as", name))
      for name, look in (("datum", "printed on the belt, or from its list"), ("inside", "tape inside the belt"),
                         ("outside", "tape round the back of the belt"),
                         ("effective", "printed on narrow belts, or from their list"))),
    Column("belt_count", "belts.count", "count", "number of belts on the drive", "count them", low=1, high=40),
    Column("belts_joined", "belts.joined", "yes or no", "belts joined by a common back", "one wide band: yes"),
    Column("belt_mass", "belts.mass", "mass per length", "belt, weighed mass per length of one strand",
           "weigh a belt, divide by its length and, for a band, by its ribs", low=0.005, high=5.0),
    Column("belt_power", "belts.power", "power", "power of one belt from its own table",
           "the belt's own rating table, at this small sheave and speed", low=10.0, high=5e5),
    Column("belt_make", "belts.make", "text", "make of the belts", "printed on the belt"),
    Column("belts_fitted_on", "belts.fitted_on", "date", "day the belts were fitted", "job papers; YYYY-MM-DD"),
    Column("centre", "centre", "length", "distance between the shafts",
           "tape, middle of one shaft to middle of the other", low=0.05, high=15.0),
    Column("driven_speed", "driven_speed", "rotation", "driven shaft, speed",
           "tachometer or strobe from outside the guard, or the machine's plate", low=0.5, high=1300.0),
    Column("ratio", "ratio", "number", "speed ratio, driver to driven", "machine's papers", low=0.05, high=20.0),
    Column("service", "service", "machine", "kind of driven machine", "nearest row of the service table"),
    Column("service_factor", "service_factor", "number", "service factor, if the plant sets its own",
           "plant's own rule", low=0.8, high=3.0),
    Column("running", "hours_a_day", "hours a day", "hours it runs in a day", "ask the operator",
           low=1 / 240, high=1.0),
    Column("needed_power", "needed_power", "power", "power the machine really takes", "measured at full load",
           low=1.0, high=5e6),
    Column("shafts", "shafts", "choice", "shafts", "which way the shafts point", ("horizontal", "vertical")),
    Column("base", "base", "choice", "motor base", "what the motor stands on",
           ("slide rails", "fixed", "pivoted", "sprung")),
    Column("slack_off", "slack_off", "length", "travel the motor has towards the driven shaft",
           "rule on the rails", low=0.0, high=2.0),
    Column("take_up", "take_up", "length", "travel the motor has away from the driven shaft",
           "rule on the rails", low=0.0, high=2.0),
    Column("incline", "incline", "angle", "line of centres above the horizontal, driver to driven",
           "level or by eye: 0 level, 90 driven straight above", low=-3.15, high=3.15),
    Column("rotation", "rotation", "choice", "rotation, seen from outside", "arrow on the guard",
           ("clockwise", "anticlockwise")),
    Column("room", "room", "temperature", "room temperature", "thermometer near the drive", low=-50.0, high=80.0),
    Column("foot_spread", "motor.foot_spread", "length", "motor feet, front to back, along the shaft",
           "bolt to bolt", low=0.03, high=3.0),
    Column("foot_width", "motor.foot_width", "length", "motor feet, side to side", "bolt to bolt", low=0.03, high=3.0),
    Column("foot_reach", "motor.foot_reach", "length", "motor, front feet to the middle of the belts",
           "rule along the shaft", low=0.0, high=3.0),
    Column("shaft_height", "motor.shaft_height", "length", "motor, feet to the middle of the shaft",
           "rule, from the base to the shaft's middle", low=0.02, high=1.5),
    Column("motor_design", "motor.design", "choice", "motor, design letter", "motor plate, DESIGN or DES",
           ("A", "B", "C", "D")),
    Column("starting", "motor.starting", "choice", "motor, how it is started", "the starter, or ask the electrician",
           get_args(Starting)),
    Column("start_time", "motor.start_time", "short time", "starter, time of the ramp, or in star",
           "as set at the starter", low=0.2, high=300.0),
    Column("motor_inertia", "motor.inertia", "inertia", "motor, inertia of its rotor", "motor's data sheet, J or WK2",
           low=1e-5, high=2000.0),
    *(Column(f"{name}_torque", f"motor.{name}", "share", f"motor, {words} over full-load torque",
             "motor's data sheet; goes before the design letter", low=0.2, high=6.0)
      for name, words in (("locked_rotor", "locked-rotor torque"), ("pull_up", "pull-up torque"),
                          ("breakdown", "breakdown torque"))),
    Column("start_load", "start_load", "choice", "load that it starts against", "nearest kind", get_args(StartLoad)),
    Column("driven_inertia", "inertia", "inertia", "driven machine, inertia at its own shaft",
           "machine's data sheet, J or WR2", low=1e-4, high=1e6),
    Column("wheel_diameter", "wheel_diameter", "length", "driven machine, diameter of its heavy wheel or rotor",
           "rule or data sheet, where no inertia is known", low=0.05, high=10.0),
    Column("wheel_mass", "wheel_mass", "mass", "driven machine, weight of that wheel", "data sheet or hoist scale",
           low=0.1, high=1e5),
    Column("motor_lowest_speed", "motor.lowest_speed", "rotation", "motor of variable speed, lowest it is run at",
           "as set at the frequency drive", low=0.5, high=1300.0),
    Column("motor_highest_speed", "motor.highest_speed", "rotation", "motor of variable speed, highest it is run at",
           "as set at the frequency drive", low=0.5, high=1300.0),
    *(Column(f"{which}_pulses", f"{which}_pulses", "number", f"{which} machine, pushes in one turn of its shaft",
             look, low=0.5, high=200.0)
      for which, look in (("driver", "an engine: its cylinders, half of them for a four-stroke; a motor: leave it out"),
                          ("driven", "count blades, vanes, beaters, or cylinders times their strokes"))),
    Column("pulsation", "pulsation", "share", "swing of the torque to either side of its mean",
           "machine's papers, or a load recorder: half of highest less lowest, over the mean", low=0.0, high=3.0),
    Column("note", "note", "text", "anything else", ""),
)


def units_of(column: Column) -> tuple[str, ...]:
    """The units a column may carry in its name; none for words, counts and plain numbers."""
    return column.units or _GROUPS.get(column.kind, ())


@cache
def by_header() -> Mapping[str, tuple[Column, str | None]]:
    """Every accepted column name: to its question, and to the unit of a bare number in it."""
    names: dict[str, tuple[Column, str | None]] = {}
    for column in COLUMNS:
        names[column.name] = (column, None)
        for unit in units_of(column):
            names[f"{column.name}_{units.tail(unit)}"] = (column, unit)
    return MappingProxyType(names)


def header(column: Column, system: units.System) -> str:
    """The column's name in a sheet of that system: `centre_mm` or `centre_in`."""
    choices = units_of(column)
    if not choices:
        return column.name
    unit = choices[-1] if system == "inch" else choices[0]
    return f"{column.name}_{units.tail(unit)}"


def understand(column: Column, typed: str, unit: str | None) -> Answer:
    """What was typed into a cell, as the record holds it; `UnitError` says what is wrong and what is accepted."""
    text = typed.strip()
    match column.kind:
        case "text":
            return text
        case "choice":
            return choice(text, column.choices)
        case "machine":
            return machine(text)
        case "yes or no":
            return yes_or_no(text)
        case "date":
            try:
                return date.fromisoformat(text[:10])
            except ValueError:
                raise UnitError(f"{text!r} is not a date: type it like 2026-11-25") from None
        case "count":
            value: float = units.parse_count(text)
        case _:
            value = units.parse(text, column.kind, default=unit)
    inches = unit is not None and unit != units.SHOWN["si"][column.kind].unit
    believe(value, column.kind, column.low, column.high, "inch" if inches else "si")
    return int(value) if column.kind == "count" else value


def choice(text: str, choices: tuple[str, ...]) -> str:
    """One of the words offered, whatever the case and the hyphens."""
    wanted = text.casefold().replace("-", " ").replace("_", " ")
    for word in choices:
        if word.casefold().replace("-", " ") == wanted:
            return word
    raise UnitError(f"{text!r} is not one of: {', '.join(choices)}", accepted=choices)


def machine(text: str) -> str:
    """A row of the service-factor table, whatever the case; `UnitError` offers the rows that come near."""
    from beltwright.mechanics.service import driven_machines  # only where a machine is named

    rows = {row.casefold(): row for row in driven_machines()}
    wanted = " ".join(text.casefold().split())
    if wanted in rows:
        return rows[wanted]
    stems = {word[:5].rstrip("s") for word in wanted.replace(",", " ").split() if len(word) > 2}
    near = [row for row in rows.values() if any(word.casefold().startswith(stem) for word in row.split()
                                                for stem in stems)]
    near += [rows[row] for row in difflib.get_close_matches(wanted, rows, n=3, cutoff=0.6) if rows[row] not in near]
    hint = f"did you mean {' or '.join(near[:4])}?" if near else "take the nearest row of the table"
    raise UnitError(f"{text!r} is no driven machine of the service table: {hint}", accepted=near[:4] or rows.values())


def yes_or_no(text: str) -> bool:
    """Yes or no, as people write it."""
    word = text.casefold()
    if word in ("yes", "y", "true", "1", "x"):
        return True
    if word in ("no", "n", "false", "0"):
        return False
    raise UnitError(f"{text!r} is neither yes nor no", accepted=("yes", "no"))


def believe(value: float, kind: str, low: float | None, high: float | None, system: units.System = "si") -> None:
    """Refuse a number that no drive has; the message gives the range that is believed, in the units typed."""
    if (low is not None and value < low) or (high is not None and value > high):
        if kind == "count":
            raise UnitError(f"{value:.0f} is outside what is believed here, {low:.0f} to {high:.0f}",
                            accepted=(f"{low:.0f} to {high:.0f}",))
        bounds = [_shown(bound, kind, system) for bound in (low, high) if bound is not None]
        raise UnitError(f"{_shown(value, kind, system)} is outside what is believed here, {' to '.join(bounds)}",
                        accepted=(" to ".join(bounds),))


def _shown(value: float, kind: str, system: units.System) -> str:
    size = abs(units.from_si(value, units.SHOWN[system][kind].unit, kind))
    digits = 0 if size >= 100 or size == round(size) else 1 if size >= 1 else 3
    return units.show(value, kind, system, digits=digits)
