"""The page of whip: what it says first, its chart and the table of the same numbers, in both systems and unknown."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from html import unescape
from pathlib import Path

import pytest

from beltwright.bench.whip_figures import whip_figures
from beltwright.book.opening import open_book
from beltwright.desk.survey import hand_in, rows_from
from beltwright.desk.whip import whip_now
from beltwright.plant.identity import now
from beltwright.units import System, show, show_band
from tests.bench.drives import SOUND
from tests.web.browser import Browser, app_over
from tests.web.mill import mill
from tests.web.test_pages import Inline, words_of

AT = datetime(2026, 1, 5, tzinfo=UTC)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = mill(tmp_path_factory.mktemp("whip") / "plant.book", until=now())
    pump = {**SOUND, "tag": "PMP-9", "driven_pulses": "2", "pulsation_percent": "40", "motor_lowest_speed_rpm": "700",
            "motor_highest_speed_rpm": "1750"}
    with open_book(path, write=True) as book:
        assert not hand_in(book, rows_from([pump]), by="Ann", at=AT).understood.problems
    return path


@pytest.fixture(scope="module")
def browser(path: Path) -> Iterator[Browser]:
    with app_over(path, alone=True) as app:
        yield Browser(app, "localhost", "http")


@pytest.mark.parametrize("tag", ["FAN-12", "FAN-13", "PMP-01", "PMP-9", "MIX-01"])
def test_the_page_is_whole_and_carries_nothing_inline(browser: Browser, tag: str) -> None:
    answer = browser.open(f"/drives/{tag}/whip")
    assert answer.status_code == 200
    assert not Inline(answer.text).found
    assert answer.text.count("<h1") == 1
    ids = re.findall(r'\bid="([^"]+)"', answer.text)
    assert len(ids) == len(set(ids))
    assert "nan" not in words_of(answer.text).lower().split()


@pytest.mark.parametrize("system", ["si", "inch"])
@pytest.mark.parametrize("tag", ["FAN-12", "PMP-01", "PMP-9"])
def test_every_figure_is_there_with_its_working(browser: Browser, path: Path, tag: str, system: System) -> None:
    browser.cookies.set("units", system)
    page = browser.open(f"/drives/{tag}/whip").text
    browser.cookies.delete("units")
    with open_book(path) as book:
        made = whip_now(book, tag, now=now())
    shown = words_of(page).replace("\u00a0", " ")
    for figure in whip_figures(made):
        if figure.key != "whip_tension":   # said at the head of the page
            assert figure.text(system) in shown, figure.key
            assert f'id="{figure.key}"' in page
            assert " ".join(figure.working.formula.split()) in shown
    assert show(made.tension, "force", system) in shown
    for shaker in made.shakers:
        assert shaker.words[1:] in shown
    if made.window is not None:
        assert show_band(*made.window, "force", system) in shown


def test_a_drive_without_clear_tension_is_told_so_first_and_then_what_helps(browser: Browser, path: Path) -> None:
    page = words_of(browser.open("/drives/FAN-13/whip").text)
    with open_book(path) as book:
        made = whip_now(book, "FAN-13", now=now())
    assert made.window is None
    order = ["No clear tension", "Both spans, running", "If it whips, what helps", "Over the tension",
             "What shakes the spans"]
    places = [page.index(words) for words in order]
    assert places == sorted(places)
    for one in made.helps:
        assert one.said.text("si")[1:] in page


def test_a_variable_speed_shows_where_spans_are_met(browser: Browser, path: Path) -> None:
    page = words_of(browser.open("/drives/PMP-9/whip").text).replace("\u00a0", " ")
    with open_book(path) as book:
        made = whip_now(book, "PMP-9", now=now())
    assert made.speeds is not None
    for crossing in made.speeds.crossings:
        assert show(crossing.speed, "rotation", "si") in page
    assert "Motor of variable speed" in page
    assert "swinging the tension" in page


def test_the_chart_lies_to_scale_with_its_table(browser: Browser, path: Path) -> None:
    """The dots of the chart stand where the axes' own figures put the notes that the page says."""
    page = unescape(browser.open("/drives/FAN-12/whip").text)
    chart = page[page.index("<svg xmlns"):]
    chart = chart[:chart.index("</svg>")]
    with open_book(path) as book:
        made = whip_now(book, "FAN-12", now=now())
    ticks = [(float(text), float(x), float(y)) for x, y, text in re.findall(
        r'<text class="tick" x="([\d.]+)" y="([\d.]+)"[^>]*>([\d.]+)</text>', chart)]
    along = [(value, x) for value, x, y in ticks if y == max(y for _, _, y in ticks)]
    up = [(value, y) for value, x, y in ticks if x == min(x for _, x, _ in ticks)]

    def place(axis: list[tuple[float, float]], value: float) -> float:
        (a, at_a), (b, at_b) = axis[0], axis[-1]
        return at_a + (value - a) * (at_b - at_a) / (b - a)
    for side in made.sides:
        found = re.search(rf'<circle class="{side.name}" cx="([\d.]+)" cy="([\d.]+)"', chart)
        assert found is not None
        assert float(found[1]) == pytest.approx(place(along, made.tension), abs=0.01)
        # words stand with their foot a third of their size below their line
        assert float(found[2]) == pytest.approx(place(up, side.note) - 0.35 * 3.4, abs=0.01)


def test_what_is_not_known_is_said_and_where_to_put_it(browser: Browser) -> None:
    page = browser.open("/drives/MIX-01/whip").text
    assert "Read first" in page
    assert "needed first" in words_of(page)
    assert "/survey?drive=MIX-01" in page


def test_the_drive_leads_there(browser: Browser) -> None:
    assert 'href="/drives/FAN-12/whip"' in browser.open("/drives/FAN-12").text
