"""Causes ranked: practice of the trade as cases, what must hold of any evidence, and how a cause is explained."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.causes.checks import ACT_FROM, MAY_COME, Checks, next_check
from beltwright.bench.causes.evidence import Evidence
from beltwright.bench.causes.knowledge import knowledge
from beltwright.bench.causes.ranking import Ranked, ranked
from beltwright.bench.causes.rates import Counts, Rate, rates
from beltwright.bench.figure import say
from beltwright.plant.trouble import CAUSES, SIGNS
from beltwright.units import MINUTE

TRADE = knowledge()
RATED = rates(TRADE, plant=Counts(), drive=Counts())
PRACTICE = json.loads(Path(__file__).with_name("practice.json").read_text(encoding="utf-8"))["cases"]


def noted(sign: str, chance: float) -> Evidence:
    """A sign that is there with that chance, as read against an even chance before."""
    return Evidence(sign, chance, 1.0 - chance, "answered", say("noted"))


def rank(*evidence: Evidence, rated: dict[str, Rate] | None = None, **decided: str) -> dict[str, Ranked]:
    named = {name.replace("_", " "): verdict for name, verdict in decided.items()}
    return {each.cause.name: each for each in ranked(TRADE, evidence, rated or RATED, decided=named)}


def ask(*evidence: Evidence, passed: tuple[str, ...] = (), locked_out: bool = False, **decided: str) -> Checks:
    named = {name.replace("_", " "): verdict for name, verdict in decided.items()}
    return next_check(TRADE, evidence, RATED, decided=named, passed=passed, locked_out=locked_out)


@st.composite
def any_evidence(draw: st.DrawFn) -> list[Evidence]:
    signs = draw(st.lists(st.sampled_from(SIGNS), unique=True, max_size=8))
    return [noted(sign, draw(st.sampled_from((0.0, 1.0, 0.97, 0.6, 0.1)))) for sign in signs]


@pytest.mark.parametrize("case", PRACTICE, ids=[case["practice"] for case in PRACTICE])
def test_practice_is_among_the_first_three(case: dict[str, list[str]]) -> None:
    first = list(rank(*(noted(sign, 1.0) for sign in case["signs"]),
                      *(noted(sign, 0.0) for sign in case.get("missing", []))))[:3]
    assert set(case["causes"]) <= set(first)


@settings(deadline=None)
@given(any_evidence(), st.randoms(use_true_random=False))
def test_the_order_in_which_evidence_came_changes_nothing(evidence: list[Evidence], chance: object) -> None:
    shuffled = sorted(evidence, key=lambda each: hash((each.sign, str(chance))))
    assert {name: each.chance for name, each in rank(*evidence).items()} == pytest.approx(
        {name: each.chance for name, each in rank(*shuffled).items()}, rel=1e-9, abs=1e-15)


@settings(deadline=None)
@given(any_evidence())
def test_a_sign_speaks_only_for_its_causes_and_a_missing_one_only_against(evidence: list[Evidence]) -> None:
    for each in rank(*evidence).values():
        brings = {link.sign for link in each.cause.links}
        assert all(speaks.evidence.there and speaks.evidence.sign in brings for speaks in each.signs_for)
        assert all(not speaks.evidence.there and speaks.evidence.sign in brings for speaks in each.signs_against)
        assert all(speaks.why for speaks in (*each.signs_for, *each.signs_against))


@settings(deadline=None)
@given(st.sampled_from(SIGNS), st.lists(st.sampled_from(SIGNS), max_size=6))
def test_where_all_is_in_order_one_sign_more_in_order_raises_no_cause(sign: str, others: list[str]) -> None:
    evidence = [noted(other, 0.0) for other in set(others) - {sign}]
    before, after = rank(*evidence), rank(*evidence, noted(sign, 0.0))
    assert all(after[cause].chance <= before[cause].chance + 1e-12 for cause in CAUSES)


def test_a_reading_in_doubt_says_less_than_a_sure_one() -> None:
    chances = [rank(noted("tension read low", chance))["tension too low"].chance
               for chance in (0.0, 0.03, 0.5, 0.97, 1.0)]
    assert chances == sorted(chances)
    assert chances[2] == pytest.approx(0.95)
    assert chances[0] < 0.25
    assert chances[3] > 0.99


def test_one_cause_found_takes_the_blame_from_the_others() -> None:
    worn = rank(noted("flanks worn on one side", 1.0))
    oily = rank(noted("flanks worn on one side", 1.0), sheaves_offset="confirmed")
    assert oily["shafts out of parallel"].chance < worn["shafts out of parallel"].chance
    assert oily["sheaves offset"].chance == 1.0
    assert oily["sheaves offset"].decided == "confirmed"
    gone = rank(noted("flanks worn on one side", 1.0), sheaves_offset="ruled out")
    assert gone["shafts out of parallel"].chance > worn["shafts out of parallel"].chance
    assert gone["sheaves offset"].chance == 0.0


def test_each_cause_says_what_speaks_for_and_against_it_strongest_first() -> None:
    found = rank(noted("flanks worn on one side", 1.0), noted("cover frayed or torn", 1.0),
                 noted("out of line as read", 0.0), noted("squeal at start", 0.0))["sheaves offset"]
    assert [speaks.evidence.sign for speaks in found.signs_for] == ["flanks worn on one side", "cover frayed or torn"]
    assert [speaks.evidence.sign for speaks in found.signs_against] == ["out of line as read"]
    assert found.signs_for[0].times > found.signs_for[1].times > 1.0 > found.signs_against[0].times
    assert found.signs_against[0].words == "very strongly"
    assert found.signs_for[1].words == "clearly"
    assert found.signs_for[0].why == "the belt rubs the flank it is led against"


def test_every_sign_of_a_cause_at_once_is_still_exact() -> None:
    """More than a person ever ticks; the limit itself is refused and said (see mechanics)."""
    worst = [link.sign for link in TRADE.causes["tension too low"].links]
    found = rank(*(noted(sign, 1.0) for sign in worst))
    assert len(worst) == 26
    assert found["tension too low"].chance > 0.999


# --- the next check --------------------------------------------------------------------------------------------------

def test_a_check_costs_its_lock_out_while_the_drive_runs() -> None:
    asked = ask(noted("squeal at start", 1.0), noted("tension read low", 0.0))
    check = asked.next
    assert check is not None
    assert not check.lock_out
    assert check.changes
    assert check.speaks_for.cause == "tension too low"
    assert check.per_minute == pytest.approx(check.gain / (check.sign.time / MINUTE))
    locked = ask(noted("squeal at start", 1.0), noted("tension read low", 0.0), locked_out=True)
    assert not any(each.lock_out for each in locked.checks)
    hands = {each.sign.name: each.per_minute for each in locked.checks}
    assert all(each.per_minute <= hands[each.sign.name] + 1e-12 for each in asked.checks)


def test_checks_already_made_or_passed_are_not_asked_again() -> None:
    asked = ask(noted("squeal at start", 1.0), passed=("slack side bows",))
    names = {each.sign.name for each in asked.checks}
    assert names == set(SIGNS) - {"squeal at start", "slack side bows"}


def test_asking_stops_when_no_answer_changes_what_is_done() -> None:
    """Whatever of the likelier answers is given to any check left, the same causes are acted on."""
    evidence = [noted("squeal at start", 1.0), noted("tension read low", 1.0)]
    for _ in range(len(SIGNS)):
        asked = ask(*evidence)
        if asked.next is None:
            break
        evidence.append(noted(asked.next.sign.name, 1.0 if asked.next.likely >= 0.5 else 0.0))
    assert asked.stop.startswith("no answer that may well come changes what to do: cure tension too low")
    assert len(evidence) < 40

    def acted_on(*more: Evidence) -> set[str]:
        return {cause for cause, each in rank(*evidence, *more).items() if each.chance >= ACT_FROM}
    for check in asked.checks:
        for there, share in ((1.0, check.likely), (0.0, 1.0 - check.likely)):
            if share >= MAY_COME:
                assert acted_on(noted(check.sign.name, there)) == acted_on()


def test_everything_answered_leaves_nothing_to_ask() -> None:
    asked = ask(*(noted(sign, 0.0) for sign in SIGNS))
    assert asked.next is None
    assert asked.stop == "every question is answered"
