"""Why a drive fails, on pages: three answers, verdicts, what is refused, the questions ahead, its record."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi import FastAPI

from beltwright.book.opening import open_book
from beltwright.paper.press import pages
from beltwright.plant.reading import Reading
from beltwright.web.app import create_app
from tests.web.browser import HOST, Browser, plant_book

WHY = "/drives/FAN-1/why"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return plant_book(tmp_path)


@pytest.fixture
def app(path: Path) -> FastAPI:
    return create_app(path, hosts={HOST}, alone=False)


@pytest.fixture
def nel(app: FastAPI) -> Browser:
    browser = Browser(app)
    browser.log_in("Nel")
    browser.open(WHY)
    return browser


def noted(path: Path, kind: str) -> list[Reading]:
    with open_book(path) as book:
        return list(book.readings(book.drive_by_tag("FAN-1").drive_id, kinds=[kind]))


def test_an_answer_is_noted_under_the_name_of_who_is_logged_in(nel: Browser, path: Path) -> None:
    answer = nel.fill(WHY, kind="answer", sign="squeal at start", answer="present", by="Somebody Else")
    assert (answer.status_code, answer.headers["location"]) == (303, WHY)
    reading, = noted(path, "answer")
    assert (reading.by, reading.values) == ("Nel", {"sign": "squeal at start", "answer": "present"})
    assert "squeal at start, " in nel.open(WHY).text.casefold()


def test_a_cause_is_confirmed_then_cured_with_its_proof(nel: Browser, path: Path) -> None:
    assert nel.fill(WHY, kind="cause", cause="grooves worn", verdict="confirmed").status_code == 303
    assert "Proof due" in nel.open(WHY).text
    refused = nel.fill(WHY, kind="cause", cause="grooves worn", verdict="cured", proof=" ")
    assert refused.status_code == 422
    assert "proves the cure" in refused.text
    assert nel.fill(WHY, kind="cause", cause="grooves worn", verdict="cured", proof="no light").status_code == 303
    assert [reading.values["verdict"] for reading in noted(path, "cause")] == ["confirmed", "cured"]


@pytest.mark.parametrize("typed", [
    {"kind": "answer", "sign": "no such sign", "answer": "present"}, {"kind": "answer", "sign": "squeal at start"},
    {"kind": "guess"}, {"kind": "cause", "verdict": "confirmed"},
    {"kind": "answer", "sign": "<script>", "answer": "present"}])
def test_what_cannot_be_understood_is_said_and_nothing_is_noted(nel: Browser, path: Path,
                                                                typed: dict[str, str]) -> None:
    answer = nel.fill(WHY, **typed)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert "<script>" not in answer.text
    assert not noted(path, "answer")
    assert not noted(path, "cause")


def test_the_questions_ahead_begin_where_the_page_stands(nel: Browser) -> None:
    first = nel.get(f"{WHY}/ahead").json()[0]
    assert first["question"]["ask"] in nel.open(WHY).text
    assert set(first["leads"]) == {"present", "absent", "could not tell"}


def test_its_record_comes_as_one_page(nel: Browser) -> None:
    printed = nel.get(f"{WHY}.pdf")
    assert printed.headers["content-type"] == "application/pdf"
    assert pages(printed.content) == 1


def test_who_may_only_look_notes_nothing(app: FastAPI) -> None:
    lou = Browser(app)
    lou.log_in("Lou")
    assert lou.open(WHY).status_code == 200
    assert lou.fill(WHY, kind="answer", sign="squeal at start", answer="present").status_code == 403
