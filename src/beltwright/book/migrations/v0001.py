"""The first book."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

ID = sa.LargeBinary(16).with_variant(sa.Uuid(), "postgresql")
UTC = sa.DateTime().with_variant(sa.DateTime(timezone=True), "postgresql")
ONLY_CORRECTIONS = sa.text("supersedes IS NOT NULL")
NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make all tables."""
    op.create_table(
        "drives",
        sa.Column("id", ID, primary_key=True),
        sa.Column("tag", sa.Text, nullable=False),
        sa.Column("loose_tag", sa.Text, nullable=False, unique=True),
        sa.Column("sought", sa.Text, nullable=False),
        sa.Column("make_up_id", ID, nullable=False),
    )
    op.create_table(
        "settings",
        sa.Column("number", NUMBER, primary_key=True, autoincrement=True),
        sa.Column("id", ID, nullable=False, unique=True),
        sa.Column("noted_at", UTC, nullable=False),
        sa.Column("noted_by", sa.Text, nullable=False),
        sa.Column("content", sa.JSON, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "make_ups",
        sa.Column("number", NUMBER, primary_key=True, autoincrement=True),
        sa.Column("id", ID, nullable=False, unique=True),
        sa.Column("drive_id", ID, sa.ForeignKey("drives.id"), nullable=False),
        sa.Column("since", UTC, nullable=False),
        sa.Column("loose_tag", sa.Text, nullable=False),
        sa.Column("noted_at", UTC, nullable=False),
        sa.Column("noted_by", sa.Text, nullable=False),
        sa.Column("content", sa.JSON, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("make_ups_by_drive", "make_ups", ["drive_id", "since", "number"])
    op.create_index("make_ups_by_tag", "make_ups", ["loose_tag"])
    op.create_table(
        "jobs",
        sa.Column("number", NUMBER, primary_key=True, autoincrement=True),
        sa.Column("id", ID, nullable=False, unique=True),
        sa.Column("drive_id", ID, sa.ForeignKey("drives.id"), nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("opened_at", UTC, nullable=False),
        sa.Column("opened_by", sa.Text, nullable=False),
        sa.Column("content", sa.JSON, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("jobs_by_drive", "jobs", ["drive_id"])
    op.create_table(
        "events",
        sa.Column("number", NUMBER, primary_key=True, autoincrement=True),
        sa.Column("id", ID, nullable=False, unique=True),
        sa.Column("job_id", ID, sa.ForeignKey("jobs.id"), nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("step", sa.Text, nullable=False),
        sa.Column("noted_at", UTC, nullable=False),
        sa.Column("noted_by", sa.Text, nullable=False),
        sa.Column("content", sa.JSON, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("events_by_job", "events", ["job_id", "kind"])
    op.create_table(
        "readings",
        sa.Column("drive_id", ID, sa.ForeignKey("drives.id"), primary_key=True),
        sa.Column("taken_at", UTC, primary_key=True),
        sa.Column("id", ID, primary_key=True, unique=True),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("state", sa.Text, nullable=False),
        sa.Column("job_id", ID, sa.ForeignKey("jobs.id")),
        sa.Column("noted_by", sa.Text, nullable=False),
        sa.Column("supersedes", ID, sa.ForeignKey("readings.id", deferrable=True, initially="DEFERRED")),
        sa.Column("measured", sa.JSON, nullable=False),
        sa.Column("typed", sa.JSON, nullable=False),
        sa.Column("rest", sa.JSON),
        sqlite_with_rowid=False,
    )
    op.create_index("readings_superseded", "readings", ["supersedes"], unique=True,
                    sqlite_where=ONLY_CORRECTIONS, postgresql_where=ONLY_CORRECTIONS)
