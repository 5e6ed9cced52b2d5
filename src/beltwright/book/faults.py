"""What a database says when something fails, as the errors a person can act on. Imports no table."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from shutil import disk_usage
from typing import Final

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from beltwright.book.rows import Later, Misfit
from beltwright.errors import (
    BeltwrightError,
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
    "3D000": BookMissing, "28000": BookMissing, "28P01": BookMissing, "08": BookMissing, "57P": BookMissing,
    "53300": BookLocked, "XX001": BookDamaged, "XX002": BookDamaged, "42P01": BookDamaged, "42703": BookDamaged,
}


@contextmanager
def told_plainly(where: str, path: Path | None) -> Iterator[None]:
    """Whatever the database raises inside comes out as a `BookError` that names the book.

    where: the book as the person named it; path: its file, where it is one
    """
    try:
        yield
    except DBAPIError as problem:
        raise translate(problem.orig, where, path) from problem
    except sqlite3.Error as problem:
        raise translate(problem, where, path) from problem
    except Later as problem:
        raise message(BookNewer, where, str(problem)) from problem
    except Misfit as problem:
        raise message(BookDamaged, where, str(problem)) from problem
    except PoolTimeout as problem:
        raise BookLocked(f"{where} is busy: too many people at once. Try again.") from problem


def translate(problem: BaseException | None, where: str, path: Path | None) -> BeltwrightError:
    """The error for what a driver raised."""
    if isinstance(problem, sqlite3.Error):
        return _from_sqlite(problem, where, path)
    state = getattr(problem, "sqlstate", None)
    if state is None and type(problem).__name__ == "OperationalError":   # no server, so no code from it
        return BookMissing(f"the database server of {where} does not answer: check the address, or ask who runs it.")
    kind = _SQLSTATES.get(state or "") or _SQLSTATES.get((state or "")[:2]) or _SQLSTATES.get((state or "")[:3])
    return message(kind or BookError, where, str(problem).split("\n", 1)[0])


def _from_sqlite(problem: sqlite3.Error, where: str, path: Path | None) -> BeltwrightError:
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
        return disk_usage(path.parent).free < 64 * 1024   # less than the database writes at a time
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
