"""What every store's register does alike: people, sessions, tokens, audit, tries, on SQLite and on PostgreSQL."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from beltwright.book.opening import open_book
from beltwright.book.register import BookRegister
from beltwright.book.store import Store
from beltwright.book.transfer import export
from beltwright.desk.register import Register
from beltwright.errors import BookReadOnly, InputError, Refused, Unknown
from beltwright.plant.identity import new_id
from beltwright.plant.person import Change, Person, Session, Token
from tests.book.invented import DAY, MONDAY

HOUR = timedelta(hours=1)
# a day in summer noted on a clock of another zone comes back the same moment, in UTC
SECRET = "ab" * 32


def person(name: str = "Ann") -> Person:
    return Person(new_id(), name, "note", "$argon2id$...", True, MONDAY, "Bo")


@pytest.fixture
def register(book: Store) -> Register:
    """And mypy holds that the book's register has the face which the desk asks for."""
    return BookRegister(book)


def test_a_person_is_entered_changed_and_found_by_name(register: Register) -> None:
    ann, zoe = person("Ann  Müller"), person("zoë")
    register.put_person(zoe)
    register.put_person(ann)
    assert register.people() == [ann, zoe]
    assert register.person(ann.id) == register.named("ann MÜLLER") == ann
    assert register.named("Ann") is None
    left = replace(ann, role="plan", retired_at=MONDAY + DAY, first=False, password="")
    register.put_person(left)
    assert register.person(ann.id) == left
    with pytest.raises(Unknown, match="no such person"):
        register.person(new_id())


def test_two_people_cannot_have_one_name(register: Register) -> None:
    register.put_person(person("Ann"))
    with pytest.raises(Refused, match="there is a ANN already"):
        register.put_person(person("ANN"))
    bo = person("Bo")
    register.put_person(bo)
    with pytest.raises(Refused, match="there is a ann already"):
        register.put_person(replace(bo, name="ann"))
    assert [each.name for each in register.people()] == ["Ann", "Bo"]


def test_a_name_no_store_can_keep_is_refused_and_never_found(register: Register) -> None:
    for name in ("Ann\x00", "Ann\ud800"):
        with pytest.raises(InputError):
            register.put_person(person(name))
        assert register.named(name) is None
        register.note_try(f"name {name}", MONDAY)
        assert register.tries(f"name {name}", MONDAY) == 1


def test_sessions_begin_are_seen_and_end(register: Register) -> None:
    ann, bo = person("Ann"), person("Bo")
    register.put_person(ann)
    register.put_person(bo)
    first = Session("11" * 32, ann.id, MONDAY, MONDAY, "phone")
    second = Session("22" * 32, ann.id, MONDAY + HOUR, MONDAY + HOUR, "tablet")
    other = Session("33" * 32, bo.id, MONDAY, MONDAY + DAY, "")
    for session in (first, second, other):
        register.put_session(session)
    assert register.session(first.secret) == first
    assert register.session("44" * 32) is None
    seen = replace(first, seen_at=MONDAY + 2 * HOUR)
    register.put_session(seen)
    assert register.sessions(ann.id) == [seen, second]
    assert register.end_sessions() == 0, "nothing said to end: nothing ends"
    assert register.end_sessions(person_id=ann.id, but=first.secret) == 1
    assert register.sessions(ann.id) == [seen]
    assert register.end_sessions(seen_before=MONDAY + DAY) == 1
    assert register.end_sessions(begun_before=MONDAY) == 0
    assert register.sessions(bo.id) == [other]


def test_tokens_are_made_used_and_ended(register: Register) -> None:
    ann = person()
    register.put_person(ann)
    token = Token(new_id(), SECRET, ann.id, "api", "note", "scale in the store", MONDAY, "Ann")
    later = Token(new_id(), "cd" * 32, ann.id, "calendar", "look", "calendar", MONDAY, "Ann")
    register.put_token(token)
    register.put_token(later)
    used = replace(token, used_at=MONDAY + DAY, ended_at=MONDAY + 2 * DAY)
    register.put_token(used)
    assert register.token(SECRET) == used
    assert register.tokens() == register.tokens(ann.id) == [used, later]
    assert register.tokens(new_id()) == []
    assert register.token("ef" * 32) is None


def test_the_audit_is_kept_latest_first(register: Register) -> None:
    lines = [Change(new_id(), MONDAY + hours * HOUR, "Bo", "added", name, "note") for hours, name in
             ((3, "Ann"), (1, "Cy"), (2, "Ann"))]
    for line in lines:
        register.note_change(line)
    assert register.changes(most=2) == [lines[2], lines[1]], "in order of writing, whatever the clocks said"
    assert register.changes(most=9, about="Ann") == [lines[2], lines[0]]


def test_tries_are_counted_from_a_time_on(register: Register) -> None:
    for hours in range(4):
        register.note_try("name ann", MONDAY + hours * HOUR)
    register.note_try("name bo", MONDAY)
    assert register.tries("name ann", MONDAY + 2 * HOUR) == 2
    register.forget_tries(before=MONDAY + HOUR)
    assert register.tries("name ann", MONDAY) == 3
    assert register.tries("name bo", MONDAY) == 0
    register.forget_tries(key="name ann")
    assert register.tries("name ann", MONDAY) == 0


def test_a_step_that_fails_keeps_neither_the_change_nor_its_line(register: Register) -> None:
    def half_done() -> None:
        with register.writing():
            register.put_person(person())
            register.note_change(Change(new_id(), MONDAY, "Bo", "added", "Ann"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        half_done()
    assert register.people() == []
    assert register.changes(most=9) == []


def test_a_book_open_for_reading_takes_no_people(book: Store) -> None:
    with open_book(book.where) as reader, pytest.raises(BookReadOnly):
        BookRegister(reader).put_person(person())


def test_an_export_carries_nothing_that_lets_anybody_in(book: Store) -> None:
    from io import StringIO

    register = BookRegister(book)
    ann = person()
    register.put_person(ann)
    register.put_session(Session(SECRET, ann.id, MONDAY, MONDAY, "phone"))
    out = StringIO()
    export(book, out)
    assert "argon2" not in out.getvalue()
    assert SECRET not in out.getvalue()
