"""Sheaves: the three diameters within one standard, grooves by range, and what no sheave has refused."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import InputError, NotKnown, OutOfRange
from beltwright.mechanics.grooves import grooves_of
from beltwright.mechanics.runout import sheave_limits
from beltwright.mechanics.sections import accepted, section, standards_of
from beltwright.mechanics.sheaves import (
    convertible,
    datum_diameter,
    face_width,
    geometry_diameter,
    groove,
    groove_angle,
    groove_gauge,
    meets_smallest,
    outside_diameter,
    pitch_diameter,
    standard_diameters,
)
from beltwright.units import INCH

PAIRS = [(name, whose) for name in accepted() for whose in standards_of(name)]
TO = {"outside": outside_diameter, "datum": datum_diameter, "pitch": pitch_diameter}
diameters = st.floats(0.1, 3.0)
pairs = st.sampled_from(PAIRS)
editions = st.sampled_from(["newer", "older"])


def ways(name: str, whose: str) -> list[str]:
    """The diameters a section has under a standard."""
    return [way for way in TO if way != "datum" or section(name, whose).datum_width is not None]


@given(pairs, editions, diameters, st.data())
def test_there_and_back_is_the_same_sheave(pair: tuple[str, str], edition: str, size: float,
                                           data: st.DataObject) -> None:
    known, wanted = (data.draw(st.sampled_from(ways(*pair))) for _ in range(2))
    there = TO[wanted](size, known, *pair, edition=edition)
    assert TO[known](there, wanted, *pair, edition=edition) == pytest.approx(size, rel=1e-14)
    assert TO[known](size, known, *pair, edition=edition) == size


@given(pairs, editions, diameters)
def test_outside_is_the_largest_and_datum_the_smallest(pair: tuple[str, str], edition: str, size: float) -> None:
    pitch = pitch_diameter(size, "outside", *pair, edition=edition)
    assert pitch <= size
    if "datum" in ways(*pair):
        assert datum_diameter(size, "outside", *pair) <= pitch + 1e-12


@given(pairs, editions, diameters)
def test_the_angle_is_the_same_whichever_diameter_it_is_asked_by(pair: tuple[str, str], edition: str,
                                                                 size: float) -> None:
    own = section(*pair).system.diameter_as
    angle = groove_angle(size, own, *pair, edition=edition)
    for way in ways(*pair):
        assert groove_angle(TO[way](size, own, *pair, edition=edition), way, *pair, edition=edition) == angle


@pytest.mark.parametrize(("name", "whose"), PAIRS)
def test_arrays_and_single_sheaves_agree(name: str, whose: str) -> None:
    sizes = np.linspace(0.11, 1.5, 57).reshape(19, 3)
    for convert in (outside_diameter, pitch_diameter, geometry_diameter, groove_angle):
        found = np.asarray(convert(sizes, "outside", name, whose))
        assert found.shape == sizes.shape
        single = [float(convert(float(size), "outside", name, whose)) for size in sizes.flat]
        assert found.ravel().tolist() == single


@pytest.mark.parametrize(("name", "whose"), PAIRS)
def test_grooves_widen_with_the_sheave_and_leave_no_gap_between_ranges(name: str, whose: str) -> None:
    grooves = grooves_of(name, whose)
    assert grooves[0].above is None
    assert grooves[-1].up_to is None
    for smaller, larger in pairwise(grooves):
        assert smaller.up_to == larger.above
        assert smaller.angle < larger.angle
        assert smaller.top_width <= larger.top_width
    for each in grooves:
        assert each.spacing > each.top_width
        assert each.edge > each.top_width / 2
        # the belt fits in: a groove is deeper than half its belt and no wider than the belt's top
        belt = section(name, whose)
        assert each.depth > belt.height / 2
        assert belt.width * 0.85 < each.top_width < belt.width * 1.05


@pytest.mark.parametrize("whose", ["iso", "din", "is"])
def test_metric_pitch_is_the_datum_diameter(whose: str) -> None:
    for name in accepted(whose):
        if section(name, whose).datum_width is not None:
            sizes = np.array([0.1, 0.4, 1.0])
            assert np.asarray(pitch_diameter(sizes, "datum", name, whose)).tolist() == sizes.tolist()
            assert np.asarray(pitch_diameter(sizes, "datum", name, whose, edition="older")).tolist() == sizes.tolist()


@pytest.mark.parametrize(("name", "step_in"), [("3V", 0.05), ("5VX", 0.10), ("8V", 0.20)])
def test_the_edition_of_ip22_says_where_the_pitch_line_is(name: str, step_in: float) -> None:
    assert pitch_diameter(0.4, "outside", name, "rma") == 0.4
    assert 0.4 - pitch_diameter(0.4, "outside", name, "rma", edition="older") == pytest.approx(step_in * INCH)
    with pytest.raises(InputError, match="has no datum diameter"):
        datum_diameter(0.4, "outside", name, "rma")


def test_the_diameter_for_geometry_goes_with_the_length_the_standard_marks() -> None:
    assert geometry_diameter(0.3, "datum", "B", "rma") == 0.3
    assert geometry_diameter(0.3, "outside", "B", "rma") == pytest.approx(0.3 - 0.35 * INCH)
    assert geometry_diameter(0.3, "outside", "SPB", "iso") == pytest.approx(0.293)
    assert geometry_diameter(0.3, "outside", "5V", "rma") == 0.3
    assert geometry_diameter(0.3, "pitch", "5V", "rma", edition="older") == pytest.approx(0.3 + 0.1 * INCH)


@pytest.mark.parametrize("bad", [0.0, -0.2, float("nan"), float("inf"), 0.004, 125.0])
@pytest.mark.parametrize(("name", "whose"), [("B", "rma"), ("5V", "rma"), ("SPB", "iso"), ("15N", "iso")])
def test_what_no_sheave_has_is_refused_alone_and_in_an_array(bad: float, name: str, whose: str) -> None:
    for convert in (outside_diameter, pitch_diameter, geometry_diameter, groove_angle, meets_smallest):
        for sizes in (bad, np.array([0.2, bad, 0.3])):
            with pytest.raises(OutOfRange, match="diameter of "):
                convert(sizes, "outside", name, whose)
    assert np.asarray(convertible(np.array([0.2, bad, 0.3]), "outside", name, whose)).tolist() == [True, False, True]


def test_the_refusal_names_value_and_limits_in_trade_units() -> None:
    with pytest.raises(OutOfRange, match=r"outside diameter of 125000 mm .*B grooves.*28 mm.*10000 mm"):
        pitch_diameter(125.0, "outside", "B", "rma")


@pytest.mark.parametrize(("asked", "words"), [
    (lambda: pitch_diameter(0.2, "rim", "B", "rma"), "say outside, datum or pitch"),
    (lambda: pitch_diameter(0.2, "outside", "B", "rma", edition="1988"), "say newer or older"),
    (lambda: groove(0.2, "outside", "C", "rma", combination=True), "A/B combination"),
    (lambda: groove(0.2, "outside", "A", "iso", combination=True), "A/B combination"),
    (lambda: face_width(0, "B", "rma"), "0 grooves: one or more"),
])
def test_other_slips_are_refused_with_what_is_accepted(asked: object, words: str) -> None:
    with pytest.raises((InputError, OutOfRange), match=words):
        asked()  # type: ignore[operator]


def test_a_combination_groove_puts_an_a_belt_deep_and_a_b_belt_as_in_its_own() -> None:
    # read as a plain A groove, a combination sheave would be taken for a third of an inch too large
    outside = 7.0 * INCH
    plain = datum_diameter(outside, "outside", "A", "rma")
    combined = datum_diameter(outside, "outside", "A", "rma", combination=True)
    assert (plain - combined) / INCH == pytest.approx(0.384)
    for_b = datum_diameter(outside, "outside", "B", "rma", combination=True)
    assert (for_b - datum_diameter(outside, "outside", "B", "rma")) / INCH == pytest.approx(0.017)


def test_a_combination_sheave_keeps_its_range_there_and_back_but_for_the_overlap() -> None:
    # the step 2h_d shrinks with the angle, so outside diameters from 8.002 to 8.034 in belong to two datum diameters
    sizes = np.array([4.0, 7.4, 7.45, 9.0]) * INCH
    outside = np.asarray(outside_diameter(sizes, "datum", "A", "rma", combination=True))
    back = np.asarray(datum_diameter(outside, "outside", "A", "rma", combination=True))
    assert back == pytest.approx(sizes)


@pytest.mark.parametrize(("size", "way", "name", "whose", "text"), [
    (5.4 * INCH, "datum", "A", "rma", "A groove gauge, 34°, for sheaves up to 5.4 in datum diameter"),
    (5.41 * INCH, "datum", "AX", "rma", "AX groove gauge, 38°, for sheaves over 5.4 in datum diameter"),
    (10 * INCH, "outside", "C", "rma", "C groove gauge, 36°, for sheaves over 7.99 up to 12 in datum diameter"),
    (0.2, "outside", "5V", "rma", "5V groove gauge, 38°, for sheaves up to 9.99 in outside diameter"),
    (0.2, "datum", "SPB", "iso", "SPB groove gauge, 38°, for sheaves over 190 mm datum diameter"),
])
def test_the_gauge_to_take_along(size: float, way: str, name: str, whose: str, text: str) -> None:
    assert groove_gauge(size, way, name, whose).text == text


@pytest.mark.parametrize("outside_in", [5.65, 5.650001])
def test_rounding_on_the_way_from_the_rim_does_not_change_the_groove(outside_in: float) -> None:
    # 5.65 in outside is 5.4 in datum, the last of its range, whatever the last binary digit says
    assert np.degrees(groove_angle(outside_in * INCH, "outside", "A", "rma")) == pytest.approx(34.0)


@pytest.mark.parametrize(("name", "whose"), PAIRS)
def test_standard_diameters_rise_and_reach_the_smallest_recommended(name: str, whose: str) -> None:
    if name in ("9N", "15N", "25N") or (name, whose) == ("E", "rma"):
        with pytest.raises(NotKnown, match="no series of sheave diameters"):
            standard_diameters(name, whose)
        return
    series = standard_diameters(name, whose)
    assert list(series.diameters) == sorted(set(series.diameters))
    met = np.asarray(meets_smallest(np.array(series.diameters), series.diameter_as, name, whose))
    assert met.sum() >= 12
    # once large enough, always large enough
    assert met.tolist() == sorted(met.tolist())


@pytest.mark.parametrize("name", ["Z", "A", "B", "C", "D", "E", "SPZ", "SPA", "SPB", "SPC"])
def test_the_metric_series_begins_at_the_smallest_recommended(name: str) -> None:
    # two lists that were written down apart from each other
    assert standard_diameters(name, "iso").diameters[0] == pytest.approx(section(name, "iso").smallest)


@pytest.mark.parametrize(("name", "twin"), [("3V", "9N"), ("5V", "15N"), ("8V", "25N")])
def test_inch_narrow_sections_want_the_sheave_their_metric_twins_want(name: str, twin: str) -> None:
    inch, metric = section(name, "rma"), section(twin, "iso")
    assert inch.smallest == pytest.approx(metric.smallest, rel=0.01)
    assert any(inch.smallest == pytest.approx(size) for size in standard_diameters(name, "rma").diameters)
    assert inch.effective_width == pytest.approx(metric.effective_width, rel=0.004)


@pytest.mark.parametrize("name", ["3VX", "5VX", "8V"])
def test_the_inch_narrow_series_begins_at_the_smallest_for_its_most_bendable_belt(name: str) -> None:
    assert standard_diameters(name, "rma").diameters[0] == pytest.approx(section(name, "rma").smallest)


@pytest.mark.parametrize(("name", "whose"), PAIRS)
def test_limits_come_first_by_the_rule_of_the_sheaves_own_standard(name: str, whose: str) -> None:
    rules = sheave_limits(0.5, 3, name, whose)
    assert (rules[0].source == "ip20-1988") is (whose == "rma")
    inch, = (each for each in rules if each.source == "ip20-1988")
    classical = name.removesuffix("X") in ("Z", "A", "B", "C", "D", "E")
    assert inch.spacing == pytest.approx((0.050 if classical else 0.031) * INCH)
