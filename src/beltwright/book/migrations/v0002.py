"""Who may use the book: people, sessions, tokens, the audit, tries at logging in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

ID = sa.LargeBinary(16).with_variant(sa.Uuid(), "postgresql")
UTC = sa.DateTime().with_variant(sa.DateTime(timezone=True), "postgresql")
NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables of the register."""
    op.create_table(
        "people",
        sa.Column("id", ID, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("loose_name", sa.Text, nullable=False, unique=True),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("password", sa.Text, nullable=False),
        sa.Column("first", sa.Boolean, nullable=False),
        sa.Column("added_at", UTC, nullable=False),
        sa.Column("added_by", sa.Text, nullable=False),
        sa.Column("retired_at", UTC),
    )
    op.create_table(
        "sessions",
        sa.Column("secret", sa.String(64), primary_key=True),
        sa.Column("person_id", ID, sa.ForeignKey("people.id"), nullable=False),
        sa.Column("began_at", UTC, nullable=False),
        sa.Column("seen_at", UTC, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
    )
    op.create_index("sessions_by_person", "sessions", ["person_id"])
    op.create_table(
        "tokens",
        sa.Column("id", ID, primary_key=True),
        sa.Column("secret", sa.String(64), nullable=False, unique=True),
        sa.Column("person_id", ID, sa.ForeignKey("people.id"), nullable=False),
        sa.Column("purpose", sa.Text, nullable=False),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("label", sa.Text, nullable=False),
        sa.Column("made_at", UTC, nullable=False),
        sa.Column("made_by", sa.Text, nullable=False),
        sa.Column("used_at", UTC),
        sa.Column("ended_at", UTC),
    )
    op.create_index("tokens_by_person", "tokens", ["person_id"])
    op.create_table(
        "audit",
        sa.Column("number", NUMBER, primary_key=True, autoincrement=True),
        sa.Column("id", ID, nullable=False, unique=True),
        sa.Column("noted_at", UTC, nullable=False),
        sa.Column("noted_by", sa.Text, nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("about", sa.Text, nullable=False),
        sa.Column("detail", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "tries",
        sa.Column("number", NUMBER, primary_key=True, autoincrement=True),
        sa.Column("tried", sa.Text, nullable=False),
        sa.Column("noted_at", UTC, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("tries_by_key", "tries", ["tried", "noted_at"])
