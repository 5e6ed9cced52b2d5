"""Who changed what, the latest first, alike on every store: with what it was before and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from beltwright.book.changes import latest
from beltwright.book.register import BookRegister
from beltwright.book.store import Store
from beltwright.desk import jobs, people, record
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.identity import now
from tests.bench.drives import SOUND
from tests.desk.hashes import cheap_hashes

START = now() - timedelta(days=1)


def minutes(number: int) -> timedelta:
    return timedelta(minutes=number)


def test_every_change_is_there_with_what_it_was_before(book: Store) -> None:
    hand_in(book, rows_from([SOUND]), by="Pat", at=START + minutes(1))
    hand_in(book, rows_from([{"tag": "FAN-1", "centre_mm": "612", "note": "moved"}]), by="Pat", at=START + minutes(2))
    noted = record.note(book, "FAN-1", "force", {"belt": "1", "force": "20 N"}, state="as found", by="Nel",
                        at=START + minutes(3))
    record.correct(book, noted.id, {"force": "21 N"}, reason="misread", by="Kit", at=START + minutes(4))
    job = jobs.open_job(book, "FAN-1", "re-tension", by="Pat", at=START + minutes(5), reason="slack")
    jobs.abandon(book, job.id, by="Nel", at=START + minutes(6), reason="no belts")
    with cheap_hashes():
        people.add(BookRegister(book), "Zoe", "look", by="Kit", at=START + minutes(7))
    book.change_settings(replace(book.settings(), plant="Pellet mill two"), by="Kit")
    found = latest(book, most=100)
    assert [(change.by, change.what, change.about) for change in found[:1] + found[2:]] == [
        ("Kit", "changed the plant's choices", "Pellet mill two"),
        ("Kit", "added", "Zoe"),
        ("Nel", "abandoned a job", "FAN-1"),
        ("Pat", "opened a job", "FAN-1"),
        ("Kit", "corrected a force reading of Nel", "FAN-1"),
        ("Pat", "changed the drive", "FAN-1"),
        ("Pat", "entered the drive", "FAN-1")]
    assert (found[1].by, found[1].what) == ("Ann", "started the book")
    details = {change.what: change.detail for change in found}
    assert details["changed the plant's choices"] == "plant: Pellet mill -> Pellet mill two"
    assert details["corrected a force reading of Nel"] == "force: 20 N -> 21 N; misread"
    assert details["abandoned a job"] == "re-tension; no belts"
    assert "note: nothing -> moved" in details["changed the drive"]
    assert f"centre mm: {SOUND.get('centre_mm', 'nothing')} -> 612" in details["changed the drive"]
    assert not any("argon2" in change.detail for change in found)


def test_only_so_many_are_asked_for_and_a_reading_just_noted_is_no_change(book: Store) -> None:
    hand_in(book, rows_from([{**SOUND, "tag": f"FAN-{number}"} for number in range(1, 8)]), by="Pat", at=START)
    for number in range(1, 8):
        record.note(book, f"FAN-{number}", "force", {"belt": "1", "force": "20 N"}, state="as found", by="Nel",
                    at=START)
    assert len(latest(book, most=5)) == 5
    everything = latest(book, most=100)
    assert len(everything) == 8
    assert latest(book, most=5) == everything[:5]
    assert "Nel" not in {change.by for change in everything}
