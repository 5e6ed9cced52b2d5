"""What was noted at a drive, as it was noted: every reading by kind, the newest first, each to be corrected by name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from beltwright.book.enclosed import PICTURES
from beltwright.plant.reading import KINDS, Field, Reading, Value
from beltwright.units import System, show

# readings of a kind that a page shows, the newest
MOST: Final = 200
_DIGITS: Final[dict[str, int]] = {"length": 2, "force": 1, "angle": 2}


@dataclass(frozen=True, slots=True)
class Entry:
    """A reading as noted, its photos and clips by name and word, and where it is put right."""

    when: str
    state: str
    values: tuple[str, ...]
    by: str
    note: str
    files: tuple[tuple[str, str], ...]
    mend: str


@dataclass(frozen=True, slots=True)
class History:
    """The readings of one kind, the newest first."""

    kind: str
    title: str
    columns: tuple[str, ...]
    entries: tuple[Entry, ...]
    left_out: str
    count: str


def histories(readings: Sequence[Reading], system: System) -> tuple[History, ...]:
    """The readings of a drive by kind, in the order of the kinds."""
    by_kind: dict[str, list[Reading]] = {}
    for reading in readings:
        by_kind.setdefault(reading.kind, []).append(reading)
    return tuple(_history(name, some, system) for name in KINDS if (some := by_kind.get(name)))


def _history(name: str, readings: Sequence[Reading], system: System) -> History:
    kind = KINDS[name]
    shown = readings[-MOST:]
    fields = [field for field in kind.fields if any(field.name in reading.values for reading in shown)]
    return History(
        name, kind.title, tuple(field.name.replace("_", " ") for field in fields),
        tuple(_entry(reading, fields, system) for reading in reversed(shown)),
        f"{len(readings) - MOST:,} older" if len(readings) > MOST else "",
        f"{len(readings):,} reading{'s' if len(readings) != 1 else ''}")


def _entry(reading: Reading, fields: Sequence[Field], system: System) -> Entry:
    return Entry(f"{reading.taken_at:%Y-%m-%d %H:%M}", reading.state,
                 tuple(value_text(field, reading.values.get(field.name), system) for field in fields),
                 reading.by, reading.note, _files(reading), f"/readings/{reading.id}")


def _files(reading: Reading) -> tuple[tuple[str, str], ...]:
    """The photos and clips of a reading: where each is shown, and a word for it. A note's clip is shown as heard."""
    return tuple((f"/files/{name}", "photo") if name.rpartition(".")[2] in PICTURES else
                 (f"/heard/{reading.id}" if reading.kind == "frequency" else f"/files/{name}", "clip")
                 for name in reading.extra.get("files", "").split())


def value_text(field: Field, value: Value | None, system: System) -> str:
    """A value as a person reads it; nothing where none was noted."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) or field.kind == "count":
        return str(value)
    return show(value, field.kind, system, digits=_DIGITS.get(field.kind))
