"""Every page without a screen: what it says, what it must carry, and what it does with hostile words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from html import unescape
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from urllib.parse import quote

import pytest
from httpx2 import Response
from pypdf import PdfReader

from beltwright.bench.card import make_card
from beltwright.book.opening import open_book
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.identity import now
from beltwright.units import System
from beltwright.web.addresses import drive_at
from beltwright.web.app import create_app
from tests.bench.drives import SOUND
from tests.web.browser import Browser, app_over
from tests.web.mill import PLANT, mill

PARTS = Path(__file__).parents[2] / "src" / "beltwright" / "web" / "static" / "sheet"
PAGES = ("/", "/?place=Drying+%2F+Line+1", "/?q=B112", "/?state=plan", "/drives/FAN-12", "/drives/MIX-01",
         "/drives/FAN-21", "/drives/FAN-12/whip",
         "/drives/FAN-12/card", "/labels", "/labels?place=Drying+%2F+Line+1", "/book", "/survey",
         "/survey/driver?tag=X-1&name=fan", "/survey/look?tag=X-1&name=fan", "/sheet", "/nothing", "/drives/none")


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return mill(tmp_path_factory.mktemp("mill") / "plant.book", until=now())


@pytest.fixture(scope="module")
def browser(path: Path) -> Iterator[Browser]:
    with app_over(path, alone=True) as app:
        yield Browser(app, "localhost", "http")


class Inline(HTMLParser):
    """What a strict policy would not let run or style, and words outside of tags."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self.words: list[str] = []
        self._open = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._open = tag
        names = {name for name, _ in attrs}
        if tag == "style" or (tag == "script" and "src" not in names):
            self.found.append(tag)
        self.found += [f"{tag} {name}" for name in names if name == "style" or name.startswith("on")]
        self.found += [f"{tag} {value}" for name, value in attrs
                       if name in ("href", "src", "action") and not (value or "").startswith(("/", "#"))]

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def words_of(page: str) -> str:
    return re.sub(r"\s+", " ", " ".join(Inline(page).words))


@pytest.mark.parametrize("address", PAGES)
def test_every_page_carries_the_policy_and_nothing_inline_or_from_elsewhere(browser: Browser, address: str) -> None:
    answer = browser.open(address)
    assert answer.status_code == (404 if address in ("/nothing", "/drives/none") else 200)
    policy = answer.headers["content-security-policy"]
    assert policy.startswith("default-src 'self'")
    assert "unsafe" not in policy
    assert "http" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert not Inline(answer.text).found
    assert answer.text.count("<h1") == 1
    assert '<html lang="en"' in answer.text


def test_a_refusal_is_a_page_for_people_and_json_for_programs(browser: Browser) -> None:
    page = browser.open("/drives/FAN-99")
    assert (page.status_code, "did you mean" in page.text) == (404, True)
    told = browser.get("/drives/FAN-99", headers={"Accept": "application/json"})
    assert told.status_code == 404
    assert "no drive 'FAN-99'" in told.json()["problem"]


def test_the_plant_says_what_needs_a_hand_first_and_why(browser: Browser) -> None:
    page = words_of(browser.open("/").text)
    first = page[page.index("Needs a hand first"):]
    assert first.index("FAN-21") < first.index("COL-01")
    assert "Stop it until a sheave of stronger material" in first


@pytest.mark.parametrize("words", ["FAN-12", "fan12", "fan 12"])
def test_a_tag_as_people_remember_it_leads_to_its_drive(browser: Browser, words: str) -> None:
    answer = browser.get("/", params={"q": words})
    assert (answer.status_code, answer.headers["location"]) == (303, "/drives/FAN-12")


@pytest.mark.parametrize(("words", "found"), [("b112", {"FAN-12"}), ("spb2500", {"FAN-22"}), ("SPB 2500", {"FAN-22"}),
                                              ("bucket grist", {"ELV-01"}), ("no such thing", set())])
def test_belt_markings_and_words_are_found(browser: Browser, words: str, found: set[str]) -> None:
    page = browser.get("/found", params={"q": words}).text
    assert set(re.findall(r'<b class="tag">([^<]+)</b>', page)) == found


def test_a_label_leads_to_its_drive(browser: Browser) -> None:
    answer = browser.get("/d/fan%2012")
    assert (answer.status_code, answer.headers["location"]) == (303, "/drives/FAN-12")


@pytest.mark.parametrize("system", ["si", "inch"])
def test_a_drive_shows_every_figure_of_its_card_with_its_working(browser: Browser, path: Path, system: System) -> None:
    browser.cookies.set("units", system)
    page = browser.open("/drives/FAN-12").text
    browser.cookies.delete("units")
    with open_book(path) as book:
        card = make_card(book.drive_by_tag("FAN-12").drive)
    shown = words_of(page)
    for key in ("deflection", "force_run_in", "force_new", "frequency_run_in", "span", "take_up", "wrap_driver",
                "alignment_limit", "belt_life", "pull_new"):
        assert card.figure(key).text(system) in shown, key
        assert f'id="{key}"' in page
        assert " ".join(card.figure(key).working.formula.split()) in shown
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_a_drive_shows_its_readings_its_findings_and_what_was_fitted(browser: Browser) -> None:
    shown = words_of(browser.open("/drives/FAN-12").text)
    for words in ("Note of the plucked span", "as left", "Squeal at start", "driven bearing", "What is fitted",
                  "42 3/8 → 42 5/8", "Jo Lind"):
        assert words in shown, words


def test_a_drive_hardly_known_says_what_to_read_and_where_to_put_it(browser: Browser) -> None:
    page = browser.open("/drives/MIX-01").text
    assert "Go and read" in page
    answer = browser.get(unescape(re.findall(r'<a href="(/survey\?drive=MIX-01[^"]+)"><b>', page)[0]))
    assert answer.status_code == 303
    assert "tag=MIX-01" in answer.headers["location"]


def test_units_and_light_are_kept_and_lead_back_to_the_page(browser: Browser) -> None:
    browser.open("/drives/FAN-12")
    answer = browser.fill("/choices", units="inch", light="dark", back="/drives/FAN-12?a=b")
    assert answer.headers["location"] == "/drives/FAN-12?a=b"
    page = browser.open("/drives/FAN-12").text
    assert 'data-light="dark"' in page
    assert "lbf" in page
    browser.fill("/choices", units="si", light="as the device")
    assert browser.fill("/choices", units="si", back="https://elsewhere.example/").headers["location"] == "/"


def test_a_card_and_labels_come_as_pdf(browser: Browser) -> None:
    for address in ("/drives/FAN-12/card.pdf", "/labels.pdf?place=Drying+%2F+Line+1"):
        answer = browser.get(address)
        assert answer.headers["content-type"] == "application/pdf"
        assert "FAN-12" in PdfReader(BytesIO(answer.content)).pages[0].extract_text()


def test_labels_hold_the_address_once_it_is_known(browser: Browser) -> None:
    browser.open("/labels")
    bad = keep_address(browser, "belts mill")
    assert (bad.status_code, 'value="belts mill"' in bad.text) == (422, True)
    assert keep_address(browser, "https://belts.mill.example/").status_code == 303
    assert "https://belts.mill.example/d/" in browser.open("/labels?tag=FAN-12").text
    keep_address(browser, "")


def keep_address(browser: Browser, typed: str) -> Response:
    return browser.post("/labels/address", data={"form_token": browser.token, "address": typed})


def test_the_plants_choices_are_kept_and_a_bad_one_keeps_what_was_typed(browser: Browser) -> None:
    browser.open("/book")
    bad = browser.fill("/book/settings", plant=PLANT, system="si", price="cheap & <b>", currency="kr", by="Ann")
    assert bad.status_code == 422
    assert 'value="cheap &amp; &lt;b&gt;"' in bad.text
    assert 'value="kr"' in bad.text
    dear = browser.fill("/book/settings", plant=PLANT, system="si", price="", work="45", belt="dear", by="Ann")
    assert (dear.status_code, "is no price" in dear.text, 'value="45"' in dear.text) == (422, True, True)
    assert browser.fill("/book/settings", plant=PLANT, system="si", price="0,14", currency="kr", work="45", belt="",
                        by="Ann").status_code == 303
    kept = browser.open("/book").text
    assert 'value="0.14"' in kept
    assert 'value="45"' in kept


def test_what_is_taken_out_can_be_brought_in_again(browser: Browser, tmp_path: Path) -> None:
    lines = browser.get("/book/export.jsonl")
    browser.open("/book")
    answer = browser.post("/book/import", data={"form_token": browser.token},
                          files={"file": ("a.jsonl", lines.content)})
    assert (answer.status_code, "nothing new" in answer.text) == (200, True)
    cut = browser.post("/book/import", data={"form_token": browser.token},
                       files={"file": ("a.jsonl", lines.content[:-300])})
    assert (cut.status_code, "export" in cut.text) == (422, True)
    copy = tmp_path / "copy.book"
    copy.write_bytes(browser.get("/book/backup").content)
    with open_book(copy) as book:
        assert len(book.drives()) == 32
    assert browser.get("/book/drives.csv").text.count("\n") == 33


HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>{{'q'*7}}"


def test_hostile_words_stay_words(tmp_path: Path) -> None:
    path = mill(tmp_path / "plant.book", until=datetime(2026, 11, 1, tzinfo=UTC))
    tag = "A<b>/../x\"'"
    with open_book(path, write=True) as book:
        row = {**SOUND, "tag": tag, "name": HOSTILE, "place": HOSTILE, "note": HOSTILE, "belt_make": HOSTILE}
        assert hand_in(book, rows_from([row]), by=HOSTILE, at=now()).entered == (tag,)
    with app_over(path, alone=True) as app:
        browser = Browser(app, "localhost", "http")
        browser.cookies.set("name", "%3Cscript%3E")
        there = drive_at(tag)
        assert re.fullmatch(r"/drives/[\w-]+", there)
        for address in (there, f"{there}/card", "/", f"/labels?tag={tag}", f"/?q={HOSTILE}", "/book",
                        f"/survey/look?tag={tag}&name={HOSTILE}&note={HOSTILE}", f"/survey/motor?name={HOSTILE}",
                        f"/?place={HOSTILE}"):
            page = browser.open(address)
            assert page.status_code in (200, 303), address
            assert not Inline(page.text).found, address
            assert "<script>alert" not in page.text
            assert "qqqqqqq" not in page.text
        assert browser.get(f"/d/{quote(tag, safe='')}").headers["location"] == there


def test_a_request_from_elsewhere_is_not_let_in(browser: Browser) -> None:
    browser.open("/book")
    data = {"form_token": browser.token, "units": "si"}
    assert browser.post("/choices", data=data, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert browser.post("/choices", data=data, headers={"Origin": "https://elsewhere.example"}).status_code == 403
    assert browser.get("/", headers={"Host": "elsewhere.example"}).status_code == 403
    assert browser.post("/choices", content=b"x", headers={"Content-Length": str(1 << 40)}).status_code == 413


def test_static_files_are_kept_for_good_under_their_mark_alone(browser: Browser) -> None:
    page = browser.open("/").text
    (style,) = re.findall(r'href="(/static/[\w.]+\.css\?\w+)"', page)
    assert "immutable" in browser.get(style).headers["cache-control"]
    assert "immutable" not in browser.get("/static/sheet.css").headers["cache-control"]
    assert browser.get("/static/../app.py").status_code == 404


def test_the_one_style_sheet_holds_each_of_its_parts_in_their_order(browser: Browser) -> None:
    sheet = browser.get("/static/sheet.css")
    assert sheet.headers["content-type"].startswith("text/css")
    at = [sheet.text.index(part.read_text(encoding="utf-8")) for part in sorted(PARTS.glob("*.css"))]
    assert len(at) > 5
    assert at == sorted(at)


def test_a_book_that_may_not_be_written_is_served_to_be_looked_at(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from beltwright.errors import BookReadOnly
    from beltwright.web import app as module

    def look_only(where: object, *, write: bool = False) -> object:
        if write:
            raise BookReadOnly("no")
        return open_book(path)

    monkeypatch.setattr(module, "open_book", look_only)
    browser = Browser(create_app(path, hosts=("localhost",)), "localhost", "http")
    assert "to look at only" in browser.open("/").text
    answer = browser.fill("/book/settings", plant="X", system="si", by="Ann")
    assert (answer.status_code, "for reading only" in answer.text) == (503, True)
