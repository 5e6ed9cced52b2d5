"""Who gets in, what each role may, and that nobody gets in or acts by another way."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.routing import Mount

from beltwright.book.opening import open_book
from beltwright.book.register import BookRegister
from beltwright.desk import people
from beltwright.plant.identity import now
from beltwright.plant.person import ROLES
from beltwright.web import roles
from tests.desk.hashes import cheap_hashes
from tests.web.browser import HOST, PASSWORD, Browser, Tags, app_over, plant_book

NAMES = {"look": "Lou", "note": "Nel", "plan": "Pat", "keep the book": "Kit"}


@pytest.fixture(scope="module", autouse=True)
def _quick_hashes() -> Iterator[None]:
    with cheap_hashes():
        yield


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return plant_book(tmp_path)


def calls_of(app: FastAPI) -> Iterator[tuple[str, str]]:
    """Every method and address of the app, however its rooms are nested; what is mounted is files to everybody."""
    for route in app.routes:
        inner: Any = getattr(route, "original_router", None)
        prefix = getattr(getattr(route, "include_context", None), "prefix", "")
        each: Any
        for each in (inner.routes if inner is not None else [route]):
            if isinstance(each, Mount):
                assert each.name in ("static",), f"what is mounted at {each.path} is seen by everybody: is it meant to?"
                continue
            for method in each.methods - {"HEAD", "OPTIONS"}:
                yield method, prefix + each.path


def filled(path: str) -> str:
    """An address with something in its gaps."""
    return path.replace("{tag:path}", "FAN-1").replace("{tag}", "FAN-1").replace("{", "").replace("}", "")


# --- what each role may ----------------------------------------------------------------------------------------------

def test_every_page_and_call_says_whom_it_is_for(app: FastAPI) -> None:
    calls = {f"{method} {path}" for method, path in calls_of(app)}
    assert len(calls) > 15
    assert calls - roles.LEAST.keys() == set(), "give them a role in web/roles.py"
    assert roles.LEAST.keys() - calls == set(), "roles for addresses that are no more"


@pytest.mark.parametrize("role", [None, *ROLES])
def test_each_role_reaches_what_it_may_and_nothing_else(app: FastAPI, role: str | None) -> None:
    browser = Browser(app)
    browser.open("/log-in")
    if role:
        browser.log_in(NAMES[role])
    for method, path in sorted(calls_of(app)):
        least = roles.least_for(method, path)
        if path in ("/log-out", "/me/sessions") or "calendar" in path:
            continue
        address = filled(path)
        answer = browser.request(method, address, data={"form_token": browser.token} if method == "POST" else None)
        let_in = answer.status_code not in (401, 403) and answer.headers.get("location", "")[:7] != "/log-in"
        may = least == "anyone" or (role is not None and ROLES.index(role) >= ROLES.index(least))
        assert let_in == may, f"{method} {address} as {role}: {answer.status_code}"
        assert answer.status_code < 500, f"{method} {address} as {role}"


def test_what_is_not_in_the_table_is_for_who_keeps_the_book(app: FastAPI) -> None:
    @app.get("/forgotten")
    def forgotten() -> str:
        return "seen"

    assert Browser(app).get("/forgotten").status_code == 303
    planner, keeper = Browser(app), Browser(app)
    planner.log_in("Pat")
    keeper.log_in("Kit")
    assert planner.get("/forgotten").status_code == 403
    assert keeper.get("/forgotten").status_code == 200


# --- in and out ------------------------------------------------------------------------------------------------------

def test_logging_in_leads_back_to_the_page_and_out_again(app: FastAPI) -> None:
    browser = Browser(app)
    sent = browser.open("/drives/FAN-1/card?units=si")
    assert sent.status_code == 303
    door = browser.open(sent.headers["location"])
    assert door.status_code == 200
    back = next(attrs["value"] for tag, attrs in Tags(door.text).tags if attrs.get("name") == "back")
    assert back == "/drives/FAN-1/card?units=si"
    entered = browser.fill("/log-in", name="nel", password=PASSWORD, back=back)
    assert (entered.status_code, entered.headers["location"]) == (303, back)
    cookie = entered.headers["set-cookie"]
    assert cookie.startswith("__Host-session=")
    assert all(word in cookie for word in ("HttpOnly", "Secure", "SameSite=lax", "Path=/"))
    page = browser.open("/me")
    assert "Nel" in page.text
    held = browser.cookies["__Host-session"]
    assert browser.fill("/log-out").status_code == 303
    assert "__Host-session" not in browser.cookies
    browser.cookies.set("__Host-session", held, domain=HOST)
    assert browser.get("/me").status_code == 303, "the session is ended in the book, not only in the browser"


def test_a_log_in_takes_a_new_session_and_ends_the_one_before(app: FastAPI) -> None:
    browser = Browser(app)
    browser.log_in("Nel")
    first = browser.cookies["__Host-session"]
    browser.log_in("Nel")
    browser.open("/log-out")
    assert browser.get("/log-in").status_code == 303, "who is in is not asked again"
    other = Browser(app)
    other.cookies.set("__Host-session", "fixed-by-somebody-else", domain=HOST)
    other.open("/log-in")
    other.fill("/log-in", name="Nel", password=PASSWORD)
    assert other.cookies["__Host-session"] not in ("fixed-by-somebody-else", first)


def test_a_failed_log_in_says_nothing_about_who_there_is(app: FastAPI) -> None:
    browser = Browser(app)
    browser.open("/log-in")
    answers = [browser.fill("/log-in", name=name, password="wrong wrong") for name in ("Nel", "Nix")]
    assert [answer.status_code for answer in answers] == [422, 422]
    shown = [answer.text.replace(name, "").split("<main")[1].split("form_token")[0]
             for answer, name in zip(answers, ("Nel", "Nix"), strict=True)]
    assert shown[0] == shown[1]


def test_guessing_is_stopped_also_by_another_server_over_the_same_book(app: FastAPI, path: Path) -> None:
    browser = Browser(app)
    browser.open("/log-in")
    codes = [browser.fill("/log-in", name="Nel", password=f"guess {number}").status_code
             for number in range(people.TRIES_BY_NAME + 1)]
    assert codes == [422] * people.TRIES_BY_NAME + [429]
    with app_over(path) as again:   # started anew
        fresh = Browser(again)
        fresh.open("/log-in")
        stopped = fresh.fill("/log-in", name="Nel", password=PASSWORD)
        assert stopped.status_code == 429
        assert int(stopped.headers["retry-after"]) > 60
        assert fresh.fill("/log-in", name="Pat", password=PASSWORD).status_code == 303


@pytest.mark.parametrize("back", ["https://evil.example/", "//evil.example", "/\\evil.example", "\\\\evil.example",
                                  "/%0d%0aSet-Cookie: x=1", "javascript:alert(1)", "/\r\nSet-Cookie: x=1", "/x\tx"])
def test_the_door_leads_nowhere_else(app: FastAPI, back: str) -> None:
    browser = Browser(app)
    browser.open("/log-in")
    entered = browser.fill("/log-in", name="Nel", password=PASSWORD, back=back)
    assert entered.status_code == 303
    assert entered.headers["location"] in ("/", "/%0d%0aSet-Cookie:%20x=1", "/%0d%0aSet-Cookie: x=1")
    assert "x" not in browser.cookies


def test_a_first_password_has_to_be_changed_before_anything_else(app: FastAPI, path: Path) -> None:
    keeper = Browser(app)
    keeper.log_in("Kit")
    keeper.open("/people")
    added = keeper.fill("/people", name="Ann", role="plan")
    given = added.text.split('<code class="secret">')[1].split("<")[0]
    assert added.headers["cache-control"] == "no-store"
    assert given not in keeper.open("/people").text, "shown once"
    ann = Browser(app)
    assert ann.log_in("Ann", given).headers["location"] == "/me"
    assert ann.get("/").headers["location"] == "/me"
    assert ann.get("/api/v1/plant", headers={"Accept": "application/json"}).status_code in (403, 404)
    assert ann.fill("/me/password", old=given, new="short", again="short").status_code == 422
    assert ann.fill("/me/password", old=given, new="a row of belts", again="a row of bolts").status_code == 422
    changed = ann.fill("/me/password", old=given, new="a row of belts", again="a row of belts")
    assert (changed.status_code, changed.headers["location"]) == (303, "/")
    assert ann.get("/").status_code == 200


def test_the_keeper_changes_people_and_the_audit_says_so(app: FastAPI, path: Path) -> None:
    keeper, nel = Browser(app), Browser(app)
    keeper.log_in("Kit")
    nel.log_in("Nel")
    with open_book(path, write=True) as store:
        person = BookRegister(store).named("Nel")
        assert person is not None
    keeper.open("/people")
    assert keeper.fill(f"/people/{person.id}/role", role="look").status_code == 303
    assert keeper.fill(f"/people/{person.id}/role", role="king").status_code == 422
    assert "No role" in keeper.fill("/people", name="Zoe", role="king").text
    assert keeper.fill(f"/people/{person.id}/password").status_code == 200
    assert nel.get("/me").status_code == 303, "a new password ends every session"
    assert keeper.fill(f"/people/{person.id}/retire").status_code == 303
    page = keeper.open("/people").text
    for words in ("note -&gt; look", "gave a first password", "retired", "Have left"):
        assert words in page
    assert "Is back" in page
    assert keeper.fill(f"/people/{person.id}/bring-back").status_code == 200
    with open_book(path) as store:
        kit = BookRegister(store).named("Kit")
    assert kit is not None
    assert keeper.fill(f"/people/{kit.id}/retire").status_code == 409
    assert keeper.get("/people").status_code == 200


def test_who_changed_what_is_a_page_for_who_keeps_the_book(app: FastAPI) -> None:
    keeper, planner = Browser(app), Browser(app)
    keeper.log_in("Kit")
    planner.log_in("Pat")
    assert planner.get("/book/changes").status_code == 403
    sheet = b"tag,name\nPUMP-1,pump\n"
    planner.post("/sheet", data={"form_token": planner.token}, files={"file": ("a.csv", sheet, "text/csv")})
    keeper.open("/book")
    assert keeper.fill("/book/settings", plant="Pellet mill two", system="si", price="", currency="").status_code == 303
    page = keeper.get("/book/changes").text
    for words in ("PUMP-1: entered the drive</b><br>pump<small>Pat,", "Nel: added",
                  "plant: Pellet mill → Pellet mill two", "Pat: logged in"):
        assert words in page, words
    assert keeper.get("/book/changes?most=1").text.count("<small>Kit, ") == 1
    assert "most=5" in keeper.get("/book/changes?most=1").text
    assert keeper.get("/book/changes?most=0").status_code == 422


def test_what_is_noted_is_noted_in_the_name_of_who_is_logged_in(app: FastAPI) -> None:
    nel = Browser(app)
    nel.log_in("Nel")
    nel.cookies.set("name", "Kit", domain=HOST)
    assert "<h1>Nel</h1>" in nel.open("/me").text


# --- forms -----------------------------------------------------------------------------------------------------------

def test_a_form_of_nobody_s_making_does_nothing(app: FastAPI) -> None:
    keeper, other = Browser(app), Browser(app)
    keeper.log_in("Kit")
    other.log_in("Nel")
    for token in ("", "00", "zz", other.token, keeper.token[:-2] + "00" * 2):
        forged = keeper.post("/people", data={"name": "Eve", "role": "keep the book", "form_token": token})
        assert forged.status_code == 403, token
    typed = {"name": "Eve", "role": "look"}
    assert keeper.post("/people", data=typed, headers={"X-Form-Token": "0"}).status_code == 403
    assert "Eve" not in keeper.open("/people").text
    assert keeper.post("/people", data=typed, headers={"X-Form-Token": keeper.token}).status_code == 200


@pytest.mark.parametrize("headers", [{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"},
                                     {"Origin": "https://evil.example"}, {"Origin": "null"}])
def test_a_form_sent_from_another_site_does_nothing_even_with_a_token(
        app: FastAPI, headers: dict[str, str]) -> None:
    keeper = Browser(app)
    keeper.log_in("Kit")
    sent = keeper.post("/people", data={"name": "Eve", "role": "look", "form_token": keeper.token}, headers=headers)
    assert sent.status_code == 403
    assert "Eve" not in keeper.open("/people").text


def test_the_token_of_a_form_ends_with_the_session(app: FastAPI) -> None:
    keeper = Browser(app)
    keeper.log_in("Kit")
    old = keeper.token
    keeper.fill("/log-out")
    keeper.log_in("Kit")
    assert keeper.post("/people", data={"name": "Eve", "role": "look", "form_token": old}).status_code == 403


def test_every_form_that_changes_something_carries_a_token(app: FastAPI) -> None:
    keeper = Browser(app)
    keeper.log_in("Kit")
    for method, path in sorted(calls_of(app)):
        if method != "GET" or path.startswith(("/api", "/calendar", "/log-in")):
            continue
        page = keeper.get(filled(path))
        tags = Tags(page.text).tags if "html" in page.headers.get("content-type", "") else []
        for place, (tag, attrs) in enumerate(tags):
            if tag == "form" and attrs.get("method", "").lower() == "post":
                assert tags[place + 1][1].get("name") == "form_token", f"a form on {path}"


# --- alone with the book ---------------------------------------------------------------------------------------------

def test_served_to_this_computer_alone_there_is_no_log_in(path: Path) -> None:
    with app_over(path, alone=True) as app:
        browser = Browser(app, "localhost", "http")
        assert browser.open("/").status_code == 200
        assert browser.open("/people").status_code == 200
        assert browser.fill("/people", name="Ann", role="note").status_code == 200
        assert browser.get("/log-in").headers["location"] == "/"
        assert browser.post("/people", data={"name": "Eve", "role": "look"}).status_code == 403


# --- tokens and calendars --------------------------------------------------------------------------------------------

def test_a_person_makes_and_ends_tokens_and_nobody_else_s(app: FastAPI, path: Path) -> None:
    nel, kit = Browser(app), Browser(app)
    nel.log_in("Nel")
    kit.log_in("Kit")
    made = nel.fill("/me/tokens", label="scale", role="note")
    secret = made.text.split('<code class="secret">')[1].split("<")[0]
    assert len(secret) > 40
    assert nel.fill("/me/tokens", label="all", role="keep the book").status_code == 422
    with open_book(path, write=True) as store:
        register = BookRegister(store)
        token, = register.tokens()
        caller = people.caller_by_token(register, secret, purpose="api", at=now())
        assert caller is not None
        assert caller.role == "note"
        lou = Browser(app)
        lou.log_in("Lou")
        assert lou.fill(f"/me/tokens/{token.id}/end").status_code == 404
        assert people.caller_by_token(register, secret, purpose="api", at=now()) is not None
        assert kit.fill(f"/people/tokens/{token.id}/end").status_code == 303
        assert people.caller_by_token(register, secret, purpose="api", at=now()) is None
