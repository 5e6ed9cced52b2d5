"""Arc and length factors: the tension ratio behind the arc, order, ends of the tables."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.corrections import (
    arc_factor,
    arc_factor_fit,
    arc_factor_printed,
    arc_factor_v_flat,
    arc_in_range,
    has_length_factor,
    length_factor,
    length_in_range,
)
from beltwright.mechanics.friction import ratio_at_arc
from beltwright.tables import load
from beltwright.units import INCH

SHORTEST = 2 * np.arccos(0.75)
ARCS = st.floats(SHORTEST, np.pi)
FORMS = (arc_factor, arc_factor_printed, arc_factor_fit, arc_factor_v_flat)


@given(ARCS)
def test_the_arc_factor_is_what_the_tension_ratio_leaves_of_the_pull(wrap: float) -> None:
    # for one tight tension the pull is T1 (1 - 1/R), and R is 5 at half a turn
    share = (1 - 1 / ratio_at_arc(wrap)) / (1 - 1 / ratio_at_arc(np.pi))
    assert arc_factor(wrap) == pytest.approx(float(share), rel=1e-12)


@given(ARCS)
def test_the_three_forms_tell_one_story(wrap: float) -> None:
    assert arc_factor(wrap) == pytest.approx(float(arc_factor_printed(wrap)), abs=0.0065)
    assert arc_factor(wrap) == pytest.approx(float(arc_factor_fit(wrap)), abs=0.006)
    assert arc_factor_v_flat(wrap) <= arc_factor_printed(wrap)


@given(ARCS, st.floats(1e-4, 0.5))
def test_a_longer_arc_carries_more(wrap: float, more: float) -> None:
    longer = min(wrap + more, np.pi)
    for form in (arc_factor, arc_factor_printed, arc_factor_fit):
        assert form(longer) >= form(wrap)


@pytest.mark.parametrize("wrap", [0.0, -1.0, np.radians(82.0), np.radians(181.0), np.nan, np.inf])
def test_arcs_outside_the_table_are_refused(wrap: float) -> None:
    assert not arc_in_range(wrap)
    for form in FORMS:
        with pytest.raises(OutOfRange, match="from 83° to 180°"):
            form(np.array([np.pi, wrap]))


@pytest.mark.parametrize("section", ["A", "B", "C", "D"])
def test_length_factors_stand_on_the_standards_lengths_and_climb(section: str) -> None:
    own = load("length_factors").where(section=section)
    lengths = np.array([row["length"] for row in own], dtype=float)
    factors = np.array([row["factor"] for row in own], dtype=float)
    assert np.all(np.diff(lengths) > 0)
    assert np.all(np.diff(factors) > 0)
    # the lengths, worked out from the numbers here, are the ones printed in the handbook's table of lengths
    stock = {row["number"]: row[section] for row in load("lengths_ip20").rows if row[section] is not None}
    for row in own:
        assert row["length"] == pytest.approx(stock[row["number"]], abs=1e-9)
    assert length_factor(section, lengths) == pytest.approx(factors)
    between = (lengths[1:] + lengths[:-1]) / 2
    assert length_factor(section, between) == pytest.approx((factors[1:] + factors[:-1]) / 2)


def test_cogged_belts_share_the_plain_ones_factors() -> None:
    for plain in "ABC":
        assert length_factor(f"{plain}X", 92 * INCH) == length_factor(plain, 92 * INCH)


def test_a_length_worked_out_another_way_still_finds_the_ends() -> None:
    for shortest, longest in ((26 * INCH + 1.3 * INCH, 128 * INCH + 1.3 * INCH), (0.69342, 129.3 * 0.0254)):
        assert length_factor("A", shortest) == pytest.approx(0.78)
        assert length_factor("A", longest) == pytest.approx(1.15)


@pytest.mark.parametrize("length", [0.5, 27.2 * INCH, 129.5 * INCH, 10.0])
def test_lengths_outside_the_table_are_refused(length: float) -> None:
    assert not length_in_range("A", length)
    with pytest.raises(OutOfRange, match="section A run from 693 mm to 3284 mm"):
        length_factor("A", np.array([1.0, length]))


@pytest.mark.parametrize("section", ["3V", "5V", "8V", "5VX", "E", "Z", "SPB"])
def test_no_length_factor_is_made_up(section: str) -> None:
    assert not has_length_factor(section)
    with pytest.raises(NotKnown, match=f"section {section}: rate it without, and say so"):
        length_factor(section, 2.0)


@pytest.mark.parametrize("length", [np.nan, -1.0, 0.0])
def test_no_length_at_all(length: float) -> None:
    with pytest.raises(OutOfRange, match="length of"):
        length_factor("B", length)
