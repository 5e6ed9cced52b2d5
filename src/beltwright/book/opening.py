"""Opening, making and backing up a book, and bringing an older one up to date.

A book is a file (SQLite) or a database on a server (`postgresql://...`). Opening asks the database two small questions,
so that a card is on the screen at once; Alembic is loaded only when a migration has to run.
"""

from __future__ import annotations

import errno
import os
import sqlite3
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Engine, QueuePool, create_engine, event, insert, inspect, make_url, select
from sqlalchemy.exc import ArgumentError

from beltwright.book import faults, schema
from beltwright.book.choices import Chosen
from beltwright.book.store import Store
from beltwright.errors import BookDamaged, BookError, BookFull, BookMissing, BookNewer, BookReadOnly
from beltwright.plant.settings import Settings

# how long to wait for somebody else's write [s]
PATIENCE: Final = 5.0
_MILLI: Final = 1e-3
_CACHE: Final = -32_000   # pages of an SQLite file held in memory, in KiB when negative


def open_book(where: str | Path, *, write: bool = False, patience: float = PATIENCE) -> Store:
    """Open a book that exists; an older one is backed up and brought up to date first.

    where:    a file, or `postgresql://user@host/plant`
    write:    whether anything is to be noted; without it the book cannot be changed by mistake
    patience: how long to wait for somebody else's write before `BookLocked` [s]
    errors:   `BookMissing`, `BookDamaged`, `BookNewer`, `BookLocked`, `BookReadOnly`, each with one line to show
    """
    path = _path(where)
    if path is not None:
        _must_be_a_file(path, write=write)
    store = _store(where, path, write=write, patience=patience)
    try:
        version = _version(store)
        if version > schema.VERSION:
            raise faults.message(BookNewer, store.where, f"book version {version}, this one knows {schema.VERSION}")
        if version < schema.VERSION:
            store.close()
            _bring_up_to_date(where, path, version, patience)
            store = _store(where, path, write=write, patience=patience)
    except BaseException:
        store.close()
        raise
    return store


def create_book(where: str | Path, settings: Settings, *, by: str, patience: float = PATIENCE) -> Store:
    """Make a new book, open for writing. What is there already is never touched: `BookError` says so."""
    path = _path(where)
    if path is not None:
        _reserve(path)
    store = _store(where, path, write=True, patience=patience)
    try:
        _make(store, Chosen.here(settings, by))
    except BaseException:
        store.close()
        if path is not None:   # ours alone: it was reserved a moment ago
            for left in (path, *_companions(path)):
                left.unlink(missing_ok=True)
        raise
    return store


def back_up(store: Store, to: Path) -> None:
    """Write a copy of a book on SQLite, whole and consistent while others go on writing; never over a file."""
    if store.path is None:
        raise BookError(f"{store.where} is on a database server: back it up with the server's own pg_dump")
    if to.exists():
        raise BookError(f"{to} exists already: give the backup another name")
    with faults.told_plainly(str(to), to), store.engine.connect() as connection:
        connection.exec_driver_sql("VACUUM INTO ?", (str(to),))
        with to.open("rb+") as copy:
            os.fsync(copy.fileno())


# --- engines ---------------------------------------------------------------------------------------------------------

def _path(where: str | Path) -> Path | None:
    """The file of a book on SQLite; None for a server."""
    named = str(where)
    if "://" not in named:
        return Path(where)
    try:
        url = make_url(named)
    except ArgumentError:
        raise BookMissing("a book is a file name or postgresql://user@host/database") from None
    if url.get_backend_name() == "sqlite" and url.database:
        return Path(url.database)
    if url.get_backend_name() != "postgresql":
        raise BookMissing(f"a book is a file name or postgresql://user@host/database, not {url.drivername}://")
    return None


def _store(where: str | Path, path: Path | None, *, write: bool, patience: float) -> Store:
    if path is not None:
        return Store(_sqlite(path, write=write, patience=patience), str(path), path, write=write)
    named = make_url(str(where)).render_as_string(hide_password=True)
    return Store(_postgresql(str(where), patience), named, None, write=write)


def _as_text(kept: Any) -> Any:
    """JSON stays text on its way: `rows` reads and writes it, the same for every database."""
    return kept.decode() if isinstance(kept, bytes) else kept


def _sqlite(path: Path, *, write: bool, patience: float) -> Engine:
    engine = create_engine(
        "sqlite://", creator=_connector(path, write=write, patience=patience), poolclass=QueuePool, max_overflow=-1,
        json_serializer=_as_text, json_deserializer=_as_text)

    @event.listens_for(engine, "connect")
    def prepare(connection: sqlite3.Connection, _record: object) -> None:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        if write:
            connection.execute("PRAGMA journal_mode = WAL")   # stays so; a backup put back is not yet
        connection.execute(f"PRAGMA cache_size = {_CACHE}")

    return engine


def _connector(path: Path, *, write: bool, patience: float) -> Callable[[], sqlite3.Connection]:
    address = path.absolute().as_uri() + f"?mode={'rw' if write else 'ro'}"
    if not write and not os.access(path.parent, os.W_OK) and not _wal(path).exists():
        # nobody can write here, and all was written out: SQLite need not make the files it shares with writers
        address += "&immutable=1"

    def connect() -> sqlite3.Connection:
        # no implicit transactions: the store says BEGIN itself, and which kind
        return sqlite3.connect(address, uri=True, timeout=patience, isolation_level=None, check_same_thread=False)

    return connect


def _postgresql(where: str, patience: float) -> Engine:
    try:
        import psycopg  # noqa: F401
    except ImportError:
        raise BookMissing("a book on a server needs the PostgreSQL driver: install beltwright[postgresql]") from None
    url = make_url(where).set(drivername="postgresql+psycopg")
    options = f"-c timezone=UTC -c synchronous_commit=on -c lock_timeout={round(patience / _MILLI)}"
    return create_engine(url, max_overflow=20, json_serializer=_as_text, json_deserializer=_as_text,
                         connect_args={"options": options, "connect_timeout": 10})


# --- what is there ---------------------------------------------------------------------------------------------------

def _wal(path: Path) -> Path:
    return path.with_name(path.name + "-wal")


def _companions(path: Path) -> tuple[Path, Path]:
    return _wal(path), path.with_name(path.name + "-shm")


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
    with faults.told_plainly(store.where, store.path), store.engine.connect() as connection:
        if store.path is None:
            if not inspect(connection).has_table(schema.versions.name):
                raise BookMissing(f"there is no book in {store.where}: start a new one there.")
        elif connection.exec_driver_sql("PRAGMA application_id").scalar_one() != schema.APPLICATION_ID:
            tables = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar_one()
            whose = "another program's database" if tables else "a book that was never finished"
            raise BookDamaged(f"{store.where} is {whose}: check the name, or put a backup in its place.")
        return int(connection.execute(select(schema.versions.c.version_num)).scalar_one())


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
    with store.at_work() as connection:
        if store.path is not None:
            connection.exec_driver_sql(f"PRAGMA application_id = {schema.APPLICATION_ID}")
        elif inspect(connection).has_table(schema.versions.name):
            raise BookError(f"there is a book in {store.where} already: open it.")
        schema.metadata.create_all(connection, checkfirst=False)
        connection.execute(insert(schema.versions), {"version_num": f"{schema.VERSION:04}"})
        store.add_choice(chosen)


def _bring_up_to_date(where: str | Path, path: Path | None, version: int, patience: float) -> None:
    from beltwright.book import migrations  # loads Alembic, which an up-to-date book does not need

    if path is not None:
        _must_be_a_file(path, write=True)
    store = _store(where, path, write=True, patience=patience)
    try:
        if path is None:
            with store.at_work() as connection:
                migrations.bring_up_to_date(connection)
            return
        back_up(store, _backup_name(path, version))
        # SQLite changes a table by making it anew and dropping the old one, to which others point meanwhile
        event.listen(store.engine, "connect", lambda connection, _: connection.execute("PRAGMA foreign_keys = OFF"))
        store.engine.dispose()
        with store.at_work() as connection:
            migrations.bring_up_to_date(connection)
            store.check()
    finally:
        store.close()


def _backup_name(path: Path, version: int) -> Path:
    name = f"{path.stem}-version-{version}{{}}{path.suffix}"
    names = (path.with_name(name.format(again)) for again in ("", *(f"-{count}" for count in range(2, 1000))))
    return next(name for name in names if not name.exists())
