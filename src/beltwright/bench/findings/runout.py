"""Findings on run-out: a sheave that swings by the dial gauge more than its rule allows."""

from __future__ import annotations

from typing import Final

from beltwright.bench.figure import say
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.noted import Case
from beltwright.bench.known import WHICH
from beltwright.mechanics.runout import SheaveLimits, sheave_limits
from beltwright.mechanics.uncertainty import instrument_uncertainty, shares

LIKELIER: Final = 0.5
# a swing beyond this many times its limit wears out belts in weeks
GROSS: Final = 2.0


def on_runout(case: Case) -> list[Finding]:
    """Everything to be said of run-out."""
    found: list[Finding] = []
    if "run-out" not in case.noted:
        return found
    for which in WHICH:
        some = [reading for reading in case.of("run-out", which) if reading.values["sheave"] == which]
        allowed = _allowed(case, which)
        if not some or allowed is None:
            continue
        for name, limit, where in (("radial", allowed.radial, "at the rim"), ("axial", allowed.axial, "at the face")):
            last = next((reading for reading in reversed(some) if name in reading.values), None)
            if last is None:
                continue
            swing = float(last.values[name])
            chance = float(shares(swing, instrument_uncertainty("dial gauge on the foot", swing), -1.0, limit).above)
            if chance <= LIKELIER:
                continue
            urgency: Urgency = "mend at next stop" if swing > GROSS * limit else "plan"
            found.append(Finding(
                f"runout-{name}-{which}", urgency, f"The {which} sheave runs out, {name}",
                say("the {which} sheave swings {swing} {where}, {limit} is allowed by {rule}", which=which,
                    swing=(swing, "length", 2), where=where, limit=(limit, "length", 2), rule=allowed.rule), chance, "",
                ("Take it off, clean bore, key and taper, put it on again, tighten evenly and read again.",
                 "Still out: dial the bare shaft; replace the sheave if the shaft is true."),
                ("shaft bent, bearing with play", "whether the dial rode on rust or paint"), allowed.source,
                allowed.trust, **behind((last,))))
    return found


def _allowed(case: Case, which: str) -> SheaveLimits | None:
    outside, section = case.targets.fact(f"{which}_outside"), case.targets.known.section
    if outside is None or section is None:
        return None
    grooves = getattr(case.targets.drive, which).grooves or 1
    return sheave_limits(outside, grooves, section.name, section.standard)[0]
