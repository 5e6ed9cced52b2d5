"""Drives by the sheet: an empty one to take away, a filled one handed in, its bad cells mended in place.

Good rows go into the book at once. Bad rows come back on the page, each bad cell a box with what is wrong with it;
they travel in the form as they were typed, so nothing is kept here between one try and the next.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.datastructures import UploadFile

from beltwright.book.sheets import read_bytes, sheet_bytes
from beltwright.desk.columns import by_header
from beltwright.desk.survey import MEND_COLUMN, HandedIn, Row, hand_in, rows_from, template
from beltwright.errors import Cell, InputError, SheetError
from beltwright.plant.identity import now
from beltwright.units import System
from beltwright.web.addresses import drive_at
from beltwright.web.gate import MOST_FIELDS, MOST_FILES
from beltwright.web.visit import At, first_up

router = APIRouter()

# bad rows mended on one page; more are mended in the file
MOST_ROWS: Final = 100
_KINDS: Final = {"csv": "text/csv; charset=utf-8",
                 "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}


@dataclass(frozen=True, slots=True)
class BadCell:
    """A cell to mend: the name of its box, its column, what was typed, what is wrong with it."""

    box: str
    column: str
    typed: str
    problem: str


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row to mend, and its other cells to know it by."""

    number: str
    leave: str
    cells: tuple[BadCell, ...]
    others: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Renaming:
    """A column of the sheet that there is none of: what stands in it, and which one it may be."""

    box: str
    name: str
    problem: str
    example: str


@dataclass(frozen=True, slots=True)
class Became:
    """What became of drives, in a word, and where each is."""

    word: str
    drives: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class SheetPage:
    """Handing in a sheet, and what became of it."""

    by: str
    notes: tuple[str, ...]
    message: str
    became: tuple[Became, ...]
    bad: tuple[BadRow, ...]
    renamings: tuple[Renaming, ...]
    columns: tuple[tuple[str, str], ...]
    carried: str
    first: str
    too_many: str


@router.get("/sheet", name="sheet")
def sheet(at: At) -> HTMLResponse:
    """Take an empty sheet away, or hand a filled one in."""
    return at.show("sheet.html", _page(at.person.name))


@router.get("/sheet/empty.{kind}", name="empty_sheet")
def empty(at: At, kind: str, units: str = "") -> Response:
    """An empty sheet in the person's units."""
    if kind not in _KINDS:
        raise InputError("a sheet is CSV or XLSX")
    system: System = "inch" if (units or at.person.system) == "inch" else "si"
    asked = template(system)
    data = sheet_bytes(kind, [name for name, _, _ in asked], [], title="drives",
                       notes=[("column", "what is asked", "where to read it"), *asked])
    return Response(data, media_type=_KINDS[kind],
                    headers={"Content-Disposition": f'attachment; filename="drives-{system}.{kind}"'})


@dataclass(frozen=True, slots=True)
class Came:
    """What came with the form: the file or the rows carried along, who, and what was mended."""

    data: bytes
    name: str
    typed: Mapping[str, str]


@router.post("/sheet", name="hand_in_sheet", response_model=None)
async def came_in(request: Request, at: At) -> Response:
    """Hand a sheet in, or the mended rows of one."""
    from starlette.concurrency import run_in_threadpool

    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as form:   # read by the gate, and readable
        file = form.get("file")
        data, name = (await file.read(), file.filename or "the sheet") if isinstance(file, UploadFile) else (b"", "")
        typed = {key: text for key, text in form.items() if isinstance(text, str)}
    return await run_in_threadpool(_hand_in, at, Came(data, name, typed))


def _hand_in(at: At, came: Came) -> Response:
    by, first = at.signed(came.typed.get("by", "")), 2
    notes: tuple[str, ...] = ()
    try:
        if came.data:
            read = read_bytes(came.data, came.name)
            rows, first, notes = list(read.rows), read.first, read.notes
        else:
            rows, first = _mended(came.typed)
    except SheetError as problem:
        return at.show("sheet.html", _page(by, message=str(problem), notes=_places(problem.cells)), status=422)
    if not rows:
        return at.show("sheet.html", _page(by, message="Choose a CSV or XLSX file with one row a drive."), status=422)
    if not by:
        page = _page(by, message="A name is needed: every entry was made by somebody.", rows=rows, first=first)
        return at.show("sheet.html", page, status=422)
    numbered = _numbered(rows, first)
    try:
        handed = hand_in(at.book, numbered, by=by, at=now())
    except SheetError as problem:
        page = _page(by, message="The names of some columns are not known. Say what they are.", rows=rows,
                     first=first, renamings=_renamings(problem.cells, rows))
        return at.show("sheet.html", page, status=422)
    page = _page(by, notes=notes, handed=handed)
    answer = at.show("sheet.html", page, status=422 if handed.understood.bad else 200)
    at.remember(answer, name=by)
    return answer


def _page(by: str, *, message: str = "", notes: Sequence[str] = (), handed: HandedIn | None = None,
          rows: Sequence[Mapping[str, str]] = (), first: int = 2,
          renamings: tuple[Renaming, ...] = ()) -> SheetPage:
    bad = _bad_rows(handed) if handed else ()
    carried = _as_csv([{_NUMBER: str(row.number), **row.cells} for row in handed.understood.bad]) if handed else (
        _as_csv([{_NUMBER: str(number), **row} for number, row in enumerate(rows, first)]))
    left = len(bad) - MOST_ROWS
    return SheetPage(
        by, tuple(notes), message, _became(handed) if handed else (), bad[:MOST_ROWS], renamings,
        tuple((name, f"{name}: {column.ask}") for name, (column, _) in by_header().items()) if renamings else (),
        carried if bad or rows else "", str(first),
        f"{left} more rows are bad: mend these first, the others come next." if left > 0 else "")


# the number of a row in the person's own sheet, carried along with its cells
_NUMBER: Final = "row of the sheet"


def _became(handed: HandedIn) -> tuple[Became, ...]:
    return tuple(Became(word, tuple((tag, drive_at(tag)) for tag in tags)) for word, tags in (
        ("entered", handed.entered), ("changed", handed.changed), ("as they were", handed.same)) if tags)


def _bad_rows(handed: HandedIn) -> tuple[BadRow, ...]:
    found = []
    for row in handed.understood.bad:
        wrong = {cell.column: cell for cell in handed.understood.problems if cell.row == row.number}
        found.append(BadRow(
            str(row.number), f"leave:{row.number}",
            tuple(BadCell(f"cell:{row.number}:{name}", name, cell.typed, first_up(cell.problem))
                  for name, cell in wrong.items()),
            tuple((name, text) for name, text in row.cells.items()
                  if text and name not in wrong and name != MEND_COLUMN)))
    return tuple(found)


def _renamings(cells: Iterable[Cell], rows: Sequence[Mapping[str, str]]) -> tuple[Renaming, ...]:
    return tuple(Renaming(f"column:{cell.column}", cell.column, first_up(cell.problem),
                          next((row[cell.column] for row in rows if row.get(cell.column)), ""))
                 for cell in cells if cell.column and any(cell.column in row for row in rows))


def _mended(typed: Mapping[str, str]) -> tuple[list[dict[str, str]], int]:
    """The rows carried along, with what was typed into the boxes put in, and those to be left out left out."""
    rows = []
    for line in csv.DictReader(io.StringIO(typed.get("rows", ""), newline="")):
        row = {name: text or "" for name, text in line.items() if name}
        number = row.get(_NUMBER, "")
        if f"leave:{number}" in typed:
            continue
        for name in [name for name in row if f"column:{name}" in typed]:
            chosen = typed[f"column:{name}"]
            text = row.pop(name)
            if chosen:
                row[chosen] = text
        row |= {name: typed[f"cell:{number}:{name}"] for name in _boxes(typed, number)}
        rows.append(row)
    return rows, 2


def _boxes(typed: Mapping[str, str], number: str) -> list[str]:
    start = f"cell:{number}:"
    return [box.removeprefix(start) for box in typed if box.startswith(start)]


def _numbered(rows: Sequence[Mapping[str, str]], first: int) -> list[Row]:
    if any(_NUMBER in row for row in rows):
        return [Row(int(row[_NUMBER]), {name: text for name, text in row.items() if name != _NUMBER}) for row in rows]
    return rows_from(rows, first=first)


def _as_csv(rows: Sequence[Mapping[str, str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(dict.fromkeys(name for row in rows for name in row)))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _places(cells: Iterable[Cell]) -> tuple[str, ...]:
    return tuple(str(cell) for cell in cells)
