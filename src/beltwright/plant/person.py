"""The people of a plant, what each may do, and what was changed by whom.

A person is never deleted, for the record names them: who has left is retired. Passwords, sessions and tokens are kept
only as what cannot be turned back into them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Final, Literal, get_args
from uuid import UUID

# each may do what those before it may, and more
Role = Literal["look", "note", "plan", "keep the book"]
ROLES: Final[tuple[Role, ...]] = get_args(Role)
MAY: Final[Mapping[Role, str]] = MappingProxyType({
    "look": "sees drives, cards and readings",
    "note": "takes readings and does jobs",
    "plan": "enters and changes drives, opens jobs, hands in sheets",
    "keep the book": "people, settings, import, export and backup",
})
# what a token opens: the JSON face, or one person's calendar and nothing else
Purpose = Literal["api", "calendar"]


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may log in.

    password: its Argon2 hash; first: it was given by another and has to be changed before anything else
    """

    id: UUID
    name: str
    role: Role
    password: str
    first: bool
    added_at: datetime
    added_by: str
    retired_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Session:
    """A person logged in on one device. `secret` is the SHA-256 of what the device's cookie holds."""

    secret: str
    person_id: UUID
    began_at: datetime
    seen_at: datetime
    device: str


@dataclass(frozen=True, slots=True)
class Token:
    """What lets a program in, in a person's name and with a role no higher than theirs. `secret` as in `Session`."""

    id: UUID
    secret: str
    person_id: UUID
    purpose: Purpose
    role: Role
    label: str
    made_at: datetime
    made_by: str
    used_at: datetime | None = None
    ended_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A line of the audit: who changed what, about whom, when."""

    id: UUID
    at: datetime
    by: str
    what: str
    about: str
    detail: str = ""
