"""The pages in a real browser: thumbs hit what is pressed, keys are enough, and so is no script."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from beltwright.book.opening import open_book
from beltwright.plant.identity import now
from tests.web.chromium import NEEDS_CHROMIUM, browser, served, visitor
from tests.web.mill import PLANT, mill

pytestmark = [NEEDS_CHROMIUM, pytest.mark.xdist_group("chromium")]

PAGES = ("/", "/?q=B112", "/?place=Drying+%2F+Line+1", "/drives/FAN-12", "/drives/MIX-01", "/drives/FAN-21",
         "/drives/FAN-31", "/drives/FAN-12/whip",
         "/drives/FAN-12/card", "/labels", "/book", "/survey", "/sheet", "/nothing",
         "/survey/driver?tag=X&name=fan&driver_outside_mm=x&go=on", "/survey/belts?tag=X&name=fan",
         "/survey/look?tag=X&name=fan&motor_power_kw=7.5&centre_mm=600")


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return mill(tmp_path_factory.mktemp("mill") / "plant.book", until=now())


@pytest.fixture(scope="module")
def base(path: Path) -> Iterator[str]:
    with served(path) as address:
        yield address


@pytest.fixture(scope="module")
def running() -> Iterator[Browser]:
    with browser() as found:
        yield found


@pytest.fixture
def phone(running: Browser, base: str) -> Iterator[Page]:
    with visitor(running, base) as somebody:
        yield somebody.new_page()


PRESSED = ("button, .button, .places a, summary, select, .tiles span, .drives > li > a, .tallies a, "
           "input:not([type=hidden], [type=radio], [type=checkbox])")
SMALL = """which => [...document.querySelectorAll(which)].filter(element => element.checkVisibility()
    && element.getBoundingClientRect().height < 47.5).map(element => element.outerHTML.slice(0, 90))"""


def test_what_is_pressed_is_as_large_as_a_thumb(phone: Page) -> None:
    small: list[str] = []
    for address in PAGES:
        phone.goto(address)
        small += [f"{address}: {element}" for element in phone.evaluate(SMALL, PRESSED)]
    assert not small, "\n".join(small)


def test_a_drive_is_found_while_one_types_and_opened(phone: Page) -> None:
    phone.goto("/")
    phone.get_by_label("Find a drive").press_sequentially("b112", delay=20)
    expect(phone.locator("#found .drives li")).to_have_count(1)
    phone.locator("#found .drives a").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("FAN-12")


def test_every_figure_opens_its_working_with_one_tap(phone: Page) -> None:
    phone.goto("/drives/FAN-12")
    figure = phone.locator("#deflection")
    expect(figure.locator(".formula")).to_be_hidden()
    figure.locator("summary").tap()
    expect(figure.locator(".formula")).to_have_text("h = t/64")
    expect(figure.locator(".source")).to_be_visible()


def test_readings_are_drawn_beside_their_table_without_javascript_too(running: Browser, base: str) -> None:
    with visitor(running, base, script=False) as somebody:
        page = somebody.new_page()
        page.goto("/drives/FAN-12")
        trend = page.locator("#trend-tension")
        expect(trend.locator("svg.drawing")).to_be_visible()
        assert trend.locator(".mark").count() == trend.locator(".wide tbody tr").count() == 11
        expect(trend.locator(".band").first).to_be_attached()
        expect(page.locator("#trend-slip .limit").first).to_be_attached()
        expect(page.locator("#noted .kind").first).to_contain_text("33 readings")


SURVEY = {"tag": "FAN-77", "name": "Roof fan", "motor_power_kw": "7.5", "motor_speed_rpm": "1450",
          "driver_outside_mm": "190", "driver_grooves": "3", "driven_outside_mm": "280", "driven_grooves": "3",
          "belt_marking": "B112", "belt_count": "3", "centre_mm": "1050"}


def survey(page: Page, tag: str) -> None:
    page.goto("/survey")
    while "/survey/look" not in page.url:
        for name, text in {**SURVEY, "tag": tag}.items():
            box = page.locator(f"input[name={name}]:not([type=hidden])")
            if box.count():
                box.fill(text)
        page.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Look {tag} over")
    page.get_by_label("Your name").fill("Jo Lind")
    page.get_by_role("button", name=f"Enter {tag}").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(tag)


@pytest.mark.parametrize("script", [True, False], ids=["with JavaScript", "without"])
def test_a_drive_is_surveyed_and_its_card_printed(running: Browser, base: str, path: Path, script: bool) -> None:
    tag = "FAN-77" if script else "FAN-78"
    with visitor(running, base, script=script) as somebody:
        page = somebody.new_page()
        survey(page, tag)
        page.get_by_role("link", name="Job card").click()
        expect(page.get_by_role("heading", name="First: isolate it")).to_be_visible()
        if script:
            page.emulate_media(media="print")
            expect(page.locator(".places")).to_be_hidden()
            assert page.pdf().startswith(b"%PDF")
    with open_book(path) as book:
        assert book.drive_by_tag(tag).by == "Jo Lind"


def test_what_does_not_fit_is_said_while_one_types(phone: Page) -> None:
    phone.goto("/survey/centre?tag=X&name=fan&motor_power_kw=7.5&motor_speed_rpm=1450&driver_outside_mm=190"
               "&driven_outside_mm=280&belt_marking=B112")
    expect(phone.locator("#clash")).to_be_empty()
    phone.get_by_label("Distance between the shafts").fill("1400")
    phone.get_by_label("Distance between the shafts").press("Tab")
    expect(phone.locator("#clash")).to_contain_text("Does not add up")


def test_keys_alone_are_enough(running: Browser, base: str) -> None:
    with visitor(running, base, "desk") as somebody:
        page = somebody.new_page()
        page.goto("/")
        page.keyboard.press("Tab")
        expect(page.get_by_text("To the page itself")).to_be_focused()
        page.keyboard.press("Enter")
        reached = walk_to(page, "q")
        assert reached, "the search box was never reached"
        page.keyboard.type("fan 12")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text("FAN-12")
        page.locator("#deflection summary").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#deflection .formula")).to_be_visible()
        outline = page.locator("#deflection summary").evaluate("element => getComputedStyle(element).outlineWidth")
        assert outline == "3px"


def walk_to(page: Page, identity: str) -> bool:
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == identity:
            return True
    return False


def test_a_bad_sheet_is_mended_on_the_page(phone: Page, tmp_path: Path) -> None:
    sheet = tmp_path / "drives.csv"
    sheet.write_text("tag;name;centre_mm\nS-1;fan;six hundred\nS-2;mixer;610\n", encoding="utf-8")
    phone.goto("/sheet")
    phone.get_by_label("The sheet").set_input_files(sheet)
    phone.get_by_label("Your name").fill("Jo Lind")
    phone.get_by_role("button", name="Hand in", exact=True).click()
    expect(phone.get_by_role("heading", name="1 row cannot be read yet")).to_be_visible()
    phone.get_by_label("centre_mm").fill("600")
    phone.get_by_role("button", name="Hand in the mended rows").click()
    expect(phone.get_by_text("1 entered")).to_be_visible()


def test_the_light_is_switched_and_stays(phone: Page) -> None:
    phone.goto("/")
    ground = "getComputedStyle(document.body).backgroundColor"
    bright = phone.evaluate(ground)
    phone.get_by_role("button", name="Dark").click()
    expect(phone.get_by_role("button", name="Dark")).to_have_attribute("aria-pressed", "true")
    assert phone.evaluate(ground) != bright
    phone.goto("/book")
    assert phone.evaluate(ground) != bright


def test_the_page_says_whose_plant_it_is(phone: Page) -> None:
    phone.goto("/")
    expect(phone).to_have_title(f"{PLANT} · {PLANT}")
