"""Whip of a running span against the eigenvalues of its equation of motion, and the margins to what shakes it."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import eigvals

from beltwright.errors import OutOfRange
from beltwright.mechanics import whip
from beltwright.mechanics.frequency import frequency_from_tension
from beltwright.mechanics.geometry import belt_speed, centre_from_length, driven_rotation
from beltwright.units import RPM


def chebyshev(order: int) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """First and second derivative on [-1, 1] at the Chebyshev points, ends held at nothing."""
    x = np.cos(np.pi * np.arange(order + 1) / order)
    weight = np.hstack([2.0, np.ones(order - 1), 2.0]) * (-1.0) ** np.arange(order + 1)
    apart = x[:, np.newaxis] - x[np.newaxis, :]
    first = np.outer(weight, 1 / weight) / (apart + np.eye(order + 1))
    first -= np.diag(first.sum(axis=1))
    return first[1:-1, 1:-1], (first @ first)[1:-1, 1:-1]


def natural_frequencies(strand: float, span: float, mass: float, speed: float) -> npt.NDArray[np.float64]:
    """m (y_tt + 2 v y_xt + v² y_xx) = T y_xx between two fixed ends, as an eigenvalue problem: frequencies [Hz]."""
    first, second = chebyshev(32)
    first, second = first * 2 / span, second * (2 / span) ** 2
    size = len(first)
    stiffness = (strand / mass - speed**2) * second
    state = np.block([[np.zeros((size, size)), np.eye(size)], [stiffness, -2 * speed * first]])
    found = np.abs(eigvals(state).imag) / (2 * np.pi)
    return np.sort(found)[::2]


@settings(max_examples=25)
@given(st.floats(80.0, 3000.0), st.floats(0.2, 3.0), st.floats(0.06, 0.9), st.floats(0.0, 0.9))
def test_frequencies_are_the_eigenvalues_of_the_running_string(strand: float, span: float, mass: float,
                                                               share: float) -> None:
    speed = share * math.sqrt(strand / mass)
    modes = np.array([1, 2, 3])
    np.testing.assert_allclose(whip.span_frequency(strand, span, mass, speed, modes),
                               natural_frequencies(strand, span, mass, speed)[:3], rtol=1e-6)


@pytest.mark.parametrize(("speed", "hertz"), [(0.0, 28.5), (10.0, 27.2), (20.0, 23.0), (30.0, 16.2)])
def test_worked_values_of_a_slowing_span(speed: float, hertz: float) -> None:
    assert whip.span_frequency(400.0, 0.8, 0.192, speed) == pytest.approx(hertz, abs=0.05)


@given(st.floats(80.0, 3000.0), st.floats(0.2, 3.0), st.floats(0.06, 0.9))
def test_at_rest_it_is_the_note_of_the_plucked_span(strand: float, span: float, mass: float) -> None:
    assert whip.span_frequency(strand, span, mass, 0.0) == pytest.approx(frequency_from_tension(strand, span, mass))


@given(st.floats(80.0, 3000.0), st.floats(0.2, 3.0), st.floats(0.06, 0.9), st.floats(0.0, 0.98), st.integers(1, 5))
def test_faster_belts_swing_slower_and_modes_are_multiples(strand: float, span: float, mass: float, share: float,
                                                           mode: int) -> None:
    wave = float(whip.wave_speed(strand, mass))
    slow, fast = (whip.span_frequency(strand, span, mass, at * wave, mode) for at in (share, share + 0.01))
    assert fast < slow
    assert slow == pytest.approx(mode * whip.span_frequency(strand, span, mass, share * wave), rel=1e-12)


def test_a_belt_as_fast_as_its_own_wave_is_refused() -> None:
    wave = float(whip.wave_speed(400.0, 0.192))
    assert np.asarray(whip.taut(400.0, 0.192, np.array([0.0, 45.0, wave, 46.0]))).tolist() == [True, True, False, False]
    with pytest.raises(OutOfRange, match=r"A belt at 46\.0 m/s where its own wave runs at 45\.6 m/s"):
        whip.span_frequency(400.0, 0.8, 0.192, np.array([10.0, 46.0]))
    assert whip.span_frequency(400.0, 0.8, 0.192, wave * (1 - 1e-9)) == pytest.approx(0.0, abs=1e-6)


@given(st.floats(0.06, 0.5), st.floats(1.0, 6.0), st.floats(10.0, 400.0), st.floats(1.01, 10.0))
def test_the_belt_comes_round_less_often_than_either_shaft(driver: float, ratio: float, rotation: float,
                                                           apart: float) -> None:
    driven = driver * ratio
    length = 4 * (driver + driven) * apart
    assert centre_from_length(driver, driven, length) > 0
    turns = whip.belt_frequency(belt_speed(driver, rotation), length)
    assert turns < rotation / (2 * math.pi)
    assert turns < driven_rotation(driver, driven, rotation) / (2 * math.pi)


def test_margins_of_a_drive_worked_by_hand() -> None:
    """Shafts at 1500 and 750 rpm shake at 25 and 12.5 Hz, a belt at 5 Hz shakes at 10 Hz; the span swings at 24 Hz."""
    margins = whip.whip_margins(24.0, 1500 * RPM, 750 * RPM, 5.0)
    assert margins == pytest.approx((-0.04, 0.92, 1.4), rel=1e-12)
    assert not whip.clear_of_whip(margins)


def test_clear_means_clear_of_all_three_on_both_sides() -> None:
    frequency = np.array([19.9, 20.1, 24.9, 30.1, 15.1, 14.9, 12.1, 11.9, 7.9, 9.9])
    margins = whip.whip_margins(frequency, 1500 * RPM, 750 * RPM, 5.0)
    by_hand = [all(abs(f - shaker) >= 0.2 * shaker for shaker in (25.0, 12.5, 10.0)) for f in frequency]
    assert np.asarray(whip.clear_of_whip(margins)).tolist() == by_hand
    assert True in by_hand
    assert False in by_hand
    assert whip.margin_limits() == pytest.approx((0.15, 0.20))


@pytest.mark.parametrize("refused", [
    lambda: whip.wave_speed(0.0, 0.2),
    lambda: whip.span_frequency(400.0, 0.0, 0.2, 10.0),
    lambda: whip.span_frequency(400.0, 0.8, 0.2, -1.0),
    lambda: whip.span_frequency(400.0, 0.8, math.nan, 10.0),
    lambda: whip.belt_frequency(10.0, 0.0),
    lambda: whip.whip_margins(24.0, 0.0, 78.0, 5.0),
])
def test_what_no_drive_has_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()
