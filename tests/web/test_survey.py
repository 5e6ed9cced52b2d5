"""Entering a drive by steps and by the sheet: nothing typed is lost, nothing unreadable gets in."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from urllib.parse import parse_qsl, urlencode, urlsplit

import pytest

from beltwright.bench.card import make_card
from beltwright.book.opening import open_book
from beltwright.book.sheets import read_bytes
from beltwright.desk.columns import COLUMNS
from beltwright.web.pages.sketches import SKETCHES
from beltwright.web.pages.steps import LAST, STEPS
from tests.bench.drives import SOUND
from tests.web.browser import Browser, app_over, plant_book


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return plant_book(tmp_path)


@pytest.fixture
def browser(path: Path) -> Iterator[Browser]:
    with app_over(path, alone=True) as app:
        yield Browser(app, "localhost", "http")


def test_every_question_has_its_place_in_one_step() -> None:
    asked = [name for step in STEPS for name in step.names] + list(LAST)
    assert sorted(asked) == sorted(column.name for column in COLUMNS)


def walk(browser: Browser, cells: dict[str, str]) -> str:
    """From the first screen to the last by its buttons, filling in what is asked; the address of the last."""
    address = "/survey/drive"
    given: dict[str, str] = {}
    for step in STEPS:
        page = browser.open(f"{address}?{urlencode(given)}" if given else "/survey")
        assert page.status_code == 200
        boxes = set(re.findall(r'name="([a-z_]+)"', page.text))
        given |= {name: text for name, text in cells.items() if name in boxes}
        going = browser.get(f"/survey/{step.key}?{urlencode({**given, 'go': 'on'})}")
        assert going.status_code == 303, (step.key, going.text)
        parts = urlsplit(going.headers["location"])
        address, given = parts.path, dict(parse_qsl(parts.query))
    return f"{address}?{urlencode(given)}"


def metric(cells: dict[str, str]) -> dict[str, str]:
    """Answers under the columns that a page in SI shows: the unit goes with the number."""
    found = {}
    for name, text in cells.items():
        if name.endswith("_in"):
            found[f"{name.removesuffix('_in')}_mm"] = f"{text} in"
        elif name.endswith("_hp"):
            found[f"{name.removesuffix('_hp')}_kw"] = f"{text} hp"
        else:
            found[name] = text
    return found


def test_every_question_shows_where_its_answer_is_read(browser: Browser) -> None:
    drawn: dict[str, str] = {}
    for step in STEPS:
        page = browser.open(f"/survey/{step.key}?tag=X-1&name=fan").text
        sketches = re.findall(r'class="sketch">(.*?)</svg>', page, re.DOTALL)
        assert len(sketches) == len(step.names), step.key
        drawn.update(zip(step.names, sketches, strict=True))
    assert drawn.keys() == SKETCHES.keys(), "a question without a sketch of its own"
    for name, sketch in drawn.items():
        assert 'class="asked"' in sketch, name
    alike = Counter(drawn.values())
    # both sheaves and both shafts are read alike, and much stands in the papers; the rest differs
    assert len(alike) == len(set(SKETCHES.values()))


def test_a_drive_is_entered_step_by_step_and_is_what_a_sheet_would_have_made(browser: Browser, path: Path) -> None:
    last = walk(browser, metric({**SOUND, "tag": "FAN-7"}))
    assert last.startswith("/survey/look?")
    page = browser.open(last)
    assert "Enter FAN-7" in page.text
    carried = dict(parse_qsl(urlsplit(last).query))
    refused = browser.fill("/survey", **carried)
    assert (refused.status_code, "a name is needed" in refused.text.casefold()) == (422, True)
    entered = browser.fill("/survey", **carried, by="Ann")
    assert (entered.status_code, entered.headers["location"]) == (303, "/drives/FAN-7")
    with open_book(path) as book:
        made, sheet = (make_card(book.drive_by_tag(tag).drive) for tag in ("FAN-7", "FAN-1"))
        assert {key: figure.text("si") for key, figure in made.figures.items()} == {
            key: figure.text("si") for key, figure in sheet.figures.items()}
        assert book.drive_by_tag("FAN-7").by == "Ann"


def test_what_cannot_be_read_stays_in_its_box_with_the_reason(browser: Browser) -> None:
    answer = browser.get("/survey/motor", params={"tag": "X", "name": "y", "motor_power_kw": "1,500",
                                                  "motor_speed_rpm": "fast <i>", "go": "on"})
    assert answer.status_code == 422
    assert "2 answers cannot be read" in answer.text
    page = unescape(answer.text)
    assert 'value="1,500"' in page
    assert "is ambiguous: type 1500 or 1.5" in page
    assert 'value="fast &lt;i&gt;"' in answer.text
    assert answer.text.count('aria-invalid="true"') == 2


def test_the_first_screen_needs_tag_and_name_and_says_when_the_tag_is_taken(browser: Browser) -> None:
    answer = browser.get("/survey/drive", params={"go": "on"})
    assert (answer.status_code, answer.text.count("Every drive needs")) == (422, 2)
    assert "FAN-1 is in the book already" in browser.get("/survey/drive", params={"tag": "fan 1"}).text


def test_two_diameters_of_one_sheave_are_one_too_many(browser: Browser) -> None:
    answer = browser.get("/survey/driver", params={"driver_outside_mm": "200", "driver_datum_mm": "190", "go": "on"})
    assert (answer.status_code, "Fill one of them" in answer.text) == (422, True)


def test_answers_that_do_not_fit_are_said_as_they_come_in(browser: Browser) -> None:
    cells = {**SOUND, "tag": "X", "centre_in": "52.4"}
    page = browser.get("/survey/centre", params=cells)
    assert page.status_code == 200
    assert "Does not add up" in page.text
    part = browser.get("/survey/so-far", params=cells)
    assert "<html" not in part.text
    assert "Does not add up" in part.text
    assert "Press the span in by" in part.text


def test_more_is_put_in_and_an_answer_taken_back(browser: Browser, path: Path) -> None:
    start = browser.get("/survey", params={"drive": "fan1", "ask": "driver_material"})
    parts = urlsplit(start.headers["location"])
    assert parts.path == "/survey/driver"
    cells = dict(parse_qsl(parts.query))
    assert cells["of"] == "FAN-1"
    del cells["room_c"]
    cells |= {"driven_bearing": "ball", "tag": "OTHER"}
    browser.open(f"/survey/look?{urlencode(cells)}")
    assert browser.fill("/survey", **cells, by="Ann").headers["location"] == "/drives/FAN-1"
    with open_book(path) as book:
        drive = book.drive_by_tag("FAN-1").drive
        assert (drive.room, drive.driven.shaft.bearing, drive.belts.marking) == (None, "ball", "B112")
        assert len(book.drives()) == 1


# --- by the sheet ----------------------------------------------------------------------------------------------------

def hand_in(browser: Browser, text: str, by: str = "Ann"):   # type: ignore[no-untyped-def]
    browser.open("/sheet")
    return browser.post("/sheet", data={"form_token": browser.token, "by": by},
                        files={"file": ("drives.csv", text.encode())})


def boxes(page: str) -> dict[str, str]:
    """The boxes of the form that mends, as they stand."""
    form = page[page.index('class="mend"'):]
    form = form[:form.index("</form>")]
    found = dict(re.findall(r'<input id="[^"]+" name="([^"]+)" value="([^"]*)"', form))
    carried = re.search(r'<textarea name="rows" hidden>\n?(.*?)</textarea>', form, re.DOTALL)
    assert carried
    return {unescape(name): unescape(text) for name, text in {**found, "rows": carried[1]}.items()}


def test_good_rows_go_in_and_bad_cells_come_back_to_be_mended(browser: Browser, path: Path) -> None:
    answer = hand_in(browser, "tag;name;motor_power_kw;centre_mm;note\nA-1;fan;7,5;600;\n"
                              "A-2;fan;1,500;600;keep, this \"note\"\nA-3;;4;six;\n")
    assert answer.status_code == 422
    with open_book(path) as book:
        assert {make_up.drive.tag for make_up in book.drives()} == {"FAN-1", "A-1"}
    form = boxes(answer.text)
    assert form["cell:3:motor_power_kw"] == "1,500"
    assert form["cell:4:centre_mm"] == "six"
    assert "cell:4:name" in form
    form |= {"cell:3:motor_power_kw": "1.5", "cell:4:name": "mixer", "by": "Ann"}
    again = browser.post("/sheet", data={"form_token": browser.token, **form})
    assert again.status_code == 422
    assert list(boxes(again.text)) == ["cell:4:centre_mm", "by", "rows"]
    last = {**boxes(again.text), "cell:4:centre_mm": "610", "by": "Ann", "form_token": browser.token}
    done = browser.post("/sheet", data=last)
    assert (done.status_code, "1 entered" in done.text) == (200, True)
    with open_book(path) as book:
        assert book.drive_by_tag("A-2").drive.note == 'keep, this "note"'
        assert book.drive_by_tag("A-3").drive.centre == pytest.approx(0.61)


def test_a_row_can_be_left_out_and_a_strange_column_named(browser: Browser, path: Path) -> None:
    answer = hand_in(browser, "tag,name,power kw,colour\nB-1,fan,7.5,red\n")
    assert answer.status_code == 422
    assert "column:power kw" in answer.text
    mended = {**boxes(answer.text), "column:power kw": "motor_power_kw", "column:colour": "", "by": "Ann",
              "form_token": browser.token}
    assert browser.post("/sheet", data=mended).status_code == 200
    with open_book(path) as book:
        assert book.drive_by_tag("B-1").drive.motor.power == 7500
    bad = hand_in(browser, "tag,name,centre_mm\nB-2,fan,x\n")
    left = {**boxes(bad.text), "leave:2": "yes", "by": "Ann", "form_token": browser.token}
    assert "Choose a CSV or XLSX file" in browser.post("/sheet", data=left).text


@pytest.mark.parametrize("data", [b"", b"\x00\x01\x02", b"PK\x03\x04 no workbook", b"tag,name\n\"open,quote\n"])
def test_a_file_that_is_no_sheet_is_refused_on_the_page(browser: Browser, data: bytes) -> None:
    browser.open("/sheet")
    answer = browser.post("/sheet", data={"form_token": browser.token, "by": "Ann"}, files={"file": ("x.csv", data)})
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text


def test_a_sheet_without_a_name_is_kept_until_there_is_one(browser: Browser, path: Path) -> None:
    answer = hand_in(browser, "tag,name\nC-1,fan\n", by="")
    assert (answer.status_code, "A name is needed" in answer.text) == (422, True)
    again = browser.post("/sheet", data={**boxes(answer.text), "by": "Ann", "form_token": browser.token})
    assert again.status_code == 200
    with open_book(path) as book:
        assert book.drive_by_tag("C-1").by == "Ann"


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_the_empty_sheet_has_the_columns_of_the_persons_units(browser: Browser, kind: str) -> None:
    sheet = read_bytes(browser.get(f"/sheet/empty.{kind}?units=inch").content, f"empty.{kind}")
    assert {"tag", "centre_in", "motor_power_hp"} <= set(sheet.columns)
