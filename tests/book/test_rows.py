"""Records to JSON and back: nothing lost, nothing unknown let in."""

from __future__ import annotations

import json
from datetime import UTC, date
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from hypothesis import given

from beltwright.book import rows
from beltwright.book.databases import sqlite
from beltwright.errors import InputError
from beltwright.plant.drive import Belts, Drive, MakeUp, Motor, Shaft, Sheave
from beltwright.plant.job import Event, Job
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings
from tests.book.invented import MONDAY, in_utc, reading, records

SQLITE = sqlite(Path("plant.book"), write=False, patience=1)
KINDS = (Drive, MakeUp, Job, Event, Reading, Settings)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_any_record_comes_back_as_it_went(kind: type[Any]) -> None:
    @given(records(kind))
    def holds(record: Any) -> None:
        assert rows.from_text(kind, rows.text_of(rows.to_json(record))) == in_utc(record)

    holds()


def test_what_is_stored_is_short_and_can_be_read() -> None:
    drive = Drive("FAN-12", "fan", motor=Motor(power=15e3), belts=Belts("B", fitted_on=date(2026, 3, 2)),
                  driven=Sheave(shaft=Shaft(bearing="ball")))
    assert rows.text_of(rows.to_json(drive)) == (
        '{"tag":"FAN-12","name":"fan","motor":{"power":15000.0},"driven":{"shaft":{"bearing":"ball"}},'
        '"belts":{"section":"B","fitted_on":"2026-03-02"}}')


@pytest.mark.parametrize("data", [
    {"tag": "A", "name": "fan", "colour": "green"}, {"tag": "A", "name": "fan", "belts": {"cogs": True}},
])
def test_a_field_of_a_later_version_is_refused_not_dropped(data: dict[str, Any]) -> None:
    with pytest.raises(rows.Later, match=r"colour|cogs"):
        rows.from_json(Drive, data)


@pytest.mark.parametrize(("data", "where"), [
    ({"tag": "A"}, "name"),
    ([], "fields"),
    ({"tag": 12, "name": "fan"}, "tag: 12 is not text"),
    ({"tag": "A", "name": "fan", "centre": "0.5"}, "centre: '0.5' is not a number"),
    ({"tag": "A", "name": "fan", "centre": True}, "centre: True is not a number"),
    ({"tag": "A", "name": "fan", "centre": float("inf")}, "centre: inf is not a number"),
    ({"tag": "A", "name": "fan", "shafts": "slanted"}, "shafts: 'slanted' is none of"),
    ({"tag": "A", "name": "fan", "belts": {"count": 3.5}}, "belts: count: 3.5 is not a whole number"),
    ({"tag": "A", "name": "fan", "belts": {"joined": 1}}, "belts: joined: 1 is not true or false"),
    ({"tag": "A", "name": "fan", "belts": {"fitted_on": "yesterday"}}, "fitted_on: 'yesterday' is not a date"),
    ({"tag": "A", "name": "fan", "belts": "three"}, "belts: Belts: 'three' is not a set of fields"),
    ({"tag": "A", "name": "fan", "typed": {"centre": 5}}, "typed: 5 is not text"),
])
def test_what_does_not_fit_is_named(data: Any, where: str) -> None:
    with pytest.raises(rows.Misfit, match=where):
        rows.from_json(Drive, data)


@pytest.mark.parametrize("at", ["2026-03-02T06:30", 1772433000, "Monday"])
def test_a_time_needs_its_zone(at: Any) -> None:
    good = rows.to_json(reading(uuid4()))
    assert rows.from_json(Reading, good).taken_at == MONDAY
    with pytest.raises(rows.Misfit, match=r"taken_at: .* is not a time with its zone"):
        rows.from_json(Reading, {**good, "taken_at": at})


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 1j, [1.0, float("nan")], object()])
def test_what_json_cannot_hold_is_refused(value: Any) -> None:
    with pytest.raises(InputError, match="kept in the book"):
        rows.text_of({"force": value})


def test_readings_rebuilt_in_bulk_are_readings_like_any_other() -> None:
    made = reading(UUID(int=1), supersedes=UUID(int=7), reason="slip", note="n", extra={"a": "b"})
    row = rows.reading_row(made)
    raw = (made.drive_id.bytes, "2026-03-02 06:30:00.000000", made.id.bytes, *row[3:7], UUID(int=7).bytes, *row[8:])
    again, = rows.rebuild(made.drive_id, [raw], SQLITE.get_id, SQLITE.get_time)
    assert type(again) is Reading
    assert (again, repr(again), hash(again.id)) == (made, repr(made), hash(made.id))
    assert again.taken_at.tzinfo is UTC
    assert (again.id.version, again.id.is_safe) == (made.id.version, made.id.is_safe)
    with pytest.raises(AttributeError):
        again.note = "changed"  # type: ignore[misc]


def test_a_field_of_a_later_version_in_a_reading_is_refused() -> None:
    made = reading(UUID(int=1))
    raw = (made.drive_id.bytes, "2026-03-02 06:30:00.000000", made.id.bytes, "force", "as found", None, "Ann", None,
           "{}", "{}", json.dumps({"weather": "dry"}))
    with pytest.raises(rows.Later, match="weather"):
        rows.rebuild(made.drive_id, [raw], SQLITE.get_id, SQLITE.get_time)
