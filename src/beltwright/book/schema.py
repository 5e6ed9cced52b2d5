"""The tables of a book, one description for SQLite and PostgreSQL.

Facts (make-ups, readings, events, settings) are only ever inserted. `drives` holds, beside each drive's id, what is
derived from its latest make-up so that tag and text can be looked up; it is kept in step by the same transaction. A
`number` is the order in which facts were recorded, which no clock can disturb. Changes of these tables go into
`migrations` too: a test holds that both make the same book. Imports nothing of Beltwright.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import (
    JSON,
    BigInteger,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    TypeDecorator,
    Uuid,
    text,
)

# the newest migration, and what marks an SQLite file as a book: "Belt" as PRAGMA application_id
VERSION: Final = 1
APPLICATION_ID: Final = int.from_bytes(b"Belt")

metadata: Final = MetaData()

# Alembic's own table, word for word, so that a new book needs no Alembic
versions: Final = Table(
    "alembic_version", metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)


class Id(TypeDecorator[UUID]):
    """A UUID: 16 bytes in SQLite (a third of its text, and in order of time), `uuid` in PostgreSQL."""

    impl = LargeBinary
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> Any:
        """The type in this database."""
        return dialect.type_descriptor(Uuid() if dialect.name == "postgresql" else LargeBinary(16))

    def process_bind_param(self, value: UUID | None, dialect: Dialect) -> Any:
        """As the database takes it."""
        return value if value is None or dialect.name == "postgresql" else value.bytes

    def process_result_value(self, value: Any, dialect: Dialect) -> UUID | None:
        """As Beltwright takes it."""
        return value if value is None or dialect.name == "postgresql" else UUID(bytes=value)


class Utc(TypeDecorator[datetime]):
    """A moment, kept in UTC: text a person can read and sort in SQLite, `timestamptz` in PostgreSQL."""

    impl = DateTime
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> Any:
        """The type in this database."""
        return dialect.type_descriptor(DateTime(timezone=dialect.name == "postgresql"))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """As the database takes it; a time without zone is refused, for it could be any time."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"{value} has no time zone")
        utc = value.astimezone(UTC)
        return utc if dialect.name == "postgresql" else utc.replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """As Beltwright takes it."""
        if value is None:
            return None
        return value.astimezone(UTC) if dialect.name == "postgresql" else value.replace(tzinfo=UTC)


def _number() -> Column[int]:
    return Column("number", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=True)


settings: Final = Table(
    "settings", metadata,
    _number(),
    Column("id", Id, nullable=False, unique=True),
    Column("noted_at", Utc, nullable=False),
    Column("noted_by", Text, nullable=False),
    Column("content", JSON, nullable=False),
    sqlite_autoincrement=True,
)

drives: Final = Table(
    "drives", metadata,
    Column("id", Id, primary_key=True),
    Column("tag", Text, nullable=False),
    Column("loose_tag", Text, nullable=False, unique=True),
    Column("sought", Text, nullable=False),     # tag, name, place, marking, case-folded
    Column("make_up_id", Id, nullable=False),   # the latest; no foreign key, which would run in a circle
)

make_ups: Final = Table(
    "make_ups", metadata,
    _number(),
    Column("id", Id, nullable=False, unique=True),
    Column("drive_id", Id, ForeignKey("drives.id"), nullable=False),
    Column("since", Utc, nullable=False),
    Column("loose_tag", Text, nullable=False),
    Column("noted_at", Utc, nullable=False),
    Column("noted_by", Text, nullable=False),
    Column("content", JSON, nullable=False),
    Index("make_ups_by_drive", "drive_id", "since", "number"),
    Index("make_ups_by_tag", "loose_tag"),
    sqlite_autoincrement=True,
)

jobs: Final = Table(
    "jobs", metadata,
    _number(),
    Column("id", Id, nullable=False, unique=True),
    Column("drive_id", Id, ForeignKey("drives.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("opened_at", Utc, nullable=False),
    Column("opened_by", Text, nullable=False),
    Column("content", JSON, nullable=False),
    Index("jobs_by_drive", "drive_id"),
    sqlite_autoincrement=True,
)

events: Final = Table(
    "events", metadata,
    _number(),
    Column("id", Id, nullable=False, unique=True),
    Column("job_id", Id, ForeignKey("jobs.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("step", Text, nullable=False),
    Column("noted_at", Utc, nullable=False),
    Column("noted_by", Text, nullable=False),
    Column("content", JSON, nullable=False),
    Index("events_by_job", "job_id", "kind"),
    sqlite_autoincrement=True,
)

# The key keeps a drive's readings side by side on the disk in the order in which they were taken: reading a plant is
# one pass over the file. The original and its correction may come in one batch, hence the deferred key.
readings: Final = Table(
    "readings", metadata,
    Column("drive_id", Id, ForeignKey("drives.id"), primary_key=True),
    Column("taken_at", Utc, primary_key=True),
    Column("id", Id, primary_key=True, unique=True),
    Column("kind", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("job_id", Id, ForeignKey("jobs.id")),
    Column("noted_by", Text, nullable=False),
    Column("supersedes", Id, ForeignKey("readings.id", deferrable=True, initially="DEFERRED")),
    Column("measured", JSON, nullable=False),   # SI, by field name
    Column("typed", JSON, nullable=False),      # as the person typed it, by the same names
    Column("rest", JSON(none_as_null=True)),    # reason, note, method, extra, where there are any
    Index("readings_superseded", "supersedes", unique=True,
          sqlite_where=text("supersedes IS NOT NULL"), postgresql_where=text("supersedes IS NOT NULL")),
    sqlite_with_rowid=False,
)
