"""Noting what was measured, seen or heard at a drive, correcting it, and readings by the sheet.

Every value keeps what was typed beside the SI value. A correction is a new reading that supersedes the old one and says
why. A reading that needs hands near the belts and belongs to a job is refused until that job's isolation is confirmed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final, TypeVar, get_args
from uuid import UUID

from beltwright import units
from beltwright.bench import procedure
from beltwright.bench.card import METHOD
from beltwright.desk.columns import believe, choice, yes_or_no
from beltwright.desk.face import Book
from beltwright.desk.survey import Row
from beltwright.errors import BeltwrightError, Cell, InputError, Refused, SheetError, UnitError, Unknown
from beltwright.plant.identity import new_id
from beltwright.plant.job import Event
from beltwright.plant.reading import KINDS, Field, Kind, Reading, State, Value
from beltwright.units import System

_Read = TypeVar("_Read")
STATES: Final[tuple[State, ...]] = get_args(State)
# columns of a sheet of readings that are not values
HEAD: Final = ("tag", "kind", "state", "taken_at", "by", "note", "id")


def kind_named(name: str) -> Kind:
    """The kind of reading; `InputError` lists those there are."""
    wanted = name.strip().casefold().replace("_", " ")
    for kind in KINDS.values():
        if kind.name.replace("-", " ") == wanted.replace("-", " "):
            return kind
    raise InputError(f"no kind of reading {name.strip()!r}: {', '.join(KINDS)}", accepted=KINDS)


def understand(field: Field, typed: str, system: System | None) -> Value:
    """One value as typed; `UnitError` says what is wrong. `system` gives a bare number its unit where one is shown."""
    text = typed.strip()
    match field.kind:
        case "text":
            return text
        case "choice":
            return choice(text, field.choices)
        case "yes or no":
            return yes_or_no(text)
        case "count":
            value: float = units.parse_count(text)
        case _:
            unit = units.SHOWN[system][field.kind].unit if system is not None else None
            value = units.parse(text, field.kind, default=unit)
    believe(value, field.kind, field.low, field.high)
    return int(value) if field.kind == "count" else value


def understand_all(kind: Kind, answers: Mapping[str, str], system: System | None, *,
                   row: int = 1) -> tuple[dict[str, Value], list[Cell]]:
    """The values of a reading from what was typed, and every value that cannot be read."""
    values: dict[str, Value] = {}
    names = tuple(field.name for field in kind.fields)
    wrong = [Cell(row, name, text, f"a {kind.name} reading has no such value: {', '.join(names)}", names)
             for name, text in answers.items() if text.strip() and name not in names]
    for field in kind.fields:
        text = answers.get(field.name, "").strip()
        if not text:
            if field.required:
                wrong.append(Cell(row, field.name, "", f"needed: {field.ask}", field.choices))
            continue
        try:
            values[field.name] = understand(field, text, system)
        except UnitError as error:
            wrong.append(Cell(row, field.name, text, str(error), error.accepted))
    if not values and not wrong:
        wrong.append(Cell(row, kind.fields[-1].name, "", "a reading needs at least one value"))
    return values, wrong


def note(book: Book, tag: str, kind_name: str, answers: Mapping[str, str], *, state: str, by: str, at: datetime,
         system: System | None = None, job_id: UUID | None = None, words: str = "",
         reading_id: UUID | None = None, extra: Mapping[str, str] | None = None) -> Reading:
    """Note a reading at a drive. Returns it as kept; noting the same one twice changes nothing.

    answers: what was typed, by field name; state: as found, as left, running or in between
    extra: what else is kept with it, such as the names of its photos
    Errors: `SheetError` lists every value that cannot be read; `Refused` for a hands-on reading of a job that is not
    isolated; `Unknown` for a drive there is none of.
    """
    kind = kind_named(kind_name)
    make_up = book.drive_by_tag(tag)
    values, wrong = understand_all(kind, answers, system)
    _raise_all(wrong)
    reading = Reading(reading_id or new_id(), make_up.drive_id, kind.name, state_named(state), values,
                      _typed(answers), at, _name(by), job_id, note=words.strip(), method=METHOD,
                      extra=dict(extra or {}))
    with book.writing():
        if job_id is not None:
            _gate(book, reading, kind)
        if book.note(reading) and job_id is not None and kind.name == "motor move":
            book.add_event(Event(new_id(), job_id, "centre moved", "", reading.by, at))
    return reading


def correct(book: Book, reading_id: UUID, answers: Mapping[str, str], *, reason: str, by: str, at: datetime,
            system: System | None = None) -> Reading:
    """Put a reading right: the values given replace the old ones, the others stay. The old reading stays on record."""
    old = book.reading(reading_id)
    if not reason.strip():
        raise InputError("say why the reading is corrected")
    typed = {**old.typed, **{name: text for name, text in answers.items() if text.strip()}}
    values, wrong = understand_all(kind_named(old.kind), answers_only(old, answers), system)
    _raise_all([cell for cell in wrong if cell.typed])
    reading = Reading(new_id(), old.drive_id, old.kind, old.state, {**old.values, **values}, typed, old.taken_at,
                      _name(by), old.job_id, old.id, reason.strip(), old.note, METHOD,
                      {**old.extra, "corrected_at": at.isoformat()})
    book.note(reading)
    return reading


def answers_only(old: Reading, answers: Mapping[str, str]) -> dict[str, str]:
    """The answers of a correction that name a value; `InputError` when there is none or one the kind does not have."""
    kind = KINDS[old.kind]
    given = {name: text for name, text in answers.items() if text.strip()}
    unknown = [name for name in given if all(field.name != name for field in kind.fields)]
    if unknown or not given:
        names = [field.name for field in kind.fields]
        raise InputError(f"a {kind.name} reading has {', '.join(names)}: give one of them a new value", accepted=names)
    return given


def state_named(text: str) -> State:
    """As found, as left, running or in between; `InputError` for anything else."""
    wanted = text.strip().casefold().replace("_", " ").replace("-", " ")
    for state in STATES:
        if state == wanted:
            return state
    raise InputError(f"{text.strip()!r} is not a state of a reading: {', '.join(STATES)}", accepted=STATES)


# readings by the sheet

@dataclass(frozen=True, slots=True)
class ReadingsIn:
    """What became of a sheet of readings: how many were new, how many were there already, and what is wrong."""

    noted: int
    same: int
    problems: tuple[Cell, ...]
    bad: tuple[Row, ...]


def columns() -> dict[str, tuple[Field, str | None]]:
    """Every accepted value column of a sheet of readings, to its field and the unit of a bare number in it."""
    found: dict[str, tuple[Field, str | None]] = {}
    for kind in KINDS.values():
        for field in kind.fields:
            found.setdefault(field.name, (field, None))
            for unit in units.KINDS.get(field.kind, {}):
                if unit:
                    found.setdefault(f"{field.name}_{units.tail(unit)}", (field, unit))
    return found


def hand_in(book: Book, rows: Iterable[Row], *, by: str) -> ReadingsIn:
    """Note the readings of a sheet: tag, kind, state, taken_at, by, note, and the values' columns.

    Every bad cell is reported at once and good rows are kept; the same row handed in twice is one reading.
    """
    known = columns()
    readings: list[Reading] = []
    problems: list[Cell] = []
    bad: list[Row] = []
    same = 0
    listed = list(rows)
    _check_columns(listed, known)
    for row in listed:
        found, wrong = _read_row(book, row, known, by)
        problems += wrong
        if wrong or found is None:
            bad.append(row)
            continue
        kept = _kept(book, found.id)
        if kept is None:
            readings.append(found)
        elif _content(kept) == _content(found):
            same += 1
        else:
            problems.append(Cell(row.number, "id", str(found.id), "this reading is in the book with other values: "
                                 "correct it there, or leave its id out to note another"))
            bad.append(row)
    noted = book.note_many(readings)
    return ReadingsIn(noted, same + len(readings) - noted, tuple(problems), tuple(bad))


def _kept(book: Book, reading_id: UUID) -> Reading | None:
    try:
        return book.reading(reading_id)
    except Unknown:
        return None


def _content(reading: Reading) -> tuple[object, ...]:
    """What makes a reading the same one, however it was typed."""
    return reading.drive_id, reading.kind, reading.state, reading.taken_at, dict(reading.values)


def as_rows(readings: Sequence[Reading], tags: Mapping[UUID, str]) -> list[dict[str, str]]:
    """Readings as rows of a sheet that can be handed in again: what was typed, with its units."""
    rows = []
    for reading in readings:
        row = {"tag": tags[reading.drive_id], "kind": reading.kind, "state": reading.state,
               "taken_at": reading.taken_at.isoformat(), "by": reading.by, "note": reading.note, "id": str(reading.id)}
        for field in KINDS[reading.kind].fields:
            if field.name in reading.values:
                row[field.name] = exact(field, reading.values[field.name])
        rows.append(row)
    return rows


def exact(field: Field, value: Value) -> str:
    """A value with its SI unit, so that reading it back gives the very same number."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field.kind in units.KINDS and isinstance(value, (int, float)):
        unit = next(unit for unit, (factor, offset) in units.KINDS[field.kind].items() if factor == 1.0 and not offset)
        return f"{value!r} {unit}".strip()
    return str(value)


def _check_columns(rows: Sequence[Row], known: Mapping[str, tuple[Field, str | None]]) -> None:
    if not rows:
        raise SheetError("the sheet has no rows below its header")
    names = {name.strip().casefold() for name in rows[0].cells}
    strange = sorted(name for name in names if name and name not in known and name not in HEAD and name != "problem")
    missing = [name for name in ("tag", "kind") if name not in names]
    if strange or missing:
        raise SheetError("; ".join([*(f"no such column: {name}" for name in strange),
                                    *(f"the sheet has no column {name}" for name in missing)]))


def _read_row(book: Book, row: Row, known: Mapping[str, tuple[Field, str | None]],
              by: str) -> tuple[Reading | None, list[Cell]]:
    cells = {name.strip().casefold(): text.strip() for name, text in row.cells.items() if text.strip()}
    wrong: list[Cell] = []

    def tried(name: str, read: Callable[[str], _Read], text: str) -> _Read | None:
        try:
            return read(text)
        except (BeltwrightError, ValueError) as error:
            wrong.append(Cell(row.number, name, text, str(error), getattr(error, "accepted", ())))
            return None

    kind = tried("kind", kind_named, cells.get("kind", ""))
    make_up = tried("tag", book.drive_by_tag, cells.get("tag", ""))
    state = tried("state", state_named, cells.get("state", "as found"))
    taken_at = tried("taken_at", moment, cells.get("taken_at", ""))
    identity = tried("id", UUID, cells["id"]) if "id" in cells else None
    if kind is None:
        return None, wrong
    typed: dict[str, str] = {}
    for name, text in cells.items():
        if name in known and name not in HEAD:
            field, unit = known[name]
            bare = unit is not None and text.replace(".", "").replace(",", "").replace("-", "").strip().isdigit()
            typed[field.name] = f"{text} {unit}" if bare else text
    values, bad = understand_all(kind, typed, None, row=row.number)
    wrong += bad
    if wrong or make_up is None or state is None or taken_at is None:
        return None, wrong
    identity = identity or _same_row_same_id(make_up.drive_id, kind.name, state, taken_at, values)
    return Reading(identity, make_up.drive_id, kind.name, state, values, typed, taken_at, _name(cells.get("by", by)),
                   note=cells.get("note", ""), method=METHOD), []


def moment(text: str) -> datetime:
    """A date and time, `2026-11-25 14:30` or with a zone; without a zone it is UTC; a date alone is noon."""
    if not text.strip():
        raise InputError("when was it taken? type it like 2026-11-25 14:30")
    try:
        when = datetime.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"{text.strip()!r} is not a date and time: type it like 2026-11-25 14:30") from None
    if len(text.strip()) == 10:
        when = when.replace(hour=12)
    return when if when.tzinfo else when.replace(tzinfo=UTC)


def _same_row_same_id(drive_id: UUID, kind: str, state: str, taken_at: datetime, values: Mapping[str, Value]) -> UUID:
    """An id made of the row's own content (UUIDv8, RFC 9562), so that handing it in twice is one reading."""
    content = repr((drive_id, kind, state, taken_at.astimezone(UTC).isoformat(), sorted(values.items())))
    digest = bytearray(hashlib.sha256(content.encode()).digest()[:16])
    digest[6] = digest[6] & 0x0F | 0x80
    digest[8] = digest[8] & 0x3F | 0x80
    return UUID(bytes=bytes(digest))


def _gate(book: Book, reading: Reading, kind: Kind) -> None:
    assert reading.job_id is not None
    job = book.job(reading.job_id)
    if job.drive_id != reading.drive_id:
        raise Refused("this job is at another drive")
    now = procedure.progress(job, book.events(job.id))
    if now.ended:
        raise Refused(f"this job is {now.ended}: note the reading without it, or open a new job")
    if kind.hands_on and not procedure.may_touch(now, reading.by):
        raise Refused(f"{kind.title}: hands stay away until the drive is isolated and {reading.by}'s own lock is on; "
                      "do the lock-out steps of the job first")


def _name(by: str) -> str:
    if not by.strip():
        raise InputError("a name is needed: every reading was taken by somebody")
    return by.strip()


def _typed(answers: Mapping[str, str]) -> dict[str, str]:
    return {name: text.strip() for name, text in answers.items() if text.strip()}


def _raise_all(wrong: Sequence[Cell]) -> None:
    if wrong:
        raise SheetError("; ".join(f"{cell.column}: {cell.problem}" for cell in wrong), wrong)
