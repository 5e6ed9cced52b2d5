"""How a drive has been: its readings by kind, as a table that is read as it stands and that a chart is drawn from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from beltwright.bench.card import Card
from beltwright.bench.figure import Figure
from beltwright.plant.reading import KINDS, Field, Reading, Value
from beltwright.units import SHOWN, System, from_si, show, sign

# readings of a kind that a page shows, the newest
MOST: Final = 200
# the figure whose band a kind of reading is held against, once run in
_BANDS: Final = {"force": "force_run_in", "frequency": "frequency_run_in"}
# the value that is drawn over time
_DRAWN: Final = {"force": "force", "frequency": "frequency", "temperature": "temperature", "groove": "left",
                 "bow": "bow", "power": "power"}
_DIGITS: Final[dict[str, int]] = {"length": 2, "force": 1, "angle": 2}


@dataclass(frozen=True, slots=True)
class Entry:
    """A reading as noted. `second` and `number`: time and value for the chart, as plain numbers."""

    when: str
    second: str
    series: str
    values: tuple[str, ...]
    number: str
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class History:
    """The readings of one kind, the newest first. Without `unit` there is nothing to draw."""

    kind: str
    title: str
    columns: tuple[str, ...]
    entries: tuple[Entry, ...]
    unit: str
    drawn: str
    low: str
    high: str
    band: str
    left_out: str


def histories(card: Card, readings: Sequence[Reading], system: System) -> tuple[History, ...]:
    """The readings of a drive by kind, in the order of the kinds."""
    by_kind: dict[str, list[Reading]] = {}
    for reading in readings:
        by_kind.setdefault(reading.kind, []).append(reading)
    return tuple(_history(name, some, card, system) for name in KINDS if (some := by_kind.get(name)))


def _history(name: str, readings: Sequence[Reading], card: Card, system: System) -> History:
    kind = KINDS[name]
    shown = readings[-MOST:]
    fields = [field for field in kind.fields if any(field.name in reading.values for reading in shown)]
    drawn = next((field for field in fields if field.name == _DRAWN.get(name)), None)
    figure = card.figures.get(_BANDS.get(name, ""))
    return History(
        name, kind.title, tuple(field.name.replace("_", " ") for field in fields),
        tuple(_entry(reading, fields, drawn, system) for reading in reversed(shown)),
        sign(SHOWN[system][drawn.kind].unit) if drawn else "", drawn.name if drawn else "",
        *_band(figure, system), f"{len(readings) - MOST:,} older" if len(readings) > MOST else "")


def _entry(reading: Reading, fields: Sequence[Field], drawn: Field | None, system: System) -> Entry:
    value = reading.values.get(drawn.name) if drawn else None
    return Entry(f"{reading.taken_at:%Y-%m-%d %H:%M}", f"{reading.taken_at.timestamp():.0f}", reading.state,
                 tuple(_text(field, reading.values.get(field.name), system) for field in fields),
                 _number(value, drawn.kind, system) if drawn and isinstance(value, float | int) else "",
                 reading.by, reading.note)


def _text(field: Field, value: Value | None, system: System) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) or field.kind == "count":
        return str(value)
    return show(value, field.kind, system, digits=_DIGITS.get(field.kind))


def _number(value: float, kind: str, system: System) -> str:
    return f"{from_si(value, SHOWN[system][kind].unit, kind):.6g}"


def _band(figure: Figure | None, system: System) -> tuple[str, str, str]:
    if figure is None or figure.low is None or figure.high is None:
        return "", "", ""
    return (_number(figure.low, figure.kind, system), _number(figure.high, figure.kind, system),
            f"{figure.title}: {figure.text(system)}")
