"""The finding on starts: belts that slip and squeal when the motor starts, at the tension as it was read.

Only where the start can be worked out from what was entered, and a tension was read: nothing is found of a drive of
which nobody said how it starts. Its page says what to enter.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from beltwright.bench.figure import Put, say
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.noted import Case
from beltwright.bench.start_figures import advice
from beltwright.bench.start_given import asked_for, given, missing
from beltwright.bench.starts import Start, start, surely_quiet
from beltwright.errors import BeltwrightError
from beltwright.mechanics.uncertainty import shares

# likelier to slip than not
LIKELIER: Final = 0.5


def on_start(case: Case, tension: Tension | None) -> list[Finding]:
    """Whether the start slips; nothing where it does not, or where too little is known to say."""
    drive = case.targets.drive
    if tension is None or tension.strands is None or tension.moved is not None or not asked_for(drive) or (
            missing(drive) or tension.strands.mean <= 0.0):
        return []
    try:
        found = given(case.targets, tension)
        if found is None or surely_quiet(found, tension.strands.mean):
            return []
        worked = start(case.targets, tension)
    except BeltwrightError:   # what was entered cannot be: the page of the start says why
        return []
    if worked.outcome == "squeals" or (worked.outcome == "does not come up" and worked.slips):
        return _slips(tension, worked)
    return []


def _slips(tension: Tension, worked: Start) -> list[Finding]:
    now = tension.strands
    assert now is not None
    chance = float(shares(now.mean, max(now.mean_spread, 1e-6 * now.mean), worked.least, 1e3 * worked.least).below)
    if chance <= LIKELIER:
        return []
    inside = worked.band is not None and worked.band[0] <= now.mean
    urgency: Urgency = "plan" if inside and worked.outcome == "squeals" else "mend at next stop"
    template = ("at {mean} ± {spread} in each strand the belts slip for {slip} while the drive starts, each groove "
                "takes {heat} and warms by about {rise}; {least} would hold in dry clean grooves, {poor} in poor ones")
    if worked.outcome == "does not come up":
        template += "; it does not come up to speed so"
    statement = say(template, mean=(now.mean, "force"), spread=(2 * now.mean_spread, "force"),
                    slip=(worked.slip_time, "short time"), heat=(worked.heat, "heat"),
                    rise=(worked.rise, "temperature difference"), least=(worked.least, "force"),
                    poor=(worked.least_poor, "force"))
    also: Mapping[str, Put] = {
        "peak_pull": Put("", "greatest pull on the shafts as it starts", worked.peak_pull, "force")}
    return [Finding("start-slips", urgency, "Belts slip as it starts", statement, chance,
                    "the tension as read against the least that holds; motor, load and inertias as entered",
                    advice(worked), ("grooves dished or glazed, oil or damp on them",
                                     "what was entered of motor, starter and machine"), "statics", "practice",
                    **behind(now.readings), also=also)]
