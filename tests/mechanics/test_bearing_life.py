"""Rating life of bearings: identities of the law, SciPy's Weibull distribution, and what a mechanic's choices do."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import weibull_min

from beltwright.errors import OutOfRange
from beltwright.mechanics import bearing_life
from beltwright.mechanics.bearing_life import EXPONENTS
from beltwright.mechanics.shaft_load import bearing_loads, static_pull
from beltwright.units import HOUR, RPM

BEARINGS = st.sampled_from([EXPONENTS["ball"], EXPONENTS["roller"]])
RATINGS = st.floats(5e3, 5e5)
SHARES = st.floats(0.01, 0.5)


@given(RATINGS, SHARES, BEARINGS, st.floats(1.0, 400.0))
def test_the_rating_needed_for_a_life_gives_that_life(rating: float, share: float, exponent: float,
                                                      rotation: float) -> None:
    life = bearing_life.rating_life(rating, share * rating, exponent, rotation)
    assert bearing_life.rating_needed(share * rating, life, exponent, rotation) == pytest.approx(rating, rel=1e-12)


@given(RATINGS, SHARES, BEARINGS, st.floats(1.0, 3.0))
def test_more_load_costs_life_by_the_power_law(rating: float, share: float, exponent: float, more: float) -> None:
    light = bearing_life.rating_turns(rating, share * rating / more, exponent)
    heavy = bearing_life.rating_turns(rating, share * rating, exponent)
    assert heavy / light == pytest.approx(bearing_life.life_change(more, exponent), rel=1e-12)
    assert heavy / light == pytest.approx(math.exp(-exponent * math.log(more)), rel=1e-12)


def test_hours_of_an_everyday_bearing() -> None:
    """(10/1)^3 million turns at 1000 rpm: a thousand million turns, 1e6 minutes, 16 667 hours."""
    assert bearing_life.rating_life(10e3, 1e3, 3.0, 1000 * RPM) / HOUR == pytest.approx(1e6 / 60, rel=1e-12)


def test_belts_half_as_tight_again_cost_seven_tenths_of_the_life() -> None:
    """Whatever the bearing, the sheave or the number of belts: (2/3)^3 of a ball bearing's life is left, 30 percent."""
    for belts, overhang in ((2, 0.06), (6, 0.2)):
        lives = [bearing_life.rating_life(50e3, bearing_loads(static_pull(tension, 2.9, belts), overhang, 0.4).near,
                                          EXPONENTS["ball"], 150.0) for tension in (300.0, 450.0)]
        assert lives[1] / lives[0] == pytest.approx(8 / 27, rel=1e-12)
        assert bearing_life.life_change(1.5, EXPONENTS["ball"]) == pytest.approx(8 / 27)
    assert bearing_life.life_change(1.5, EXPONENTS["roller"]) < 8 / 27


@given(st.floats(0.02, 0.3), st.floats(0.1, 1.0), BEARINGS, st.floats(100.0, 2000.0))
def test_halving_the_overhang_is_worth_what_the_bearings_say(overhang: float, bearing_span: float, exponent: float,
                                                             pull: float) -> None:
    change = bearing_life.overhang_change(overhang, overhang / 2, bearing_span, exponent)
    before, after = (bearing_loads(pull, reach, bearing_span) for reach in (overhang, overhang / 2))
    for side in ("near", "far"):
        lives = [bearing_life.rating_life(1e6, getattr(loads, side), exponent, 100.0) for loads in (before, after)]
        assert getattr(change, side) == pytest.approx(lives[1] / lives[0], rel=1e-9)
    assert change.far == pytest.approx(2**exponent, rel=1e-9)
    # the near bearing carries the pull itself too, so it gains less, and never more than the far one
    assert 1 < change.near < change.far


@given(st.floats(0.001, 4.0))
def test_spread_of_lives_is_scipys_weibull(share: float) -> None:
    expected = weibull_min.sf(share, c=1.483, loc=0.02, scale=4.459 - 0.02)
    assert bearing_life.survival(share * 1e7, 1e7) == pytest.approx(expected, rel=1e-12)


def test_nine_in_ten_outlast_the_rating_life_and_half_several_times_that() -> None:
    assert bearing_life.survival(1e7, 1e7) == pytest.approx(0.9, abs=2e-3)
    median = float(weibull_min.isf(0.5, c=1.483, loc=0.02, scale=4.459 - 0.02))
    assert bearing_life.survival(median * 1e7, 1e7) == pytest.approx(0.5)
    assert 3 < median < 5
    assert bearing_life.survival(0.02 * 1e7, 1e7) == 1.0


def test_reliability_factors_as_tabled_and_between() -> None:
    asked = np.array([0.90, 0.95, 0.96, 0.97, 0.98, 0.99])
    np.testing.assert_allclose(bearing_life.reliability_factor(asked), [1.0, 0.64, 0.55, 0.47, 0.37, 0.25])
    assert bearing_life.reliability_factor(0.925) == pytest.approx(0.82)
    tabled = np.asarray(bearing_life.reliability_tabled(np.array([0.89, 0.9, 0.99, 0.995, math.nan])))
    assert tabled.tolist() == [False, True, True, False, False]


@pytest.mark.parametrize("reliability", [0.5, 0.999, math.nan])
def test_reliabilities_beyond_the_table_are_refused(reliability: float) -> None:
    with pytest.raises(OutOfRange, match=r"ISO 281.*90\.0% to 99\.0%"):
        bearing_life.reliability_factor(np.array([0.95, reliability]))


def test_a_load_above_half_the_rating_has_no_rating_life() -> None:
    assert bearing_life.rating_turns(10e3, 5e3, 3.0) == pytest.approx(8e6)
    with pytest.raises(OutOfRange, match=r"rated 10000 N under 5100 N.*half the rating"):
        bearing_life.rating_life(np.array([20e3, 10e3]), 5.1e3, 3.0, 100.0)


@pytest.mark.parametrize("refused", [
    lambda: bearing_life.rating_turns(0.0, 1.0, 3.0),
    lambda: bearing_life.rating_turns(1e4, 0.0, 3.0),
    lambda: bearing_life.rating_life(1e4, 1e3, 3.0, 0.0),
    lambda: bearing_life.rating_needed(1e3, math.nan, 3.0, 100.0),
    lambda: bearing_life.survival(1.0, 0.0),
    lambda: bearing_life.life_change(-1.5, 3.0),
    lambda: bearing_life.overhang_change(0.1, 0.0, 0.3, 3.0),
])
def test_what_no_bearing_has_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()
