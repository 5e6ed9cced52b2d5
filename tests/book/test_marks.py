"""Whether anything was written, and by whomsoever: what a page kept in mind is checked against."""

from __future__ import annotations

from dataclasses import replace

from beltwright.book.opening import open_book
from beltwright.book.store import Store
from beltwright.plant.identity import new_id
from tests.book.invented import DAY, MONDAY, event, job, make_up, reading


def test_the_mark_stays_while_nobody_writes(book: Store) -> None:
    book.add_make_up(make_up("FAN-1"))
    mark = book.mark()
    book.drives()
    with book.looking():
        book.search("fan")
    assert book.mark() == mark


def test_the_mark_changes_with_every_fact_written_here(book: Store) -> None:
    fan = make_up("FAN-1")
    marks = [book.mark()]
    for write in (lambda: book.add_make_up(fan), lambda: book.note(reading(fan.drive_id)),
                  lambda: book.change_settings(replace(book.settings(), plant="Other"), by="Ann")):
        write()
        marks.append(book.mark())
    assert len(set(marks)) == len(marks)


def test_the_mark_changes_when_somebody_else_writes(book: Store, where: str) -> None:
    mark = book.mark()
    with open_book(where, write=True) as other:
        other.add_make_up(make_up("FAN-1"))
        assert book.mark() != mark


def test_what_is_fitted_now_is_the_newest_make_up_of_every_drive(book: Store) -> None:
    first, other = make_up("FAN-1"), make_up("FAN-2")
    later = make_up("FAN-1", drive_id=first.drive_id, since=MONDAY + DAY)
    book.add_make_ups([first, other, later])
    assert book.fitted_now() == {first.drive_id: later.id, other.drive_id: other.id}


def test_how_many_facts_touch_a_drive_counts_make_ups_readings_corrections_jobs_and_events(book: Store) -> None:
    fan, other = make_up("FAN-1"), make_up("FAN-2")
    book.add_make_ups([fan, other])
    assert book.noted_now() == {fan.drive_id: 1, other.drive_id: 1}
    first, work = reading(fan.drive_id), job(fan.drive_id)
    book.note_many([first, reading(fan.drive_id, supersedes=first.id, reason="misread")])
    assert book.noted_now()[fan.drive_id] == 4
    book.open_job(work)
    book.add_event(event(work.id, "opened"))
    before = replace(fan, id=new_id(), since=fan.since - DAY)   # put in later, of a time before: nothing else shows it
    book.add_make_up(before)
    assert book.noted_now() == {fan.drive_id: 7, other.drive_id: 1}
    assert book.facts_of("fan1") == (fan.drive_id, fan.id, 7)
    assert book.facts_of("FAN-2") == (other.drive_id, other.id, 1)
    assert book.facts_of("FAN-3") is None


def test_a_reading_noted_at_the_wrong_machine_and_put_right_there_is_seen_at_both(book: Store) -> None:
    wrong, right = make_up("FAN-1"), make_up("FAN-2")
    book.add_make_ups([wrong, right])
    first = reading(wrong.drive_id)
    book.note(first)
    before = book.noted_now()
    book.note(reading(right.drive_id, supersedes=first.id, reason="it was FAN-2"))
    after = book.noted_now()
    assert after[wrong.drive_id] != before[wrong.drive_id]
    assert after[right.drive_id] == 2
    assert [book.facts_of(tag) for tag in ("FAN-1", "FAN-2")] == [
        (made.drive_id, made.id, after[made.drive_id]) for made in (wrong, right)]
