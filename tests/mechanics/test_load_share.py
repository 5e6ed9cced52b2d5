"""Load share across a set, at rest and running, against SciPy's root finder."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from beltwright.errors import Infeasible, NotKnown, OutOfRange
from beltwright.mechanics.geometry import belt_length, centre_from_length
from beltwright.mechanics.load_share import (
    grip,
    holds,
    relative_strains,
    running_pulls,
    share_tension,
    shareable,
    tensions_at,
)

Array = npt.NDArray[np.float64]
# lengths, grooves of driver and driven sheave, stiffness, total tension
Drawn = tuple[Array, Array, Array, Array, float]
BELTS = 5
small = st.floats(-0.02, 0.02)
several = st.lists(small, min_size=BELTS, max_size=BELTS)


@st.composite
def sets(draw: st.DrawFn) -> Drawn:
    """Lengths up to 2 percent apart, grooves up to 2 percent apart, stiffness within a factor, total tension."""
    d, D, C = draw(st.floats(0.1, 0.5)), draw(st.floats(0.1, 0.8)), draw(st.floats(0.7, 2.0))
    driver, driven = (size * (1 + np.array(draw(several))) for size in (d, D))
    length = float(belt_length(d, D, C)) * (1 + np.array(draw(several)))
    rigidity = draw(st.floats(2e4, 2e5)) * (1 + 10 * np.array(draw(several)))
    return length, driver, driven, rigidity, draw(st.floats(50.0, 5000.0))


@settings(max_examples=60)
@given(sets())
def test_the_share_is_that_of_the_root_found_by_scipy(drawn: Drawn) -> None:
    length, driver, driven, rigidity, total = drawn
    shared = share_tension(length, driver, driven, rigidity, total)

    def surplus(centre: float) -> float:
        return float(np.sum(np.maximum(rigidity * (belt_length(driver, driven, centre) / length - 1), 0.0)) - total)
    centre = brentq(surplus, 0.66, 4.0, xtol=1e-14, rtol=1e-14)
    assert shared.centre == pytest.approx(centre, rel=1e-12)
    assert shared.tension.sum() == pytest.approx(total, rel=1e-9)
    assert shared.tension == pytest.approx(tensions_at(length, driver, driven, rigidity, centre), rel=1e-7, abs=1e-6)


@given(sets(), st.permutations(range(BELTS)))
def test_order_of_the_belts_does_not_matter(drawn: Drawn, order: list[int]) -> None:
    length, driver, driven, rigidity, total = drawn
    shared = share_tension(length, driver, driven, rigidity, total)
    mixed = share_tension(length[order], driver[order], driven[order], rigidity[order], total)
    assert mixed.tension == pytest.approx(shared.tension[order], rel=1e-7, abs=1e-6)


@given(sets(), st.integers(0, BELTS - 1), st.floats(1.0, 1.02))
def test_a_belt_grown_longer_never_takes_more(drawn: Drawn, which: int, longer: float) -> None:
    length, driver, driven, rigidity, total = drawn
    before = share_tension(length, driver, driven, rigidity, total)
    grown = length.copy()
    grown[which] *= longer
    after = share_tension(grown, driver, driven, rigidity, total)
    assert after.tension[which] <= before.tension[which] + 1e-6
    assert np.all(np.delete(after.tension, which) >= np.delete(before.tension, which) - 1e-6)


def test_a_matched_set_shares_evenly() -> None:
    shared = share_tension([2.5] * 4, 0.2, 0.3, 60000.0, 1200.0)
    assert shared.tension == pytest.approx(300.0, rel=1e-9)
    assert relative_strains([2.5] * 4, 0.2, 0.3) == pytest.approx(0.0, abs=1e-15)


def test_a_belt_far_too_long_hangs_slack() -> None:
    shared = share_tension([2.50, 2.50, 2.60], 0.2, 0.3, 60000.0, 600.0)
    assert shared.tension == pytest.approx([300.0, 300.0, 0.0], rel=1e-9)


@given(sets())
def test_strains_without_a_stiffness_are_those_of_the_tensions(drawn: Drawn) -> None:
    """Taut belts of one stiffness: tension less the mean, over the stiffness."""
    length, driver, driven, _, _ = drawn
    strains, rigidity = relative_strains(length, driver, driven), 5e4
    high = float(centre_from_length(driver.mean(), driven.mean(), 1.03 * length.mean()))
    tensions = tensions_at(length, driver, driven, rigidity, high)
    assume(np.all(tensions > 0.0))
    # 3 percent on, twice what a belt in service bears: what hangs on the centre distance is a share of the strains
    assert (tensions - tensions.mean()) / rigidity == pytest.approx(strains, abs=0.1 * np.ptp(strains) + 1e-9)


def test_many_sets_at_once_are_each_alone() -> None:
    random = np.random.default_rng(2)
    length = 2.5 * (1 + random.uniform(-0.01, 0.01, (40, 4)))
    driver, total = 0.2 * (1 + random.uniform(-0.01, 0.01, (40, 4))), random.uniform(100, 4000, 40)
    many = share_tension(length, driver, 0.3, 6e4, total)
    pulls = running_pulls(driver, 0.3, 6e4, many.tension, 0.6 * total)
    for k in (0, 17, 39):
        alone = share_tension(length[k], driver[k], 0.3, 6e4, total[k])
        assert many.tension[k] == pytest.approx(alone.tension, rel=1e-9, abs=1e-6)
        assert pulls.pull[k] == pytest.approx(running_pulls(driver[k], 0.3, 6e4, many.tension[k], 0.6 * total[k]).pull,
                                              abs=1e-6)


running = st.lists(st.floats(0.0, 800.0), min_size=BELTS, max_size=BELTS)


@settings(max_examples=100)
@given(sets(), running, st.floats(0.0, 0.999))
def test_running_pulls_are_those_of_the_ratio_found_by_scipy(drawn: Drawn, grips: list[float],
                                                             share: float) -> None:
    _, driver, driven, rigidity, _ = drawn
    G = np.array(grips)
    torque = share * np.sum(G * driver)
    assume(np.sum(G) > 1.0)
    shared = running_pulls(driver, driven, rigidity, G, torque / driver.mean())

    def surplus(rho: float) -> float:
        return float(np.sum(np.clip(rigidity * (1 - rho * driven / driver), -G, G) * driver) - torque)
    rho = brentq(surplus, 0.0, 3 * np.max(driver / driven), xtol=1e-15, rtol=1e-14)
    assert np.sum(shared.pull * driver) == pytest.approx(torque, rel=1e-9, abs=1e-7)
    assert shared.pull == pytest.approx(np.clip(rigidity * (1 - rho * driven / driver), -G, G), abs=1e-4)
    assert np.all(np.abs(shared.pull) <= G)


@given(sets(), st.floats(100.0, 500.0), st.floats(0.0, 0.9), st.permutations(range(BELTS)))
def test_order_of_running_belts_does_not_matter(drawn: Drawn, most: float, share: float,
                                                order: list[int]) -> None:
    _, driver, driven, rigidity, _ = drawn
    grips, pull = most * np.linspace(0.5, 1.0, BELTS), share * most * BELTS / 2
    shared = running_pulls(driver, driven, rigidity, grips, pull)
    mixed = running_pulls(driver[order], driven[order], rigidity[order], grips[order], pull)
    assert mixed.pull == pytest.approx(shared.pull[order], abs=1e-6)


def test_unlike_grooves_can_make_one_belt_brake_the_others() -> None:
    shared = running_pulls([0.200, 0.196], [0.3, 0.3], 60000.0, 900.0, 200.0)
    assert shared.pull[0] > 200.0
    assert shared.pull[1] < 0.0
    assert not np.any(shared.slides)


def test_alike_belts_pull_alike_and_creep_by_their_stretch() -> None:
    shared = running_pulls([0.2] * 4, [0.3] * 4, 50000.0, 300.0, 800.0)
    assert shared.pull == pytest.approx(200.0)
    assert shared.slip == pytest.approx(200.0 / 50000.0)


@given(st.floats(50.0, 1000.0), st.floats(0.0, 40.0), st.floats(1.1, 8.0))
def test_grip_is_where_the_strands_reach_the_ratio(tension: float, centrifugal: float, ratio: float) -> None:
    pull = float(np.asarray(grip(tension, centrifugal, ratio)))
    tight, slack = tension + pull / 2, tension - pull / 2
    assert (tight - centrifugal) / (slack - centrifugal) == pytest.approx(ratio, rel=1e-9)


def test_a_belt_thrown_off_by_its_own_mass_grips_nothing() -> None:
    assert grip(100.0, 120.0, 5.0) == 0.0


def test_the_impossible_is_refused() -> None:
    with pytest.raises(Infeasible, match="too short"):
        share_tension([2.0, 2.0], 0.5, 0.8, 50000.0, 800.0)
    assert not shareable([2.0, 2.0], 0.5, 0.8, 50000.0, 800.0)
    with pytest.raises(Infeasible, match="cannot grip"):
        running_pulls([0.2, 0.2], [0.3, 0.3], 50000.0, [300.0, 200.0], 501.0)
    assert holds([0.2, 0.2], [300.0, 200.0], 500.0)
    assert running_pulls([0.2, 0.2], [0.3, 0.3], 50000.0, [300.0, 200.0], 500.0).pull == pytest.approx([300.0, 200.0])
    with pytest.raises(OutOfRange, match="twice its length"):
        running_pulls([0.2, 0.2], [0.3, 0.3], 300.0, 300.0, 100.0)
    with pytest.raises(NotKnown, match="two belts"):
        relative_strains([2.5], 0.2, 0.3)
    with pytest.raises(OutOfRange, match="tension ratio"):
        grip(100.0, 0.0, 1.0)
