"""Motor moves against geometry done by minimising, and a drive's learned stiffness against a full least-squares fit."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import optimize
from uncertainties import ufloat

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.geometry import belt_length, length_per_centre
from beltwright.mechanics.stretch import (
    first_step,
    known,
    learn,
    move_for,
    rigidity_from_slope,
    tension_per_move,
    usual_rigidity,
)

Array = npt.NDArray[np.float64]


@given(st.floats(0.1, 0.6), st.floats(0.1, 0.9), st.floats(0.05, 1.5), st.floats(1e4, 5e5), st.floats(-2e-4, 2e-4))
def test_tension_after_a_small_move_is_hookes_law_on_the_real_path(
        driver: float, driven: float, gap: float, rigidity: float, move: float) -> None:
    """Strain from the exact belt length at both centres, not from the slope under test."""
    centre = (driver + driven) / 2 + gap
    before, after = belt_length(driver, driven, centre), belt_length(driver, driven, centre + move)
    slope = tension_per_move(rigidity, before, length_per_centre(driver, driven, centre))
    # (dL/dC)' x^2/2 is what the slope leaves out; it shrinks with the gap between the sheaves
    assert slope * move == pytest.approx(rigidity * (after - before) / before, rel=1e-3, abs=1e-3 + 40 * abs(move))
    assert rigidity_from_slope(slope, before, length_per_centre(driver, driven, centre)) == pytest.approx(rigidity)


def drive_with(slope: float, moves: Array, u_tension: float, u_move: float,
               rng: np.random.Generator) -> tuple[Array, Array, Array]:
    before = rng.uniform(150.0, 300.0, moves.size)
    after = before + slope * moves
    return (before + rng.normal(0, u_tension, moves.size), moves + rng.normal(0, u_move, moves.size),
            after + rng.normal(0, u_tension, moves.size))


@given(st.integers(0, 10_000), st.integers(1, 8), st.floats(2e4, 3e5), st.floats(1.0, 10.0), st.floats(1e-6, 2e-4))
def test_learned_slope_is_the_full_least_squares_fit(
        seed: int, count: int, slope: float, u_tension: float, u_move: float) -> None:
    """The oracle fits the true moves as unknowns beside the slope, which the function under test eliminates."""
    rng = np.random.default_rng(seed)
    moves = rng.choice([-1.0, 1.0], count) * rng.uniform(5e-4, 2e-3, count)
    before, x, after = drive_with(slope, moves, u_tension, u_move, rng)
    y, u_y = after - before, np.full(count, np.hypot(u_tension, u_tension))

    def residuals(unknown: Array) -> Array:
        k, true = unknown[0] * slope, unknown[1:] * 1e-3
        return np.concatenate([(y - k * true) / u_y, (x - true) / u_move])

    start = np.concatenate([[np.sum(x * y) / np.sum(x * x) / slope], x * 1e3])
    assume(start[0] > 0.2)   # below, drowned in noise: refused, see the readings that teach nothing
    fit = optimize.least_squares(residuals, start, method="lm", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    ours = learn(before, x, after, before_uncertainty=u_tension, move_uncertainty=u_move, after_uncertainty=u_tension)
    assert ours.slope == pytest.approx(fit.x[0] * slope, rel=1e-5)
    jacobian = np.asarray(fit.jac, dtype=float)
    own = slope * np.sqrt(np.linalg.inv(jacobian.T @ jacobian)[0, 0])
    assert ours.uncertainty == pytest.approx(own * max(1.0, float(ours.scatter)), rel=1e-4)
    if count > 1:
        assert ours.scatter == pytest.approx(np.sqrt(2 * fit.cost / (count - 1)), rel=1e-4, abs=1e-8)


def test_stated_uncertainty_is_the_scatter_of_many_drives() -> None:
    rng = np.random.default_rng(3)
    moves = np.array([8e-4, 1e-3, -6e-4, 1.2e-3])
    slopes, stated = [], []
    for _ in range(1500):
        before, x, after = drive_with(8e4, moves, 5.0, 5e-5, rng)
        found = learn(before, x, after, before_uncertainty=5.0, move_uncertainty=5e-5, after_uncertainty=5.0)
        slopes.append(float(found.slope))
        stated.append(float(found.uncertainty) / max(1.0, float(found.scatter)))
    assert np.std(slopes) == pytest.approx(np.median(stated), rel=0.06)
    assert np.mean(slopes) == pytest.approx(8e4, rel=0.01)


def test_moves_in_both_directions_teach_alike_and_in_any_order() -> None:
    out = learn([180.0, 240.0], [8e-4, 1e-3], [240.0, 321.0], before_uncertainty=5.0, move_uncertainty=2e-5,
                after_uncertainty=5.0)
    back = learn([321.0, 240.0], [-1e-3, -8e-4], [240.0, 180.0], before_uncertainty=5.0, move_uncertainty=2e-5,
                 after_uncertainty=5.0)
    assert back.slope == pytest.approx(out.slope)
    assert back.uncertainty == pytest.approx(out.uncertainty)


def test_contradicting_moves_widen_the_uncertainty() -> None:
    agreeing = learn([200.0, 200.0], [1e-3, 1e-3], [280.0, 281.0], before_uncertainty=3.0, move_uncertainty=1e-5,
                     after_uncertainty=3.0)
    contradicting = learn([200.0, 200.0], [1e-3, 1e-3], [240.0, 321.0], before_uncertainty=3.0, move_uncertainty=1e-5,
                          after_uncertainty=3.0)
    assert contradicting.slope == pytest.approx(agreeing.slope, rel=0.02)
    assert contradicting.uncertainty > 5 * agreeing.uncertainty


def test_drives_side_by_side_come_out_as_one_by_one() -> None:
    before = np.array([[180.0, 240.0], [200.0, 260.0]])
    move, after = np.array([[8e-4, 1e-3], [5e-4, 6e-4]]), np.array([[240.0, 321.0], [250.0, 330.0]])
    both = learn(before, move, after, before_uncertainty=5.0, move_uncertainty=2e-5, after_uncertainty=5.0)
    for row in range(2):
        alone = learn(before[row], move[row], after[row], before_uncertainty=5.0, move_uncertainty=2e-5,
                      after_uncertainty=5.0)
        assert np.asarray(both.slope)[row] == pytest.approx(alone.slope)
        assert np.asarray(both.uncertainty)[row] == pytest.approx(alone.uncertainty)


def test_readings_that_teach_nothing_are_refused() -> None:
    def taught(after: float, move: float, u: float = 5.0) -> object:
        return learn(200.0, move, after, before_uncertainty=u, move_uncertainty=1e-5, after_uncertainty=5.0)

    with pytest.raises(NotKnown, match="not moved"):
        taught(260.0, 0.0)
    with pytest.raises(NotKnown, match="fell"):
        taught(140.0, 1e-3)
    with pytest.raises(OutOfRange, match="before uncertainty"):
        taught(260.0, 1e-3, u=0.0)


@given(st.floats(-300.0, 300.0), st.floats(0.05, 1.0), st.floats(0.8, 8.0), st.floats(1.2, 2.0))
def test_first_step_never_passes_the_mark_over_the_usual_range(
        change: float, mass: float, length: float, growth: float) -> None:
    step = first_step(change, mass, length, growth)
    rigidity = usual_rigidity(mass)
    for each, said in ((rigidity.low, step.least), (rigidity.high, step.most)):
        done = tension_per_move(each, length, growth) * step.move
        assert done == pytest.approx(said)
        assert np.abs(done) <= abs(change)
        assert np.sign(done) == np.sign(change) or done == 0.0


@given(st.floats(-300.0, 300.0), st.floats(2e4, 3e5), st.floats(1e-3, 0.25), st.floats(0.1, 30.0))
def test_move_carries_both_uncertainties(change: float, slope: float, share: float, u_change: float) -> None:
    oracle = ufloat(change, u_change) / ufloat(slope, share * slope)
    advice = move_for(change, slope, slope_uncertainty=share * slope, change_uncertainty=u_change)
    assert advice.move == pytest.approx(oracle.nominal_value)
    assert advice.uncertainty == pytest.approx(oracle.std_dev)
    assert abs(float(advice.cautious)) <= abs(float(advice.move))


def test_cautious_move_passes_the_mark_one_time_in_forty() -> None:
    slopes = np.random.default_rng(11).normal(8e4, 1.2e4, 400_000)
    advice = move_for(90.0, 8e4, slope_uncertainty=1.2e4)
    assert np.mean(slopes * advice.cautious > 90.0) == pytest.approx(0.0228, abs=0.002)


def test_no_move_is_advised_on_a_drive_not_known() -> None:
    assert list(np.asarray(known(np.array([8e4, 8e4, -8e4]), np.array([2e4, 2.1e4, 1e3])))) == [True, False, False]
    with pytest.raises(OutOfRange, match="small step"):
        move_for(90.0, 8e4, slope_uncertainty=2.1e4)
