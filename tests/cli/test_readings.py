"""Readings at the terminal: asked for with the band in view, or in one line; put right; by the sheet; judged."""

from __future__ import annotations

import json
import re
from pathlib import Path

from beltwright.bench.card import make_card
from beltwright.book.sheets import read_sheet
from tests.bench.drives import a_drive
from tests.cli.conftest import Run, write_csv


def kept(run: Run) -> list[dict[str, object]]:
    """The readings on record."""
    return [{**each, **each["values"]} for each in json.loads(run("history", "FAN-1", "--json").out)["readings"]]


def test_one_line_for_scripts(plant: Run) -> None:
    said = plant("note", "fan1", "force", "belt=2", "force=31 N", "--state", "as left", "--by", "Bo",
                 "--at", "2026-11-20 10:00+01:00")
    assert said.code == 0
    assert re.fullmatch(r"noted: FAN-1, force, as left, .*: belt 2, 31.0 N \(by Bo, [0-9a-f]{6}\)\n", said.out)
    (reading,) = kept(plant)
    assert (reading["belt"], reading["force_n"], reading["state"], reading["by"]) == (2, 31.0, "as left", "Bo")
    assert reading["taken_at"] == "2026-11-20T09:00:00+00:00"
    assert reading["typed"] == {"belt": "2", "force": "31 N"}


def test_bare_numbers_take_the_units_named(plant: Run) -> None:
    assert plant("note", "FAN-1", "force", "belt=1", "force=7.5").code == 2
    assert plant("note", "FAN-1", "force", "belt=1", "force=7.5", "--units", "inch").code == 0
    assert kept(plant)[0]["force_n"] == 33.361662


def test_asked_for_belt_by_belt_with_the_band_in_view(plant: Run) -> None:
    said = plant("note", "FAN-1", "force", typed="a lot\n26\n\n\n\n28\n29\n")
    assert said.code == 0
    band = make_card(a_drive()).figures["force_run_in"].text("si")
    before, _, after = said.out.partition("Belt 1 of 3")
    assert band in before
    assert "only when the drive is locked out" in before
    assert "'a lot' is not a number" in after
    assert [(each["belt"], each["force_n"]) for each in kept(plant)] == [(1, 26.0), (2, 28.0), (3, 29.0)]


def test_stopping_in_the_middle_keeps_what_was_noted(plant: Run) -> None:
    said = plant("note", "FAN-1", "force", typed="26\n\n\n\n")
    assert said.code == 130
    assert said.err == "beltwright: stopped; what was noted so far is kept\n"
    assert [each["belt"] for each in kept(plant)] == [1]


def test_the_kind_may_be_picked_from_the_list(plant: Run) -> None:
    said = plant("note", "FAN-1", typed="nothing\nspeed\n1750\n1180\n\n")
    assert said.code == 0
    assert "no kind of reading 'nothing'" in said.out
    assert kept(plant)[0]["state"] == "running"


def test_a_correction_keeps_both(plant: Run) -> None:
    mark = plant("note", "FAN-1", "force", "belt=1", "force=81 N").out.split()[-1].rstrip(")")
    said = plant("correct", "FAN-1", mark, "force=18 N", "--reason", "figures swapped")
    assert said.out.splitlines()[0].startswith("was:  force, as found")
    assert "belt 1, 18.0 N" in said.out.splitlines()[1]
    assert "81.0 N" not in plant("history", "FAN-1").out
    both = plant("history", "FAN-1", "--all").out
    assert "put right later" in both
    assert "figures swapped" in " ".join(both.split())
    again = plant("correct", "FAN-1", mark, "force=19 N", "--reason", "again")
    assert again.code == 4
    assert plant("correct", "FAN-1", "ffff", "force=1 N", "--reason", "x").code == 3


def test_the_history_is_in_the_order_of_time(plant: Run) -> None:
    for at, what in (("2024-11-20 10:00", "glazed"), ("2024-11-18 10:00", "cracked"), ("2024-11-19 10:00", "frayed")):
        assert plant("note", "FAN-1", "seen", f"what={what}", "--at", at).code == 0
    said = plant("history", "FAN-1").out
    assert re.findall("glazed|cracked|frayed|entered", said) == ["cracked", "frayed", "glazed", "entered"]
    only = plant("history", "FAN-1", "--kind", "force").out
    assert only == "FAN-1: nothing noted yet.\n"


def test_the_history_tells_tension_sets_and_what_was_learned(plant: Run) -> None:
    first, second = re.findall(r"[\d.]+", make_card(a_drive()).figures["frequency_run_in"].text("si"))
    for day, note, state in ((1, second, "as left"), (11, first, "as found")):
        for belt in (1, 2, 3):
            assert plant("note", "FAN-1", "frequency", f"belt={belt}", f"frequency={note} Hz", "--state", state, "--at",
                         f"2026-10-{day:02} 10:00").code == 0
        assert plant("note", "FAN-1", "motor move", "move=1 mm", "--at", f"2026-10-{day:02} 11:00").code == 0
    for belt in (1, 2, 3):
        plant("note", "FAN-1", "frequency", f"belt={belt}", f"frequency={second} Hz", "--at", "2026-10-11 12:00")
    said = plant("history", "FAN-1").out
    states = [" ".join(line.split()[2:4]) for line in said.splitlines() if "run-in" in line]
    assert states == ["as left", "as found", "as found"]
    assert "on now" in said
    assert "Tension of one strand follows the motor by" in said
    told = json.loads(plant("history", "FAN-1", "--json").out)
    assert [each["state"] for each in told["tension"]] == ["as left", "as found", "as found"]
    assert told["sets"][-1]["until"] is None
    assert told["learned"]["stiffness"]["value_n_per_mm"] > 0.0


def test_a_sheet_of_readings_goes_in_and_out(plant: Run, tmp_path: Path) -> None:
    assert plant("readings", "template", "empty.xlsx", "force", "temperature").code == 0
    columns = read_sheet(tmp_path / "empty.xlsx").columns
    assert {"tag", "kind", "force_n", "temperature_c", "deflection_mm"} <= set(columns)
    rows = [{"tag": "FAN-1", "kind": "force", "state": "as found", "taken_at": "2026-11-20 10:00", "belt": "1",
             "force_n": "27,5"},
            {"tag": "FAN-1", "kind": "temperature", "state": "running", "taken_at": "2026-11-20 10:05",
             "where": "belt", "temperature_c": "warm"}]
    said = plant("readings", "in", str(write_csv(tmp_path / "round.csv", *rows)))
    assert said.code == 2
    assert "1 noted" in said.out
    assert "'warm' is not a number" in " ".join(said.out.split())
    assert [row["temperature_c"] for row in read_sheet(tmp_path / "round-mend.csv").rows] == ["warm"]
    assert plant("readings", "out", "all.xlsx").code == 0
    again = plant("readings", "in", "all.xlsx")
    assert (again.code, "0 noted" in again.out, "1 there already" in again.out) == (0, True, True)
    assert len(kept(plant)) == 1


def test_what_the_readings_say(plant: Run) -> None:
    for belt in (1, 2, 3):
        assert plant("note", "FAN-1", "force", f"belt={belt}", "force=9 N").code == 0
    said = plant("findings", "FAN-1").out
    assert "MEND AT NEXT STOP" in said or "STOP AND MEND" in said
    assert max(map(len, said.splitlines())) <= 80
    content = json.loads(plant("findings", "FAN-1", "--json").out)
    assert content["findings"][0]["key"].startswith("tension-slack")
    assert len(content["findings"][0]["readings"]) == 3
    assert "FAN-1" in plant("findings").out
    (of_plant,) = json.loads(plant("findings", "--json").out)
    assert of_plant == content


def test_what_is_due(plant: Run) -> None:
    said = plant("due")
    assert said.code == 0
    assert "FAN-1" in said.out
    (content,) = json.loads(plant("due", "--json").out)
    assert all(each["key"].startswith("due-") for each in content["findings"])
