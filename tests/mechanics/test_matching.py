"""Matching of a set: bow against the arc itself, groups against every subset, order of belts without effect."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.matching import difference, fellows, length_in_bow, matched, shallow

lengths = st.lists(st.floats(2.49, 2.52), min_size=2, max_size=8)


@given(st.floats(0.1, 4.0), st.floats(1e-3, 0.125))
def test_length_in_a_bow_is_that_of_the_arc(span: float, share: float) -> None:
    bow = share * span
    arc = quad(lambda x: np.hypot(1.0, 8 * bow * x / span**2), -span / 2, span / 2, epsabs=1e-13, epsrel=1e-13)[0]
    found = float(length_in_bow(bow, span))
    # the next term of the series, 2.4 (s/t)² of it, is what the formula leaves out
    assert found - 2.4 * share**2 * found <= arc - span + 1e-10
    assert found >= arc - span - 1e-10


@given(st.floats(0.5, 2.0), st.floats(1e-3, 0.05))
def test_a_hanging_strand_bows_as_the_parabola_does(span: float, share: float) -> None:
    # a strand of even mass hangs in a catenary: its own length and bow, at the same span
    scale = brentq(lambda a: a * (np.cosh(span / 2 / a) - 1) - share * span, span / 20, 1e4 * span, xtol=1e-14)
    length = 2 * scale * np.sinh(span / 2 / scale)
    assert length_in_bow(share * span, span) == pytest.approx(length - span, rel=0.02)


@given(lengths, st.permutations(range(8)))
def test_order_of_the_belts_does_not_matter(length: list[float], order: list[int]) -> None:
    mixed = [length[k] for k in order if k < len(length)]
    assert difference(mixed, 1e-3) == difference(length, 1e-3)
    assert matched(mixed, 0.004) == matched(length, 0.004)
    assert sorted(np.asarray(mixed)[fellows(mixed, 0.004)]) == sorted(np.asarray(length)[fellows(length, 0.004)])


@given(lengths, st.floats(0.0, 0.02))
def test_no_larger_group_matches_than_the_one_found(length: list[float], limit: float) -> None:
    found = np.asarray(length)[fellows(length, limit)]
    assert np.ptp(found) <= limit + 1e-11
    sizes = [size for size in range(1, len(length) + 1)
             for group in combinations(length, size) if max(group) - min(group) <= limit]
    assert found.size >= max(sizes)


@given(lengths, st.floats(0.0, 0.01))
def test_a_longest_belt_grown_longer_never_matches_better(length: list[float], more: float) -> None:
    worse = [each + (more if each == max(length) else 0.0) for each in length]
    assert difference(worse, 1e-3).difference >= difference(length, 1e-3).difference
    assert matched(worse, 0.004) <= matched(length, 0.004)


def test_a_difference_of_exactly_the_limit_is_within_it() -> None:
    assert matched([2.5, 2.504], 0.004)
    assert matched([0.1, 0.1 + 0.3 - 0.1], 0.2)
    assert list(fellows([2.5, 2.504, 2.51], 0.004)) == [True, True, False]


def test_sets_side_by_side_are_each_alone() -> None:
    sets = np.array([[2.500, 2.512, 2.503], [2.500, 2.501, 2.520]])
    limits = np.array([0.004, 0.002])
    for k in range(2):
        assert list(fellows(sets, limits)[k]) == list(fellows(sets[k], limits[k]))
    assert list(np.asarray(matched(sets, np.array([0.02, 0.002])))) == [True, False]


def test_the_uncertainty_is_that_of_the_two_ends() -> None:
    found = difference([2.50, 2.51, 2.52], [0.001, 0.5, 0.002])
    assert found.uncertainty == pytest.approx(np.sqrt(0.001**2 + 0.002**2))


def test_what_cannot_be_judged_is_refused() -> None:
    with pytest.raises(NotKnown, match="two belts"):
        matched([2.5], 0.004)
    with pytest.raises(OutOfRange, match="eighth"):
        length_in_bow(np.array([0.01, 0.2]), 0.8)
    assert list(np.asarray(shallow(np.array([0.01, 0.2, -0.01]), 0.8))) == [True, False, False]
    with pytest.raises(OutOfRange, match="matching limit"):
        fellows([2.5, 2.51], -0.001)
