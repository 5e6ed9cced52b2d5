"""Whatever is handed to a book comes back as it was: any record, and any course of events against a plain model."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from beltwright.book.opening import create_book
from beltwright.book.store import Store
from beltwright.errors import Refused
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.job import Event, Job
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings
from tests.book.invented import DAY, MONDAY, event, in_utc, job, make_up, reading, records

ONE_BOOK = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])


@ONE_BOOK
@given(made=records(MakeUp, drive=records(Drive)))
def test_any_make_up(book: Store, made: MakeUp) -> None:
    made = replace(made, drive=replace(made.drive, tag=f"{made.drive.tag} {made.id}"))
    assert [book.add_make_up(made), book.add_make_up(made)] == [True, False]
    kept = in_utc(made)
    assert book.drive_by_tag(made.drive.tag) == book.drive(made.drive_id) == book.make_ups(made.drive_id)[0] == kept
    assert book.make_up_at(made.drive_id, made.since) == kept


@ONE_BOOK
@given(made=records(Reading, job_id=st.none(), supersedes=st.none()))
def test_any_reading(book: Store, made: Reading) -> None:
    book.add_make_up(make_up(str(made.drive_id), drive_id=made.drive_id))
    assert [book.note(made), book.note(made)] == [True, False]
    kept = in_utc(made)
    assert book.reading(made.id) == kept
    assert book.readings(made.drive_id) == [kept]


@ONE_BOOK
@given(opened=records(Job), happened=records(Event))
def test_any_job_and_event(book: Store, opened: Job, happened: Event) -> None:
    book.add_make_up(make_up(str(opened.drive_id), drive_id=opened.drive_id))
    happened = replace(happened, job_id=opened.id)
    assert [book.open_job(opened), book.open_job(opened)] == [True, False]
    assert [book.add_event(happened), book.add_event(happened)] == [True, False]
    assert book.job(opened.id) == in_utc(opened)
    assert book.events(opened.id) == [in_utc(happened)]


@ONE_BOOK
@given(chosen=records(Settings))
def test_any_choice(book: Store, chosen: Settings) -> None:
    book.change_settings(chosen, by="Bo")
    assert book.settings() == chosen


class Course(RuleBasedStateMachine):
    """Drives entered and renamed, readings noted and corrected, in any order; what the book says is what was done."""

    drives: Bundle[Any] = Bundle("drives")
    noted: Bundle[Any] = Bundle("noted")

    def __init__(self, book: Store) -> None:
        super().__init__()
        self.book = book
        self.versions: dict[UUID, list[MakeUp]] = {}
        self.facts: dict[UUID, Reading] = {}

    @rule(target=drives, number=st.integers(0, 5))
    def enter(self, number: int) -> UUID:
        made = make_up(f"FAN-{number}")
        self._add(made)
        return made.drive_id

    @rule(drive=drives, number=st.integers(0, 5), day=st.integers(-3, 3))
    def change(self, drive: UUID, number: int, day: int) -> None:
        self._add(make_up(f"FAN {number}", drive_id=drive, since=MONDAY + day * DAY, name=f"on day {day}"))

    def _add(self, made: MakeUp) -> None:
        now = {drive: versions[-1] for drive, versions in self.versions.items()}
        versions = sorted([*self.versions.get(made.drive_id, []), made], key=lambda one: one.since)
        taken = {one.drive.tag[-1] for drive, one in now.items() if drive != made.drive_id}
        if versions[-1] is made and made.drive.tag[-1] in taken:
            with pytest.raises(Refused, match="tag of another drive"):
                self.book.add_make_up(made)
        else:
            assert self.book.add_make_up(made)
            self.versions[made.drive_id] = versions

    @rule(target=noted, drive=drives, hours=st.integers(0, 9))
    def note(self, drive: UUID, hours: int) -> Reading | None:
        if drive not in self.versions:
            return None
        made = reading(drive, at=MONDAY + timedelta(hours=hours))
        assert self.book.note(made)
        self.facts[made.id] = made
        return made

    @rule(target=noted, some=st.lists(noted, max_size=3), drive=drives)
    def correct(self, some: list[Reading | None], drive: UUID) -> Reading | None:
        last = None
        for wrong in filter(None, some):
            better = reading(drive if drive in self.versions else wrong.drive_id, 50.0, supersedes=wrong.id)
            if any(fact.supersedes == wrong.id for fact in self.facts.values()):
                with pytest.raises(Refused, match="correct the correction"):
                    self.book.note(better)
            else:
                assert self.book.note_many([better, *filter(None, some)]) == 1
                self.facts[better.id] = last = better
        return last

    @invariant()
    def the_book_says_what_was_done(self) -> None:
        assert {now.drive_id: now for now in self.book.drives()} == {
            drive: versions[-1] for drive, versions in self.versions.items()}
        assert dict(self.book.make_ups_of_plant()) == self.versions
        replaced = {fact.supersedes for fact in self.facts.values()}
        for hidden in (True, False):
            found = [one for _, some in self.book.readings_of_plant(superseded=not hidden) for one in some]
            assert found == sorted((fact for fact in self.facts.values() if not (hidden and fact.id in replaced)),
                                   key=lambda fact: (fact.drive_id, fact.taken_at, fact.id))


def test_any_course_of_events(new_place: Callable[[], str]) -> None:
    class InANewBook(Course):
        def __init__(self) -> None:
            super().__init__(create_book(new_place(), Settings("Mill"), by="Ann"))

        def teardown(self) -> None:
            self.book.check()
            self.book.close()

    run_state_machine_as_test(InANewBook, settings=settings(
        max_examples=25, stateful_step_count=15, suppress_health_check=list(HealthCheck)))


def test_ids_of_two_jobs_are_told_apart(book: Store) -> None:
    fan = make_up("FAN-1")
    book.add_make_up(fan)
    one, other = job(fan.drive_id), job(fan.drive_id)
    for opened in (one, other):
        book.open_job(opened)
    book.add_event(event(one.id, "done", "lock"))
    assert (len(book.events(one.id)), book.events(other.id)) == (1, [])
    assert new_id() > one.id
