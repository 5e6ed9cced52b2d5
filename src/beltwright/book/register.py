"""The plant's register in its tables: people, sessions, tokens, the audit, tries at logging in.

Beside the store and over its connections, so that a change and its line in the audit are one step. What each method
means is said in `desk.register`. People are not facts: a row is changed, and the audit keeps what it was. None of this
goes into an export, for it would carry what lets people in.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any, cast
from uuid import UUID

from beltwright.book import rows
from beltwright.book.databases import Connection
from beltwright.book.store import Store
from beltwright.errors import Refused, Unknown
from beltwright.plant.person import Change, Person, Session, Token

_PERSON = "SELECT id, name, role, password, first, added_at, added_by, retired_at FROM people"
_SESSION = "SELECT secret, person_id, began_at, seen_at, device FROM sessions"
_TOKEN = ("SELECT id, secret, person_id, purpose, role, label, made_at, made_by, used_at, ended_at FROM tokens")


class BookRegister:
    """The register kept in a plant's book. Its methods are those of `desk.register.Register`."""

    def __init__(self, store: Store) -> None:
        self._store = store

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One step."""
        with self._store.writing():
            yield

    # people

    def people(self) -> list[Person]:
        """Everybody, in order of name."""
        return self._people(f"{_PERSON} ORDER BY loose_name")

    def person(self, person_id: UUID) -> Person:
        """One person."""
        for person in self._people(f"{_PERSON} WHERE id = ?", person_id):
            return person
        raise Unknown("there is no such person in the book")

    def named(self, name: str) -> Person | None:
        """The person of that name."""
        return next(iter(self._people(f"{_PERSON} WHERE loose_name = ?", _loose(name))), None)

    def put_person(self, person: Person) -> None:
        """Enter or change a person."""
        values = (rows.plain(person.name), _loose(person.name), person.role, person.password, person.first,
                  person.added_at, rows.plain(person.added_by), person.retired_at)
        with self._store.at_work() as connection:
            if connection.ask("SELECT 1 FROM people WHERE loose_name = ? AND id <> ?", _loose(person.name), person.id):
                raise Refused(f"there is a {person.name} already: add a letter")
            changed = connection.do(
                "UPDATE people SET name = ?, loose_name = ?, role = ?, password = ?, first = ?, added_at = ?, "
                "added_by = ?, retired_at = ? WHERE id = ?", *values, person.id)
            if not changed:
                connection.do("INSERT INTO people (name, loose_name, role, password, first, added_at, added_by, "
                              "retired_at, id) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", *values, person.id)

    # sessions

    def session(self, secret: str) -> Session | None:
        """The session of that secret."""
        return next(iter(self._sessions(f"{_SESSION} WHERE secret = ?", secret)), None)

    def sessions(self, person_id: UUID) -> list[Session]:
        """A person's sessions, last seen first."""
        return self._sessions(f"{_SESSION} WHERE person_id = ? ORDER BY seen_at DESC", person_id)

    def put_session(self, session: Session) -> None:
        """Begin a session, or note when it was seen."""
        with self._store.at_work() as connection:
            if not connection.do("UPDATE sessions SET seen_at = ? WHERE secret = ?", session.seen_at, session.secret):
                connection.do("INSERT INTO sessions (secret, person_id, began_at, seen_at, device) "
                              "VALUES (?, ?, ?, ?, ?)", session.secret, session.person_id, session.began_at,
                              session.seen_at, rows.plain(session.device))

    def end_sessions(self, *, person_id: UUID | None = None, secret: str | None = None, but: str | None = None,
                     seen_before: datetime | None = None, begun_before: datetime | None = None) -> int:
        """Forget the sessions that fit all that is given."""
        return self._forget("sessions", {"person_id = ?": person_id, "secret = ?": secret, "secret <> ?": but,
                                         "seen_at < ?": seen_before, "began_at < ?": begun_before})

    # tokens

    def token(self, secret: str) -> Token | None:
        """The token of that secret."""
        return next(iter(self._tokens(f"{_TOKEN} WHERE secret = ?", secret)), None)

    def tokens(self, person_id: UUID | None = None) -> list[Token]:
        """All tokens, or one person's, earliest first."""
        if person_id is None:
            return self._tokens(f"{_TOKEN} ORDER BY id")
        return self._tokens(f"{_TOKEN} WHERE person_id = ? ORDER BY id", person_id)

    def put_token(self, token: Token) -> None:
        """Make a token, or note that it was used or ended."""
        with self._store.at_work() as connection:
            if not connection.do("UPDATE tokens SET used_at = ?, ended_at = ? WHERE id = ?",
                                 token.used_at, token.ended_at, token.id):
                connection.do("INSERT INTO tokens (id, secret, person_id, purpose, role, label, made_at, made_by, "
                              "used_at, ended_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                              token.id, token.secret, token.person_id, token.purpose, token.role,
                              rows.plain(token.label), token.made_at, rows.plain(token.made_by), token.used_at,
                              token.ended_at)

    # the audit

    def note_change(self, change: Change) -> None:
        """Add a line to the audit."""
        with self._store.at_work() as connection:
            connection.do("INSERT INTO audit (id, noted_at, noted_by, what, about, detail) VALUES (?, ?, ?, ?, ?, ?)",
                          change.id, change.at, *map(rows.plain, (change.by, change.what, change.about,
                                                                  change.detail)))

    def changes(self, *, most: int, about: str | None = None) -> list[Change]:
        """The audit, latest first."""
        where, values = ("", ()) if about is None else ("WHERE about = ?", (about,))
        with self._store.at_rest() as connection:
            found = connection.ask(f"SELECT id, noted_at, noted_by, what, about, detail FROM audit {where} "
                                   "ORDER BY number DESC LIMIT ?", *values, most)
            database = connection.database
            return [Change(database.get_id(row[0]), database.get_time(row[1]), *row[2:]) for row in found]

    # tries at logging in

    def tries(self, key: str, since: datetime) -> int:
        """How many tries since then."""
        with self._store.at_rest() as connection:
            return int(connection.ask("SELECT count(*) FROM tries WHERE tried = ? AND noted_at >= ?",
                                      _storable(key), since)[0][0])

    def note_try(self, key: str, at: datetime) -> None:
        """Note a try."""
        with self._store.at_work() as connection:
            connection.do("INSERT INTO tries (tried, noted_at) VALUES (?, ?)", _storable(key), at)

    def forget_tries(self, *, key: str | None = None, before: datetime | None = None) -> None:
        """Forget tries."""
        self._forget("tries", {"tried = ?": None if key is None else _storable(key), "noted_at < ?": before})

    # how

    def _people(self, sql: str, *values: Any) -> list[Person]:
        with self._store.at_rest() as connection:
            database = connection.database
            return [Person(database.get_id(row[0]), row[1], row[2], row[3], bool(row[4]), database.get_time(row[5]),
                           row[6], _moment(connection, row[7])) for row in connection.ask(sql, *values)]

    def _sessions(self, sql: str, *values: Any) -> list[Session]:
        with self._store.at_rest() as connection:
            database = connection.database
            return [Session(row[0], database.get_id(row[1]), database.get_time(row[2]), database.get_time(row[3]),
                            row[4]) for row in connection.ask(sql, *values)]

    def _tokens(self, sql: str, *values: Any) -> list[Token]:
        with self._store.at_rest() as connection:
            database = connection.database
            return [Token(database.get_id(row[0]), row[1], database.get_id(row[2]), row[3], row[4], row[5],
                          cast(datetime, _moment(connection, row[6])), row[7], _moment(connection, row[8]),
                          _moment(connection, row[9])) for row in connection.ask(sql, *values)]

    def _forget(self, table: str, given: dict[str, Any]) -> int:
        """Delete the rows that fit all that is given; with nothing given, nothing is deleted."""
        wanted = {condition: value for condition, value in given.items() if value is not None}
        if not wanted:
            return 0
        with self._store.at_work() as connection:
            return connection.do(f"DELETE FROM {table} WHERE {' AND '.join(wanted)}", *wanted.values())


def _moment(connection: Connection, raw: Any) -> datetime | None:
    return None if raw is None else connection.database.get_time(raw)


def _loose(name: str) -> str:
    return _storable(" ".join(name.casefold().split()))


def _storable(text: str) -> str:
    # what somebody typed at the door is looked for, not kept: signs no database can hold are not in any name
    return text.replace("\x00", "�").encode("utf-8", "replace").decode()
