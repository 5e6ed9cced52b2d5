"""What the note of one belt means: its tension with its uncertainty part by part, against the band, beside what else
was read of the set on the same visit. A reading need not be noted yet to be looked at here. Hears nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final, Literal

import numpy as np

from beltwright.bench.figure import Said, say
from beltwright.bench.findings.fitted import fitted
from beltwright.bench.findings.held import Apart, Chances
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.note_mass import NoteMass, learn, pairs_of, with_learned
from beltwright.bench.findings.noted import NONE, OCCASION, by_kind, in_time, of_part
from beltwright.bench.findings.strands import Strands, strands, stretch_of
from beltwright.bench.findings.targets import Pair, Targets, targets_for
from beltwright.bench.findings.tension import LIKELIER, WATCH_FROM
from beltwright.mechanics.evenness import evenness, uneven
from beltwright.mechanics.frequency import frequency_from_tension
from beltwright.mechanics.stiff_ends import ends_share, spread_with_ends
from beltwright.mechanics.uncertainty import instrument_uncertainty, shares
from beltwright.plant.reading import Reading

Verdict = Literal["slack", "may be slack", "in the band", "may be tight", "tight", "not judged"]
_Puts = dict[str, tuple[float, str] | tuple[float, str, int] | str]
# what a note may be off by, in words, as mechanics names its parts
_PARTS: Final = (("frequency", "the note"), ("span", "the span"), ("mass", "the mass"), ("ends", "stiff ends"))


@dataclass(frozen=True, slots=True)
class Plucked:
    """The note of a belt as a tension.

    why:       what stands in the way of one, in words; empty where there is one
    tension:   [N]; spread: its standard uncertainty; parts: what of it comes from where [N]
    band:      tensions that are right for belts of this age [N]; notes: the same as notes [Hz]
    by_force:  the same belt read by force on the same visit; agrees: whether both can be true
    all_belts: the belts read by note on this visit, this one with them; apart: how far they pull apart
    """

    reading: Reading
    targets: Targets
    new: bool
    learned: NoteMass | None = None
    why: str = ""
    tension: float | None = None
    spread: float = 0.0
    parts: tuple[tuple[str, float], ...] = ()
    ends: float = 0.0
    chances: Chances | None = None
    band: Pair | None = None
    notes: Pair | None = None
    by_force: Strands | None = None
    agrees: bool = True
    all_belts: Strands | None = None
    apart: Apart | None = None

    @property
    def verdict(self) -> Verdict:
        """How it stands against the band."""
        if self.chances is None:
            return "not judged"
        if max(self.chances.below, self.chances.above) > LIKELIER:
            return "slack" if self.chances.below > LIKELIER else "tight"
        if max(self.chances.below, self.chances.above) >= WATCH_FROM:
            return "may be slack" if self.chances.below > self.chances.above else "may be tight"
        return "in the band"

    @property
    def belt(self) -> str:
        """The belt meant, in words."""
        number = int(self.reading.values["belt"])
        return "each belt of the joined band" if self.targets.joined else f"belt {number}" if number else "the belt"

    def statement(self) -> Said:
        """What it comes to, in a sentence."""
        if self.tension is None:
            return say("{belt} sounds {note}; its tension cannot be told: {why}", belt=self.belt, why=self.why,
                       note=(float(self.reading.values["frequency"]), "frequency"))
        puts: _Puts = {"belt": self.belt, "tension": (self.tension, "force"), "doubt": (2 * self.spread, "force")}
        if self.band is None or self.chances is None:
            return say("{belt} pulls {tension} ± {doubt}; what is right is not known: {why}", **puts,
                       why=self.targets.why or "see the card")
        return say("{belt} pulls {tension} ± {doubt}; {low} to {high} is right for {age} belts: {verdict}, {chance} "
                   "likely inside", **puts, low=(self.band[0], "force"), high=(self.band[1], "force"),
                   age="new" if self.new else "run-in", verdict=self.verdict,
                   chance=(min(max(self.chances.inside, 0.01), 0.99), "share", 0))

    def beside(self) -> tuple[Said, ...]:
        """What it rests on: the mass, what of the doubt comes from where, stiff ends."""
        if self.tension is None:
            return ()
        shared = ", ".join(f"{words} {2 * part / self.tension:.1%}" for words, part in self.parts)
        said = [self._of_mass(), say("of the ± {doubt}, as shares of the pull: {shared}", shared=shared,
                                     doubt=(2 * self.spread, "force"))]
        if self.ends > 0.0:
            said.append(say("its partials are stretched: {off} taken off for stiff ends", off=(self.ends, "share", 1)))
        return tuple(said)

    def compared(self) -> tuple[Said, ...]:
        """What it stands beside: the force reading of the same belt, the other belts of the set."""
        said: list[Said] = []
        if self.tension is None:
            return ()
        if self.by_force is not None:
            said.append(say("by force on the same visit {force} ± {doubt}: {word}", word="agrees" if self.agrees else
                            "does not agree; read both again, and see mass and span",
                            force=(self.by_force.mean, "force"), doubt=(2 * self.by_force.mean_spread, "force")))
        if self.all_belts is not None and len(self.all_belts.belts) > 1:
            said.append(self._of_set(self.all_belts))
        return tuple(said)

    def _of_mass(self) -> Said:
        assert self.targets.mass is not None
        puts: _Puts = {"mass": (self.targets.mass, "mass per length", 3),
                "doubt": (2 * self.targets.mass_spread, "mass per length", 3)}
        if self.learned is not None and self.learned.learned:
            return say("mass {mass} ± {doubt}, learned from {pairs} belts of this drive read by force and by note, "
                       "{before} by {how}", **puts, pairs=str(len(self.learned.pairs)), how=self._how(),
                       before=(self.learned.before, "mass per length", 3))
        return say("mass {mass} ± {doubt} by {how}", **puts, how=self._how())

    def _how(self) -> str:
        fact = self.targets.known.facts.get("mass")
        if fact is None or fact.value not in (self.targets.mass, self.learned.before if self.learned else None):
            return "what was given"
        return "scale" if fact.origin == "measured" else "table: weigh a belt to know it better"

    def _of_set(self, some: Strands) -> Said:
        belts = ", ".join(map(str, some.belts))
        spread = 0.0 if self.apart is None else self.apart.spread
        word = ("no more than the readings can be wrong" if self.apart is None or not self.apart.more_than_errors
                else "more than the readings can be wrong")
        return say("belts {belts} of this visit pull {least} to {most}, {spread} of their mean apart: {word}",
                   belts=belts, least=(min(some.tension), "force"), most=(max(some.tension), "force"), word=word,
                   spread=(spread, "share", 0))


def plucked(record: Record, reading: Reading, *, mass: tuple[float, float] | None = None) -> Plucked:
    """What a reading of kind `frequency`, noted or not, means at its drive.

    mass: mass per length and its standard uncertainty [kg/m], where the drive's own is not to be used
    """
    noted = by_kind([each for each in record.readings if each.id != reading.id])
    on = fitted(record.make_ups, record.jobs, noted.get("hours", NONE), noted.get("motor move", NONE))
    targets = targets_for(record.make_ups[-1].drive)
    (learned,) = learn([(targets, pairs_of(noted, on))]) if mass is None else (None,)
    targets = with_learned(targets, learned) if mass is None else replace(targets, mass=mass[0], mass_spread=mass[1])
    new = on.new(reading.taken_at)
    told = Plucked(reading, targets, new, learned)
    moves = [move.taken_at for move in of_part(noted, on, "motor move", "belts")]
    of_visit = {kind: _same_visit(of_part(noted, on, kind, "belts"), reading, moves) for kind in ("force", "frequency")}
    alone, force, belts = strands([(targets, [
        [reading], [each for each in of_visit["force"] if each.values["belt"] == reading.values["belt"]],
        sorted([*of_visit["frequency"], reading], key=in_time)])])[0]
    if alone is None:
        return replace(told, why=_why(targets, reading))
    return _held(told, alone, force, belts)


def _same_visit(some: Sequence[Reading], reading: Reading, moves: Sequence[datetime]) -> list[Reading]:
    """Readings taken on the same visit, in the same state, with no move of the motor in between."""
    def between(other: Reading) -> bool:
        first, last = sorted((other.taken_at, reading.taken_at))
        return any(first <= move <= last for move in moves)

    return [each for each in some if abs(each.taken_at - reading.taken_at) <= OCCASION and each.state == reading.state
            and each.job_id == reading.job_id and not between(each)]


def _why(targets: Targets, reading: Reading) -> str:
    if targets.mass is None:
        return "the belt's section or its mass per length is not known"
    if targets.span is None and "span" not in reading.values:
        return targets.why or "the span is not known: enter both sheaves and the centre distance, or give the span"
    return "say which belt it was"


def _held(told: Plucked, alone: Strands, force: Strands | None, belts: Strands | None) -> Plucked:
    targets, reading = told.targets, told.reading
    tension, spread = alone.mean, alone.spread[0]
    own_span = reading.values.get("span")
    span = float(own_span) if own_span is not None else targets.span
    assert span is not None
    assert targets.mass is not None
    frequency, stretch = float(reading.values["frequency"]), stretch_of(reading)
    parts = spread_with_ends(
        frequency, span, targets.mass, stretch,
        frequency_uncertainty=float(reading.values.get("uncertainty", 0.0)) or instrument_uncertainty(
            "phone note", frequency), mass_uncertainty=targets.mass_spread,
        span_uncertainty=targets.span_spread if own_span is None else instrument_uncertainty(
            "tape over the span", span)).parts
    share = float(ends_share(stretch).share)
    wants = targets.set_to
    band = None if wants is None else wants.new if told.new else wants.run_in
    chances = None
    notes = None
    if band is not None:
        chances = Chances(*(float(each) for each in shares(tension, spread, *band)))
        low, high = (float(frequency_from_tension(end / share, span, targets.mass)) for end in band)
        notes = (low, high)
    agrees = force is None or abs(force.mean - tension) <= 2 * float(np.hypot(force.mean_spread, spread))
    return replace(told, tension=tension, spread=spread, ends=1.0 - share, chances=chances, band=band, notes=notes,
                   parts=tuple((words, part) for name, words in _PARTS if (part := abs(float(parts[name]))) > 0.0),
                   by_force=force, agrees=agrees, all_belts=belts, apart=_apart(belts))


def _apart(belts: Strands | None) -> Apart | None:
    if belts is None or len(belts.belts) < 2 or min(belts.tension) <= 0.0:
        return None
    pulls, own = np.array(belts.tension), np.array(belts.own)
    return Apart(float(evenness(pulls, own).spread), bool(uneven(pulls, own)))
