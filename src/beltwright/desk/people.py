"""Who may use the book: people added, changed and retired, by whom; logging in and out; tokens for programs.

Every change stands in the audit, written in the same step. The rules are here: who may do what, how long a session
lasts, how many tries there are. Knows no page, no cookie and no database.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from beltwright.desk import passwords
from beltwright.desk.register import Register
from beltwright.errors import InputError, Refused, Unknown
from beltwright.plant.identity import new_id
from beltwright.plant.person import ROLES, Change, Person, Purpose, Role, Session, Token

KEEPER: Final[Role] = "keep the book"
LONGEST_NAME: Final = 60
LONGEST_LABEL: Final = 80
# a session ends when it was not used for a shift, and after a week in any case
IDLE: Final = timedelta(hours=12)
LONGEST_SESSION: Final = timedelta(days=7)
# how often it is noted that a session or a token was used: a write each time would make every page wait for the disk
NOTED_EVERY: Final = timedelta(minutes=5)
# tries in a window: under one name, and from one address, where a whole shop may sit behind one
WINDOW: Final = timedelta(minutes=15)
TRIES_BY_NAME: Final = 8
TRIES_BY_ADDRESS: Final = 40
_LOG_IN_FAILED: Final = "this name and password do not go together"


def may(role: Role, least: Role) -> bool:
    """Whether a role is enough for what asks for at least another.

    >>> may("plan", "note"), may("look", "note")
    (True, False)
    """
    return ROLES.index(role) >= ROLES.index(least)


def role_named(text: str) -> Role:
    """A role by its name; `InputError` lists those there are."""
    wanted = " ".join(text.casefold().replace("-", " ").replace("_", " ").split())
    if wanted == "keep":
        return KEEPER
    if wanted in ROLES:
        return wanted
    raise InputError(f"no role {text.strip()!r}: {', '.join(ROLES)}", accepted=ROLES)


def clean_name(text: str) -> str:
    """A person's name as it is kept; `InputError` for an empty or overlong one and for signs that cannot be seen."""
    name = " ".join(unicodedata.normalize("NFC", text).split())
    _must_be_seen(name, "a name")
    if not any(sign.isalnum() for sign in name):
        raise InputError("a name is needed, as people here know it")
    if len(name) > LONGEST_NAME:
        raise InputError(f"a name has at most {LONGEST_NAME} signs")
    return name


# --- people ----------------------------------------------------------------------------------------------------------

def add(register: Register, name: str, role: str, *, by: str, at: datetime,
        password: str | None = None) -> tuple[Person, str]:
    """Add a person. Returns them and, where none was given, the first password, which they have to change.

    errors: `InputError` for a name, role or password that cannot be taken; `Refused` when somebody has the name
    """
    called, may_do = clean_name(name), role_named(role)
    given = password or passwords.first_password()
    passwords.must_be_good(given, name=called)
    hashed = passwords.hash_password(given)
    with register.writing():
        if there := register.named(called):
            left = ", who has left; bring them back, or add a letter" if there.retired_at else ": add a letter"
            raise Refused(f"there is a {there.name} already{left}")
        person = Person(new_id(), called, may_do, hashed, password is None, at, by)
        register.put_person(person)
        _audit(register, at, by, "added", person, may_do)
    return person, "" if password else given


def change_role(register: Register, person_id: UUID, role: str, *, by: str, at: datetime) -> Person:
    """Give a person another role; their tokens never keep more than the person has. The last keeper stays one."""
    wanted = role_named(role)
    with register.writing():
        person = _here(register, person_id)
        if person.role == wanted:
            return person
        if not may(wanted, KEEPER):
            _must_not_be_last_keeper(register, person)
        changed = replace(person, role=wanted)
        register.put_person(changed)
        _audit(register, at, by, "changed the role", person, f"{person.role} -> {wanted}")
    return changed


def change_password(register: Register, person_id: UUID, password: str, *, by: str, at: datetime,
                    keep: str | None = None) -> Person:
    """A new password of a person's own choice; ends every session of theirs but the one to `keep`."""
    passwords.must_be_good(password, name=register.person(person_id).name)
    hashed = passwords.hash_password(password)
    return _set_password(register, person_id, hashed, first=False, by=by, at=at, keep=keep)


def reset_password(register: Register, person_id: UUID, *, by: str, at: datetime) -> str:
    """A first password for somebody who has lost theirs, to be handed over; ends every session of theirs."""
    given = passwords.first_password()
    hashed = passwords.hash_password(given)
    _set_password(register, person_id, hashed, first=True, by=by, at=at, keep=None)
    return given


def change_own_password(register: Register, person: Person, old: str, new: str, *, at: datetime,
                        keep: str | None) -> Person:
    """A person changes their password, which takes the old one; tries count as those at the door do."""
    key = f"name {_loose(person.name)}"
    _take_a_try(register, [(key, TRIES_BY_NAME)], at)
    if not passwords.matches(old, person.password):
        raise InputError("the old password is not the right one")
    register.forget_tries(key=key)
    if passwords.same(old, new):
        raise InputError("the new password is the old one: choose another")
    return change_password(register, person.id, new, by=person.name, at=at, keep=keep)


def retire(register: Register, person_id: UUID, *, by: str, at: datetime) -> Person:
    """A person has left: no way in any more, whatever they noted stays. The last keeper of the book cannot."""
    with register.writing():
        person = _here(register, person_id)
        _must_not_be_last_keeper(register, person)
        gone = replace(person, retired_at=at, password="")
        register.put_person(gone)
        register.end_sessions(person_id=person_id)
        for token in register.tokens(person_id):
            if token.ended_at is None:
                register.put_token(replace(token, ended_at=at))
        _audit(register, at, by, "retired", person)
    return gone


def bring_back(register: Register, person_id: UUID, *, by: str, at: datetime) -> tuple[Person, str]:
    """Somebody who had left is here again, with the role they had and a first password."""
    given = passwords.first_password()
    hashed = passwords.hash_password(given)
    with register.writing():
        person = register.person(person_id)
        if person.retired_at is None:
            raise Refused(f"{person.name} has not left")
        back = replace(person, retired_at=None, first=True, password=hashed)
        register.put_person(back)
        _audit(register, at, by, "brought back", person)
    return back, given


def find(register: Register, name: str) -> Person:
    """A person by name; `Unknown` says who there is."""
    person = register.named(name)
    if person is None:
        there = [each.name for each in register.people() if each.retired_at is None]
        raise Unknown(f"there is nobody called {name.strip()!r}: {', '.join(there) or 'the book has no people yet'}")
    return person


# --- logging in and out ----------------------------------------------------------------------------------------------

@dataclass(frozen=True, slots=True)
class Caller:
    """Who is asking, with what role, and the session or token that says so; its secret stays outside."""

    person: Person
    role: Role
    session: Session | None = None
    token: Token | None = None


def log_in(register: Register, name: str, password: str, *, address: str, device: str,
           at: datetime) -> tuple[Person, str]:
    """Begin a session. Returns the person and the secret for the device to keep.

    A try is noted before the password is looked at, so that many at once are not more than were allowed. Errors:
    `Refused` for too many tries; `InputError` that never says which of name and password was wrong
    """
    key = f"name {_loose(name)}"
    _take_a_try(register, [(key, TRIES_BY_NAME), (f"address {address}", TRIES_BY_ADDRESS)], at)
    person = register.named(name)
    if not passwords.matches(password, "" if person is None or person.retired_at else person.password) or not person:
        raise InputError(_LOG_IN_FAILED)
    secret = passwords.new_secret()
    fresh = passwords.hash_password(password) if passwords.is_outdated(person.password) else None
    with register.writing():
        now = _here(register, person.id)   # it may have been changed while the password was worked at
        if now.password != person.password:
            raise InputError(_LOG_IN_FAILED)
        if fresh:
            register.put_person(replace(now, password=fresh))
        register.forget_tries(key=key)
        register.forget_tries(before=at - WINDOW)
        register.end_sessions(seen_before=at - IDLE)
        register.end_sessions(begun_before=at - LONGEST_SESSION)
        kept = passwords.kept_as(secret)
        register.put_session(Session(kept, now.id, at, at, _short(device)))
        _audit(register, at, now.name, "logged in", now, address)
    return now, secret


def log_out(register: Register, secret: str) -> None:
    """End the session of this secret; nothing to end is no error."""
    register.end_sessions(secret=passwords.kept_as(secret))


def log_out_elsewhere(register: Register, person_id: UUID, *, keep: str | None) -> int:
    """End every session of a person but the one to keep; how many there were."""
    return register.end_sessions(person_id=person_id, but=None if keep is None else passwords.kept_as(keep))


def caller_by_session(register: Register, secret: str, *, at: datetime) -> Caller | None:
    """Who holds this session's secret; nobody when it has run out, was ended, or its person has left."""
    session = register.session(passwords.kept_as(secret))
    if session is None or at - session.seen_at > IDLE or at - session.began_at > LONGEST_SESSION:
        return None
    person = register.person(session.person_id)
    if person.retired_at is not None:
        return None
    if at - session.seen_at > NOTED_EVERY:
        with register.writing():
            if register.session(session.secret) is None:   # ended meanwhile: not to be brought back by being seen
                return None
            session = replace(session, seen_at=at)
            register.put_session(session)
    return Caller(person, person.role, session=session)


# --- tokens ----------------------------------------------------------------------------------------------------------

def make_token(register: Register, person_id: UUID, label: str, role: str | None = None, *, by: str, at: datetime,
               purpose: Purpose = "api") -> tuple[Token, str]:
    """A token in a person's name. Returns it and its secret, which is shown once and kept nowhere.

    role: no higher than the person's, theirs when not given; a calendar's is to look
    """
    words = " ".join(label.split())
    _must_be_seen(words, "a token's name")
    if not words or len(words) > LONGEST_LABEL:
        raise InputError(f"say in a few words what the token is for, {LONGEST_LABEL} signs at most")
    secret = passwords.new_secret()
    with register.writing():
        person = _here(register, person_id)
        wanted: Role = "look" if purpose == "calendar" else role_named(role) if role else person.role
        if not may(person.role, wanted):
            raise Refused(f"{person.name} may {person.role}: a token of theirs may do no more than that")
        token = Token(new_id(), passwords.kept_as(secret), person.id, purpose, wanted, words, at, by)
        register.put_token(token)
        _audit(register, at, by, f"made a token ({purpose})", person, f"{words}: {wanted}")
    return token, secret


def end_token(register: Register, token_id: UUID, *, by: str, at: datetime, of: UUID | None = None) -> Token:
    """End a token; `of` names the only person whose it may be. Ending one twice changes nothing."""
    with register.writing():
        token = next((each for each in register.tokens(of) if each.id == token_id), None)
        if token is None:
            raise Unknown("there is no such token")
        if token.ended_at is not None:
            return token
        ended = replace(token, ended_at=at)
        register.put_token(ended)
        _audit(register, at, by, "ended a token", register.person(token.person_id), token.label)
    return ended


def caller_by_token(register: Register, secret: str, *, purpose: Purpose, at: datetime) -> Caller | None:
    """In whose name this secret speaks, with the lower of its own and the person's role; nobody when it was ended."""
    token = register.token(passwords.kept_as(secret))
    if token is None or token.ended_at is not None or token.purpose != purpose:
        return None
    person = register.person(token.person_id)
    if person.retired_at is not None:
        return None
    if token.used_at is None or at - token.used_at > NOTED_EVERY:
        with register.writing():
            now = register.token(token.secret)
            if now is None or now.ended_at is not None:   # ended meanwhile: not to be brought back by being used
                return None
            token = replace(now, used_at=at)
            register.put_token(token)
    return Caller(person, min(token.role, person.role, key=ROLES.index), token=token)


# --- what they share -------------------------------------------------------------------------------------------------

def _take_a_try(register: Register, limits: Sequence[tuple[str, int]], at: datetime) -> None:
    with register.writing():
        for key, most in limits:
            if register.tries(key, at - WINDOW) >= most:
                minutes = int(WINDOW / timedelta(minutes=1))
                raise Refused(f"too many tries to log in: wait {minutes} minutes, or ask who keeps the book for a new "
                              "password")
        for key, _ in limits:
            register.note_try(key, at)


def _set_password(register: Register, person_id: UUID, hashed: str, *, first: bool, by: str, at: datetime,
                  keep: str | None) -> Person:
    with register.writing():
        changed = replace(_here(register, person_id), password=hashed, first=first)
        register.put_person(changed)
        register.end_sessions(person_id=person_id, but=None if keep is None else passwords.kept_as(keep))
        register.forget_tries(key=f"name {_loose(changed.name)}")
        _audit(register, at, by, "gave a first password" if first else "changed the password", changed)
    return changed


def _here(register: Register, person_id: UUID) -> Person:
    person = register.person(person_id)
    if person.retired_at is not None:
        raise Refused(f"{person.name} has left: bring them back first")
    return person


def _must_not_be_last_keeper(register: Register, person: Person) -> None:
    others = [each for each in register.people() if each.retired_at is None and each.id != person.id]
    if person.role == KEEPER and not any(each.role == KEEPER for each in others):
        raise Refused(f"{person.name} is the only one who keeps the book: give somebody else that role first")


def _audit(register: Register, at: datetime, by: str, what: str, about: Person, detail: str = "") -> None:
    register.note_change(Change(new_id(), at, by, what, about.name, detail))


def _must_be_seen(text: str, what: str) -> None:
    # control and format signs turn a line round, hide, or end a header
    if any(unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co", "Cn") for sign in text):
        raise InputError(f"{what} holds a sign that cannot be seen: type it anew")


def _loose(name: str) -> str:
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())[:LONGEST_NAME]


def _short(device: str) -> str:
    return "".join(sign for sign in device if sign.isprintable())[:160]
