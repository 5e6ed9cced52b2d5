"""Readings as people note them: what was typed is kept, bad values are all named, a correction keeps the old one."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from beltwright.book.store import Store
from beltwright.desk import record
from beltwright.desk.survey import Row
from beltwright.errors import InputError, Refused, SheetError, Unknown
from beltwright.plant.identity import new_id
from beltwright.plant.reading import KINDS
from tests.desk.conftest import START


def test_what_was_typed_stands_beside_the_si_value(book: Store) -> None:
    reading = record.note(book, "fan1", "force", {"belt": "2", "force": "8,5 lb"}, state="as found", by="Ann", at=START)
    (kept,) = book.readings(reading.drive_id)
    assert kept == reading
    assert kept.typed["force"] == "8,5 lb"
    assert kept.values["force"] == pytest.approx(8.5 * 4.4482216152605)


def test_noting_the_same_reading_twice_changes_nothing(book: Store) -> None:
    mark = new_id()
    for _ in range(2):
        reading = record.note(book, "FAN-1", "seen", {"what": "cracked"}, state="as found", by="Ann", at=START,
                              reading_id=mark)
    assert len(book.readings(reading.drive_id)) == 1


def test_every_bad_value_is_named_at_once(book: Store) -> None:
    with pytest.raises(SheetError) as refused:
        record.note(book, "FAN-1", "force", {"belt": "two", "force": "12", "colour": "red"}, state="as found", by="Ann",
                    at=START)
    assert {cell.column for cell in refused.value.cells} == {"belt", "force", "colour"}
    assert "has no unit" in str(refused.value)


@pytest.mark.parametrize(("kind", "answers", "says"), [
    ("weight", {}, "no kind of reading"), ("force", {"belt": "1"}, "needed: force"),
    ("force", {"belt": "1", "force": "-3 N"}, "outside what is believed"),
    ("force", {"belt": "1", "force": "9 kN"}, "outside what is believed"),
    ("seen", {"what": "purple"}, "is not one of"), ("run-out", {"sheave": "idler"}, "is not one of"),
    ("temperature", {"where": "belt", "temperature": "400 C"}, "outside what is believed"),
])
def test_what_is_refused_and_why(book: Store, kind: str, answers: dict[str, str], says: str) -> None:
    with pytest.raises(InputError, match=says):
        record.note(book, "FAN-1", kind, answers, state="as found", by="Ann", at=START)
    assert not book.readings(book.drive_by_tag("FAN-1").drive_id)


@pytest.mark.parametrize(("by", "state", "says"), [
    (" ", "as found", "a name is needed"), ("Ann", "new", "not a state")])
def test_a_reading_needs_a_name_and_a_state(book: Store, by: str, state: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        record.note(book, "FAN-1", "seen", {"what": "glazed"}, state=state, by=by, at=START)


def test_a_drive_there_is_none_of(book: Store) -> None:
    with pytest.raises(Unknown, match="FAN-1"):
        record.note(book, "FAM-1", "seen", {"what": "glazed"}, state="as found", by="Ann", at=START)


def test_a_correction_supersedes_with_a_reason_and_keeps_the_old(book: Store) -> None:
    old = record.note(book, "FAN-1", "force", {"belt": "1", "force": "81 N"}, state="as found", by="Ann", at=START)
    with pytest.raises(InputError, match="say why"):
        record.correct(book, old.id, {"force": "18 N"}, reason=" ", by="Bo", at=START)
    new = record.correct(book, old.id, {"force": "18 N"}, reason="figures swapped", by="Bo", at=START)
    assert [kept.id for kept in book.readings(old.drive_id)] == [new.id]
    assert [kept.id for kept in book.readings(old.drive_id, superseded=True)] == [old.id, new.id]
    assert new.values == {"belt": 1, "force": 18.0}
    assert new.taken_at == old.taken_at
    with pytest.raises(Refused):
        record.correct(book, old.id, {"force": "19 N"}, reason="again", by="Bo", at=START)


def test_a_correction_that_names_no_value_is_refused(book: Store) -> None:
    old = record.note(book, "FAN-1", "force", {"belt": "1", "force": "81 N"}, state="as found", by="Ann", at=START)
    with pytest.raises(InputError, match="belt, force"):
        record.correct(book, old.id, {"frequency": "18 Hz"}, reason="typo", by="Bo", at=START)


SHEET = [
    {"tag": "FAN-1", "kind": "force", "state": "as found", "taken_at": "2026-04-01 10:00", "belt": "1",
     "force_n": "20,5"},
    {"tag": "fan 1", "kind": "speed", "state": "running", "taken_at": "2026-04-01", "driver_speed_rpm": "1748",
     "driven_speed_rpm": "1181 rpm"},
    {"tag": "FAN-9", "kind": "force", "state": "as found", "taken_at": "yesterday", "belt": "1", "force_n": "nan"},
]


def test_a_sheet_of_readings_keeps_the_good_rows_and_names_every_bad_cell(book: Store) -> None:
    rows = [Row(number, cells) for number, cells in enumerate(SHEET, 2)]
    result = record.hand_in(book, rows, by="Bo")
    assert (result.noted, result.same) == (2, 0)
    assert [row.number for row in result.bad] == [4]
    assert {cell.column for cell in result.problems} >= {"tag", "taken_at", "force"}
    again = record.hand_in(book, rows, by="Bo")
    assert (again.noted, again.same) == (0, 2)


def test_a_sheet_with_strange_columns_is_refused_whole(book: Store) -> None:
    with pytest.raises(SheetError, match=r"no such column: weight.*no column kind"):
        record.hand_in(book, [Row(2, {"tag": "FAN-1", "weight": "3"})], by="Bo")


@st.composite
def any_reading(draw: st.DrawFn) -> tuple[str, dict[str, str]]:
    """Any kind of reading with believable values, typed in SI."""
    kind = KINDS[draw(st.sampled_from(sorted(KINDS)))]
    answers = {}
    for field in kind.fields:
        if not field.required and draw(st.booleans()):
            continue
        if field.choices:
            answers[field.name] = draw(st.sampled_from(field.choices))
        elif field.kind == "yes or no":
            answers[field.name] = draw(st.sampled_from(("yes", "no")))
        elif field.kind == "count":
            answers[field.name] = str(draw(st.integers(int(field.low or 0), int(field.high or 9))))
        elif field.kind == "text":
            answers[field.name] = draw(st.text("abcdefgh -", min_size=1).filter(str.strip))
        else:
            value = draw(st.floats(field.low or 0, field.high or 1))
            answers[field.name] = record.exact(field, value)
    return kind.name, answers


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
@given(any_reading())
def test_what_goes_out_on_a_sheet_comes_back_the_same(book: Store, drawn: tuple[str, dict[str, str]]) -> None:
    kind, answers = drawn
    if not answers:
        return
    reading = record.note(book, "FAN-1", kind, answers, state="as left", by="Ann", at=START)
    (row,) = record.as_rows([reading], {reading.drive_id: "FAN-1"})
    result = record.hand_in(book, [Row(2, {**row, "id": str(new_id())})], by="Bo")
    assert not result.problems
    back = book.readings(reading.drive_id)[-1]
    assert (back.kind, back.state, back.taken_at, back.by) == (kind, "as left", START, "Ann")
    assert back.values == reading.values


def test_a_sheet_that_came_out_goes_in_again_however_the_values_were_typed(book: Store) -> None:
    reading = record.note(book, "FAN-1", "force", {"belt": "1", "force": "20,5"}, state="as left", by="Ann", at=START,
                          system="si")
    rows = [Row(2, row) for row in record.as_rows([reading], {reading.drive_id: "FAN-1"})]
    result = record.hand_in(book, rows, by="Bo")
    assert (result.noted, result.same, result.problems) == (0, 1, ())
    changed = [Row(2, {**rows[0].cells, "force": "25 N"})]
    result = record.hand_in(book, changed, by="Bo")
    assert [cell.column for cell in result.problems] == ["id"]
    assert len(book.readings(reading.drive_id)) == 1
