"""Findings on grooves: dished flanks, grooves of one sheave unlike, worn on one side, bottomed, belts riding low.

Every flank is held against the limit by itself, as the gauge reads it; the tighter limit for joined belts.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Final, cast

import numpy as np

from beltwright.bench.figure import Put, Said, say
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.load import shares as shares_of
from beltwright.bench.findings.noted import Case
from beltwright.bench.known import WHICH
from beltwright.mechanics import wear
from beltwright.mechanics.sections import Section
from beltwright.mechanics.sections import section as section_of
from beltwright.mechanics.sheaves import groove, groove_gauge
from beltwright.mechanics.uncertainty import instrument_uncertainty, resolution_uncertainty, shares
from beltwright.plant.reading import Reading
from beltwright.tables import Trust, load

LIKELIER: Final = 0.5
# share of the limit from which a new sheave is ordered
ORDER_FROM: Final = 0.8
# a flank worn this many times as much as the other is worn on one side
ONE_SIDED: Final = 2.0


@dataclass(frozen=True, slots=True)
class _Sheave:
    """A sheave's gauged grooves: which, its readings by groove, its worst flank [m]."""

    which: str
    readings: Mapping[int, Reading]
    worst: float

    @property
    def at_worst(self) -> list[int]:
        """Grooves with the worst flank."""
        return [number for number, reading in self.readings.items() if _dish(reading) == self.worst]


def on_grooves(case: Case) -> list[Finding]:
    """Everything to be said of the grooves of a drive."""
    found: list[Finding] = []
    if "groove" in case.noted:
        limit = _limit(case.targets.joined)[0]
        sheaves = [sheave for which in WHICH if (sheave := _gauged(case, which)) is not None]
        for sheave in sheaves:
            if sheave.worst >= wear.PLAN_FROM * limit:
                found += [*_worn(case, sheave, sheaves), *_one_sided(sheave, limit)]
            found += [*_bottomed(sheave), *_unlike(case, sheave, sheaves)]
    if "ride" in case.noted:
        for which in WHICH:
            found += _ride(case, which)
    return found


def _gauged(case: Case, which: str) -> _Sheave | None:
    readings = {int(reading.values["groove"]): reading for reading in case.of("groove", which)
                if reading.values["sheave"] == which}
    return _Sheave(which, readings, max(map(_dish, readings.values()))) if readings else None


def _dish(reading: Reading) -> float:
    return max(float(reading.values["left"]), float(reading.values["right"]))


def _doubt(reading: Reading) -> float:
    step = reading.values.get("resolution")
    usual = _feeler()
    return usual if not isinstance(step, float) or step <= 0.0 else max(float(resolution_uncertainty(step)), usual / 2)


@cache
def _feeler() -> float:
    return float(instrument_uncertainty("feeler gauge", 0.0))


@cache
def _limit(joined: bool) -> tuple[float, str, Trust]:
    row = load("wear_limits").where(belts="joined" if joined else "single")[0]
    return cast(float, row["dish"]), str(row["source"]), cast(Trust, row["trust"])


def _worn(case: Case, sheave: _Sheave, both: Sequence[_Sheave]) -> list[Finding]:
    limit, source, trust = _limit(case.targets.joined)
    which = sheave.which
    share = float(wear.wear_share(sheave.worst, 0.0, limit))
    chance = float(shares(sheave.worst, _doubt(sheave.readings[sheave.at_worst[0]]), 0.0, limit).above)
    urgency: Urgency = ("mend at next stop" if chance > LIKELIER else "plan" if share >= ORDER_FROM else "watch")
    worn = urgency == "mend at next stop"
    numbers: dict[str, tuple[float, str, int] | str] = {
        "grooves": _listed(sheave.at_worst), "dish": (sheave.worst, "length", 2), "limit": (limit, "length", 2),
        "for_whom": " for joined belts" if case.targets.joined else ""}
    template = ("a flank of {grooves} is dished by {dish}, " + ("more than" if worn else "of") + " the {limit}" +
                ("" if worn else " at which the sheave is replaced") + "{for_whom}")
    drawn = _drawn(case, which)
    if drawn is not None:
        deep = float(wear.sink(*_flanks(sheave.readings[sheave.at_worst[0]]), drawn.half_angle))
        template += "; the belt sits {sinks} deeper for it"
        numbers["sinks"] = (deep, "length", 1)
    return [Finding(f"grooves-worn-{which}", urgency, f"Grooves of the {which} sheave worn", say(template, **numbers),
                    chance if worn else 1.0 - chance, "",
                    _replace(case, which, both, limit) if worn else (
                        f"Have a {which} sheave ready." if urgency == "plan" else
                        f"Gauge the {which} sheave again at the next belt change.",),
                    ("alignment, if one flank is worn more than the other", "dust that grinds: guard and seals",
                     "the smaller sheave, which as a rule wears first"), source, trust,
                    **behind(sheave.readings.values()), also=_change(case, both))]


def _replace(case: Case, which: str, both: Sequence[_Sheave], limit: float) -> tuple[Said | str, ...]:
    """Which sheave to replace, and whether to have the other at hand."""
    worst = {sheave.which: sheave.worst for sheave in both}
    choice = wear.replace(worst.get("driver", 0.0), worst.get("driven", 0.0), limit)
    other = WHICH[1 - WHICH.index(which)]
    sentences: list[Said | str] = []
    if choice.driver and choice.driven:
        sentences.append("Replace both sheaves, and put a new matched set of belts on them.")
    else:
        sentences.append(f"Replace the {which} sheave, and put a new matched set of belts on.")
        if getattr(choice, f"plan_{other}"):
            sentences.append(f"The {other} sheave is more than half worn: replace it in the same stop.")
        elif other not in worst:
            sentences.append(f"Gauge the {other} sheave before ordering: a worn pair is replaced together.")
    gauge = _gauge(case, which)
    return (*sentences, say("Gauge the new grooves before belts go on: {gauge}.", gauge=gauge)) if gauge else (
        tuple(sentences))


def _change(case: Case, both: Sequence[_Sheave]) -> dict[str, Put]:
    """What the sunk belts do to the driven speed."""
    pitches = [case.targets.fact(f"{which}_pitch") for which in WHICH]
    depths = [_mean_sink(case, which, both) for which in WHICH]
    driver, driven = pitches
    if driver is None or driven is None or None in depths or not all(
            wear.sinkable(size, depth) for size, depth in zip((driver, driven), depths, strict=True)
            if depth is not None):
        return {}
    change = float(wear.speed_change(driver, driven, depths[0] or 0.0, depths[1] or 0.0))
    return {"speed_change": Put("Δn/n", "change of the driven speed by worn grooves", change, "share")}


def _mean_sink(case: Case, which: str, both: Sequence[_Sheave]) -> float | None:
    sheave = next((each for each in both if each.which == which), None)
    if sheave is None:
        return 0.0
    drawn = _drawn(case, which)
    if drawn is None:
        return None
    flanks = np.array([_flanks(reading) for reading in sheave.readings.values()])
    return float(np.mean(wear.sink(flanks[:, 0], flanks[:, 1], drawn.half_angle)))


def sunk_by_groove(case: Case, which: str) -> dict[int, float]:
    """How far the belt has sunk into each groove that was gauged on a sheave [m]."""
    sheave, drawn = _gauged(case, which), _drawn(case, which)
    if sheave is None or drawn is None:
        return {}
    return {number: float(wear.sink(*_flanks(reading), drawn.half_angle))
            for number, reading in sheave.readings.items()}


def _bottomed(sheave: _Sheave) -> list[Finding]:
    shiny = [number for number, reading in sheave.readings.items() if reading.values.get("shine") is True]
    if not shiny:
        return []
    which = sheave.which
    return [Finding(f"grooves-bottomed-{which}", "mend at next stop", f"Belts ride on the bottom of the {which} sheave",
                    say("the bottom of {grooves} is shiny: the belt rubs there and no longer wedges between the flanks",
                        grooves=_listed(shiny)), 0.95, "",
                    (f"Gauge the grooves of the {which} sheave and replace it if they are dished.",
                     "See that the belts are of the section the grooves are cut for, and not worn narrow."),
                    ("slip and heat: a belt that does not wedge slips",), "practice", "memory",
                    **behind(sheave.readings[number] for number in shiny))]


def _one_sided(sheave: _Sheave, limit: float) -> list[Finding]:
    """Flanks of one side worn more, in every groove that shows wear: the mark of misalignment."""
    flanks = [(*_flanks(reading), _doubt(reading)) for reading in sheave.readings.values()]
    shows = [(left, right, doubt) for left, right, doubt in flanks if max(left, right) >= wear.PLAN_FROM * limit]
    sides = {"left" if left > right else "right" for left, right, doubt in shows
             if max(left, right) > ONE_SIDED * min(left, right) + 3 * doubt}
    if len(sides) != 1 or any(max(left, right) <= ONE_SIDED * min(left, right) + 3 * doubt
                              for left, right, doubt in shows):
        return []
    side = "towards the motor" if sides == {"left"} else "away from the motor"
    most = max(abs(left - right) for left, right, _ in shows)
    return [Finding(f"grooves-one-sided-{sheave.which}", "watch", f"The {sheave.which} sheave is worn on one side",
                    say("the flanks {side} are dished more than the others, by up to {most}: belts that run in at an "
                        "angle wear one flank", side=side, most=(most, "length", 2)), 0.8, "",
                    ("Read the alignment, again after half a turn, and bring the sheaves into line before new belts "
                     "or sheaves go on.",), ("frayed belt edges on the same side",), "practice", "practice",
                    **behind(sheave.readings.values()))]


def _unlike(case: Case, sheave: _Sheave, both: Sequence[_Sheave]) -> list[Finding]:
    """Grooves of one sheave unlike: belts that share two shafts run against each other."""
    drawn, which = _drawn(case, sheave.which), sheave.which
    pitch = case.targets.fact(f"{which}_pitch")
    if len(sheave.readings) < 2 or drawn is None or pitch is None or sheave.worst <= 0.0:
        return []
    flanks = np.array([_flanks(reading) for reading in sheave.readings.values()])
    depth = np.asarray(wear.sink(flanks[:, 0], flanks[:, 1], drawn.half_angle))
    if not np.all(wear.sinkable(pitch, depth)):
        return []
    sizes = np.asarray(wear.worn_diameter(pitch, depth))
    slips = np.asarray(wear.forced_slip(sizes, 1.0))
    fight = float(np.ptp(slips))
    some, much = _creep()
    numbers = list(sheave.readings)
    ends = [list(sheave.readings.values())[at] for at in (int(np.argmin(sizes)), int(np.argmax(sizes)))]
    # both flanks of both grooves are read by feeler; what that leaves open in a diameter is left open in the slip
    least, most = (float(wear.sink(_doubt(each), _doubt(each), drawn.half_angle)) for each in ends)
    doubt = math.hypot(least, most) * math.sqrt(2.0) / pitch
    chance = float(shares(fight, doubt, -1e3, some).above)
    if chance <= LIKELIER:
        return []
    urgency: Urgency = "mend at next stop" if fight > much else "plan"
    return [Finding(
        f"grooves-unlike-{which}", urgency, f"Grooves of the {which} sheave unlike",
        say("belts run on diameters that differ by {apart}, {deepest} the smallest: they fight each other by {fight} "
            "of forced slip, where creep alone is {some} to {much}", apart=(float(np.ptp(sizes)), "length", 1),
            deepest=_listed([numbers[int(np.argmin(sizes))]]), fight=(fight, "share"), some=(some, "share"),
            much=(much, "share")), chance, "",
        _replace(case, which, both, _limit(case.targets.joined)[0]) if urgency == "mend at next stop" else
        (f"Replace the {which} sheave when the belts are next changed; new belts would wear unlike in it.",),
        ("tension belt by belt: those in the deeper grooves read slacker",), "statics", "derived",
        **behind(sheave.readings.values()), also=shares_of(case, np.ones(len(depth)), {which: depth}))]


@cache
def _creep() -> tuple[float, float]:
    row = load("slip_limits").where(name="normal")[0]
    return cast("tuple[float, float]", (row["low_pct"], row["high_pct"]))


@cache
def _ride_limit() -> tuple[float, str, Trust]:
    row = load("ride_limits").where(item="limit")[0]
    return cast(float, row["below"]), str(row["source"]), cast(Trust, row["trust"])


def _ride(case: Case, which: str) -> list[Finding]:
    """Belts that ride below the rim: worn, or of a wrong section."""
    rides = {int(reading.values["groove"]): reading for reading in case.of("ride", which)
             if reading.values["sheave"] == which and not case.fitted.before("belts", reading.taken_at)}
    below = {number: reading for number, reading in rides.items() if float(reading.values["height"]) < 0.0}
    if not below:
        return []
    lowest = min(float(reading.values["height"]) for reading in below.values())
    limit, source, trust = _ride_limit()
    low = lowest < -limit
    template = "the top of the belt in {grooves} stands {below} below the rim, where " + (
        "{limit} is the most" if low else "flush to just above it is right")
    numbers: dict[str, tuple[float, str, int] | str] = {
        "grooves": _listed(sorted(below)), "below": (-lowest, "length", 1), "limit": (limit, "length", 1)}
    drawn, section = _drawn(case, which), case.targets.known.section
    if drawn is not None and section is not None:
        expected = float(wear.sound_ride(section.width, drawn.top_width, drawn.half_angle))
        worn = float(wear.dish_from_ride(lowest, expected, drawn.half_angle))
        if worn > 0.0:
            template += "; wear of {worn} on each flank, of groove and belt together, would do that"
            numbers["worn"] = (worn, "length", 1)
    return [Finding(f"ride-low-{which}", "mend at next stop" if low else "watch",
                    f"Belts ride low in the {which} sheave", say(template, **numbers), 0.9 if low else 0.6, "",
                    (f"Gauge the grooves of the {which} sheave.", "Read the marking of the belts: a narrower section "
                     "rides low in a sound groove."), ("shine at the bottom of the groove",), source, trust,
                    **behind(below.values()))]


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The groove as its standard draws it: half its angle [rad] and its width at the rim [m]."""

    half_angle: float
    top_width: float


def _drawn(case: Case, which: str) -> _Drawn | None:
    size, section = case.targets.fact(f"{which}_geometry"), case.targets.known.section
    if size is None or section is None:
        return None
    return _as_drawn(size, section.name, section.standard)


@lru_cache(4096)
def _as_drawn(size: float, section: str, standard: str) -> _Drawn:
    found = groove(size, section_of(section, standard).system.diameter_as, section, standard)
    return _Drawn(found.angle / 2, found.top_width)


def _gauge(case: Case, which: str) -> str:
    size = case.targets.fact(f"{which}_geometry")
    section: Section | None = case.targets.known.section
    if size is None or section is None:
        return ""
    return groove_gauge(size, section.system.diameter_as, section.name, section.standard).text


def _flanks(reading: Reading) -> tuple[float, float]:
    return float(reading.values["left"]), float(reading.values["right"])


def _listed(numbers: Sequence[int]) -> str:
    """Grooves in words: `groove 2`, `grooves 1, 2 and 4`."""
    named = [str(number) for number in sorted(numbers)]
    return f"groove {named[0]}" if len(named) == 1 else f"grooves {', '.join(named[:-1])} and {named[-1]}"
