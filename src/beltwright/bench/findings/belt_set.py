"""Findings on the belts as a set: lengths against the matching limit, bows, makes, ages, new with used, belts missing.

A set that does not match loads its shortest belt; how the load shares out is worked from the lengths.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from beltwright.bench.figure import Said, say
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.grooves import sunk_by_groove
from beltwright.bench.findings.load import Array
from beltwright.bench.findings.load import shares as shares_of
from beltwright.bench.findings.noted import Case, latest
from beltwright.bench.known import WHICH
from beltwright.bench.worked import value, work_out
from beltwright.errors import BeltwrightError
from beltwright.mechanics import matching
from beltwright.mechanics.recheck import recheck
from beltwright.mechanics.standard_lengths import LengthLimits, length_limits
from beltwright.mechanics.uncertainty import bound_uncertainty, instrument_uncertainty, resolution_uncertainty, shares
from beltwright.plant.reading import Reading

LIKELIER: Final = 0.5
_SET_DO: Final = ("Replace all the belts as one matched set, all new, of one make.",
                  "Keep the old ones in order and look why they failed.")
# a tape round the outside of a belt laid flat, where nobody said how fine [m]
_TAPE_STEP: Final = 0.001


def on_set(case: Case) -> list[Finding]:
    """Everything to be said of the belts as a set."""
    found: list[Finding] = []
    if "belt length" in case.noted:
        found += _lengths(case)
    if "bow" in case.noted:
        found += _bows(case)
    if "belt" in case.noted:
        found += _as_read(case)
    return [*found, *_empty_grooves(case)]


def _empty_grooves(case: Case) -> list[Finding]:
    """Fewer belts than grooves: built so, or one is missing; the load says which."""
    drive, belts = case.targets.drive, case.targets.belts
    grooves = min((sheave.grooves for sheave in (drive.driver, drive.driven) if sheave.grooves is not None), default=0)
    if belts is None or grooves <= belts:
        return []
    enough = work_out(case.targets.known).adequacy
    if enough is not None and belts >= value(enough.to_fit):
        return []
    template = "{belts} belts in {grooves} grooves"
    numbers: dict[str, tuple[float, str, int] | str] = {"belts": str(belts), "grooves": str(grooves)}
    if enough is None:
        return [Finding("set-empty-grooves", "watch", "Empty grooves", say(template, **numbers), None, "",
                        ("Find out whether a belt is missing, or the drive was built with grooves to spare.",), (),
                        "practice", "practice")]
    numbers["needed"] = (value(enough.to_fit), "number", 0)
    return [Finding("set-empty-grooves", "plan", "Too few belts, and empty grooves",
                    say(template + "; the load asks for {needed}", **numbers), 0.9, "",
                    ("Fit a full matched set, all new, of one make, and set the tension for it.",),
                    ("whether a belt was lost",), "practice", "practice")]


def _lengths(case: Case) -> list[Finding]:
    """Measured lengths of the last occasion against the published difference within a set."""
    some = _by_belt(latest(case.of("belt length", "belts")))
    if len(some) < 2:
        return []
    lengths = np.array([float(reading.values["length"]) for reading in some.values()])
    spread = np.array([_length_spread(reading) for reading in some.values()])
    return _mismatch(case, "set-lengths", list(some), lengths, spread, list(some.values()), "measured")


def _bows(case: Case) -> list[Finding]:
    """Bows of the slack side: a longer belt hangs deeper, all slack brought to one side."""
    some = _by_belt(latest(case.of("bow", "belts")))
    usable = {belt: reading for belt, reading in some.items() if _span(case, reading) is not None
              and bool(matching.shallow(float(reading.values["bow"]), _span(case, reading) or 1.0))}
    if len(usable) < len(some):
        deep = [belt for belt in some if belt not in usable and _span(case, some[belt]) is not None]
        if deep:
            return [Finding("set-bow-deep", "mend at next stop", "Slack side hangs deep",
                            say("belt {belts}: the slack side hangs deeper than an eighth of its span", belts=", ".join(
                                map(str, deep))), 0.95, "", ("Read the tension and set it.",), ("the base: belts this "
                            "slack may have no take-up left",), "practice", "practice",
                            **behind(some[belt] for belt in deep))]
    if len(usable) < 2:
        return []
    bows = np.array([float(reading.values["bow"]) for reading in usable.values()])
    spans = np.array([_span(case, reading) or 1.0 for reading in usable.values()])
    more = np.asarray(matching.length_in_bow(bows, spans))
    # seen through the guard: a bow is read to a rule's width, and goes into the length with its square
    doubt = float(instrument_uncertainty("rule at the string", 0.0))
    spread = np.maximum(16 * bows / (3 * spans), 1e-6) * doubt
    base = case.targets.length or 1.0
    return _mismatch(case, "set-bows", list(usable), base + more, spread, list(usable.values()), "by their bows")


def _mismatch(case: Case, key: str, belts: Sequence[int], lengths: Array, spread: Array,
              readings: Sequence[Reading], how: str) -> list[Finding]:
    limits = _limits(case)
    apart = matching.difference(lengths, spread)
    difference, doubt = float(apart.difference), max(float(apart.uncertainty), 1e-6)
    if limits is None or limits.matching is None:
        if difference <= 2 * doubt:
            return []
        return [Finding(key, "watch", "Belts of the set differ in length",
                        say("their lengths, {how}, differ by {apart}; no limit for this section is known here",
                            how=how, apart=(difference, "length", 1)), None, "", ("Hold it against the limit of the "
                        "belts' own list.",), (), "practice", "practice", **behind(readings))]
    chance = float(shares(difference, doubt, 0.0, limits.matching).above)
    if chance <= LIKELIER:
        return []
    # belts of a set with twice the difference allowed are of different lots or ages
    urgency: Urgency = "mend at next stop" if difference > 2 * limits.matching else "plan"
    odd = [belt for belt, fits in zip(belts, matching.fellows(lengths, limits.matching).tolist(), strict=True)
           if not fits]
    statement = say("the lengths of the belts, {how}, differ by {apart} ± {doubt}; {limit} is allowed within a set; "
                    "odd: belt {odd}", how=how, apart=(difference, "length", 1), doubt=(2 * doubt, "length", 1),
                    limit=(limits.matching, "length", 1), odd=", ".join(map(str, odd)) or "none alone")
    return [Finding(key, urgency, "Belts of the set do not match", statement, chance, "", _SET_DO,
                    ("tension belt by belt", "grooves: unlike grooves look like unlike belts"), limits.source,
                    limits.trust, **behind(readings), also=shares_of(case, lengths, _sunk(case, belts)))]


def _sunk(case: Case, belts: Sequence[int]) -> dict[str, Array]:
    """How far each belt has sunk into its groove, where all its grooves on a sheave were gauged."""
    found = {}
    for which in WHICH:
        depths = sunk_by_groove(case, which)
        if all(belt in depths for belt in belts):
            found[which] = np.array([depths[belt] for belt in belts])
    return found


def _limits(case: Case) -> LengthLimits | None:
    section, length = case.targets.known.section, case.targets.known.facts.get("length")
    if section is None or length is None:
        return None
    try:
        return length_limits(length.value, section.system.length_as, section.name, section.standard)
    except BeltwrightError:
        return None


def _as_read(case: Case) -> list[Finding]:
    """What is printed on each belt and how long it has run: one make, one marking, one age."""
    some = _by_belt(case.of("belt", "belts"))
    found: list[Finding] = []
    for field, title in (("make", "Belts of several makes"), ("marking", "Belts of several markings")):
        groups: dict[str, list[int]] = {}
        typed: dict[str, str] = {}
        for belt, reading in some.items():
            words = " ".join(str(reading.values.get(field, "")).split())
            if words:
                groups.setdefault(words.casefold(), []).append(belt)
                typed.setdefault(words.casefold(), words)
        if len(groups) > 1:
            which = "; ".join(f"{typed[name]} on belt {', '.join(map(str, belts))}"
                              for name, belts in sorted(groups.items()))
            # belts of other makes stretch unlike; another marking is another length or section
            urgency: Urgency = "plan" if field == "make" else "mend at next stop"
            found.append(Finding(f"set-{field}s", urgency, title, say("{which}: a set is of one {field}", which=which,
                                                                      field=field), 1.0, "", _SET_DO,
                                 ("tension belt by belt",), "mil1164", "read", **behind(some.values())))
    found += _ages(some)
    belts = case.targets.belts
    if belts is not None and some and max(some) > belts:
        found.append(Finding("set-count", "watch", "More belts than on record",
                             say("belt {belt} was read, {belts} are on record", belt=str(max(some)), belts=str(belts)),
                             1.0, "", ("Count the belts and put the record right.",), (), "practice", "practice",
                             **behind(some.values())))
    return found


def _ages(some: dict[int, Reading]) -> list[Finding]:
    ages = {belt: float(reading.values["age"]) for belt, reading in some.items() if "age" in reading.values}
    if len(ages) < 2:
        return []
    youngest, oldest = min(ages.values()), max(ages.values())
    # put on the same day and run in together: the first re-check is the end of that
    if oldest - youngest <= recheck("first days").high:
        return []
    new = [belt for belt, age in ages.items() if age == youngest]
    statement: Said = say("belt {new} has run {youngest}, others {oldest}: new belts run with used ones carry their "
                          "load until they are as worn", new=", ".join(map(str, new)), youngest=(youngest, "time"),
                          oldest=(oldest, "time"))
    return [Finding("set-ages", "plan", "New belts run with used ones", statement, 1.0, "", _SET_DO,
                    ("tension belt by belt",), "mil1164", "read", **behind(some.values()))]


def _by_belt(readings: Sequence[Reading]) -> dict[int, Reading]:
    return dict(sorted({int(reading.values["belt"]): reading for reading in readings}.items()))


def _span(case: Case, reading: Reading) -> float | None:
    span = reading.values.get("span", case.targets.span)
    return None if span is None else float(span)


def _length_spread(reading: Reading) -> float:
    step = reading.values.get("resolution")
    step = step if isinstance(step, float) and step > 0.0 else _TAPE_STEP
    return float(np.hypot(resolution_uncertainty(step), bound_uncertainty(step / 2)))
