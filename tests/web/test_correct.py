"""An accepted reading put right from its page: superseded with a reason, never overwritten, and not twice over."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest

from beltwright.book.opening import open_book
from beltwright.desk import record
from beltwright.plant.identity import now
from beltwright.plant.reading import Reading
from tests.web.browser import Browser, app_over, plant_book

TAG = "FAN-1"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return plant_book(tmp_path)


@pytest.fixture
def noted(path: Path) -> Reading:
    with open_book(path, write=True) as book:
        return record.note(book, TAG, "frequency", {"belt": "2", "frequency": "26.4 Hz"}, state="as found", by="Nel",
                           at=now(), words="windy")


@pytest.fixture
def browser(path: Path, noted: Reading) -> Iterator[Browser]:
    with app_over(path, alone=True) as app:
        yield Browser(app, "localhost", "http")


def readings(path: Path, *, superseded: bool = False) -> list[Reading]:
    with open_book(path) as book:
        return book.readings(book.drive_by_tag(TAG).drive_id, superseded=superseded)


def test_each_reading_on_the_page_of_a_drive_leads_to_its_correction(browser: Browser, noted: Reading) -> None:
    assert f'href="/readings/{noted.id}"' in browser.open(f"/drives/{TAG}").text
    page = unescape(browser.open(f"/readings/{noted.id}").text)
    assert 'value="26.4 Hz"' in page
    assert "windy" in page


def test_what_is_changed_supersedes_and_the_old_one_stays(browser: Browser, path: Path, noted: Reading) -> None:
    browser.open(f"/readings/{noted.id}")
    answer = browser.fill(f"/readings/{noted.id}", belt="2", frequency="24,6", reason="read the wrong line",
                          by="Jo Lind")
    assert answer.status_code == 303
    (now_there,) = readings(path)
    assert now_there.values == {"belt": 2, "frequency": 24.6}
    assert now_there.typed == {"belt": "2", "frequency": "24,6 Hz"}
    assert (now_there.supersedes, now_there.reason, now_there.by) == (noted.id, "read the wrong line", "Jo Lind")
    assert now_there.taken_at == noted.taken_at
    assert {each.id for each in readings(path, superseded=True)} == {noted.id, now_there.id}
    page = unescape(browser.open(answer.headers["location"]).text)
    assert "26.4 Hz" in page
    assert "read the wrong line" in page


@pytest.mark.parametrize(("typed", "said"), [
    ({"frequency": "24.6", "reason": " "}, "say why"), ({"frequency": "26.4 Hz", "reason": "x"}, "Nothing was changed"),
    ({"frequency": "24.6 N", "reason": "x"}, "N"), ({"frequency": "9000", "reason": "x"}, "500"),
])
def test_a_correction_that_cannot_be_is_refused_with_what_was_typed(browser: Browser, path: Path, noted: Reading,
                                                                    typed: dict[str, str], said: str) -> None:
    browser.open(f"/readings/{noted.id}")
    answer = browser.fill(f"/readings/{noted.id}", by="Jo Lind", **typed)
    assert answer.status_code == 422
    assert said.casefold() in unescape(answer.text).casefold()
    assert f'value="{typed["frequency"]}"' in answer.text
    assert [each.id for each in readings(path, superseded=True)] == [noted.id]


def test_a_reading_is_put_right_once_and_then_its_correction(browser: Browser, path: Path, noted: Reading) -> None:
    browser.open(f"/readings/{noted.id}")
    first = browser.fill(f"/readings/{noted.id}", frequency="24.6", reason="slip", by="Jo").headers["location"]
    again = browser.fill(f"/readings/{noted.id}", frequency="25.0", reason="slip", by="Ann")
    assert again.status_code == 422
    assert "put right already by Jo" in unescape(again.text)
    browser.open(first)
    assert browser.fill(first.partition("?")[0], frequency="25.0", reason="slip again", by="Ann").status_code == 303
    assert [each.values["frequency"] for each in readings(path)] == [25.0]
    old = unescape(browser.open(f"/readings/{noted.id}").text)
    assert re.search(r'put right already. <a href="/readings/[0-9a-f-]{36}"', old)


def test_who_may_only_look_puts_nothing_right(path: Path, noted: Reading) -> None:
    with app_over(path) as app:
        lou = Browser(app)
        lou.log_in("Lou")
        assert lou.open(f"/readings/{noted.id}").status_code == 200
        assert lou.fill(f"/readings/{noted.id}", frequency="24.6", reason="x").status_code == 403
        nel = Browser(app)
        nel.log_in("Nel")
        nel.open(f"/readings/{noted.id}")
        assert nel.fill(f"/readings/{noted.id}", frequency="24.6", reason="x", by="Kit").status_code == 303
    assert [each.by for each in readings(path)] == ["Nel"]


def test_an_unknown_reading_is_said(browser: Browser) -> None:
    assert browser.get("/readings/00000000-0000-7000-8000-000000000000").status_code == 404
    assert browser.get("/readings/none").status_code in (404, 422)
