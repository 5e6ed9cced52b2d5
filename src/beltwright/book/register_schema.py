"""The tables of the register: people, sessions, tokens, the audit, tries at logging in. Part of the book's `schema`."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Boolean, Column, ForeignKey, Index, String, Table, Text

from beltwright.book.schema import ID, NUMBER, UTC, metadata

# 64 hexadecimal digits of a SHA-256
_SECRET: Final = 64

people: Final = Table(
    "people", metadata,
    Column("id", ID, primary_key=True),
    Column("name", Text, nullable=False),
    Column("loose_name", Text, nullable=False, unique=True),
    Column("role", Text, nullable=False),
    Column("password", Text, nullable=False),   # its Argon2 hash, with what it was made with
    Column("first", Boolean, nullable=False),
    Column("added_at", UTC, nullable=False),
    Column("added_by", Text, nullable=False),
    Column("retired_at", UTC),
)

sessions: Final = Table(
    "sessions", metadata,
    Column("secret", String(_SECRET), primary_key=True),
    Column("person_id", ID, ForeignKey("people.id"), nullable=False),
    Column("began_at", UTC, nullable=False),
    Column("seen_at", UTC, nullable=False),
    Column("device", Text, nullable=False),
    Index("sessions_by_person", "person_id"),
)

tokens: Final = Table(
    "tokens", metadata,
    Column("id", ID, primary_key=True),
    Column("secret", String(_SECRET), nullable=False, unique=True),
    Column("person_id", ID, ForeignKey("people.id"), nullable=False),
    Column("purpose", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("label", Text, nullable=False),
    Column("made_at", UTC, nullable=False),
    Column("made_by", Text, nullable=False),
    Column("used_at", UTC),
    Column("ended_at", UTC),
    Index("tokens_by_person", "person_id"),
)

audit: Final = Table(
    "audit", metadata,
    Column("number", NUMBER, primary_key=True, autoincrement=True),
    Column("id", ID, nullable=False, unique=True),
    Column("noted_at", UTC, nullable=False),
    Column("noted_by", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("detail", Text, nullable=False),
    sqlite_autoincrement=True,
)

tries: Final = Table(
    "tries", metadata,
    Column("number", NUMBER, primary_key=True, autoincrement=True),
    Column("tried", Text, nullable=False),   # a name or an address
    Column("noted_at", UTC, nullable=False),
    Index("tries_by_key", "tried", "noted_at"),
    sqlite_autoincrement=True,
)
