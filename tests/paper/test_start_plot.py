"""The drawing of a start: nothing cut off, slip hatched and named where it is and nowhere else, the lines where they
belong."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from beltwright.bench.starts import Start
from beltwright.paper.chart import WIDE
from beltwright.paper.start_plot import HIGH, described, start_plot
from beltwright.paper.svg import LETTER
from beltwright.units import System
from tests.bench.test_starts import a_start

SVG = "{http://www.w3.org/2000/svg}"
CASES = ((400.0, "start"), (150.0, "start"), (30.0, "start"), (150.0, "jam"), (240.0, "jam"), (150.0, "load step"))


def points(data: str) -> list[tuple[float, float]]:
    found = [tuple(map(float, pair.split())) for pair in re.split("[MLZ]", data) if pair.strip()]
    return [(x, y) for x, y in found]


@pytest.fixture(scope="module", params=CASES, ids=str)
def made(request: pytest.FixtureRequest) -> Start:
    return a_start(*request.param)


@pytest.mark.parametrize("system", ["si", "inch"])
def test_nothing_is_cut_off(made: Start, system: System) -> None:
    drawn = ElementTree.fromstring(start_plot(made, system))
    for text in drawn.iter(f"{SVG}text"):
        long = LETTER * float(text.get("font-size", "0")) * len(text.text or "")
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        first = {"start": x, "middle": x - long / 2, "end": x - long}[text.get("text-anchor", "start")]
        # the letters are reckoned wide
        assert first > -1.0, text.text
        assert first + 0.9 * long < WIDE + 1.0, text.text
        assert 0.0 < y < HIGH
    for path in drawn.iter(f"{SVG}path"):
        for x, y in points(path.get("d", "")):
            assert -0.01 <= x <= WIDE + 0.01
            assert -0.01 <= y <= HIGH + 0.01


def test_slip_is_hatched_shaded_and_named_where_it_is_and_nowhere_else(made: Start) -> None:
    drawn = ElementTree.fromstring(start_plot(made, "si"))
    hatched = [path for path in drawn.iter(f"{SVG}path") if path.get("class") == "slip"]
    words = " ".join(text.text or "" for text in drawn.iter(f"{SVG}text") if text.get("class") == "slip")
    assert bool(hatched) == bool(made.slips)
    if made.slips:
        assert f"slips {made.slip_time:.2f} s" in words
        assert any(path.get("fill") == "currentColor" for path in hatched)
        assert sum(path.get("fill") == "none" for path in hatched) > 3
        assert "The belts slip from" in described(made, "si")
    else:
        assert "no slip" in [text.text for text in drawn.iter(f"{SVG}text") if text.get("class") == "held"]
        assert "The belts hold" in described(made, "si")


def test_both_rims_and_both_torques_are_told_apart_without_colour(made: Start) -> None:
    drawn = ElementTree.fromstring(start_plot(made, "si"))
    solid = [path for path in drawn.iter(f"{SVG}path") if path.get("class") == "driver"]
    dashed = [path for path in drawn.iter(f"{SVG}path") if path.get("class") == "driven"]
    assert len(solid) == len(dashed) == 4   # a line and its sample in each field
    assert not any(path.get("stroke-dasharray") for path in solid)
    assert all(path.get("stroke-dasharray") for path in dashed)
    # the motor's rim is never below the machine's while they slip at a start
    if made.ask.event == "start":
        first, second = (max((points(path.get("d", "")) for path in some[1::2]), key=len) for some in (solid, dashed))
        assert len(first) == len(second)


def test_the_title_says_what_and_at_which_tension(made: Start) -> None:
    drawn = ElementTree.fromstring(start_plot(made, "inch"))
    title = drawn.find(f"{SVG}title")
    assert title is not None
    assert "lbf in each strand" in (title.text or "")
    assert drawn.get("role") == "img"
