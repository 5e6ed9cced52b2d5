"""The plant's choices in their table: the newest row counts, the earlier ones stay on record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Self
from uuid import UUID

from beltwright.book import rows
from beltwright.book.databases import Connection, Row
from beltwright.plant import identity
from beltwright.plant.settings import Settings

_COLUMNS = "id, content, noted_at, noted_by"


@dataclass(frozen=True, slots=True)
class Chosen:
    """What was chosen, when and by whom. A book is known by the id of its first choice, made when the book was."""

    id: UUID
    settings: Settings
    at: datetime
    by: str

    @classmethod
    def here(cls, settings: Settings, by: str) -> Self:
        """A choice made here and now."""
        return cls(identity.new_id(), settings, identity.now(), by)


def add(connection: Connection, chosen: Chosen) -> bool:
    """Insert a choice unless it is there."""
    for row in connection.ask(f"SELECT {_COLUMNS} FROM settings WHERE id = ?", chosen.id):
        rows.must_be_same(_chosen(connection, row), chosen, "choice of settings")
        return False
    connection.do(f"INSERT INTO settings ({_COLUMNS}) VALUES (?, ?, ?, ?)", chosen.id,
                  rows.text_of(rows.to_json(chosen.settings)), rows.at(chosen.at), rows.plain(chosen.by))
    return True


def now(connection: Connection) -> Settings:
    """The newest choice."""
    newest, = connection.ask(f"SELECT {_COLUMNS} FROM settings ORDER BY number DESC LIMIT 1")
    return _chosen(connection, newest).settings


def as_recorded(connection: Connection) -> Iterator[Chosen]:
    """Every choice in the order in which it was recorded."""
    for row in connection.ask(f"SELECT {_COLUMNS} FROM settings ORDER BY number"):
        yield _chosen(connection, row)


def _chosen(connection: Connection, row: Row) -> Chosen:
    get = connection.database
    return Chosen(get.get_id(row[0]), rows.from_text(Settings, row[1]), get.get_time(row[2]), row[3])
