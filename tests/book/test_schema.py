"""A book made at once and one made by the migrations are the same book; an older one is brought up to date safely."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine

from beltwright.book import migrations, opening
from beltwright.book.opening import create_book, open_book
from beltwright.book.store import Store
from beltwright.errors import BookError, BookLocked, BookMissing
from beltwright.plant.settings import Settings
from tests.book.conftest import NEEDS_SERVER
from tests.book.invented import event, job, make_up, reading
from tests.book.server import Server

NEWEST = migrations.newest()
NEXT = f'''
"""Jobs may be paused; a drive has a colour."""
import sqlalchemy as sa
from alembic import op

revision = "{NEWEST + 1:04}"
down_revision = "{NEWEST:04}"

def upgrade():
    op.add_column("drives", sa.Column("colour", sa.Text))
    with op.batch_alter_table("jobs", recreate="always" if op.get_bind().dialect.name == "sqlite" else "auto") as jobs:
        jobs.add_column(sa.Column("paused", sa.Boolean))
'''


def tables(path: Path) -> set[tuple[str, str]]:
    """Every table and index as SQLite keeps its words, in one spacing."""
    connection = sqlite3.connect(path)
    found = connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    connection.close()
    return {(name, " ".join(sql.split())) for name, sql in found}


def test_the_newest_version_is_the_newest_migration() -> None:
    assert migrations.newest() == opening.VERSION


def test_made_at_once_or_by_migrations_is_one_book_on_sqlite(tmp_path: Path) -> None:
    create_book(tmp_path / "at once.book", Settings("Mill"), by="Ann").close()
    engine = create_engine(f"sqlite:///{tmp_path / 'step by step.book'}")
    with engine.begin() as connection:
        migrations.run_missing(connection)
    engine.dispose()
    assert len(tables(tmp_path / "at once.book")) > 10
    assert tables(tmp_path / "step by step.book") == tables(tmp_path / "at once.book")


@NEEDS_SERVER
def test_made_at_once_or_by_migrations_is_one_book_on_postgresql(server: Server) -> None:
    at_once, step_by_step = server.new_database(), server.new_database()
    create_book(at_once, Settings("Mill"), by="Ann").close()
    engine = create_engine(step_by_step.replace("postgresql:", "postgresql+psycopg:"))
    with engine.begin() as connection:
        migrations.run_missing(connection)
    engine.dispose()
    assert set(server.dump(step_by_step).split(";")) == set(server.dump(at_once).split(";"))


def test_opening_a_book_loads_nothing_heavy(tmp_path: Path) -> None:
    path = tmp_path / "plant.book"
    create_book(path, Settings("Mill"), by="Ann").close()
    code = ("import sys; from beltwright.book.opening import open_book; book = open_book(sys.argv[1]); book.drives();"
            "heavy = 'sqlalchemy alembic numpy psycopg python_calamine xlsxwriter asyncio'.split();"
            "print(sorted(set(heavy) & set(sys.modules)))")
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


# --- bringing up to date ---------------------------------------------------------------------------------------------

@pytest.fixture
def first_version(where: str) -> str:
    """A book of today's version with something in every table."""
    with create_book(where, Settings("Mill"), by="Ann") as book:
        fan = make_up("FAN-12")
        opened = job(fan.drive_id)
        book.add_make_up(fan)
        book.open_job(opened)
        book.add_event(event(opened.id, "done", "lock"))
        book.note(reading(fan.drive_id, job_id=opened.id))
    return where


@pytest.fixture
def next_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A later Beltwright, with one more migration than there is."""
    folder = tmp_path / "versions"
    shutil.copytree(migrations.FOLDER, folder, ignore=shutil.ignore_patterns("__*"))
    (folder / f"v{NEWEST + 1:04}.py").write_text(NEXT, encoding="utf-8")
    monkeypatch.setattr(migrations, "FOLDER", folder)
    monkeypatch.setattr(opening, "VERSION", NEWEST + 1)
    yield folder
    shutil.rmtree(folder)


def content(book: Store) -> tuple[object, ...]:
    drive, = book.drives()
    opened, = book.jobs()
    return drive, opened, book.events(opened.id), book.readings(drive.drive_id), book.settings()


@pytest.mark.parametrize("write", [True, False])
def test_an_older_book_is_brought_up_to_date_when_it_is_opened(
        first_version: str, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest, write: bool) -> None:
    with open_book(first_version) as book:
        before = content(book)
    request.getfixturevalue("next_version")
    with open_book(first_version, write=write) as book:
        assert content(book) == before
        book.check()
        with book.at_rest() as connection:
            assert connection.ask("SELECT version_num FROM alembic_version") == [(f"{NEWEST + 1:04}",)]
            assert connection.ask("SELECT colour, paused FROM drives, jobs") == [(None, None)]
    monkeypatch.setattr(opening, "_bring_up_to_date", None)   # once is enough
    open_book(first_version, write=write).close()


def test_the_older_book_is_kept_beside_the_new_one(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    path = tmp_path / "plant.book"
    with create_book(path, Settings("Mill"), by="Ann") as book:
        book.add_make_up(make_up("FAN-12"))
    (tmp_path / f"plant-version-{NEWEST}.book").write_text("somebody's own", encoding="utf-8")
    request.getfixturevalue("next_version")
    open_book(path).close()
    assert (tmp_path / f"plant-version-{NEWEST}.book").read_text(encoding="utf-8") == "somebody's own"
    monkeypatch.setattr(opening, "VERSION", NEWEST)
    with open_book(tmp_path / f"plant-version-{NEWEST}-2.book", write=True) as kept:
        assert [now.drive.tag for now in kept.drives()] == ["FAN-12"]


def test_a_migration_that_fails_changes_nothing(first_version: str, next_version: Path,
                                                monkeypatch: pytest.MonkeyPatch) -> None:
    (next_version / f"v{NEWEST + 1:04}.py").write_text(NEXT + "    raise ZeroDivisionError\n", encoding="utf-8")
    with pytest.raises(ZeroDivisionError):
        open_book(first_version, write=True)
    monkeypatch.setattr(opening, "VERSION", NEWEST)
    with open_book(first_version, write=True) as book:
        assert len(content(book)) == 5
        with book.at_rest() as connection:
            assert connection.ask("SELECT version_num FROM alembic_version") == [(f"{NEWEST:04}",)]
            assert len(connection.ask("SELECT * FROM drives")[0]) == 5
        assert book.note(reading(book.drives()[0].drive_id))


def test_a_book_in_use_is_not_brought_up_to_date_under_the_writer(
        first_version: str, request: pytest.FixtureRequest) -> None:
    with open_book(first_version, write=True) as writer, writer.writing():
        request.getfixturevalue("next_version")
        with pytest.raises(BookLocked):
            open_book(first_version, patience=0.1)


# --- backing up ------------------------------------------------------------------------------------------------------

def test_a_backup_is_whole_and_can_take_the_book_s_place(tmp_path: Path) -> None:
    with create_book(tmp_path / "plant.book", Settings("Mill"), by="Ann") as book:
        fan = make_up("FAN-12")
        book.add_make_up(fan)
        with open_book(book.where) as reader, book.writing():   # from a book open for reading, while another writes
            book.note(reading(fan.drive_id))
            opening.back_up(reader, tmp_path / "copy.book")
        with pytest.raises(BookError, match="already"):
            opening.back_up(book, tmp_path / "copy.book")
        with pytest.raises(BookMissing, match="no folder"):
            opening.back_up(book, tmp_path / "none" / "copy.book")
    with open_book(tmp_path / "copy.book", write=True) as copy:
        assert copy.drives() == [fan]
        assert copy.readings(fan.drive_id) == []
        with copy.writing(), open_book(copy.where) as other:   # whoever reads does not wait for whoever writes
            copy.note(reading(fan.drive_id))
            assert other.readings(fan.drive_id) == []


@NEEDS_SERVER
def test_a_book_on_a_server_is_backed_up_with_the_server_s_tool(
        server: Server, tmp_path: Path) -> None:
    make: Callable[[], Store] = lambda: create_book(server.new_database(), Settings("Mill"), by="Ann")  # noqa: E731
    with make() as book, pytest.raises(BookError, match="pg_dump"):
        opening.back_up(book, tmp_path / "copy.book")
