"""Drives on the screen: the plant at a glance, the card a mechanic reads in seconds, the working behind a number."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from beltwright.bench.card import make_card
from beltwright.book.sheets import read_sheet
from beltwright.desk.columns import COLUMNS
from beltwright.paper.sheet import sheet
from tests.bench.drives import SOUND, a_drive
from tests.cli.conftest import Run, write_csv

DEMO = Path(__file__).parents[2] / "examples" / "pellet_mill.csv"


@pytest.fixture
def mill(run: Run) -> Run:
    """A book that holds the demo plant."""
    run("new", "Pellet mill")
    said = run("survey", str(DEMO))
    assert (said.code, said.err) == (0, "")
    return run


def test_the_force_band_stands_at_the_head_of_the_card(plant: Run) -> None:
    card = make_card(a_drive())
    head = plant("card", "fan 1").out.splitlines()[:10]
    assert f"Press each span in at its middle by {card.figures['deflection'].text('si')} " in "\n".join(head)
    (force,) = [line for line in head if line.startswith("Force at the mark, each belt")]
    assert card.figures["force_run_in"].text("si") in force
    assert card.figures["force_new"].text("si") in force
    assert head[1].startswith("FAN-1  fan")
    assert len(head[1]) == 80


def test_the_card_on_the_screen_has_the_sections_of_the_printed_one_in_order(plant: Run) -> None:
    said = plant("card", "FAN-1").out
    sections = sheet(make_card(a_drive()), "si").sections
    places = [said.index(f"\n{section.title.upper()}\n") for section in sections if section.kind != "form"]
    assert places == sorted(places)
    for section in sections:
        for row in section.rows:
            for cell in row.cells:
                assert " ".join(cell.text.split()) in " ".join(said.split())
    assert max(map(len, said.splitlines())) <= 80


@pytest.mark.parametrize("width", ["40", "60", "80", "120"])
def test_every_card_and_the_plant_fit_the_screen(mill: Run, monkeypatch: pytest.MonkeyPatch, width: str) -> None:
    monkeypatch.setenv("COLUMNS", width)
    with DEMO.open(encoding="utf-8") as file:
        tags = [line.split(";")[0] for line in file][1:]
    for arguments in [["plant"], *(["card", tag] for tag in tags[:: 3 if width != "80" else 1])]:
        said = mill(*arguments)
        assert said.code == 0
        assert not [line for line in said.out.splitlines() if len(line) > int(width)]


def test_units_are_the_books_unless_asked_for(plant: Run) -> None:
    assert plant("settings", "--units", "inch").code == 0
    assert " lbf " in plant("card", "FAN-1").out
    assert " lbf " not in plant("card", "FAN-1", "--units", "si").out.split("LIMITS")[0]


def test_json_says_the_same_as_the_card_with_the_unit_in_the_name(plant: Run) -> None:
    figures = json.loads(plant("card", "FAN-1", "--json").out)["figures"]
    card = make_card(a_drive())
    assert figures["force_run_in"]["low_n"] == pytest.approx(card.figures["force_run_in"].low, abs=1e-6)
    assert figures["span"]["value_mm"] == pytest.approx(1000 * (card.figures["span"].value or 0), abs=1e-6)
    assert figures["span"]["uncertainty_mm"] == pytest.approx(2000 * (card.figures["span"].spread or 0), abs=1e-6)
    # other programs get the same names whatever people here read
    assert plant("card", "FAN-1", "--json", "--units", "inch").out == plant("card", "FAN-1", "--json").out
    (line,) = json.loads(plant("plant", "--json").out)
    assert line["set_to"]["deflection"]["value_mm"] == figures["deflection"]["value_mm"]


def test_the_printed_card_is_a_pdf_of_the_same_drive(plant: Run, tmp_path: Path) -> None:
    from pypdf import PdfReader

    said = plant("card", "FAN-1", "--pdf", "card.pdf")
    assert said.out == "card.pdf: the card of FAN-1.\n"
    words = " ".join(page.extract_text() for page in PdfReader(tmp_path / "card.pdf").pages)
    assert make_card(a_drive()).figures["force_run_in"].text("si") in words
    assert [path.name for path in tmp_path.iterdir() if path.name.endswith(".half")] == []


def test_a_working_shows_formula_numbers_source_and_trust(plant: Run) -> None:
    figure = make_card(a_drive()).figures["static_tension"]
    said = " ".join(plant("working", "FAN-1", "static-tension").out.split())
    for part in (figure.text("si"), figure.working.formula, figure.working.trust_words(), figure.working.validity,
                 *figure.working.cited(), *(put.text("si") for put in figure.working.puts)):
        assert " ".join(part.split()) in said
    listed = plant("working", "FAN-1").out
    assert all(f"\n{key} " in listed for key in make_card(a_drive()).figures)


def test_the_plant_says_what_needs_a_hand_first(mill: Run) -> None:
    assert "32 drives   ▲ stop and mend 2" in mill("plant").out
    assert mill("readings", "in", str(DEMO.with_name("pellet_mill_rounds.csv"))).code == 0
    said = mill("plant").out
    table, hands = said.split("What needs a hand first")
    assert "32 drives   ▲ stop and mend 3" in table
    order = [hands.index(tag) for tag in ("FAN-21", "PMP-02", "ELV-02")]
    assert order == sorted(order)
    places = [line for line in table.splitlines() if " / " in line]
    assert places == sorted(places)
    assert "1 drive " in mill("plant", "dryer", "exhaust").out


def test_the_plant_takes_readings_into_account(plant: Run) -> None:
    assert json.loads(plant("plant", "--json").out)[0]["stands"] == "plan"   # never read
    plant("note", "FAN-1", "temperature", "where=belt", "temperature=110 C")
    assert json.loads(plant("plant", "--json").out)[0]["stands"] == "stop and mend"
    assert "▲ FAN-1" in plant("plant").out


def test_a_template_is_filled_in_and_handed_in(run: Run, tmp_path: Path) -> None:
    run("new", "Test plant")
    assert f"{len(COLUMNS)} columns" in run("template", "drives.xlsx").out
    read = read_sheet(tmp_path / "drives.xlsx")
    assert len(read.columns) == len(COLUMNS)
    assert run("template", "inch.csv", "--units", "inch").code == 0
    names = read_sheet(tmp_path / "inch.csv").columns
    assert {"centre_in", "motor_power_hp", "room_f"} <= set(names)
    row = dict.fromkeys(names, "") | {"tag": "FAN-1", "name": "fan", "centre_in": "42.4"}
    assert "1 entered: FAN-1" in run("survey", str(write_csv(tmp_path / "filled.csv", row))).out
    assert "GO AND READ" in run("card", "FAN-1").out


def test_the_same_sheet_twice_changes_nothing(mill: Run) -> None:
    before = mill("export").out
    assert "32 as they were" in mill("survey", str(DEMO)).out
    assert mill("export").out == before


@pytest.mark.parametrize(("command", "words"), [
    ("services", ["fans over 10 hp", "1.1", "Hours are those it runs in a day"]),
    ("sections", ["SPB", "iso: ISO 4184", "from memory, not verified"])])
def test_the_lists_to_pick_from(run: Run, command: str, words: list[str]) -> None:
    said = run(command)
    assert said.code == 0
    assert all(word in said.out for word in words)
    assert max(map(len, said.out.splitlines())) <= 80


def test_the_book_itself(plant: Run, tmp_path: Path) -> None:
    said = plant("settings", "--energy-price", "0,14", "--currency", "EUR", "--plant", "Mill")
    assert said.out.split("\n")[:3] == ["plant         Mill", "units         SI", "energy price  0.140 EUR / kWh"]
    assert plant("settings").out == said.out
    paid = plant("settings", "--work-price", "45", "--belt-price", "12.50")
    assert "work price    45 EUR / h\nbelt price    12.50 EUR\n" in paid.out
    assert "belt price    not set" in plant("settings", "--belt-price", "").out
    assert "is no price" in plant("settings", "--work-price", "much").err
    assert plant("check").out == "plant.book is sound: 1 drive, no readings, no jobs (0 open).\n"
    assert plant("backup", "copy.book").code == 0
    assert plant("export", "plant.jsonl").code == 0
    assert plant("card", "FAN-1", "--book", "copy.book").out == plant("card", "FAN-1").out
    assert plant("new", "Mill", "--book", "other.book").code == 0
    assert "1 make-up" in plant("import-book", "plant.jsonl", "--book", "other.book").out
    assert "nothing new" in plant("import-book", "plant.jsonl", "--book", "other.book").out
    assert plant("export", "--book", "other.book").out.count("make-up") == 1
    (tmp_path / "broken.jsonl").write_text((tmp_path / "plant.jsonl").read_text(encoding="utf-8")[:-30],
                                           encoding="utf-8")
    assert plant("import-book", "broken.jsonl", "--book", "other.book").code == 2


def test_where_the_book_is_may_stand_in_the_environment(plant: Run, tmp_path: Path,
                                                        monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "plant.book").rename(tmp_path / "elsewhere.book")
    monkeypatch.setenv("BELTWRIGHT_BOOK", "elsewhere.book")
    assert plant("card", SOUND["tag"]).code == 0
