"""Options that many commands share: which book, who, which units; and opening the book they name."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

from beltwright.errors import InputError

if TYPE_CHECKING:
    from beltwright.book.store import Store
    from beltwright.paper.press import Paper
    from beltwright.plant.settings import Settings
    from beltwright.units import System

F = TypeVar("F", bound=Callable[..., Any])


def _login() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (KeyError, OSError):   # a user without a name
        return ""


def book_option(command: F) -> F:
    """`--book`: where the plant's book is."""
    return click.option("--book", "where", envvar="BELTWRIGHT_BOOK", default="plant.book", show_default=True,
                        metavar="FILE", help="The plant's book.")(command)


def _named(_: click.Context, __: click.Parameter, by: str) -> str:
    if not by.strip():
        raise InputError("whose name goes on record? say it with --by NAME or BELTWRIGHT_BY")
    return by.strip()


def by_option(command: F) -> F:
    """`--by`: whose name goes on record."""
    return click.option("--by", envvar="BELTWRIGHT_BY", default=_login, callback=_named,
                        show_default="your login name",
                        metavar="NAME", help="Whose name goes on record.")(command)


def units_option(command: F) -> F:
    """`--units`: what the person reads."""
    return click.option("--units", "system", type=click.Choice(("si", "inch")),
                                help="Units to show; without it, the book's.")(command)


def json_option(command: F) -> F:
    """`--json`: for other programs."""
    return click.option("--json", "as_json", is_flag=True,
                                help="As JSON, the units in the names.")(command)


def paper_option(command: F) -> F:
    """`--paper`: the size of the paper in the printer."""
    return click.option("--paper", type=click.Choice(("a4", "letter")),
                        help="Size of the paper.  [default: by the units]")(command)


def size(paper: str | None, *, inches: bool) -> Paper:
    """The paper asked for, or the one that goes with the units."""
    return "us-letter" if paper == "letter" or (paper is None and inches) else "a4"


@contextmanager
def opened(where: str, *, write: bool = False) -> Iterator[Store]:
    """The book, open for the length of a command."""
    from beltwright.book.opening import open_book

    with open_book(where, write=write) as book:
        yield book


def units(system: str | None, settings: Settings) -> System:
    """The units asked for, or those of the plant."""
    return cast("System", system) if system else settings.system


def write_file(path: Path, data: bytes) -> None:
    """Write a file whole or not at all; `InputError` says why it cannot be."""
    with written(path) as half:
        half.write_bytes(data)


@contextmanager
def written(path: Path) -> Iterator[Path]:
    """A file to fill that takes its name when it is whole, and is gone when it is not; `InputError` says why."""
    half = path.with_name(f".{path.name}.half")
    try:
        yield half
        half.replace(path)
    except OSError as problem:
        half.unlink(missing_ok=True)
        raise InputError(f"{path} could not be written: {problem.strerror}") from problem
    except BaseException:
        half.unlink(missing_ok=True)
        raise
