"""The tables of a book, one description for SQLite and PostgreSQL; loaded only when a book is made.

Facts (make-ups, readings, events, settings) are only ever inserted. `drives` holds, beside each drive's id, what is
derived from its latest make-up so that tag and text can be looked up; it is kept in step by the same transaction. A
`number` is the order in which facts were recorded, which no clock can disturb. Changes of these tables go into
`migrations` too: a test holds that both make the same book. Imports nothing of Beltwright.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    JSON,
    BigInteger,
    Column,
    DateTime,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    Uuid,
    text,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.schema import CreateIndex, CreateTable

ID: Final = LargeBinary(16).with_variant(Uuid(), "postgresql")
UTC: Final = DateTime().with_variant(DateTime(timezone=True), "postgresql")
NUMBER: Final = BigInteger().with_variant(Integer(), "sqlite")
OF_CASES: Final = "kind IN ('belts failed', 'cause')"

metadata: Final = MetaData()


def statements(database: str) -> list[str]:
    """What makes all tables and indexes in `sqlite` or `postgresql`."""
    dialect = {"sqlite": sqlite.dialect, "postgresql": postgresql.dialect}[database]()
    made: list[str] = []
    for table in metadata.sorted_tables:
        made.append(str(CreateTable(table).compile(dialect=dialect)))
        made += [str(CreateIndex(index).compile(dialect=dialect)) for index in table.indexes]
    return made


# Alembic's own table, word for word
versions: Final = Table(
    "alembic_version", metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)

settings: Final = Table(
    "settings", metadata,
    Column("number", NUMBER, primary_key=True, autoincrement=True),
    Column("id", ID, nullable=False, unique=True),
    Column("noted_at", UTC, nullable=False),
    Column("noted_by", Text, nullable=False),
    Column("content", JSON, nullable=False),
    sqlite_autoincrement=True,
)

drives: Final = Table(
    "drives", metadata,
    Column("id", ID, primary_key=True),
    Column("tag", Text, nullable=False),
    Column("loose_tag", Text, nullable=False, unique=True),
    Column("sought", Text, nullable=False),     # tag, name, place, marking, case-folded
    Column("make_up_id", ID, nullable=False),   # the latest; no foreign key, which would run in a circle
)

make_ups: Final = Table(
    "make_ups", metadata,
    Column("number", NUMBER, primary_key=True, autoincrement=True),
    Column("id", ID, nullable=False, unique=True),
    Column("drive_id", ID, ForeignKey("drives.id"), nullable=False),
    Column("since", UTC, nullable=False),
    Column("loose_tag", Text, nullable=False),
    Column("noted_at", UTC, nullable=False),
    Column("noted_by", Text, nullable=False),
    Column("content", JSON, nullable=False),
    Index("make_ups_by_drive", "drive_id", "since", "number"),
    Index("make_ups_by_tag", "loose_tag"),
    sqlite_autoincrement=True,
)

jobs: Final = Table(
    "jobs", metadata,
    Column("number", NUMBER, primary_key=True, autoincrement=True),
    Column("id", ID, nullable=False, unique=True),
    Column("drive_id", ID, ForeignKey("drives.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("opened_at", UTC, nullable=False),
    Column("opened_by", Text, nullable=False),
    Column("content", JSON, nullable=False),
    Index("jobs_by_drive", "drive_id"),
    sqlite_autoincrement=True,
)

events: Final = Table(
    "events", metadata,
    Column("number", NUMBER, primary_key=True, autoincrement=True),
    Column("id", ID, nullable=False, unique=True),
    Column("job_id", ID, ForeignKey("jobs.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("step", Text, nullable=False),
    Column("noted_at", UTC, nullable=False),
    Column("noted_by", Text, nullable=False),
    Column("content", JSON, nullable=False),
    Index("events_by_job", "job_id", "kind"),
    sqlite_autoincrement=True,
)

# The key keeps a drive's readings side by side on the disk in the order in which they were taken: reading a plant is
# one pass over the file. The original and its correction may come in one batch, hence the deferred key.
readings: Final = Table(
    "readings", metadata,
    Column("drive_id", ID, ForeignKey("drives.id"), primary_key=True),
    Column("taken_at", UTC, primary_key=True),
    Column("id", ID, primary_key=True, unique=True),
    Column("kind", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("job_id", ID, ForeignKey("jobs.id")),
    Column("noted_by", Text, nullable=False),
    Column("supersedes", ID, ForeignKey("readings.id", deferrable=True, initially="DEFERRED")),
    Column("measured", JSON, nullable=False),   # SI, by field name
    Column("typed", JSON, nullable=False),      # as the person typed it, by the same names
    Column("rest", JSON),    # reason, note, method, extra, where there are any
    Index("readings_superseded", "supersedes", unique=True,
          sqlite_where=text("supersedes IS NOT NULL"), postgresql_where=text("supersedes IS NOT NULL")),
    # few among a million: what a plant's own base rates are counted from
    Index("readings_of_cases", "drive_id", "taken_at", sqlite_where=text(OF_CASES), postgresql_where=text(OF_CASES)),
    sqlite_with_rowid=False,
)

# photos and clips, each under its SHA-256 and its kind
enclosed: Final = Table(
    "enclosed", metadata,
    Column("name", String(72), primary_key=True),
    Column("kept_at", UTC, nullable=False),
    Column("data", LargeBinary, nullable=False),
)
