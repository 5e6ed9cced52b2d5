"""The string behind the ear: partials against the equation of motion, inner products against plain integration."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import eigh

from beltwright.mechanics.frequency import frequency_from_tension
from beltwright.mechanics.sound import clean, comb, ratios
from beltwright.mechanics.sound.refine import refine
from tests.sound import strings


def modes(tension: float, rigidity: float, mass: float, length: float, count: int) -> np.ndarray:
    """Frequencies of a pinned stiff string, from T y'' - EI y'''' = m y_tt in finite differences."""
    points = 400
    step = length / points
    second = (np.diag(np.full(points - 1, -2.0)) + np.diag(np.ones(points - 2), 1) + np.diag(np.ones(points - 2), -1))
    second /= step**2
    stiff = -tension * second + rigidity * (second @ second)
    return np.sqrt(eigh(stiff, eigvals_only=True, subset_by_index=[0, count - 1]) / mass) / (2 * np.pi)


@pytest.mark.parametrize(("tension", "rigidity", "mass", "length"), [
    (400.0, 0.0, 0.2, 0.6), (300.0, 0.9, 0.19, 0.45), (900.0, 8.0, 0.62, 0.8)])
def test_partials_are_those_of_the_equation_of_motion(tension: float, rigidity: float, mass: float,
                                                      length: float) -> None:
    solved = modes(tension, rigidity, mass, length, 8)
    stiffness = np.pi**2 * rigidity / (tension * length**2)
    assert ratios(np.asarray(stiffness), 8) == pytest.approx(solved / solved[0], rel=2e-3)
    plain = float(frequency_from_tension(tension, length, mass))
    assert solved[0] == pytest.approx(plain * np.sqrt(1 + stiffness), rel=1e-3)


def test_gram_matrix_is_what_integration_gives() -> None:
    ratio, decay, window = ratios(np.array(0.012), 3), np.array([0.2, 0.5, 0.9]), 0.3
    t = np.linspace(0, 60, 600_001)
    terms = np.concatenate([[np.exp(-d * t) * np.cos(2 * np.pi * r * t), -np.exp(-d * t) * np.sin(2 * np.pi * r * t)]
                            for r, d in zip(ratio, decay, strict=True)])
    weighted = terms * np.exp(-window * t)
    ends = np.ones(t.size)
    ends[[0, -1]] = 0.5
    expected = (weighted * ends) @ terms.T * (t[1] - t[0])
    found = comb.gram(ratio, decay, np.array(window))
    found[np.diag_indices(6)] /= 1 + comb.RIDGE
    # the products are taken with exp(-i w t): cos and -sin
    signs = np.array([1, -1] * 3)
    assert found == pytest.approx(expected * np.outer(signs, signs), abs=2e-5)


def test_partials_never_explain_more_than_there_is() -> None:
    ring = np.random.default_rng(3).standard_normal(2400)
    energy, there, _ = comb.explained(comb.bank(ring))
    assert (np.diff(energy, axis=-1) >= -1e-6).all()
    # stiffness, Q, first mode, partials: all that lie below the top
    last = comb.counted()[:, None, :, None] - 1
    assert np.take_along_axis(energy, np.broadcast_to(last, (*energy.shape[:3], 1)), -1).max() <= 1.05 * there[-1]


def test_inner_products_between_bins_and_rates_are_those_of_plain_sums() -> None:
    rng = np.random.default_rng(8)
    ring = rng.standard_normal(2400) * np.exp(-np.arange(2400) / 500)
    bank = comb.bank(ring)
    frequency = rng.uniform(5, 890, 200)
    decay = comb.WEIGHT / bank.seconds + np.exp(rng.uniform(np.log(0.1), np.log(1200), 200))
    t = np.arange(ring.size) / clean.SLOW
    ends = np.where(t == 0, 0.5, 1.0)
    exact = (np.exp(-(decay[:, None] + 2j * np.pi * frequency[:, None]) * t) * ring * ends).sum(axis=1) / clean.SLOW
    # beside what a tone of the ring's own size would give
    most = np.sqrt(np.sum(ring**2) / clean.SLOW / (2 * decay))
    assert np.abs(comb.products(bank, frequency, decay) - exact) / most == pytest.approx(0, abs=0.02)


@pytest.mark.parametrize("seed", range(4))
def test_a_bare_string_is_measured_to_a_few_thousandths(seed: int) -> None:
    rng = np.random.default_rng(seed)
    span = strings.Span(0.6, 0.2, rng.uniform(150, 900), rng.uniform(0, 0.02), rng.uniform(12, 40), 0.3, 0.0)
    place = strings.Place(0.3, 0.01, False, 0.4, 0.15)
    rings = [clean.slowed(strings.pluck(span, place, 1.3, rng), strings.RATE)[24:] for _ in range(2)]
    found = refine([comb.bank(ring) for ring in rings], span.first * 1.006, span.stiffness, span.quality)
    assert found.frequency == pytest.approx(span.first, rel=5e-3)
    assert 0 < found.spread < 0.02 * span.first
