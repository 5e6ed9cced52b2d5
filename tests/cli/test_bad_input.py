"""What people and machines get wrong: one line that says what, where and what is accepted, and nothing is lost."""

from __future__ import annotations

import os
import pwd
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from beltwright.book import opening
from beltwright.book.sheets import read_sheet
from tests.bench.drives import SOUND
from tests.cli.conftest import Run, Said, write_csv


def one_line(said: Said, code: int) -> str:
    """The one line a failure leaves on the error stream."""
    assert said.code == code, said
    assert said.err.count("\n") == 1
    assert said.err.startswith("beltwright: ")
    return said.err


@pytest.mark.parametrize(("column", "typed", "says"), [
    ("motor_power_hp", "-10", "outside what is believed here"),
    ("motor_power_hp", "0", "outside what is believed here"),
    ("centre_in", "NaN", "is not a number"),
    ("centre_in", "42,4,4", "is not a number"),
    ("driver_datum_in", "125 m", "is outside what is believed here, 1.2 in to 157 in"),
    ("driver_datum_in", "1e400", "too large to be a measurement"),
    ("motor_speed_rpm", "1,750", "is ambiguous: type 1750 or 1.75"),
    ("belt_count", "three", "is not a whole number"),
    ("service", "ventilator", "is no driven machine of the service table"),
])
def test_a_bad_cell_is_named_and_the_good_rows_are_kept(run: Run, tmp_path: Path, column: str, typed: str,
                                                       says: str) -> None:
    run("new", "Test plant")
    sheet = write_csv(tmp_path / "drives.csv", SOUND, {**SOUND, "tag": "FAN-2", column: typed})
    said = run("survey", str(sheet))
    assert one_line(said, 2) == (f"beltwright: 1 row needs mending: {tmp_path / 'drives-mend.csv'} has them; mend them "
                                 "there and hand that file in. The others are kept.\n")
    listed = " ".join(said.out.split())
    assert column in listed
    assert "1 entered: FAN-1" in listed
    assert says in read_sheet(tmp_path / "drives-mend.csv").rows[0]["problem"]
    assert run("card", "FAN-1").code == 0
    assert run("card", "FAN-2").code == 3


def test_a_mended_file_goes_in_and_is_its_own_mend_file(run: Run, tmp_path: Path) -> None:
    run("new", "Test plant")
    rows = [SOUND, {**SOUND, "tag": "FAN-2", "belt_count": "x"}, {**SOUND, "tag": "FAN-3", "belt_count": "y"}]
    assert run("survey", str(write_csv(tmp_path / "drives.csv", *rows))).code == 2
    mend = tmp_path / "drives-mend.csv"
    mend.write_text(mend.read_text(encoding="utf-8-sig").replace(",x,", ",3,"), encoding="utf-8")
    said = run("survey", str(mend))
    assert "1 entered: FAN-2" in " ".join(said.out.split())
    assert [row["tag"] for row in read_sheet(mend).rows] == ["FAN-3"]
    # a mend file that waits is not written over by the next one
    another = write_csv(tmp_path / "drives.csv", {**SOUND, "tag": "FAN-4", "belt_count": "z"})
    assert run("survey", str(another)).code == 2
    assert [row["tag"] for row in read_sheet(tmp_path / "drives-mend-2.csv").rows] == ["FAN-4"]
    assert [row["tag"] for row in read_sheet(mend).rows] == ["FAN-3"]


def test_unknown_columns_are_listed_and_nothing_is_read(run: Run, tmp_path: Path) -> None:
    run("new", "Test plant")
    said = run("survey", str(write_csv(tmp_path / "drives.csv", {**SOUND, "colour": "red", "centre_mn": "600"})))
    assert said.code == 2
    assert "did you mean centre_mm?" in said.err
    assert said.err.splitlines()[-1].startswith("beltwright: the sheet was not read: 2 cells stand in the way")
    assert run("card", "FAN-1").code == 3


@pytest.mark.parametrize(("changes", "says"), [
    ({"belt_section": "Q", "belt_marking": ""}, "unknown belt section 'Q'"),
    ({"belt_marking": "Q112"}, "unknown belt section 'Q'"),
    # sheaves that would touch: no drive can look like this
    ({"centre_in": "5", "belt_marking": "", "belt_section": "B", "belt_standard": "rma"}, "distance between the"),
    ({"belt_marking": "B20", "centre_in": ""}, "belt is too short"),
])
def test_what_no_drive_can_be_is_said_on_the_card(run: Run, tmp_path: Path, changes: dict[str, str],
                                                  says: str) -> None:
    run("new", "Test plant")
    assert run("survey", str(write_csv(tmp_path / "drives.csv", {**SOUND, **changes}))).code == 0
    said = run("card", "FAN-1")
    assert said.code == 0
    assert says.casefold() in said.out.split("DOES NOT ADD UP")[1].split("\n\n")[0].casefold()
    assert "nan" not in said.out.casefold().split()
    assert "is not known" in one_line(run("working", "FAN-1", "force_run_in"), 1)


@pytest.mark.parametrize(("arguments", "says"), [
    (["survey", "nowhere.csv"], "there is no file nowhere.csv"),
    (["survey", "."], "could not be read"),
    (["readings", "in", "nowhere.xlsx"], "there is no file nowhere.xlsx"),
    (["import-book", "nowhere.jsonl"], "nowhere.jsonl could not be read"),
    (["card", "FAN-1", "--pdf", "no/such/folder/card.pdf"], "card.pdf could not be written"),
    (["template", "drives.pdf"], "a sheet is written as .csv or .xlsx"),
    (["template", "sound.csv"], "exists already"),
    (["note", "FAN-1", "force", "belt=1", "force=-3 N"], "outside what is believed here"),
    (["note", "FAN-1", "force", "belt=1", "force=12"], "has no unit"),
    (["note", "FAN-1", "force", "belt=1", "force=nan N"], "is not a number"),
    (["note", "FAN-1", "weight", "a=1"], "no kind of reading 'weight'"),
    (["note", "FAN-1", "force", "12 N"], "is not NAME=VALUE"),
    (["note", "FAN-1", "seen", "what=glazed", "--at", "soon"], "is not a date and time"),
    (["job", "open", "FAN-1", "paint"], "no kind of job 'paint'"),
    (["job", "show", "FAN-1"], "no job is open at FAN-1"),
    (["note", "FAN-1", "seen", "what=glazed", "--by", " "], "whose name goes on record?"),
    (["settings", "--energy-price", "cheap"], "is not a number"),
    (["working", "FAN-1", "colour"], "no figure 'colour' on the card"),
    (["labels", "--pdf", "no/such/labels.pdf"], "could not be written"),
])
def test_a_wrong_word_is_one_line(plant: Run, arguments: list[str], says: str) -> None:
    before = plant("export").out
    assert says in one_line(plant(*arguments), 2)
    assert plant("export").out == before


@pytest.mark.parametrize("arguments", [
    ["card", "FAN-9"], ["working", "FAN-9"], ["history", "FAN-9"], ["note", "FAN-9", "seen", "what=glazed"],
    ["job", "open", "FAN-9", "inspect"], ["labels", "FAN-9", "--pdf", "x.pdf"], ["record", "FAN-9"]])
def test_a_drive_there_is_none_of(plant: Run, arguments: list[str]) -> None:
    assert one_line(plant(*arguments), 3) == ("beltwright: there is no drive 'FAN-9' in the book: did you mean "
                                              "FAN-1?\n")


@pytest.mark.parametrize("arguments", [["plant"], ["card", "A"], ["survey", "sound.csv"], ["check"], ["backup"]])
def test_no_book(run: Run, tmp_path: Path, arguments: list[str]) -> None:
    write_csv(tmp_path / "sound.csv", SOUND)
    assert "there is no book at plant.book" in one_line(run(*arguments), 3)
    assert not (tmp_path / "plant.book").exists()


def test_a_book_is_never_made_over_another(plant: Run, tmp_path: Path) -> None:
    assert "there is something at plant.book already" in one_line(plant("new", "Other"), 3)
    (tmp_path / "copy.book").touch()
    assert "there is something at copy.book already" in one_line(plant("backup", "copy.book"), 3)
    assert (tmp_path / "copy.book").stat().st_size == 0
    assert plant("card", "FAN-1").code == 0


@pytest.mark.parametrize("how", ["text", "cut", "empty", "folder"])
def test_a_damaged_book(plant: Run, tmp_path: Path, how: str) -> None:
    book = tmp_path / "plant.book"
    if how == "text":
        book.write_text("tag,name\n" * 1000, encoding="utf-8")
    elif how == "cut":
        book.write_bytes(book.read_bytes()[:8192])
    elif how == "empty":
        book.write_bytes(b"")
    else:
        book.unlink()
        book.mkdir()
    for arguments in (["card", "FAN-1"], ["plant"], ["check"], ["note", "FAN-1", "seen", "what=glazed"]):
        assert "plant.book" in one_line(plant(*arguments), 3)


def test_a_book_from_a_later_version(plant: Run, tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "plant.book") as book:
        book.execute("UPDATE alembic_version SET version_num = '9000'")
    book.close()
    assert "later version" in one_line(plant("card", "FAN-1"), 3)
    assert "later version" in one_line(plant("note", "FAN-1", "seen", "what=glazed"), 3)


def test_a_locked_book(plant: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # the command waits for seconds; a test need not
    monkeypatch.setattr(opening.open_book, "__kwdefaults__", {"write": False, "patience": 0.05})
    other = sqlite3.connect(tmp_path / "plant.book", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    assert "locked" in one_line(plant("note", "FAN-1", "seen", "what=glazed"), 3)
    assert plant("card", "FAN-1").code == 0   # looking is not held up
    other.execute("ROLLBACK")
    other.close()
    assert plant("note", "FAN-1", "seen", "what=glazed").code == 0


@pytest.fixture
def locked_folder(plant: Run, tmp_path: Path) -> Iterator[Path]:
    """The book in a folder that another user may read and not write."""
    folder = Path(tempfile.mkdtemp(prefix="beltwright-locked-"))
    shutil.copy(tmp_path / "plant.book", folder / "plant.book")
    (folder / "plant.book").chmod(0o444)
    folder.chmod(0o555)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


def test_a_folder_that_cannot_be_written(locked_folder: Path) -> None:
    # all is loaded before the step down, for that user may not read where Beltwright is installed
    user = pwd.getpwnam("nobody").pw_uid
    code = f"""
import os, sys
from beltwright.cli.line import main
def run(*arguments):
    try: main(arguments)
    except SystemExit as left: print('code', left.code, flush=True)
run('card', 'FAN-1'); run('note', 'FAN-1', 'seen', 'what=purple'); run('backup', '/no/such/place')
run('new', 'Other', '--book', '/no/such/place')
if os.geteuid() == 0: os.setgid({user}); os.setuid({user})
print('-----', flush=True)
run('card', 'FAN-1'); run('note', 'FAN-1', 'seen', 'what=glazed'); run('backup', 'copy.book')
run('new', 'Other', '--book', 'other.book')
"""
    before = (locked_folder / "plant.book").read_bytes()
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=locked_folder, check=True,
                          env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "BELTWRIGHT_BY": "Ann"})
    answers = done.stdout.split("-----")[1]
    assert "run-in belts" in answers   # a card is shown all the same
    assert [line for line in answers.splitlines() if line.startswith("code")] == ["code 0", *["code 3"] * 3]
    assert done.stderr.splitlines()[-3].startswith("beltwright: plant.book cannot be written")
    assert "Traceback" not in done.stderr
    assert (locked_folder / "plant.book").read_bytes() == before
    assert not {path.name for path in locked_folder.iterdir()} & {"copy.book", "other.book"}
