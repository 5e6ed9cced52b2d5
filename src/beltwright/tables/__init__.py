"""The published tables, one CSV file each, read once when first asked for.

A file starts with comment lines (`# title:`, `# source:`, `# trust:`, `# validity:`), then the column names, then a row
of units, then the rows. `source` holds keys of `sources.bib`; `trust` says how far to rely on the figures and may be
overridden row by row in a column `trust`. Numbers come out as SI, an empty cell as None. Imports `units` only.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final, Literal, cast

from beltwright.units import KINDS, to_si

Trust = Literal["read", "reprint", "derived", "memory", "practice"]

TRUST_WORDS: Final[Mapping[Trust, str]] = MappingProxyType({
    "read": "read in print",
    "reprint": "read in a reprint",
    "derived": "worked out from other rows",
    "memory": "from memory, not verified",
    "practice": "common practice, no source",
})

_TEXT: Final = {"-", "text"}
_UNIT_KIND: Final = {unit: kind for kind, units in reversed(KINDS.items()) for unit in units}


@dataclass(frozen=True, slots=True)
class Table:
    """A published table: its rows in SI, where it comes from and how far to trust it."""

    name: str
    title: str
    source: tuple[str, ...]
    trust: Trust
    validity: str
    columns: tuple[str, ...]
    rows: tuple[Mapping[str, float | str | None], ...]

    def column(self, name: str) -> tuple[float, ...]:
        """One column of numbers, in row order; `KeyError` if it is no column, `TypeError` if it holds text or gaps."""
        cells = [row[name] for row in self.rows]
        if not all(isinstance(cell, float) for cell in cells):
            raise TypeError(f"column {name} of table {self.name} holds text or gaps")
        return tuple(cast("list[float]", cells))

    def where(self, **wanted: float | str) -> tuple[Mapping[str, float | str | None], ...]:
        """The rows in which each named column equals what is wanted."""
        return tuple(row for row in self.rows if all(row[key] == value for key, value in wanted.items()))


@cache
def load(name: str) -> Table:
    """The table of that name (the file's name without `.csv`); `KeyError` if there is none.

    Unit row: any unit of `units.KINDS`, `-` for text, `1` for a plain number.
    """
    path = files(__name__) / f"{name}.csv"
    if not path.is_file():
        raise KeyError(f"no table {name}")
    lines = path.read_text(encoding="utf-8").splitlines()
    head: dict[str, str] = {}
    for line in lines:
        if line.startswith("#") and ":" in line:
            key, value = line[1:].split(":", 1)
            key = key.strip()
            head[key] = f"{head[key]} {value.strip()}" if key in head else value.strip()
    body = csv.reader(line for line in lines if line.strip() and not line.startswith("#"))
    columns = tuple(next(body))
    units = next(body)
    rows = []
    for cells in body:
        if len(cells) != len(columns):
            raise ValueError(f"table {name}: a row of {len(cells)} cells where {len(columns)} are needed: {cells}")
        rows.append(MappingProxyType({column: _cell(cell, unit)
                                      for column, cell, unit in zip(columns, cells, units, strict=True)}))
    return Table(name, head["title"], tuple(key.strip() for key in head["source"].split(",")),
                 cast(Trust, head["trust"]), head.get("validity", ""), columns, tuple(rows))


def _cell(cell: str, unit: str) -> float | str | None:
    text = cell.strip()
    if unit in _TEXT:
        return text or None
    if not text:
        return None
    return float(text) if unit == "1" else to_si(float(text), unit, _UNIT_KIND[unit])


@cache
def sources() -> Mapping[str, Mapping[str, str]]:
    """The entries of `sources.bib`: key to its fields (`title`, `author`, `year`, `note`, ...)."""
    entries: dict[str, dict[str, str]] = {}
    current: dict[str, str] = {}
    for raw in (files(__name__) / "sources.bib").read_text(encoding="utf-8").splitlines():
        line = raw.strip()
        if line.startswith("@"):
            kind, key = line[1:].rstrip(",").split("{")
            current = entries.setdefault(key.strip(), {"kind": kind})
        elif "=" in line:
            field, value = line.split("=", 1)
            current[field.strip()] = value.strip().rstrip(",").strip("{}")
    return MappingProxyType({key: MappingProxyType(fields) for key, fields in entries.items()})


def cite(key: str) -> str:
    """A source as one line a person can read; `KeyError` if `sources.bib` has no such key.

    >>> cite("mh31")
    "Machinery's Handbook, 31st ed., 2020"
    """
    entry = sources()[key]
    parts = [entry.get("author", ""), entry["title"], entry.get("edition", ""), entry.get("year", "")]
    return ", ".join(part for part in parts if part)
