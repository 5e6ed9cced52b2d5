"""The figures of tension and what it loads: static tension, its bands three ways, shafts, bearings, belt life."""

from __future__ import annotations

from typing import Final

from beltwright.bench.drive_figures import NEWTONS, measured, put, put_fact
from beltwright.bench.figure import Figure, Put, Working, weakest
from beltwright.bench.worked import Worked, spread, value
from beltwright.errors import BeltwrightError
from beltwright.mechanics.bearing_life import EXPONENTS, life_change, overhang_change, rating_life
from beltwright.mechanics.lengths import pitch_length
from beltwright.mechanics.life import belt_life, durability
from beltwright.mechanics.setting import SetTo
from beltwright.mechanics.shaft_load import bearing_loads
from beltwright.mechanics.tension import Band, static_bloch, static_rma
from beltwright.plant.drive import Shaft, Sheave
from beltwright.units import show

# over-tensioning that is shown as a warning: half as much again
OVER: Final = 1.5


def tension_figures(worked: Worked) -> list[Figure]:
    """Static tension and its bands as tension, force at the mark and note of the span."""
    made = worked.set_to
    if made is None:
        return []
    found = [_static(worked, made)]
    for state, title in (("run_in", "run-in belts"), ("new", "new belts")):
        tensions = getattr(made.tensions, state)
        found.append(_band(f"tension_{state}", f"Static tension, {title}", "force", tensions,
                           _band_working(made, state)))
        found.append(_band(f"force_{state}", f"Force at the mark, {title}, each belt", "force",
                           getattr(made.forces, state), _force_working(worked, tensions)))
        if worked.known.drive.belts.joined and "belts" in worked.known:
            found.append(_whole_band(worked, state, title))
        found.append(_band(f"frequency_{state}", f"Note of the plucked span, {title}", "frequency",
                           getattr(made.frequencies, state), _note_working(worked, made, tensions)))
    return found


def _static(worked: Worked, made: SetTo) -> Figure:
    known = worked.known
    belts, mass = known.value("belts"), known.facts["mass"]
    asked, speed, factor = value(made.design_power), value(made.speed), value(made.arc_factor)
    wrap = min(value(made.driver_wrap), value(made.driven_wrap))
    others = tuple(Put("", f"not used: {name}", float(tension), "force") for name, tension in (
        ("by the handbook's form, base m v²/2", static_bloch(asked, belts, speed, mass.value, wrap)),
        ("by the inch association's form, its constant rounded down",
         static_rma(asked, belts, speed, mass.value, factor))))
    return measured("static_tension", "Static tension of one strand", "force", made.tension, Working(
        "T = ½ (2.5/K − 1) P_d/(N v) + m v²",
        (put("K", "arc of contact", factor, digits=3),
         put("P_d", "design power", asked, "power", figure="design_power"),
         put("N", "belts", belts, digits=0), put("v", "belt speed", speed, "speed", figure="belt_speed"),
         put_fact("m", "mass of one strand", mass, digits=3), *others), ("gbt13575", *mass.sources), "",
        weakest("reprint", mass.trust), "tight to slack 5 to 1 at half a turn of contact, at the design power"),
        NEWTONS)


def _band(key: str, title: str, kind: str, band: Band, working: Working) -> Figure:
    return Figure(key, title, kind, working, low=value(band.low), high=value(band.high), digits=NEWTONS
                  if kind == "force" else {}, spread=max(spread(band.low), spread(band.high)))


def _band_working(made: SetTo, state: str) -> Working:
    put_in = (put("T", "static tension", value(made.tension), "force", figure="static_tension"),)
    if state == "run_in":
        return Working("T to 1.5 T", put_in, ("bloch", "tm5-4310"), "p. 327", "read", "at rest")
    return Working("1.5 T to 2.0 T", put_in, ("bloch", "tm5-4310", "gbt13575"), "p. 327", "derived", "at rest", (
        "top of the run-in band to what the handbook (1.33 times its maximum) and the army manual (twice) allow",))


def _force_working(worked: Worked, band: Band) -> Working:
    allowance = worked.allowance
    assert allowance is not None
    remarks = ["the allowance for the belts' stiffness is from memory and small beside the tension"]
    if worked.lone:
        remarks.append("a single belt or a joined band alone on the drive: the allowance is shared by the whole belt, "
                       "Y t/L in place of Y")
    puts = (put("T", "static tension, low end", value(band.low), "force"),
            put("T", "static tension, high end", value(band.high), "force"),
            Put("Y", "stiffness allowance of one strand", allowance.value, "force", "published table"))
    return Working("P = (T + Y)/16 at h = t/64", puts, ("bloch", "statics", allowance.source), "p. 327",
                   allowance.trust, "pressed at mid-span, square to it, belts at rest", tuple(remarks))


def _note_working(worked: Worked, made: SetTo, band: Band) -> Working:
    mass = worked.known.facts["mass"]
    return Working("f = (1/2 t) √(T/m)", (
        put("T", "static tension, low end", value(band.low), "force"),
        put("T", "static tension, high end", value(band.high), "force"),
        put("t", "span", value(made.span), "length", figure="span"),
        put_fact("m", "mass of one strand", mass, digits=3)),
        ("rayleigh1894", *mass.sources), "ch. VI", weakest("derived", mass.trust),
        "at rest; ideal string: short thick spans read a few percent high",
        ("an error in the mass goes straight into the tension: a weighed belt betters it",
         "turn the drive a few revolutions by hand first: running, one span is tight and one slack, and they stay so"))


def _whole_band(worked: Worked, state: str, title: str) -> Figure:
    made, count = worked.set_to, worked.known.value("belts")
    assert made is not None
    band = getattr(made.forces, state)
    return Figure(f"force_{state}_band", f"Force at the mark, {title}, whole joined band", "force", Working(
        "P_band = N P", (put("N", "ribs", count, digits=0), put("P", "force on one, low end", value(band.low), "force"),
                         put("P", "force on one, high end", value(band.high), "force")), ("statics",), "", "derived",
        "a bar across the whole band, so that every rib is pressed alike"),
        low=value(band.low) * count, high=value(band.high) * count, digits=NEWTONS)


def load_figures(worked: Worked) -> list[Figure]:
    """Pull on the shafts at rest and running, and where overhang and bearing are known what the bearings make of it."""
    made = worked.set_to
    if made is None:
        return []
    belts = put("N", "belts", worked.known.value("belts"), digits=0)
    wrap = put("θ", "smaller wrap", min(value(made.driver_wrap), value(made.driven_wrap)), "angle")
    found = []
    for state, title in (("run_in", "run-in belts"), ("new", "new belts")):
        pulls, tensions = getattr(made.shaft_pulls, state), getattr(made.tensions, state)
        working = Working("F = 2 N T sin(θ/2)", (
            belts, put("T", "static tension, low end", value(tensions.low), "force"),
            put("T", "static tension, high end", value(tensions.high), "force"), wrap), ("gbt13575", "statics"), "",
            "derived", "towards the other shaft; the same on both")
        found.append(_band(f"pull_{state}", f"Pull on either shaft at rest, {title}", "force", pulls, working))
    found.append(measured("pull_running", "Pull on either shaft, running at design power", "force",
                          made.running.resultant, Working(
        "F = N √(T1² + T2² − 2 T1 T2 cos θ), tensions less m v²",
        (belts, put("P_d", "design power", value(made.design_power), "power", figure="design_power"), wrap,
         put("", "part towards the other shaft", value(made.running.along), "force"),
         put("", "part across it, towards the tight side", value(made.running.across), "force")),
        ("statics",), "", "derived", "on the driver's shaft; the driven's is as large and turned about: towards the "
        "driver, the part across it the other way", ("the belt's own mass going round does not load the shaft",)),
        NEWTONS))
    for which in ("driver", "driven"):
        found += _bearing_figures(worked, which)
    return found


def _bearing_figures(worked: Worked, which: str) -> list[Figure]:
    sheave: Sheave = getattr(worked.known.drive, which)
    shaft, made = sheave.shaft, worked.set_to
    if shaft.overhang is None or shaft.bearing_span is None or made is None:
        return []
    load = value(made.shaft_pulls.run_in.high)
    near = float(bearing_loads(load, shaft.overhang, shaft.bearing_span).near)
    puts = (put("F", "pull at rest, run-in belts, high end", load, "force", figure="pull_run_in"),
            Put("b", "overhang", shaft.overhang, "length", "measured"),
            Put("a", "bearing span", shaft.bearing_span, "length", "measured"))
    found = [Figure(f"bearing_load_{which}", f"Load on the near bearing, {which} shaft", "force", Working(
        "R = F (a + b)/a", puts, ("statics",), "", "derived", "belt pull alone; rotor weight is not in it"), near,
        digits=NEWTONS)]
    rotation = worked.known.facts.get(f"{which}_rotation")
    if shaft.rating is not None and shaft.bearing is not None and rotation is not None:
        found += _life_figures(which, shaft, near, rotation.value)
    return found


def _life_figures(which: str, shaft: Shaft, near: float, rotation: float) -> list[Figure]:
    assert shaft.rating is not None
    assert shaft.bearing is not None
    assert shaft.overhang is not None
    assert shaft.bearing_span is not None
    power = EXPONENTS[shaft.bearing]
    try:
        hours = float(rating_life(shaft.rating, near, power, rotation))
    except BeltwrightError:
        return []
    puts = (Put("C", "dynamic load rating", shaft.rating, "force", "stated"),
            put("P", "load on the near bearing", near, "force", figure=f"bearing_load_{which}"),
            put("p", f"{shaft.bearing} bearing", power, digits=2), put("n", "shaft speed", rotation, "rotation"))
    over = float(life_change(OVER, power))
    closer = float(overhang_change(shaft.overhang, shaft.overhang / 2, shaft.bearing_span, power).near)
    return [Figure(f"bearing_life_{which}", f"Rating life of the near bearing, {which} shaft", "time", Working(
        "L10h = (C/P)^p 10⁶ turns / n", puts, ("iso281",), "", "reprint",
        "nine bearings in ten outlast it; clean, greased, belt pull alone",
        (f"belts half as tight again leave {over:.0%} of it",
         f"half the overhang makes it {closer:.1f} times as long")), hours)]


def belt_life_figures(worked: Worked) -> list[Figure]:
    """Life of the belts by the textbook durability method, where its published limits allow a figure."""
    known, made = worked.known, worked.set_to
    if made is None or known.section is None or known.section.standard != "rma" or known.section.cogged:
        return []
    # what a strand set to its static tension carries when the drive runs at design power
    tight = value(made.tension) + value(made.pull) / 2
    section = known.section.name
    try:
        length = float(pitch_length(known.value("length"), known.section.system.length_as, section, "rma"))
        life = belt_life(section, tight, known.value("driver_pitch"), known.value("driven_pitch"), length,
                         value(made.speed))
    except BeltwrightError:
        return []
    hours = float(life.time)
    bound = "more than " if bool(life.more_than) else "less than " if bool(life.less_than) else ""
    constants = durability(section)
    return [Figure("belt_life", "Belt life by the textbook method", "time", Working(
        "passes = 1/((T1/K)^b + (T2/K)^b), T = F1 + K_b/d at each sheave; time = passes L/v",
        (put("F1", "tight side at design power", tight, "force"), put("L", "pitch length", length, "length"),
         put("v", "belt speed", value(made.speed), "speed", figure="belt_speed"),
         Put("K", "strength", constants.strength, "force", "published table"),
         Put("b", "exponent", constants.exponent, "number", "published table", 3)), ("shigley",), "table 17-17",
        weakest("read", constants.trust), "1e8 to 1e9 passes; outside only “more than” or “less than” is said",
        ("clean, cool and in line; a drive that does much worse has a cause to look for",)), hours,
        words=f"{bound}{show(hours, 'time', 'si')}" if bound else "")]
