"""The whole book as lines, and back: every fact once, between any two stores, or a refusal that says which line."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from beltwright.book.opening import create_book, open_book
from beltwright.book.store import Store
from beltwright.book.transfer import export, take_in
from beltwright.errors import BookNewer, InputError, Refused
from beltwright.plant.drive import Belts
from beltwright.plant.settings import Settings
from tests.book.invented import DAY, MONDAY, event, job, make_up, reading


def fill(book: Store) -> None:
    """Something of everything: a renamed drive, corrections in any order, a job under way, choices changed."""
    fan, mill = make_up("FAN-12", belts=Belts("B", "B112", count=3)), make_up("MILL-4", name="Hammermühle")
    book.add_make_ups([fan, mill, make_up("FAN-21", drive_id=fan.drive_id, since=MONDAY + DAY)])
    opened = job(fan.drive_id)
    book.open_job(opened)
    book.add_event(event(opened.id, "done", "lock", at=MONDAY + DAY))
    book.add_event(event(opened.id, "undone", "lock"))
    wrong = reading(mill.drive_id, job_id=opened.id)
    moved = reading(fan.drive_id, supersedes=wrong.id, reason="wrong machine", extra={"gauge": "7"})
    book.note_many([moved, wrong, reading(fan.drive_id, 43.25, at=MONDAY - DAY)])
    book.change_settings(Settings("Mill", "inch", 2.5e-8, "$"), by="Bo")


def lines_of(book: Store) -> list[str]:
    out = io.StringIO()
    export(book, out)
    return out.getvalue().splitlines(keepends=True)


def everything(book: Store) -> tuple[Any, ...]:
    return (list(book.make_ups_recorded()), list(book.readings_of_plant(superseded=True)),
            list(book.readings_of_plant()), book.jobs(), list(book.events_recorded()), book.settings(), book.drives())


@pytest.fixture
def filled(book: Store) -> Store:
    fill(book)
    return book


def test_a_book_goes_to_any_other_store_and_comes_back(
        filled: Store, new_place: Callable[[], str], tmp_path: Path) -> None:
    lines = lines_of(filled)
    assert json.loads(lines[-1]) == {"fact": "end", "facts": len(lines) - 2}
    with (create_book(tmp_path / "other.book", Settings("x"), by="Bo") as file,
          create_book(new_place(), Settings("y"), by="Bo") as same_kind):
        for other in (file, same_kind):
            assert sum(take_in(other, lines).values()) == len(lines) - 2
            assert everything(other) == everything(filled)
            other.check()
        assert sum(take_in(filled, lines_of(file)).values()) == 1   # back home: only the choice made with the copy
        assert everything(filled)[:5] == everything(file)[:5]


def test_lines_taken_in_twice_change_nothing(filled: Store) -> None:
    before = lines_of(filled)
    assert not take_in(filled, before)
    assert lines_of(filled) == before
    later = reading(filled.drives()[0].drive_id)
    filled.note(later)
    assert not take_in(filled, before)
    assert filled.reading(later.id) == later


def test_an_export_is_of_one_moment(filled: Store, where: str) -> None:
    class Meanwhile(io.StringIO):
        def write(self, text: str) -> int:
            if '"fact":"make-up"' in text:
                with open_book(where, write=True) as other:
                    other.note(reading(other.drives()[0].drive_id))
            return super().write(text)

    out = Meanwhile()
    export(filled, out)
    assert out.getvalue().count('"fact":"reading"') == 3


def test_another_plant_s_book_is_not_mixed_in(filled: Store, new_place: Callable[[], str]) -> None:
    with create_book(new_place(), Settings("Quarry"), by="Bo") as quarry:
        quarry.add_make_up(make_up("CRUSHER-1"))
        before = everything(quarry)
        with pytest.raises(Refused, match="another plant's book"):
            take_in(quarry, lines_of(filled))
        assert everything(quarry) == before


def spoil(lines: list[str], place: int, **changes: Any) -> list[str]:
    fact = {**json.loads(lines[place]), **changes}
    return [*lines[:place], json.dumps(fact) + "\n", *lines[place + 1:]]


@pytest.mark.parametrize(("change", "words"), [
    (lambda lines: lines[:-1], "cut short"),
    (lambda lines: lines[:3], "cut short"),
    (lambda lines: [*lines[:-2], lines[-1]], "not whole"),
    (lambda lines: lines[1:], "no export of a book"),
    (lambda lines: lines[:0], "no export of a book"),
    (lambda lines: ["tag,name\n", *lines], "line 1 of the export is no fact"),
    (lambda lines: [*lines[:4], "[]\n", *lines[4:]], "line 5 of the export is no fact"),
    (lambda lines: [*lines[:4], lines[4][:40], *lines[5:]], "line 5 of the export is no fact"),
    (lambda lines: spoil(lines, 3, fact="weather"), "line 4 .*unknown kind of fact 'weather'"),
    (lambda lines: spoil(lines, 3, since="Monday"), "line 4 .*since: 'Monday' is not a time"),
    (lambda lines: spoil(lines, 3, colour="green"), "line 4 .*colour"),
])
def test_lines_that_are_not_whole_leave_nothing(
        filled: Store, tmp_path: Path, change: Callable[[list[str]], list[str]], words: str) -> None:
    with create_book(tmp_path / "other.book", Settings("x"), by="Bo") as other:
        with pytest.raises(InputError, match=words):
            take_in(other, change(lines_of(filled)))
        assert (other.drives(), other.jobs(), other.settings()) == ([], [], Settings("x"))


def test_lines_of_a_later_version(filled: Store) -> None:
    with pytest.raises(BookNewer, match="update this one"):
        take_in(filled, spoil(lines_of(filled), 0, version=99))
