"""The page of a drive's start: what it says and asks, without a screen and in a real browser."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from beltwright.book.opening import create_book
from beltwright.desk.record import note
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.identity import now
from beltwright.plant.settings import Settings
from tests.bench.drives import SOUND
from tests.bench.test_starts import START
from tests.web.browser import Browser, app_over
from tests.web.chromium import NEEDS_CHROMIUM, browser, faint_words, problems_of, served, visitor
from tests.web.test_pages import Inline, words_of

ADDRESSES = ("/drives/FAN-1/starting", "/drives/FAN-1/starting?tension=400", "/drives/FAN-2/starting",
             "/drives/FAN-1/starting?event=jam&tension=150", "/drives/FAN-1/starting?event=load+step&times=2",
             "/drives/FAN-1/starting?tension=abc")


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("start") / "plant.book"
    with create_book(place, Settings("Mill"), by="Ann") as book:
        rows = rows_from([{**SOUND, **START}, {**SOUND, "tag": "FAN-2"}])
        assert not hand_in(book, rows, by="Ann", at=now()).understood.problems
        for belt in "123":
            note(book, "FAN-1", "frequency", {"belt": belt, "frequency": "14.5 Hz"}, by="Ann", at=now(),
                 state="as found")
    return place


@pytest.fixture(scope="module")
def pages(path: Path) -> Iterator[Browser]:
    with app_over(path, alone=True) as app:
        yield Browser(app, "localhost", "http")


@pytest.mark.parametrize("address", ADDRESSES)
def test_it_keeps_the_policy_and_answers_what_can_be_asked(pages: Browser, address: str) -> None:
    answer = pages.open(address)
    assert answer.status_code == (422 if "abc" in address else 200)
    assert not [found for found in Inline(answer.text).found if not found.startswith(("svg", "use"))]


def test_a_slack_start_squeals_and_is_told_what_to_set(pages: Browser) -> None:
    words = words_of(pages.open("/drives/FAN-1/starting").text)
    for said in ("Squeals", "The belts slip for", "Set the belts to", "Inside the band", "Started otherwise",
                 "Straight on the line", "as it is", "Not measured: locked-rotor torque"):
        assert said in words
    page = pages.open("/drives/FAN-1/starting").text
    assert re.search(r'<svg[^>]*role="img"', page)
    assert 'class="slip"' in page
    assert "slips" in words


def test_what_is_not_entered_is_asked_for_with_a_way_there(pages: Browser) -> None:
    page = pages.open("/drives/FAN-2/starting").text
    assert "Enter first" in page
    for column in START:
        assert f"ask={column.removesuffix('_kg_m2')}" in page
    assert "/survey?drive=FAN-2&amp;ask=motor_design" in page
    assert 'role="img"' not in page


@pytest.mark.parametrize(("query", "said"), [
    ("tension=abc", "is not a number"), ("tension=0.01", "believed"), ("tension=12+rpm", "nknown unit"),
    ("event=flood", "is not one of: start, jam, load step"), ("event=load+step&times=0.5", "more than 1"),
    ("event=load+step&times=99", "10 at most"), ("event=jam&tension=20", "slip before anything happens"),
])
def test_what_cannot_be_is_refused_in_words_and_what_was_typed_is_kept(pages: Browser, query: str, said: str) -> None:
    answer = pages.open(f"/drives/FAN-1/starting?{query}")
    assert answer.status_code == 422
    assert said in words_of(answer.text)
    for pair in query.split("&"):
        name, typed = pair.split("=")
        if name != "event":
            box = f'name="{name}" inputmode="decimal" autocomplete="off"'
            assert f'{box} value="{typed.replace("+", " ")}"' in answer.text


def test_a_drive_that_is_not_there_is_said_to_be_so(pages: Browser) -> None:
    assert pages.open("/drives/NONE/starting").status_code == 404


def test_the_drive_has_a_way_there(pages: Browser) -> None:
    assert 'href="/drives/FAN-1/starting"' in pages.open("/drives/FAN-1").text


@NEEDS_CHROMIUM
@pytest.mark.xdist_group("chromium")
@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("size", ["phone", "desk"])
def test_it_fits_is_legible_and_keeps_nobody_out(path: Path, size: str, light: str) -> None:
    complaints: list[str] = []
    with served(path) as base, browser() as running, visitor(running, base, size, light=light) as somebody:
        page = somebody.new_page()
        for address in ADDRESSES:
            page.goto(address)
            page.evaluate("for (const folded of document.querySelectorAll('details')) folded.open = true")
            wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            complaints += [f"{address}: {wide} px stick out"] if wide > 0 else []
            complaints += [f"{address}: {problem}" for problem in problems_of(page)]
            complaints += [f"{address}: {words}" for words in faint_words(page, 7.0)]
    assert not complaints, "\n".join(complaints)


@NEEDS_CHROMIUM
@pytest.mark.xdist_group("chromium")
def test_a_question_is_asked_without_javascript(path: Path) -> None:
    with served(path) as base, browser() as running, visitor(running, base, script=False) as somebody:
        page = somebody.new_page()
        page.goto("/drives/FAN-1/starting")
        page.get_by_label("the machine jams").check()
        page.get_by_label("Tension of each strand").fill("150 N")
        page.get_by_role("button", name="Work it out").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("What if the machine jams?")
        expect(page.get_by_label("Tension of each strand")).to_have_value("150 N")
        expect(page.locator(".notice")).to_contain_text("The belts slip for 10.00 s at 150 N")
