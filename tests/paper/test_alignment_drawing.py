"""The plan of both faces: the four gaps lettered in their places, and an answer that shows which way to move what."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from beltwright.paper.alignment import FORM, PAGE, OutOfLine, alignment_drawing
from tests.paper.demo import Drawn, cards


def gaps(drawn: Drawn) -> list[tuple[float, float]]:
    """Place and width of each gap, A to D."""
    lines = [line for line in drawn.lines("gap") if len(line) == 2]
    return [(a[0], abs(b[1] - a[1])) for a, b in lines]


def test_form_letters_the_gaps_from_the_driver_out() -> None:
    drawn = Drawn(alignment_drawing(cards()["FAN-12"], "si", FORM))
    assert drawn.words("letter") == ["A", "B", "C", "D"]
    places = [x for x, _ in gaps(drawn)]
    assert places == sorted(places)
    widths = [wide for _, wide in gaps(drawn)]
    assert widths == pytest.approx([widths[0]] * 4), "a form shows no misalignment"
    assert not drawn.all("move")


@given(st.floats(-0.02, 0.02), st.floats(-0.03, 0.03))
def test_gaps_of_the_answer_are_those_that_such_a_drive_has(offset: float, angle: float) -> None:
    card = cards()["FAN-12"]
    known = card.known
    radius, centre = known.value("driver_outside") / 2, known.value("centre")
    assume(abs(offset) + abs(angle) * radius > 1e-5)
    drawn = Drawn(alignment_drawing(card, "si", PAGE, out=OutOfLine(offset, angle)))
    a, b, c, d = (wide for _, wide in gaps(drawn))
    assert c == pytest.approx(d)
    # outward is towards the straightedge: a driver that stands out leaves the smaller gap
    middle = (a + b) / 2
    scale = (c - middle) / offset if abs(offset) > 1e-3 else None
    if scale is not None:
        assert scale > 0
    if abs(angle) * radius > 1e-4:
        assert (a - b > 0) == (angle > 0)
        if scale is not None and abs(offset) > 0.2 * abs(angle) * radius:
            assert (a - b) / scale == pytest.approx(2 * 0.92 * radius * angle, rel=0.02)
    assert centre > 0


@given(st.floats(0.001, 0.02), st.sampled_from([1, -1]))
def test_arrows_lead_back_into_line(offset: float, way: int) -> None:
    drawn = Drawn(alignment_drawing(cards()["FAN-12"], "inch", PAGE, out=OutOfLine(way * offset, 0.0)))
    arrows = [line for line in drawn.lines("move") if len(line) == 2]
    assert len(arrows) == 2
    for start, end in arrows:
        assert (end[1] < start[1]) == (way > 0), "a driver that stands out goes back in, up on the paper"
        assert end[1] == pytest.approx(min(y for line in drawn.lines("place") for _, y in line))


def test_moves_are_printed_as_said() -> None:
    moves = ("Slide the driver's sheave 3.0 mm towards the motor along its shaft.", "Tighten the bolts.")
    drawn = Drawn(alignment_drawing(cards()["FAN-12"], "si", PAGE, out=OutOfLine(0.003, 0.0, moves)))
    said = " ".join(drawn.words("says"))
    for move in moves:
        assert move in said
    assert "Driver 3.0 mm too far out" in said


@pytest.mark.parametrize("look", [FORM, PAGE])
@pytest.mark.parametrize("tag", list(cards()))
def test_nothing_reaches_over_the_edge(tag: str, look: object) -> None:
    drawn = Drawn(alignment_drawing(cards()[tag], "si", FORM if look is FORM else PAGE, out=OutOfLine(-0.004, 0.01)))
    x, y, wide, high = drawn.box()
    for kind in ("sheave", "straightedge", "gap", "place", "move"):
        for points in drawn.lines(kind):
            for px, py in points:
                assert x <= px <= x + wide, kind
                assert y <= py <= y + high, kind
