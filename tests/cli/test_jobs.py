"""A job at the terminal: gates hold, the walk stops and goes on, the record prints."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Run


def state(run: Run) -> dict[str, str]:
    """Each step of the open job and how it stands."""
    return {step["key"]: step["state"] for step in json.loads(run("job", "show", "FAN-1", "--json").out)["steps"]}


def test_hands_stay_away_until_the_drive_is_isolated(plant: Run) -> None:
    assert plant("job", "open", "FAN-1", "inspect").code == 0
    said = plant("job", "do", "FAN-1", "guard-off")
    assert said.code == 4
    assert said.err.startswith("beltwright: Take the guard off: hands stay away until the drive is isolated")
    assert plant("note", "FAN-1", "force", "belt=1", "force=20 N", "--job", "FAN-1").code == 4
    for key in ("stop", "lock", "tag", "stored", "try"):
        assert plant("job", "do", "FAN-1", key).code == 0
    assert plant("job", "do", "FAN-1", "guard-off", "--by", "Bo").code == 4   # his own lock is not on
    assert plant("job", "do", "FAN-1", "guard-off").code == 0
    assert plant("note", "FAN-1", "force", "belt=1", "force=20 N", "--job", "FAN-1").code == 0
    assert plant("job", "close", "FAN-1").code == 4
    assert plant("job", "abandon", "FAN-1", "--reason", "rain").code == 4


def test_steps_are_called_by_number_or_name(plant: Run) -> None:
    plant("job", "open", "FAN-1", "inspect", "--reason", "squeal")
    assert "squeal" in plant("job", "show", "FAN-1").out
    assert plant("job", "do", "FAN-1", "1").out.startswith("done: Tell the people it touches\nnext: Watch it run")
    assert plant("job", "skip", "FAN-1", "watch", "--reason", "stands still").code == 0
    assert plant("job", "back", "FAN-1", "tell", "--reason", "wrong crew").code == 0
    assert (state(plant)["tell"], state(plant)["watch"]) == ("open", "skipped")
    assert plant("job", "do", "FAN-1", "99").code == 2
    assert plant("job", "skip", "FAN-1", "lock", "--reason", "hurry").code == 4
    assert plant("job", "open", "FAN-1", "align").code == 4   # one job at a drive at a time


def walked(run: Run, answers: str) -> str:
    said = run("job", "walk", "FAN-1", typed=answers)
    assert said.code == 0, said.err
    return said.out


def test_a_walk_stops_goes_on_and_ends_closed(plant: Run, tmp_path: Path) -> None:
    plant("job", "open", "FAN-1", "inspect")
    assert "stopped here; go on with: beltwright job walk FAN-1" in walked(plant, "d\ns\nstands still\nq\n")
    assert [key for key, how in state(plant).items() if how != "open"] == ["tell", "watch"]
    # to the end: each step asks d, and what it wants confirmed is said yes to
    steps = json.loads(plant("job", "show", "FAN-1", "--json").out)["steps"]
    answers = "".join("d\n" + "y\n" * len(step["confirm"]) for step in steps if step["state"] == "open")
    said = walked(plant, answers + "y\n")
    assert said.endswith("this job is closed\n")
    assert plant("job", "list").out == "No job is open.\n"
    record = plant("record", "FAN-1")
    assert record.code == 0
    assert "not confirmed" not in record.out
    assert plant("record", "FAN-1", "--pdf", "record.pdf").code == 0
    assert (tmp_path / "record.pdf").read_bytes().startswith(b"%PDF")


def test_in_a_walk_a_refusal_is_said_and_the_walk_goes_on(plant: Run) -> None:
    plant("job", "open", "FAN-1", "re-belt")
    for key in ("tell", "watch", "draw", "stop", "lock", "tag", "stored", "try", "guard-off"):
        assert plant("job", "do", "FAN-1", key).code == 0
    said = plant("job", "walk", "FAN-1", "--by", "Bo", typed="d\nn\ntemperature\ndriver groove\n35\nq\n").out
    assert "not done: Feel the grooves: Bo has no lock on the drive" in " ".join(said.split())
    assert "noted: temperature, as found" in said


def test_jobs_and_labels_are_listed_and_printed(plant: Run, tmp_path: Path) -> None:
    plant("job", "open", "FAN-1", "align")
    listed = plant("job", "list").out
    assert "FAN-1" in listed
    assert "0 of 22" in " ".join(listed.split())
    assert plant("job", "abandon", "FAN-1", "--reason", "no time").code == 0
    assert "abandoned" in plant("job", "list", "--all").out
    assert plant("labels", "--pdf", "labels.pdf", "--address", "https://belts.example").code == 0
    assert (tmp_path / "labels.pdf").stat().st_size > 1000
