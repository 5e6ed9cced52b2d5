"""What force and note side by side teach of the mass: known answers, another way to weigh, and made readings."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import OutOfRange
from beltwright.mechanics.learned_mass import agreement, apart, learned_mass

shares = st.floats(0.005, 0.2)


@given(st.floats(0.7, 1.4), shares, shares, shares, st.integers(1, 12))
def test_pairs_that_differ_alike_give_that_difference(ratio: float, force: float, note: float, gauge: float,
                                                      count: int) -> None:
    by_note = np.linspace(150.0, 400.0, count)
    found = agreement(ratio * by_note, by_note, by_force_uncertainty=np.full(count, force),
                      by_note_uncertainty=np.full(count, note), gauge_uncertainty=gauge)
    assert float(found.ratio) == pytest.approx(ratio, rel=1e-9)
    assert float(found.uncertainty) == pytest.approx(np.sqrt((force**2 + note**2) / count + gauge**2), rel=1e-9)


def test_a_gauge_that_is_off_stays_off_however_many_pairs() -> None:
    many = np.full(10_000, 300.0)
    found = agreement(many, many, by_force_uncertainty=np.full(10_000, 0.05),
                      by_note_uncertainty=np.full(10_000, 0.005), gauge_uncertainty=0.04)
    assert float(found.uncertainty) == pytest.approx(0.04, rel=0.01)


@given(st.floats(0.05, 1.0), shares, st.floats(0.7, 1.4), shares)
def test_weighing_is_that_of_two_readings_of_one_thing(mass: float, before: float, ratio: float, new: float) -> None:
    told = learned_mass(mass, before * mass, ratio, new)
    w = np.array([1 / before**2, 1 / new**2])
    other = np.average(np.log([mass, mass * ratio]), weights=w)
    assert float(np.log(told.mass)) == pytest.approx(other, rel=1e-9, abs=1e-12)
    assert float(told.uncertainty / told.mass) == pytest.approx(w.sum() ** -0.5, rel=1e-9)
    assert float(told.uncertainty / told.mass) < min(before, new)


def test_made_readings_lead_to_the_true_mass_as_surely_as_said() -> None:
    rng = np.random.default_rng(20261125)
    drives, pairs, table, u_table = 4000, 6, 0.18, 0.08
    true = table * np.exp(u_table * rng.standard_normal(drives))
    gauge = np.exp(0.03 * rng.standard_normal(drives))
    tension = rng.uniform(150, 500, (drives, pairs))
    by_force = tension * gauge[:, None] * np.exp(0.04 * rng.standard_normal((drives, pairs)))
    by_note = tension * (table / true)[:, None] * np.exp(0.005 * rng.standard_normal((drives, pairs)))
    same = np.ones((drives, pairs))
    found = agreement(by_force, by_note, by_force_uncertainty=0.04 * same, by_note_uncertainty=0.005 * same,
                      gauge_uncertainty=np.full(drives, 0.03))
    told = learned_mass(np.full(drives, table), np.full(drives, u_table * table), found.ratio, found.uncertainty)
    off = (np.asarray(told.mass) - true) / np.asarray(told.uncertainty)
    assert 0.66 < np.mean(np.abs(off) < 1) < 0.74
    assert 0.93 < np.mean(np.abs(off) < 2) < 0.98
    assert np.sqrt(np.mean((told.mass / true - 1) ** 2)) < 0.5 * u_table


def test_what_is_apart_and_what_is_refused() -> None:
    assert np.asarray(apart(np.array([0.9, 1.0, 1.2]), 0.06)).tolist() == [False, False, True]
    with pytest.raises(OutOfRange, match="mass uncertainty"):
        learned_mass(0.18, 0.0, 1.1, 0.05)
