"""Opening, making and backing up a book, and bringing an older one up to date.

A book is a file (SQLite) or a database on a server (`postgresql://...`). Opening asks the database two small questions,
so that a card is on the screen at once; SQLAlchemy and Alembic are loaded only when tables are made or changed.
"""

from __future__ import annotations

import errno
import os
import stat
from dataclasses import replace
from pathlib import Path
from typing import Final

from beltwright.book import databases, faults
from beltwright.book.choices import Chosen
from beltwright.book.databases import Connection, Database
from beltwright.book.store import Store
from beltwright.errors import BookDamaged, BookError, BookFull, BookMissing, BookNewer, BookReadOnly
from beltwright.plant.settings import Settings

# the newest migration; and what marks an SQLite file as a book: "Belt" as PRAGMA application_id
VERSION: Final = 4
APPLICATION_ID: Final = int.from_bytes(b"Belt")
# how long to wait for somebody else's write [s]
PATIENCE: Final = 5.0


def open_book(where: str | Path, *, write: bool = False, patience: float = PATIENCE) -> Store:
    """Open a book that exists; an older one is backed up and brought up to date first.

    where:    a file, or `postgresql://user@host/plant`
    write:    whether anything is to be noted; without it the book cannot be changed by mistake
    patience: how long to wait for somebody else's write before `BookLocked` [s]
    errors:   `BookMissing`, `BookDamaged`, `BookNewer`, `BookLocked`, `BookReadOnly`, each with one line to show
    """
    database = _database(where, write=write, patience=patience)
    if database.path is not None:
        _must_be_a_file(database.path, write=write)
    store = Store(database, write=write)
    try:
        version = _version(store)
        if version > VERSION:
            raise faults.message(BookNewer, store.where, f"book version {version}, this one knows {VERSION}")
        if version < VERSION:
            store.close()
            _bring_up_to_date(_database(where, write=True, patience=patience), version)
            store = Store(database, write=write)
    except BaseException:
        store.close()
        raise
    return store


def create_book(where: str | Path, settings: Settings, *, by: str, patience: float = PATIENCE) -> Store:
    """Make a new book, open for writing. What is there already is never touched: `BookError` says so."""
    database = _database(where, write=True, patience=patience)
    path = database.path
    if path is not None:
        _reserve(path)
    store = Store(database, write=True)
    try:
        _make(store, Chosen.here(settings, by))
    except BaseException:
        store.close()
        if path is not None:   # ours alone: it was reserved a moment ago
            for left in (path, databases.wal(path), _shared(path)):
                left.unlink(missing_ok=True)
        raise
    return store


def back_up(store: Store, to: Path) -> None:
    """Write a copy of a book on SQLite, whole and consistent while others go on writing; never over a file."""
    if store.database.path is None:
        raise BookError(f"{store.where} is on a database server: back it up with the server's own pg_dump")
    _reserve(to)
    try:
        with faults.told_plainly(replace(store.database, where=str(to), path=to)):
            connection = Connection(store.database)
            try:
                connection.do("VACUUM INTO ?", str(to))   # takes an empty file as it takes none
            finally:
                connection.close()
        with to.open("rb+") as copy:
            os.fsync(copy.fileno())
    except BaseException:
        to.unlink(missing_ok=True)
        raise


def _database(where: str | Path, *, write: bool, patience: float) -> Database:
    named = str(where)
    if named.startswith(("postgresql://", "postgres://")):
        return databases.postgresql(named, patience=patience)
    if "://" in named and not named.startswith("sqlite:///"):
        raise BookMissing(f"a book is a file or postgresql://user@host/database, not {named.split('://')[0]}://")
    return databases.sqlite(Path(named.removeprefix("sqlite:///")), write=write, patience=patience)


# --- what is there ---------------------------------------------------------------------------------------------------

def _shared(path: Path) -> Path:
    return path.with_name(path.name + "-shm")


def _must_be_a_file(path: Path, *, write: bool) -> None:
    """Say plainly what SQLite would say in riddles.

    The file is looked at and never opened here: closing it would take away the locks of every other connection that
    this process has to the same book (POSIX).
    """
    try:
        kind = path.stat()
    except (FileNotFoundError, NotADirectoryError):
        raise BookMissing(f"there is no book at {path}: check the name, or start a new book there.") from None
    except OSError as problem:
        raise BookError(f"{path} could not be read: {problem.strerror}.") from problem
    if not stat.S_ISREG(kind.st_mode):
        raise BookMissing(f"{path} is a folder or a device, not a book: name the file in it.")
    if kind.st_size == 0:
        raise BookDamaged(f"{path} is empty: put a backup in its place, or delete it and start a new book.")
    if not os.access(path, os.R_OK):
        raise BookReadOnly(f"{path} may not be read by you: ask for permission.")
    if write and not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
        raise faults.message(BookReadOnly, str(path), "")


def _version(store: Store) -> int:
    with store.at_rest() as connection:
        if store.database.path is None:
            if connection.ask("SELECT to_regclass('alembic_version')")[0][0] is None:
                raise BookMissing(f"there is no book in {store.where}: start a new one there.")
        elif connection.ask("PRAGMA application_id")[0][0] != APPLICATION_ID:
            tables = connection.ask("SELECT count(*) FROM sqlite_master")[0][0]
            whose = "another program's database" if tables else "a book that was never finished"
            raise BookDamaged(f"{store.where} is {whose}: check the name, or put a backup in its place.")
        return int(connection.ask("SELECT version_num FROM alembic_version")[0][0])


def _reserve(path: Path) -> None:
    """Make the empty file, unless there is one: two people starting the same book do not end up in one."""
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
        if os.name == "posix":   # so that the name, too, survives a power cut
            folder = os.open(path.parent, os.O_RDONLY)
            os.fsync(folder)
            os.close(folder)
    except FileExistsError:
        raise BookError(f"there is something at {path} already: open it, or give the new book another name.") from None
    except (FileNotFoundError, NotADirectoryError):
        raise BookMissing(f"there is no folder {path.parent} to put a book in: make it first.") from None
    except OSError as problem:
        if problem.errno == errno.ENOSPC:
            raise faults.message(BookFull, str(path), "") from problem
        raise faults.message(BookReadOnly, str(path), "") from problem


def _make(store: Store, chosen: Chosen) -> None:
    # loads SQLAlchemy, which a book that is there does not need; the register's tables join the others by being loaded
    from beltwright.book import register_schema, schema  # noqa: F401

    with store.at_work() as connection:
        if store.database.path is not None:
            connection.do(f"PRAGMA application_id = {APPLICATION_ID}")
        elif connection.ask("SELECT to_regclass('alembic_version')")[0][0] is not None:
            raise BookError(f"there is a book in {store.where} already: open it.")
        for statement in schema.statements(store.database.name):
            connection.do(statement)
        connection.do("INSERT INTO alembic_version (version_num) VALUES (?)", f"{VERSION:04}")
        store.add_choice(chosen)


def _bring_up_to_date(database: Database, version: int) -> None:
    from beltwright.book import migrations  # loads SQLAlchemy and Alembic

    path = database.path
    if path is None:
        with faults.told_plainly(database):
            migrations.bring_up_to_date(database)
        return
    _must_be_a_file(path, write=True)
    with Store(database, write=True) as store:
        back_up(store, _backup_name(path, version))
    with faults.told_plainly(database):
        migrations.bring_up_to_date(database)


def _backup_name(path: Path, version: int) -> Path:
    name = f"{path.stem}-version-{version}{{}}{path.suffix}"
    names = (path.with_name(name.format(again)) for again in ("", *(f"-{count}" for count in range(2, 1000))))
    return next(name for name in names if not name.exists())
