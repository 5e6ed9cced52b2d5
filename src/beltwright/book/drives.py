"""Drives and their make-ups in the tables. Functions over a connection; the transaction is the store's matter."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import groupby
from typing import Any
from uuid import UUID

from sqlalchemy import Column, Connection, Row, Select, bindparam, insert, literal_column, select, update

from beltwright.book import rows, schema
from beltwright.errors import InputError, Refused, Unknown
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import loose

_MAKE_UP: tuple[Column[Any], ...] = tuple(
    schema.make_ups.c[name] for name in ("id", "drive_id", "since", "content", "noted_by", "noted_at"))
_NOW = select(*_MAKE_UP).join(schema.drives, schema.drives.c.make_up_id == schema.make_ups.c.id)
_IS_THERE: Select[Any] = select(literal_column("1")).where(schema.drives.c.id == bindparam("drive"))
# ids looked up in one question; both databases take many more
_AT_A_TIME = 500
_ALIKE = 3
# rows in memory at a time; whoever stops half-way must close the cursor, hence `with`
_STREAMED = {"yield_per": 1000}


def add(connection: Connection, make_ups: Iterable[MakeUp]) -> int:
    """Insert those that are new, keep `drives` in step; how many were new."""
    batch = list(make_ups)
    kept = {make_up.id: make_up for make_up in _many(connection, schema.make_ups.c.id, [item.id for item in batch])}
    fresh = []
    for make_up in batch:
        if make_up.id in kept:
            rows.must_be_same(kept[make_up.id], make_up, f"make-up of {make_up.drive.tag}")
        else:
            kept[make_up.id] = make_up
            fresh.append(make_up)
    if not fresh:
        return 0
    before = {make_up.drive_id: make_up
              for make_up in _many(connection, schema.drives.c.id, {item.drive_id for item in fresh}, _NOW)}
    after = dict(before)
    for make_up in fresh:
        latest = after.get(make_up.drive_id)
        if latest is None or make_up.since >= latest.since:
            after[make_up.drive_id] = make_up
    changed = [make_up for make_up in after.values() if before.get(make_up.drive_id) is not make_up]
    _tags_must_be_free(connection, changed)
    _write_drives(connection, changed, before.keys())
    connection.execute(insert(schema.make_ups), [_row(make_up) for make_up in fresh])
    return len(fresh)


def all_now(connection: Connection) -> list[MakeUp]:
    """Every drive's latest make-up, in order of tag."""
    return _by_tag(connection.execute(_NOW))


def one_now(connection: Connection, drive_id: UUID) -> MakeUp:
    """A drive's latest make-up."""
    row = connection.execute(_NOW.where(schema.drives.c.id == drive_id)).one_or_none()
    if row is None:
        raise Unknown(f"there is no drive with the id {drive_id} in the book")
    return _make_up(row)


def by_tag(connection: Connection, tag: str) -> MakeUp:
    """The drive that has this tag now."""
    row = connection.execute(_NOW.where(schema.drives.c.loose_tag == loose(tag))).one_or_none()
    if row is None:
        raise Unknown(_not_found(connection, tag))
    return _make_up(row)


def search(connection: Connection, text: str) -> list[MakeUp]:
    """Drives with every word of the text."""
    words = text.casefold().split()
    return _by_tag(connection.execute(
        _NOW.where(*(schema.drives.c.sought.contains(rows.plain(word), autoescape=True) for word in words))))


def history(connection: Connection, drive_id: UUID) -> list[MakeUp]:
    """A drive's make-ups, earliest first."""
    found = connection.execute(_in_time().where(schema.make_ups.c.drive_id == drive_id))
    make_ups = [_make_up(row) for row in found]
    if not make_ups:
        raise Unknown(f"there is no drive with the id {drive_id} in the book")
    return make_ups


def fitted_at(connection: Connection, drive_id: UUID, when: datetime) -> MakeUp:
    """The make-up of that time, or the first one before it began."""
    table = schema.make_ups.c
    row = connection.execute(
        select(*_MAKE_UP).where(table.drive_id == drive_id, table.since <= when)
        .order_by(table.since.desc(), table.number.desc()).limit(1)).one_or_none()
    return history(connection, drive_id)[0] if row is None else _make_up(row)


def histories(connection: Connection) -> Iterator[tuple[UUID, list[MakeUp]]]:
    """Each drive's make-ups, in order of the drives' ids."""
    with connection.execute(_in_time(), execution_options=_STREAMED) as found:
        for drive_id, some in groupby(found, lambda row: row.drive_id):
            yield drive_id, [_make_up(row) for row in some]


def as_recorded(connection: Connection) -> Iterator[MakeUp]:
    """Every make-up in the order in which it was recorded."""
    with connection.execute(select(*_MAKE_UP).order_by(schema.make_ups.c.number),
                            execution_options=_STREAMED) as found:
        yield from map(_make_up, found)


def stretches(connection: Connection, drives_each: int = 100) -> Iterator[tuple[UUID, UUID]]:
    """The ids of all drives in order, cut into stretches: first and last of each."""
    ids = connection.execute(select(schema.drives.c.id).order_by(schema.drives.c.id)).scalars().all()
    return ((some[0], some[-1]) for some in (ids[at:at + drives_each] for at in range(0, len(ids), drives_each)))


def must_exist(connection: Connection, drive_ids: Iterable[UUID]) -> None:
    """`Unknown` names the first drive that is not in the book."""
    wanted = set(drive_ids)
    # one reading noted: a question made ready costs a third of one made now
    if len(wanted) == 1 and connection.execute(_IS_THERE, {"drive": min(wanted)}).first() is not None:
        return
    for some in _chunks(wanted):
        wanted -= set(connection.execute(select(schema.drives.c.id).where(schema.drives.c.id.in_(some))).scalars())
    if wanted:
        raise Unknown(f"there is no drive with the id {min(wanted)} in the book")


def _in_time() -> Select[Any]:
    table = schema.make_ups.c
    return select(*_MAKE_UP).order_by(table.drive_id, table.since, table.number)


def _chunks(ids: Iterable[UUID]) -> Iterator[list[UUID]]:
    every = list(ids)
    return (every[start:start + _AT_A_TIME] for start in range(0, len(every), _AT_A_TIME))


def _many(connection: Connection, column: Any, ids: Iterable[UUID],
          question: Select[Any] = select(*_MAKE_UP)) -> Iterator[MakeUp]:  # noqa: B008
    for some in _chunks(ids):
        for row in connection.execute(question.where(column.in_(some))):
            yield _make_up(row)


def _make_up(row: Row[Any]) -> MakeUp:
    return MakeUp(row.id, row.drive_id, row.since, rows.from_text(Drive, row.content), row.noted_by,
                  row.noted_at)


def _row(make_up: MakeUp) -> dict[str, Any]:
    return {"id": make_up.id, "drive_id": make_up.drive_id, "since": make_up.since,
            "loose_tag": loose(make_up.drive.tag), "noted_at": make_up.noted_at, "noted_by": rows.plain(make_up.by),
            "content": rows.text_of(rows.to_json(make_up.drive))}


def _by_tag(found: Iterable[Row[Any]]) -> list[MakeUp]:
    return sorted(map(_make_up, found), key=lambda make_up: _as_people_sort(make_up.drive.tag))


def _as_people_sort(tag: str) -> list[str | int]:
    parts = re.split(r"(\d+)", tag.casefold())
    return [int(part) if place % 2 else part for place, part in enumerate(parts)]


def _write_drives(connection: Connection, changed: Sequence[MakeUp], known: Iterable[UUID]) -> None:
    old = set(known)
    lines = []
    for make_up in changed:
        drive = make_up.drive
        texts = (drive.tag, drive.name, drive.place, drive.belts.marking or "")
        sought = "\n".join([*texts, loose(drive.tag), loose(drive.belts.marking or "")]).casefold()
        lines.append({"drive": make_up.drive_id, "tag": rows.plain(drive.tag), "loose_tag": loose(drive.tag),
                      "sought": rows.plain(sought), "make_up_id": make_up.id})
    if added := [{"id": line.pop("drive"), **line} for line in lines if line["drive"] not in old]:
        connection.execute(insert(schema.drives), added)
    if altered := [line for line in lines if "drive" in line]:
        connection.execute(update(schema.drives).where(schema.drives.c.id == bindparam("drive")), altered)


def _tags_must_be_free(connection: Connection, changed: Sequence[MakeUp]) -> None:
    wanted: dict[str, MakeUp] = {}
    for make_up in changed:
        key = loose(make_up.drive.tag)
        if not key:
            raise InputError(f"{make_up.drive.tag!r} is no tag: it needs a letter or a digit")
        if key in wanted:
            raise Refused(f"two drives cannot both have the tag {make_up.drive.tag}: give one of them another")
        wanted[key] = make_up
    table = schema.drives.c
    keys = list(wanted)
    for start in range(0, len(keys), _AT_A_TIME):
        some = keys[start:start + _AT_A_TIME]
        for row in connection.execute(select(table.id, table.tag, table.loose_tag).where(table.loose_tag.in_(some))):
            if row.id != wanted[row.loose_tag].drive_id:
                raise Refused(f"{wanted[row.loose_tag].drive.tag} is the tag of another drive in the book, written "
                              f"{row.tag}: give this one another")


def _not_found(connection: Connection, tag: str) -> str:
    table = schema.drives.c
    renamed = connection.execute(
        select(table.tag).join(schema.make_ups, schema.make_ups.c.drive_id == table.id)
        .where(schema.make_ups.c.loose_tag == loose(tag)).distinct()).scalars().all()
    if renamed:
        return f"no drive has the tag {tag!r} now: it is called {' or '.join(sorted(renamed))}"
    tags = {row.loose_tag: row.tag for row in connection.execute(select(table.loose_tag, table.tag))}
    if not tags:
        return f"there is no drive {tag!r}: the book has no drives yet"
    from difflib import get_close_matches  # only where somebody has mistyped

    near = [tags[key] for key in get_close_matches(loose(tag), tags, n=_ALIKE, cutoff=0.6)]
    hint = f"did you mean {' or '.join(near)}?" if near else f"the book has {len(tags)} drives, none with a tag like it"
    return f"there is no drive {tag!r} in the book: {hint}"
