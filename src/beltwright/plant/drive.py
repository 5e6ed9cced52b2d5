"""A drive as it stands in the plant: what can be read at the machine, nothing computed.

Everything but tag, name and place may be unknown (None): a drive is entered with what could be read, and the bench
says what else to read. A make-up (sheaves, belts, centre) has dated versions, so that a reading is judged against
what was fitted that day.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from types import MappingProxyType
from typing import Final, Literal
from uuid import UUID

DiameterAs = Literal["outside", "datum", "pitch"]
LengthAs = Literal["datum", "inside", "outside", "effective", "pitch"]
Material = Literal["cast iron", "ductile iron", "steel"]
Shafts = Literal["horizontal", "vertical"]
Base = Literal["slide rails", "fixed", "pivoted", "sprung"]
DriverClass = Literal["normal torque", "high torque"]
Rotation = Literal["clockwise", "anticlockwise"]
Bearing = Literal["ball", "roller"]
Design = Literal["A", "B", "C", "D"]
Starting = Literal["straight on the line", "star-delta", "soft starter", "frequency drive"]
StartLoad = Literal["fan", "centrifugal pump", "piston pump or compressor", "conveyor", "crusher, started empty",
                    "mill, started empty", "steady torque"]
# whose lengths and grooves the marking follows; never guessed from another
Standard = Literal["rma", "din", "is", "iso"]

STANDARDS: Final[Mapping[Standard, str]] = MappingProxyType({
    "rma": "inch, RMA IP-20 and IP-22",
    "din": "DIN 2215, inside lengths in mm",
    "is": "IS 2494, inside lengths in mm",
    "iso": "ISO 4184, datum lengths in mm",
})


@dataclass(frozen=True, slots=True)
class Shaft:
    """The shaft behind a sheave, as far as it bears on the belt's pull.

    overhang:     load centre of the sheave to the near bearing [m]
    bearing_span: near bearing to far bearing [m]
    rating:       basic dynamic load rating of the near bearing [N]
    """

    overhang: float | None = None
    bearing_span: float | None = None
    bearing: Bearing | None = None
    rating: float | None = None


@dataclass(frozen=True, slots=True)
class Sheave:
    """A grooved pulley: one diameter, and which diameter it is.

    diameter: [m]; `diameter_as` says whether outside (tape or caliper), datum or pitch (stamped, from a list)
    width:    face width over all grooves [m]
    """

    diameter: float | None = None
    diameter_as: DiameterAs | None = None
    grooves: int | None = None
    material: Material | None = None
    width: float | None = None
    shaft: Shaft = Shaft()


@dataclass(frozen=True, slots=True)
class Belts:
    """The set on the drive.

    section: `B`, `5V`, `SPB`, ...; marking: as printed on the belt, `B112`, `SPB 2500`
    length:  [m], as `length_as` says; mass: weighed, one strand [kg/m]
    power:   one belt's rating from its own table, at this drive's speed and small sheave [W]
    """

    section: str | None = None
    marking: str | None = None
    standard: Standard | None = None
    length: float | None = None
    length_as: LengthAs | None = None
    count: int | None = None
    joined: bool = False
    mass: float | None = None
    power: float | None = None
    make: str | None = None
    fitted_on: date | None = None


@dataclass(frozen=True, slots=True)
class Motor:
    """What drives: rated power [W] and speed [rad/s], frame as on the plate, the torque class of the service table.

    foot_spread: between the front and back feet, along the shaft [m]; foot_width: across [m];
    foot_reach: from the front feet to the middle of the sheave, along the shaft [m]
    shaft_height: from the feet to the middle of the shaft [m]
    design:       NEMA design letter; inertia: of its rotor [kg m2]
    locked_rotor, pull_up, breakdown: torque held still, least on the way up, greatest, each over full-load torque [-]
    starting:     how it is started; start_time: ramp, or time in star [s]
    lowest_speed, highest_speed: between which a motor of variable speed is run [rad/s]
    """

    power: float | None = None
    speed: float | None = None
    frame: str | None = None
    torque: DriverClass | None = None
    foot_spread: float | None = None
    foot_width: float | None = None
    foot_reach: float | None = None
    shaft_height: float | None = None
    design: Design | None = None
    inertia: float | None = None
    locked_rotor: float | None = None
    pull_up: float | None = None
    breakdown: float | None = None
    starting: Starting | None = None
    start_time: float | None = None
    lowest_speed: float | None = None
    highest_speed: float | None = None


@dataclass(frozen=True, slots=True)
class Drive:
    """A V-belt drive: two sheaves, a set of belts, what turns and what is turned.

    tag:          short, unique in the plant (`FAN-12`); name: what it turns; place: where, `Pelleting / Line 1`
    centre:       measured centre distance [m]
    driven_speed: as read by tachometer or from the plate [rad/s]
    ratio:        driver to driven speed, as stated
    service:      the driven machine, a row of the service-factor table
    hours_a_day:  running share of a day, 1 = all day
    incline:      line of centres from driver to driven, above the horizontal [rad]
    slack_off, take_up: travel the base has towards and away from the driven shaft [m]
    room:         room temperature [degC]
    needed_power: what the machine really takes, when measured [W]
    start_load:   what kind of load it starts against
    inertia:      of the driven machine at its own shaft [kg m2]; or of its wheel, by wheel_diameter [m] and
                  wheel_mass [kg]
    driver_pulses, driven_pulses: pushes a turn of each machine's shaft: blades, vanes, cylinders, beats
    pulsation:    how far the torque swings to either side of its mean, as a share of it
    """

    tag: str
    name: str
    place: str = ""
    motor: Motor = Motor()
    driver: Sheave = Sheave()
    driven: Sheave = Sheave()
    belts: Belts = Belts()
    centre: float | None = None
    driven_speed: float | None = None
    ratio: float | None = None
    service: str | None = None
    service_factor: float | None = None
    hours_a_day: float | None = None
    needed_power: float | None = None
    shafts: Shafts | None = None
    base: Base | None = None
    slack_off: float | None = None
    take_up: float | None = None
    incline: float | None = None
    rotation: Rotation | None = None
    room: float | None = None
    start_load: StartLoad | None = None
    inertia: float | None = None
    wheel_diameter: float | None = None
    wheel_mass: float | None = None
    driver_pulses: float | None = None
    driven_pulses: float | None = None
    pulsation: float | None = None
    note: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class MakeUp:
    """A drive as fitted from a day on: the version a reading of that time is judged against."""

    id: UUID
    drive_id: UUID
    since: datetime
    drive: Drive
    by: str
    noted_at: datetime
