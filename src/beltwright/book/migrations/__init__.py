"""Bringing an older book up to date: one module per version, run by Alembic's operations.

A module here is history: it says in its own words what the tables were, and is never changed afterwards. A change of
`schema`, or a new field of a record, needs a new one (with `schema.VERSION`), so that an older Beltwright refuses the
book instead of dropping what it does not know. Only `opening` imports this, when there is something to do.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from alembic.script import Script, ScriptDirectory
from sqlalchemy import Connection

FOLDER: Final = Path(__file__).parent


def scripts(folder: Path = FOLDER) -> list[Script]:
    """The versions there are, oldest first."""
    directory = ScriptDirectory(str(folder), version_locations=[str(folder)])
    return list(directory.walk_revisions())[::-1]


def bring_up_to_date(connection: Connection, folder: Path = FOLDER) -> None:
    """Run the versions that the book has not, the caller's transaction around all of them."""
    context = MigrationContext.configure(connection)
    had = context.get_current_heads()
    missing = [script for script in scripts(folder) if not had or script.revision > had[0]]
    with Operations.context(context):
        for script in missing:
            script.module.upgrade()
    context.stamp(ScriptDirectory(str(folder), version_locations=[str(folder)]), "head")
