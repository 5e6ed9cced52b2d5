"""The figures that are limits: alignment over this centre, groove wear, run-out, rim speed, smallest sheaves, times."""

from __future__ import annotations

import math
from typing import Final, cast

from beltwright.bench.drive_figures import TENTHS, put, put_fact
from beltwright.bench.figure import Figure, Put, Working
from beltwright.bench.known import WHICH
from beltwright.bench.worked import Worked, value
from beltwright.errors import BeltwrightError
from beltwright.mechanics.misalignment import offset_at
from beltwright.mechanics.recheck import Recheck, recheck
from beltwright.mechanics.runout import sheave_limits
from beltwright.mechanics.sheave_limits import motor_sheave, rim_limit, rim_speed
from beltwright.plant.drive import Sheave
from beltwright.tables import Trust, load
from beltwright.units import System, show

HUNDREDTHS: Final[dict[System, int]] = {"si": 2, "inch": 3}
# the looks and readings a card names, new belts first
RECHECKS: Final = ("run-in", "first days", "season")


def limit_figures(worked: Worked) -> list[Figure]:
    """Every limit that a reading on this drive will be held against."""
    return [*_alignment(worked), *_wear(worked), *_runout(worked), *_rims(worked), *_smallest(worked), *_times()]


def _alignment(worked: Worked) -> list[Figure]:
    if worked.shape is None:
        return []
    centre = value(worked.shape.centre)
    found = []
    for key, title, name in (("alignment_limit", "Misalignment allowed over this centre", "acceptable"),
                             ("alignment_target", "Misalignment to aim for", "target")):
        row = load("alignment_limits").where(limit=name)[0]
        angle = row["angle"] if isinstance(row["angle"], float) else math.atan(float(row["slope"] or 0.0))
        working = Working("x = C tan a", (Put("a", str(row["words"]), angle, "angle", "published table", 2),
                          put("C", "centre distance", centre, "length", figure="centre")), (str(row["source"]),), "",
                          "reprint" if name == "acceptable" else "memory",
                          "offset and angle together, from sheave to sheave; two limits are in use, both are shown")
        found.append(Figure(key, title, "length", working, float(offset_at(angle, centre)), digits=TENTHS))
    return found


def _wear(worked: Worked) -> list[Figure]:
    joined = worked.known.drive.belts.joined
    row = load("wear_limits").where(belts="joined" if joined else "single")[0]
    return [Figure("groove_wear", "Dish of a groove flank, at most", "length", Working(
        "gauge and feeler, each flank", (), (str(row["source"]),), "", cast(Trust, row["trust"]),
        "tighter for joined belts" if joined else "joined belts ask for half of it"), cast(float, row["dish"]),
        digits=HUNDREDTHS)]


def _runout(worked: Worked) -> list[Figure]:
    known, found = worked.known, []
    for which in WHICH:
        if f"{which}_outside" not in known or known.section is None:
            continue
        sheave: Sheave = getattr(known.drive, which)
        outside = known.facts[f"{which}_outside"]
        rule = sheave_limits(outside.value, sheave.grooves or 1, known.section.name, known.section.standard)[0]
        for key, title, limit in (("radial", "radial", rule.radial), ("axial", "axial", rule.axial)):
            working = Working(f"by the rule of {rule.rule}", (put_fact("d_o", "outside diameter", outside, 1),),
                              (rule.source,), "", rule.trust, "dial gauge, one full turn by hand",
                              (rule.note,) if rule.note else ())
            found.append(Figure(f"runout_{key}_{which}", f"Run-out of the {which} sheave, {title}, full swing",
                                "length", working, limit, digits=HUNDREDTHS))
    return found


def _rims(worked: Worked) -> list[Figure]:
    known, found = worked.known, []
    for which in WHICH:
        sheave: Sheave = getattr(known.drive, which)
        if not {f"{which}_outside", f"{which}_rotation"} <= known.facts.keys():
            continue
        outside, turn = known.facts[f"{which}_outside"], known.facts[f"{which}_rotation"]
        speed = float(rim_speed(outside.value, turn.value))
        puts: tuple[Put, ...] = (put_fact("d_o", "outside diameter", outside, 1), put_fact("n", "shaft speed", turn))
        found.append(Figure(f"rim_speed_{which}", f"Rim speed of the {which} sheave", "speed", Working(
            "v = π d_o n", puts, ("statics",), "", "derived", "on the outside diameter"), speed))
        if sheave.material is not None:
            limit = rim_limit(sheave.material)
            found.append(Figure(f"rim_limit_{which}", f"Rim speed allowed, {sheave.material}", "speed", Working(
                "by material", (Put("", "material", sheave.material, origin="stated"),), (limit.source,), "",
                limit.trust, "the speed cast or stamped on the sheave goes before it"), limit.speed))
    return found


def _smallest(worked: Worked) -> list[Figure]:
    known, found = worked.known, []
    if known.section is not None:
        section = known.section
        found.append(Figure("smallest_sheave", f"Smallest sheave for section {section.name}, {section.smallest_as} "
                            "diameter", "length", Working("by section", (), (section.smallest_source,), "",
                                                          section.smallest_trust), section.smallest, digits=TENTHS))
    motor = known.drive.motor
    if motor.frame and motor.power is not None and motor.speed is not None and known.section is not None:
        try:
            row = motor_sheave(motor.frame, motor.power, motor.speed)
        except BeltwrightError:
            return found
        classical = known.section.system.diameter_as == "datum"
        least = row.classical_diameter if classical else row.narrow_outside
        if least is not None:
            found.append(Figure("smallest_on_motor", f"Smallest sheave on motor frame {row.frame}, "
                                f"{'pitch' if classical else 'outside'} diameter", "length", Working(
                "by frame, power and speed", (Put("", "frame", row.frame, origin="stated"),), (row.source,), "",
                row.trust, "60 Hz motors; below it shaft and bearings are overloaded"), least, digits=TENTHS))
    return found


def _times() -> list[Figure]:
    return [Figure(f"recheck_{name.replace(' ', '_')}", _title(found), "time", Working(
        found.words, (), (found.source,), "", found.trust, "running time" if found.clock == "running" else "calendar"),
        words=_when(found)) for name in RECHECKS for found in (recheck(name),)]


def _title(found: Recheck) -> str:
    who = "New belts" if found.belts == "new" else "All belts"
    return f"{who}: {'read and set again' if found.action == 'set' else 'read the tension'}"


def _when(found: Recheck) -> str:
    if found.clock == "calendar":
        return f"every {found.low / 86400 / 30.4:.0f} to {found.high / 86400 / 30.4:.0f} months"
    if found.high < 3600:
        return f"after {found.low / 60:.0f} to {found.high / 60:.0f} minutes of running"
    low, high = show(found.low, "time", "si"), show(found.high, "time", "si")
    return f"after {low.removesuffix(' h')} to {high} of running" if low != high else f"after {high} of running"
