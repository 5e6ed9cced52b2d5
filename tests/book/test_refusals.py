"""What is refused when a book is opened or used, each with one line that says what, where and what to do."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path
from uuid import UUID

import pytest

from beltwright.book import faults
from beltwright.book.opening import create_book, open_book
from beltwright.errors import (
    BookDamaged,
    BookError,
    BookFull,
    BookLocked,
    BookMissing,
    BookNewer,
    BookReadOnly,
)
from beltwright.plant.settings import Settings
from tests.book.conftest import NEEDS_SERVER
from tests.book.invented import make_up
from tests.book.server import Server
from tests.book.writer import TOGETHER, Writer, batch, no_mask

# --- what is there is not a book -------------------------------------------------------------------------------------

def refusal(where: str | Path, kind: type[BookError], *, write: bool = False) -> str:
    """The one line with which a book is refused."""
    with pytest.raises(kind) as told:
        open_book(where, write=write)
    assert type(told.value) is kind
    assert "\n" not in str(told.value)
    return str(told.value)


def test_there_is_no_book(tmp_path: Path) -> None:
    assert f"no book at {tmp_path}/plant.book" in refusal(tmp_path / "plant.book", BookMissing)
    assert "folder" in refusal(tmp_path, BookMissing)
    assert "no book at" in refusal(tmp_path / "none" / "plant.book", BookMissing)
    assert "not mysql://" in refusal("mysql://localhost/plant", BookMissing)
    with pytest.raises(BookMissing, match=r"no folder .*none"):
        create_book(tmp_path / "none" / "plant.book", Settings("Mill"), by="Ann")


def test_what_is_there_is_never_made_anew(where: str, drive: UUID) -> None:
    with pytest.raises(BookError, match="already"):
        create_book(where, Settings("Other"), by="Bo")
    with open_book(where) as book:
        assert book.drive(drive).drive.tag == "FAN-12"
        assert book.settings() == Settings("Mill")


@pytest.mark.parametrize(("content", "words"), [
    (b"", "is empty"), (b"tag,name\nFAN-12,fan\n", "damaged"), (b"SQLite format 3\x00" + bytes(4080), "damaged"),
    (b"PK\x03\x04" + bytes(9000), "damaged"),
])
def test_a_file_that_is_no_book(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "plant.book"
    path.write_bytes(content)
    for write in (False, True):
        assert words in refusal(path, BookDamaged, write=write)
    assert path.read_bytes() == content


def test_a_database_of_another_program(tmp_path: Path) -> None:
    path = tmp_path / "music.db"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE drives (id)")
    connection.commit()
    connection.close()
    before = path.read_bytes()
    assert "another program" in refusal(path, BookDamaged)
    assert path.read_bytes() == before


@NEEDS_SERVER
def test_a_server_without_a_book(server: Server) -> None:
    assert "start a new one" in refusal(server.new_database(), BookMissing)
    assert "does not answer" in refusal(f"postgresql://planner@/none?host={server.home}", BookMissing)


def test_a_book_of_a_later_version(where: str, drive: UUID) -> None:
    with open_book(where, write=True) as book, book.at_work() as connection:
        connection.do("UPDATE alembic_version SET version_num = '0099'")
    for write in (False, True):
        assert "later version" in refusal(where, BookNewer, write=write)


def test_a_record_of_a_later_version(where: str, drive: UUID) -> None:
    with open_book(where, write=True) as book:
        with book.at_work() as connection:
            connection.do("UPDATE make_ups SET content = ?", '{"tag": "FAN-12", "name": "fan", "colour": "green"}')
        with pytest.raises(BookNewer, match="colour"):
            book.drive(drive)


# --- damage ----------------------------------------------------------------------------------------------------------

@pytest.fixture
def filled(tmp_path: Path) -> Path:
    path = tmp_path / "plant.book"
    with create_book(path, Settings("Mill"), by="Ann") as book:
        fans = [make_up(f"FAN-{number}") for number in range(50)]
        book.add_make_ups(fans)
        book.note_many(one for fan in fans for key in range(10) for one in batch(fan.drive_id, key))
    return path


def read_all(path: Path) -> int:
    with open_book(path) as book:
        count = sum(len(some) for _, some in book.readings_of_plant()) + len(book.drives())
        book.check()
    return count


def test_any_damage_is_an_error_or_does_not_matter(filled: Path) -> None:
    """Bytes overwritten anywhere, or the end cut off: a plain refusal or the right answer, never another error."""
    whole = filled.read_bytes()
    right = read_all(filled)
    chance = random.Random(3)
    told = []
    for trial in range(80):
        damaged = bytearray(whole)
        if trial % 4 == 0:
            del damaged[chance.randrange(1, len(whole)):]
        else:
            start = chance.randrange(len(whole) - 2000)
            damaged[start:start + 2000] = chance.randbytes(2000)
        filled.write_bytes(damaged)
        try:
            assert read_all(filled) == right
        except BookError as problem:
            told.append(str(problem))
    assert len(told) > 60
    assert all(str(filled) in words and "\n" not in words for words in told)


# --- permission ------------------------------------------------------------------------------------------------------

NOBODY = 65534


class Shared:
    """A folder whose rights bind the writer: root's tests let it work as somebody else."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.book = folder / "plant.book"
        self.user = NOBODY if os.geteuid() == 0 else 0
        with create_book(self.book, Settings("Mill"), by="Ann") as book:
            fan = make_up("FAN-12")
            book.add_make_up(fan)
            book.note_many(batch(fan.drive_id, 0))
        self.order = {"where": self.book, "drive": fan.drive_id, "user": self.user, "first": 1, "past": 2}

    def rights(self, *, folder: int, book: int) -> None:
        self.book.chmod(book)
        self.folder.chmod(folder)


@pytest.fixture
def shared() -> Iterator[Shared]:
    with no_mask():
        folder = Path(tempfile.mkdtemp(prefix="beltwright-shared-"))   # not below pytest's, which only its owner enters
        try:
            yield Shared(folder)
        finally:
            folder.chmod(0o755)
            shutil.rmtree(folder)


@pytest.mark.parametrize(("folder", "book"), [(0o555, 0o644), (0o555, 0o666), (0o777, 0o444)])
def test_a_book_that_cannot_be_written_can_be_read(shared: Shared, writer: Writer, folder: int, book: int) -> None:
    shared.rights(folder=folder, book=book)
    assert writer.do(do="look", **shared.order) == [["kept", str(TOGETHER)]]
    assert [path.name for path in shared.folder.iterdir()] == ["plant.book"]   # nothing that would be in others' way
    (word, kind, told), = writer.do(do="note", **shared.order)
    assert (word, kind) == ("refused", "BookReadOnly")
    assert f"{shared.book} cannot be written" in told
    shared.rights(folder=0o777, book=0o666)
    assert writer.do(do="note", **shared.order) == [["kept", "1"]]


def test_a_book_that_cannot_be_read(shared: Shared, writer: Writer) -> None:
    shared.rights(folder=0o555, book=0o000)
    (word, kind, told), = writer.do(do="look", **shared.order)
    assert (word, kind) == ("refused", "BookReadOnly")
    assert "may not be read" in told


def test_a_folder_that_takes_no_new_book(shared: Shared, writer: Writer) -> None:
    shared.rights(folder=0o555, book=0o444)
    (word, kind, told), = writer.do(do="create", where=shared.folder / "new.book", user=shared.user)
    assert (word, kind) == ("refused", "BookReadOnly")
    assert str(shared.folder / "new.book") in told


def test_what_was_not_written_out_is_never_passed_over(shared: Shared, writer: Writer) -> None:
    """A writer was killed, then the folder made read-only: the newest readings stand in a file beside the book."""
    shared.rights(folder=0o777, book=0o666)
    writer.start(do="note", **{**shared.order, "past": 10**9})
    kept = len(writer.hear(kill_after=0.2))
    assert kept
    shared.rights(folder=0o555, book=0o444)
    said, = writer.do(do="look", **shared.order)
    if said[0] == "kept":
        assert int(said[1]) >= (kept + 1) * TOGETHER
    else:
        assert said[1] == "BookReadOnly"
    for beside in shared.folder.glob("plant.book-shm"):   # now in a copy, say, made without it
        beside.unlink()
    (word, kind, told), = writer.do(do="look", **shared.order)
    assert (word, kind) == ("refused", "BookReadOnly")
    assert str(shared.book) in told


@NEEDS_SERVER
@pytest.mark.parametrize(("code", "kind"), [
    ("53100", BookFull), ("55P03", BookLocked), ("25006", BookReadOnly), ("42501", BookReadOnly),
    ("XX001", BookDamaged), ("28P01", BookMissing), ("3D000", BookMissing), ("57P01", BookMissing),
    ("08006", BookMissing), ("22P05", BookError),
])
def test_what_a_server_says_is_said_plainly(code: str, kind: type[BookError]) -> None:
    from psycopg.errors import lookup

    told = faults.translate(lookup(code)("could not extend file: No space left on device"), "the mill", None)
    assert type(told) is kind
    assert "the mill" in str(told)
