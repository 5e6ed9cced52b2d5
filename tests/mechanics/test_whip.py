"""Notes of a running span against eigenvalues of its equation of motion, as a string and with bending stiffness."""

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
from beltwright.mechanics.friction import carried_tensions, centrifugal_tension, net_tensions
from beltwright.mechanics.geometry import belt_speed, centre_from_length, driven_rotation
from beltwright.mechanics.tension import static_from_ratio

Array = npt.NDArray[np.float64]
ELEMENTS = 50


def built_in(strand: float, span: float, mass: float, speed: float, rigidity: float) -> Array:
    """m (y_tt + 2 v y_xt + v² y_xx) - T y_xx + EI y_xxxx = 0, ends built in, by cubic finite elements: notes [Hz].

    Without stiffness the slopes at the ends are left free and it is the string. Nothing is shared with the code.
    """
    h = span / ELEMENTS
    weight = np.array([[156, 22 * h, 54, -13 * h], [22 * h, 4 * h**2, 13 * h, -3 * h**2],
                       [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h**2, -22 * h, 4 * h**2]]) * h / 420
    slope = np.array([[36, 3 * h, -36, 3 * h], [3 * h, 4 * h**2, -3 * h, -h**2],
                      [-36, -3 * h, 36, -3 * h], [3 * h, -h**2, -3 * h, 4 * h**2]]) / (30 * h)
    bend = np.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2],
                     [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2]]) / h**3
    lean = np.array([[-30, 6 * h, 30, -6 * h], [-6 * h, 0, 6 * h, -h**2],
                     [-30, -6 * h, 30, 6 * h], [6 * h, h**2, -6 * h, 0]]) / 60
    size = 2 * (ELEMENTS + 1)
    inertia, gyroscopic, stiffness = (np.zeros((size, size)) for _ in range(3))
    for element in range(ELEMENTS):
        at = np.ix_(range(2 * element, 2 * element + 4), range(2 * element, 2 * element + 4))
        inertia[at] += mass * weight
        gyroscopic[at] += 2 * mass * speed * lean
        stiffness[at] += (strand - mass * speed**2) * slope + rigidity * bend
    held = {0, size - 2} | ({1, size - 1} if rigidity else set())
    free = [place for place in range(size) if place not in held]
    inertia, gyroscopic, stiffness = (part[np.ix_(free, free)] for part in (inertia, gyroscopic, stiffness))
    back = np.linalg.inv(inertia)
    state = np.block([[np.zeros_like(back), np.eye(len(free))], [-back @ stiffness, -back @ gyroscopic]])
    found = np.sort(np.abs(eigvals(state).imag)) / (2 * np.pi)
    return np.asarray(found[::2])


def chebyshev(order: int) -> tuple[Array, Array]:
    """First and second derivative on [-1, 1] at the Chebyshev points, ends held at nothing."""
    x = np.cos(np.pi * np.arange(order + 1) / order)
    weight = np.hstack([2.0, np.ones(order - 1), 2.0]) * (-1.0) ** np.arange(order + 1)
    apart = x[:, np.newaxis] - x[np.newaxis, :]
    first = np.outer(weight, 1 / weight) / (apart + np.eye(order + 1))
    first -= np.diag(first.sum(axis=1))
    return first[1:-1, 1:-1], (first @ first)[1:-1, 1:-1]


def natural_frequencies(strand: float, span: float, mass: float, speed: float) -> Array:
    """m (y_tt + 2 v y_xt + v² y_xx) = T y_xx between two fixed ends, as an eigenvalue problem: frequencies [Hz]."""
    first, second = chebyshev(32)
    first, second = first * 2 / span, second * (2 / span) ** 2
    size = len(first)
    stiffness = (strand / mass - speed**2) * second
    state = np.block([[np.zeros((size, size)), np.eye(size)], [stiffness, -2 * speed * first]])
    return np.asarray(np.sort(np.abs(eigvals(state).imag) / (2 * np.pi))[::2])


@settings(max_examples=25)
@given(st.floats(80.0, 3000.0), st.floats(0.2, 3.0), st.floats(0.06, 0.9), st.floats(0.0, 0.99))
def test_frequencies_are_the_eigenvalues_of_the_running_string(strand: float, span: float, mass: float,
                                                               share: float) -> None:
    speed = share * math.sqrt(strand / mass)
    np.testing.assert_allclose(whip.span_frequency(strand, span, mass, speed, np.array([1.0, 2.0, 3.0])),
                               natural_frequencies(strand, span, mass, speed)[:3], rtol=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.9, 0.99])
def test_the_elements_that_stiffness_is_checked_with_know_the_string(share: float) -> None:
    speed = share * math.sqrt(400.0 / 0.192)
    assert built_in(400.0, 0.8, 0.192, speed, 0.0)[0] == pytest.approx(
        natural_frequencies(400.0, 0.8, 0.192, speed)[0], rel=1e-3)


@pytest.mark.parametrize("layer", [0.01, 0.03, 0.06, 0.1])
@pytest.mark.parametrize("share", [0.0, 0.35, 0.7, 0.9])
def test_stiffness_adds_what_a_built_in_running_beam_has_more(share: float, layer: float) -> None:
    """Short of it by what the docstring says, the more the nearer to the end of its range."""
    strand, span, mass = 400.0, 0.8, 0.192
    speed = share * math.sqrt(strand / mass)
    rigidity = (layer * span) ** 2 * (strand - mass * speed**2)
    ours = float(whip.stiff_span_frequency(strand, span, mass, speed, rigidity * (1 - 1e-9)))
    assert ours == pytest.approx(built_in(strand, span, mass, speed, rigidity)[0], rel=7e-4 + 3.5 * layer**2)
    assert ours > whip.span_frequency(strand, span, mass, speed) * (1 + 1.9 * layer)


@given(st.floats(80.0, 3000.0), st.floats(0.2, 3.0), st.floats(0.06, 0.9), st.floats(0.0, 0.09))
def test_at_rest_it_is_the_note_of_the_plucked_span(strand: float, span: float, mass: float, layer: float) -> None:
    assert whip.span_frequency(strand, span, mass, 0.0) == pytest.approx(frequency_from_tension(strand, span, mass))
    rigidity = (layer * span) ** 2 * strand
    assert whip.stiff_span_frequency(strand, span, mass, 0.0, rigidity) == pytest.approx(
        frequency_from_tension(strand, span, mass, rigidity), rel=1e-12)


@pytest.mark.parametrize(("speed", "hertz"), [(0.0, 28.5), (10.0, 27.2), (20.0, 23.0), (30.0, 16.2)])
def test_worked_values_of_a_slowing_span(speed: float, hertz: float) -> None:
    assert whip.span_frequency(400.0, 0.8, 0.192, speed) == pytest.approx(hertz, abs=0.05)


@given(st.floats(80.0, 3000.0), st.floats(0.2, 3.0), st.floats(0.06, 0.9), st.floats(0.0, 0.98), st.integers(1, 5))
def test_faster_belts_swing_slower_and_modes_are_multiples(strand: float, span: float, mass: float, share: float,
                                                           mode: int) -> None:
    wave = float(whip.wave_speed(strand, mass))
    slow, fast = (whip.span_frequency(strand, span, mass, at * wave, mode) for at in (share, share + 0.01))
    assert fast < slow
    assert slow == pytest.approx(mode * whip.span_frequency(strand, span, mass, share * wave), rel=1e-12)


@given(st.floats(80.0, 3000.0), st.floats(0.2, 3.0), st.floats(0.06, 0.9), st.floats(0.0, 0.999), st.integers(1, 4))
def test_the_tension_for_a_note_gives_that_note(strand: float, span: float, mass: float, share: float,
                                                mode: int) -> None:
    speed = share * math.sqrt(strand / mass)
    note = whip.span_frequency(strand, span, mass, speed, mode)
    assert whip.strand_at_frequency(note, span, mass, speed, mode) == pytest.approx(strand, rel=1e-9)


@given(st.floats(500.0, 2e4), st.floats(5.0, 30.0), st.floats(0.06, 0.5), st.floats(1.5, 8.0))
def test_strands_of_the_running_drive_are_those_its_static_tension_was_worked_out_from(
        power: float, speed: float, mass: float, ratio: float) -> None:
    pull = power / (2 * speed)
    tension = static_from_ratio(power, 2.0, speed, mass, ratio)
    carried = carried_tensions(*net_tensions(pull, ratio), centrifugal_tension(mass, speed))
    assert whip.running_strands(tension, pull) == pytest.approx(carried, rel=1e-9)
    assert whip.runs_taut(tension, pull, mass, speed)
    slack = 0.5 * pull + mass * speed**2
    assert not whip.runs_taut(slack * (1 - 1e-9), pull, mass, speed)


def test_a_belt_as_fast_as_its_own_wave_is_refused() -> None:
    wave = float(whip.wave_speed(400.0, 0.192))
    assert np.asarray(whip.taut(400.0, 0.192, np.array([0.0, 45.0, wave, 46.0]))).tolist() == [True, True, False, False]
    with pytest.raises(OutOfRange, match=r"A belt at 46\.0 m/s where its own wave runs at 45\.6 m/s"):
        whip.span_frequency(400.0, 0.8, 0.192, np.array([10.0, 46.0]))
    assert whip.span_frequency(400.0, 0.8, 0.192, wave * (1 - 1e-9)) == pytest.approx(0.0, abs=1e-6)
    assert not whip.stiff_span_holds(400.0, 0.8, 0.192, wave, 0.0)
    with pytest.raises(OutOfRange, match=r"is 0\.11, and the correction holds up to 0\.1"):
        whip.stiff_span_frequency(400.0, 0.8, 0.192, 0.0, 400.0 * (0.11 * 0.8) ** 2)


@given(st.floats(0.06, 0.5), st.floats(1.0, 6.0), st.floats(10.0, 400.0), st.floats(1.01, 10.0))
def test_the_belt_comes_round_less_often_than_either_shaft(driver: float, ratio: float, rotation: float,
                                                           apart: float) -> None:
    driven = driver * ratio
    length = 4 * (driver + driven) * apart
    assert centre_from_length(driver, driven, length) > 0
    turns = whip.belt_frequency(belt_speed(driver, rotation), length)
    assert turns < rotation / (2 * math.pi)
    assert turns < driven_rotation(driver, driven, rotation) / (2 * math.pi)


@pytest.mark.parametrize("refused", [
    lambda: whip.wave_speed(0.0, 0.2),
    lambda: whip.span_frequency(400.0, 0.0, 0.2, 10.0),
    lambda: whip.span_frequency(400.0, 0.8, 0.2, -1.0),
    lambda: whip.span_frequency(400.0, 0.8, math.nan, 10.0),
    lambda: whip.belt_frequency(10.0, 0.0),
    lambda: whip.running_strands(200.0, -1.0),
    lambda: whip.strand_at_frequency(0.0, 0.8, 0.2, 10.0),
    lambda: whip.stiff_span_frequency(400.0, 0.8, 0.2, 10.0, -0.1),
])
def test_what_no_drive_has_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()
