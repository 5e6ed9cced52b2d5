"""Readings as text: one line each, a drive's history as a table, and the columns of a sheet of readings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, Over, table
from beltwright.errors import Unknown
from beltwright.plant.drive import MakeUp
from beltwright.plant.job import Event, Job
from beltwright.plant.reading import KINDS, Field, Kind, Reading
from beltwright.units import KINDS as QUANTITIES
from beltwright.units import SHOWN, System, show, tail

# signs of an id that tell one reading of a drive from another
MARK = 6


def mark(reading: Reading) -> str:
    """What a person calls a reading by: the tail of its id, for its head is the time."""
    return reading.id.hex[-MARK:]


def find_reading(readings: Iterable[Reading], name: str, tag: str) -> Reading:
    """The reading of that mark or id."""
    wanted = name.strip().casefold().replace("-", "")
    found = [reading for reading in readings if len(wanted) >= 4 and reading.id.hex.endswith(wanted)]
    if len(found) != 1:
        raise Unknown(f"{'no' if not found else 'more than one'} reading {name.strip()!r} at {tag}: "
                      f"beltwright history {tag} shows their marks")
    return found[0]


def values_text(reading: Reading, system: System) -> str:
    """The values of a reading in the units the person reads: `belt 2, force 31 N`."""
    parts = []
    for field in KINDS[reading.kind].fields:
        if field.name in reading.values:
            text = _value(field, reading.values[field.name], system)
            name = field.name.replace("_", " ")
            parts.append(text if field.kind in ("choice", "text") or name == reading.kind else f"{name} {text}")
    return ", ".join(parts)


def _value(field: Field, value: float | str | bool, system: System) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) or field.kind == "count":
        return str(value)
    digits = None
    if field.kind == "length":
        fine = abs(value) < 0.1
        digits = (3 if fine else 2) if system == "inch" else (2 if fine else 0)
    elif field.kind == "force":
        digits = 1
    elif field.name == "uncertainty":
        digits = 2      # a doubt is never shown as nothing
    return show(value, field.kind, system, digits=digits)


def reading_line(reading: Reading, system: System) -> str:
    """A reading in one line."""
    return (f"{reading.kind}, {reading.state}, {local(reading.taken_at)}: {values_text(reading, system)} "
            f"(by {reading.by}, {mark(reading)})")


def local(when: datetime) -> str:
    """A time as the clock on the wall shows it."""
    return when.astimezone().strftime("%Y-%m-%d %H:%M")


def history_lines(tag: str, readings: Sequence[Reading], make_ups: Sequence[MakeUp], jobs: Sequence[Job],
                  events: Sequence[tuple[Job, Event]], system: System, width: int, signs: Signs) -> list[str]:
    """A drive's history as a table, the latest last."""
    replaced = {reading.supersedes for reading in readings if reading.supersedes}
    entries: list[tuple[datetime, tuple[str, ...]]] = []
    for reading in readings:
        words = values_text(reading, system)
        if reading.supersedes:
            words += f"; puts right an earlier one: {reading.reason}"
        if reading.id in replaced:
            words += "; put right later"
        if reading.note:
            words += f"; {reading.note}"
        entries.append((reading.taken_at, (reading.kind, reading.state, words, reading.by, mark(reading))))
    for at, make_up in enumerate(make_ups):
        entries.append((make_up.since, ("fitted" if at else "entered", "", _fitted(make_up), make_up.by, "")))
    entries += [(job.opened_at, ("job opened", "", f"{job.kind}{f': {job.reason}' if job.reason else ''}",
                                 job.opened_by, job.id.hex[-MARK:])) for job in jobs]
    entries += [(event.at, (f"job {event.kind}", "", f"{job.kind}{f': {event.reason}' if event.reason else ''}",
                            event.by, job.id.hex[-MARK:])) for job, event in events
                if event.kind in ("closed", "abandoned")]
    if not entries:
        return [f"{tag}: nothing noted yet."]
    rows: list[Sequence[str] | Over] = []
    day = ""
    for when, cells in sorted(entries, key=lambda entry: entry[0]):
        date, _, clock = local(when).partition(" ")
        if date != day:
            day = date
            rows.append(Over(date))
        rows.append((clock, *cells))
    columns = (Column("time"), Column("what", least=8), Column("state"), Column("", least=18), Column("by", least=5),
               Column("mark"))
    return [f"{tag}   history", "", *table(columns, rows, width=width, signs=signs)]


def _fitted(make_up: MakeUp) -> str:
    belts = make_up.drive.belts
    parts = [f"{belts.count} × " if belts.count else "", belts.marking or belts.section or "belts not known yet",
             f", {belts.make}" if belts.make else "", f", put on {belts.fitted_on}" if belts.fitted_on else ""]
    return "".join(parts)


def sheet_columns(kinds: Sequence[Kind], system: System) -> list[tuple[str, str, str]]:
    """The columns of an empty sheet of readings: name, what is asked, what is accepted."""
    from beltwright.desk.record import STATES

    rows = [("tag", "tag of the drive", ""), ("kind", "kind of reading", ", ".join(kind.name for kind in kinds)),
            ("state", "when it was taken", ", ".join(STATES)),
            ("taken_at", "day and time", "YYYY-MM-DD HH:MM, UTC unless a zone stands behind"),
            ("by", "who took it", ""), ("note", "anything else", "")]
    seen: set[str] = set()
    for kind in kinds:
        for field in kind.fields:
            unit = SHOWN[system][field.kind].unit if field.kind in QUANTITIES else ""
            name = f"{field.name}_{tail(unit)}" if unit else field.name
            if name not in seen:
                seen.add(name)
                needed = "needed" if field.required else "may stay empty"
                rows.append((name, field.ask, "; ".join((", ".join(field.choices), needed)).strip("; ")))
    return rows
