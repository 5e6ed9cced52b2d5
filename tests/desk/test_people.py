"""Who may use the book: added, changed, retired; logging in and out; tokens. On a real book, by a clock of our own."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from argon2 import PasswordHasher

from beltwright.book.register import BookRegister
from beltwright.book.store import Store
from beltwright.desk import passwords, people
from beltwright.desk.register import Register
from beltwright.errors import InputError, Refused, Unknown
from beltwright.plant.identity import new_id
from beltwright.plant.person import ROLES, Person
from tests.desk.conftest import START
from tests.desk.hashes import cheap_hashes

GOOD = "four belts in a row"
MINUTE = timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _quick_hashes() -> Iterator[None]:
    with cheap_hashes():
        yield


@pytest.fixture
def register(book: Store) -> Register:
    return BookRegister(book)


@pytest.fixture
def keeper(register: Register) -> Person:
    return people.add(register, "Kit", "keep the book", by="the computer", at=START, password=GOOD)[0]


def enter(register: Register, name: str = "Ann", password: str = GOOD, *, at: datetime = START,
          address: str = "10.0.0.7") -> str:
    return people.log_in(register, name, password, address=address, device="phone", at=at)[1]


def refused(register: Register, name: str, password: str, at: datetime = START, address: str = "10.0.0.7") -> str:
    with pytest.raises((InputError, Refused)) as caught:
        people.log_in(register, name, password, address=address, device="phone", at=at)
    return str(caught.value)


# --- people ----------------------------------------------------------------------------------------------------------

def test_a_person_added_has_a_first_password_that_lets_them_in(register: Register, keeper: Person) -> None:
    ann, given = people.add(register, " ann   Bo ", "note", by=keeper.name, at=START)
    assert (ann.name, ann.role, ann.first) == ("ann Bo", "note", True)
    secret = enter(register, "ANN BO", given)
    caller = people.caller_by_session(register, secret, at=START)
    assert caller is not None
    assert caller.person.first, "the page asks for another password first"
    assert given not in repr(register.people()), "only its hash is kept"


@pytest.mark.parametrize("name", ["", "  ", "--", "a" * 61, "Ann\u202eBo", "Ann\x00", "Ann\nSet-Cookie: x", "\ud800"])
def test_a_name_that_cannot_be_read_is_refused(register: Register, name: str) -> None:
    if "\n" in name:   # white space of any kind is one space
        assert people.clean_name(name) == "Ann Set-Cookie: x"
        return
    with pytest.raises(InputError):
        people.add(register, name, "note", by="Kit", at=START)


@pytest.mark.parametrize("password", ["short", "password12", "aaaaaaaaaaaa", "Beltwright!", "1234567890123", "x" * 201,
                                      "ann.......", "ＡＡＡＡＡＡＡＡＡＡＡ"])
def test_a_password_that_is_tried_first_is_refused(register: Register, password: str) -> None:
    with pytest.raises(InputError, match="password"):
        people.add(register, "Ann", "note", by="Kit", at=START, password=password)


def test_the_same_letters_from_another_keyboard_are_the_same_password() -> None:
    assert passwords.matches("Ko\u0308nig im Ha\u0308user", passwords.hash_password("König im Häuser"))


def test_two_people_of_one_name_are_told_apart_or_refused(register: Register, keeper: Person) -> None:
    with pytest.raises(Refused, match="a Kit already"):
        people.add(register, "KIT", "look", by="Kit", at=START)


def test_the_last_keeper_cannot_leave_nor_step_down(register: Register, keeper: Person) -> None:
    with pytest.raises(Refused, match="only one who keeps the book"):
        people.retire(register, keeper.id, by="Kit", at=START)
    with pytest.raises(Refused, match="only one who keeps the book"):
        people.change_role(register, keeper.id, "plan", by="Kit", at=START)
    ann, _ = people.add(register, "Ann", "keep", by="Kit", at=START)
    assert people.change_role(register, keeper.id, "look", by="Ann", at=START).role == "look"
    with pytest.raises(Refused, match="only one"):
        people.retire(register, ann.id, by="Kit", at=START)


def test_who_has_left_has_no_way_in_until_they_are_back(register: Register, keeper: Person) -> None:
    ann, _ = people.add(register, "Ann", "note", by="Kit", at=START, password=GOOD)
    secret = enter(register)
    _, api = people.make_token(register, ann.id, "scale", by="Ann", at=START)
    people.retire(register, ann.id, by="Kit", at=START)
    assert people.caller_by_session(register, secret, at=START) is None
    assert people.caller_by_token(register, api, purpose="api", at=START) is None
    assert "do not go together" in refused(register, "Ann", GOOD)
    with pytest.raises(Refused, match="has left"):
        people.change_role(register, ann.id, "plan", by="Kit", at=START)
    back, given = people.bring_back(register, ann.id, by="Kit", at=START)
    assert back.role == "note"
    assert enter(register, "Ann", given)
    assert people.caller_by_token(register, api, purpose="api", at=START) is None, "what was ended stays so"


def test_every_change_stands_in_the_audit(register: Register, keeper: Person) -> None:
    ann, _ = people.add(register, "Ann", "note", by="Kit", at=START)
    people.change_role(register, ann.id, "plan", by="Kit", at=START)
    people.change_role(register, ann.id, "plan", by="Kit", at=START)   # no change, no line
    people.reset_password(register, ann.id, by="Kit", at=START)
    token, _ = people.make_token(register, ann.id, "scale", by="Ann", at=START)
    people.end_token(register, token.id, by="Kit", at=START)
    people.retire(register, ann.id, by="Kit", at=START)
    lines = [(line.by, line.what, line.detail) for line in register.changes(most=20, about="Ann")][::-1]
    assert lines == [("Kit", "added", "note"), ("Kit", "changed the role", "note -> plan"),
                     ("Kit", "gave a first password", ""), ("Ann", "made a token (api)", "scale: plan"),
                     ("Kit", "ended a token", "scale"), ("Kit", "retired", "")]


def test_nobody_is_found_by_a_name_there_is_not(register: Register, keeper: Person) -> None:
    with pytest.raises(Unknown, match="nobody called 'Zoe': Kit"):
        people.find(register, "Zoe")


# --- logging in ------------------------------------------------------------------------------------------------------

def test_a_wrong_name_and_a_wrong_password_sound_alike(register: Register, keeper: Person) -> None:
    assert refused(register, "Kit", "wrong password") == refused(register, "Nobody", GOOD)


def test_a_session_ends_by_the_clock_and_by_logging_out(register: Register, keeper: Person) -> None:
    secret = enter(register, "Kit")
    assert people.caller_by_session(register, secret, at=START + people.IDLE) is not None
    assert people.caller_by_session(register, secret, at=START + 3 * people.IDLE) is None, "not used for too long"
    busy, at = enter(register, "Kit"), START
    while at - START < people.LONGEST_SESSION - people.IDLE:
        at += people.IDLE / 2
        assert people.caller_by_session(register, busy, at=at) is not None
    late = START + people.LONGEST_SESSION + MINUTE
    assert people.caller_by_session(register, busy, at=late) is None, "a week is the end, however busy"
    again = enter(register, "Kit", at=late)
    people.log_out(register, again)
    assert people.caller_by_session(register, again, at=late) is None
    people.log_out(register, again)
    assert len(register.sessions(keeper.id)) == 0, "sessions run out are swept up at the next log-in"


def test_a_new_password_ends_the_other_sessions(register: Register, keeper: Person) -> None:
    here, elsewhere = enter(register, "Kit"), enter(register, "Kit")
    with pytest.raises(InputError, match="old password"):
        people.change_own_password(register, keeper, "guessed", "another row of belts", at=START, keep=here)
    people.change_own_password(register, keeper, GOOD, "another row of belts", at=START, keep=here)
    assert people.caller_by_session(register, here, at=START) is not None
    assert people.caller_by_session(register, elsewhere, at=START) is None
    assert "do not go" in refused(register, "Kit", GOOD)
    assert enter(register, "Kit", "another row of belts")


def test_guessing_ends_after_a_few_tries_by_name_and_starts_anew_after_a_while(
        register: Register, keeper: Person) -> None:
    for number in range(people.TRIES_BY_NAME):
        assert "do not go" in refused(register, "kit", f"guess {number}", address=f"10.0.0.{number}")
    assert "too many tries" in refused(register, "Kit", GOOD, address="10.9.9.9"), "the right one, too"
    assert "too many tries" in refused(register, "KIT ", GOOD, START + people.WINDOW - MINUTE)
    assert enter(register, "Kit", at=START + people.WINDOW + MINUTE)


def test_guessing_ends_by_address_whatever_the_names(register: Register, keeper: Person,
                                                     monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(passwords, "matches", lambda *_: False)   # its time is not what is tested
    for number in range(people.TRIES_BY_ADDRESS):
        assert "do not go" in refused(register, f"name {number}", "guess")
    assert "too many tries" in refused(register, "Kit", GOOD)
    assert "do not go" in refused(register, "Kit", GOOD, address="10.0.0.8")


def test_many_guesses_at_once_are_no_more_than_were_allowed(register: Register, keeper: Person,
                                                            monkeypatch: pytest.MonkeyPatch) -> None:
    looked_at: list[str] = []

    def look(password: str, _hashed: str) -> bool:
        looked_at.append(password)
        return False

    monkeypatch.setattr(passwords, "matches", look)
    threads = [threading.Thread(target=refused, args=(register, "Kit", "guess")) for _ in range(24)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(looked_at) == people.TRIES_BY_NAME


def test_a_log_in_that_works_forgets_the_tries_before(register: Register, keeper: Person) -> None:
    for _ in range(3):
        for _ in range(people.TRIES_BY_NAME - 1):
            refused(register, "Kit", "guess")
        assert enter(register, "Kit")


def test_a_hash_made_with_weaker_settings_is_made_anew(register: Register, keeper: Person) -> None:
    weak = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1, hash_len=16).hash(GOOD)
    register.put_person(replace(keeper, password=weak))
    secret = enter(register, "Kit")
    assert register.person(keeper.id).password != weak
    assert people.caller_by_session(register, secret, at=START) is not None
    assert enter(register, "Kit")


# --- tokens ----------------------------------------------------------------------------------------------------------

def test_a_token_does_no_more_than_its_person(register: Register, keeper: Person) -> None:
    ann, _ = people.add(register, "Ann", "plan", by="Kit", at=START)
    with pytest.raises(Refused, match="Ann may plan"):
        people.make_token(register, ann.id, "all", "keep the book", by="Ann", at=START)
    token, secret = people.make_token(register, ann.id, "sheets", "plan", by="Ann", at=START)
    assert secret not in repr(register.tokens())

    def role() -> str:
        caller = people.caller_by_token(register, secret, purpose="api", at=START)
        assert caller is not None
        return caller.role

    assert role() == "plan"
    people.change_role(register, ann.id, "look", by="Kit", at=START)
    assert role() == "look"
    people.change_role(register, ann.id, "keep", by="Kit", at=START)
    assert role() == "plan"
    assert register.tokens(ann.id)[0].used_at == START
    people.end_token(register, token.id, by="Ann", at=START)
    assert people.end_token(register, token.id, by="Kit", at=START + MINUTE).ended_at == START
    assert people.caller_by_token(register, secret, purpose="api", at=START) is None


def test_a_calendar_s_secret_opens_nothing_else(register: Register, keeper: Person) -> None:
    token, secret = people.make_token(register, keeper.id, "my phone", by="Kit", at=START, purpose="calendar")
    assert token.role == "look"
    assert people.caller_by_token(register, secret, purpose="api", at=START) is None
    assert people.caller_by_token(register, secret, purpose="calendar", at=START) is not None
    assert people.caller_by_session(register, secret, at=START) is None


def test_nobody_ends_the_token_of_another(register: Register, keeper: Person) -> None:
    ann, _ = people.add(register, "Ann", "note", by="Kit", at=START)
    token, _ = people.make_token(register, keeper.id, "sheets", by="Kit", at=START)
    with pytest.raises(Unknown):
        people.end_token(register, token.id, by="Ann", at=START, of=ann.id)
    with pytest.raises(Unknown):
        people.end_token(register, new_id(), by="Kit", at=START)


def test_each_role_may_do_what_those_before_it_may() -> None:
    for place, role in enumerate(ROLES):
        assert [people.may(role, least) for least in ROLES] == [least <= place for least in range(len(ROLES))]
