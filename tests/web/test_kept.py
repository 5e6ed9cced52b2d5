"""Filled pages are kept, and never a moment too long: no stale verdict, nobody else's page."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from hypothesis import given
from hypothesis import strategies as st

from beltwright.book.opening import open_book
from beltwright.desk import due, record
from beltwright.desk.judge import Judged, choices, due_of_plant
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import loose, new_id, now
from beltwright.web import glances as judging_here
from beltwright.web.glance import Overview, glance
from beltwright.web.glances import Glances
from beltwright.web.judging import Apart
from beltwright.web.kept import FOR_EVER, Kept, Middle, middle, parted
from beltwright.web.lately import word
from beltwright.web.packed import joined, pack, unpacked
from beltwright.web.pages import calendar
from beltwright.web.pages import drive as drive_page
from tests.bench.drives import SOUND
from tests.web.browser import Browser, app_over, plant_book

TEMPLATES = Path(drive_page.__file__).parents[1] / "templates"
AT = "/drives/FAN-1"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return plant_book(tmp_path)


@pytest.fixture
def app(path: Path) -> Iterator[FastAPI]:
    with app_over(path, alone=True) as made:
        yield made


@pytest.fixture
def browser(app: FastAPI) -> Browser:
    return Browser(app, "localhost", "http")


@pytest.fixture
def filled(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The drives whose page was filled, in order."""
    made: list[str] = []
    really = drive_page.filled

    def counted(*given: Any) -> drive_page.DrivePage:
        page = really(*given)
        made.append(page.tag)
        return page

    monkeypatch.setattr(drive_page, "filled", counted)
    return made


def middle_of(page: str) -> str:
    return parted(page)[1]


# --- packed -----------------------------------------------------------------------------------------------------------

@given(st.lists(st.tuples(st.binary(max_size=3000), st.booleans()), max_size=6))
def test_pieces_packed_apart_are_one_packed_file(parts: list[tuple[bytes, bool]]) -> None:
    pieces = [pack(data, once=once) for data, once in parts]
    assert gzip.decompress(joined(pieces)) == b"".join(data for data, _ in parts)
    assert [unpacked(piece) for piece in pieces] == [data for data, _ in parts]


# --- kept -------------------------------------------------------------------------------------------------------------

def test_a_middle_is_right_while_it_is_made_of_the_same_and_its_time_has_not_come() -> None:
    kept, until = Kept(), datetime(2026, 3, 3, tzinfo=UTC)
    made = middle("<html><main id='main'>41 N</main></html>", "FAN-1")
    kept.put(("a",), "3 facts", until, made)
    assert kept.get(("a",), "3 facts", until - timedelta(microseconds=1)) == made
    assert kept.get(("b",), "3 facts", until - timedelta(days=1)) is None
    assert kept.get(("a",), "3 facts", until) is None
    kept.put(("a",), "3 facts", until, made)
    assert kept.get(("a",), "4 facts", until - timedelta(days=1)) is None
    kept.close()
    kept.put(("a",), "3 facts", until, made)
    assert kept.get(("a",), "3 facts", until - timedelta(days=1)) is None


@given(st.lists(st.tuples(st.integers(0, 4), st.binary(min_size=1, max_size=60)), max_size=30))
def test_a_full_file_is_begun_anew_and_never_gives_another_page(puts: list[tuple[int, bytes]]) -> None:
    kept, last = Kept(most=200), dict[int, bytes]()
    for name, data in puts:
        kept.put((name,), "", FOR_EVER, Middle("", (), pack(data)))
        last[name] = data
        for known, wanted in last.items():
            found = kept.get((known,), "", now())
            assert found is None or unpacked(found.piece) == wanted
        assert kept.get((name,), "", now()) is not None
    kept.close()


def test_what_is_kept_says_nothing_of_who_looks() -> None:
    for name in ("drive", "plant", "_found", "_parts", "_trend"):
        assert not re.search(r"frame\.(?!html)", (TEMPLATES / f"{name}.html").read_text(encoding="utf-8"))


# --- pages ------------------------------------------------------------------------------------------------------------

def test_a_page_of_an_unchanged_drive_is_filled_once(browser: Browser, filled: list[str]) -> None:
    first = browser.get(AT)
    assert middle_of(browser.get("/drives/fan 1").text) == middle_of(first.text)
    plain = browser.get(AT, headers={"Accept-Encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert middle_of(plain.text) == middle_of(first.text)
    assert filled == ["FAN-1"]


def test_a_reading_is_seen_in_the_next_answer_and_so_is_its_correction(browser: Browser, app: FastAPI,
                                                                        filled: list[str]) -> None:
    book = app.state.station.book
    browser.get(AT)
    noted = record.note(book, "FAN-1", "seen", {"what": "cracked"}, state="running", by="Jo", at=now())
    page = middle_of(browser.get(AT).text)
    assert "racked" in page
    record.correct(book, noted.id, {"what": "nothing wrong"}, reason="it was dirt", by="Jo", at=now())
    assert middle_of(browser.get(AT).text) != page
    assert len(filled) == 3


def test_what_another_program_writes_is_seen_in_the_next_answer(browser: Browser, path: Path) -> None:
    assert "Zeno" not in middle_of(browser.get(AT).text)
    with open_book(path, write=True) as other:
        record.note(other, "FAN-1", "seen", {"what": "cracked"}, state="running", by="Zeno", at=now())
    assert "Zeno" in middle_of(browser.get(AT).text)
    with open_book(path, write=True) as other:
        hand_in(other, rows_from([{"tag": "FAN-1", "name": "another fan"}]), by="Zeno", at=now())
    assert "another fan" in middle_of(browser.get(AT).text)


def test_other_units_are_another_page(browser: Browser, app: FastAPI) -> None:
    metric = middle_of(browser.get(AT).text)
    browser.cookies.set("units", "inch")
    inch = middle_of(browser.get(AT).text)
    assert "lbf" in inch
    assert "lbf" not in metric
    browser.cookies.clear()
    assert middle_of(browser.get(AT).text) == metric
    book = app.state.station.book
    book.change_settings(replace(book.settings(), system="inch"), by="Kit")
    assert middle_of(browser.get(AT).text) == re.sub(r"reckoned to [^<]*", lambda _: re.findall(
        r"reckoned to [^<]*", middle_of(browser.get(AT).text))[0], inch)


def test_a_choice_of_the_plant_is_seen_in_the_next_answer(browser: Browser, app: FastAPI, filled: list[str]) -> None:
    browser.get(AT)
    assert "Pellet mill" in browser.get("/").text
    book = app.state.station.book
    book.change_settings(replace(book.settings(), plant="Feed mill"), by="Kit")
    for address in (AT, "/"):
        page = browser.get(address).text
        assert "Feed mill" in page
        assert "Pellet mill" not in page
    assert filled == ["FAN-1", "FAN-1"]


def test_a_page_is_filled_anew_when_the_day_is_another(browser: Browser, filled: list[str],
                                                       monkeypatch: pytest.MonkeyPatch) -> None:
    browser.get(AT)
    for module in (drive_page, judging_here):
        monkeypatch.setattr(module, "now", lambda: now() + timedelta(days=1))
    assert f"{now() + timedelta(days=1):%Y-%m-%d}" in middle_of(browser.get(AT).text)
    assert filled == ["FAN-1", "FAN-1"]


def test_what_time_will_change_within_the_day_is_kept_for_minutes_alone(path: Path,
                                                                        monkeypatch: pytest.MonkeyPatch) -> None:
    """New belts are read again after 24 running hours, today about noon: their page must not outlive that."""
    noon = now().replace(hour=12, minute=0)
    with open_book(path, write=True) as book:
        hand_in(book, rows_from([{**SOUND, "tag": "NEW-1", "belts_fitted_on":
                                  f"{noon - timedelta(days=1):%Y-%m-%d}"}]), by="Jo", at=noon - timedelta(days=1))
        fitted = book.drive_by_tag("NEW-1")
        due = judging_here.record_at(book, fitted.drive_id)
        chosen = choices(book.settings())
        ends = []
        for hour in range(24):
            moment = noon.replace(hour=hour)
            monkeypatch.setattr(judging_here, "now", partial(lambda at: at, moment))
            (_, found, until), = judging_here.judged_with([due], chosen)
            ends.append((moment, [(one.key, one.urgency, one.statement.puts.get("words")) for one in found], until))
    assert len({tuple(keys) for _, keys, _ in ends}) > 1, "nothing came due"
    for (_, before, until), (later, after, _) in pairwise(ends):
        assert before == after or until <= later


# --- people -----------------------------------------------------------------------------------------------------------

def test_nobody_gets_what_stands_round_anothers_page(path: Path) -> None:
    with app_over(path) as app:
        lou, nel, nobody = Browser(app), Browser(app), Browser(app)
        lou.log_in("Lou")
        nel.log_in("Nel")
        for address in ("/", AT, "/?q=fan"):
            mine, hers = lou.open(address).text, nel.open(address).text
            if address != "/?q=fan":
                assert middle_of(mine) == middle_of(hers)
            assert ">Lou</a>" in mine
            assert "Nel" not in mine
            assert ">Nel</a>" in hers
            assert "Lou" not in hers
            assert lou.token
            assert lou.token != nel.token
            assert nobody.get(address).status_code == 303
            assert nobody.get("/found?q=fan").status_code == 303
        assert lou.fill("/choices", units="inch", back="/").status_code == 303
        assert nel.post("/choices", data={"form_token": lou.token, "units": "inch", "back": "/"}).status_code == 403
        assert "lbf" in lou.get(AT).text
        assert "lbf" not in nel.get(AT).text
        assert lou.fill("/log-out").status_code == 303
        assert lou.get(AT).status_code == 303


# --- the plant --------------------------------------------------------------------------------------------------------

def test_a_drive_that_was_written_to_is_never_shown_as_it_stood_before(path: Path) -> None:
    with open_book(path, write=True) as book:
        hand_in(book, rows_from([{**SOUND, "tag": "FAN-2"}]), by="Jo", at=now())
        glances = Glances(book)
        while glances.look().to_come:
            pass
        before = {one.tag: one.stands for one in glances.look().drives}
        wrong = record.note(book, "FAN-2", "seen", {"what": "cracked"}, state="running", by="Jo", at=now())
        for _ in range(200):
            stands = {one.tag: one.stands for one in glances.look().drives}
            assert stands["FAN-2"] != before["FAN-2"]
            assert stands["FAN-1"] == before["FAN-1"]
        book.note(replace(wrong, id=new_id(), drive_id=book.drive_by_tag("FAN-1").drive_id, supersedes=wrong.id,
                          reason="it was FAN-1"))
        assert glances.at_hand() is None or glances.look().drives[0].stands != before["FAN-1"]
        while glances.look().to_come:
            pass
        stands = {one.tag: one.stands for one in glances.look().drives}
        assert stands["FAN-2"] == before["FAN-2"]
        assert stands["FAN-1"] != before["FAN-1"]
        glances.close()


def test_a_plant_judged_in_a_process_of_its_own_is_judged_the_same_and_its_pages_are_kept(path: Path) -> None:
    with open_book(path, write=True) as book:
        hand_in(book, rows_from([{**SOUND, "tag": f"FAN-{at}"} for at in range(2, 80)]), by="Jo", at=now())
        record.note(book, "FAN-7", "seen", {"what": "cracked"}, state="running", by="Jo", at=now())
        here = Glances(book)
        while here.look().to_come:
            pass
        wanted = here.look().drives
        here.close()
        noted = book.noted_now()
        stale = [(drive_id, (make_up_id, noted[drive_id], "")) for drive_id, make_up_id in book.fitted_now().items()]
        kept = Kept()
        apart = Apart(str(path), kept)
        batches = [one for some in apart(stale) for one in some]
        assert apart._taking is not None
        apart._taking.join(60)
        settings = book.settings()
        assert [one.glance.stands for one in batches[:79]] == [None] * 79
        assert sorted((one.glance for one in batches[79:]), key=lambda one: one.order) == list(wanted)
        for one in wanted:
            assert kept.get(drive_page.key(one.tag, "si"), word(book, one.tag, settings), now()), one.tag
        apart.stop()
        kept.close()
    with app_over(path, alone=True) as app:
        live = Browser(app, "localhost", "http").get("/drives/FAN-7").text
        assert "racked" in middle_of(live)


def test_a_calendar_judges_again_only_the_drives_with_new_facts(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    judged: list[str] = []
    really = due_of_plant

    def counted(*given: Any, **named: Any) -> Iterator[Judged]:
        for each in really(*given, **named):
            judged.append(each.make_up.drive.tag)
            yield each

    monkeypatch.setattr(calendar, "due_of_plant", counted)
    kept, moment = calendar.Kept(), now()
    with open_book(path, write=True) as book:
        hand_in(book, rows_from([{**SOUND, "tag": f"FAN-{at}"} for at in range(2, 6)]), by="Jo", at=moment)
        assert kept.due(book, moment, "si") == due.due_of_plant(book, now=moment, system="si")
        assert sorted(judged) == [f"FAN-{at}" for at in range(1, 6)]
        for write in (
                lambda: record.note(book, "FAN-3", "force", {"belt": "1", "force": "42 N", "span": "500 mm"},
                                    state="as left", by="Jo", at=moment),
                lambda: hand_in(book, rows_from([{**SOUND, "tag": "FAN-9"}]), by="Jo", at=moment),
                lambda: book.change_settings(replace(book.settings(), plant="Other"), by="Kit")):
            judged.clear()
            write()
            assert kept.due(book, moment, "si") == due.due_of_plant(book, now=moment, system="si")
            assert judged in (["FAN-3"], ["FAN-9"]) or len(judged) == 6
        tomorrow = moment + timedelta(days=1)
        assert kept.due(book, tomorrow, "inch") == due.due_of_plant(book, now=tomorrow, system="inch")


@given(st.lists(st.tuples(st.text("AB1", min_size=1, max_size=3), st.text("D/ 0(é", max_size=6)), max_size=20),
       st.text("D/ 0(é", max_size=4), st.text("AB1 \0", max_size=4))
def test_a_place_and_a_word_are_found_as_by_looking_at_every_drive(drives: list[tuple[str, str]], place: str,
                                                                   words: str) -> None:
    lines = [glance(MakeUp(new_id(), new_id(), now(), Drive(tag, "fan", place=where), "Jo", now()))
             for tag, where in drives]
    overview = Overview(tuple(sorted(lines, key=lambda one: one.order)), {}, 0)
    assert overview.at(place) == tuple(one for one in overview.drives
                                       if one.place == place or one.place.startswith(f"{place} /"))
    whole = loose(words)
    wanted = {one.drive_id for one in lines if all(word in one.sought for word in words.casefold().split())
              or (whole and whole in one.sought)}
    assert {one.drive_id for one in overview.seek(words)} == wanted
