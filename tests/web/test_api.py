"""The JSON face: the same rules and words as the pages, units in names, tokens with a role, calls that do not fit."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from httpx2 import Response
from hypothesis import HealthCheck, given, settings
from icalendar import Calendar
from schemathesis.specs.openapi.checks import response_schema_conformance, status_code_conformance
from starlette.testclient import TestClient

from beltwright.book.enclosed import name_of
from beltwright.book.opening import open_book
from beltwright.book.register import BookRegister
from beltwright.desk import due, people, prepare, record
from beltwright.plant.identity import new_id, now
from beltwright.plant.person import Purpose, Role
from beltwright.web import roles
from beltwright.web.pages.calendar import written
from tests.bench.drives import SOUND
from tests.desk.hashes import cheap_hashes
from tests.web.browser import HOST, Browser, app_over, plant_book

V1 = "/api/v1"


@pytest.fixture(scope="module", autouse=True)
def _quick_hashes() -> Iterator[None]:
    with cheap_hashes():
        yield


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return plant_book(tmp_path)


def token(path: Path, name: str, role: Role | None = None, purpose: Purpose = "api") -> str:
    with open_book(path, write=True) as store:
        register = BookRegister(store)
        return people.make_token(register, people.find(register, name).id, "test", role, by=name, at=now(),
                                 purpose=purpose)[1]


class Program(TestClient):
    """Another program, with a token and nothing a browser has."""

    def __init__(self, app: FastAPI, secret: str = "") -> None:
        super().__init__(app, base_url=f"https://{HOST}{V1}/", follow_redirects=False,
                         headers={"Authorization": f"Bearer {secret}"} if secret else {})

    def note(self, tag: str = "FAN-1", **reading: Any) -> Response:
        return self.post(f"drives/{tag}/readings", json={"kind": "force", "values": {"belt": 1, "force_n": 20.5},
                                                         **reading})


@pytest.fixture
def nel(app: FastAPI, path: Path) -> Program:
    return Program(app, token(path, "Nel"))


@pytest.fixture
def pat(app: FastAPI, path: Path) -> Program:
    return Program(app, token(path, "Pat"))


# --- the same as elsewhere -------------------------------------------------------------------------------------------

def test_a_card_has_the_desk_s_own_figures_with_their_units_in_the_names(nel: Program, path: Path) -> None:
    card = nel.get("drives/fan1/card").json()
    with open_book(path) as store:
        made = prepare.card(store, "FAN-1")
    assert card["figures"].keys() == made.figures.keys()
    span = made.figures["span"].value
    assert span is not None
    assert card["figures"]["span"]["value_mm"] == pytest.approx(span * 1e3)
    working = nel.get("drives/FAN-1/workings/static_tension").json()
    assert working["working"]["formula"] == made.figures["static_tension"].working.formula
    assert nel.get("drives/FAN-1/workings/nonsense").status_code == 422
    assert nel.get("drives/FAN-2/card").json()["problem"].startswith("there is no drive 'FAN-2' in the book: did you")


def test_the_plant_and_its_drives(nel: Program) -> None:
    plant = nel.get("plant").json()
    assert (plant["plant"], plant["drives"]) == ("Pellet mill", 1)
    listed = nel.get("drives", params={"q": "fan 1"}).json()
    assert [drive["tag"] for drive in listed["drives"]] == ["FAN-1"]
    assert nel.get("drives", params={"after": 1}).json() == {"drives": [], "next": None}
    drive = nel.get("drives/FAN-1").json()
    assert {name: drive["cells"][name] for name in SOUND} == SOUND
    findings = nel.get("drives/FAN-1/findings").json()
    assert findings["tag"] == "FAN-1"
    assert findings["urgency"]


def test_a_drive_is_entered_by_the_columns_of_the_sheet(pat: Program) -> None:
    made = pat.post("drives", json={"tag": "PUMP-7", "name": "feed pump", "centre_mm": 612.5, "belt_count": 3,
                                    "motor_power": "20 hp"})
    assert (made.status_code, made.json()["became"]) == (201, "entered")
    assert pat.get("drives/pump7").json()["cells"]["centre_mm"] == "612.5"
    again = pat.post("drives", json={"tag": "PUMP-7", "centre_mm": 600})
    assert (again.status_code, again.json()["became"]) == (200, "changed")
    assert pat.post("drives", json={"tag": "PUMP-7", "centre_mm": 600}).json()["became"] == "same"
    wrong = pat.post("drives", json={"tag": "PUMP-8", "name": "pump", "centre": "612", "belt_count": "a few"})
    assert wrong.status_code == 422
    cells = {cell["column"]: cell for cell in wrong.json()["cells"]}
    assert "has no unit" in cells["centre"]["problem"]
    assert cells["belt_count"]["typed"] == "a few"
    assert pat.get("drives/PUMP-8").status_code == 404


def test_a_reading_is_noted_once_in_the_name_of_the_token_s_person(nel: Program, path: Path) -> None:
    reading_id = str(new_id())
    first = nel.note(id=reading_id, note="warm")
    assert first.status_code == 201
    kept = first.json()
    assert (kept["by"], kept["values"], kept["typed"]["force"]) == ("Nel", {"belt": 1, "force_n": 20.5}, "20.5 N")
    again = nel.note(id=reading_id, note="warm")
    assert (again.status_code, again.json()) == (200, kept)
    other = nel.note(id=reading_id, note="cold")
    assert other.status_code == 409
    assert "never changed" in other.json()["problem"]
    assert [each["id"] for each in nel.get("drives/FAN-1/readings").json()["readings"]] == [reading_id]
    assert nel.note(by="Kit").status_code == 409
    assert nel.note(by="nel").status_code == 201
    in_pounds = nel.note(values={"belt": 2, "force": "4.6 lbf"}).json()
    assert in_pounds["values"]["force_n"] == pytest.approx(20.4618, abs=1e-4)


def test_what_cannot_be_read_is_said_in_the_words_of_the_pages(nel: Program, path: Path) -> None:
    answer = nel.note(values={"belt": 1, "force": "20", "colour": "red"}, kind="Force")
    assert answer.status_code == 422
    body = answer.json()
    assert body.keys() == {"problem", "accepted", "cells"}
    said = {cell["column"]: cell["problem"] for cell in body["cells"]}
    with open_book(path, write=True) as store, pytest.raises(Exception, match="no unit") as caught:
        record.note(store, "FAN-1", "force", {"belt": "1", "force": "20", "colour": "red"}, state="as found", by="x",
                    at=now())
    assert {cell.column: cell.problem for cell in getattr(caught.value, "cells", ())} == said
    assert "N, kN, lbf or kgf" in said["force"]


@pytest.mark.parametrize("body", [b"{", b"[]", b'"x"', b'{"kind": 5}', b'{"kind": "force", "values": {}, "x": 1}',
                                  b'{"kind": "force", "values": {"belt": [1]}}', b'{"values": {"belt": NaN}}',
                                  b'{"kind": "force", "values": {"belt": 1}, "taken_at": "yesterday"}'])
def test_every_refusal_has_one_shape(nel: Program, body: bytes) -> None:
    answer = nel.post("drives/FAN-1/readings", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 422
    assert answer.json().keys() == {"problem", "accepted", "cells"}
    assert answer.json()["problem"]


def test_a_refusal_lists_what_is_accepted_for_a_program_to_choose_from(nel: Program, pat: Program) -> None:
    def refused(answer: Response) -> Any:
        assert answer.status_code in (409, 422), answer.text
        return answer.json()

    assert "frequency" in refused(nel.note(kind="fequency"))["accepted"]
    assert refused(nel.note(state="later"))["accepted"] == ["as found", "as left", "running", "in between"]
    no_unit = refused(nel.note(values={"belt": 1, "force": "20"}))
    assert no_unit["accepted"] == no_unit["cells"][0]["accepted"] == ["N", "kN", "lbf", "kgf"]
    assert refused(nel.note(values={"belt": 1, "force": "1,500"}))["accepted"] == ["1500", "1.5"]
    assert "force" in refused(nel.note(values={"belt": 1, "colour": "red"}))["cells"][0]["accepted"]
    assert refused(pat.post("drives", json={"tag": "X-1", "name": "x", "belt_kind": "wide"}))["cells"][0]["problem"]
    two = refused(pat.post("drives", json={"tag": "X-1", "name": "x", "centre": "612", "motor_power": "7"}))
    assert [set(cell["accepted"]) >= {"mm"} or set(cell["accepted"]) == {"kW", "W", "hp"} for cell in two["cells"]]
    assert two["accepted"] == [], "of two cells each has its own"
    assert "re-tension" in refused(pat.post("drives/FAN-1/jobs", json={"kind": "oil it"}))["accepted"]
    job = pat.post("drives/FAN-1/jobs", json={"kind": "re-tension"}).json()
    event = refused(nel.post(f"jobs/{job['id']}/events", json={"kind": "exploded"}))
    assert event["accepted"] == ["done", "skipped", "undone", "centre moved", "closed", "abandoned"]


def test_a_clock_that_cannot_be_right_is_not_believed(nel: Program) -> None:
    for moment in ("2400-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00",
                   (now() + timedelta(days=2)).isoformat()):
        answer = nel.note(taken_at=moment)
        assert answer.status_code == 422, moment
        assert "look at the clock" in answer.json()["problem"]
    assert nel.note(taken_at=(now() - timedelta(days=400)).isoformat()).status_code == 201


def test_a_reading_is_corrected_and_the_old_one_stays(nel: Program) -> None:
    old = nel.note().json()
    new = nel.post(f"readings/{old['id']}/corrections", json={"values": {"force_n": 22}, "reason": "misread"}).json()
    assert (new["values"]["force_n"], new["supersedes"]) == (22, old["id"])
    assert nel.get(f"readings/{old['id']}").json() == old
    shown = nel.get("drives/FAN-1/readings").json()["readings"]
    assert [each["id"] for each in shown] == [new["id"]]
    twice = nel.post(f"readings/{old['id']}/corrections", json={"values": {"force_n": 23}, "reason": "again"})
    assert twice.status_code == 409
    assert nel.post(f"readings/{new['id']}/corrections", json={"values": {}, "reason": "?"}).status_code == 422


def test_a_job_s_gates_hold_here_too(nel: Program, pat: Program) -> None:
    assert nel.post("drives/FAN-1/jobs", json={"kind": "re-tension"}).status_code == 403
    job = pat.post("drives/FAN-1/jobs", json={"kind": "re-tension", "reason": "slack"}).json()
    assert pat.post("drives/FAN-1/jobs", json={"kind": "inspect"}).status_code == 409
    assert nel.get("jobs", params={"open": True}).json()["jobs"][0]["id"] == job["id"]
    hands_on = nel.note(job=job["id"])
    assert hands_on.status_code == 409
    assert "hands stay away" in hands_on.json()["problem"]
    first, later = job["steps"][0], job["steps"][-1]
    events = f"jobs/{job['id']}/events"
    assert nel.post(events, json={"kind": "done", "step": later["key"],
                                  "confirmed": later["confirm"]}).status_code == 409
    assert nel.post(events, json={"kind": "closed"}).status_code == 409
    event = {"kind": "done", "step": first["key"], "confirmed": first["confirm"], "id": str(new_id())}
    assert nel.post(events, json=event).json()["steps"][0]["state"] == "done"
    assert nel.post(events, json=event).status_code == 201, "sent twice, done once"
    assert nel.post(events, json={"kind": "exploded"}).status_code == 422
    assert nel.get(f"jobs/{new_id()}").status_code == 404


# --- who -------------------------------------------------------------------------------------------------------------

def test_nobody_gets_nothing(app: FastAPI, path: Path) -> None:
    for program in (Program(app), Program(app, "guess"), Program(app, token(path, "Nel", purpose="calendar"))):
        answer = program.get("plant")
        assert answer.status_code == 401
        assert answer.headers["www-authenticate"] == "Bearer"
        assert answer.json()["problem"].startswith("log in first")
    assert Program(app).get("openapi.json").status_code == 200


def test_a_token_opens_the_calls_and_no_page(app: FastAPI, path: Path) -> None:
    with_token = Program(app, token(path, "Kit"))
    assert with_token.get("me").json() == {"name": "Kit", "role": "keep the book", "alone": False}
    assert with_token.get(f"https://{HOST}/people").status_code == 303


def test_a_token_with_a_lower_role_does_less_than_its_person(app: FastAPI, path: Path) -> None:
    looking = Program(app, token(path, "Kit", "look"))
    assert looking.get("drives/FAN-1").status_code == 200
    refused = looking.note()
    assert refused.status_code == 403
    assert "who may note; you may look" in refused.json()["problem"]


def test_a_page_s_own_script_calls_with_its_session_and_a_foreign_page_does_not(app: FastAPI) -> None:
    browser = Browser(app)
    browser.log_in("Nel")
    reading = {"kind": "force", "values": {"belt": 1, "force_n": 20}}
    call = f"{V1}/drives/FAN-1/readings"
    assert browser.post(call, json=reading).status_code == 201
    for headers in ({"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://evil.example"}):
        assert browser.post(call, json=reading, headers=headers).status_code == 403
    # what a form of another site can send without asking: text that happens to be JSON
    plain = browser.post(call, content=b'{"kind": "force", "values": {"belt": 1, "force_n": 20}}',
                         headers={"Content-Type": "text/plain"})
    assert plain.status_code == 422


def test_alone_with_the_book_a_program_may_say_who_it_is(path: Path) -> None:
    with app_over(path, alone=True) as app:
        program = TestClient(app, base_url="http://localhost")
        answer = program.post(f"{V1}/drives/FAN-1/readings",
                              json={"kind": "force", "values": {"belt": 1, "force_n": 20}, "by": "Ann"})
        assert answer.json()["by"] == "Ann"
        assert program.get(f"{V1}/me").json() == {"name": "this computer", "role": "keep the book", "alone": True}


# --- the description, and calls nobody thought of ---------------------------------------------------------------------

def test_every_call_is_described_with_its_role(app: FastAPI) -> None:
    described = Program(app).get("openapi.json").json()
    calls = {f"{method.upper()} {path}": call for path, methods in described["paths"].items()
             for method, call in methods.items()}
    assert len(calls) >= 19
    assert {"POST /api/v1/sync", "PUT /api/v1/files/{name}", "GET /api/v1/round",
            "GET /api/v1/jobs/{job_id}/along"} <= calls.keys()
    assert not any(name.split()[1].startswith(("/files", "/sw.js")) for name in calls)
    for name, call in calls.items():
        assert call["x-least-role"] == roles.LEAST[name]
        assert call["description"], name
        assert {"401", "403", "422"} <= call["responses"].keys()

def test_no_call_that_fits_or_nearly_fits_the_description_breaks_it(tmp_path: Path) -> None:
    with app_over(plant_book(tmp_path), alone=True) as app:
        schema = schemathesis.openapi.from_asgi(f"{V1}/openapi.json", app, headers={"Host": "localhost"})
        tried: list[str] = []
        operation: Any
        for found in schema.get_all_operations():
            operation = found.ok()  # type: ignore[union-attr]
            for mode in (schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE):
                _try(operation, mode, tried)
        assert len(tried) > 300


def _fill_in(case: Any, mode: Any) -> None:
    """Make some of what fits the description fit the book, too: else hardly a call gets past the door."""
    if mode is not schemathesis.GenerationMode.POSITIVE:
        return
    if case.operation.path.endswith("/files/{name}") and isinstance(case.body, bytes):
        case.body = b"\xff\xd8\xff" + case.body
        case.path_parameters = {"name": name_of(case.body)}
    if case.operation.path.endswith("/sync") and isinstance(case.body, dict):
        for fact in case.body["facts"]:
            fact |= {"tag": "FAN-1", "kind_of": "force", "state": "as found", "values": {"belt": "1", "force": "20 N"}}


def _try(operation: Any, mode: Any, tried: list[str]) -> None:
    @settings(max_examples=15, derandomize=True, deadline=None, database=None,
              suppress_health_check=list(HealthCheck))
    @given(case=operation.as_strategy(generation_mode=mode))
    def call(case: Any) -> None:
        if mode is schemathesis.GenerationMode.POSITIVE and case.path_parameters:
            case.path_parameters = {**case.path_parameters, "tag": "FAN-1"} if "tag" in case.path_parameters \
                else case.path_parameters   # else hardly a call gets past the drive that there is not
        _fill_in(case, mode)
        answer = case.call(headers={"Host": "localhost"})
        tried.append(operation.label)
        assert answer.status_code < 500, f"{operation.label}: {case.as_curl_command()}"
        case.validate_response(answer, checks=[status_code_conformance, response_schema_conformance])

    call()


# --- the calendar ----------------------------------------------------------------------------------------------------

def test_a_calendar_shows_what_is_due_to_whoever_has_its_address(app: FastAPI, path: Path, nel: Program) -> None:
    nel.note(taken_at=(now() - timedelta(days=200)).isoformat())
    browser = Browser(app)
    browser.log_in("Lou")
    made = browser.fill("/me/tokens", label="my phone", purpose="calendar")
    address = made.text.split('<code class="secret">')[1].split("<")[0]
    assert address.startswith(f"https://{HOST}/calendar/")
    phone = TestClient(app, base_url=f"https://{HOST}")
    answer = phone.get(address)
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    events = Calendar.from_ical(answer.content).walk("VEVENT")
    with open_book(path) as store:
        expected = due.due_of_plant(store, now=now(), system="si")
    assert {str(event["summary"]) for event in events} == {f"FAN-1: {each.title}" for each in expected}
    assert expected
    assert {event.decoded("dtstart") for event in events} == {each.day for each in expected}
    assert phone.get(f"/calendar/{'x' * 43}.ics").status_code == 404
    with open_book(path, write=True) as store:
        register = BookRegister(store)
        token, = [each for each in register.tokens() if each.purpose == "calendar"]
        assert token.used_at is not None
    assert browser.fill(f"/me/tokens/{token.id}/end").status_code == 303
    assert phone.get(address).status_code == 404


def test_a_drive_just_read_is_due_again_by_the_season(app: FastAPI, path: Path, nel: Program) -> None:
    taken = now() - timedelta(days=1)
    nel.note(taken_at=taken.isoformat())
    with open_book(path) as store:
        coming = due.due_of_plant(store, now=now(), system="si")
    assert [(each.key, (each.day - taken.date()).days) for each in coming] == [("next-reading", 91)]


def test_no_name_of_a_drive_breaks_out_of_its_line() -> None:
    hostile = "FAN\r\nATTENDEE:mailto:x\nEND:VEVENT\nBEGIN:VEVENT;,\\"
    each = due.Due(hostile, hostile, hostile, "due-season", now().date(), hostile, hostile, "plan")
    text = written([each], plant=hostile, base="https://mill-pc.local", at=now())
    lines = text.decode().replace("\r\n ", "").split("\r\n")
    assert [line for line in lines if line.startswith(("ATTENDEE", "BEGIN:VEVENT"))] == ["BEGIN:VEVENT"]
    event, = Calendar.from_ical(text).walk("VEVENT")
    assert "ATTENDEE:mailto:x" in str(event["summary"])
