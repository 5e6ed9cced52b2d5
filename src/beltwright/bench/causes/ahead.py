"""The next few questions of an inquiry worked out ahead, for a phone that goes on asking without signal.

A tree: at each place the likeliest causes, the question to ask there, and where each answer leads. Answers that come to
the same evidence in another order are one place. What the tree says is what `inquire` would say. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from beltwright.bench.causes.checks import Check, next_check
from beltwright.bench.causes.evidence import Evidence
from beltwright.bench.causes.inquiry import Inquiry
from beltwright.bench.causes.knowledge import knowledge
from beltwright.bench.causes.ranking import Ranked, ranked
from beltwright.bench.figure import say
from beltwright.plant.trouble import ANSWERS

DEPTH: Final = 4
# answers given so far, as (sign, answer), in no order
Given = frozenset[tuple[str, str]]
PRESENT, ABSENT, PASSED = ANSWERS


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the tree: causes as ranked there, the question there (none where asking ends) and why it ends.

    leads: answer -> the answers given by then, which name the place it leads to; empty at the end of the tree
    """

    causes: tuple[Ranked, ...]
    check: Check | None
    stop: str
    leads: Mapping[str, Given]


def ahead(found: Inquiry, *, locked_out: bool = False, depth: int = DEPTH) -> Mapping[Given, Place]:
    """The places that may be reached from where the inquiry stands, by so many answers; the first is the empty set."""
    made: dict[Given, Place] = {}
    reach: list[Given] = [frozenset()]
    for step in range(depth + 1):
        coming: list[Given] = []
        for given in dict.fromkeys(reach):
            causes, check, stop = _at(found, given, locked_out)
            last = step == depth or check is None
            leads = {} if last or check is None else {answer: given | {(check.sign.name, answer)}
                                                      for answer in ANSWERS}
            made[given] = Place(causes, check, stop, leads)
            coming += leads.values()
        reach = [given for given in coming if given not in made]
    return made


def _at(found: Inquiry, given: Given, locked_out: bool) -> tuple[tuple[Ranked, ...], Check | None, str]:
    """Causes, next check and why there is none, with some answers more."""
    trade = knowledge()
    evidence = (*found.evidence, *(_answered(sign, answer) for sign, answer in sorted(given) if answer != PASSED))
    rated = {each.cause.name: each.rate for each in found.causes}
    worth = {each.cause.name: each.worth for each in found.causes}
    decided = {each.cause: each.verdict for each in found.decided}
    causes = tuple(Ranked(each.cause, each.chance, each.rate, each.signs_for, each.signs_against, each.decided,
                          worth[each.cause.name]) for each in ranked(trade, evidence, rated, decided=decided))
    passed = [*_passed(found), *(sign for sign, answer in given if answer == PASSED)]
    asked = next_check(trade, evidence, rated, decided=decided, passed=passed, locked_out=locked_out,
                       belt_at_hand=bool(found.failures))
    return causes, asked.next, asked.stop


def _answered(sign: str, answer: str) -> Evidence:
    there = 1.0 if answer == PRESENT else 0.0
    return Evidence(sign, there, 1.0 - there, "answered", say("answered: {answer}", answer=answer))


def _passed(found: Inquiry) -> Sequence[str]:
    """Questions that were asked and could not be told: open, yet not among those to ask."""
    to_ask = {check.sign.name for check in (found.check, *found.others) if check is not None}
    return [sign.name for sign in found.questions if sign.name not in to_ask]
