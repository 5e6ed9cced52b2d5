"""Published tables of troubles and their causes: what a table lists, the ranking puts among the first three.

Each file says how far it is to be trusted and what of it is ours. A case is a trouble as the table names it, in signs,
and the causes listed for it, each with what one finds on looking for that cause.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest

from beltwright.bench.causes.evidence import Evidence
from beltwright.bench.causes.knowledge import knowledge
from beltwright.bench.causes.ranking import ranked
from beltwright.bench.causes.rates import Counts, rates
from beltwright.bench.figure import say
from beltwright.tables import Trust, sources

FILES = sorted(Path(__file__).parent.glob("troubles_*.json"))
FIRST = 3


def troubles() -> Iterator[tuple[str, dict[str, Any]]]:
    for file in FILES:
        for each in json.loads(file.read_text(encoding="utf-8"))["troubles"]:
            yield f"{each['source']}: {each['trouble']}", each


TROUBLES = list(troubles())
CASES = [(f"{name}: {cause}", each["signs"] + found, cause) for name, each in TROUBLES
         for cause, found in each["causes"].items()]


def first(signs: list[str], count: int = FIRST) -> list[str]:
    """The causes that lead with these signs present and nothing else known, on the trade's base rates."""
    trade = knowledge()
    evidence = [Evidence(sign, 1.0, 0.0, "answered", say("present")) for sign in signs]
    return [each.cause.name for each in ranked(trade, evidence, rates(trade, plant=Counts(), drive=Counts()))[:count]]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_file_says_whose_it_is_and_how_far_to_trust_it(file: Path) -> None:
    whole = json.loads(file.read_text(encoding="utf-8"))
    assert whole["trust"] in get_args(Trust)
    assert whole["note"]
    assert {each["source"] for each in whole["troubles"]} <= set(sources())


def test_there_are_enough_of_them() -> None:
    assert len(CASES) >= 25


@pytest.mark.parametrize(("signs", "cause"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_the_cause_listed_and_looked_for_is_among_the_first_three(signs: list[str], cause: str) -> None:
    assert cause in first(signs)


SEVERAL = [(name, each) for name, each in TROUBLES if len(each["causes"]) >= 3]


@pytest.mark.parametrize("each", [each for _, each in SEVERAL], ids=[name for name, _ in SEVERAL])
def test_nothing_looked_for_yet_one_of_those_listed_is_among_the_first_five(each: dict[str, Any]) -> None:
    assert set(first(each["signs"], 5)) & each["causes"].keys()
