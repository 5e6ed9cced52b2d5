"""Every field of every form and of the JSON face filled in by somebody who means harm; requests forged and replayed."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from httpx2 import Response

from beltwright.book.enclosed import LARGEST_PHOTO, name_of
from beltwright.book.opening import open_book
from beltwright.desk import jobs, record
from beltwright.plant.identity import new_id, now
from beltwright.plant.reading import KINDS
from tests.bench.drives import SOUND
from tests.desk.hashes import cheap_hashes
from tests.web.browser import HOST, Browser, plant_book
from tests.web.test_hostile import must_be_inert, pages_of
from tests.web.test_people import calls_of

SCRIPTS = ("<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "' onfocus='alert(1)' x='{{7*7}}\u202e\u2028")
JPEG = b"\xff\xd8\xff" + bytes(range(256))
# what would end the log-in, or the person, that the walk goes on with
_LEFT_OUT = ("/log-out", "/me/sessions", "/me/password", "/log-in")


@pytest.fixture(scope="module", autouse=True)
def _quick_hashes() -> Iterator[None]:
    with cheap_hashes():
        yield


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = plant_book(tmp_path)
    with open_book(path, write=True) as store:
        jobs.open_job(store, "FAN-1", "re-tension", by="Pat", at=now())
        record.note(store, "FAN-1", "speed", {"driver_speed": "1750 rpm", "driven_speed": "1187 rpm"},
                    state="running", by="Kit", at=now())
    return path


# --- every form ------------------------------------------------------------------------------------------------------

@dataclass
class Form:
    """A form of a page: where it goes, what stands in it, and its boxes that take text."""

    action: str
    stands: dict[str, str] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)
    files: list[str] = field(default_factory=list)


class Forms(HTMLParser):
    """The forms of a page that change something."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[Form] = []
        self._open: Form | None = None
        self._select = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._open = Form(given.get("action", "")) if given.get("method", "").lower() == "post" else None
            self.found += [self._open] if self._open else []
        if self._open is None or not (name := given.get("name", self._select)):
            return
        match tag, given.get("type", "text"):
            case "input", "file":
                self._open.files.append(name)
            case "input", "radio" | "checkbox":
                if "checked" in given or name not in self._open.stands:
                    self._open.stands[name] = given.get("value", "on")
            case ("input" | "textarea" | "button"), _:
                self._open.stands.setdefault(name, given.get("value", ""))
                self._open.texts.append(name)
            case "select", _:
                self._select = name
                self._open.texts.append(name)
            case "option", _ if self._select:
                self._open.stands.setdefault(name, given.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = None
        if tag == "select":
            self._select = ""


def every_form(kit: Browser, app: Any) -> list[Form]:
    """Each form once, however many pages it stands on."""
    addresses = {address for address, _ in pages_of(kit, app, "x")}
    addresses |= {f"/drives/FAN-1/readings/{kind.replace(' ', '-')}" for kind in KINDS}
    addresses |= {"/survey/driver?tag=X-1&name=fan", "/survey/belts?tag=X-1&name=fan", "/survey/look?tag=X-1&name=fan"}
    found: dict[tuple[str, tuple[str, ...]], Form] = {}
    for address in sorted(addresses):
        page = kit.get(address)
        if "html" in page.headers.get("content-type", ""):
            for form in Forms(page.text).found:
                form.action = form.action or address
                found.setdefault((form.action.partition("?")[0], tuple(form.texts)), form)
    return [form for form in found.values() if form.action.partition("?")[0] not in _LEFT_OUT]


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_script_in_any_field_of_any_form_is_refused_or_shown_inert(kit: Browser, app: FastAPI, script: str) -> None:
    forms = every_form(kit, app)
    assert len(forms) > 30
    posts = 0
    for form in forms:
        texts = [name for name in form.texts if name != "form_token"]
        tries: list[dict[str, str]] = [dict.fromkeys(texts, script)]
        tries += [{name: script} for name in texts[:12]]
        for changed in tries:
            typed = {**form.stands, **changed, "form_token": kit.token}
            files = {name: (f"../../{script}.csv", f"tag,name\nP-1,{script}\n".encode(), script) for name in form.files}
            answer = kit.post(form.action, data=typed, files=files or None)
            posts += 1
            assert answer.status_code < 500, f"{form.action}: {changed}: {answer.text[:500]}"
            must_hold(form.action, answer, script)
            if answer.status_code == 303:
                led = kit.get(answer.headers["location"])
                assert led.status_code < 500
                must_hold(answer.headers["location"], led, script)
    assert posts > 200
    for address, answer in pages_of(kit, app, script):
        assert answer.status_code < 500, address
        must_hold(address, answer, script)


def must_hold(address: str, answer: Response, script: str) -> None:
    """Nothing of a script runs, breaks out of a header or leads away."""
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "'unsafe" not in answer.headers["content-security-policy"]
    assert answer.headers.get("location", "/").startswith("/")
    assert not answer.headers.get("location", "/").startswith("//")
    kind = answer.headers.get("content-type", "").partition(";")[0]
    if kind in ("text/html", "image/svg+xml"):
        must_be_inert(address, answer.text)
    elif script in answer.text:
        assert kind in ("application/json", "text/csv", "text/calendar", "application/jsonl", "text/plain",
                        "application/pdf"), kind


# --- every field of the JSON face ------------------------------------------------------------------------------------

def bodies(job: str, reading: str) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """A good body of every call that takes one."""
    yield "POST", "drives", {"tag": "P-1", "name": "pump", "place": "x", "note": "x", "belt_make": "x",
                             "centre_mm": 600}
    yield "POST", "drives/FAN-1/readings", {
        "kind": "force", "state": "as found", "values": {"belt": 1, "force": "20 N"}, "note": "x", "by": "Kit",
        "id": str(new_id())}
    yield "POST", f"readings/{reading}/corrections", {"values": {"driver_speed": "1751 rpm"}, "reason": "x",
                                                      "by": "Kit"}
    yield "POST", "drives/FAN-1/jobs", {"kind": "inspect", "reason": "x", "by": "Kit"}
    yield "POST", f"jobs/{job}/events", {"kind": "skipped", "step": "tell", "reason": "x", "confirmed": ["x"],
                                         "by": "Kit"}
    noted: dict[str, Any] = {
        "id": str(new_id()), "kind": "reading", "at": now().isoformat(), "by": "Kit", "tag": "FAN-1",
        "kind_of": "force", "state": "as found", "values": {"belt": "1", "force": "20 N"}, "units": "si",
        "words": "x", "files": [], "job": None}
    event = {"id": str(new_id()), "kind": "event", "at": now().isoformat(), "by": "Kit", "job": job, "what": "done",
             "step": "tell", "reason": "x", "confirmed": ["x"]}
    yield "POST", "sync", {"sent_at": now().isoformat(), "facts": [noted, event]}


def spoilt(body: Any, script: str) -> Iterator[Any]:
    """The body with the script in place of each text and each name in it, one at a time."""
    if isinstance(body, str):
        yield script
    elif isinstance(body, Mapping):
        for name, value in body.items():
            yield {**{other: body[other] for other in body if other != name}, script: value}
            for changed in spoilt(value, script):
                yield {**body, name: changed}
    elif isinstance(body, list):
        for place, value in enumerate(body):
            for changed in spoilt(value, script):
                yield [*body[:place], changed, *body[place + 1:]]


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_script_in_any_text_of_a_call_is_refused_or_shown_inert(kit: Browser, app: FastAPI, path: Path,
                                                                  script: str) -> None:
    with open_book(path) as store:
        job, = store.jobs()
        reading, = store.readings(store.drive_by_tag("FAN-1").drive_id)
    calls = 0
    for method, call, good in bodies(str(job.id), str(reading.id)):
        for body in spoilt(good, script):
            answer = kit.request(method, f"/api/v1/{call}", json=body)
            calls += 1
            assert answer.status_code < 500, (call, body)
            assert answer.headers["content-type"] == "application/json"
            must_hold(call, answer, script)
    assert calls > 80
    for address, answer in pages_of(kit, app, script):
        assert answer.status_code < 500, address
        must_hold(address, answer, script)


def test_every_call_that_takes_a_body_is_among_those_tried(app: FastAPI) -> None:
    tried = {f"{method} {call.partition('/')[0]}" for method, call, _ in bodies("x", "x")}
    there = {f"{method} {path.removeprefix('/api/v1/').partition('/')[0]}" for method, path in calls_of(app)
             if path.startswith("/api/v1/") and method != "GET"}
    assert there - {"PUT files"} <= tried, "add a body to `bodies`"


# --- files -----------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", ["../../etc/x.jpg", "..%2f..%2fx.jpg", "%00.jpg", "x" * 64 + ".jpg", "a" * 64 + ".exe",
                                  "a" * 64 + ".jpg", "a" * 64 + ".svg", "A" * 64 + ".jpg"])
def test_a_photo_under_another_name_than_its_own_is_not_kept(kit: Browser, path: Path, name: str) -> None:
    answer = kit.put(f"/api/v1/files/{name}", content=JPEG)
    assert 400 <= answer.status_code < 500
    with open_book(path) as store:
        assert store.file_names() == []
    assert [each.name for each in path.parent.iterdir() if not each.name.startswith("plant.book")] == []


@pytest.mark.parametrize("data", [
    b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", b"<html><script>alert(1)</script>", b"%PDF-1.7",
    b"MZ\x90", b"", b"GIF89a", b"RIFF\x00\x00\x00\x00WAVE" + b"\x00" * 40, b"OggS" + b"\x00" * 200,
    b"ID3" + b"\xff" * 500, b"\x1a\x45\xdf\xa3" + b"\x00" * 100])
def test_what_is_no_picture_and_no_clip_is_refused_by_call_and_by_form(kit: Browser, path: Path, data: bytes) -> None:
    import hashlib

    for end in ("jpg", "wav", "webm"):
        answer = kit.put(f"/api/v1/files/{hashlib.sha256(data).hexdigest()}.{end}", content=data)
        assert answer.status_code == 422, answer.text
    kit.open("/drives/FAN-1/readings/power")
    answer = kit.post("/drives/FAN-1/readings/power", data={"form_token": kit.token, "r0-power": "7.5"},
                      files={"photo": ("../../../belt.jpg", data, "image/jpeg")})
    assert answer.status_code == 422
    with open_book(path) as store:
        assert store.file_names() == []


def test_a_photo_too_large_is_refused_and_the_answer_says_how_large_it_may_be(kit: Browser) -> None:
    big = JPEG + bytes(LARGEST_PHOTO)
    answer = kit.put(f"/api/v1/files/{name_of(big)}", content=big)
    assert answer.status_code == 422
    assert "12 MB" in answer.json()["problem"]


def test_a_photo_is_given_out_as_what_it_is_and_nothing_else(kit: Browser) -> None:
    polyglot = JPEG + b"<script>alert(1)</script>"
    assert kit.put(f"/api/v1/files/{name_of(polyglot)}", content=polyglot).status_code == 201
    answer = kit.get(f"/files/{name_of(polyglot)}")
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.content == polyglot


# --- forged, replayed, other people's --------------------------------------------------------------------------------

def fact(by: str, **more: Any) -> dict[str, Any]:
    return {"id": str(new_id()), "kind": "reading", "at": now().isoformat(), "by": by, "tag": "FAN-1",
            "kind_of": "force", "state": "as found", "values": {"belt": "1", "force": "20 N"}, **more}


def became(answer: Response) -> list[str]:
    assert answer.status_code == 200, answer.text
    return [each["became"] for each in answer.json()["facts"]]


def test_notes_are_handed_in_once_and_in_nobody_s_name_but_one_s_own(app: FastAPI, path: Path) -> None:
    nel = Browser(app)
    nel.log_in("Nel")
    mine, forged = fact("Nel"), fact("Kit")
    handful = {"sent_at": now().isoformat(), "facts": [mine, forged]}
    assert became(nel.post("/api/v1/sync", json=handful)) == ["kept", "later"]
    assert became(nel.post("/api/v1/sync", json=handful)) == ["known", "later"], "replayed"
    changed = {**mine, "values": {"belt": "1", "force": "99 N"}}
    assert became(nel.post("/api/v1/sync", json={**handful, "facts": [changed]})) == ["refused"]
    kit = Browser(app)
    kit.log_in("Kit")
    # the mark of somebody else's reading under one's own name
    assert became(kit.post("/api/v1/sync", json={**handful, "facts": [{**mine, "by": "Kit"}]})) == ["refused"]
    with open_book(path) as store:
        noted = store.readings(store.drive_by_tag("FAN-1").drive_id, kinds=["force"])
    assert [(each.by, each.values["force"]) for each in noted] == [("Nel", 20.0)]


def test_a_stolen_session_ends_with_the_log_out_and_what_was_sent_with_it_cannot_be_sent_again(app: FastAPI) -> None:
    nel, thief = Browser(app), Browser(app)
    nel.log_in("Nel")
    thief.cookies.update(nel.cookies)
    assert thief.get("/me").status_code == 200
    nel.fill("/log-out")
    assert thief.get("/me").status_code == 303
    handful = {"sent_at": now().isoformat(), "facts": [fact("Nel")]}
    assert thief.post("/api/v1/sync", json=handful).status_code == 401
    old = {"form_token": nel.token, "label": "x", "purpose": "calendar"}
    assert thief.post("/me/tokens", data=old).status_code in (401, 403)


def test_who_may_only_look_changes_nothing_by_any_way(app: FastAPI, path: Path) -> None:
    lou = Browser(app)
    lou.log_in("Lou")
    with open_book(path) as store:
        before = store.mark(), [event for job in store.jobs() for event in store.events(job.id)]
        job, = store.jobs()
        reading, = store.readings(store.drive_by_tag("FAN-1").drive_id)
        for method, call, body in bodies(str(job.id), str(reading.id)):
            assert lou.request(method, f"/api/v1/{call}", json=body).status_code == 403
        assert lou.put(f"/api/v1/files/{name_of(JPEG)}", content=JPEG).status_code == 403
        assert lou.fill("/drives/FAN-1/readings/power", **{"r0-power": "7.5"}).status_code == 403
        assert lou.fill(f"/jobs/{job.id}", what="done", step="tell").status_code == 403
        after = store.mark(), [event for job in store.jobs() for event in store.events(job.id)]
        assert after[1] == before[1]
        assert store.file_names() == []
        assert len(store.readings(reading.drive_id)) == 1


def test_a_person_s_own_pages_show_nobody_else_s(app: FastAPI) -> None:
    nel, lou = Browser(app), Browser(app)
    nel.log_in("Nel")
    made = nel.fill("/me/tokens", label="the scale in the store", role="note")
    secret = made.text.split('<code class="secret">')[1].split("<")[0]
    lou.log_in("Lou")
    for address in ("/me", "/book", "/", "/api/v1/me"):
        page = lou.get(address).text
        assert "the scale in the store" not in page
        assert secret not in page
    assert secret not in nel.get("/me").text, "shown once"
    assert lou.get("/people").status_code == 403


def test_the_host_of_the_pages_is_taken_from_no_header_but_host(kit: Browser) -> None:
    for header in ("X-Forwarded-Host", "X-Original-Host", "Forwarded", "X-Host"):
        page = kit.get("/labels", headers={header: "evil.example"})
        assert "evil.example" not in page.text
    assert HOST in kit.get("/me", headers={"Host": HOST}).request.headers["host"]
    assert json.loads(kit.get("/api/v1/me").text)["name"] == "Kit"
    assert SOUND["tag"] == "FAN-1"
