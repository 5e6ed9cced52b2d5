"""Logging in and the pages about people in a real browser: legible, reachable by keys, and no script needed."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from beltwright.plant.identity import now
from beltwright.web import certificates
from tests.desk.hashes import cheap_hashes
from tests.web.browser import PASSWORD, plant_book
from tests.web.chromium import NEEDS_CHROMIUM, browser, faint_words, problems_of, served, visitor

pytestmark = [NEEDS_CHROMIUM, pytest.mark.xdist_group("chromium")]

PAGES = ("/me", "/people", "/trust", "/book/method", "/book/changes")


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("network")
    with cheap_hashes():
        path = plant_book(folder)
        made = certificates.make(folder / "tls", ["localhost"], plant="Pellet mill", at=now())
        with served(path, alone=False, authority=made.files.authority) as address:
            yield address


@pytest.fixture(scope="module")
def running() -> Iterator[Browser]:
    with browser() as found:
        yield found


def log_in(page: Page, name: str, password: str = PASSWORD) -> None:
    page.goto("/log-in")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Log in").click()


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("size", ["phone", "desk"])
def test_the_pages_about_people_are_legible_and_within_the_screen(running: Browser, base: str, size: str,
                                                                   light: str) -> None:
    complaints: list[str] = []
    with visitor(running, base, size, light=light) as somebody:
        page = somebody.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
        for address in ("/log-in", *PAGES):
            if address == PAGES[0]:
                log_in(page, "Kit")
            page.goto(address)
            wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            complaints += [f"{address}: {wide} px stick out"] if wide > 0 else []
            complaints += [f"{address}: {problem}" for problem in problems_of(page)]
            complaints += [f"{address}: {words}" for words in faint_words(page, 7.0)]
    assert not complaints, "\n".join(complaints)


@pytest.mark.parametrize("script", [True, False], ids=["with JavaScript", "without"])
def test_a_keeper_adds_somebody_who_comes_in_and_chooses_a_password(running: Browser, base: str, script: bool) -> None:
    name = "Ann" if script else "Bea"
    with visitor(running, base, script=script) as keeper, visitor(running, base, script=script) as new:
        page = keeper.new_page()
        page.goto("/people")
        expect(page.get_by_role("heading", level=1)).to_have_text("Log in")
        page.get_by_label("Name").fill("Kit")
        page.get_by_label("Password").fill(PASSWORD)
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text("People")
        page.get_by_label("Name, as people here know it").fill(name)
        page.get_by_label("Role", exact=True).select_option("note")
        page.get_by_role("button", name="Add").click()
        given = page.locator(".secret").inner_text()
        theirs = new.new_page()
        log_in(theirs, name, given)
        expect(theirs.get_by_role("heading", level=1)).to_have_text(name)
        theirs.goto("/")
        expect(theirs.get_by_role("heading", level=1)).to_have_text(name)
        theirs.get_by_label("The first password").fill(given)
        theirs.get_by_label("The new one", exact=True).fill("a long row of belts")
        theirs.get_by_label("The new one again").fill("a long row of belts")
        theirs.get_by_role("button", name="Change the password").click()
        expect(theirs.get_by_role("heading", level=1)).to_have_text("Pellet mill")
        theirs.goto("/people")
        expect(theirs.get_by_role("heading", level=1)).to_have_text("Not from here")
        theirs.goto("/me")
        theirs.get_by_role("button", name="Log out here").click()
        expect(theirs.get_by_role("heading", level=1)).to_have_text("Log in")
