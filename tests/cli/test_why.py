"""Why a drive fails, at the terminal: the ranking, question by question, its record, one line for scripts."""

from __future__ import annotations

import json
from pathlib import Path

from beltwright.paper.press import pages
from tests.cli.conftest import Run


def test_it_says_the_likeliest_cause_and_the_next_check(plant: Run) -> None:
    plant("note", "FAN-1", "seen", "what=squeal at start")
    said = plant("why", "FAN-1").out
    ranking = said.split("\n")[3]
    assert ranking.startswith("Tension too low")
    assert "NEXT CHECK" in said
    assert "judgement" in said
    assert max(map(len, said.splitlines())) <= 80
    assert "squeal at start" in plant("why", "FAN-1", "--noted").out.split("ALL THAT IS KNOWN")[1]


def test_question_by_question_each_answer_is_noted(plant: Run) -> None:
    said = plant("why", "FAN-1", "--ask", typed="y\nn\nc\nperhaps\nq\n")
    assert said.code == 0
    noted = json.loads(plant("history", "FAN-1", "--kind", "answer", "--json").out)["readings"]
    assert [each["values"]["answer"] for each in noted] == ["present", "absent", "could not tell"]
    assert len({each["values"]["sign"] for each in noted}) == 3


def test_verdicts_and_failures_in_one_line(plant: Run) -> None:
    assert plant("note", "FAN-1", "belts failed", "count=3", "hours=900 h", "look=flanks glazed").code == 0
    assert plant("note", "FAN-1", "cause", "cause=grooves worn", "verdict=confirmed").code == 0
    said = plant("why", "FAN-1").out
    assert "PROOF DUE: Grooves worn" in said
    assert "3 failed after 900 h, flanks glazed" in said
    refused = plant("note", "FAN-1", "cause", "cause=bad luck", "verdict=confirmed")
    assert refused.code == 2
    assert "grooves worn" in refused.err


def test_its_record_is_printed(plant: Run, tmp_path: Path) -> None:
    assert plant("why", "FAN-1", "--pdf", "why.pdf").out == "why.pdf: why FAN-1 fails, as it stands.\n"
    assert pages((tmp_path / "why.pdf").read_bytes()) == 1
