"""Findings on tension: slack, tight, uneven, not read since, and what new belts do in their first hours.

The rules of urgency stand in docs/method/findings.md; numbers come from `held`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Final

from beltwright.bench.figure import Put, Said, say, weakest
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.moves import how_far, how_to_read
from beltwright.bench.findings.noted import Case
from beltwright.bench.findings.strands import Strands
from beltwright.mechanics.bearing_life import EXPONENTS, life_change
from beltwright.mechanics.tension import set_bands
from beltwright.tables import Trust

# more likely outside its band than not
LIKELIER: Final = 0.5
# from this chance on a belt that reads inside its band is one to watch
WATCH_FROM: Final = 0.3
# mean tension below this share of the low end: the belts cannot carry their load
HALF: Final = 0.5
_LOOSE_BASE: Final = "hold-down bolts and slide rails: a motor that creeps slackens its belts"


def on_tension(case: Case, tension: Tension | None) -> list[Finding]:
    """Everything to be said of the tension of a drive."""
    if tension is None:
        return []
    now = tension.strands
    if tension.moved is not None:
        return [_moved(case, tension)]
    if now is None:
        return [_tells_nothing(tension)]
    if tension.band is None:
        return [_no_band(case, now), *_uneven(tension, now)]
    found = [*_slack(case, tension, now), *_tight(case, tension, now)]
    found = found or _near(tension, now)
    return [*found, *_uneven(tension, now), *_some_not_read(case, now)]


def _slack(case: Case, tension: Tension, now: Strands) -> list[Finding]:
    asks = case.targets.set_to
    assert asks is not None
    below = [at for at, chance in enumerate(tension.chances) if chance.below > LIKELIER]
    if not below:
        return []
    low = asks.run_in[0]
    least = min(now.tension)
    state = "new" if tension.new else "run-in"
    sure = max(tension.chances[at].below for at in below)
    # new belts lose tension in their first hours: below the band of new ones is slack only below that of run-in ones
    if tension.new and least >= low:
        urgency: Urgency = "mend at next stop" if now.state == "as left" else "plan"
        key, title = "tension-new-low", "New belts not tight enough"
        template = ("{which} below the band for new belts, as new belts come to be: {least} where {low} to {high} is "
                    "right; mean {mean} ± {spread}")
    else:
        urgency = "stop and mend" if now.mean < HALF * low else "mend at next stop"
        key, title = "tension-slack", "Belts slack"
        template = ("{which} below the band for {state} belts: {least} where {low} to {high} is right; mean {mean} ± "
                    "{spread}")
    statement = _against_band(template, tension, now, _named(now, below), state)
    return [Finding(
        key, urgency, title, statement, sure, "", (
            *how_far(case.targets, tension, tension.new), *how_to_read(case.targets, tension, tension.new),
            "Align and tighten the hold-down bolts after any change of the centre distance, then read once more."),
        ("grooves: belts sink in worn ones", "whether all belts are of one set", _LOOSE_BASE), "bloch", _trust(case),
        **behind(now.readings), also=_chance(sure), each=_belt_by_belt(tension, now))]


def _tight(case: Case, tension: Tension, now: Strands) -> list[Finding]:
    asks = case.targets.set_to
    assert asks is not None
    above = [at for at, chance in enumerate(tension.chances) if chance.above > LIKELIER]
    if not above:
        return []
    most, high = max(now.tension), asks.run_in[1]
    urgency: Urgency = "mend at next stop" if most > asks.new[1] else "plan"
    sure = max(tension.chances[at].above for at in above)
    statement = _against_band("{which} above the band for {state} belts: {most} where {low} to {high} is right; mean "
                              "{mean} ± {spread}", tension, now, _named(now, above), "new" if tension.new else "run-in")
    more = now.mean / (asks.new[1] if tension.new else high)
    left = float(life_change(more, EXPONENTS["ball"])) if more > 1.0 else 1.0
    do: tuple[Said | str, ...] = (*how_far(case.targets, tension, tension.new),
                                  *how_to_read(case.targets, tension, tension.new))
    if left < 1.0:
        do = (say("Slacken them: with belts this tight the bearings last {left} of what they would.",
                  left=(left, "share", 0)), *do)
    return [Finding("tension-tight", urgency, "Belts too tight", statement, sure, "", do,
                    ("bearings of both shafts, by hand-held thermometer", "whether a new band was set on run-in belts"),
                    "bloch", _trust(case), **behind(now.readings), also=_chance(sure),
                    each=_belt_by_belt(tension, now))]


def _near(tension: Tension, now: Strands) -> list[Finding]:
    """Inside the band as read, but not surely so."""
    chances = [max(chance.below, chance.above) for chance in tension.chances]
    sure = max(chances)
    if sure < WATCH_FROM:
        return []
    at = chances.index(sure)
    side = "below" if tension.chances[at].below >= tension.chances[at].above else "above"
    statement = _against_band("{which} inside the band as read, but may lie {side} it: {most} where {low} to {high} is "
                              "right, ± {spread}", tension, now, _named(now, [at]), side=side, at=at)
    return [Finding("tension-near", "watch", "Tension near the end of its band", statement, sure, "",
                    ("Read again: weigh a belt if it was read by its note, use a finer gauge if by force.",), (),
                    "bloch", "derived", **behind(now.readings), also=_chance(sure),
                    each=_belt_by_belt(tension, now))]


def _uneven(tension: Tension, now: Strands) -> list[Finding]:
    apart = tension.apart
    if apart is None or not apart.more_than_errors:
        return []
    limit = _band_width()
    if apart.spread <= limit / 2:
        return []
    urgency: Urgency = "mend at next stop" if apart.spread > limit else "plan"
    slackest, tightest = min(now.tension), max(now.tension)
    statement = say("the belts of the set do not pull alike: {slackest} to {tightest}, {spread} of their mean, more "
                    "than their readings can be wrong; above {limit} no setting puts them all in their band",
                    slackest=(slackest, "force"), tightest=(tightest, "force"), spread=(apart.spread, "share", 0),
                    limit=(limit, "share", 0))
    return [Finding("tension-uneven", urgency, "Belts pull unevenly", statement, 0.95, "",
                    ("See that every belt is of one make, one length mark and one age; measure the lengths when they "
                     "are off.", "Gauge every groove: unlike grooves pull unlike.",
                     "Replace the belts as one matched set, never one alone."),
                    ("slack all brought to one side before it was read", "belts turned over or out of their groove"),
                    "mil1164", "practice", **behind(now.readings))]


def _some_not_read(case: Case, now: Strands) -> list[Finding]:
    belts = case.targets.belts
    if belts is None or case.targets.joined or len(now.belts) + len(now.unusable) >= belts:
        return []
    statement = say("{read} of {belts} belts were read: those not read may be slack", read=str(len(now.belts)),
                    belts=str(belts))
    return [Finding("tension-some-unread", "watch", "Not every belt read", statement, None, "",
                    ("Read every belt of the set at the next stop.",), (), "practice", "practice",
                    **behind(now.readings))]


def _moved(case: Case, tension: Tension) -> Finding:
    assert tension.moved is not None
    readings = tension.strands.readings if tension.strands is not None else tension.unread
    set_since = case.fitted.done_since(("set-tension", "set-new", "left-tension"), tension.moved)
    statement = say("the motor was moved after the tension was read last" + (
        ", and setting it was confirmed without a reading" if set_since else ""))
    return Finding("tension-unread", "plan" if set_since else "mend at next stop", "Tension not read since the move",
                   statement, 1.0, "", ("Read every belt, and note it as left.", *how_to_read(
                       case.targets, tension, case.fitted.new(case.now))), ("alignment and hold-down bolts",),
                   "practice", "practice", **behind(readings))


def _tells_nothing(tension: Tension) -> Finding:
    return Finding("tension-unread", "plan", "Tension reading tells nothing",
                   say("no tension can be told from it: the span is not known, the press was deeper than a sixteenth "
                       "of the span, or the belt was not named"), None, "",
                   ("Enter the drive's sheaves and centre distance, or the span with the reading; press in by 1/64 of "
                    "the span and say which belt.",), (), "bloch", "derived", **behind(tension.unread))


def _no_band(case: Case, now: Strands) -> Finding:
    statement = say("each strand pulls {mean} ± {spread}, but what it should pull is not known: {why}",
                    mean=(now.mean, "force"), spread=(2 * now.mean_spread, "force"), why=case.targets.why or "see the "
                    "card")
    return Finding("tension-no-band", "watch", "Tension cannot be judged yet", statement, None, "",
                   ("Enter what the card asks for.",), (), "statics", "derived", **behind(now.readings))


def _against_band(template: str, tension: Tension, now: Strands, which: str, state: str = "", *, side: str = "",
                  at: int | None = None) -> Said:
    assert tension.band is not None
    low, high = tension.band
    own = now.mean_spread if at is None else now.spread[at]
    return say(template, which=which, state=state, side=side, least=(min(now.tension), "force"),
               most=(max(now.tension) if at is None else now.tension[at], "force"), mean=(now.mean, "force"),
               low=(low, "force"), high=(high, "force"), spread=(2 * own, "force"))


def _belt_by_belt(tension: Tension, now: Strands) -> tuple[Said, ...]:
    """Each belt's tension, how well it is known, and how likely it lies in the band."""
    if len(now.belts) < 2:
        return ()
    return tuple(say("belt {belt} {force} ± {doubt}, in its band {inside}", belt=str(belt), force=(pull, "force"),
                     doubt=(2 * doubt, "force"), inside=(chance.inside, "share", 0))
                 for belt, pull, doubt, chance in zip(now.belts, now.tension, now.spread, tension.chances, strict=True))


def _named(now: Strands, places: Sequence[int]) -> str:
    """The belts meant, in words."""
    if now.belts == (0,):
        return "the joined band is"
    if len(now.belts) == 1:
        return "the belt is"
    if len(places) == len(now.belts):
        return f"all {len(places)} belts are"
    numbers = [str(now.belts[at]) for at in places]
    if len(numbers) == 1:
        return f"belt {numbers[0]} is"
    return f"belts {', '.join(numbers[:-1])} and {numbers[-1]} are"


def _chance(sure: float) -> dict[str, Put]:
    return {"chance": Put("chance", "chance that it is so", sure, "share")}


def _trust(case: Case) -> Trust:
    mass = case.targets.known.facts.get("mass")
    return "derived" if mass is None else weakest("derived", mass.trust)


@cache
def _band_width() -> float:
    """How far the belts of a set may pull apart so that one setting still puts them all into the run-in band."""
    low, high = set_bands(1.0).run_in
    return float(2 * (high - low) / (high + low))


def chance_of_slack(tension: Tension | None) -> float | None:
    """How likely the set is slack as last read; none where it was not read or cannot be held against a band."""
    if tension is None or tension.moved is not None or not tension.chances or tension.mean_chances is None:
        return None
    return max(chance.below for chance in (*tension.chances, tension.mean_chances))
