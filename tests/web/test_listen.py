"""Listening on the pages without a screen: a clip handed in, its answer, its page, its deletion, and by the outbox."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from uuid import UUID

import pytest
from httpx2 import Response

from beltwright.bench.findings.targets import targets_for
from beltwright.book.enclosed import name_of
from beltwright.book.opening import open_book
from beltwright.plant.identity import new_id, now
from tests.sound.belts import clip_at, silence
from tests.web.browser import Browser, app_over
from tests.web.mill import mill
from tests.web.test_pages import Inline, words_of

TAG = "FAN-12"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return mill(tmp_path / "plant.book", until=now())


@pytest.fixture
def browser(path: Path) -> Iterator[Browser]:
    with app_over(path, alone=True) as app:
        yield Browser(app, "localhost", "http")


def clip(path: Path, share: float = 1.25) -> bytes:
    with open_book(path) as book:
        drive = book.drive_by_tag(TAG).drive
    wants = targets_for(drive).set_to
    assert wants is not None
    return clip_at(drive, share * wants.run_in[0])


def send(browser: Browser, data: bytes, **more: str) -> Response:
    page = browser.open(f"/drives/{TAG}/listen").text
    token = re.search(r'name="form_token" value="([^"]+)"', page)
    assert token is not None
    return browser.post(f"/drives/{TAG}/listen", data={"form_token": token[1], "belt": "2", "by": "Jo Lind",
                                                              "state": "as found", **more},
                               files={"clip": ("clip.wav", data, "audio/wav")}, follow_redirects=False)


def test_a_clip_handed_in_is_heard_noted_and_shown(browser: Browser, path: Path) -> None:
    data = clip(path)
    answer = send(browser, data)
    assert answer.status_code == 303, words_of(answer.text)
    page = browser.open(answer.headers["location"])
    words = words_of(page.text)
    assert "Belt 2, noted" in words
    assert "In the band" in words
    assert Inline(page.text).found == []
    assert page.text.count("<title>pluck ") == 4
    with open_book(path) as book:
        reading = book.reading(UUID(answer.headers["location"].rpartition("/")[2].partition("?")[0]))
        assert (reading.kind, reading.by, reading.values["belt"]) == ("frequency", "Jo Lind", 2)
        assert book.file(name_of(data)) == data


def test_a_drive_s_readings_lead_to_what_was_heard(browser: Browser, path: Path) -> None:
    there = send(browser, clip(path)).headers["location"].partition("?")[0]
    link = re.search(r'href="(/heard/[0-9a-f-]+)">clip<', browser.open(f"/drives/{TAG}").text)
    assert link is not None
    assert browser.open(link[1]).headers["location"] == there


def test_a_second_press_notes_nothing_twice(browser: Browser, path: Path) -> None:
    made = str(new_id())
    first, second = (send(browser, clip(path), made=made).headers["location"] for _ in range(2))
    assert first == second


def test_what_is_not_understood_is_told_with_what_to_do_and_not_kept(browser: Browser, path: Path) -> None:
    answer = send(browser, silence(), belt="3")
    assert answer.status_code == 422
    words = words_of(answer.text)
    assert "Not sure" in words
    assert "next to no sound in the clip" in words
    assert "Allow the microphone" in words
    assert re.search(r'name="belt" value="3" checked', answer.text)
    with open_book(path) as book:
        assert book.file_names() == []


@pytest.mark.parametrize(("data", "more", "says"), [
    (b"", {}, "Choose a clip"), (b"hello", {}, "This is not a sound clip"),
    (silence(), {"belt": "9"}, "There is no belt 9"),
    (silence(), {"belt": "x"}, "is no belt"), (silence(), {"span": "3 kg"}, "Unknown unit"),
    (silence(), {"state": "asleep"}, "is not a state")])
def test_what_cannot_be_heard_is_said_on_the_page(browser: Browser, data: bytes, more: dict[str, str],
                                                  says: str) -> None:
    answer = send(browser, data, **more)
    assert answer.status_code == 422
    assert says in words_of(answer.text)


def test_a_clip_is_deleted_with_who_and_why_and_the_reading_stays(browser: Browser, path: Path) -> None:
    data = clip(path)
    there = send(browser, data).headers["location"].partition("?")[0]
    page = browser.open(there)
    token = re.search(r'name="form_token" value="([^"]+)"', page.text)
    assert token is not None
    form = {"form_token": token[1], "by": "Ann Berg"}
    refused = browser.post(f"{there}/delete", data={**form, "why": " "})
    assert "Say who deletes the clip, and why" in words_of(refused.text)
    gone = browser.post(f"{there}/delete", data={**form, "why": "voices in it"}, follow_redirects=True)
    assert "Deleted by Ann Berg: voices in it" in words_of(gone.text)
    assert browser.open(f"/files/{name_of(data)}").status_code == 404
    assert "Belt 2, " in words_of(gone.text)


@pytest.mark.parametrize("address", [
    f"/drives/{TAG}/listen", f"/drives/{TAG}/listen?belt=2&state=as+left&job=x&step=<b>", "/phone-check"])
def test_the_pages_carry_nothing_inline(browser: Browser, address: str) -> None:
    page = browser.open(address)
    assert page.status_code == 200
    assert Inline(page.text).found == []
    assert "microphone=(self)" in page.headers["permissions-policy"]
    assert "<b>" not in page.text.partition("<form")[2].partition("step")[2][:40]


def test_a_reading_of_another_drive_is_not_shown_here(browser: Browser, path: Path) -> None:
    there = send(browser, clip(path)).headers["location"].partition("?")[0]
    assert browser.open(there.replace(TAG, "MIX-01")).status_code == 404
    assert browser.open(f"/drives/{TAG}/heard/{new_id()}").status_code == 404


def sync(browser: Browser, *facts: Mapping[str, object]) -> list[dict[str, str]]:
    answer = browser.post("/api/v1/sync", json={"sent_at": now().isoformat(), "facts": list(facts)})
    assert answer.status_code == 200
    told: list[dict[str, str]] = answer.json()["facts"]
    return told


def test_a_clip_that_waited_in_the_outbox_is_heard_when_it_comes(browser: Browser, path: Path) -> None:
    good, mute = clip(path, 0.7), silence()
    facts = [{"id": str(new_id()), "kind": "clip", "at": now().isoformat(), "by": "Jo Lind", "tag": TAG, "belt": "1",
              "state": "as found", "span": "", "job": None, "files": [name_of(data)]} for data in (good, mute)]
    assert [each["became"] for each in sync(browser, *facts)] == ["later", "later"]
    for data in (good, mute):
        assert browser.put(f"/api/v1/files/{name_of(data)}", content=data).status_code == 201
    first, second = sync(browser, *facts)
    assert first["became"] == "kept"
    assert second["became"] == "refused"
    assert "Allow the microphone" in second["reason"]
    assert sync(browser, facts[0])[0]["became"] == "known"
    with open_book(path) as book:
        reading = book.reading(UUID(str(facts[0]["id"])))
    assert reading.extra["files"] == f"{hashlib.sha256(good).hexdigest()}.wav"


@pytest.mark.parametrize("wrong", [{"files": []}, {"belt": "9"}, {"tag": "none"}, {"files": ["x", "y"]}, {"belt": "a"},
                                   {"span": "3 kg"}, {"state": "asleep"}])
def test_a_clip_that_makes_no_sense_is_refused_with_its_reason(browser: Browser, path: Path,
                                                               wrong: dict[str, object]) -> None:
    data = clip(path)
    browser.put(f"/api/v1/files/{name_of(data)}", content=data)
    fact = {"id": str(new_id()), "kind": "clip", "at": now().isoformat(), "by": "Jo", "tag": TAG, "belt": "1",
            "state": "as found", "span": "", "job": None, "files": [name_of(data)], **wrong}
    (said,) = sync(browser, fact)
    assert said["became"] == "refused"
    assert said["reason"]
