"""`beltwright whip`: one drive, the plant, JSON and the drawing; on a narrow screen too."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.cli.conftest import Run

PLANT = Path(__file__).parents[2] / "examples" / "pellet_mill.csv"


@pytest.fixture
def mill(run: Run) -> Run:
    """The same, with the invented plant of the examples in the book."""
    assert run("new", "Mill").code == 0
    assert run("survey", str(PLANT)).code == 0
    return run


def test_one_drive_says_the_answer_then_what_to_do(mill: Run) -> None:
    lines = mill("whip", "FAN-13").out
    order = ["FAN-13", "BORDERLINE", "middle of its band, none was read", "tight", "The band has no clear stretch",
             "IF IT WHIPS, WHAT HELPS", "WHAT DOES NOT", "A  driver shaft, once a turn", "faint, not judged"]
    places = [lines.index(words) for words in order]
    assert places == sorted(places)
    clear = mill("whip", "PMP-01", "--units", "inch").out
    assert "CLEAR TENSION: 43." in clear
    assert "lbf a strand" in clear


def test_the_plant_is_screened_the_nearest_first(mill: Run) -> None:
    out = mill("whip").out
    assert out.index("NEAR AT EVERY TENSION OF ITS BAND") < out.index("NEAR IN THE MIDDLE OF ITS BAND")
    assert out.index("NEAR IN THE MIDDLE") < out.index("NOT KNOWN YET")
    assert "PMP-01" not in out
    assert "PMP-01" in mill("whip", "--all").out
    found = json.loads(mill("whip", "--json").out)
    assert len(found) == 32
    assert {each["stands"] for each in found} == {"no tension", "another tension", "clear", "not known"}
    near = [abs(each["away_percent"]) for each in found if each["stands"] == "another tension"]
    assert near == sorted(near)


def test_json_carries_the_chart_and_the_working_of_each_figure(mill: Run) -> None:
    found = json.loads(mill("whip", "FAN-13", "--json").out)
    assert found["tag"] == "FAN-13"
    assert {side["side"] for side in found["sides"]} == {"tight", "slack"}
    assert len(found["chart"]) > 30
    for side in found["sides"]:
        figure = found["figures"][f"whip_note_{side['side']}"]
        assert round(side["note_hz"], 3) == round(figure["value_hz"], 3)
        assert figure["working"]["formula"]


def test_the_chart_is_written_as_a_drawing(mill: Run, tmp_path: Path) -> None:
    file = tmp_path / "whip.svg"
    assert "the chart over tension" in mill("whip", "FAN-12", "--svg", str(file)).out
    root = ElementTree.fromstring(file.read_text())
    assert {"tight", "slack", "shaker", "stripe", "band"} <= {each.get("class") for each in root.iter()}
    refused = mill("whip", "--svg", str(file))
    assert (refused.code, refused.err) == (2, "beltwright: a chart is of one drive: name its tag\n")


def test_what_is_missing_is_said(mill: Run) -> None:
    refused = mill("whip", "MIX-01")
    assert refused.code == 1
    assert "needed first: the belt section" in refused.err
