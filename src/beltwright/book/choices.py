"""The plant's choices in their table: the newest row counts, the earlier ones stay on record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Self
from uuid import UUID

from sqlalchemy import Connection, Row, insert, select

from beltwright.book import rows, schema
from beltwright.plant import identity
from beltwright.plant.settings import Settings

_IN_ORDER = select(schema.settings).order_by(schema.settings.c.number)


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
    for row in connection.execute(select(schema.settings).where(schema.settings.c.id == chosen.id)):
        rows.must_be_same(_chosen(row), chosen, "choice of settings")
        return False
    connection.execute(insert(schema.settings), {
        "id": chosen.id, "noted_at": chosen.at, "noted_by": rows.plain(chosen.by),
        "content": rows.text_of(rows.to_json(chosen.settings))})
    return True


def now(connection: Connection) -> Settings:
    """The newest choice."""
    newest = select(schema.settings).order_by(schema.settings.c.number.desc()).limit(1)
    return _chosen(connection.execute(newest).one()).settings


def as_recorded(connection: Connection) -> Iterator[Chosen]:
    """Every choice in the order in which it was recorded."""
    return map(_chosen, connection.execute(_IN_ORDER))


def _chosen(row: Row[Any]) -> Chosen:
    return Chosen(row.id, rows.from_text(Settings, row.content), row.noted_at, row.noted_by)
