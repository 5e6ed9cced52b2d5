"""Log-ins, HTTPS with the plant's own authority and work without signal, together, in a real browser that was made to
trust the authority as a person does it: by putting its certificate among those the system trusts.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Dialog, Error, Page, expect, sync_playwright

from beltwright.book.opening import open_book
from beltwright.book.register import BookRegister
from beltwright.desk import jobs, people
from beltwright.plant.identity import now
from beltwright.web import certificates, serving
from beltwright.web.app import create_app
from tests.desk.hashes import cheap_hashes
from tests.web.browser import PASSWORD, plant_book
from tests.web.chromium import ARGUMENTS, CHROMIUM, NEEDS_CHROMIUM
from tests.web.floor import holds, phone, until, waits
from tests.web.test_floor import do_step, sent

NEEDS_CERTUTIL = pytest.mark.skipif(shutil.which("certutil") is None, reason="libnss3-tools is not installed")
pytestmark = [NEEDS_CHROMIUM, NEEDS_CERTUTIL, pytest.mark.xdist_group("chromium")]


@dataclass(frozen=True, slots=True)
class Secured:
    """A book served over HTTPS, where, and by whose word."""

    book: Path
    address: str
    authority: Path


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Secured]:
    folder = tmp_path_factory.mktemp("secured")
    with cheap_hashes():
        path = plant_book(folder)
        made = certificates.make(folder / "tls", ["localhost", "127.0.0.1"], plant="Pellet mill", at=now()).files
        with serving.listening(serving.At(port=0)) as listener:
            app = create_app(path, hosts=("localhost",), alone=False, authority=made.authority)
            server = uvicorn.Server(uvicorn.Config(app, log_level="warning", ssl_certfile=made.server,
                                                   ssl_keyfile=made.server_key))
            thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
            thread.start()
            while not server.started:
                time.sleep(0.02)
            yield Secured(path, f"https://localhost:{listener.getsockname()[1]}", made.authority)
            server.should_exit = True
            thread.join(20)


@contextmanager
def chromium_of(home: Path, authority: Path | None) -> Iterator[Browser]:
    """A browser with a home of its own, which trusts the authority or has never heard of it."""
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)

    def certutil(*words: str) -> None:
        subprocess.run(["certutil", "-d", f"sql:{store}", *words], check=True, capture_output=True)

    certutil("-N", "--empty-password")
    if authority is not None:
        certutil("-A", "-t", "C,,", "-n", "mill", "-i", str(authority))
    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=str(CHROMIUM), args=list(ARGUMENTS),
                                       env={**os.environ, "HOME": str(home)})
        yield running
        running.close()


@pytest.fixture(scope="module")
def browser(plant: Secured, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    with chromium_of(tmp_path_factory.mktemp("home"), plant.authority) as running:
        yield running


@pytest.fixture
def mine(browser: Browser, plant: Secured) -> Iterator[BrowserContext]:
    context = phone(browser, plant.address)
    yield context
    context.close()


def log_in(page: Page, name: str) -> None:
    page.goto("/log-in")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url(lambda address: "/log-in" not in address)


def send(page: Page) -> None:
    page.goto("/waiting")
    page.evaluate("dispatchEvent(new Event('online'))")


def end_sessions_of(plant: Secured, name: str) -> None:
    """As by a keeper, or by the clock."""
    with open_book(plant.book, write=True) as store:
        register = BookRegister(store)
        register.end_sessions(person_id=people.find(register, name).id)


def note_force(page: Page, force: str) -> None:
    page.goto("/drives/FAN-1/readings/force")
    page.fill("#b-r0-force", force)
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")


def forces(plant: Secured) -> dict[float, str]:
    with open_book(plant.book) as store:
        return {float(each.values["force"]): each.by for each in store.readings(store.drive_by_tag("FAN-1").drive_id,
                                                                               kinds=["force"])}


def test_a_browser_that_never_heard_of_the_authority_is_not_let_on(plant: Secured, tmp_path: Path) -> None:
    with chromium_of(tmp_path, None) as stranger, phone(stranger, plant.address) as context:
        page = context.new_page()
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            page.goto("/log-in")


def test_a_job_goes_on_without_signal_under_a_log_in_over_https(mine: BrowserContext, plant: Secured) -> None:
    with open_book(plant.book, write=True) as book:
        job = str(jobs.open_job(book, "FAN-1", "re-tension", by="Pat", at=now()).id)
    page = mine.new_page()
    log_in(page, "Nel")
    assert page.evaluate("isSecureContext")
    cookies = {cookie["name"]: cookie for cookie in mine.cookies()}
    assert cookies["__Host-session"]["secure"]
    assert cookies["__Host-session"]["httpOnly"]
    page.goto(f"/jobs/{job}")
    holds(page, f"/jobs/{job}")
    holds(page, "/drives/FAN-1/readings/power")
    mine.set_offline(True)
    page.reload()
    for _ in ("tell", "watch", "stop", "lock", "tag", "stored", "try"):
        do_step(page)
    expect(page.locator("[data-locks]")).to_have_text("Locks on: Nel")
    assert waits(page) == 7
    # the session ends meanwhile: the notes wait, and the phone says what for
    end_sessions_of(plant, "Nel")
    mine.set_offline(False)
    send(page)
    assert "/log-in" not in page.url or waits(page) == 7
    log_in(page, "Nel")
    send(page)
    sent(page)
    with open_book(plant.book) as book:
        standing = jobs.standing(book, jobs.find_job(book, job).id)
    assert {event.by for event in standing.events if event.kind == "done"} == {"Nel"}
    assert standing.progress.mark("try").state == "done"


def test_what_one_person_noted_waits_for_their_log_in_and_for_nobody_else_s(mine: BrowserContext,
                                                                            plant: Secured) -> None:
    page = mine.new_page()
    log_in(page, "Nel")
    page.goto("/drives/FAN-1/readings/force")
    page.reload()
    holds(page, "/drives/FAN-1/readings/force")
    holds(page, "/no-signal")   # the worker came with the page to log in, before this one could be had
    mine.set_offline(True)
    note_force(page, "15.5")
    mine.route("**/api/v1/sync", lambda route: route.abort())
    mine.set_offline(False)   # the signal is back, but not enough to send
    said: list[str] = []

    def heard(dialog: Dialog) -> None:
        said.append(dialog.message)
        dialog.accept()

    page.on("dialog", heard)
    page.goto("/me")
    expect(page.locator("#notes-waiting")).to_contain_text("1 note waiting")
    page.get_by_role("button", name="Log out here").click()
    page.wait_for_url("**/log-in")
    assert "They stay on this phone until you log in again" in said[0]
    assert page.evaluate("async () => (await (await caches.open('pages')).keys()).map((each) => new URL(each.url)"
                         ".pathname).filter((path) => path.startsWith('/drives'))") == []
    mine.unroute("**/api/v1/sync")
    log_in(page, "Pat")
    note_force(page, "16.5")
    until(page, """async () => (await (await import("/static/outbox.js")).notes())
        .every((note) => note.fact.by === "Nel")""")
    send(page)
    expect(page.locator("#notes")).to_contain_text("noted by Nel, who has to log in on this phone")
    assert forces(plant).get(16.5) == "Pat"
    assert 15.5 not in forces(plant)
    page.goto("/me")
    page.get_by_role("button", name="Log out here").click()
    page.wait_for_url("**/log-in")
    log_in(page, "Nel")
    send(page)
    sent(page)
    assert waits(page) == 0
    assert forces(plant)[15.5] == "Nel"


def test_notes_wait_for_a_log_in_and_say_so(mine: BrowserContext, plant: Secured) -> None:
    page = mine.new_page()
    log_in(page, "Nel")
    page.goto("/drives/FAN-1/readings/force")
    end_sessions_of(plant, "Nel")
    page.fill("#b-r0-force", "17.5")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator("h1")).to_have_text("Log in")
    expect(page.locator("#notes-waiting")).to_contain_text("log in on this phone: the notes wait until then")
    log_in(page, "Nel")
    sent(page)
    assert forces(plant)[17.5] == "Nel"


def test_the_page_to_trust_the_authority_needs_no_log_in(mine: BrowserContext, plant: Secured) -> None:
    page = mine.new_page()
    page.goto("/trust")
    shown: Any = page.locator("main").inner_text()
    pairs = certificates.fingerprint(plant.authority).split(":")
    assert " ".join(pairs[:8]) in shown
    assert timedelta(0) < certificates.runs_out(plant.authority) - now()
