"""Sheets in and out: CSV and XLSX files as rows of text cells, and rows as files.

Neutral: it knows columns and rows, not what they mean. A cell comes as the text a person sees or typed: numbers of a
spreadsheet with a decimal point, dates as YYYY-MM-DD, yes and no. What cannot be read for certain is refused, every bad
place at once; nothing is guessed or left out. Files from others are read within limits. Imports no store and no table.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from beltwright.book.cells import LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Content, as_text, guarded, unguarded
from beltwright.errors import Cell, InputError, SheetError

MOST_BYTES: Final = 50_000_000
_ZIP: Final = b"PK\x03\x04"
_DELIMITERS: Final = (";", "\t", ",")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet as read.

    rows:  every row below the header, also empty ones, so that counting from `first` gives the row's number
    first: number of the first of them as a person counts, the sheet's first row being 1
    notes: what the person should know about how it was read
    """

    columns: tuple[str, ...]
    rows: tuple[dict[str, str], ...]
    first: int
    notes: tuple[str, ...] = ()


def read_sheet(path: Path, *, sheet: str | None = None) -> Sheet:
    """Read a CSV or XLSX file; `sheet` names one of several in a workbook, else the first that is not hidden."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(f"{path} is larger than {MOST_BYTES // 1_000_000} MB: split it into several files")
        data = path.read_bytes()
    except FileNotFoundError:
        raise InputError(f"there is no file {path}") from None
    except OSError as problem:
        raise InputError(f"{path} could not be read: {problem.strerror}") from problem
    return read_bytes(data, str(path), sheet=sheet)


def read_bytes(data: bytes, name: str, *, sheet: str | None = None) -> Sheet:
    """The same from bytes, as a web page hands them over; what they are is seen in them, not in the name."""
    if len(data) > MOST_BYTES:
        raise InputError(f"{name} is larger than {MOST_BYTES // 1_000_000} MB: split it into several files")
    if data.startswith(_ZIP):
        from beltwright.book import workbook

        lines, notes = workbook.read(data, name, sheet)
        return _with_header([[unguarded(as_text(cell)) for cell in line] for line in lines], name, notes, padded=True)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise InputError(f"{name} is a workbook of the old kind, or one with a password: save it as XLSX or CSV")
    text, notes = _decoded(data, name)
    return _with_header(_csv_lines(text, name), name, notes, padded=False)


# --- reading ---------------------------------------------------------------------------------------------------------

def _decoded(data: bytes, name: str) -> tuple[str, list[str]]:
    marked = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if marked else ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" in text:
            break
        notes = [] if encoding != "cp1252" else [
            f"{name} is not in UTF-8 and was read as Windows-1252: see whether letters with accents came out right"]
        return text, notes
    raise SheetError(f"{name} is neither a text file nor an XLSX workbook: save the sheet as CSV (UTF-8) or XLSX")


def _csv_lines(text: str, name: str) -> list[list[str]]:
    first, _, rest = text.partition("\n")
    told = re.fullmatch(r"sep=(.)\r?", first)   # how some spreadsheets say which sign stands between cells
    delimiter = told[1] if told else _delimiter(text)
    reader = csv.reader(io.StringIO(rest if told else text, newline=""), delimiter=delimiter, strict=True)
    lines: list[list[str]] = [[""]] if told else []
    try:
        for line in reader:
            lines.append([unguarded(cell.strip()) for cell in line])
            _within_limits(len(lines), len(line), name)
    except csv.Error as problem:
        raise SheetError(f"{name}, near row {len(lines) + 1}: {problem}: see that quotation marks come in pairs"
                         ) from None
    return lines


def _delimiter(text: str) -> str:
    """The sign between the cells, by the header alone: no decimal comma stands there."""
    for line in text.splitlines():
        header = re.sub(r'"[^"]*"', "", line)
        if header.strip(" \t;,"):
            return max(_DELIMITERS, key=header.count)
    return ","


def _within_limits(rows: int, columns: int, name: str) -> None:
    if rows > MOST_ROWS or columns > MOST_COLUMNS:
        raise SheetError(f"{name} has more than {MOST_ROWS} rows or {MOST_COLUMNS} columns: split it into several "
                         "files")


def _with_header(lines: list[list[str]], name: str, notes: list[str], *, padded: bool) -> Sheet:
    """The first line with anything in it is the header; below it, every cell belongs to a named column."""
    at = next((place for place, line in enumerate(lines) if any(line)), None)
    if at is None:
        raise SheetError(f"{name} is empty: the first row holds the names of the columns")
    header = [" ".join(cell.split()) for cell in lines[at]]
    wrong = [Cell(at + 1, column, column, "this column is there twice")
             for place, column in enumerate(header) if column and column in header[:place]]
    rows = []
    for number, line in enumerate(lines[at + 1:], at + 2):
        if not padded and len(line) > len(header):
            wrong.append(Cell(number, "", str(line[-1]), f"{len(line)} cells under {len(header)} columns: a cell that "
                              "holds the sign between cells (a decimal comma?) must stand in quotation marks"))
            continue
        for column, cell in zip(header, line, strict=False):
            if cell and not column:
                wrong.append(Cell(number, "", cell, "this column has no name in the header"))
            elif len(cell) > LONGEST_CELL:
                wrong.append(Cell(number, column, f"{cell[:20]}...", f"more than {LONGEST_CELL} signs"))
        filled = line + [""] * (len(header) - len(line))
        rows.append({column: cell for column, cell in zip(header, filled, strict=False) if column})
    if wrong:
        raise SheetError(f"{name} cannot be read: {wrong[0]}" + _and_more(len(wrong)), wrong)
    while rows and not any(rows[-1].values()):
        rows.pop()
    return Sheet(tuple(filter(None, header)), tuple(rows), at + 2, tuple(notes))


def _and_more(count: int) -> str:
    return "" if count == 1 else f" (and {count - 1} more)"


# --- writing ---------------------------------------------------------------------------------------------------------

def write_sheet(path: Path, columns: Sequence[str], rows: Iterable[Mapping[str, Content]], *,
                title: str = "sheet", notes: Sequence[tuple[str, ...]] = ()) -> None:
    """Write a file, CSV or XLSX by its name; what was there before is only replaced by a whole new file.

    notes: rows of explanation, first cell the column; on a second sheet in XLSX, left out in CSV, which has no place
    """
    kind = path.suffix.casefold().lstrip(".")
    if kind not in ("csv", "xlsx"):
        raise InputError(f"{path}: a sheet is written as .csv or .xlsx")
    data = sheet_bytes(kind, columns, rows, title=title, notes=notes)
    half = path.with_name(f".{path.name}.half")
    try:
        half.write_bytes(data)
        half.replace(path)
    except OSError as problem:
        half.unlink(missing_ok=True)
        raise InputError(f"{path} could not be written: {problem.strerror}") from problem


def sheet_bytes(kind: str, columns: Sequence[str], rows: Iterable[Mapping[str, Content]], *,
                title: str = "sheet", notes: Sequence[tuple[str, ...]] = ()) -> bytes:
    """The same as bytes, for a page to hand out. Text stays text: no cell becomes a formula."""
    if kind == "xlsx":
        from beltwright.book import workbook

        return workbook.write(columns, rows, title, notes)
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(map(guarded, columns))
    writer.writerows([_csv_cell(row.get(column)) for column in columns] for row in rows)
    return out.getvalue().encode("utf-8-sig")   # with the mark by which spreadsheets know it is UTF-8


def _csv_cell(value: Content) -> str:
    if isinstance(value, str):
        return guarded(value)
    return "" if value is None else repr(value) if isinstance(value, float) else as_text(value)
