"""What has to be known of a drive before its start can be worked out: each number with how it came to be known.

Nothing is guessed that decides the answer: the motor's torques, the starter, the load and the machine's inertia have to
be entered. What bears on it less (the rotor, the sheaves, the belts' stretch) is estimated, and said to be.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, cast

from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.targets import Targets
from beltwright.bench.known import WHICH, Fact
from beltwright.errors import BeltwrightError
from beltwright.mechanics import friction, geometry, sheaves, stretch
from beltwright.mechanics.belt_train import Train, Which
from beltwright.mechanics.load_torque import LoadTorque, load_torque, rotor_inertia, sheave_inertia, wheel_inertia
from beltwright.mechanics.motor_feed import Feed, feeds
from beltwright.mechanics.motor_torque import TorqueCurve, design_torques, plate, pull_up_torque, torque_curve
from beltwright.mechanics.starting import shaft_torque, start_practice
from beltwright.plant.drive import Drive, Sheave
from beltwright.tables import load

DRY: Final = "dry and clean"
# bases on which the strands do not keep the mean they were set to
_GIVING: Final = ("pivoted", "sprung")
_GIVES: Final = "worked out as for a motor that stands fast: on a base that gives, the pull itself changes the tension"


@dataclass(frozen=True, slots=True)
class ToEnter:
    """What is missing: the column of the survey, and what to ask for."""

    column: str
    words: str


@dataclass(frozen=True, slots=True)
class Given:
    """Everything a start is worked out from. `facts` say how each number came to be known.

    train:      with the tension as read, or what stands in for it, and the grip of dry clean grooves
    poor_grip:  grip that the published ratings count on, about that of wet grooves
    caveat:     what of this drive the answer does not hold for, in a sentence; empty where all does
    """

    train: Train
    curve: TorqueCurve
    feeding: tuple[Feed, ...]
    load: LoadTorque
    poor_grip: float
    torque: float
    wrap: float
    half_angle: float
    facts: Mapping[str, Fact]
    tension_from: str
    caveat: str = ""


def missing(drive: Drive) -> tuple[ToEnter, ...]:
    """What has to be entered before the start of a drive can be worked out."""
    motor = drive.motor
    found = []
    if motor.power is None:
        found.append(ToEnter("motor_power", "the motor's rated power"))
    if motor.speed is None:
        found.append(ToEnter("motor_speed", "the motor's speed at full load"))
    if motor.design is None and (motor.locked_rotor is None or motor.breakdown is None):
        found.append(ToEnter("motor_design", "the motor's design letter, or its torques from the data sheet"))
    if motor.starting is None:
        found.append(ToEnter("starting", "how the motor is started"))
    if drive.start_load is None:
        found.append(ToEnter("start_load", "what kind of load it starts against"))
    if drive.inertia is None and (drive.wheel_diameter is None or drive.wheel_mass is None):
        found.append(ToEnter("driven_inertia", "the machine's inertia, or diameter and weight of its heavy wheel"))
    return tuple(found)


def asked_for(drive: Drive) -> bool:
    """Whether anything was entered that only a start needs: then it is worth saying what is missing still."""
    return drive.motor.starting is not None or drive.start_load is not None or drive.motor.design is not None


def not_known(targets: Targets) -> str:
    """What of the drive itself is not known yet, in words; empty where nothing is missing."""
    lacking = [words for name, words in (("driver_pitch", "the driver sheave"), ("driven_pitch", "the driven sheave"),
                                         ("mass", "the belt section"), ("belts", "the number of belts"),
                                         ("power", "the power")) if targets.fact(name) is None]
    if targets.span is None or targets.length is None:
        lacking.append("the centre distance")
    return ", ".join(lacking)


def given(targets: Targets, tension: Tension | None, asked: float | None = None) -> Given | None:
    """What a start of the drive is worked out from; none where something of it is missing.

    asked: a static tension to reckon with in place of the one read [N]
    errors: `BeltwrightError` where what was entered cannot be
    """
    drive = targets.drive
    if missing(drive) or not_known(targets):
        return None
    read = _tension(targets, tension, asked)
    if read is None:
        return None
    facts: dict[str, Fact] = {"tension": read[0]}
    curve, feeding = _motor(drive, facts)
    _inertias(targets, facts)
    wrap, half_angle, slips, grip, poor = _grip(targets, facts)
    _stretch(targets, tension, facts)
    radii = [0.5 * cast(float, targets.fact(f"{which}_pitch")) for which in WHICH]
    inertias = [facts[f"{which}_inertia"].value for which in WHICH]
    stiffness = facts["stiffness"].value
    swing = math.sqrt(stiffness * sum(radius**2 / inertia for radius, inertia in zip(radii, inertias, strict=True)))
    train = Train(inertias[0], inertias[1], radii[0], radii[1], stiffness,
                  start_practice("loss_factor") * stiffness / swing, read[0].value,
                  cast(float, targets.fact("belts")), cast(float, targets.fact("mass")), grip, slips)
    return Given(train, curve, feeding, _load(targets, facts, radii), poor, facts["torque"].value, wrap, half_angle,
                 facts, read[1], "" if targets.drive.base not in _GIVING else _GIVES)


def _tension(targets: Targets, tension: Tension | None, asked: float | None) -> tuple[Fact, str] | None:
    """The static tension to reckon with, and in words where it comes from."""
    if asked is not None:
        return Fact(asked, "force", "stated", "as asked for"), "as asked for"
    now = None if tension is None or tension.moved is not None else tension.strands
    if now is not None and now.mean > 0.0:
        words = f"as read on {now.at:%Y-%m-%d}"
        return Fact(now.mean, "force", "measured", words, spread=now.mean_spread), words
    if targets.set_to is None:
        return None
    words = "not read: middle of the run-in band"
    return Fact(sum(targets.set_to.run_in) / 2, "force", "assumed", words, ("bloch",)), words


def _motor(drive: Drive, facts: dict[str, Fact]) -> tuple[TorqueCurve, tuple[Feed, ...]]:
    motor = drive.motor
    power, speed = cast(float, motor.power), cast(float, motor.speed)
    torque = float(shaft_torque(power, speed))
    facts["torque"] = Fact(torque, "moment", "worked out", "from the plate's power and speed")
    shares = None if motor.design is None else design_torques(motor.design, power, speed)
    locked = motor.locked_rotor if motor.locked_rotor is not None else cast("tuple[float, ...]", shares)[0]
    pull_up = motor.pull_up if motor.pull_up is not None else pull_up_torque(motor.design or "B", locked)
    breakdown = motor.breakdown if motor.breakdown is not None else cast("tuple[float, ...]", shares)[2]
    for name, own, value in (("locked_rotor", motor.locked_rotor, locked), ("pull_up", motor.pull_up, pull_up),
                             ("breakdown", motor.breakdown, breakdown)):
        facts[name] = (Fact(value, "share", "stated", "the motor's data sheet") if own is not None else
                       Fact(value, "share", "published table", f"design {motor.design or 'B'}, the least it may be",
                            ("nema-mg1-12",), "memory"))
    field = plate(speed).synchronous
    return (torque_curve(torque, speed, locked, pull_up, breakdown),
            feeds(cast(str, motor.starting), field, torque, motor.start_time))


def _inertias(targets: Targets, facts: dict[str, Fact]) -> None:
    drive = targets.drive
    own = drive.motor.inertia
    rotor = own if own is not None else float(rotor_inertia(facts["torque"].value).middle)
    facts["rotor_inertia"] = (Fact(own, "inertia", "stated", "the motor's data sheet") if own is not None else
                              Fact(rotor, "inertia", "common practice", "estimated from the motor's torque, half of it "
                                   "to twice", ("practice",), "practice"))
    machine = drive.inertia
    if machine is not None:
        facts["machine_inertia"] = Fact(machine, "inertia", "stated", "as entered")
    else:
        machine = float(wheel_inertia(cast(float, drive.wheel_mass), cast(float, drive.wheel_diameter)))
        facts["machine_inertia"] = Fact(machine, "inertia", "common practice", "estimated from the wheel's weight and "
                                        "size", ("practice",), "practice")
    for which, first in (("driver", rotor), ("driven", machine)):
        sheave = _sheave(targets, which)
        facts[f"{which}_sheave_inertia"] = Fact(sheave, "inertia", "common practice", "estimated from the sheave's "
                                                "size", ("practice",), "practice")
        facts[f"{which}_inertia"] = Fact(first + sheave, "inertia", "worked out", "with its sheave")


def _sheave(targets: Targets, which: str) -> float:
    """Inertia of a sheave by its size; nought where its width is not known: it is the smaller part."""
    sheave: Sheave = getattr(targets.drive, which)
    outside, section = targets.fact(f"{which}_outside"), targets.known.section
    width = sheave.width
    if width is None and section is not None:
        try:
            grooves = sheave.grooves or cast(int, targets.belts)
            width = float(sheaves.face_width(grooves, section.name, section.standard))
        except BeltwrightError:
            width = None
    if outside is None or width is None:
        return 0.0
    return float(sheave_inertia(outside, width))


def _grip(targets: Targets, facts: dict[str, Fact]) -> tuple[float, float, Which, float, float]:
    """Wrap and half the groove angle of the sheave that lets go first, which that is, its grip dry and poor."""
    driver, driven = (cast(float, targets.fact(f"{which}_geometry")) for which in WHICH)
    wraps = geometry.wraps(driver, driven, cast(float, targets.centre))
    section = targets.known.section
    assert section is not None
    angles = [0.5 * float(sheaves.groove_angle(cast(float, targets.fact(f"{which}_pitch")), "pitch", section.name,
                                               section.standard)) for which in WHICH]
    row = load("groove_friction").where(grooves=DRY)[0]
    friction_of = cast(float, row["friction"])
    facts["friction"] = Fact(friction_of, "number", "published table", "rubber on iron, dry and clean", ("khurmi",),
                             "memory")
    arcs = [float(wraps.driver), float(wraps.driven)]
    ratios = [float(friction.wedge_ratio(friction_of, arc, angle)) for arc, angle in zip(arcs, angles, strict=True)]
    weak = 0 if ratios[0] <= ratios[1] else 1
    facts["ratio_dry"] = Fact(ratios[weak], "number", "worked out", "at which dry belts let go")
    poor = float(friction.ratio_at_arc(min(arcs)))
    facts["ratio_poor"] = Fact(poor, "number", "published table", "as the ratings count on",
                               ("shigley",), "read")
    facts["belt_height"] = Fact(section.height, "length", "published table", f"section {section.name}",
                                (section.source,), section.trust)
    slips: Which = "driver" if weak == 0 else "driven"
    return arcs[weak], angles[weak], slips, _share(ratios[weak]), _share(min(poor, ratios[weak]))


def _share(ratio: float) -> float:
    return (ratio - 1.0) / (ratio + 1.0)


def _stretch(targets: Targets, tension: Tension | None, facts: dict[str, Fact]) -> None:
    """How stiff the strands are: as the drive's own moves have shown, or as such belts usually are."""
    mass, span, belts = (cast(float, value) for value in (targets.mass, targets.span, targets.fact("belts")))
    taught = None if tension is None else tension.taught
    if taught is not None and taught.known and targets.growth is not None:
        rigidity = float(stretch.rigidity_from_slope(taught.slope, cast(float, targets.length), targets.growth))
        facts["rigidity"] = Fact(rigidity, "force", "worked out", "as this drive's own moves have shown", ("statics",))
    else:
        rigidity = float(stretch.usual_rigidity(mass).middle)
        facts["rigidity"] = Fact(rigidity, "force", "common practice", "as such belts usually are", ("practice",),
                                 "practice")
    facts["stiffness"] = Fact(2.0 * belts * rigidity / span, "stiffness", "worked out", "of both strands of all belts")


def _load(targets: Targets, facts: dict[str, Fact], radii: list[float]) -> LoadTorque:
    drive = targets.drive
    turned = cast(float, drive.motor.speed) * radii[0] / radii[1]
    power = targets.known.facts["power"]
    asked = power.value / turned
    facts["load_torque"] = Fact(asked, "moment", power.origin, f"at full speed; power {power.how}")
    return load_torque(cast(str, drive.start_load), asked, turned)
