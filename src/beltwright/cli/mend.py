"""What could not be read of a sheet: every bad cell in a table, the bad rows in a file to mend and hand in again."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from beltwright.cli import screen
from beltwright.cli.table import Column, table
from beltwright.errors import Cell, InputError, SheetError

_MEND: Final = "-mend"
# cells listed on the screen; the file has all of them
_LISTED: Final = 40


def report(sheet: Path, columns: Sequence[str], problems: Sequence[Cell], rows: Sequence[Mapping[str, str]],
           to: Path | None) -> None:
    """List the bad cells, write the bad rows, and leave with an error that says where; nothing when all is good."""
    if not rows:
        return
    from beltwright.book.sheets import write_sheet
    from beltwright.desk.survey import MEND_COLUMN

    screen.show(["", *cell_lines(problems)])
    path = to or mend_file(sheet)
    write_sheet(path, [name for name in columns if name != MEND_COLUMN] + [MEND_COLUMN], rows, title="mend")
    many = "1 row needs" if len(rows) == 1 else f"{len(rows)} rows need"
    raise InputError(f"{many} mending: {path} has them; mend them there and hand that file in. The others are kept.")


@contextmanager
def told() -> Iterator[None]:
    """A sheet refused whole says every place on the error stream, before the one line that sums it up."""
    try:
        yield
    except SheetError as problem:
        if len(problem.cells) > 1:
            sys.stderr.write("".join(f"{line}\n" for line in cell_lines(problem.cells)))
            raise SheetError(f"the sheet was not read: {len(problem.cells)} cells stand in the way; nothing of it "
                             "was kept") from None
        raise


def cell_lines(cells: Sequence[Cell]) -> list[str]:
    """Bad cells as a table."""
    rows = [(str(cell.row), cell.column, cell.typed, cell.problem) for cell in cells[:_LISTED]]
    lines = table((Column("row", "right"), Column("column", least=12), Column("typed", least=8),
                   Column("what is wrong, and what is accepted", least=24)), rows, width=screen.width(),
                  signs=screen.signs())
    more = len(cells) - _LISTED
    return [*lines, f"and {more} more"] if more > 0 else lines


def mend_file(sheet: Path) -> Path:
    """Beside the sheet, `-mend` in its name; the sheet itself when it is such a file; never over another one."""
    suffix = ".csv" if sheet.suffix.casefold() != ".xlsx" else ".xlsx"
    if sheet.stem.partition(_MEND)[1]:
        return sheet.with_suffix(suffix)
    names = (sheet.with_name(f"{sheet.stem}{_MEND}{again}{suffix}")
             for again in ("", *(f"-{count}" for count in range(2, 1000))))
    return next(name for name in names if not name.exists())
