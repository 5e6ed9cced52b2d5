"""A sheet as people hand it in: mixed units and habits, bad cells all at once, rows mended, handed in again."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.book.store import Store
from beltwright.desk.columns import COLUMNS, by_header, header, units_of
from beltwright.desk.survey import MEND_COLUMN, Row, drive_from, hand_in, read_rows, rows_from, template
from beltwright.errors import SheetError
from beltwright.mechanics.service import driven_machines
from beltwright.plant.drive import Drive
from beltwright.plant.identity import loose
from beltwright.units import HORSEPOWER, INCH, RPM, System
from tests.bench.drives import SOUND
from tests.desk.conftest import START

DEMO = Path(__file__).parents[2] / "examples" / "pellet_mill.csv"


def demo_rows() -> list[dict[str, str]]:
    with DEMO.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter=";"))


def problem(**cells: str) -> str:
    """The one problem of a sound row with these cells changed."""
    (found,) = read_rows([Row(2, {**SOUND, **cells})]).problems
    return f"{found.row} {found.column} {found.typed}: {found.problem}"


def test_inch_and_metric_rows_and_commas_stand_in_one_sheet() -> None:
    names = ("tag", "name", "centre_mm", "centre_in", "driver_outside", "motor_power_kw", "motor_power_hp",
             "motor_speed_rpm")
    sheet = [dict(zip(names, cells, strict=True)) for cells in (
        ("A", "fan", "612,5", "", '7 5/8"', "1,5", "", "1450"),
        ("B", "pump", "", "23-5/8", "180 mm", "", "7.5", "1 450 rpm".replace(" ", "", 1)),
        ("C", "saw", "24 in", "", "0,2 m", "2 hp", "", "151.8 rad/s"))]
    a, b, c = read_rows(rows_from(sheet)).drives
    assert (a.centre, a.motor.power, a.driver.diameter) == pytest.approx((0.6125, 1500, 7.625 * INCH))
    assert (b.centre, b.motor.power, b.driver.diameter) == pytest.approx((23.625 * INCH, 7.5 * HORSEPOWER, 0.18))
    assert (c.centre, c.motor.power, c.motor.speed) == pytest.approx((24 * INCH, 2 * HORSEPOWER, 151.8))
    assert a.motor.speed == pytest.approx(1450 * RPM)
    assert a.driver.diameter_as == "outside"


@pytest.mark.parametrize(("column", "typed", "says"), [
    ("centre_in", "-40", "-40 in is outside what is believed here, 2.0 in to 591 in"),
    ("centre_in", "0", "outside what is believed"),
    ("centre_in", "nan", "is not a number"),
    ("centre_in", "inf", "is not a number"),
    ("centre_in", "1e999", "too large"),
    ("centre_in", "1,500", "ambiguous: type 1500 or 1.5"),
    ("driver_datum_in", "125 m", "4921 in is outside what is believed here, 1.2 in to 157 in"),
    ("driver_datum_in", "7.4 kW", "unknown unit 'kW' for a length: use mm, cm, m, in or ft"),
    ("motor_speed_rpm", "about 1750", "is not a number"),
    ("belt_count", "3.5", "is not a whole number"),
    ("belt_count", "0", "0 is outside what is believed here, 1 to 40"),
    ("belt_count", "400", "outside what is believed"),
    ("driver_material", "wood", "is not one of: cast iron, ductile iron, steel"),
    ("running_h_per_day", "25", "outside what is believed"),
    ("service", "fan", "did you mean fans up to 10 hp or fans over 10 hp?"),
    ("service", "cement thing", "take the nearest row of the table"),
])
def test_what_a_cell_may_not_hold(column: str, typed: str, says: str) -> None:
    found = problem(**{column: typed})
    assert found.startswith(f"2 {column} {typed}: ")
    assert says in found


@pytest.mark.parametrize("typed", [*driven_machines(), "Fans Over 10 HP", "  hammer   mills"])
def test_a_driven_machine_is_a_row_of_the_service_table(typed: str) -> None:
    assert drive_from({**SOUND, "service": typed}).service in driven_machines()


def test_every_column_of_the_template_is_understood_and_told_apart() -> None:
    systems: tuple[System, ...] = ("si", "inch")
    for system in systems:
        names = [name for name, _, _ in template(system)]
        assert len(names) == len(set(names)) == len(COLUMNS)
        assert all(by_header()[name][0] is column for name, column in zip(names, COLUMNS, strict=True))
    for column in COLUMNS:
        for system in systems:
            _, unit = by_header()[header(column, system)]
            assert (unit is not None) == bool(units_of(column))


def test_unknown_columns_are_refused_with_the_nearest_name() -> None:
    with pytest.raises(SheetError) as refused:
        read_rows([Row(2, {"tag": "A", "name": "fan", "centre_mn": "600", "driver_outsid_mm": "200", "colour": "red"})])
    assert [cell.column for cell in refused.value.cells] == ["centre_mn", "driver_outsid_mm", "colour"]
    said = str(refused.value)
    assert "did you mean centre_mm?" in said
    assert "did you mean driver_outside_mm?" in said
    assert "colour: no such column; the template lists those that are accepted" in said


@pytest.mark.parametrize("rows", [[], [Row(2, {"name": "fan"})]])
def test_a_sheet_without_rows_or_without_tags_is_refused(rows: list[Row]) -> None:
    with pytest.raises(SheetError):
        read_rows(rows)


def test_a_tag_stands_in_one_row_however_it_is_written() -> None:
    rows = rows_from([SOUND, {**SOUND, "tag": "Fan 1"}, {**SOUND, "tag": "FAN-2"}])
    understood = read_rows(rows)
    assert [drive.tag for drive in understood.drives] == ["FAN-1", "FAN-2"]
    assert [(cell.row, cell.column, cell.problem) for cell in understood.problems] == [
        (3, "tag", "stands in row 2 already: one row a drive")]


def test_one_question_is_answered_once() -> None:
    assert "answered in centre_in already: fill one of them" in problem(centre_mm="1077")
    assert "answered in driver_datum_in already" in problem(driver_outside_mm="190")


@pytest.mark.parametrize("tag", ["", "---", "x" * 41])
def test_a_row_without_a_usable_tag_is_refused(tag: str) -> None:
    assert " tag " in problem(tag=tag)


BAD = {"centre_mm": "wide", "belt_count": "many", "motor_speed_rpm": "-5", "shafts": "skew", "service": "???",
       "driver_outside_in": "0"}


@given(st.lists(st.tuples(st.integers(0, 31), st.sampled_from(sorted(BAD))), unique=True, max_size=12))
def test_every_bad_cell_is_reported_and_no_good_row_is_lost(spoilt: list[tuple[int, str]]) -> None:
    rows = demo_rows()
    for number, column in spoilt:
        # a question answered in another unit's column has two answers then; here only the bad one stands
        for other, (asked, _) in by_header().items():
            if asked.path == by_header()[column][0].path and other in rows[number]:
                rows[number][other] = ""
        rows[number][column] = BAD[column]
    understood = read_rows(rows_from(rows))
    assert {(cell.row - 2, cell.column) for cell in understood.problems} == set(spoilt)
    bad = {number for number, _ in spoilt}
    assert [row.number - 2 for row in understood.bad] == sorted(bad)
    assert [drive.tag for drive in understood.drives] == [row["tag"] for number, row in enumerate(rows)
                                                          if number not in bad]


@given(st.permutations(range(32)))
def test_the_order_of_rows_does_not_matter(order: list[int]) -> None:
    rows = demo_rows()
    shuffled = read_rows(rows_from([rows[place] for place in order])).drives
    assert sorted(shuffled, key=lambda drive: drive.tag) == sorted(read_rows(rows_from(rows)).drives,
                                                                   key=lambda drive: drive.tag)


def test_the_same_sheet_twice_changes_nothing(book: Store) -> None:
    first = hand_in(book, rows_from(demo_rows()), by="Ann", at=START)
    assert len(first.entered) == 32
    before = {make_up.drive.tag: book.make_ups(make_up.drive_id) for make_up in book.drives()}
    again = hand_in(book, rows_from(demo_rows()), by="Bo", at=START + timedelta(days=1))
    assert (again.entered, again.changed, len(again.same)) == ((), (), 32)
    assert {make_up.drive.tag: book.make_ups(make_up.drive_id) for make_up in book.drives()} == before


def test_the_mend_file_handed_in_again_completes_the_sheet(book: Store) -> None:
    rows = demo_rows()[:6]
    rows[1]["belt_count"], rows[4]["motor_speed_rpm"], rows[4]["tag"] = "six", "fast", ""
    first = hand_in(book, rows_from(rows), by="Ann", at=START)
    mend = first.understood.to_mend()
    assert len(first.entered) == 4
    assert [row[MEND_COLUMN].split(":")[0] for row in mend] == ["belt_count", "motor_speed_rpm"]
    assert "motor_speed_rpm: 'fast' is not a number" in mend[1][MEND_COLUMN]
    assert "tag: every drive needs a tag" in mend[1][MEND_COLUMN]
    mend[0]["belt_count"], mend[1]["tag"] = demo_rows()[1]["belt_count"], demo_rows()[4]["tag"]
    mend[1]["motor_speed_rpm"] = demo_rows()[4]["motor_speed_rpm"]
    second = hand_in(book, rows_from(mend), by="Ann", at=START)
    assert not second.understood.problems
    assert {*first.entered, *second.entered} == {row["tag"] for row in demo_rows()[:6]}
    whole = {drive.tag: drive for drive in read_rows(rows_from(demo_rows()[:6])).drives}
    for tag in second.entered:
        assert book.drive_by_tag(tag).drive == whole[tag]


def test_a_row_adds_to_what_the_book_knows(book: Store) -> None:
    before = book.drive_by_tag("FAN-1").drive
    given = {"tag": "fan 1", "centre_mm": "1080", "note": "guard rusty", "driven_speed_rpm": ""}
    assert hand_in(book, rows_from([given]), by="Bo", at=START + timedelta(days=1)).changed == ("FAN-1",)
    after = book.drive_by_tag("FAN-1").drive
    assert replace(after, typed={}) == replace(before, typed={}, centre=1.08, note="guard rusty")
    assert "centre_in" not in after.typed


def test_a_dash_takes_an_answer_back(book: Store) -> None:
    hand_in(book, rows_from([{"tag": "FAN-1", "centre_mm": "-", "driven_speed_rpm": "-"}]), by="Bo",
            at=START + timedelta(days=1))
    after = book.drive_by_tag("FAN-1").drive
    assert (after.centre, after.driven_speed) == (None, None)
    assert after.motor.power == pytest.approx(10 * HORSEPOWER)


def test_a_diameter_read_anew_replaces_the_old_one_whatever_it_was_called(book: Store) -> None:
    hand_in(book, rows_from([{"tag": "FAN-1", "driver_outside_mm": "195"}]), by="Bo", at=START + timedelta(days=1))
    sheave = book.drive_by_tag("FAN-1").drive.driver
    assert sheave.diameter == pytest.approx(0.195)
    assert (sheave.diameter_as, sheave.grooves) == ("outside", 3)


def test_typed_otherwise_but_the_same_is_the_same(book: Store) -> None:
    otherwise = {**SOUND, "driver_datum_in": "7 2/5", "motor_power_hp": "10,0", "belt_marking": " B112 "}
    result = hand_in(book, rows_from([otherwise]), by="Bo", at=START + timedelta(days=1))
    assert result.same == ("FAN-1",)


@given(st.sampled_from(demo_rows()))
def test_what_was_typed_rebuilds_the_drive(row: dict[str, str]) -> None:
    drive: Drive = drive_from(row)
    assert drive_from(drive.typed) == drive
    assert loose(drive.tag) == loose(row["tag"])
