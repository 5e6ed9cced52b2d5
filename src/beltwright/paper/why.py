"""An inquiry into why a drive fails, as texts: causes with what speaks for and against them, the next check, the cure.

One set of words for terminal, page and print. Imports no layout and no PDF.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Final

from beltwright.bench.causes.checks import Check
from beltwright.bench.causes.evidence import Evidence
from beltwright.bench.causes.inquiry import Inquiry
from beltwright.bench.causes.knowledge import Sign, knowledge
from beltwright.bench.causes.ranking import Ranked, Speaks
from beltwright.bench.causes.rates import Rate
from beltwright.plant.reading import Reading
from beltwright.units import MINUTE, System, show

# causes shown: those likelier than this, at least so many
SHOWN_FROM: Final = 0.05
LEAST_SHOWN: Final = 3
JUDGEMENT: Final = ("Chances follow from strengths and base rates that are judgement of the trade, each with its "
                    "reason; the arithmetic is exact. They rank what to check next; they prove nothing.")
_GROUPS: Final[Mapping[str, str]] = {
    "heard": "to be heard", "running": "while it runs, from outside the guard", "happened": "to be asked or looked up",
    "at rest": "after lock-out", "as read": "to be read", "by the card": "by the card",
    "dead belt": "on the belt that failed"}


@dataclass(frozen=True, slots=True)
class CauseText:
    """A cause as told. `bar`: its chance in whole percent; `decided`: confirmed, ruled out or empty."""

    name: str
    title: str
    means: str
    chance: str
    bar: int
    words: str
    decided: str
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    do: tuple[str, ...]
    proof: str
    costs: tuple[str, ...]
    saves: tuple[str, ...]
    rate: str


@dataclass(frozen=True, slots=True)
class QuestionText:
    """A question: what to ask, where it is met, what it takes, what it would tell.

    reading: kind of reading to note instead of an answer, empty where a person answers
    """

    sign: str
    ask: str
    where: str
    takes: str
    lock_out: bool
    tells: str
    reading: str


@dataclass(frozen=True, slots=True)
class NotedText:
    """One thing known: what, whether it is there, how it is known, and when it was noted."""

    what: str
    there: str
    how: str
    when: str


@dataclass(frozen=True, slots=True)
class ProofText:
    """A confirmed cause not cured yet: what to do, what proves it, and by which reading."""

    cause: str
    title: str
    do: tuple[str, ...]
    proof: str
    reading: str
    since: str


@dataclass(frozen=True, slots=True)
class WhyText:
    """An inquiry as texts. `shown`: how many of `causes` are worth a look, the likeliest first."""

    tag: str
    name: str
    place: str
    since: str
    causes: tuple[CauseText, ...]
    shown: int
    question: QuestionText | None
    others: tuple[QuestionText, ...]
    stop: str
    noted: tuple[NotedText, ...]
    decided: tuple[str, ...]
    proofs: tuple[ProofText, ...]
    failures: tuple[str, ...]


def why(found: Inquiry, system: System, *, zone: tzinfo = UTC) -> WhyText:
    """Lay an inquiry out as texts. zone: the clock that people of the plant read."""
    drive = found.make_up.drive
    causes = tuple(cause_text(each, system) for each in found.causes)
    likely = sum(each.chance >= SHOWN_FROM or bool(each.decided) for each in found.causes)
    trade = knowledge()
    return WhyText(
        drive.tag, drive.name, drive.place, "" if found.since is None else _day(found.since, zone), causes,
        max(LEAST_SHOWN, likely), None if found.check is None else question_text(found.check),
        tuple(question_text(each) for each in found.others), found.stop,
        tuple(_noted(each, system, zone) for each in found.evidence),
        tuple(f"{trade.causes[each.cause].title}: {each.verdict} by {each.by}, {_day(each.at, zone)}"
              f"{f' ({each.proof})' if each.proof else ''}" for each in found.decided),
        tuple(ProofText(each.cause, trade.causes[each.cause].title, each.do, each.proof, each.reading,
                        _day(each.since, zone)) for each in found.proofs_due),
        tuple(_failure(each, system, zone) for each in found.failures))


def cause_text(each: Ranked, system: System) -> CauseText:
    """A cause as told."""
    cause = each.cause
    return CauseText(
        cause.name, cause.title, cause.means, percent(each.chance), round(100 * each.chance), each.chance_words,
        each.decided, tuple(_speaks(one) for one in each.signs_for), tuple(_speaks(one) for one in each.signs_against),
        cause.cure.do, cause.cure.proof, tuple(line.text(system) for line in each.worth.costs),
        tuple(line.text(system) for line in each.worth.saves), _rate(each.rate))


def percent(chance: float) -> str:
    """A chance as people say it; never quite nought and never quite all.

    >>> percent(0.694), percent(0.9999), percent(0.0003)
    ('69%', 'over 99%', 'under 1%')
    """
    if chance in (0.0, 1.0):
        return f"{chance:.0%}"
    return "over 99%" if chance > 0.99 else "under 1%" if chance < 0.01 else f"{chance:.0%}"


def _speaks(one: Speaks) -> str:
    sign = one.evidence.sign if one.evidence.there else f"no “{one.evidence.sign}”"
    return f"{sign}, {one.words}: {one.why}" if one.evidence.there else f"{sign}, {one.words}"


def _rate(rate: Rate) -> str:
    parts = [f"{percent(rate.trade)} of troubles by the trade"]
    for seen, value, whose in ((rate.plant_seen, rate.plant, "this plant's other drives"),
                               (rate.drive_seen, rate.drive, "this drive")):
        if seen[1]:
            parts.append(f"{percent(value)} with {whose} ({seen[0]} of {seen[1]})")
    return "; ".join(parts)


def question_text(check: Check) -> QuestionText:
    """A check as a question."""
    sign = check.sign
    return QuestionText(sign.name, sign.ask, _GROUPS[sign.group], _takes(sign, check.lock_out), check.lock_out,
                        _tells(check), sign.reading[0].partition(":")[0] if sign.reading else "")


def _takes(sign: Sign, lock_out: bool) -> str:
    parts = [f"{sign.time / MINUTE:.0f} min", *sign.tools, *(("lock-out first",) if lock_out else ())]
    return ", ".join(parts)


def _tells(check: Check) -> str:
    titles = knowledge().causes
    there, not_there = check.speaks_for, check.if_absent
    return (f"If it is there: {titles[there.cause].title.lower()} {percent(there.chance)}. If it is not: "
            f"{titles[not_there.cause].title.lower()} {percent(not_there.chance)}.")


def _noted(each: Evidence, system: System, zone: tzinfo) -> NotedText:
    there = ("there" if each.there else "not there") if each.sure else (
        f"there, {percent(each.present / (each.present + each.absent))}")
    words = each.words.text(system)
    how = f"by the card: {words}" if each.origin == "by the card" and "by the card" not in words else words
    return NotedText(each.sign, there, how,
                     "" if each.at is None else _day(each.at, zone))


def _failure(reading: Reading, system: System, zone: tzinfo) -> str:
    values = reading.values
    looks = ", ".join(str(values[name]) for name in ("look", "look_too") if name in values)
    ran = f" after {show(float(values['hours']), 'time', system)}" if "hours" in values else ""
    return (f"{_day(reading.taken_at, zone)}: {values['count']} failed{ran}{f', {looks}' if looks else ''}"
            f"{'; put down to ' + str(values['cause']) if 'cause' in values else ''}")


def _day(at: datetime, zone: tzinfo) -> str:
    return at.astimezone(zone).strftime("%Y-%m-%d")
