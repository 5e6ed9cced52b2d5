"""Causes confirmed and belts failed are found without reading through a whole plant."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the index over the few readings of those kinds."""
    which = sa.text("kind IN ('belts failed', 'cause')")
    op.create_index("readings_of_cases", "readings", ["drive_id", "taken_at"], sqlite_where=which,
                    postgresql_where=which)
