"""Drives and their make-ups in the tables. Functions over a connection; the transaction is the store's matter."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import groupby
from operator import itemgetter
from typing import Any
from uuid import UUID

from beltwright.book import rows
from beltwright.book.databases import Connection, Row
from beltwright.errors import InputError, Refused, Unknown
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import loose

_MAKE_UPS = ("SELECT m.id, m.drive_id, m.since, m.content, m.noted_by, m.noted_at, m.number "
             "FROM make_ups AS m")
_NOW = f"{_MAKE_UPS} JOIN drives AS d ON d.make_up_id = m.id"
_IN_TIME = "ORDER BY m.drive_id, m.since, m.number"
_AT_A_TIME = 1000
_ALIKE = 3
# where a sign means something to LIKE
_LIKE_SIGNS = re.compile(r"(?=[%_!])")


def add(connection: Connection, make_ups: Iterable[MakeUp]) -> int:
    """Insert those that are new, keep `drives` in step; how many were new."""
    batch = list(make_ups)
    kept = {make_up.id: make_up for make_up in _many(connection, f"{_MAKE_UPS} WHERE m.id IN (*)",
                                                     {item.id for item in batch})}
    fresh = []
    for make_up in batch:
        if make_up.id in kept:
            rows.must_be_same(kept[make_up.id], make_up, f"make-up of {make_up.drive.tag}")
        else:
            kept[make_up.id] = make_up
            fresh.append(make_up)
    before = {make_up.drive_id: make_up for make_up in _many(connection, f"{_NOW} WHERE d.id IN (*)",
                                                             {item.drive_id for item in fresh})}
    after = dict(before)
    for make_up in fresh:
        latest = after.get(make_up.drive_id)
        if latest is None or make_up.since >= latest.since:
            after[make_up.drive_id] = make_up
    changed = [make_up for make_up in after.values() if before.get(make_up.drive_id) is not make_up]
    _tags_must_be_free(connection, changed)
    _keep_in_step(connection, changed)
    if fresh:
        connection.do_each("INSERT INTO make_ups (id, drive_id, since, loose_tag, noted_at, noted_by, content) "
                           "VALUES (?, ?, ?, ?, ?, ?, ?)", map(_row, fresh))
    return len(fresh)


def all_now(connection: Connection) -> list[MakeUp]:
    """Every drive's latest make-up, in order of tag."""
    return _by_tag(connection, connection.ask(_NOW))


def fitted_now(connection: Connection) -> dict[UUID, UUID]:
    """Each drive and its latest make-up, by their ids."""
    get_id = connection.database.get_id
    return {get_id(drive_id): get_id(make_up_id)
            for drive_id, make_up_id in connection.ask("SELECT id, make_up_id FROM drives")}


# what touches a drive: its make-ups, readings, corrections of them wherever noted, its jobs and their events
_FACTS = (
    ("m.drive_id", "make_ups AS m"), ("r.drive_id", "readings AS r"),
    ("old.drive_id", "readings AS old JOIN readings AS new ON new.supersedes = old.id"),
    ("j.drive_id", "jobs AS j"), ("j.drive_id", "jobs AS j JOIN events AS e ON e.job_id = j.id"))
_FACTS_OF_ONE = ("SELECT d.id, d.make_up_id, " + " + ".join(
    f"(SELECT count(*) FROM {tables} WHERE {drive} = d.id)" for drive, tables in _FACTS)
    + " FROM drives AS d WHERE d.loose_tag = ?")


def noted_now(connection: Connection) -> dict[UUID, int]:
    """How many facts touch each drive."""
    get_id, counts = connection.database.get_id, Counter[UUID]()
    for drive, tables in _FACTS:
        for drive_id, number in connection.ask(f"SELECT {drive}, count(*) FROM {tables} GROUP BY {drive}"):
            counts[get_id(drive_id)] += number
    return dict(counts)


def facts_of(connection: Connection, tag: str) -> tuple[UUID, UUID, int] | None:
    """Of the drive that has this tag now: its id, that of its make-up, how many facts touch it."""
    get_id = connection.database.get_id
    for drive_id, make_up_id, number in connection.ask(_FACTS_OF_ONE, loose(tag)):
        return get_id(drive_id), get_id(make_up_id), number
    return None


def one_now(connection: Connection, drive_id: UUID) -> MakeUp:
    """A drive's latest make-up."""
    for row in connection.ask(f"{_NOW} WHERE d.id = ?", drive_id):
        return _make_up(connection, row)
    raise _unknown(drive_id)


def by_tag(connection: Connection, tag: str) -> MakeUp:
    """The drive that has this tag now."""
    for row in connection.ask(f"{_NOW} WHERE d.loose_tag = ?", loose(tag)):
        return _make_up(connection, row)
    raise Unknown(_not_found(connection, tag))


def called(connection: Connection, tags: Iterable[str]) -> list[MakeUp]:
    """The drives that have one of these tags now."""
    return list(_many_called(connection, {loose(tag) for tag in tags}))


def search(connection: Connection, text: str) -> list[MakeUp]:
    """Drives with every word of the text."""
    patterns = [f"%{_LIKE_SIGNS.sub('!', rows.plain(word))}%" for word in text.casefold().split()]
    every = " AND ".join(["d.sought LIKE ? ESCAPE '!'"] * len(patterns)) or "1 = 1"
    return _by_tag(connection, connection.ask(f"{_NOW} WHERE {every}", *patterns))


def history(connection: Connection, drive_id: UUID) -> list[MakeUp]:
    """A drive's make-ups, earliest first."""
    found = connection.ask(f"{_MAKE_UPS} WHERE m.drive_id = ? {_IN_TIME}", drive_id)
    if not found:
        raise _unknown(drive_id)
    return [_make_up(connection, row) for row in found]


def fitted_at(connection: Connection, drive_id: UUID, when: datetime) -> MakeUp:
    """The make-up of that time, or the first one before it began."""
    for row in connection.ask(f"{_MAKE_UPS} WHERE m.drive_id = ? AND m.since <= ? "
                              "ORDER BY m.since DESC, m.number DESC LIMIT 1", drive_id, rows.at(when)):
        return _make_up(connection, row)
    return history(connection, drive_id)[0]


def histories(connection: Connection) -> Iterator[tuple[UUID, list[MakeUp]]]:
    """Each drive's make-ups, in order of the drives' ids."""
    for first, last in stretches(connection):
        found = connection.ask(f"{_MAKE_UPS} WHERE m.drive_id BETWEEN ? AND ? {_IN_TIME}", first, last)
        for raw_id, some in groupby(found, itemgetter(1)):
            yield connection.database.get_id(raw_id), [_make_up(connection, row) for row in some]


def as_recorded(connection: Connection) -> Iterator[MakeUp]:
    """Every make-up in the order in which it was recorded."""
    last = 0
    while some := connection.ask(f"{_MAKE_UPS} WHERE m.number > ? ORDER BY m.number LIMIT {_AT_A_TIME}", last):
        for row in some:
            yield _make_up(connection, row)
        last = some[-1][-1]


def stretches(connection: Connection, drives_each: int = 20) -> Iterator[tuple[UUID, UUID]]:
    """The ids of all drives in order, cut into stretches: first and last of each."""
    ids = [connection.database.get_id(row[0]) for row in connection.ask("SELECT id FROM drives ORDER BY id")]
    return ((some[0], some[-1]) for some in (ids[at:at + drives_each] for at in range(0, len(ids), drives_each)))


def must_exist(connection: Connection, drive_ids: Iterable[UUID]) -> None:
    """`Unknown` names a drive that is not in the book."""
    for missing in connection.missing("drives", drive_ids):
        raise _unknown(missing)


def _unknown(drive_id: UUID) -> Unknown:
    return Unknown(f"there is no drive with the id {drive_id} in the book")


def _many(connection: Connection, question: str, ids: Iterable[UUID]) -> Iterator[MakeUp]:
    return (_make_up(connection, row) for row in connection.ask_for(question, ids))


def _many_called(connection: Connection, keys: Iterable[str]) -> Iterator[MakeUp]:
    return (_make_up(connection, row) for row in connection.ask_for(f"{_NOW} WHERE d.loose_tag IN (*)", keys))


def _make_up(connection: Connection, row: Row) -> MakeUp:
    get = connection.database
    return MakeUp(get.get_id(row[0]), get.get_id(row[1]), get.get_time(row[2]), rows.from_text(Drive, row[3]), row[4],
                  get.get_time(row[5]))


def _row(make_up: MakeUp) -> tuple[Any, ...]:
    return (make_up.id, make_up.drive_id, rows.at(make_up.since), loose(make_up.drive.tag), rows.at(make_up.noted_at),
            rows.plain(make_up.by), rows.text_of(rows.to_json(make_up.drive)))


def _by_tag(connection: Connection, found: Iterable[Row]) -> list[MakeUp]:
    return sorted((_make_up(connection, row) for row in found), key=lambda make_up: _as_people_sort(make_up.drive.tag))


def _as_people_sort(tag: str) -> list[str | int]:
    parts = re.split(r"(\d+)", tag.casefold())
    return [int(part) if place % 2 else part for place, part in enumerate(parts)]


def _keep_in_step(connection: Connection, changed: Sequence[MakeUp]) -> None:
    lines = []
    for make_up in changed:
        drive = make_up.drive
        texts = (drive.tag, drive.name, drive.place, drive.belts.marking or "")
        sought = "\n".join([*texts, loose(drive.tag), loose(drive.belts.marking or "")]).casefold()
        lines.append((make_up.drive_id, rows.plain(drive.tag), loose(drive.tag), rows.plain(sought), make_up.id))
    if lines:
        connection.do_each(
            "INSERT INTO drives (id, tag, loose_tag, sought, make_up_id) VALUES (?, ?, ?, ?, ?) "
            "ON CONFLICT (id) DO UPDATE SET tag = excluded.tag, loose_tag = excluded.loose_tag, "
            "sought = excluded.sought, make_up_id = excluded.make_up_id", lines)


def _tags_must_be_free(connection: Connection, changed: Sequence[MakeUp]) -> None:
    wanted: dict[str, MakeUp] = {}
    for make_up in changed:
        key = loose(make_up.drive.tag)
        if not key:
            raise InputError(f"{make_up.drive.tag!r} is no tag: it needs a letter or a digit")
        if key in wanted:
            raise Refused(f"two drives cannot both have the tag {make_up.drive.tag}: give one of them another")
        wanted[key] = make_up
    question = "SELECT id, tag, loose_tag FROM drives WHERE loose_tag IN (*)"
    for drive_id, tag, key in connection.ask_for(question, wanted):
        if connection.database.get_id(drive_id) != wanted[key].drive_id:
            raise Refused(f"{wanted[key].drive.tag} is the tag of another drive in the book, written {tag}: give this "
                          "one another")


def _not_found(connection: Connection, tag: str) -> str:
    renamed = connection.ask("SELECT DISTINCT d.tag FROM drives AS d JOIN make_ups AS m ON m.drive_id = d.id "
                             "WHERE m.loose_tag = ?", loose(tag))
    if renamed:
        return f"no drive has the tag {tag!r} now: it is called {' or '.join(sorted(row[0] for row in renamed))}"
    tags = dict(connection.ask("SELECT loose_tag, tag FROM drives"))
    if not tags:
        return f"there is no drive {tag!r}: the book has no drives yet"
    from difflib import get_close_matches  # only where somebody has mistyped

    near = [tags[key] for key in get_close_matches(loose(tag), tags, n=_ALIKE, cutoff=0.6)]
    hint = f"did you mean {' or '.join(near)}?" if near else f"the book has {len(tags)} drives, none with a tag like it"
    return f"there is no drive {tag!r} in the book: {hint}"
