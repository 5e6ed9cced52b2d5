"""Asking why a drive fails, over a book: questions answered, causes settled, belts that failed, the plant's cases."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from beltwright.book.store import Store
from beltwright.desk import causes
from beltwright.desk.prices import PRICE_OF_A_BELT, PRICE_OF_WORK, with_price
from beltwright.desk.survey import hand_in, rows_from
from beltwright.errors import InputError, SheetError, UnitError, Unknown
from beltwright.plant.identity import new_id
from beltwright.units import HOUR
from tests.bench.drives import SOUND
from tests.desk.conftest import START

NOW = START + timedelta(days=30)


def answer(book: Store, sign: str, said: str, *, hours: float = 1.0) -> None:
    causes.answer(book, "fan 1", sign, said, by="Ben", at=START + timedelta(hours=hours))


def test_question_by_question_to_a_cure_and_its_proof(book: Store) -> None:
    fresh = causes.inquiry(book, "fan 1", now=NOW)
    assert fresh.causes[0].cause.name == "tension too low"
    assert fresh.check is not None
    answer(book, "tension read low", "absent")
    answer(book, "out of line as read", "present")
    answer(book, "flanks worn on one side", "present")
    answer(book, "belts pull unevenly", "absent")
    stands = causes.inquiry(book, "fan 1", now=NOW)
    assert stands.causes[0].cause.name == "sheaves offset"
    assert len(stands.questions) < len(fresh.questions)
    causes.decide(book, "fan 1", "sheaves offset", "confirmed", by="Ben", at=START + timedelta(hours=2))
    assert [due.cause for due in causes.inquiry(book, "fan 1", now=NOW).proofs_due] == ["sheaves offset"]
    causes.decide(book, "fan 1", "sheaves offset", "cured", proof="on four points, twice", by="Ben",
                  at=START + timedelta(hours=3))
    over = causes.inquiry(book, "fan 1", now=NOW)
    assert not over.proofs_due
    assert not over.decided
    rate = next(each.rate for each in over.causes if each.cause.name == "sheaves offset")
    assert rate.drive_seen == (1, 1)
    assert rate.drive > rate.plant == rate.trade


def test_an_answer_noted_twice_is_one(book: Store) -> None:
    once = new_id()
    for _ in range(2):
        causes.answer(book, "FAN-1", "slaps", "present", by="Ben", at=START, reading_id=once)
    assert len(book.readings(book.drive_by_tag("FAN-1").drive_id)) == 1


def test_a_corrected_answer_counts_no_more(book: Store) -> None:
    from beltwright.desk.record import correct

    noted = causes.answer(book, "FAN-1", "slaps", "present", by="Ben", at=START)
    correct(book, noted.id, {"answer": "absent"}, reason="wrong machine", by="Ben", at=START)
    slaps, = (each for each in causes.inquiry(book, "FAN-1", now=NOW).evidence if each.sign == "slaps")
    assert not slaps.there


def test_belts_that_failed_with_hours_as_typed(book: Store) -> None:
    causes.failed(book, "FAN-1", {"count": "2", "hours": "500 h", "look": "turned over", "cause": "grooves worn"},
                  by="Ben", at=START)
    stands = causes.inquiry(book, "FAN-1", now=NOW)
    failure, = stands.failures
    assert failure.values["hours"] == 500 * HOUR
    assert {"turned over", "failed within weeks"} <= {each.sign for each in stands.evidence}


def test_the_plant_s_own_cases_move_its_other_drives_and_count_none_twice(book: Store) -> None:
    hand_in(book, rows_from([{**SOUND, "tag": "FAN-2"}]), by="Ann", at=START)
    for day in range(3):
        causes.failed(book, "FAN-2", {"count": "1", "cause": "dust or dirt"}, by="Ben", at=START + timedelta(days=day))

    def dusty(tag: str) -> tuple[tuple[int, int], tuple[int, int]]:
        rate = next(each.rate for each in causes.inquiry(book, tag, now=NOW).causes
                    if each.cause.name == "dust or dirt")
        return rate.plant_seen, rate.drive_seen
    assert dusty("FAN-1") == ((2, 2), (0, 0))   # the last one is still open
    assert dusty("FAN-2") == ((0, 0), (2, 2))


def test_prices_of_the_plant_put_money_to_a_cure(book: Store) -> None:
    settings = with_price(replace(book.settings(), currency="EUR"), PRICE_OF_WORK, " 60 ")
    book.change_settings(settings, by="Ann")
    first = causes.inquiry(book, "FAN-1", now=NOW).causes[0]
    assert first.worth.costs[0].text("si").endswith("45 EUR")
    book.change_settings(with_price(book.settings(), PRICE_OF_WORK, ""), by="Ann")
    assert causes.inquiry(book, "FAN-1", now=NOW).causes[0].worth.costs[0].text("si").endswith("lock-out with it")
    for nonsense in ("much", "-3", "0", "5 kW"):
        with pytest.raises(UnitError, match="no price"):
            with_price(settings, PRICE_OF_A_BELT, nonsense)


@pytest.mark.parametrize(("cause", "verdict", "proof", "says"), [
    ("", "confirmed", "", "say which cause is confirmed"),
    ("sheaves offset", "cured", " ", "what proves the cure"),
    ("sheaves ofset", "confirmed", "", "sheaves offset"),
    ("sheaves offset", "perhaps", "", "ruled out"),
])
def test_what_cannot_be_settled_is_refused(book: Store, cause: str, verdict: str, proof: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        causes.decide(book, "FAN-1", cause, verdict, proof=proof, by="Ben", at=START)
    told = str(refused.value) + "".join(str(cell) for cell in getattr(refused.value, "cells", ()))
    assert says in told
    assert not book.readings(book.drive_by_tag("FAN-1").drive_id)


def test_an_unknown_sign_answer_or_drive_is_refused(book: Store) -> None:
    with pytest.raises(SheetError):
        causes.answer(book, "FAN-1", "whistles", "present", by="Ben", at=START)
    with pytest.raises(SheetError):
        causes.answer(book, "FAN-1", "slaps", "perhaps", by="Ben", at=START)
    with pytest.raises(Unknown):
        causes.inquiry(book, "FAN-99", now=NOW)


def test_an_inquiry_can_be_closed_with_nothing_found(book: Store) -> None:
    answer(book, "slaps", "present")
    causes.decide(book, "FAN-1", "", "closed", by="Ben", at=START + timedelta(hours=2))
    assert "slaps" not in {each.sign for each in causes.inquiry(book, "FAN-1", now=NOW).evidence}
