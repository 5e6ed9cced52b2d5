"""The round of a day: who is on it and why, where one goes first, and what a note at a stop changes."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from datetime import timedelta
from html import unescape
from pathlib import Path

import pytest

from beltwright.book.opening import open_book
from beltwright.desk import jobs, record
from beltwright.desk.rounds import lately_seen, weekly
from beltwright.plant.identity import now
from tests.web.browser import Browser, app_over
from tests.web.mill import mill

PLACE = "/round?place=Pelleting+%2F+Line+2"
DRIVES = ("ELV-03", "FAN-21", "FAN-22", "PEL-02")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return mill(tmp_path / "plant.book", until=now())


@pytest.fixture
def browser(path: Path) -> Iterator[Browser]:
    with app_over(path, alone=True) as app:
        yield Browser(app, "localhost", "http")


def settled(browser: Browser, address: str) -> str:
    """A page once every drive on it is judged."""
    for _ in range(200):
        page = browser.open(address).text
        if "To come" not in page:
            return page
        time.sleep(0.05)
    raise AssertionError("a drive is never judged")


def stops(browser: Browser, address: str = PLACE) -> list[str]:
    """The tags on a round below the places, in their order."""
    page = settled(browser, address)
    listed = page[page.index('<section class="place"><h2>'):] if '<section class="place"><h2>' in page else ""
    return re.findall(r'<b class="tag">([^<]+)</b>', listed)


def seen(path: Path, tag: str, days: float) -> None:
    with open_book(path, write=True) as book:
        record.note(book, tag, "seen", {"what": "nothing wrong"}, state="running", by="Jo Lind",
                    at=now() - timedelta(days=days))


def test_what_was_looked_at_within_the_week_and_is_not_grave_waits(path: Path, browser: Browser) -> None:
    assert stops(browser) == list(DRIVES)
    for tag in DRIVES:
        seen(path, tag, 2)
    # a rim that turns too fast does so whoever looked at it
    for address in (PLACE, f"{PLACE}&which=hand"):
        there = stops(browser, address)
        assert "FAN-21" in there
        assert not {"ELV-03", "PEL-02"}.intersection(there)
    assert stops(browser, f"{PLACE}&which=all") == list(DRIVES)


def test_a_look_is_forgotten_after_the_published_week(path: Path) -> None:
    seen(path, "ELV-03", weekly() / timedelta(days=1) - 0.1)
    seen(path, "PEL-02", weekly() / timedelta(days=1) + 0.1)
    with open_book(path) as book:
        lately = lately_seen(book, now=now())
        assert book.drive_by_tag("ELV-03").drive_id in lately
        assert book.drive_by_tag("PEL-02").drive_id not in lately


def test_a_drive_that_is_laid_up_is_left_out_and_said(path: Path, browser: Browser) -> None:
    with open_book(path, write=True) as book:
        job = jobs.open_job(book, "ELV-03", "lay up", by="Jo Lind", at=now())
        for step in jobs.standing(book, job.id).job.steps:
            jobs.do(book, job.id, step.key, by="Jo Lind", at=now(), confirmed=step.confirm)
            if step.key.partition("@")[0] == "relax":
                break
    # what others than this server wrote is found within moments
    for _ in range(100):
        if (left := stops(browser)) != list(DRIVES):
            break
        time.sleep(0.05)
    assert left == [tag for tag in DRIVES if tag != "ELV-03"]
    assert "Left out, laid up: 1" in browser.open(PLACE).text


def test_a_note_at_a_stop_ticks_it_off_and_leads_to_the_next(path: Path, browser: Browser) -> None:
    page = browser.open("/round/elv-03").text
    assert "3 more at Pelleting / Line 2" in page
    assert browser.fill("/round/elv-03", by="Jo Lind").status_code == 422
    answer = browser.fill("/round/elv-03", **{"see-0": "on", "by": "Jo Lind"})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/round/FAN-21"
    page = unescape(browser.open(PLACE).text)
    assert "1 of 4 looked at today" in page
    assert "by Jo Lind" in page
    for tag in ("fan-22", "pel-02"):
        browser.open(f"/round/{tag}")
        answer = browser.fill(f"/round/{tag}", **{"see-0": "on", "by": "Jo Lind"})
    # what was passed over comes up again at the end
    assert answer.headers["location"] == "/round/FAN-21"
    browser.open("/round/fan-21")
    answer = browser.fill("/round/fan-21", **{"see-0": "on", "by": "Jo Lind"})
    assert answer.headers["location"].startswith("/round?place=")
    assert "4 of 4 looked at today" in browser.open(PLACE).text


def test_what_is_known_of_a_drive_stands_at_its_stop(browser: Browser) -> None:
    page = unescape(browser.open("/round/FAN-12").text)
    assert page.index("Known of it") < page.index("Squeal at start") < page.index("What to look at")


def test_more_drives_than_one_round_takes_are_limited_to_the_gravest(browser: Browser,
                                                                    monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("beltwright.web.pages.round.MOST", 1)
    page = browser.open("/round").text
    assert "Where do you walk today?" in page
    assert "FAN-21" in page
    assert stops(browser) == ["FAN-21"]
    assert "1 of 4: the gravest" in browser.open(PLACE).text
