"""The figures of a drive's whip, each with the working a person can follow with a pocket calculator."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from beltwright.bench.drive_figures import put, put_fact
from beltwright.bench.figure import Figure, Put, Working, weakest
from beltwright.bench.whip_chart import Shaker, Side, Whip
from beltwright.mechanics.whip_shaken import span_damping
from beltwright.tables import load
from beltwright.units import System

_STRING: Final = ("archibald1958", "swope1963", "wickert1990")
_TENTHS: Final[Mapping[System, int]] = {"si": 1, "inch": 1}


def whip_figures(made: Whip) -> tuple[Figure, ...]:
    """Every figure: tension, strands, notes, what shakes, margins, the clear window."""
    by_side = [of(made, side) for of in (_strand, _note, _margin) for side in made.sides]
    return (_tension(made), *by_side, *_shaking(made), *_window(made))


def _tension(made: Whip) -> Figure:
    if made.found is not None:
        return Figure("whip_tension", "Static tension of one strand, as read", "force", Working(
            "mean of the set as last read", (Put("", "read", made.found.when, origin="measured"),), ("practice",), "",
            "derived"), made.tension, spread=made.found.spread)
    return Figure("whip_tension", "Static tension of one strand, middle of its band", "force", Working(
        "(T_low + T_high)/2",
        (put("T_low", "least for run-in belts", made.band[0], "force"),
         put("T_high", "most for run-in belts", made.band[1], "force")), ("gbt13575", "bloch"), "", "derived",
        "until a tension is read"), made.tension)


def _strand(made: Whip, side: Side) -> Figure:
    known = made.targets.known
    sign = "+" if side.name == "tight" else "−"
    return Figure(f"whip_strand_{side.name}", f"{side.name.capitalize()} side, what the strand carries at full load",
                  "force", Working(
                      f"T {sign} F/2, F = P/(N v)",
                      (put("T", "static tension", made.tension, "force", figure="whip_tension"),
                       put_fact("P", "power", known.facts["power"]), put_fact("N", "belts", known.facts["belts"], 0),
                       put("v", "belt speed", _speed(made), "speed"), put("F", "pull of one belt", made.pull, "force")),
                      ("statics",), "", "derived", "slide rails locked; the load steady"), side.strand)


def _note(made: Whip, side: Side) -> Figure:
    targets = made.targets
    assert targets.span is not None
    mass = targets.known.facts["mass"]
    return Figure(f"whip_note_{side.name}", f"{side.name.capitalize()} side, swings as it runs", "frequency", Working(
        "f = (c² − v²)/(2 t c), c = √(T_s/m)",
        (put("T_s", "what the strand carries", side.strand, "force", figure=f"whip_strand_{side.name}"),
         put_fact("m", "belt mass", mass), put("v", "belt speed", _speed(made), "speed"),
         put("t", "span", targets.span, "length")), _STRING, "", weakest("memory", mass.trust),
        "a plain string: the belt's own stiffness lifts it by a few percent at most; twice that for two half waves",
        ("the formula is from memory and was checked against the span's equation of motion",)),
        side.note, digits=_TENTHS, spread=side.spread)


def _margin(made: Whip, side: Side) -> Figure:
    shaker, table = side.nearest, load("whip_margins")
    return Figure(f"whip_margin_{side.name}", f"{side.name.capitalize()} side, from what shakes it: {shaker.words}",
                  "share", Working(
                      "f/f_x − 1" + (", f_x half of what swings the tension" if shaker.feeds else ""),
                      (put("f", "swings as it runs", side.note, "frequency", figure=f"whip_note_{side.name}"),
                       put("f_x", shaker.words, shaker.meets, "frequency"),
                       Put("", "nearer than this: expect whip", made.near, "share", "common practice", 0),
                       Put("", "from this on: clear", made.clear, "share", "common practice", 0)),
                      table.source, "", table.trust, "steady running"), side.margin, digits={"si": 0, "inch": 0})


def _shaking(made: Whip) -> Iterable[Figure]:
    for shaker in made.shakers:
        if shaker.judged:
            yield Figure(_key(shaker), shaker.words[:1].upper() + shaker.words[1:], "frequency",
                         _fed(made, shaker) if shaker.feeds else _shakes(made, shaker),
                         shaker.meets, digits=_TENTHS)


def _key(shaker: Shaker) -> str:
    return f"shakes_{shaker.key.replace(' ', '_').replace('-', '_')}"


def _shakes(made: Whip, shaker: Shaker) -> Working:
    known, drive = made.targets.known, made.targets.drive
    which = shaker.key.split()[0]
    if which == "belt":
        times = 2 if shaker.key == "belt twice" else 1
        assert made.targets.length is not None
        return Working("k v/L", (put("k", "times in a round", times, digits=0),
                                 put("v", "belt speed", _speed(made), "speed"),
                                 put("L", "belt length", made.targets.length, "length")), ("statics",), "", "derived",
                       "a lump or a joint in the belt")
    turn = put_fact("n", f"{which} shaft", known.facts[f"{which}_rotation"])
    if shaker.key.endswith("pushes"):
        count = drive.driver_pulses if which == "driver" else drive.driven_pulses
        return Working("z n", (Put("z", "pushes a turn", count or 0.0, origin="stated"), turn), ("statics",), "",
                       "derived", "blades, vanes, cylinders, beats")
    return Working("n", (turn,), ("statics",), "", "derived", "run-out, unbalance, a bent shaft")


def _fed(made: Whip, shaker: Shaker) -> Working:
    pulsation = made.targets.drive.pulsation or 0.0
    share = (Put("p", "swing of the torque over its mean", pulsation, "share", "stated", 0),) if (
        "pushes" in shaker.key) else ()
    return Working(
        "half of what swings the tension: a swing of the tension twice as fast as the span feeds it at every turn",
        (put("", "what swings the tension", shaker.frequency, "frequency"), *share,
         put("η", "swing of a strand's tension from which on it is fed, 4 ζ", made.least_swing, "share"),
         Put("ζ", "damping, the least to reckon with", span_damping().least, "share", "assumed", 1)),
        ("bolotin1964", "mockensturm1996"), "", weakest("memory", load("whip_damping").trust),
        "first region of Mathieu's equation", ("how wide the region is, the chart shows",))


def _window(made: Whip) -> Iterable[Figure]:
    if made.window is None or made.plucked is None:
        return
    remarks = ("both spans at full load, from everything that is judged",)
    trust = load("whip_margins").trust
    yield Figure("whip_window", "Clear tension, within the band", "force", Working(
        "the tensions of the run-in band at which every note keeps its margin: T = m (t f + √((t f)² + v²))² ∓ F/2",
        (put("", "run-in band, from", made.band[0], "force"), put("", "run-in band, to", made.band[1], "force"),
         Put("", "margin", made.clear, "share", "common practice", 0)), _STRING, "", trust, "", remarks),
        low=made.window[0], high=made.window[1])
    yield Figure("whip_window_plucked", "The same, as the note of the plucked span at rest", "frequency", Working(
        "f = √(T/m)/(2 t)", (put("T", "clear tension, from", made.window[0], "force", figure="whip_window"),
                             put("", "to", made.window[1], "force")), ("rayleigh1894",), "", "derived"),
        low=made.plucked[0], high=made.plucked[1], digits=_TENTHS)


def _speed(made: Whip) -> float:
    assert made.targets.set_to is not None
    return made.targets.set_to.speed
