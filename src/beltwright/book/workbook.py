"""XLSX files for `sheets`: read by calamine and written by xlsxwriter, both loaded only here.

A workbook is a zip of XML from who knows where: before it is given to the reader, its unpacked size and the place of
its farthest cell are looked at, for the reader makes room for every cell up to that one.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from posixpath import join, normpath
from typing import Any, Final
from xml.etree import ElementTree

from beltwright.book import cells
from beltwright.errors import Cell, InputError, SheetError

MOST_UNPACKED: Final = 300_000_000
MOST_CELLS: Final = 4_000_000
_AT_A_TIME: Final = 1 << 20
_PLACE: Final = re.compile(rb"""\sr\s*=\s*["']([A-Za-z]{1,3})(\d{1,10})""")
# a formula that came out as an error, and one that was never worked out: the reader gives nothing for either
_ERROR: Final = re.compile(rb"""<c\s[^>]*?\bt="e"[^>]*>""")
_NO_RESULT: Final = re.compile(rb"""(<c\s[^>]*>)\s*<f(?:\s[^>]*)?(?:/>|>[^<]*</f>)\s*(?:<v\s*/>|<v></v>)?\s*</c>""")
_RELATION: Final = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


def read(data: bytes, name: str, sheet: str | None) -> tuple[list[list[Any]], list[str]]:
    """Every row of a worksheet from its first, as values; and notes for the person."""
    from python_calamine import CalamineError, CalamineWorkbook, SheetVisibleEnum

    parts = _unpacked(data, name)
    _must_be_small(parts, name)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        shown = [page.name for page in book.sheets_metadata if page.visible == SheetVisibleEnum.Visible]
        wanted = sheet or next(iter(shown), None)
        if wanted not in book.sheet_names:
            raise SheetError(f"{name} has no sheet {wanted!r}: it has {', '.join(book.sheet_names) or 'none'}")
        lines = book.get_sheet_by_name(wanted).to_python(skip_empty_area=False)
    except CalamineError as problem:
        raise SheetError(f"{name} is not a workbook that can be read ({problem}): save it anew as XLSX, or as CSV"
                         ) from problem
    _must_have_results(parts, wanted, name)
    return lines, [f"{name}: only its sheet {wanted!r} was read"] if len(shown) > 1 and sheet is None else []


def write(columns: Sequence[str], rows: Iterable[Mapping[str, cells.Content]], title: str,
          notes: Sequence[tuple[str, ...]]) -> bytes:
    """A workbook with one sheet of rows and, where there are notes, a second one to read."""
    from xlsxwriter import Workbook

    out = io.BytesIO()
    with Workbook(out, {"in_memory": True, "default_date_format": "yyyy-mm-dd"}) as book:
        page = book.add_worksheet(title)
        bold = book.add_format({"bold": True})
        wide = book.add_format({"text_wrap": True, "valign": "top"})
        page.freeze_panes(1, 0)
        for place, column in enumerate(columns):
            page.write_string(0, place, column, bold)
            page.set_column(place, place, max(10, len(column) + 2))
        for number, row in enumerate(rows, 1):
            for place, column in enumerate(columns):
                _put(page, number, place, row.get(column))
        if notes:
            page = book.add_worksheet("what to fill in")
            for number, note in enumerate(notes):
                for place, text in enumerate(note):
                    page.write_string(number, place, text, wide)
            page.set_column(0, 0, 28)
            page.set_column(1, max(map(len, notes)), 56)
    return out.getvalue()


def _put(page: Any, row: int, column: int, value: cells.Content) -> None:
    if isinstance(value, str):
        if len(value) > cells.LONGEST_CELL:
            raise InputError(f"row {row + 1}: {value[:20]}... is longer than the cell of a spreadsheet can hold")
        page.write_string(row, column, cells.guarded(value) if value.startswith("'") else value)
    elif isinstance(value, datetime):
        page.write_string(row, column, cells.as_text(value))
    elif isinstance(value, date):
        page.write_datetime(row, column, value)
    elif value is not None:
        page.write_number(row, column, value)


# --- what is in the zip ----------------------------------------------------------------------------------------------

def _unpacked(data: bytes, name: str) -> dict[str, bytes]:
    """The XML parts, unpacked no farther than the limit whatever the zip claims about itself."""
    parts = {}
    room = MOST_UNPACKED
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            for entry in packed.infolist():
                with packed.open(entry) as part:
                    pieces = []
                    while piece := part.read(_AT_A_TIME):
                        room -= len(piece)
                        if room < 0:
                            raise SheetError(f"{name} unpacks to more than {MOST_UNPACKED // 1_000_000} MB: "
                                             "split it into several files")
                        pieces.append(piece)
                if entry.filename.casefold().endswith((".xml", ".rels")):
                    parts[entry.filename] = b"".join(pieces)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, RuntimeError, NotImplementedError, OSError, EOFError, ValueError,
            zlib.error) as problem:
        raise SheetError(f"{name} is damaged or locked with a password ({problem}): save it anew as XLSX, or as CSV"
                         ) from problem
    return parts


def _must_be_small(parts: Mapping[str, bytes], name: str) -> None:
    for part, xml in parts.items():
        if b"\x00" in xml:
            raise SheetError(f"{name} is written in a way that is not read here ({part}): save it as CSV")
        places = _PLACE.findall(xml)
        rows = max((int(number) for _, number in places), default=0)
        columns = max((_column(letters) for letters in {letters for letters, _ in places}), default=0)
        if rows > cells.MOST_ROWS or columns > cells.MOST_COLUMNS or rows * columns > MOST_CELLS:
            raise SheetError(f"{name} has a cell as far out as row {rows} or column {columns}: delete the empty rows "
                             "and columns beyond the table, or split it into several files")


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + letter - ord("A") + 1
    return number


def _must_have_results(parts: Mapping[str, bytes], sheet: str, name: str) -> None:
    xml = parts.get(_part_of(parts, sheet), b"")
    places = filter(None, map(_PLACE.search, _ERROR.findall(xml) + _NO_RESULT.findall(xml)))
    wrong = [Cell(int(place[2]), place[1].decode(), "formula", "has no result: type the value itself")
             for place in places]
    if wrong:
        more = f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""
        raise SheetError(f"{name} cannot be read: {wrong[0]}{more}", wrong)


def _part_of(parts: Mapping[str, bytes], sheet: str) -> str:
    """Which part of the zip holds a sheet: the workbook names a relation, the relations name the part."""
    try:
        book = ElementTree.fromstring(parts["xl/workbook.xml"])
        links = ElementTree.fromstring(parts["xl/_rels/workbook.xml.rels"])
    except (KeyError, ElementTree.ParseError):
        return ""
    target = {link.get("Id"): link.get("Target", "") for link in links}
    for page in book.iter():
        if page.tag.endswith("}sheet") and page.get("name") == sheet:
            return normpath(join("xl", target.get(page.get(_RELATION), ""))).lstrip("/")
    return ""
