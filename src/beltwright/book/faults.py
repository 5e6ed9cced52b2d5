"""What a database says when something fails, as the errors a person can act on. Knows no table."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from shutil import disk_usage
from typing import Final

from beltwright.book.databases import Database
from beltwright.book.rows import Later, Misfit
from beltwright.errors import (
    BookDamaged,
    BookError,
    BookFull,
    BookLocked,
    BookMissing,
    BookNewer,
    BookReadOnly,
)

# PostgreSQL's codes (its manual, appendix A), by whole code or by class
_SQLSTATES: Final = {
    "55P03": BookLocked, "40P01": BookLocked, "40001": BookLocked, "57014": BookLocked,
    "53100": BookFull, "25006": BookReadOnly, "42501": BookReadOnly,
    "3D000": BookMissing, "28000": BookMissing, "28P01": BookMissing,
    "53300": BookLocked, "XX001": BookDamaged, "XX002": BookDamaged, "42P01": BookDamaged, "42703": BookDamaged,
}
# the server ended the connection, or there is none
_GONE: Final = ("08", "57P", "XX000")
# less than SQLite writes at a time
_NO_ROOM: Final = 64 * 1024


@contextmanager
def told_plainly(database: Database) -> Iterator[None]:
    """Whatever the database raises inside comes out as a `BookError` that names the book."""
    try:
        yield
    except database.raises as problem:
        raise translate(problem, database.where, database.path) from problem
    except Later as problem:
        raise message(BookNewer, database.where, str(problem)) from problem
    except Misfit as problem:
        raise message(BookDamaged, database.where, str(problem)) from problem


def translate(problem: Exception, where: str, path: Path | None) -> BookError:
    """The error for what a driver raised."""
    if isinstance(problem, sqlite3.Error):
        return _from_sqlite(problem, where, path)
    state = _state(problem)
    if is_gone(problem):
        return BookMissing(f"the database server of {where} does not answer: check the address, or ask who runs it.")
    kind = _SQLSTATES.get(state) or _SQLSTATES.get(state[:3]) or _SQLSTATES.get(state[:2]) or BookError
    return message(kind, where, str(problem).split("\n", 1)[0])


def is_gone(problem: Exception) -> bool:
    """Whether the server is not there, or no longer."""
    if isinstance(problem, sqlite3.Error):
        return False
    state = _state(problem)   # where nobody answers, there is none
    return state.startswith(_GONE) or (not state and type(problem).__name__ == "OperationalError")


def _state(problem: Exception) -> str:
    return getattr(problem, "sqlstate", None) or ""


def _from_sqlite(problem: sqlite3.Error, where: str, path: Path | None) -> BookError:
    code = getattr(problem, "sqlite_errorcode", 0)
    reason = str(problem)
    match code & 0xFF:
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return message(BookLocked, where, reason)
        case sqlite3.SQLITE_FULL:
            return message(BookFull, where, reason)
        case sqlite3.SQLITE_CORRUPT | sqlite3.SQLITE_NOTADB | sqlite3.SQLITE_SCHEMA:
            return message(BookDamaged, where, reason)
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM | sqlite3.SQLITE_AUTH:
            return message(BookReadOnly, where, reason)
        case sqlite3.SQLITE_IOERR if path is not None and _no_room(path):
            return message(BookFull, where, reason)
        case sqlite3.SQLITE_CANTOPEN if path is not None and path.exists() and not os.access(path.parent, os.W_OK):
            return message(BookReadOnly, where, reason)
        case sqlite3.SQLITE_CANTOPEN:
            return message(BookMissing, where, reason)
    return message(BookError, where, reason)


def _no_room(path: Path) -> bool:
    try:
        return disk_usage(path.parent).free < _NO_ROOM
    except OSError:
        return False


def message(kind: type[BookError], where: str, reason: str) -> BookError:
    """One line: what is wrong with which book, and what to do."""
    words = {
        BookLocked: f"{where} is locked: another program is writing and did not finish in time. Try again.",
        BookFull: f"the disk of {where} is full: nothing was written. Make room and do it again.",
        BookDamaged: f"{where} is damaged ({reason}): put a backup in its place.",
        BookReadOnly: f"{where} cannot be written: it, or its folder, is read-only for you. "
                      "Ask for permission or copy it to a folder of your own.",
        BookNewer: f"{where} was written by a later version of Beltwright ({reason}): update this one.",
        BookMissing: f"there is no book at {where} ({reason}): check the name.",
    }
    return kind(words.get(kind, f"{where} could not be used: {reason}."))
