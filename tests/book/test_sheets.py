"""Sheets in and out: what people hand in is read as it stands, or refused with the place named; nothing is guessed."""

from __future__ import annotations

import csv
import io
import random
import zipfile
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st

from beltwright.book import cells, workbook
from beltwright.book.sheets import Sheet, read_bytes, read_sheet, sheet_bytes, write_sheet
from beltwright.errors import InputError, SheetError


def from_csv(text: str, encoding: str = "utf-8") -> Sheet:
    return read_bytes(text.encode(encoding), "drives.csv")


def made(fill: Callable[[Any, Any], None]) -> bytes:
    """A workbook whose first sheet is filled by the function, which gets sheet and workbook."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        fill(book.add_worksheet("drives"), book)
    return out.getvalue()


def refused(data: bytes) -> SheetError:
    with pytest.raises(SheetError) as told:
        read_bytes(data, "drives.xlsx")
    assert "\n" not in str(told.value)
    return told.value


# --- CSV -------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("text", [
    "tag,centre_mm\nFAN-12,\"812,5\"\n", "tag;centre_mm\r\nFAN-12;812,5\r\n", "tag\tcentre_mm\nFAN-12\t812,5",
    "sep=;\ntag;centre_mm\nFAN-12;812,5\n", "\n\n tag ; centre_mm \nFAN-12 ; 812,5\n",
    "\"tag\",\"centre_mm\"\n\"FAN-12\",\"812,5\"\n", "tag;centre_mm;\nFAN-12;812,5;\n",
])
def test_the_sign_between_cells_is_seen_in_the_header(text: str) -> None:
    sheet = from_csv(text)
    assert sheet.columns == ("tag", "centre_mm")
    assert sheet.rows == ({"tag": "FAN-12", "centre_mm": "812,5"},)
    assert sheet.notes == ()


def test_rows_have_the_numbers_a_person_sees() -> None:
    sheet = from_csv("\ntag,name\nA,\"two\nlines\"\n\nB,fan\n,\n\n")
    assert (sheet.first, [row["tag"] for row in sheet.rows]) == (3, ["A", "", "B"])
    assert sheet.rows[0]["name"] == "two\nlines"


@pytest.mark.parametrize(("encoding", "noted"), [("utf-8", False), ("utf-8-sig", False), ("utf-16", False),
                                                ("cp1252", True)])
def test_letters_with_accents(encoding: str, noted: bool) -> None:
    sheet = from_csv("tag;name\nA;Lüfter Größe 3 €\n", encoding)
    assert sheet.rows[0]["name"] == "Lüfter Größe 3 €"
    assert [("Windows-1252" in note) for note in sheet.notes] == [True] * noted


def test_a_decimal_comma_that_splits_a_cell_is_never_taken_for_two() -> None:
    """`812,5` unquoted between commas moves every cell after it: one cell too many, even if the last is empty."""
    for last in ("3", ""):
        with pytest.raises(SheetError) as told:
            from_csv(f"tag,name,centre_mm,count\nA,fan,900,3\nFAN-12,fan,812,5,{last}\n")
        cell, = told.value.cells
        assert cell.row == 3
        assert "5 cells under 4 columns" in cell.problem


def test_every_bad_place_is_named_at_once() -> None:
    with pytest.raises(SheetError, match=r"drives.csv cannot be read: row 1, tag: .*twice \(and 3 more\)") as told:
        from_csv(f"tag,name,,tag\nA,fan,stray,A\nB,fan,,B,5\nC,{'x' * 40_000},,C\n")
    assert [(cell.row, cell.problem.split(":")[0]) for cell in told.value.cells] == [
        (1, "this column is there twice"), (2, "this column has no name in the header"),
        (3, "5 cells under 4 columns"), (4, "more than 32767 signs")]


@pytest.mark.parametrize(("data", "words"), [
    (b"", "is empty"), (b"\n \n,,\n", "is empty"), (b"\xef\xbb\xbf", "is empty"),
    (b"tag,name\nA,\"fan\n", "quotation marks"), (b"tag,name\nA,\"fan\"x\n", "quotation marks"),
    (b"tag\x00name\n", "neither a text file nor"), (b"\x89PNG\r\n\x1a\n\x00\x00\x81\x8d", "neither a text file nor"),
    (b"tag\n" + b"A\n" * 200_001, "more than 200000 rows"), (b"t" + b",t" * 800, "702 columns"),
    (b"tag,name\nA," + b"x" * 200_000, "field larger than field limit"),
])
def test_what_is_no_sheet(data: bytes, words: str) -> None:
    with pytest.raises(SheetError, match=words):
        read_bytes(data, "drives.csv")


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no file .*none\.csv"):
        read_sheet(tmp_path / "none.csv")
    with pytest.raises(InputError, match="could not be read"):
        read_sheet(tmp_path)
    with pytest.raises(InputError, match="larger than 50 MB"):
        read_bytes(bytes(50_000_001), "drives.csv")
    with pytest.raises(InputError, match="of the old kind"):
        read_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "drives.xls")


# --- XLSX ------------------------------------------------------------------------------------------------------------

def test_a_spreadsheet_s_values_come_as_a_person_would_type_them() -> None:
    def fill(page: Any, book: Any) -> None:
        page.write_row(1, 1, ["text", "whole", "decimal", "sum", "day", "moment", "yes", "huge", "formula"])
        page.write_string(2, 1, " 1,5 kW ")
        page.write_number(2, 2, 1500)
        page.write_number(2, 3, 23.625)
        page.write_number(2, 4, 0.1 + 0.2)
        page.write_datetime(2, 5, date(2026, 3, 2), book.add_format({"num_format": "dd.mm.yyyy"}))
        page.write_datetime(2, 6, datetime(2026, 3, 2, 6, 30), book.add_format({"num_format": "dd.mm.yyyy hh:mm"}))
        page.write_boolean(2, 7, True)
        page.write_number(2, 8, 1.5e20)
        page.write_formula(2, 9, "=C3*2", None, 3000)

    sheet = read_bytes(made(fill), "drives.xlsx")
    assert sheet.first == 3
    assert list(sheet.rows[0].values()) == [
        "1,5 kW", "1500", "23.625", "0.3", "2026-03-02", "2026-03-02 06:30:00", "yes", "1.5e+20", "3000"]


def never_worked_out() -> bytes:
    """A formula as programs write it that do not calculate."""
    out = io.BytesIO()
    book = openpyxl.Workbook()
    for line in (["tag", "centre_mm"], ["A", "=400*2"]):
        book["Sheet"].append(line)
    book.save(out)
    return out.getvalue()


def came_out_as(result: str) -> bytes:
    def fill(page: Any, _: Any) -> None:
        page.write_row(0, 0, ["tag", "centre_mm"])
        page.write_string(1, 0, "A")
        page.write_formula(1, 1, "=1/0", None, result)

    return made(fill)


@pytest.mark.parametrize("data", [came_out_as("#DIV/0!"), came_out_as("#N/A"), never_worked_out()])
def test_a_formula_without_a_result_is_named_not_taken_for_an_empty_cell(data: bytes) -> None:
    cell, = refused(data).cells
    assert (cell.row, cell.column, cell.problem) == (2, "B", "has no result: type the value itself")


def test_one_sheet_of_several() -> None:
    def fill(page: Any, book: Any) -> None:
        page.hide()
        for name in ("Line 1", "Line 2"):
            other = book.add_worksheet(name)
            other.write_row(0, 0, ["tag"])
            other.write_row(1, 0, [name])
            other.activate()

    data = made(fill)
    first = read_bytes(data, "drives.xlsx")
    assert (first.rows, first.notes) == (({"tag": "Line 1"},), ("drives.xlsx: only its sheet 'Line 1' was read",))
    assert read_bytes(data, "drives.xlsx", sheet="Line 2").rows == ({"tag": "Line 2"},)
    with pytest.raises(SheetError, match=r"no sheet 'Line 3': it has drives, Line 1, Line 2"):
        read_bytes(data, "drives.xlsx", sheet="Line 3")


def test_a_cell_far_out_is_refused_before_room_is_made_for_all_between() -> None:
    for row, column in ((1_048_576, 16_384), (150_000, 100)):   # the corner of a sheet; and one too many in all
        data = made(lambda page, _, row=row, column=column: page.write_string(row - 1, column - 1, "far"))  # type: ignore[misc]
        assert f"as far out as row {row} or column {column}" in str(refused(data))


def packed(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


def test_a_file_that_unpacks_to_far_more_than_it_weighs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook, "MOST_UNPACKED", 3_000_000)
    bomb = packed(a=bytes(1_000_000), b=bytes(2_500_000))
    assert len(bomb) < 10_000
    assert "unpacks to more than" in str(refused(bomb))
    claims_less = bytearray(bomb)   # the size it claims for its second part
    where = claims_less.rindex(b"PK\x01\x02") + 24
    claims_less[where:where + 4] = (1000).to_bytes(4, "little")
    refused(bytes(claims_less))


def test_damaged_workbooks_are_refused_or_read_right() -> None:
    whole = sheet_bytes("xlsx", ["tag", "n"], [{"tag": f"FAN-{n}", "n": float(n)} for n in range(50)])
    right = read_bytes(whole, "drives.xlsx").rows
    chance = random.Random(4)
    seen = 0
    for trial in range(300):
        data = bytearray(whole)
        if trial % 3:
            for _ in range(1 + trial % 4):
                data[chance.randrange(len(data))] = chance.randrange(256)
        else:
            del data[chance.randrange(5, len(data)):]
        try:
            assert read_bytes(bytes(data), "drives.xlsx").rows == right
        except InputError:
            seen += 1
    assert seen > 200


@pytest.mark.parametrize("change", [
    lambda xml: xml.replace(b'r="A2"', b'r="ZZZZ2"'), lambda xml: xml.replace(b'r="A2"', b'r="A0"'),
    lambda xml: xml.replace(b'r="A2"', b'r="A99999999999"'), lambda xml: xml.replace(b"<v>0</v>", b"<v>99</v>"),
    lambda xml: xml[:len(xml) // 2], lambda xml: xml[:0], lambda xml: xml.decode().encode("utf-16"),
    lambda xml: xml.replace(b"sheetData", b"nothing"),
])
def test_workbooks_that_lie_inside(change: Callable[[bytes], bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(sheet_bytes("xlsx", ["tag"], [{"tag": "FAN-12"}]))) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/worksheets/sheet1.xml"] = change(parts["xl/worksheets/sheet1.xml"])
    refused(packed(**parts))


# --- writing ---------------------------------------------------------------------------------------------------------

CELLS = st.text(st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n\t"), max_size=12).map(str.strip)
RISKY = st.builds(lambda quotes, sign, rest: "'" * quotes + sign + rest, st.integers(0, 2),
                  st.sampled_from(["=", "+", "-", "@", "-5", "+3,5", "=1+1", "-5 mm"]), CELLS).map(str.strip)
ROWS = st.lists(st.fixed_dictionaries(
    {"tag": CELLS.filter(bool), "note": CELLS | RISKY, "; \"": RISKY | CELLS}), max_size=6)


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_what_is_written_is_read_back(kind: str) -> None:
    @given(ROWS)
    def holds(rows: list[dict[str, str]]) -> None:
        columns = ("tag", "note", "; \"")
        sheet = read_bytes(sheet_bytes(kind, columns, rows), "again")
        assert sheet == Sheet(columns, tuple(rows), 2)

    holds()


@given(RISKY | CELLS)
def test_no_text_becomes_a_formula(text: str) -> None:
    written = sheet_bytes("csv", ["note"], [{"note": text}]).decode("utf-8-sig")
    cell = list(csv.reader(io.StringIO(written, newline="")))[1:][0][0] if text else ""
    if cell.startswith(("=", "+", "-", "@")):   # then it is a number and nothing else
        assert cell == text
        float(text.replace(",", "."))
    page = openpyxl.load_workbook(io.BytesIO(sheet_bytes("xlsx", ["note"], [{"note": text}])))["sheet"]
    assert page["A2"].data_type != "f"
    assert page["A2"].value in (None, text, f"'{text}")


def test_numbers_and_days_are_written_as_such() -> None:
    rows: list[dict[str, cells.Content]] = [
        {"force_n": 41.25, "belts": 3, "day": date(2026, 3, 2), "at": datetime(2026, 3, 2, 6, 30), "none": None}]
    columns = ["force_n", "belts", "day", "at", "none"]
    line = sheet_bytes("csv", columns, rows).decode("utf-8-sig").splitlines()[1]
    assert line == "41.25,3,2026-03-02,2026-03-02 06:30:00,"
    page = openpyxl.load_workbook(io.BytesIO(sheet_bytes("xlsx", columns, rows)))["sheet"]
    assert [cell.value for cell in page[2]] == [41.25, 3, datetime(2026, 3, 2), "2026-03-02 06:30:00", None]
    assert list(read_bytes(sheet_bytes("xlsx", columns, rows), "again").rows[0].values()) == [
        "41.25", "3", "2026-03-02", "2026-03-02 06:30:00", ""]


def test_notes_stand_on_a_sheet_of_their_own() -> None:
    data = sheet_bytes("xlsx", ["tag"], [], title="drives", notes=[("tag", "short and unique", "FAN-12")])
    assert read_bytes(data, "template").columns == ("tag",)
    assert read_bytes(data, "template", sheet="what to fill in").columns == ("tag", "short and unique", "FAN-12")


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "bad rows.csv"
    path.write_text("precious", encoding="utf-8")
    with pytest.raises(InputError, match=r"longer than the cell|could not be written|\.csv or \.xlsx"):
        write_sheet(tmp_path / "bad rows.xlsx", ["note"], [{"note": "x" * 40_000}])
    with pytest.raises(InputError, match=r"\.csv or \.xlsx"):
        write_sheet(tmp_path / "rows.pdf", ["note"], [])
    with pytest.raises(InputError, match="could not be written"):
        write_sheet(tmp_path / "none" / "rows.csv", ["note"], [])

    def stumble() -> Any:
        yield {"note": "a"}
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        write_sheet(path, ["note"], stumble())
    assert path.read_text(encoding="utf-8") == "precious"
    write_sheet(path, ["note"], [{"note": "a"}])
    assert read_sheet(path).rows == ({"note": "a"},)
    assert [left.name for left in tmp_path.iterdir()] == ["bad rows.csv"]
