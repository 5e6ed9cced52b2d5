"""Findings on whip: a span in step with what is known to shake it.

That a span's note lies near a shaft's turning is common and by itself harmless: the page of the drive shows it, and no
finding is made of it. It becomes one where something is known to shake: whipping was seen, a sheave runs out by more
than its rule allows, or the pushes of the load were entered. Without whip seen it is to be watched, no more.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from beltwright.bench import whip
from beltwright.bench.figure import Said, say
from beltwright.bench.findings.finding import Finding, behind
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.noted import Case
from beltwright.bench.known import WHICH
from beltwright.bench.whip_chart import Found, Shaker, Side, Whip, setup_for, whip_of
from beltwright.errors import BeltwrightError
from beltwright.mechanics.uncertainty import shares
from beltwright.mechanics.whip_shaken import margin_limits
from beltwright.tables import load

SEEN: Final = "seen-whipping"
# remedies named in a finding; the page has them all
_FEW: Final = 2


def on_whip(case: Case, tension: Tension | None, found: Sequence[Finding]) -> list[Finding]:
    """The finding, if there is one.

    found: what the other topics found of this drive, for what is known to shake
    """
    keys = {finding.key for finding in found}
    drive = case.targets.drive
    seen = SEEN in keys
    out = [which for which in WHICH if f"runout-radial-{which}" in keys]
    if not (seen or out or drive.driver_pulses or drive.driven_pulses) or not whip.whippable(case.targets):
        return []
    last = last_read(tension)
    if (last is None and not seen) or not _any_near(case, last):
        return []
    try:
        made = whip_of(case.targets, last, run_out(case))
    except BeltwrightError:   # belts too slack to carry their load have no note; that they are slack is found already
        return []
    met = _in_step(made, seen, out)
    return [] if met is None else [_finding(made, *met, seen, None if last is None else tension)]


def _any_near(case: Case, last: Found | None) -> bool:
    """Whether a span is near anything at all: asked first, for the rest takes ten times as long."""
    setup = setup_for(case.targets, run_out(case))
    at = 0.5 * (setup.low + setup.high) if last is None else np.array([last.tension])
    if not (whip.runs(setup, at)[0] and whip.runs(setup, setup.high)[0]):
        return False
    margins = whip.margins_at(setup, at)
    return bool(np.any(np.abs(margins.margin) < np.maximum(margin_limits().near, margins.reach)))


def last_read(tension: Tension | None) -> Found | None:
    """The tension that was read last, as the whip of a drive takes it; none where none was or the motor moved since."""
    if tension is None or tension.strands is None or tension.moved is not None or tension.strands.mean <= 0.0:
        return None
    strands = tension.strands
    return Found(strands.mean, strands.mean_spread, f"{strands.state}, {strands.at:%Y-%m-%d}",
                 strands.mean_own if strands.by_note else None)


def run_out(case: Case) -> tuple[float, float]:
    """Full swing of the dial at the rims of driver and driven, as read last; nought where it was not read."""
    swings = []
    for which in WHICH:
        some = [reading for reading in case.of("run-out", which)
                if reading.values["sheave"] == which and "radial" in reading.values]
        swings.append(float(some[-1].values["radial"]) if some else 0.0)
    return swings[0], swings[1]


def _in_step(made: Whip, seen: bool, out: Sequence[str]) -> tuple[Side, Shaker, float] | None:
    """The span that is nearest to something known to shake it, if it is near: span, shaker, margin."""
    known = [shaker for shaker in made.shakers
             if shaker.judged and (seen or "pushes" in shaker.key or shaker.key.split()[0] in out)]
    every = [(side, shaker, side.note / shaker.meets - 1.0) for side in made.sides for shaker in known]
    near = [one for one in every if abs(one[2]) < made.near
            or (one[1] == one[0].nearest and one[0].answer == "near")]
    return min(near, key=lambda one: abs(one[2]), default=None)


def _finding(made: Whip, side: Side, shaker: Shaker, margin: float, seen: bool, tension: Tension | None) -> Finding:
    table = load("whip_margins")
    within = max(made.near, abs(margin))
    # without a tension read the note may lie anywhere in its band
    sure = None if tension is None else float(shares(
        side.note, side.spread, shaker.meets * (1.0 - within), shaker.meets * (1.0 + within)).inside)
    feeds = ", twice as fast as the span," if shaker.feeds else ""
    where = "as its tension was read" if tension is not None else "in the middle of its band"
    statement = say(
        "the {side} side swings {note} times a second when it runs, {where}; {shaker}{feeds} meets it at {meets}, "
        "{margin} away, where {near} is near", side=side.name, note=(side.note, "number", 1), where=where,
        shaker=shaker.words, feeds=feeds, meets=(shaker.meets, "frequency"), margin=(abs(margin), "share", 0),
        near=(made.near, "share", 0))
    behind_it = () if tension is None or tension.strands is None else tension.strands.readings
    return Finding(
        "whip-near", "mend at next stop" if seen else "watch", "A span swings in step with what shakes it", statement,
        sure, "the note as worked out, with what tension, span and mass leave open; how near is near is practice",
        _do(made, seen), ("run-out of both sheaves", "how the load swings", "bow of the slack side, all belts alike"),
        table.source[0], table.trust, **behind(behind_it))


def _do(made: Whip, seen: bool) -> tuple[Said | str, ...]:
    look = "Watch the spans from outside the guard: nothing to mend while they run still."
    first: tuple[Said | str, ...] = () if seen else (look,)
    if made.window is not None and made.plucked is not None:
        return (*first, say("Set every strand to {low} to {high} ({from_note} to {to_note} when plucked): within the "
                            "band and clear.", low=(made.window[0], "force"), high=(made.window[1], "force"),
                            from_note=(made.plucked[0], "frequency"), to_note=(made.plucked[1], "frequency")))
    working = [help_.said for help_ in made.helps if help_.window is not None][:_FEW]
    return (*first, "The band has no clear stretch wide enough to set.", *working,
            *(() if working else ("Joined belts, which hold each other.",)))
