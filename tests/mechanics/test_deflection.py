"""Force at mid-span against the least energy of a stretched belt, and the published rules as its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from beltwright.errors import OutOfRange
from beltwright.mechanics.deflection import (
    deflection_force,
    force_at_mark,
    force_bands,
    force_on_band,
    force_per_belt,
    force_tells,
    lone_belt_allowance,
    mark_deflection,
    pressed_force,
    stretch_allowance,
    tension_from_force,
    tension_from_pressed,
)
from beltwright.mechanics.sections import stiffness_of
from beltwright.mechanics.tension import set_bands

tensions = st.floats(20.0, 3000.0)
spans = st.floats(0.1, 4.0)
rigidities = st.floats(1e4, 1e6)
allowances = st.floats(0.0, 150.0)


@given(tension=tensions, span=spans, rigidity=rigidities, share=st.floats(0.002, 0.4), other=st.floats(1.0, 6.0))
def test_a_pressed_span_rests_where_its_energy_is_least(tension: float, span: float, rigidity: float, share: float,
                                                        other: float) -> None:
    """Oracle: strain energy of the whole stretched length less the work of the force, least at the deflection found."""
    stretched, deflection = span * other, span * share
    force = float(pressed_force(tension, span, deflection, rigidity, stretched))
    natural = stretched / (1 + tension / rigidity)

    def energy(h: float) -> float:
        length = stretched - span + 2 * math.hypot(span / 2, h)
        return rigidity / (2 * natural) * (length - natural) ** 2 - force * h

    found = minimize_scalar(energy, bounds=(0.0, span), method="bounded", options={"xatol": 1e-12 * span})
    assert found.x == pytest.approx(deflection, rel=1e-4)


@given(tension=tensions, span=spans, rigidity=rigidities, other=st.floats(1.0, 6.0), share=st.floats(1e-5, 0.02))
def test_the_small_rule_is_the_limit_of_the_exact_one(tension: float, span: float, rigidity: float, other: float,
                                                      share: float) -> None:
    assume(tension < rigidity / 50)
    allowance = stretch_allowance(rigidity, span, span * other)
    exact = pressed_force(tension, span, span * share, rigidity, span * other)
    # the triangle leaves out terms of the order of the slope squared and of the strain
    assert deflection_force(tension, span, span * share, allowance) == pytest.approx(exact, rel=3 * share**2 + 1e-12,
                                                                                     abs=1e-2 * share**3 * rigidity)


@given(tension=tensions, span=spans, allowance=allowances)
def test_at_the_mark_the_rule_is_the_published_one(tension: float, span: float, allowance: float) -> None:
    force = deflection_force(tension, span, mark_deflection(span), allowance)
    assert force == pytest.approx(force_at_mark(tension, allowance), rel=1e-12)
    assert force == pytest.approx((tension + allowance) / 16, rel=1e-12)


@given(span=spans, rigidity=rigidities, other=st.floats(2.01, 8.0))
def test_the_lone_belts_allowance_is_what_stretch_over_the_whole_belt_gives(span: float, rigidity: float,
                                                                            other: float) -> None:
    """Why Y t/L stands for Y: the same stretch shared by the whole length, since nothing holds the sheaves."""
    length = span * other
    held = stretch_allowance(rigidity, span, stretched=span)
    assert held == pytest.approx(rigidity / 2048, rel=1e-12)
    assert lone_belt_allowance(held, span, length) == pytest.approx(
        stretch_allowance(rigidity, span, stretched=length), rel=1e-12)


@given(tension=tensions, span=spans, share=st.floats(1e-3, 1 / 16), allowance=allowances)
def test_force_and_back(tension: float, span: float, share: float, allowance: float) -> None:
    deflection = span * share
    force = deflection_force(tension, span, deflection, allowance)
    assert tension_from_force(force, span, deflection, allowance) == pytest.approx(tension, rel=1e-8)


@given(tension=tensions, span=spans, share=st.floats(1e-3, 0.4), rigidity=rigidities, other=st.floats(1.0, 6.0))
def test_exact_force_and_back(tension: float, span: float, share: float, rigidity: float, other: float) -> None:
    force = pressed_force(tension, span, span * share, rigidity, span * other)
    back = tension_from_pressed(force, span, span * share, rigidity, span * other)
    assert back == pytest.approx(tension, rel=1e-6)


@given(tension=tensions, span=spans, rigidity=rigidities, share=st.floats(1e-3, 0.2))
def test_held_sheaves_push_back_harder_than_free_ones(tension: float, span: float, rigidity: float,
                                                      share: float) -> None:
    held = pressed_force(tension, span, span * share, rigidity, span)
    free = pressed_force(tension, span, span * share, rigidity, 3 * span)
    assert held > free > 4 * tension * share / math.hypot(1, 2 * share) * (1 - 1e-12)


def test_reading_a_free_belt_by_the_held_rule_reads_low_by_what_the_rule_says() -> None:
    """A lone B belt, 0.5 m span of 2 m: taking Y for Y t/L costs three quarters of Y."""
    span, length, allowance = 0.5, 2.0, stiffness_of("B").value
    mark = mark_deflection(span)
    force = deflection_force(200.0, span, mark, lone_belt_allowance(allowance, span, length))
    assert tension_from_force(force, span, mark, allowance) == pytest.approx(200.0 - 0.75 * allowance)


@given(tension=tensions, allowance=allowances, belts=st.integers(1, 12))
def test_a_joined_band_takes_the_force_of_all_its_belts(tension: float, allowance: float, belts: int) -> None:
    one = force_at_mark(tension, allowance)
    assert force_on_band(one, belts) == pytest.approx(belts * (tension + allowance) / 16, rel=1e-12)
    assert force_per_belt(force_on_band(one, belts), belts) == pytest.approx(one, rel=1e-12)


def test_the_force_band_is_narrower_in_ratio_than_the_tension_band() -> None:
    bands = force_bands(set_bands(np.array([100.0, 400.0])), 20.0)
    ratio = np.asarray(bands.run_in.high) / np.asarray(bands.run_in.low)
    assert np.all((ratio > 1.4) & (ratio < 1.5))
    assert ratio[1] > ratio[0]


def test_a_slack_span_is_told_from_a_tight_one() -> None:
    forces = np.array([1.0, 20.0])
    assert list(np.asarray(force_tells(forces, 0.64, 0.01, 20.0))) == [False, True]
    with pytest.raises(OutOfRange, match=r"a force of 1\.0 N is no more than the belt's own stiffness gives"):
        tension_from_force(forces, 0.64, 0.01, 20.0)
    with pytest.raises(OutOfRange, match="no more than stretching the span takes"):
        tension_from_pressed(1.0, 0.64, 0.01, 40960.0, 0.64)


def test_too_deep_a_deflection_is_refused_where_the_small_rule_ends() -> None:
    with pytest.raises(OutOfRange, match=r"a deflection of 100\.0 mm on a span of 640\.0 mm"):
        deflection_force(300.0, 0.64, np.array([0.01, 0.1]), 20.0)
    assert pressed_force(300.0, 0.64, 0.1, 40960.0, 0.64) > 0.0


def test_a_span_longer_than_half_the_belt_is_refused() -> None:
    with pytest.raises(OutOfRange, match="a span of 1000 mm on a belt of 2000 mm"):
        lone_belt_allowance(20.0, 1.0, 2.0)
