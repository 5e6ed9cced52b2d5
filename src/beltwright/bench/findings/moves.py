"""How far to move the motor for a tension that is wrong: by what this drive's own moves taught, or a small first step.

Sentences only; the stiffness was learned in `held`, every number is mechanics'.
"""

from __future__ import annotations

from beltwright.bench.figure import Said, say
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.targets import Targets
from beltwright.mechanics import stretch
from beltwright.mechanics.deflection import force_at_mark, force_on_band, mark_deflection
from beltwright.mechanics.frequency import frequency_from_tension

SPRUNG = ("pivoted", "sprung")


def how_to_read(targets: Targets, tension: Tension | None, new: bool) -> tuple[Said, ...]:
    """What to set to, in the way the belts are read on this drive: force at the mark, and the note of the span."""
    asks, span = targets.set_to, targets.span
    if asks is None or span is None:
        return ()
    low, high = asks.new if new else asks.run_in
    age = "new" if new else "run-in"
    sentences = []
    if targets.allowance is not None:
        ends = [float(force_at_mark(end, targets.allowance)) for end in (low, high)]
        who = f"each {age} belt"
        if targets.joined and targets.belts:
            ends, who = [float(force_on_band(end, targets.belts)) for end in ends], f"the whole {age} band"
        sentences.append(say(
            "In the middle of the span ({span}) press in by {deflection}: {low} to {high} on {who}.",
            span=(span, "length"), deflection=(float(mark_deflection(span)), "length", 1), low=(ends[0], "force"),
            high=(ends[1], "force"), who=who))
    if targets.mass is not None:
        notes = [float(frequency_from_tension(end, span, targets.mass)) for end in (low, high)]
        sentences.append(say("Plucked, at rest: {low} to {high}.", low=(notes[0], "frequency"),
                             high=(notes[1], "frequency")))
    by_note = tension is not None and tension.strands is not None and tension.strands.by_note
    return tuple(reversed(sentences) if by_note else sentences)


def how_far(targets: Targets, tension: Tension, new: bool) -> tuple[Said | str, ...]:
    """How far to move the motor from the tension read to the middle of its band."""
    asks, now = targets.set_to, tension.strands
    if asks is None or now is None:
        return ()
    if targets.drive.base in SPRUNG:
        return ("The base holds the pull by its spring or weight: set that, then read again.",)
    low, high = asks.new if new else asks.run_in
    change = (low + high) / 2 - now.mean
    way = "away from" if change > 0 else "towards"
    past = () if change > 0 else ("Slacken past the mark and come back up to it: a belt let down holds on to some of "
                                  "its tension.",)
    taught = tension.taught
    if taught is not None and taught.known:
        move = stretch.move_for(change, taught.slope, slope_uncertainty=taught.uncertainty,
                                change_uncertainty=now.mean_spread)
        return (say("Move the motor {move} {way} the driven shaft, as its own moves have shown ({number} of them): "
                    "{first} first, then read, then the rest.", move=(abs(float(move.move)), "length", 1), way=way,
                    number=str(taught.moves), first=(abs(float(move.cautious)), "length", 1)), *past)
    if targets.mass is None or targets.length is None or targets.growth is None:
        return ()
    step = stretch.first_step(change, targets.mass, targets.length, targets.growth)
    return (say("How tension follows a move is not known for this drive yet: move the motor {step} {way} the driven "
                "shaft, turn by hand, read again and note both. That should change it by {least} to {most} and teaches "
                "the rest.", step=(abs(float(step.move)), "length", 1), way=way,
                least=(abs(float(step.least)), "force"), most=(abs(float(step.most)), "force")), *past)
