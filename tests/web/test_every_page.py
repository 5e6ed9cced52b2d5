"""Every page there is, at a phone and at a desk, by day and by night, in one browser: nothing sticks out, axe finds
nothing, words are legible, and what can be pressed is reached by keys and shows it.

Each page is loaded once and looked at four ways. The list is held against the table of addresses, so that a new page
is either here or named below with the test that looks at it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

import pytest
from playwright.sync_api import Browser, Page

from beltwright.book.opening import open_book
from beltwright.plant.identity import now
from beltwright.plant.reading import KINDS
from beltwright.web.pages.steps import STEPS
from beltwright.web.roles import LEAST
from tests.web.chromium import NEEDS_CHROMIUM, SIZES, browser, faint_words, problems_of, served, visitor
from tests.web.mill import mill
from tests.web.test_network_in_browser import PAGES as ABOUT_PEOPLE
from tests.web.worked import Worked, work

pytestmark = [NEEDS_CHROMIUM, pytest.mark.xdist_group("chromium")]

_ANSWERS: Final = "tag=X&name=fan&motor_power_kw=7.5&driver_outside_mm=190&driven_outside_mm=280&belt_marking=B112"
# answers that are no page to look at: files, fragments, data
NO_PAGES: Final = frozenset((
    "/trust/authority.crt", "/calendar/{secret}", "/sw.js", "/found", "/d/{tag:path}", "/drives/{tag}/card.pdf",
    "/labels.pdf", "/jobs/{job_id}/record.pdf", "/files/{name}", "/survey/so-far", "/sheet/empty.{kind}",
    "/book/drives.{kind}", "/book/export.jsonl", "/book/backup", "/drives/{tag}/why/ahead", "/drives/{tag}/why.pdf",
    "/heard/{reading_id}"))
# pages that need a clip of sound or a log-in, and are looked at where those are
ELSEWHERE: Final = frozenset(("/drives/{tag}/heard/{reading_id}", "/heard/{reading_id}", "/log-in", *ABOUT_PEOPLE))
SIGHTS: Final = tuple((size, light) for size in SIZES for light in ("light", "dark"))

# what is pressed or filled in, reached by keys; a radio or a box under its own picture shows it on the picture
HIDDEN_FROM_KEYS: Final = """() => {
  const pressed = [...document.querySelectorAll(
    'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]')];
  return pressed.filter((one) => one.checkVisibility() && !one.disabled && !one.matches('.skip')).filter((one) => {
    one.focus();
    if (document.activeElement !== one) return true;
    const shown = [one, one.nextElementSibling].filter(Boolean).map((each) => getComputedStyle(each));
    return !shown.some((style) => style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2);
  }).map((one) => one.outerHTML.slice(0, 90));
}"""


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Worked, str]:
    path = mill(tmp_path_factory.mktemp("mill") / "plant.book", until=now())
    worked = work(path, now())
    with open_book(path) as book:
        reading = book.readings(book.drive_by_tag("FAN-12").drive_id)[0]
    return path, worked, str(reading.id)


@pytest.fixture(scope="module")
def page(plant: tuple[Path, Worked, str]) -> Iterator[Page]:
    with browser() as running, served(plant[0]) as base:
        yield from _page(running, base)


def _page(running: Browser, base: str) -> Iterator[Page]:
    with visitor(running, base) as somebody:
        yield somebody.new_page()


def addresses(plant: tuple[Path, Worked, str]) -> Mapping[str, tuple[str, ...]]:
    """The addresses looked at, by the line of the table they stand for; the last are refusals."""
    _, worked, reading = plant
    job = f"/jobs/{worked.open}"
    some = [key for key in worked.steps if key in ("tell", "lock", "found-tension", "new-set", "run-in", "guard-on@2")]
    return {
        "/": ("/", "/?q=B112", "/?place=Drying+%2F+Line+1"), "/round": ("/round", "/round?which=all"),
        "/drives/{tag}": ("/drives/FAN-12", "/drives/MIX-01", "/drives/FAN-21", "/drives/FAN-14"),
        "/drives/{tag}/card": ("/drives/FAN-12/card",), "/drives/{tag}/label": ("/drives/FAN-12/label",),
        "/drives/{tag}/jobs": ("/drives/FAN-12/jobs", "/drives/FAN-13/jobs"), "/jobs": ("/jobs",),
        "/jobs/{job_id}": (*(f"{job}?step={key}" for key in some), f"/jobs/{worked.closed}"),
        "/drives/{tag}/readings": ("/drives/FAN-12/readings",),
        "/drives/{tag}/readings/{kind}": tuple(
            f"/drives/FAN-12/readings/{kind.replace(' ', '-')}" for kind in KINDS),
        "/readings/{reading_id}": (f"/readings/{reading}",), "/round/{tag}": ("/round/FAN-12",),
        "/survey": ("/survey",), "/survey/{key}": tuple(f"/survey/{step.key}?{_ANSWERS}" for step in STEPS),
        "/survey/look": (f"/survey/look?{_ANSWERS}&centre_mm=600",), "/sheet": ("/sheet",), "/labels": ("/labels",),
        "/book": ("/book",), "/waiting": ("/waiting",), "/no-signal": ("/no-signal",),
        "/drives/{tag}/starting": ("/drives/FAN-12/starting",), "/drives/{tag}/whip": ("/drives/FAN-12/whip",),
        "/drives/{tag}/listen": ("/drives/FAN-12/listen",), "/phone-check": ("/phone-check",),
        "/drives/{tag}/why": ("/drives/FAN-12/why",),
        "refused": ("/nothing", "/drives/none", f"/survey/driver?{_ANSWERS}&driver_grooves=x&go=on",
                    "/jobs/00000000-0000-7000-8000-000000000000"),
    }


def test_no_page_is_forgotten(plant: tuple[Path, Worked, str]) -> None:
    pages = {line.partition(" ")[2] for line in LEAST if line.startswith("GET ") and "/api/" not in line}
    assert not pages - addresses(plant).keys() - NO_PAGES - ELSEWHERE, "looked at by no test"
    assert not addresses(plant).keys() - {"refused"} - pages, "no such page"


def test_every_page_fits_is_legible_and_is_worked_by_keys(page: Page, plant: tuple[Path, Worked, str]) -> None:
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(f"{page.url}: {error}"))
    for address in [address for some in addresses(plant).values() for address in some]:
        page.goto(address)
        page.evaluate("for (const folded of document.querySelectorAll('details')) folded.open = true")
        page.keyboard.press("Tab")
        complaints += [f"{address}: not by keys: {one}" for one in page.evaluate(HIDDEN_FROM_KEYS)]
        page.evaluate("document.activeElement.blur()")
        for number, (size, light) in enumerate(SIGHTS):
            width, height = SIZES[size]
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme="dark" if light == "dark" else "light", reduced_motion="reduce")
            found = problems_of(page, only_contrast=number not in (0, 3))
            wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            found += [f"{wide} px stick out"] if wide > 0 else []
            found += faint_words(page, 7.0)
            complaints += [f"{address}, {size}, {light}: {one}" for one in found]
    assert not complaints, "\n".join(complaints)
