"""Records to JSON and back, and readings rebuilt from the driver's own rows, a million in a few seconds.

JSON here is the book's own: SI values under the records' field names, fields at their default left out. A field that
this version does not know is refused, never dropped: it was written by a later version. Values are checked on the way
back, for an export may have passed through other hands. This module knows no table and no database.
"""

from __future__ import annotations

import json
import math
import types
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import MISSING, fields, is_dataclass
from datetime import UTC, date, datetime
from functools import cache
from typing import Any, Final, Literal, TypeVar, Union, get_args, get_origin, get_type_hints
from uuid import UUID

from beltwright.errors import InputError, Refused
from beltwright.plant.reading import Reading

T = TypeVar("T")
Json = Any          # what json.loads gives: dict, list, str, int, float, bool, None
Decode = Callable[[Json], Any]


class Misfit(ValueError):
    """A stored or handed-in value that does not fit its record; caught inside the book, never shown as it stands."""


class Later(Misfit):
    """A field that this version does not know: dropping it would lose what somebody noted."""


def text_of(value: Json) -> str:
    """JSON text as it is stored: compact, readable, no NaN."""
    try:
        written = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
        written.encode()
    except (ValueError, TypeError) as problem:   # NaN; a type JSON has not; half a surrogate pair
        raise InputError(f"this cannot be kept in the book: {problem}") from problem
    return written


def plain(text: str) -> str:
    """Text that every database can keep, as it is."""
    try:
        text.encode()
    except UnicodeEncodeError:
        raise InputError(f"{text!r} cannot be kept in the book: it holds half a sign") from None
    if "\x00" in text:
        raise InputError(f"{text!r} cannot be kept in the book: it holds a NUL sign")
    return text


def at(moment: datetime) -> datetime:
    """A time that can be kept: one without a zone could be any."""
    if moment.utcoffset() is None:
        raise InputError(f"{moment} cannot be kept in the book: it has no time zone")
    return moment


# --- records <-> JSON ------------------------------------------------------------------------------------------------

def to_json(record: Any, *, without: Collection[str] = ()) -> dict[str, Json]:
    """A record as JSON, fields at their default left out, and those that are kept elsewhere."""
    shown: dict[str, Json] = {}
    for name, default in _defaults(_shape(record)):
        value = getattr(record, name)
        if value is not default and value != default and name not in without:
            shown[name] = _plain_json(value)
    return shown


def from_json(kind: type[T], data: Json, /, **elsewhere: Any) -> T:
    """The record from JSON and the fields kept elsewhere; `Misfit` names one unknown, missing or of the wrong type."""
    if not isinstance(data, dict):
        raise Misfit(f"{kind.__name__}: {data!r} is not a set of fields")
    shape: Any = kind
    decoders = _decoders(shape)
    unknown = data.keys() - decoders.keys()
    if unknown:
        raise Later(f"{kind.__name__} has no field {', '.join(sorted(unknown))}")
    values = elsewhere
    for name, value in data.items():
        try:
            values[name] = decoders[name](value)
        except Misfit as problem:
            raise type(problem)(f"{name}: {problem}") from None
    try:
        return kind(**values)
    except TypeError as problem:   # a field without default is missing
        raise Misfit(str(problem)) from None


def from_text(kind: type[T], text: str, /, **elsewhere: Any) -> T:
    """The record from JSON text."""
    return from_json(kind, _read(text), **elsewhere)


def _read(text: str) -> Json:
    try:
        return json.loads(text)
    except ValueError as problem:
        raise Misfit(f"{problem}") from problem


def _plain_json(value: Any) -> Json:
    if is_dataclass(value):
        return to_json(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, Mapping):
        return dict(value)
    if isinstance(value, tuple):
        return [_plain_json(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        raise InputError(f"{value} is not a measurement and cannot be kept in the book")
    return value


def _shape(record: Any) -> Any:
    return type(record)


@cache
def _defaults(kind: Any) -> tuple[tuple[str, Any], ...]:
    found = []
    for field in fields(kind):
        default = field.default
        if default is MISSING and field.default_factory is not MISSING:
            default = field.default_factory()
        found.append((field.name, default))
    return tuple(found)


@cache
def _decoders(kind: Any) -> dict[str, Decode]:
    hints = get_type_hints(kind)
    return {field.name: _decoder(hints[field.name]) for field in fields(kind)}


def _decoder(hint: Any) -> Decode:
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        inner = [_decoder(argument) for argument in arguments if argument is not type(None)]
        return inner[0] if len(inner) == len(arguments) else _optional(inner[0])
    if origin is Literal:
        return _one_of(arguments)
    if origin is tuple:
        return _tuple_of(_decoder(arguments[0]))
    if origin is not None and issubclass(origin, Mapping):
        return _mapping_of(_decoder(arguments[1]) if arguments[1] is str else _value)
    if is_dataclass(hint):
        return _record_of(hint)
    return _PLAIN[hint]


def _record_of(kind: Any) -> Decode:
    return lambda data: from_json(kind, data)


def _optional(inner: Decode) -> Decode:
    return lambda value: None if value is None else inner(value)


def _one_of(choices: Sequence[Any]) -> Decode:
    def decode(value: Json) -> Any:
        if value not in choices:
            raise Misfit(f"{value!r} is none of {', '.join(map(str, choices))}")
        return value
    return decode


def _tuple_of(inner: Decode) -> Decode:
    def decode(value: Json) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise Misfit(f"{value!r} is not a list")
        return tuple(map(inner, value))
    return decode


def _mapping_of(inner: Decode) -> Decode:
    def decode(value: Json) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise Misfit(f"{value!r} is not a set of fields")
        return {name: inner(item) for name, item in value.items()}
    return decode


def _exactly(kind: type[Any], words: str) -> Decode:
    def decode(value: Json) -> Any:
        if type(value) is not kind:
            raise Misfit(f"{value!r} is not {words}")
        return value
    return decode


def _read_from_text(read: Callable[[str], Any], words: str) -> Decode:
    def decode(value: Json) -> Any:
        try:
            return read(value)
        except (ValueError, TypeError, AttributeError):
            raise Misfit(f"{value!r} is not {words}") from None
    return decode


def _number(value: Json) -> float:
    if type(value) not in (float, int) or not math.isfinite(value):
        raise Misfit(f"{value!r} is not a number")
    return value  # type: ignore[no-any-return]


def _value(value: Json) -> Json:
    return value if type(value) in (bool, str) else _number(value)


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.utcoffset() is None:
        raise ValueError(text)
    return moment.astimezone(UTC)


_PLAIN: Final[dict[Any, Decode]] = {
    str: _exactly(str, "text"),
    bool: _exactly(bool, "true or false"),
    int: _exactly(int, "a whole number"),
    float: _number,
    UUID: _read_from_text(UUID, "an id"),
    datetime: _read_from_text(_moment, "a time with its zone"),
    date: _read_from_text(date.fromisoformat, "a date"),
}


# --- readings, many at a time ----------------------------------------------------------------------------------------

# the columns a reading is rebuilt from, in this order
READING_COLUMNS: Final = "drive_id, taken_at, id, kind, state, job_id, noted_by, supersedes, measured, typed, rest"
_NOTHING: Final[Mapping[str, str]] = types.MappingProxyType({})


class _Filling:
    """A reading while it is filled in: the same slots, not yet frozen.

    A frozen dataclass sets each field through a guarded call; for a million readings that is a second more than all the
    rest of a field's way from the disk. The class is changed to `Reading` once all fields stand.
    """

    __slots__ = Reading.__slots__


def rebuild(drive_id: UUID, rows: Sequence[Sequence[Any]], get_id: Callable[[Any], UUID],
            get_time: Callable[[Any], datetime]) -> list[Reading]:
    """The readings of one drive from rows of `READING_COLUMNS` as the driver gives them."""
    count = len(rows)
    # one call of the JSON reader for all rows: its start costs as much as a row
    decoded = _read(f"[{','.join([row[8] for row in rows])},{','.join([row[9] for row in rows])}]")
    jobs: dict[Any, UUID | None] = {None: None}
    made: list[Any] = []
    for row, measured, typed in zip(rows, decoded[:count], decoded[count:], strict=True):
        _, taken_at, raw_id, kind, state, raw_job, by, raw_supersedes, _, _, rest = row
        if raw_job not in jobs:
            jobs[raw_job] = get_id(raw_job)
        reading: Any = _Filling()
        reading.id = get_id(raw_id)
        reading.drive_id = drive_id
        reading.kind = kind
        reading.state = state
        reading.values = measured
        reading.typed = typed
        reading.taken_at = get_time(taken_at)
        reading.by = by
        reading.job_id = jobs[raw_job]
        reading.supersedes = None if raw_supersedes is None else get_id(raw_supersedes)
        reading.reason = reading.note = reading.method = ""
        reading.extra = _NOTHING
        if rest is not None:
            _fill_rest(reading, _read(rest))
        reading.__class__ = Reading
        made.append(reading)
    return made


def _fill_rest(reading: Any, rest: Mapping[str, Any]) -> None:
    if unknown := rest.keys() - {"reason", "note", "method", "extra"}:
        raise Later(f"Reading has no field {', '.join(sorted(unknown))}")
    for name, value in rest.items():
        setattr(reading, name, value)


def reading_row(reading: Reading) -> tuple[Any, ...]:
    """The row of a reading, in the order of `READING_COLUMNS`."""
    rest = {name: value for name, value in (
        ("reason", reading.reason), ("note", reading.note), ("method", reading.method),
        ("extra", dict(reading.extra))) if value}
    return (reading.drive_id, at(reading.taken_at), reading.id, plain(reading.kind), reading.state, reading.job_id,
            plain(reading.by), reading.supersedes, text_of(dict(reading.values)), text_of(dict(reading.typed)),
            text_of(rest) if rest else None)


def must_be_same(kept: Any, given: Any, what: str) -> None:
    """`Refused` when a record handed in differs from the one kept under the same id: facts are never changed."""
    differing = [name for name, _ in _defaults(_shape(kept))
                 if getattr(kept, name) != _in_utc(getattr(given, name))]
    if differing:
        raise Refused(f"this {what} is in the book already with other content ({', '.join(differing)}), and what is "
                      f"noted is never changed: note a new one under a new id")


def _in_utc(value: Any) -> Any:
    # a time in the hour when clocks are put back equals no time of another zone, itself in UTC included
    return value.astimezone(UTC) if isinstance(value, datetime) else value
