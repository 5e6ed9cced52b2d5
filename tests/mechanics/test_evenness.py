"""Evenness of a set against SciPy's chi-square and against sets made alike and made unlike."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.evenness import evenness, uneven

belts = st.lists(st.tuples(st.floats(50.0, 500.0), st.floats(1.0, 40.0)), min_size=2, max_size=8)


@given(belts)
def test_scatter_and_verdict_agree_with_scipy(read: list[tuple[float, float]]) -> None:
    tension, own = (np.array(each) for each in zip(*read, strict=True))
    level = np.polyfit(np.zeros_like(tension), tension, 0, w=1 / own)[0]   # the best one tension for all
    best = float(np.sum(((tension - level) / own) ** 2))
    found = evenness(tension, own)
    assert found.scatter == pytest.approx(np.sqrt(best / (len(read) - 1)), rel=1e-6, abs=1e-6)
    chance = float(stats.chi2.sf(best, len(read) - 1))
    if abs(chance - 0.05) > 1e-6:
        assert bool(uneven(tension, own)) == (chance < 0.05)


def test_belts_that_pull_alike_are_called_uneven_one_time_in_twenty() -> None:
    rng = np.random.default_rng(2)
    alike = 250.0 + rng.normal(0.0, 8.0, (20_000, 4))
    assert np.mean(uneven(alike, 8.0)) == pytest.approx(0.05, abs=0.006)
    mean = evenness(alike, 8.0)
    assert np.std(np.asarray(mean.mean)) == pytest.approx(float(np.asarray(mean.uncertainty)[0]), rel=0.02)
    one_slack = alike - np.array([0.0, 0.0, 60.0, 0.0])
    assert np.mean(uneven(one_slack, 8.0)) > 0.99


@given(belts, st.floats(-40.0, 200.0), st.permutations(range(8)))
def test_an_error_all_share_and_the_order_of_belts_say_nothing(
        read: list[tuple[float, float]], shared: float, order: list[int]) -> None:
    tension, own = (np.array(each) for each in zip(*read, strict=True))
    mixed = [place for place in order if place < tension.size]
    plain, shifted = evenness(tension, own), evenness(tension[mixed] + shared, own[mixed])
    assert shifted.scatter == pytest.approx(plain.scatter, rel=1e-6, abs=1e-6)
    assert shifted.mean == pytest.approx(float(plain.mean) + shared)
    assert float(shifted.spread) * float(shifted.mean) == pytest.approx(np.ptp(tension), abs=1e-9)


def test_one_belt_or_no_tension_is_refused() -> None:
    with pytest.raises(NotKnown, match="from 2 on"):
        evenness([250.0], 5.0)
    with pytest.raises(OutOfRange, match="tension"):
        evenness([250.0, 0.0], 5.0)
    with pytest.raises(OutOfRange, match="uncertainty"):
        uneven([250.0, 240.0], 0.0)
