"""Survey: drives as they can be read standing at the machine, handed in a sheet at a time.

Every bad cell is reported at once; good rows are kept, bad rows come back to be mended and handed in again; handing in
the same sheet twice changes nothing. A row adds to what the book knows of its drive: an empty cell leaves the earlier
answer, a dash takes it back. Knows no file format and no database.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from beltwright.desk.columns import COLUMNS, Answer, Column, by_header, header, understand
from beltwright.errors import Cell, SheetError, UnitError
from beltwright.plant.drive import Belts, Drive, MakeUp, Motor, Shaft, Sheave
from beltwright.plant.identity import loose, new_id
from beltwright.units import System

if TYPE_CHECKING:
    from beltwright.desk.face import Book

MEND_COLUMN: Final = "problem"
# typed into a cell to say that the earlier answer counts no more
NOTHING: Final = "-"
LONGEST_TAG: Final = 40
_NOBODY: Final[Mapping[str, Drive]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a sheet: its number as a person counts (the header is row 1) and its cells by column name."""

    number: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Understood:
    """A sheet read: the drives of the good rows, and what is wrong with the others."""

    drives: tuple[Drive, ...]
    problems: tuple[Cell, ...]
    bad: tuple[Row, ...]

    def to_mend(self) -> list[dict[str, str]]:
        """The bad rows as they were typed, with their problems in a last column, to be mended and handed in again."""
        return [{**row.cells, MEND_COLUMN: "; ".join(f"{cell.column}: {cell.problem}" for cell in self.problems
                                                     if cell.row == row.number)} for row in self.bad]


@dataclass(frozen=True, slots=True)
class HandedIn:
    """What became of a sheet: tags entered anew, changed, found as they were; and what is wrong with the rest."""

    entered: tuple[str, ...]
    changed: tuple[str, ...]
    same: tuple[str, ...]
    understood: Understood


def template(system: System) -> list[tuple[str, str, str]]:
    """The columns of an empty sheet: name, what is asked, where to read it or which words are accepted."""
    return [(header(column, system), column.ask, "; ".join(part for part in (column.look, _accepts(column)) if part))
            for column in COLUMNS]


def read_rows(rows: Iterable[Row], known: Mapping[str, Drive] = _NOBODY) -> Understood:
    """Understand the rows of a sheet. `SheetError` when its columns cannot be understood at all.

    known: the drives of the book by `loose` tag; a row adds to what is known of its drive
    """
    listed = list(rows)
    if not listed:
        raise SheetError("the sheet has no rows below its header")
    questions = _questions(listed[0].cells)
    drives: list[Drive] = []
    problems: list[Cell] = []
    bad: list[Row] = []
    tags: dict[str, int] = {}
    for row in listed:
        found, wrong = _read_row(row, questions, known)
        if found is not None:
            first = tags.setdefault(loose(found.tag), row.number)
            if first != row.number:
                wrong = [Cell(row.number, "tag", found.tag, f"stands in row {first} already: one row a drive")]
        if wrong or found is None:
            problems += wrong
            bad.append(row)
        else:
            drives.append(found)
    return Understood(tuple(drives), tuple(problems), tuple(bad))


def hand_in(book: Book, rows: Iterable[Row], *, by: str, at: datetime) -> HandedIn:
    """Put the drives of a sheet into the book: a new drive, a new make-up where something differs, or nothing."""
    listed = list(rows)
    with book.writing():
        known = {loose(make_up.drive.tag): make_up for make_up in book.drives_called(_tags(listed))}
        understood = read_rows(listed, {tag: make_up.drive for tag, make_up in known.items()})
        entered: list[str] = []
        changed: list[str] = []
        same: list[str] = []
        make_ups: list[MakeUp] = []
        for drive in understood.drives:
            before = known.get(loose(drive.tag))
            if before is not None and replace(before.drive, typed={}) == replace(drive, typed={}):
                same.append(drive.tag)
                continue
            (entered if before is None else changed).append(drive.tag)
            make_ups.append(MakeUp(new_id(), new_id() if before is None else before.drive_id, at, drive, by, at))
        book.add_make_ups(make_ups)
    return HandedIn(tuple(entered), tuple(changed), tuple(same), understood)


def _tags(rows: Iterable[Row]) -> set[str]:
    """The tags that stand in a sheet, right or wrong: whole plants are entered at once, and one drive at a time."""
    return {text.strip() for row in rows for name, text in row.cells.items() if name.strip().casefold() == "tag"}


def drive_from(cells: Mapping[str, str]) -> Drive:
    """One drive from named cells, as a form or the JSON face hands them; `SheetError` lists every bad cell."""
    row = Row(1, cells)
    drive, wrong = _read_row(row, _questions(cells))
    if wrong or drive is None:
        raise SheetError("; ".join(f"{cell.column}: {cell.problem}" for cell in wrong), wrong)
    return drive


def cells_of(drive: Drive) -> dict[str, str]:
    """A drive's answers as they were typed, by column name: what a form or an export shows."""
    return dict(drive.typed)


def _accepts(column: Column) -> str:
    if column.choices:
        return f"one of: {', '.join(column.choices)}"
    return {"yes or no": "yes or no", "date": "YYYY-MM-DD", "count": "a whole number"}.get(column.kind, "")


def _questions(cells: Mapping[str, str]) -> dict[str, tuple[Column, str | None]]:
    known = by_header()
    questions: dict[str, tuple[Column, str | None]] = {}
    wrong = []
    for name in cells:
        asked = name.strip().casefold()
        if asked == MEND_COLUMN or not asked:
            continue
        if asked in known:
            questions[name] = known[asked]
        else:
            near = difflib.get_close_matches(asked, known, n=1, cutoff=0.6)
            hint = f"did you mean {near[0]}?" if near else "the template lists those that are accepted"
            wrong.append(Cell(1, name, name, f"no such column; {hint}", tuple(near)))
    if not any(column.name == "tag" for column, _ in questions.values()):
        wrong.append(Cell(1, "tag", "", "the sheet has no column tag: every drive needs one"))
    if wrong:
        raise SheetError("the sheet's columns cannot be understood: " +
                         "; ".join(f"{cell.column or 'tag'}: {cell.problem}" for cell in wrong), wrong)
    return questions


def _read_row(row: Row, questions: Mapping[str, tuple[Column, str | None]],
              known: Mapping[str, Drive] = _NOBODY) -> tuple[Drive | None, list[Cell]]:
    answers: dict[str, Answer] = {}
    typed: dict[str, str] = {}
    came_from: dict[str, str] = {}
    wrong: list[Cell] = []
    for name, (column, unit) in questions.items():
        text = row.cells.get(name, "").strip()
        if not text:
            continue
        if text == NOTHING and column.path != "tag":
            came_from.setdefault(column.path, name)
            continue
        try:
            answer = understand(column, text, unit)
        except UnitError as error:
            wrong.append(Cell(row.number, name, text, str(error), error.accepted))
            continue
        if column.path in answers:
            wrong.append(Cell(row.number, name, text,
                              f"answered in {came_from[column.path]} already: fill one of them"))
            continue
        came_from[column.path] = name
        _put(answers, typed, name, text, column, answer)
    before = known.get(loose(str(answers.get("tag", ""))))
    if before is not None:
        answers["tag"] = typed["tag"] = before.tag   # `fan 12` is FAN-12, not its new name
        wrong += _keep(before, row.number, answers, typed, came_from)
    for needed in ("tag", "name"):
        if not answers.get(needed) and not any(cell.column == needed for cell in wrong):
            wrong.append(Cell(row.number, needed, "", f"every drive needs a {needed}"))
    if not wrong and not loose(str(answers["tag"])):
        wrong.append(Cell(row.number, "tag", str(answers["tag"]), "a tag needs a letter or a digit"))
    if not wrong and len(str(answers["tag"])) > LONGEST_TAG:
        wrong.append(Cell(row.number, "tag", str(answers["tag"]), f"a tag has at most {LONGEST_TAG} signs"))
    return (None if wrong else build(answers, typed)), wrong


def _put(answers: dict[str, Answer], typed: dict[str, str], name: str, text: str, column: Column,
         answer: Answer) -> None:
    answers[column.path] = answer
    typed[name.strip().casefold()] = text
    if column.marks:
        answers[column.marks[0]] = column.marks[1]


def _keep(before: Drive, number: int, answers: dict[str, Answer], typed: dict[str, str],
          came_from: Mapping[str, str]) -> list[Cell]:
    """What the book knows of the drive and the row does not answer stays; read anew from what was typed then."""
    wrong = []
    for name, text in before.typed.items():
        column, unit = by_header().get(name, (None, None))
        if column is None or column.path in came_from:
            continue
        try:
            _put(answers, typed, name, text, column, understand(column, text, unit))
        except UnitError as error:
            wrong.append(Cell(number, name, text, f"typed earlier: {error}"))
    return wrong


def build(answers: Mapping[str, Answer], typed: Mapping[str, str]) -> Drive:
    """The record from answers by dotted path."""
    parts: dict[str, dict[str, Any]] = {}
    for path, answer in answers.items():
        group, _, name = path.rpartition(".")
        parts.setdefault(group, {})[name] = answer

    def sheave(which: str) -> Sheave:
        return Sheave(shaft=Shaft(**parts.get(f"{which}.shaft", {})), **parts.get(which, {}))

    return Drive(motor=Motor(**parts.get("motor", {})), driver=sheave("driver"), driven=sheave("driven"),
                 belts=Belts(**parts.get("belts", {})), typed=dict(typed), **parts[""])


def rows_from(cells: Sequence[Mapping[str, str]], *, first: int = 2) -> list[Row]:
    """Rows numbered as a person sees them in a sheet, where the header is row 1; wholly empty ones are left out."""
    return [Row(number, row) for number, row in enumerate(cells, first)
            if any(cell.strip() for name, cell in row.items() if name != MEND_COLUMN)]
