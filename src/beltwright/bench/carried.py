"""What a phone takes along to a drive: what each reading is held against, as plain numbers and a matrix.

So that a page can say at once whether a value lies in its band, also without a network, and no formula is written
twice: a rule is two numbers, alignment is a fixed matrix times the gaps. The same rules are applied here, for whoever
hands a form in without them, and a test holds both against each other. What readings mean for the drive in the end is
said by the findings. Pure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, cast

from beltwright.bench.card import Card
from beltwright.bench.findings.aligned import RIMS_ALIKE, TURNED
from beltwright.bench.known import WHICH
from beltwright.bench.worked import value
from beltwright.errors import BeltwrightError
from beltwright.mechanics.alignment import (
    POINTS,
    AnswerMap,
    Line,
    answer_map,
    design_matrix,
    plain,
)
from beltwright.mechanics.misalignment import face_wobble
from beltwright.mechanics.recheck import recheck
from beltwright.mechanics.runout import metric_runout, sheave_limits
from beltwright.mechanics.uncertainty import bound_uncertainty, instrument_uncertainty
from beltwright.plant.job import Job, Step
from beltwright.plant.reading import Value
from beltwright.tables import load
from beltwright.units import System, show, show_band

Age = Literal["run-in", "new"]
Verdict = Literal["good", "short", "note"]

# a level is not used here, so that its uncertainty goes into nothing [rad]
_NO_LEVEL: Final = 1.0
_FACES: Final = {"outer": 1.0, "inner": -1.0}


@dataclass(frozen=True, slots=True)
class Rule:
    """What one value of a reading is held against, in SI: a low end, a high end, or both.

    per:     the value it is divided by first; when: choices for which the rule holds; without: values that, given,
             make it say nothing; age: belts of which age, where that matters
    below, above: what it means and what to do
    """

    field: str
    kind: str
    title: str
    low: float | None = None
    high: float | None = None
    below: str = ""
    above: str = ""
    per: str = ""
    when: tuple[tuple[str, str], ...] = ()
    without: tuple[str, ...] = ()
    age: Age | Literal[""] = ""
    digits: int | None = None

    def band(self, system: System) -> str:
        """The band as a person reads it."""
        if self.low is not None and self.high is not None:
            return show_band(self.low, self.high, self.kind, system, digits=self.digits)
        if self.high is not None:
            return f"at most {show(self.high, self.kind, system, digits=self.digits)}"
        assert self.low is not None
        return f"at least {show(self.low, self.kind, system, digits=self.digits)}"


@dataclass(frozen=True, slots=True)
class Held:
    """A value held against its rule."""

    rule: Rule
    verdict: Verdict
    words: str


def rules(card: Card, kind: str) -> tuple[Rule, ...]:
    """What a reading of that kind is held against on this drive; none where nothing is known or published."""
    makers = {"force": _force, "frequency": _frequency, "groove": _groove, "run-out": _runout, "ride": _ride,
              "temperature": _temperature, "speed": _speed}
    return makers[kind](card) if kind in makers else ()


def held(found: tuple[Rule, ...], values: Mapping[str, Value], age: Age) -> tuple[Held, ...]:
    """The values of a reading against the rules that hold for it."""
    judged = []
    for rule in found:
        number = values.get(rule.field)
        per = values.get(rule.per) if rule.per else 1.0
        if (not isinstance(number, int | float) or not isinstance(per, int | float) or not per
                or any(values.get(name) != wanted for name, wanted in rule.when)
                or any(name in values for name in rule.without) or rule.age not in ("", age)):
            continue
        share = number / per
        if rule.low is not None and share < rule.low:
            judged.append(Held(rule, "short", rule.below))
        elif rule.high is not None and share > rule.high:
            judged.append(Held(rule, "short", rule.above))
        else:
            judged.append(Held(rule, "good", "in the band" if rule.low is not None else "within the limit"))
    return tuple(judged)


# --- the rules, by kind of reading ----------------------------------------------------------------------------------

_SLACK: Final = "too slack: move the motor out a little, turn by hand, read again"
_TIGHT: Final = "too tight: ease off past the mark, come back up to it, read again"


def _banded(card: Card, key: str, field: str, without: tuple[str, ...], age: Age) -> list[Rule]:
    figure = card.figures.get(key)
    if figure is None or figure.low is None or figure.high is None:
        return []
    return [Rule(field, figure.kind, figure.title, figure.low, figure.high, _SLACK, _TIGHT, "", (), without, age,
                 figure.digits.get("si"))]


def _force(card: Card) -> tuple[Rule, ...]:
    band = "_band" if card.drive.belts.joined else ""
    return tuple(rule for state, age in _AGES for rule in _banded(
        card, f"force_{state}{band}", "force", ("deflection", "span"), age))


def _frequency(card: Card) -> tuple[Rule, ...]:
    return tuple(rule for state, age in _AGES for rule in _banded(card, f"frequency_{state}", "frequency", ("span",),
                                                                  age))


_AGES: Final[tuple[tuple[str, Age], ...]] = (("run_in", "run-in"), ("new", "new"))


def _groove(card: Card) -> tuple[Rule, ...]:
    limit = card.figure("groove_wear")
    return tuple(Rule(field, "length", limit.title, None, limit.value, "",
                      "worn through its limit: replace the sheave, the other one too if it is worn", digits=2)
                 for field in ("left", "right"))


def _runout(card: Card) -> tuple[Rule, ...]:
    return tuple(Rule(field, "length", figure.title, None, figure.value, "",
                      "more than a sound sheave may: clean bore, key and taper, put it on again, tighten evenly",
                      when=(("sheave", which),), digits=2)
                 for which in WHICH for field in ("radial", "axial")
                 if (figure := card.figures.get(f"runout_{field}_{which}")) is not None)


def _ride(card: Card) -> tuple[Rule, ...]:
    del card
    below = cast(float, load("ride_limits").where(item="limit")[0]["below"])
    return (Rule("height", "length", "Ride of the belt over the rim", -below, None,
                 "rides low: worn groove or belt, or a narrower section; gauge the grooves", digits=1),)


def _temperature(card: Card) -> tuple[Rule, ...]:
    del card
    rows = load("temperature_limits")
    parts = (("belt", "belt", "good running", "belt runs hot: look for slip, misalignment, a warm room"),
             ("driver groove", "groove", "hand can rest in it", "hot groove: belts slip or no longer wedge"),
             ("driven groove", "groove", "hand can rest in it", "hot groove: belts slip or no longer wedge"),
             ("driver bearing", "bearing", "warm", "hot bearing: belts too tight, or the sheave far out on the shaft"),
             ("driven bearing", "bearing", "warm", "hot bearing: belts too tight, or the sheave far out on the shaft"),
             ("room", "room", "good running", "the room is too warm for belts to last"))
    return tuple(Rule("temperature", "temperature", f"{where}, {name}", None, cast(float, rows.where(
        part=part, name=name)[0]["high_degC"]), "", words, when=(("where", where),))
        for where, part, name, words in parts)


def _speed(card: Card) -> tuple[Rule, ...]:
    ratio = card.figures.get("ratio")
    if ratio is None or ratio.value is None:
        return ()
    slip = cast(float, load("slip_limits").where(name="retension")[0]["low_pct"])
    return (Rule("driven_speed", "number", "Driven over driver speed", (1.0 - slip) / ratio.value, None,
                 f"slips more than {show(slip, 'share', 'si', digits=0)}: set the belts again, look at the grooves",
                 per="driver_speed", digits=3),)


# --- alignment -----------------------------------------------------------------------------------------------------

@dataclass(frozen=True, slots=True)
class Straight:
    """How a drive's gaps become an answer: a map for each way of laying, and what stands in for the rims.

    maps: by `outer`, `inner`, and with `+both`, `+driver`, `+driven` after a second laying with those turned
    rims: what goes in behind the gaps for driver and driven [m]; target, limit: entry angles [rad]
    rim:  diameter of the driver over the rim [m], by which a slope becomes a gap
    """

    maps: Mapping[str, AnswerMap]
    rims: tuple[float, float]
    target: float
    limit: float
    rim: float


@dataclass(frozen=True, slots=True)
class InLine:
    """What gaps say: offset outward [m], angle [rad], worst entry angle [rad], and the standard uncertainty of each."""

    offset: tuple[float, float]
    angle: tuple[float, float]
    worst: tuple[float, float]
    verdict: Verdict


def straight(card: Card) -> Straight | None:
    """The maps of a drive; none where sheaves or centre are not known."""
    known, shape = card.known, card.worked.shape
    if shape is None or not {"driver_outside", "driven_outside"} <= known.facts.keys():
        return None
    driver, driven, centre = known.value("driver_outside"), known.value("driven_outside"), value(shape.centre)
    gap = float(instrument_uncertainty("rule at the straightedge", 0.0))
    rim, wobble = float(bound_uncertainty(RIMS_ALIKE)), _wobble(card, driver, driven)
    maps = {}
    angles = {row["limit"]: row["angle"] if isinstance(row["angle"], float) else math.atan(float(row["slope"] or 0.0))
              for row in load("alignment_limits").rows if row["limit"] != "gap"}
    limit = angles["acceptable"]
    try:
        for face, side in _FACES.items():
            for turned, turns in TURNED.items():
                lines = [Line(side)] if turned == "neither" else [Line(side), Line(side, *turns)]
                design = design_matrix(driver, driven, centre, card.drive.incline or 0.0, lines, [])
                maps[layout(face, turned)] = answer_map(design, gap, _NO_LEVEL, rim, wobble, limit)
    except BeltwrightError:
        return None
    return Straight(maps, (0.0, 0.0), angles["target"], limit, driver)


def layout(face: str, turned: str) -> str:
    """The name of a way of laying: the face, and what was turned for the second laying.

    >>> layout("outer", "neither"), layout("outer", "driver")
    ('outer', 'outer+driver')
    """
    return face if turned == "neither" else f"{face}+{turned}"


def in_line(found: Straight, which: str, gaps: tuple[float, ...]) -> InLine:
    """The answer: matrix times gaps and rims. The page does the same with the numbers of `carry`."""
    answers = found.maps[which]
    readings = (*gaps, *found.rims)
    offset, angle = (_times(answers.matrix[at], readings) for at in (0, 1))
    spreads = [math.sqrt(answers.covariance[at][at]) for at in (0, 1)]
    entries = [abs(_times(row, readings)) for row in answers.entry]
    at = entries.index(max(entries))
    worst = entries[at]
    verdict: Verdict = "short" if worst > found.limit else "note" if worst > found.target else "good"
    return InLine((offset, spreads[0]), (angle, spreads[1]), (worst, float(answers.entry_uncertainty[at])), verdict)


def moves(found: Straight, line: InLine, system: System) -> tuple[str, ...]:
    """Which way to move what, in words; nothing for what the readings do not tell."""
    said = []
    words = move_words()
    if abs(line.angle[0]) > line.angle[1]:
        said.append(words["angle+" if line.angle[0] > 0 else "angle-"].replace(
            "{x}", show(abs(line.angle[0]) * found.rim, "length", system, digits=1 if system == "si" else 3)))
    if abs(line.offset[0]) > line.offset[1]:
        said.append(words["offset+" if line.offset[0] > 0 else "offset-"].replace(
            "{x}", show(abs(line.offset[0]), "length", system, digits=1 if system == "si" else 3)))
    return tuple(said)


def move_words() -> dict[str, str]:
    """What to move for an answer of either sign; `{x}` stands where the length goes."""
    return {
        "angle+": "Turn the motor on its base: the rim of its sheave next to the driven shaft {x} towards the motor, "
                  "against its far rim.",
        "angle-": "Turn the motor on its base: the rim of its sheave next to the driven shaft {x} away from the motor, "
                  "against its far rim.",
        "offset+": "Slide the driver's sheave {x} towards the motor along its shaft, or the driven one as much the "
                   "other way.",
        "offset-": "Slide the driver's sheave {x} away from the motor along its shaft, or the driven one as much the "
                   "other way.",
    }


def carry(found: Straight) -> dict[str, object]:
    """The same as plain lists and numbers, for a page."""
    return {"maps": {name: plain(answers) for name, answers in found.maps.items()}, "rims": list(found.rims),
            "points": list(POINTS), "target": found.target, "limit": found.limit, "rim": found.rim,
            "moves": move_words()}


def _wobble(card: Card, driver: float, driven: float) -> float:
    section = card.known.section
    swings = [(size, float(metric_runout(size)) if section is None else
               sheave_limits(size, 1, section.name, section.standard)[0].axial) for size in (driver, driven)]
    return max(float(face_wobble(swing, size)) for size, swing in swings)


def _times(row: object, readings: tuple[float, ...]) -> float:
    return float(sum(float(share) * reading for share, reading in zip(cast("list[float]", row), readings, strict=True)))


# --- the order of work ---------------------------------------------------------------------------------------------

def order_of_work(job: Job) -> list[dict[str, object]]:
    """The steps of a job with what must come before each, as plain keys: what a phone needs to say what is next.

    The book asks the rules of `procedure` again when the steps are handed in.
    """
    return [_carried(job, at, step) for at, step in enumerate(job.steps)]


def _carried(job: Job, at: int, step: Step) -> dict[str, object]:
    phase = [other for other in job.steps if other.phase == step.phase]
    return {
        "key": step.key, "title": step.title, "plain": step.key.partition("@")[0], "phase": step.phase,
        "gate": step.gate, "handsOn": step.hands_on, "running": step.running, "canSkip": step.can_skip,
        "confirm": list(step.confirm), "needs": list(step.needs), "reads": list(step.reads),
        "isolation": [other.key for other in phase if other.gate == "isolation"],
        "unlocksBefore": [other.key for other in job.steps if other.gate == "unlock" and other.phase < step.phase],
        "must": [other.key for other in job.steps[:at] if not other.can_skip] if step.running else [],
        "reopens": [*step.reopens, *(other.key for other in phase if step.hands_on and other.gate == "return")],
        "anew": [other.key for other in phase if other.gate],
    }


def run_in() -> tuple[float, float]:
    """How long new belts run before they are read again [s]."""
    found = recheck("run-in")
    return found.low, found.high
