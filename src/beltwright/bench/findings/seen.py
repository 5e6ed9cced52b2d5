"""Findings on what was seen, heard or smelt. What each word means and what to do stands in `seen.toml`.

Where low tension is the usual cause and the evidence is weak, the trade's base rate is used, and said: about 95 in 100
troubles of belts are low tension. A tension that was read weighs it up or down.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, cast

from beltwright.bench.figure import Put, say
from beltwright.bench.findings.finding import Finding, Urgency, behind, graver
from beltwright.bench.findings.noted import Case
from beltwright.plant.reading import Reading
from beltwright.tables import Trust

# share of belt trouble that is low tension (common practice, no source)
LOW_TENSION: Final = 0.95
NOTHING: Final = "nothing wrong"
_STATES: Final = ("as found", "in between", "running", "as left")


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a word means in the trade, what to do, what else to check, and what settles it."""

    word: str
    title: str
    urgency: Urgency
    of: str
    means: str
    do: tuple[str, ...]
    check_too: tuple[str, ...]
    slack: bool
    settled_by: tuple[str, ...]
    tension: bool
    source: str
    trust: Trust


@cache
def meanings() -> Mapping[str, Meaning]:
    """Every word with its meaning."""
    words = tomllib.loads((files(__package__) / "seen.toml").read_text(encoding="utf-8"))
    return MappingProxyType({word: _meaning(word, text) for word, text in words.items()})


def _meaning(word: str, text: Mapping[str, Any]) -> Meaning:
    return Meaning(word, text["title"], cast(Urgency, text["urgency"]), text["of"], text["means"], tuple(text["do"]),
                   tuple(text["check_too"]), text.get("slack", False), tuple(text["settled_by"]),
                   text.get("tension", False), text.get("source", "practice"),
                   cast(Trust, text.get("trust", "practice")))


def key_of(word: str) -> str:
    """The key of the finding that a word makes.

    >>> key_of("squeal at start")
    'seen-squeal-at-start'
    """
    return f"seen-{word.replace(' ', '-')}"


def on_seen(case: Case, slack: float | None, sound_since: datetime | None) -> list[Finding]:
    """Every word that is still open.

    slack:       chance that the belts are slack, as their tension was read; none where it was not
    sound_since: when the tension was left inside its band, if it was
    """
    return [_finding(case, meanings()[word], some, slack) for word, some in _open(case, sound_since).items()]


def _open(case: Case, sound_since: datetime | None) -> Mapping[str, Sequence[Reading]]:
    """The readings of each word that nothing has settled since."""
    readings = case.noted.get("seen", ())
    all_well = [_when(reading) for reading in readings if reading.values["what"] == NOTHING]
    last_well = max(all_well, default=None)
    found: dict[str, list[Reading]] = {}
    for reading in readings:
        meaning = meanings().get(str(reading.values["what"]))
        if meaning is None or (last_well is not None and _when(reading) < last_well):
            continue
        if not _settled(case, meaning, reading.taken_at, sound_since):
            found.setdefault(meaning.word, []).append(reading)
    return found


def _when(reading: Reading) -> tuple[datetime, int]:
    return reading.taken_at, _STATES.index(reading.state)


def _settled(case: Case, meaning: Meaning, when: datetime, sound_since: datetime | None) -> bool:
    fitted = case.fitted
    if meaning.of == "belts" and fitted.before("belts", when):
        return True
    # a new sheave has clean grooves; which of the two it was, the word does not say
    if meaning.of == "grooves" and fitted.before("driver", when) and fitted.before("driven", when):
        return True
    return fitted.done_since(meaning.settled_by, when) or (
        meaning.tension and sound_since is not None and when < sound_since)


def _finding(case: Case, meaning: Meaning, some: Sequence[Reading], slack: float | None) -> Finding:
    belts = sorted({int(reading.values["belt"]) for reading in some if "belt" in reading.values})
    where = f"belt {', '.join(map(str, belts))}: " if belts else ""
    sure, why = 1.0, ""
    statement = say("{where}{means}", where=where, means=meaning.means)
    do, also = meaning.do, {}
    if meaning.slack:
        sure, why = because_slack(slack)
        also["low_tension"] = Put("", "chance that low tension is behind it", sure, "share")
        if slack is not None and sure < 1.0 - LOW_TENSION:
            do = ("The tension was read and is right: look for another cause below.", *do)
    urgency = graver(meaning.urgency, _too_few(case, meaning, len(belts) or 1))
    return Finding(key_of(meaning.word), urgency, meaning.title, statement, sure, why, do, meaning.check_too,
                   meaning.source, meaning.trust, **behind(some), also=also)


def because_slack(slack: float | None) -> tuple[float, str]:
    """How likely low tension is behind a trouble it usually causes, and on what that rests.

    slack: chance that the belts are slack, by their tension as read, before the trouble is counted in

    >>> because_slack(None)[0], round(because_slack(0.5)[0], 2), round(because_slack(0.001)[0], 3)
    (0.95, 0.95, 0.019)
    """
    if slack is None:
        return LOW_TENSION, ("no tension was read: about 95 in 100 troubles of belts are low tension (common practice, "
                             "no source)")
    odds = LOW_TENSION / (1.0 - LOW_TENSION) * slack / max(1.0 - slack, 1e-12)
    return odds / (1.0 + odds), ("the tension as read, weighed with the trade's base rate of about 95 in 100 (common "
                                 "practice, no source)")


def surer(cause: Finding) -> Finding:
    """A finding of slack belts that also explains a trouble: the trouble speaks for it."""
    if cause.sure is None:
        return cause
    sure, why = because_slack(cause.sure)
    return replace(cause, sure=sure, why_sure=why)


def _too_few(case: Case, meaning: Meaning, missing: int) -> Urgency:
    """A belt is missing and those left are fewer than the load needs: half of the set or less."""
    belts = case.targets.belts
    if meaning.word != "missing belt" or belts is None or missing * 2 < belts:
        return meaning.urgency
    return "stop and mend"
