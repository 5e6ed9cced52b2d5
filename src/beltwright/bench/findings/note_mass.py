"""Force and note of the same belts side by side: whether they agree, and what a lasting difference says of the mass.

A note is worked with a mass by table or by scale; a force knows none. Where both were read on the same visit, again and
again, and differ one way, the drive's notes are worked with the mass its own readings lead to, and it is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from beltwright.bench.figure import say
from beltwright.bench.findings.finding import Finding, behind
from beltwright.bench.findings.fitted import Fitted
from beltwright.bench.findings.noted import ByKind, in_time, occasions, of_part
from beltwright.bench.findings.strands import Strands, strands
from beltwright.bench.findings.targets import Array, Targets
from beltwright.mechanics.learned_mass import agreement, apart, learned_mass
from beltwright.plant.reading import Reading

# how many belts on how many visits make a difference a lasting one
LEAST_PAIRS: Final = 3
LEAST_VISITS: Final = 2
# belts of one section differ from make to make: three standard uncertainties, not two, speak against the mass itself
_CONTRADICT: Final = 1.5


@dataclass(frozen=True, slots=True)
class Pair:
    """A belt read both ways on one visit, the visits counted from nought."""

    visit: int
    by_force: Reading
    by_note: Reading


@dataclass(frozen=True, slots=True)
class NoteMass:
    """What the pairs of a drive come to.

    ratio:   tension by force over tension by note as worked with `before`; spread: as a share
    before:  mass by table or scale [kg/m]; mass: as learned [kg/m]
    differ:  more than the readings explain; beyond: more than readings and what is known of the mass explain
    """

    pairs: tuple[Pair, ...]
    ratio: float
    spread: float
    before: float
    before_spread: float
    mass: float
    mass_spread: float
    differ: bool
    beyond: bool

    @property
    def visits(self) -> int:
        """On how many visits belts were read both ways."""
        return len({pair.visit for pair in self.pairs})

    @property
    def lasting(self) -> bool:
        """Whether there are enough pairs on enough visits to learn from."""
        return len(self.pairs) >= LEAST_PAIRS and self.visits >= LEAST_VISITS

    @property
    def learned(self) -> bool:
        """Whether the drive's notes are worked with the mass learned."""
        return self.lasting and not self.beyond


def pairs_of(noted: ByKind, fitted: Fitted) -> tuple[Pair, ...]:
    """The belts now fitted that were read both ways on one visit, in order of time."""
    if "force" not in noted or "frequency" not in noted:
        return ()
    both = sorted((reading for kind in ("force", "frequency") for reading in of_part(noted, fitted, kind, "belts")),
                  key=in_time)
    moves = [move.taken_at for move in of_part(noted, fitted, "motor move", "belts")]
    joined = fitted.drive.belts.joined
    found: list[Pair] = []
    for visit, occasion in enumerate(occasions(both, moves)):
        last = {(0 if joined else int(reading.values["belt"]), reading.kind): reading for reading in occasion}
        found += [Pair(visit, reading, last[belt, "frequency"]) for (belt, kind), reading in last.items()
                  if kind == "force" and (belt, "frequency") in last]
    return tuple(found)


def learn(asked: Sequence[tuple[Targets, Sequence[Pair]]]) -> list[NoteMass | None]:
    """What each drive's pairs come to; none where there are none, or they tell no tension."""
    some = [at for at, (targets, pairs) in enumerate(asked) if pairs and targets.mass and targets.mass_spread]
    read = strands([(asked[at][0], [[one] for pair in asked[at][1] for one in (pair.by_force, pair.by_note)])
                    for at in some]) if some else []
    found: list[NoteMass | None] = [None] * len(asked)
    for at, sets in zip(some, read, strict=True):
        found[at] = _learned(asked[at][0], asked[at][1], sets)
    return found


def with_learned(targets: Targets, found: NoteMass | None) -> Targets:
    """The drive's numbers with the mass its readings lead to, where they lead to one."""
    if found is None or not found.learned:
        return targets
    return replace(targets, mass=found.mass, mass_spread=found.mass_spread)


def _learned(targets: Targets, pairs: Sequence[Pair], sets: Sequence[Strands | None]) -> NoteMass | None:
    told = [(pair, force, note) for pair, force, note in zip(pairs, sets[::2], sets[1::2], strict=True)
            if force is not None and note is not None and force.mean > 0.0 and note.mean > 0.0]
    if not told:
        return None
    assert targets.mass is not None
    by_force, own_force = _tension([force for _, force, _ in told])
    by_note, own_note = _tension([note for _, _, note in told])
    # a gauge that reads wrong does so on every belt; what the span is off by goes into the mass learned
    found = agreement(by_force, by_note, by_force_uncertainty=own_force, by_note_uncertainty=own_note,
                      gauge_uncertainty=float(np.min(own_force)))
    ratio, spread = float(found.ratio), float(found.uncertainty)
    before, before_spread = targets.mass, targets.mass_spread
    mass, mass_spread = learned_mass(before, before_spread, ratio, spread)
    return NoteMass(tuple(pair for pair, _, _ in told), ratio, spread, before, before_spread, float(mass),
                    float(mass_spread), bool(apart(ratio, spread)),
                    bool(apart(ratio, _CONTRADICT * float(np.hypot(spread, before_spread / before)))))


def _tension(some: Sequence[Strands]) -> tuple[Array, Array]:
    """Tensions, and what is each one's own uncertainty as a share."""
    mean, own = np.array([(each.mean, each.mean_own) for each in some]).T
    return mean, own / mean


def on_note_mass(found: NoteMass | None) -> list[Finding]:
    """What is said of force and note that differ, visit after visit."""
    if found is None or not found.lasting or not (found.differ or found.beyond):
        return []
    readings = [reading for pair in found.pairs for reading in (pair.by_force, pair.by_note)]
    if found.beyond:
        statement = say("read by force the belts pull {off} {said} than by their note ({pairs} pairs, {visits} visits, "
                        "± {doubt}): more than any mass of this section explains", **_numbers(found))
        return [Finding("note-force-contradict", "plan", "Force and note contradict each other", statement, 0.95, "", (
            "Weigh a belt when one is off, and enter its mass per length.",
            "Measure the span, tangent to tangent, and hold it against the card's.",
            "Try the force gauge on a known weight."),
            ("which section the belts are marked with", "whether a joined band was read as one",
             "whether the note was an octave off"), "gum", "derived", **behind(readings))]
    statement = say("read by force the belts pull {off} {said} than by their note with {before} (± {doubt}; {pairs} "
                    "pairs, {visits} visits): their notes are now worked with {mass} ± {mass_doubt}, learned",
                    **_numbers(found))
    return [Finding("note-mass-learned", "watch", "Mass learned from force and note", statement, 0.95, "", (
        say("Weigh a belt when one is off: expect {mass}. A weighed mass, entered with the drive, is on its card, too.",
            mass=(found.mass, "mass per length", 3)),), ("the span, tangent to tangent: what it is off by is in it",),
        "gum", "derived", **behind(readings))]


def _numbers(found: NoteMass) -> dict[str, tuple[float, str] | tuple[float, str, int] | str]:
    return {"off": (abs(found.ratio - 1.0), "share", 0), "doubt": (2 * found.spread, "share", 0),
            "before": (found.before, "mass per length", 3), "mass": (found.mass, "mass per length", 3),
            "mass_doubt": (2 * found.mass_spread, "mass per length", 3), "visits": str(found.visits),
            "pairs": str(len(found.pairs)), "said": "more" if found.ratio > 1.0 else "less"}
