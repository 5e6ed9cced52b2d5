"""The error tree: everything Beltwright refuses, and why.

    BeltwrightError
    ├── InputError            what was typed or handed in cannot be read
    │   ├── UnitError             a quantity without a unit, with an unknown one, or ambiguous
    │   └── SheetError            cells of a sheet, all of them at once
    ├── OutOfRange            a number outside a published table or a formula's validity
    ├── Infeasible            no drive can look like this (geometry)
    ├── NotKnown              something that has to be read at the machine first
    ├── Refused               a rule of the trade stands in the way (isolation, matched set, ...)
    └── BookError             the plant's record on disk
        ├── BookMissing           no such book
        ├── BookLocked            somebody else is writing and did not finish in time
        ├── BookDamaged           not a book, or no longer one
        ├── BookNewer             written by a later version of Beltwright
        ├── BookReadOnly          the file or its folder cannot be written
        ├── BookFull              the disk has no room left
        └── Unknown               no drive, reading or job of that name in the book

A message is one or two plain sentences: what was wrong, where, and what is accepted. Nothing here knows an exit
code or an HTTP status; each edge translates once. This module imports nothing of Beltwright.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


class BeltwrightError(Exception):
    """Anything Beltwright refuses, with a message fit to be shown to the person as it stands.

    accepted: where the message lists what would be taken, the same for programs to choose from
    """

    def __init__(self, message: str = "", *, accepted: Iterable[str] = ()) -> None:
        super().__init__(message)
        self.accepted = tuple(accepted)


class InputError(BeltwrightError):
    """What was typed or handed in cannot be read."""


class UnitError(InputError):
    """A quantity without a unit, with an unknown unit, or ambiguous."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a sheet that cannot be read: where it stands, what was typed, what is wrong and accepted."""

    row: int
    column: str
    typed: str
    problem: str
    accepted: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"row {self.row}, {self.column}: {self.typed!r}: {self.problem}"


class SheetError(InputError):
    """Cells of a sheet that cannot be read, all of them at once."""

    def __init__(self, message: str, cells: Sequence[Cell] = ()) -> None:
        self.cells = tuple(cells)
        super().__init__(message, accepted=self.cells[0].accepted if len(self.cells) == 1 else ())


class OutOfRange(BeltwrightError):
    """A number outside a published table or outside a formula's validity."""


class Infeasible(BeltwrightError):
    """No drive can look like this."""


class NotKnown(BeltwrightError):
    """Something that has to be read at the machine first."""


class Refused(BeltwrightError):
    """A rule of the trade stands in the way."""


class BookError(BeltwrightError):
    """The plant's record on disk cannot be used as asked."""


class BookMissing(BookError):
    """No such book."""


class BookLocked(BookError):
    """Somebody else is writing and did not finish in time."""


class BookDamaged(BookError):
    """Not a book, or no longer one."""


class BookNewer(BookError):
    """Written by a later version of Beltwright."""


class BookReadOnly(BookError):
    """The file or its folder cannot be written."""


class BookFull(BookError):
    """The disk has no room left."""


class Unknown(BookError):
    """No drive, reading or job of that name in the book."""
