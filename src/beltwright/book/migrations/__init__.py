"""Bringing an older book up to date: one module per version, run by Alembic's operations.

A module here is history: it says in its own words what the tables were, and is never changed afterwards. A change of
`schema`, or a new field of a record, needs a new one (with `opening.VERSION`), so that an older Beltwright refuses the
book instead of dropping what it does not know. Only `opening` imports this, when there is something to do.
"""

from __future__ import annotations

from pathlib import Path

from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, NullPool, create_engine
from sqlalchemy.exc import DBAPIError

from beltwright.book.databases import Database
from beltwright.book.rows import Misfit

FOLDER = Path(__file__).parent


def bring_up_to_date(database: Database) -> None:
    """Run the versions that the book has not, all or none, while nobody else writes."""
    url = "sqlite://" if database.path is not None else "postgresql+psycopg://"
    engine = create_engine(url, creator=database.connect, poolclass=NullPool)
    try:
        with engine.connect() as connection:
            if database.path is not None:
                # SQLite changes a table by making it anew and dropping the old one, to which others point meanwhile
                connection.exec_driver_sql("PRAGMA foreign_keys = OFF")
            connection.exec_driver_sql(database.write)
            run_missing(connection)
            if database.path is not None and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
                raise Misfit("bringing it up to date left something that points to nothing")
            connection.commit()
    except DBAPIError as problem:
        raise problem.orig or problem from problem


def run_missing(connection: Connection) -> None:
    """The same inside the caller's transaction."""
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
