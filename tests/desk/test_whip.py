"""Whip over a book: at the tension as read last, not across a move of the motor; the plant as each drive alone."""

from __future__ import annotations

from datetime import timedelta

import pytest

from beltwright.bench.findings.targets import targets_for
from beltwright.bench.whip_chart import whip_of
from beltwright.book.store import Store
from beltwright.desk import record
from beltwright.desk.survey import hand_in, rows_from
from beltwright.desk.whip import ORDER, screen, whip_now
from beltwright.errors import NotKnown, Unknown
from tests.bench.drives import SOUND
from tests.desk.conftest import START

NOW = START + timedelta(days=1)


def note(book: Store, kind: str, minutes: float, state: str = "as found", **answers: str) -> None:
    record.note(book, "FAN-1", kind, answers, state=state, by="Ann", at=START + timedelta(minutes=minutes))


def test_the_tension_is_the_one_read_last(book: Store) -> None:
    unread = whip_now(book, "fan 1", now=NOW)
    assert unread.found is None
    assert unread.tension == pytest.approx(sum(unread.band) / 2)
    for minutes, hertz in ((0, "16 Hz"), (60, "18 Hz")):
        for belt in ("1", "2", "3"):
            note(book, "frequency", minutes, "as left" if minutes else "as found", belt=belt, frequency=hertz)
    read = whip_now(book, "FAN-1", now=NOW)
    assert read.found is not None
    assert read.found.when.startswith("as left, ")
    # by the textbook's string: T = 4 m t² f²
    assert read.targets.mass is not None
    assert read.targets.span is not None
    assert read.tension == pytest.approx(4 * read.targets.mass * (18 * read.targets.span) ** 2, rel=0.01)
    # a plucked span tells its note whatever belt and span are: surer than a tension that was only reckoned
    assert read.sides[0].spread < unread.sides[0].spread
    note(book, "motor move", 120, "in between", move="1 mm")
    assert whip_now(book, "FAN-1", now=NOW).found is None


def test_a_run_out_that_was_read_swings_the_tension(book: Store) -> None:
    assert not any(shaker.feeds for shaker in whip_now(book, "FAN-1", now=NOW).shakers)
    note(book, "run-out", 0, sheave="driven", radial="1.2 mm")
    fed = [shaker.words for shaker in whip_now(book, "FAN-1", now=NOW).shakers if shaker.feeds]
    assert fed == ["run-out of the driven sheave, swinging the tension"]


def test_the_plant_is_each_drive_by_itself_in_order(book: Store) -> None:
    hand_in(book, rows_from([
        *({**SOUND, "tag": f"FAN-{number}", "centre_in": str(30 + number), "motor_power_hp": "9"}
          for number in range(2, 30)),
        {"tag": "MIX-1", "name": "mixer"}, {**SOUND, "tag": "FAN-40", "service_factor": "0.8", "motor_power_hp": "10",
                                            "needed_power_hp": "30", "service": ""}]), by="Ann", at=START)
    found = screen(book)
    assert len(found) == 31
    places = [ORDER.index(each.stands) for each in found]
    assert places == sorted(places)
    assert {each.stands for each in found} >= {"clear", "another tension", "not known"}
    for each in found:
        if each.stands == "not known":
            assert each.why
            continue
        alone = whip_of(targets_for(each.drive))
        assert alone.nearest.margin == pytest.approx(each.margin)
        assert alone.nearest.name == each.side
        assert (alone.answer == "near") == (each.stands != "clear") or each.stands == "no tension"
        assert (alone.passable is None) or each.low < each.high


def test_what_stands_in_the_way_is_said(book: Store) -> None:
    hand_in(book, rows_from([{"tag": "MIX-1", "name": "mixer"}]), by="Ann", at=START)
    with pytest.raises(NotKnown, match="the spans of MIX-1 have no note yet"):
        whip_now(book, "MIX-1", now=NOW)
    with pytest.raises(Unknown):
        whip_now(book, "FAN-99", now=NOW)
