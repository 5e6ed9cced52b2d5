"""Photos and clips stand in the book itself, so that a backup, an export and a book on a server have them, too.

Before, a book in a file had them beside it, in a folder of its name with `.files` behind; they are taken in from there
and the folder is left as it is.
"""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

MOMENT = sa.DateTime().with_variant(sa.DateTime(timezone=True), "postgresql")


def upgrade() -> None:
    """Make the table; fill it from the folder beside a file."""
    op.create_table(
        "enclosed",
        sa.Column("name", sa.String(72), primary_key=True),
        sa.Column("kept_at", MOMENT, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
    )
    connection = op.get_bind()
    if connection.dialect.name != "sqlite":
        return
    where = next((row[2] for row in connection.exec_driver_sql("PRAGMA database_list") if row[1] == "main"), "")
    folder = Path(f"{where}.files")
    if not where or not folder.is_dir():
        return
    for file in sorted(folder.glob("??/*.*")):
        data = file.read_bytes()
        if file.name.startswith(hashlib.sha256(data).hexdigest()):   # half a file, or somebody's own, is none of ours
            kept = datetime.fromtimestamp(file.stat().st_mtime, UTC).replace(tzinfo=None)
            connection.exec_driver_sql("INSERT INTO enclosed (name, kept_at, data) VALUES (?, ?, ?)",
                                       (file.name, kept.isoformat(" ", "microseconds"), data))
