"""A chart read back from its SVG: marks where their values stand on its own scale, whatever the numbers are."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.paper.chart import HIGH, TEXT, WIDE, Band, Chart, Foretold, Limit, Mark, chart, round_steps

DAY_ONE = datetime(2025, 3, 3, 8, tzinfo=UTC)
SVG = "{http://www.w3.org/2000/svg}"


def _mark(days: float, value: float, series: str = "as found", away: float = 0.0) -> Mark:
    return Mark(DAY_ONE + timedelta(days=days), value, away, series, f"{value} read")


def _drawn(made: Chart) -> ElementTree.Element:
    return ElementTree.fromstring(chart(made))


def _scale(drawn: ElementTree.Element) -> list[tuple[float, float]]:
    """Each number up the side and the height of its line on paper."""
    lines = [float(re.findall(r"-?[\d.]+", line.attrib["d"])[1]) for line in drawn.iter(f"{SVG}path")
             if line.attrib.get("class") == "grid"]
    words = [text.text or "" for text in drawn.iter(f"{SVG}text") if text.attrib.get("class") == "scale"]
    numbers = [float(word) for word in words if re.fullmatch(r"-?\d+(\.\d+)?", word)][:len(lines)]
    return list(zip(numbers, lines, strict=True))


def _spots(drawn: ElementTree.Element) -> list[tuple[float, float]]:
    return [(float(spot.attrib["cx"]), float(spot.attrib["cy"])) for spot in drawn.iter(f"{SVG}circle")]


def test_no_mark_no_drawing() -> None:
    assert chart(Chart("c", "Slip", "", "%", ())) == ""


@given(st.lists(st.tuples(st.floats(0, 4000), st.floats(-200, 5000)), min_size=1, max_size=20))
def test_every_mark_stands_at_its_value_on_the_printed_scale(read: list[tuple[float, float]]) -> None:
    marks = tuple(_mark(days, value) for days, value in read)
    drawn = _drawn(Chart("c", "Tension", "", "N", marks))
    (first, at_first), *_, (last, at_last) = _scale(drawn)
    spots = _spots(drawn)
    assert len(spots) == len(marks)
    for mark, (x, y) in zip(sorted(marks, key=lambda mark: mark.at), spots, strict=True):
        share = (mark.value - first) / (last - first)
        assert y == pytest.approx(at_first + share * (at_last - at_first), abs=0.01)
        assert 0 <= x <= WIDE
        assert 0 <= y <= HIGH


@given(st.floats(-1e5, 1e5), st.floats(0, 1e5))
def test_steps_are_round_few_and_hold_what_is_shown(low: float, apart: float) -> None:
    steps = round_steps(low, low + apart, 5)
    assert 2 <= len(steps) <= 7
    # nearer to a step than the eye sees, a value stands on it
    unseen = 1e-6 * max(1.0, abs(low), apart)
    assert steps[0] <= low + unseen
    assert steps[-1] >= low + apart - unseen


def test_time_runs_to_the_right_and_what_is_foretold_lies_ahead_of_the_last_mark() -> None:
    marks = (_mark(0, 500.0), _mark(100, 450.0), _mark(200, 430.0))
    told = Foretold(400.0, DAY_ONE + timedelta(days=220), DAY_ONE + timedelta(days=260),
                    DAY_ONE + timedelta(days=330), "low limit about then")
    drawn = _drawn(Chart("c", "Tension", "", "N", marks, foretold=told))
    xs = [x for x, _ in _spots(drawn)]
    assert xs == sorted(xs)
    thick = [line.attrib["d"] for line in drawn.iter(f"{SVG}path") if line.attrib.get("class") == "foretold"
             and line.attrib.get("stroke-width") == "0.55"]
    left, y, right, same = (float(part) for part in re.findall(r"-?[\d.]+", thick[0]))
    assert xs[-1] < left < right <= WIDE
    assert y == same
    rows = dict(_scale(drawn))
    assert y == pytest.approx(rows[400.0], abs=0.01)


def test_a_band_and_a_limit_stand_where_the_scale_has_them_and_words_do_not_cover_each_other() -> None:
    made = Chart("c", "Slip", "", "%", (_mark(0, 1.0), _mark(50, 2.0)), limits=(
        Limit(2.0, "normal creep up to 2.0%"), Limit(3.0, "set the belts again from 3.0%")),
        bands=(Band(DAY_ONE, DAY_ONE + timedelta(days=50), 1.0, 2.0),))
    drawn = _drawn(made)
    rows = dict(_scale(drawn))
    (band,) = (path.attrib["d"] for path in drawn.iter(f"{SVG}path") if path.attrib.get("class") == "band")
    heights = {float(y) for y in re.findall(r"-?[\d.]+", band)[1::2]}
    assert sorted(heights) == pytest.approx(sorted((rows[2.0], rows[1.0])), abs=0.01)
    words = [float(text.attrib["y"]) for text in drawn.iter(f"{SVG}text") if text.attrib.get("class") == "limit"]
    assert abs(words[0] - words[1]) > TEXT


def test_found_and_left_differ_in_shape_and_every_mark_says_what_it_is() -> None:
    drawn = _drawn(Chart("c", "Tension", "said", "N", (_mark(0, 400.0), _mark(1, 500.0, "as left", 20.0))))
    groups = [group for group in drawn.iter(f"{SVG}g") if "mark" in group.attrib.get("class", "")]
    assert [group.findtext(f"{SVG}title") for group in groups] == ["400.0 read", "500.0 read"]
    assert [{child.tag.removeprefix(SVG) for child in group} - {"title"} for group in groups] == [{"circle"}, {"path"}]


def test_hostile_words_stay_words() -> None:
    drawn = _drawn(Chart("c", "<b>&", "]]>", "N", (Mark(DAY_ONE, 1.0, 0.0, "as found", "<script>"),)))
    assert not list(drawn.iter(f"{SVG}script"))
    assert drawn.findtext(f"{SVG}title") == "<b>&"
