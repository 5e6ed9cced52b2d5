"""Bringing an older book up to date: one module per version, run by Alembic's operations.

A module here is history: it says in its own words what the tables were, and is never changed afterwards. A change of
`schema`, or a new field of a record, needs a new one (with `schema.VERSION`), so that an older Beltwright refuses the
book instead of dropping what it does not know. Only `opening` imports this, when there is something to do.
"""

from __future__ import annotations

from pathlib import Path

from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

FOLDER = Path(__file__).parent


def bring_up_to_date(connection: Connection) -> None:
    """Run the versions that the book has not, the caller's transaction around all of them."""
    directory = _directory()
    context = MigrationContext.configure(connection)
    had = context.get_current_revision() or ""
    with Operations.context(context):
        for script in reversed(list(directory.walk_revisions())):   # oldest first
            if script.revision > had:
                script.module.upgrade()
    context.stamp(directory, "head")


def newest() -> int:
    """The version that the newest module makes."""
    return int(_directory().get_current_head() or 0)


def _directory() -> ScriptDirectory:
    return ScriptDirectory(str(FOLDER), version_locations=[str(FOLDER)])
