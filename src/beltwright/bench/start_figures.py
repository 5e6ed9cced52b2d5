"""The figures of a start, each with its working, the verdict in a sentence, what to do, and the start moment by moment.

Computes nothing but what stands between two steps; numbers come from `starts`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from beltwright.bench.drive_figures import NEWTONS, put, put_fact
from beltwright.bench.figure import Figure, Put, Said, Working, say, weakest
from beltwright.bench.starts import UP, Start
from beltwright.mechanics.starting import start_practice
from beltwright.tables import Trust
from beltwright.units import show

_EQUATIONS: Final = "J₁ ω₁′ = M − r₁ F, J₂ ω₂′ = r₂ F − L; F = K u + C u′ or, slipping, F_h"
_RANGE: Final = ("fixed centres, belts alike, one friction at rest and rubbing; the torque swings of the first mains "
                 "cycles left out")
_SOURCES: Final = ("statics", "khurmi", "nema-mg1-12", "practice")
# moments of a table, evenly over what is shown
_ROWS: Final = 12
# warming that is worth a number [K]
_FELT: Final = 0.5


@dataclass(frozen=True, slots=True)
class Moment:
    """A start at one moment: speeds [rad/s], torques at the motor's shaft [N m], pull [N], slip speed [m/s]."""

    time: float
    driver: float
    driven: float
    motor: float
    load: float
    pull: float
    slip: float


def start_figures(start: Start) -> tuple[Figure, ...]:
    """What a start comes to, the weightiest first."""
    # in a jam it is better that belts slip: no tension is advised for it
    least = () if start.ask.event == "jam" else (_least(start, poor=True), _least(start, poor=False))
    found = [*least, _tension(start), _slip(start)]
    if start.up_at is not None:
        found.append(Figure("start_up_at", "Up to speed after", "short time", Working(
            f"driven shaft at {show(UP, 'share', 'si', digits=0)} of its full speed; {_EQUATIONS}",
            (_inputs(start),), _SOURCES, "", "practice", _RANGE), start.up_at))
    return (*found, *(_heat(start) if start.slips else ()), _peak_pull(start), _asked(start))


def verdict(start: Start) -> Said:
    """What comes of it, in a sentence."""
    numbers: dict[str, tuple[float, str] | tuple[float, str, int]] = {
        "tension": (start.tension, "force"), "slip": (start.slip_time, "short time", 2),
        "heat": (start.heat, "heat"), "rise": (start.rise, "temperature difference"),
        "poor": (start.least_poor, "force"), "down": (max(start.course.driver[-1], 0.0), "rotation")}
    match start.outcome:
        case "starts clean":
            words = "the belts hold throughout at {tension}; down to {poor} they would, even in poor grooves"
        case "clean in good grooves":
            words = "the belts hold at {tension} in dry, clean grooves; in worn or damp ones that takes {poor}"
        case "chirps":
            words = "the belts slip for {slip} at {tension}: a chirp, no squeal"
        case "squeals":
            words = "the belts slip for {slip} at {tension} and squeal; " + _warmed(start)
        case "does not come up" if start.slip_time > 0.5 * start.course.time[-1]:
            words = "the belts slip and the machine does not come up to speed; each groove takes {heat}"
        case "does not come up":
            words = "the motor does not bring the machine up to speed: that is no matter of the belts"
        case "holds":
            words = "the belts hold at {tension}"
        case "stalls":
            words = "the belts hold and the motor is pulled down to {down}"
            if start.course.lets_go:
                words += "; they slip for {slip} before"
        case _:
            words = "the belts slip for {slip} at {tension}; " + _warmed(start)
    return say(words, **{name: number for name, number in numbers.items() if f"{{{name}}}" in words})


def _warmed(start: Start) -> str:
    """What the slip does to the grooves; below half a degree there is no number worth saying."""
    return ("each groove takes {heat} and warms by about {rise}" if start.rise >= _FELT else
            "the grooves hardly warm by it")


def advice(start: Start) -> tuple[Said, ...]:
    """What to do, the first thing first; nothing where all is well."""
    if start.ask.event == "jam":
        return (say("See that the motor's overload trips well before {trips}: nothing else ends a jam.",
                    trips=(start_practice("trips"), "short time", 0)),)
    if start.clean:
        return ()
    if start.outcome == "does not come up" and start.slip_time <= 0.5 * start.course.time[-1]:
        return (say("Look at the load and the voltage while it starts, and at what was entered of motor and machine."),)
    if start.band is None:
        return (say("Set the belts to {poor} or more in each strand, as far as their band allows.",
                    poor=(start.least_poor, "force")),)
    low, high = start.band
    if start.least_poor <= high:
        return (say("Set the belts to {poor} to {high} in each strand: inside their band, and it holds even in poor "
                    "grooves.", poor=(max(start.least_poor, low), "force"), high=(high, "force")),)
    if start.least <= high:
        return (say("Set the belts to the top of their band, {least} to {high}, and keep the grooves dry and clean.",
                    least=(max(start.least, low), "force"), high=(high, "force")),
                say("For a start that is sure to hold: start it softer, or fit more belts."))
    return (say("No tension inside the band, up to {high}, holds this start: do not go beyond it.",
                high=(high, "force")),
            say("Start it softer (see how it would start otherwise), or fit more belts or larger sheaves."))


def moments(start: Start, until: float) -> tuple[Moment, ...]:
    """The start at even times up to the end of what is shown, and whenever the belts let go or hold again."""
    course, ratio = start.course, start.given.train.driver_radius / start.given.train.driven_radius
    times = {float(time) for time in np.linspace(0.0, until, _ROWS)}
    times |= {time for pair in start.slips[:4] for time in pair if time <= until}
    columns = (course.driver, course.driven, course.motor, course.load, course.pull, course.slip)
    return tuple(Moment(time, *(float(np.interp(time, course.time, column)) * (ratio if column is course.load else 1.0)
                                for column in columns)) for time in sorted(times))


def shown_until(start: Start) -> float:
    """How much of a course is worth looking at: until the machine is up and the belts hold, and a little more [s]."""
    course = start.course
    ends = [start.up_at or 0.0, *(end for _, end in start.slips), 0.5]
    if start.up_at is None:
        ends.append(min(course.time[-1], 3.0) if course.settled and not start.slips else course.time[-1])
    return float(min(course.time[-1], 1.2 * max(ends)))


def _least(start: Start, *, poor: bool) -> Figure:
    given = start.given
    ratio = given.facts["ratio_poor" if poor else "ratio_dry"]
    grip = given.poor_grip if poor else given.train.grip
    least = start.least_poor if poor else start.least
    fits = start.fits(least)
    remarks = ("one start with belts that cannot slip: the greatest of it is what they have to hold",
               *((f"{fits} for this drive",) if fits else ()))
    return Figure("start_least_poor" if poor else "start_least",
                  f"Least tension that holds, {'poor grooves' if poor else 'dry clean grooves'}", "force", Working(
                      "T = greatest of F/(2 N g) + m v², g = (R − 1)/(R + 1)",
                      (put_fact("R", "tight over slack", ratio, 1), put("g", "grip", grip, digits=3),
                       put("N", "belts", given.train.belts, digits=0), *_train_puts(start)),
                      ("shigley", "statics", "nema-mg1-12") if poor else _SOURCES, "", _trust(start), _RANGE, remarks),
                  least, digits=NEWTONS)


def _tension(start: Start) -> Figure:
    fact = start.given.facts["tension"]
    return Figure("start_tension", "Reckoned with a static tension of", "force", Working(
        start.given.tension_from, (put_fact("T", "static tension of one strand", fact),), fact.sources, "", fact.trust,
        "mean of the set"), fact.value, digits=NEWTONS, spread=fact.spread or None)


def _slip(start: Start) -> Figure:
    given = start.given
    return Figure("start_slip", "Belts slip for", "short time", Working(
        f"F_h = 2 N (T − m v²) g; {_EQUATIONS}",
        (put("F_h", "held at rest by all belts", start.held, "force"),
         put("T", "static tension", start.tension, "force", figure="start_tension"),
         put_fact("R", "tight over slack", given.facts["ratio_dry"], 1),
         put_fact("μ", "friction", given.facts["friction"]), *_train_puts(start)), _SOURCES, "", _trust(start), _RANGE,
        (f"the {given.train.slips} sheave lets go first", "work and heat add up to within "
         f"{show(start.unaccounted, 'share', 'si', digits=4)} of the motor's work")), start.slip_time,
        words="" if start.slips else "not at all", digits={"si": 2, "inch": 2})


def _heat(start: Start) -> list[Figure]:
    heat = Figure("start_heat", "Heat in each groove", "heat", Working(
        "Q = ∫ F_h · slip speed dt / N", (put("N", "belts", start.given.train.belts, digits=0), put(
            "", "slip in all", start.slip_time, "short time", digits=2)), _SOURCES, "", _trust(start), _RANGE),
        start.heat)
    rise = Figure("start_rise", "Grooves warm by about", "temperature difference", Working(
        "a slab of iron behind each flank, heated at its face", (put("Q", "heat", start.heat, "heat"),
         put_fact("h", "flank", start.given.facts["belt_height"], 1)), ("carslaw1959", "practice"), "", "practice",
        "the mean over the flank; an order of size"), start.rise)
    return [heat, rise]


def _peak_pull(start: Start) -> Figure:
    given = start.given
    return Figure("start_peak_pull", "Greatest pull on the shafts", "force", Working(
        "R = N √(T₁² + T₂² − 2 T₁ T₂ cos θ), T = T₀ − m v² ± F/(2 N), greatest",
        (put("T₀", "static tension", start.tension, "force", figure="start_tension"),
         put("F", "greatest pull of all belts", start.peak_asked, "force", figure="start_asked"),
         put("θ", "wrap", given.wrap, "angle")), ("statics", "nema-mg1-12"), "", _trust(start), _RANGE),
        start.peak_pull, digits=NEWTONS)


def _asked(start: Start) -> Figure:
    return Figure("start_asked", "Greatest pull of all belts together", "force", Working(
        _EQUATIONS, (_inputs(start),), _SOURCES, "", _trust(start), _RANGE, (
            "tight less slack; belts that slip pull no more than they hold",)), start.peak_asked, digits=NEWTONS)


def _inputs(start: Start) -> Put:
    """Where the numbers behind every figure of a start are listed."""
    return put("", "slip; its working lists motor, load, inertias and belts", start.slip_time, "short time", digits=2,
               figure="start_slip")


def _train_puts(start: Start) -> tuple[Put, ...]:
    facts, train = start.given.facts, start.given.train
    return (put_fact("M_N", "full-load torque", facts["torque"]),
            *(put_fact(sign, words, facts[name], 0) for sign, words, name in (
                ("a", "locked-rotor torque over it", "locked_rotor"), ("s", "pull-up torque", "pull_up"),
                ("b", "breakdown torque", "breakdown"))),
            put_fact("L_N", "load", facts["load_torque"]),
            put_fact("J_M", "motor's rotor", facts["rotor_inertia"]),
            put_fact("J_L", "machine", facts["machine_inertia"]),
            put_fact("", "driver sheave", facts["driver_sheave_inertia"]),
            put_fact("", "driven sheave", facts["driven_sheave_inertia"]),
            put("r₁", "driver's pitch radius", train.driver_radius, "length", digits=1),
            put("r₂", "driven's pitch radius", train.driven_radius, "length", digits=1),
            put_fact("EA", "one strand's stretch", facts["rigidity"]),
            put_fact("K", "stiffness", facts["stiffness"]))


def _trust(start: Start) -> Trust:
    return weakest(*(fact.trust for name, fact in start.given.facts.items() if name != "tension"))
