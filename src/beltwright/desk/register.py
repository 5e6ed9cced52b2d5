"""The face of the plant's register: people, their sessions and tokens, the audit, and tries at logging in.

Beside `desk.face.Book`, which keeps drives and readings. The register knows no rule: who may do what, how long a
session lasts and how many tries there are stands in `desk.people`. This module knows no file and no database.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from datetime import datetime
from typing import Protocol
from uuid import UUID

from beltwright.plant.person import Change, Person, Session, Token


class Register(Protocol):
    """Who may use the book. Every method may raise `BookError`."""

    def writing(self) -> AbstractContextManager[None]:
        """What is read and written inside is one step, as in `Book.writing`."""
        ...

    def people(self) -> Sequence[Person]:
        """Everybody, the retired too, in order of name."""
        ...

    def person(self, person_id: UUID) -> Person:
        """One person; `Unknown` when there is none."""
        ...

    def named(self, name: str) -> Person | None:
        """The person of that name, however large and small letters are mixed."""
        ...

    def put_person(self, person: Person) -> None:
        """Enter a person, or change the one with the same id; `Refused` when another has the name."""
        ...

    def session(self, secret: str) -> Session | None:
        """The session of that secret, also when its time has run out."""
        ...

    def sessions(self, person_id: UUID) -> Sequence[Session]:
        """A person's sessions, last seen first."""
        ...

    def put_session(self, session: Session) -> None:
        """Begin a session, or note when it was last seen."""
        ...

    def end_sessions(self, *, person_id: UUID | None = None, secret: str | None = None, but: str | None = None,
                     seen_before: datetime | None = None, begun_before: datetime | None = None) -> int:
        """Forget the sessions that fit all that is given; how many there were."""
        ...

    def token(self, secret: str) -> Token | None:
        """The token of that secret, also when it was ended."""
        ...

    def tokens(self, person_id: UUID | None = None) -> Sequence[Token]:
        """All tokens, or one person's, the ended too, earliest first."""
        ...

    def put_token(self, token: Token) -> None:
        """Make a token, or note that it was used or ended."""
        ...

    def note_change(self, change: Change) -> None:
        """Add a line to the audit."""
        ...

    def changes(self, *, most: int, about: str | None = None) -> Sequence[Change]:
        """The audit, latest first."""
        ...

    def tries(self, key: str, since: datetime) -> int:
        """How many tries were noted under a key since then."""
        ...

    def note_try(self, key: str, at: datetime) -> None:
        """Note a try at logging in."""
        ...

    def forget_tries(self, *, key: str | None = None, before: datetime | None = None) -> None:
        """Forget tries under a key, or older ones."""
        ...
