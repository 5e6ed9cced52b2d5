"""Fixtures of the book's tests: a place for a new book, and a new book, on each store."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from uuid import UUID

import pytest

from beltwright.book.opening import create_book
from beltwright.book.store import Store
from beltwright.plant.settings import Settings
from tests.book.invented import make_up
from tests.book.server import Server, programs
from tests.book.writer import Writer

NEEDS_SERVER = pytest.mark.skipif(programs() is None, reason="no PostgreSQL server is installed")
STORES = ("sqlite", pytest.param("postgresql", marks=NEEDS_SERVER))


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    folder = programs()
    assert folder is not None, "no PostgreSQL server is installed"
    running = Server(folder)
    yield running
    running.stop()


@pytest.fixture(params=STORES)
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], str]:
    """Each call: where a new book can be made, on this store."""
    if request.param == "sqlite":
        count = iter(range(1000))
        return lambda: str(tmp_path / f"plant {next(count)} #1?.book")
    postgresql: Server = request.getfixturevalue("server")
    return postgresql.new_database


@pytest.fixture
def where(new_place: Callable[[], str]) -> str:
    return new_place()


@pytest.fixture
def book(where: str) -> Iterator[Store]:
    with create_book(where, Settings("Pellet mill"), by="Ann") as store:
        yield store


@pytest.fixture(scope="session")
def writer() -> Iterator[Writer]:
    with Writer() as ready:
        yield ready


@pytest.fixture
def drive(where: str) -> UUID:
    """The only drive of a book that is closed again."""
    with create_book(where, Settings("Mill"), by="Ann") as book:
        fan = make_up("FAN-12")
        book.add_make_up(fan)
    return fan.drive_id
