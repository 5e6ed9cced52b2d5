"""`beltwright run-up`: what it says of a start, a jam, a load step, as JSON and as a drawing, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.bench.drives import SOUND
from tests.bench.test_starts import START
from tests.cli.conftest import Run, write_csv


@pytest.fixture
def starts(run: Run, tmp_path: Path) -> Run:
    """A book with a drive of which all is entered, and one of which nobody said how it starts."""
    assert run("new", "Mill").code == 0
    sheet = write_csv(tmp_path / "drives.csv", {**SOUND, **START}, {**SOUND, "tag": "FAN-2"})
    assert run("survey", str(sheet)).code == 0
    for belt in "123":
        assert run("note", "FAN-1", "frequency", f"belt={belt}", "frequency=14.5 Hz").code == 0
    return run


def test_a_slack_start_is_said_to_squeal_with_what_to_set(starts: Run) -> None:
    said = starts("run-up", "FAN-1")
    assert said.code == 0
    for words in ("SQUEALS", "The belts slip for", "Least tension that holds, poor grooves", "1. Set the belts to",
                  "/ slip", "straight on the line (as it is)", "Not measured: the motor's rotor"):
        assert words in said.out
    assert "//" in said.out
    assert all(len(line) <= 80 for line in said.out.splitlines())


def test_a_tension_asked_for_goes_before_the_one_read(starts: Run) -> None:
    said = starts("run-up", "FAN-1", "--tension", "80 lbf", "--units", "inch")
    assert said.code == 0
    assert "STARTS CLEAN" in said.out
    assert "80.0 lbf (as asked for)" in " ".join(said.out.split())
    assert "no slip" in said.out
    assert "Set the belts" not in said.out


def test_a_base_that_gives_is_said(starts: Run, tmp_path: Path) -> None:
    sheet = write_csv(tmp_path / "base.csv", {"tag": "FAN-1", "base": "pivoted"})
    assert starts("survey", str(sheet)).code == 0
    assert "on a base that gives" in " ".join(starts("run-up", "FAN-1").out.split())


def test_as_json_every_number_carries_its_unit_and_agrees_with_the_text(starts: Run) -> None:
    said = json.loads(starts("run-up", "FAN-1", "--json").out)
    assert said["outcome"] == "squeals"
    assert said["tag"] == "FAN-1"
    assert said["least_n"] < said["least_poor_n"] <= said["band"]["high_n"]
    assert said["slip_s"] == pytest.approx(sum(each["to_s"] - each["from_s"] for each in said["slips"]), abs=1e-5)
    assert said["heat_kj"] > 0
    assert said["unaccounted_share"] < 1e-3
    assert said["given"]["machine_inertia"]["value_kg_m2"] == 6.0
    assert said["given"]["rotor_inertia"]["trust"] == "practice"
    assert [each["starting"] for each in said["otherwise"] if each["own"]] == ["straight on the line"]
    assert {"time_s", "driver_rpm", "driven_rpm", "motor_n_m", "load_n_m", "pull_n", "slip_m_per_s"} == set(
        said["moments"][0])
    inch = json.loads(starts("run-up", "FAN-1", "--json", "--units", "inch").out)
    assert inch["least_n"] == said["least_n"]


def test_a_jam_and_a_step_of_the_load(starts: Run) -> None:
    jam = starts("run-up", "FAN-1", "--jam")
    assert jam.code == 0
    assert "its machine jams" in jam.out
    assert "overload trips" in " ".join(jam.out.split())
    step = json.loads(starts("run-up", "FAN-1", "--load-step", "1.8", "--json").out)
    assert step["event"] == "load step"
    assert step["times"] == 1.8


def test_a_figure_opens_its_working(starts: Run) -> None:
    said = starts("run-up", "FAN-1", "--why", "least-poor")
    assert said.code == 0
    for words in ("formula", "put in", "source", "trust", "inside the band for this drive"):
        assert words in said.out
    content = json.loads(starts("run-up", "FAN-1", "--why", "slip", "--json").out)
    assert content["working"]["put_in"]


def test_the_drawing_is_a_file_of_its_own(starts: Run, tmp_path: Path) -> None:
    said = starts("run-up", "FAN-1", "--svg", "start.svg")
    assert said.code == 0
    assert "start.svg" in said.err
    drawn = ElementTree.parse(tmp_path / "start.svg").getroot()
    words = " ".join(drawn.itertext())
    for expected in ("Speed of the rims, m/s", "Torque, N m", "seconds", "slips", "The belts slip from"):
        assert expected in words
    assert [each for each in drawn.iter() if each.get("class") == "slip"]


@pytest.mark.parametrize(("arguments", "said", "code"), [
    (("FAN-2",), "motor_design, starting, start_load, driven_inertia", 1),
    (("NONE",), "NONE", 3),
    (("FAN-1", "--tension", "abc"), "not a number", 2),
    (("FAN-1", "--tension", "12 rpm"), "unknown unit", 2),
    (("FAN-1", "--jam", "--load-step", "2"), "one at a time", 2),
    (("FAN-1", "--load-step", "0.5"), "more than 1", 2),
    (("FAN-1", "--why", "weather"), "least_poor, ", 2),
    (("FAN-1", "--jam", "--tension", "20 N"), "slip before anything happens", 1),
])
def test_what_cannot_be_is_refused_in_a_line(starts: Run, arguments: tuple[str, ...], said: str, code: int) -> None:
    done = starts("run-up", *arguments)
    assert done.code == code
    assert said in done.err
    assert done.err.count("\n") == 1
    assert not done.out


def test_on_a_narrow_screen_of_plain_letters_it_still_fits(starts: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    said = starts("run-up", "FAN-1")
    assert said.code == 0
    assert max(map(len, said.out.splitlines())) <= 40
