"""The figures of a drive: geometry, room, rating; every number with source, trust, uncertainty and working.

One function a topic; each takes the worked-out numbers and gives the figures that they allow. No physics here: a
working repeats the formula of the function that computed the number, for a person to follow with a pocket calculator.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from beltwright.bench.figure import Figure, Put, Working, weakest
from beltwright.bench.known import WHICH, Fact
from beltwright.bench.worked import Shape, Worked, spread, value
from beltwright.errors import BeltwrightError
from beltwright.mechanics import sheaves
from beltwright.mechanics.takeup import allowances, largest
from beltwright.mechanics.textbook import power_textbook
from beltwright.units import System, sixty_fourths

MILLIMETRES: Final[Mapping[System, int]] = {"si": 0, "inch": 2}
TENTHS: Final[Mapping[System, int]] = {"si": 1, "inch": 3}
NEWTONS: Final[Mapping[System, int]] = {"si": 0, "inch": 1}
CENTRE_FORMULA: Final = "C from L = 2 C cos a + (π/2)(D + d) + a (D − d), sin a = (D − d)/(2 C), solved"


def put(symbol: str, meaning: str, number: float, kind: str = "number", *, digits: int | None = None,
        figure: str = "") -> Put:
    """A worked-out number put into a formula."""
    return Put(symbol, meaning, number, kind, "worked out", digits, figure)


def put_fact(symbol: str, meaning: str, fact: Fact, digits: int | None = None) -> Put:
    """A known fact put into a formula, with how it came to be known."""
    return Put(symbol, f"{meaning} ({fact.how})", fact.value, fact.kind, fact.origin, digits)


def measured(key: str, title: str, kind: str, numbers: Any, working: Working,
             digits: Mapping[System, int] | None = None) -> Figure:
    """A figure with its uncertainty, from an array of the drive as read and moved."""
    return Figure(key, title, kind, working, value=value(numbers), digits=digits or {}, spread=spread(numbers))


def geometry_figures(worked: Worked) -> list[Figure]:
    """Centre, span, wraps, deflection at the mark, speeds."""
    known, shape = worked.known, worked.shape
    found: list[Figure] = []
    if shape is not None:
        sheave_puts = tuple(put_fact(symbol, f"{which} sheave, on the line of the belt's length",
                                     known.facts[f"{which}_geometry"], digits=1)
                            for symbol, which in (("d", "driver"), ("D", "driven")))
        centre = known.facts["centre"]
        by_tape = "centre_read" in known
        found.append(measured("centre", "Centre distance", "length", shape.centre, Working(
            "as measured" if by_tape else CENTRE_FORMULA,
            (put_fact("C", "centre distance", centre),) if by_tape else
            (*sheave_puts, put_fact("L", "belt length", known.facts["length"])), ("statics",), "", "derived",
            "open drive, shafts parallel"), MILLIMETRES))
        if by_tape and "centre_of_belt" in known:
            belt = known.facts["centre_of_belt"]
            found.append(Figure("centre_new", "Centre distance for a new belt", "length", Working(
                CENTRE_FORMULA,
                (*sheave_puts, put_fact("L", "belt length", known.facts["length"])), ("statics", *belt.sources), "",
                weakest("derived", belt.trust), "open drive, shafts parallel, belt just taut",
                ("the belt's own length tolerance is in the uncertainty",)), belt.value, digits=MILLIMETRES,
                spread=belt.spread))
        span_puts = (put("C", "centre distance", value(shape.centre), "length", figure="centre"), *sheave_puts)
        found.append(measured("span", "Span, tangent to tangent", "length", shape.span, Working(
            "t = √(C² − ((D − d)/2)²)", span_puts, ("bloch", "statics"), "fig. 7-14", "derived"), MILLIMETRES))
        for which, sign, wrap in (("driver", "−", shape.driver_wrap), ("driven", "+", shape.driven_wrap)):
            found.append(measured(f"wrap_{which}", f"Wrap on the {which} sheave", "angle", wrap, Working(
                f"θ = π {sign} 2 a, sin a = (D − d)/(2 C)", span_puts, ("statics",), "", "derived")))
        found += _mark(shape)
    found += _speed_figures(worked)
    return found


def _mark(shape: Shape) -> list[Figure]:
    working = Working("h = t/64", (put("t", "span", value(shape.span), "length", figure="span"),), ("bloch", "mobley",
                      "tm5-4310"), "p. 326", "read", "one sixty-fourth of an inch for each inch of span",
                      ("press square to the span, in its middle; read against the next belt or a straightedge",))
    return [measured("deflection", "Press the span in by", "length", shape.deflection, working, TENTHS),
            Figure("deflection_64ths", "Press the span in by, on a rule", "length", working,
                   value=value(shape.deflection), words=sixty_fourths(value(shape.deflection)))]


def _speed_figures(worked: Worked) -> list[Figure]:
    known = worked.known
    found: list[Figure] = []
    if "ratio" in known:
        ratio = known.facts["ratio"]
        puts = tuple(put_fact(symbol, f"{which} pitch diameter", known.facts[f"{which}_pitch"], digits=1)
                     for symbol, which in (("d_p", "driver"), ("D_p", "driven")))
        found.append(Figure("ratio", "Speed ratio, driver to driven", "number", Working(
            "i = D_p/d_p", puts, ratio.sources, "", ratio.trust, "without slip"), ratio.value,
            digits={"si": 3, "inch": 3}, spread=ratio.spread))
        if "driver_rotation" in known:
            turn = known.facts["driver_rotation"]
            found.append(Figure("driven_speed", "Driven shaft, without slip", "rotation", Working(
                "n_2 = n_1/i", (put_fact("n_1", "motor speed", turn),
                                put("i", "ratio", ratio.value, digits=3, figure="ratio")), ("statics",), "", "derived"),
                known.value("driven_rotation") if known.drive.driven_speed is None else turn.value / ratio.value,
                spread=turn.value / ratio.value * ratio.spread / ratio.value))
    if worked.set_to is not None:
        pitch, turn = known.facts["driver_pitch"], known.facts["driver_rotation"]
        found.append(measured("belt_speed", "Belt speed", "speed", worked.set_to.speed, Working(
            "v = π d_p n_1", (put_fact("d_p", "driver pitch diameter", pitch, digits=1),
                              put_fact("n_1", "motor speed", turn)), ("statics", *pitch.sources), "", pitch.trust)))
    return found


def room_figures(worked: Worked) -> list[Figure]:
    """Slack-off to lay belts in and take-up to allow: the largest of the published rules, and every rule beside it."""
    known = worked.known
    if known.section is None or "length" not in known:
        return []
    length, section = known.value("length"), known.section
    try:
        every = allowances(length, section.system.length_as, section.name, section.standard)
        most = largest(every.rules)
    except BeltwrightError:
        return []
    rules = {rule.rule: rule for rule in every.rules}
    found = []
    for key, title, number, name in (("slack_off", "Slack-off to lay belts in", most.slack_off, most.slack_off_rule),
                                     ("take_up", "Take-up to allow", most.take_up, most.take_up_rule)):
        rule = rules[str(name)]
        found.append(Figure(key, title, "length", Working(
            f"the largest of the published rules: {rule.title}",
            (put("L", "belt length", length, "length"),
             *(Put("", each.title, value(getattr(each, key)), "length", "published table") for each in every.rules)),
            (rule.source,), "", rule.trust, "the rules differ; room costs nothing but rail"), value(number),
            digits=MILLIMETRES))
    return found


def rating_figures(worked: Worked) -> list[Figure]:
    """Service factor, design power, power of one belt, belts required, service factor really reached."""
    known = worked.known
    found: list[Figure] = []
    if worked.service_factor is not None:
        found.append(_service_figure(worked))
    if worked.set_to is None:
        return found
    power = known.facts["power"]
    found.append(Figure("design_power", "Design power", "power", Working(
        "P_d = P K_s", (put_fact("P", "power", power), put("K_s", "service factor", worked.service_factor or 1.0,
                                                           figure="service_factor")), ("shigley",), "ch. 17", "read"),
        value(worked.set_to.design_power), digits={"si": 1, "inch": 1}))
    if worked.adequacy is not None:
        found += _belt_figures(worked)
    return [*found, *_textbook_figure(worked)]


def _service_figure(worked: Worked) -> Figure:
    drive, found = worked.known.drive, worked.service
    assert worked.service_factor is not None
    if found is None:
        own = Working("as the plant sets it", (), ("practice",), "", "practice")
        return Figure("service_factor", "Service factor", "number", own, worked.service_factor)
    return Figure("service_factor", "Service factor", "number", Working(
        "from the table: driven machine, class of driver, hours a day",
        (Put("", "driven machine", found.machine, origin="stated"), Put("", "class of driver", found.driver_class,
         origin="stated" if drive.motor.torque else "assumed"),
         Put("", "hours a day", drive.hours_a_day or 0.0, "hours a day", "stated")), found.sources, "service factors",
        found.trust, "" if found.printed else "the hours lie between two printed columns; the next column was read"),
        worked.service_factor)


def _belt_figures(worked: Worked) -> list[Figure]:
    known, enough, made = worked.known, worked.adequacy, worked.set_to
    assert enough is not None
    assert made is not None
    trust = worked.rated_trust
    small = min(known.value("driver_pitch"), known.value("driven_pitch"))
    rated = {
        "own table": Working("as entered from the belt's own table", (), ("practice",), "", "practice",
                             "at this small sheave and speed, arc and length taken to be in it"),
        "ip20": Working("H = d r (K1 − K2/d − K3 (d r)² − K4 log d r) + K2 r (1 − 1/K_SR), then × K_θ × K_L",
                        (put("d", "small sheave, pitch diameter", small, "length", digits=1),
                         put("r", "faster shaft", known.value("driver_rotation"), "rotation"),
                         put("H", "one belt, before corrections", value(enough.rated_power), "power"),
                         put("K_θ", "arc of contact", value(made.arc_factor), digits=3),
                         put("K_L", "belt length", value(enough.length_factor), digits=3)), ("ip20-1988", "mh31"), "",
                        trust, "belt speed up to 6500 ft/min; pitch diameter, not datum",
                        ("the length factors and the ratio factors are from memory, not verified",)),
        "ip22": Working("H = d r (K1 − K2/d − K3 (d r)² − K4 log d r) + K2 r (1 − 1/K_SR), then × K_θ",
                        (put("d", "small sheave, pitch diameter", small, "length", digits=1),
                         put("r", "faster shaft", known.value("driver_rotation"), "rotation"),
                         put("H", "one belt, before corrections", value(enough.rated_power), "power"),
                         put("K_θ", "arc of contact", value(made.arc_factor), digits=3)), ("ip22",), "", "memory",
                        "belt speed up to 6500 ft/min",
                        ("the whole equation is from memory, not verified; no length factor is known",)),
    }[worked.rated_by]
    puts = (put("P_d", "design power", value(made.design_power), "power", figure="design_power"),
            put("H_a", "power of one belt", value(enough.belt_power), "power", figure="power_per_belt"))
    sources = rated.sources
    return [
        Figure("power_per_belt", "Power of one belt on this drive", "power", rated, value(enough.belt_power)),
        Figure("belts_required", "Belts required", "number", Working("N = P_d/H_a, rounded up", puts, sources, "",
               rated.trust), value(enough.to_fit), digits={"si": 0, "inch": 0}),
        Figure("service_factor_reached", "Service factor really reached", "number", Working(
            "K_s = N H_a/P", (put("N", "belts fitted", known.value("belts"), digits=0), puts[1],
                              put("P", "power", known.value("power"), "power")), sources, "", rated.trust),
            value(enough.service_factor_reached)),
    ]


def _textbook_figure(worked: Worked) -> list[Figure]:
    """What the older textbook table gives one belt, beside the rating that is judged by; the only one for E."""
    known, made = worked.known, worked.set_to
    section = known.section
    if made is None or section is None or section.system.name != "rma-classical" or section.cogged:
        return []
    small = min(known.value("driver_pitch"), known.value("driven_pitch"))
    fastest = max(known.value("driver_rotation"), known.value("driver_rotation") / known.value("ratio"))
    try:
        rated = float(power_textbook(section.name, small, fastest))
    except BeltwrightError:
        return []
    factor = value(made.arc_factor)
    return [Figure("power_by_textbook", "Power of one belt by the older textbook table", "power", Working(
        "H = S (X S^−0.09 − Y/d − Z S²), then × K_θ",
        (put("d", "small sheave, pitch diameter", small, "length", digits=1),
         put("S", "belt speed", value(made.speed), "speed", figure="belt_speed"),
         put("H", "one belt, before the arc of contact", rated, "power"),
         put("K_θ", "arc of contact", factor, digits=3)), ("shigley",), "table 17-12", "memory",
        "belts of regular quality, 1000 to 5000 ft/min; no length factor",
        ("for comparison, never judged by: about half of what IP-20 of 1988 allows the same belt",)), rated * factor)]


def gauge_figures(worked: Worked) -> list[Figure]:
    """Which groove gauge to take to each sheave."""
    known = worked.known
    if known.section is None:
        return []
    texts = []
    for which in WHICH:
        if f"{which}_geometry" in known:
            gauge = sheaves.groove_gauge(known.value(f"{which}_geometry"), known.section.system.diameter_as,
                                         known.section.name, known.section.standard)
            texts.append((which, gauge.text))
    if not texts:
        return []
    same = len({text for _, text in texts}) == 1
    words = f"{texts[0][1]}, both sheaves" if same and len(texts) == 2 else "; ".join(
        f"{which}: {text}" for which, text in texts)
    return [Figure("gauge", "Groove gauge", "number", Working(
        "by section, groove angle and range of diameters", (), ("bloch", known.section.system.sheaves), "p. 313", "read"
        if known.section.system.name == "rma-classical" else "memory"), words=words)]
