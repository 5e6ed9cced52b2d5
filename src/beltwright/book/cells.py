"""The cells of a sheet, whatever the file: what they hold, how large they may be, and that none becomes a formula.

Imports nothing of the book: `sheets` (files and CSV) and `workbook` (XLSX) both stand on it.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from typing import Final

Content = str | float | int | date | None

MOST_ROWS: Final = 200_000
MOST_COLUMNS: Final = 702          # A to ZZ
LONGEST_CELL: Final = 32_767       # what a spreadsheet's cell holds
# a cell that begins with one of these is a formula to a spreadsheet
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
_NUMBER: Final = re.compile(r"[+-]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?")


def as_text(value: object) -> str:
    """A spreadsheet's value as a person would type it.

    >>> as_text(1500.0), as_text(0.1 + 0.2), as_text(date(2026, 3, 1)), as_text(True)
    ('1500', '0.3', '2026-03-01', 'yes')
    """
    match value:
        case bool():
            return "yes" if value else "no"
        case float():
            return f"{value:.15g}"   # a spreadsheet keeps 15 digits and shows no more
        case datetime():
            return value.date().isoformat() if value.time() == time() else value.isoformat(" ", "seconds")
        case date() | time():
            return value.isoformat()
        case timedelta():
            return f"{value.total_seconds():.15g} s"
        case _:
            return str(value).strip()


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula; reading it back takes the guard off.

    >>> guarded("=1+1"), guarded("-5 mm"), guarded("-5.2"), guarded("FAN-12")
    ("'=1+1", "'-5 mm", '-5.2', 'FAN-12')
    """
    bare = text.lstrip("'")
    needs = bare.startswith(_FORMULA) and not (bare == text and _NUMBER.fullmatch(text))
    return f"'{text}" if needs else text


def unguarded(text: str) -> str:
    return text[1:] if text.startswith("'") and text.lstrip("'").startswith(_FORMULA) else text
