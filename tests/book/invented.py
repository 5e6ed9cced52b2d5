"""Drives, readings and jobs for the book's tests: plain ones to write by hand, and any that hypothesis can think of."""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints
from uuid import UUID

from hypothesis import strategies as st

from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.job import Event, EventKind, Job, Step
from beltwright.plant.reading import Reading, Value

MONDAY = datetime(2026, 3, 2, 6, 30, tzinfo=UTC)
DAY = timedelta(days=1)


def make_up(tag: str, *, drive_id: UUID | None = None, since: datetime = MONDAY, **drive: Any) -> MakeUp:
    drive.setdefault("name", "exhaust fan")
    return MakeUp(new_id(), drive_id or new_id(), since, Drive(tag, **drive), "Ann", MONDAY)


def reading(drive_id: UUID, force: float = 41.5, *, at: datetime = MONDAY, kind: str = "force", **more: Any) -> Reading:
    values: Mapping[str, Value] = {"belt": 1, "force": force}
    return Reading(new_id(), drive_id, kind, "as found", values, {"force": f"{force} N"}, at, "Ann", **more)


def job(drive_id: UUID) -> Job:
    steps = (Step("lock", "Lock out", gate="isolation", can_skip=False), Step("look", "Look", needs=("lock",)))
    return Job(new_id(), drive_id, "inspect", steps, MONDAY, "Ann")


def event(job_id: UUID, kind: EventKind, step: str = "", *, at: datetime = MONDAY) -> Event:
    return Event(new_id(), job_id, kind, step, "Ann", at)


# --- any record ------------------------------------------------------------------------------------------------------

# what every store can keep: no half of a pair of signs, no NUL
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
MOMENTS = st.datetimes(datetime(1970, 1, 1), datetime(2200, 1, 1), timezones=st.timezones())
IDS = st.builds(new_id)
_PLAIN: dict[Any, st.SearchStrategy[Any]] = {
    str: TEXT, bool: st.booleans(), int: st.integers(), float: NUMBERS, UUID: IDS,
    datetime: MOMENTS, date: st.dates()}
VALUES: st.SearchStrategy[Mapping[str, Value]] = st.dictionaries(
    TEXT, st.one_of(NUMBERS, st.integers(), TEXT, st.booleans()), max_size=4)


def records(kind: type[Any], **given: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Any record of a kind, every field filled with anything its type allows."""
    hints = get_type_hints(kind)
    return st.builds(kind, **{field.name: given[field.name] if field.name in given else _any(hints[field.name])
                             for field in fields(kind)})


def _any(hint: Any) -> st.SearchStrategy[Any]:
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return st.one_of(*(st.none() if argument is type(None) else _any(argument) for argument in arguments))
    if origin is Literal:
        return st.sampled_from(arguments)
    if origin is tuple:
        return st.lists(_any(arguments[0]), max_size=3).map(tuple)
    if origin is not None and issubclass(origin, Mapping):
        return VALUES if arguments[1] is not str else st.dictionaries(TEXT, TEXT, max_size=3)
    return _PLAIN[hint] if hint in _PLAIN else records(hint)


def in_utc(record: Any) -> Any:
    """The record with its times in UTC: in the hour when clocks are put back, a time equals no time of another zone."""
    return replace(record, **{field.name: value.astimezone(UTC) for field in fields(record)
                              if isinstance(value := getattr(record, field.name), datetime)})
