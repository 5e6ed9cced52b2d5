"""A plucked string filmed in slow motion: the formula from note to tension, and the ear, against the law of motion.

The span is cut into short pieces and moved from frame to frame by the matrix exponential of its equation of motion,
from the shape the finger gave it. No partials are assumed, unlike in `strings`, and ends may be clamped. What the film
shows is held against published string theory: an ideal string f = sqrt(T / m) / (2 t) (Mersenne; rayleigh1894), pinned
stiff partials n f sqrt(1 + B n^2) and clamped ends f (1 + 2 eps + (4 + pi^2 / 2) eps^2), eps = sqrt(EI / T) / t
(fletcher1998, ch. 2).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import expm

from beltwright.mechanics.frequency import frequency_from_tension, tension_from_frequency
from beltwright.mechanics.sound import hear
from tests.sound.strings import RATE, Sound, microphone

PIECES = 100
FRAMES = 4000       # a second


def film(tension: float, rigidity: float, mass: float, length: float, *, clamped: bool = False, damping: float = 1.0,
         seconds: float = 1.0, place: float = 0.3) -> np.ndarray:
    """Height of each inner point at each frame after letting go; every mode dies at `damping` [1/s] at least."""
    step = length / PIECES
    points = PIECES - 1
    second = np.diag(np.full(points, -2.0)) + np.diag(np.ones(points - 1), 1) + np.diag(np.ones(points - 1), -1)
    fourth = second @ second
    if clamped:
        # the slope is nothing at the ends: the point beyond mirrors the one before
        fourth[0, 0] += 2
        fourth[-1, -1] += 2
    pull = tension * second / step**2 - rigidity * fourth / step**4
    drag = -2 * damping * np.eye(points) + 2e-4 * tension / mass * second / step**2
    motion = np.block([[np.zeros((points, points)), np.eye(points)], [pull / mass, drag]])
    frame = expm(motion / FRAMES)
    x = np.arange(1, PIECES) / PIECES
    now = np.concatenate([np.minimum(x / place, (1 - x) / (1 - place)), np.zeros(points)])
    heights = np.empty((int(seconds * FRAMES), points))
    for k in range(len(heights)):
        heights[k] = now[:points]
        now = frame @ now
    return heights


def note(heights: np.ndarray) -> float:
    """The first note by eye: frames between upward crossings of the middle's slow swing."""
    x = np.arange(1, PIECES) / PIECES
    swing = heights @ np.sin(np.pi * x)
    up = np.flatnonzero((swing[:-1] < 0) & (swing[1:] >= 0))
    exact = up - swing[up] / (swing[up + 1] - swing[up])
    return float(FRAMES / np.diff(exact).mean())


SPANS = [(400.0, 0.2, 0.6), (450.0, 0.4, 0.75), (900.0, 0.12, 1.1)]


@pytest.mark.parametrize(("tension", "mass", "length"), SPANS)
def test_an_ideal_string_swings_as_the_formula_says(tension: float, mass: float, length: float) -> None:
    seen = note(film(tension, 0.0, mass, length))
    assert seen == pytest.approx(float(frequency_from_tension(tension, length, mass)), rel=1e-3)
    assert float(tension_from_frequency(seen, length, mass)) == pytest.approx(tension, rel=2e-3)


@pytest.mark.parametrize(("tension", "mass", "length"), SPANS)
@pytest.mark.parametrize("stiffness", [0.002, 0.01, 0.04])
def test_pinned_ends_raise_it_by_the_root_of_one_plus_b(tension: float, mass: float, length: float,
                                                         stiffness: float) -> None:
    rigidity = stiffness * tension * length**2 / np.pi**2
    ideal = float(frequency_from_tension(tension, length, mass))
    assert note(film(tension, rigidity, mass, length)) == pytest.approx(ideal * np.sqrt(1 + stiffness), rel=1e-3)


@pytest.mark.parametrize(("tension", "mass", "length"), SPANS)
@pytest.mark.parametrize("end", [0.02, 0.03, 0.04])
def test_clamped_ends_raise_it_by_twice_the_end_effect(tension: float, mass: float, length: float, end: float) -> None:
    ideal = float(frequency_from_tension(tension, length, mass))
    seen = note(film(tension, tension * (end * length) ** 2, mass, length, clamped=True))
    assert seen / ideal - 1 == pytest.approx(2 * end + (4 + np.pi**2 / 2) * end**2, abs=0.002)


def sound_of(heights: np.ndarray) -> Sound:
    """What a phone hears of a film: the air pushed by every piece, the near ones more, as it speeds up and slows."""
    x = np.arange(1, PIECES) / PIECES - 0.4
    speed_up = np.gradient(np.gradient(heights, axis=0), axis=0) @ (1 / (x**2 + 0.04) ** 1.5)
    slow = np.arange(len(speed_up)) / FRAMES
    return np.asarray(np.interp(np.arange(int(slow[-1] * RATE)) / RATE, slow, speed_up))


@pytest.mark.parametrize("clamped", [False, True])
@pytest.mark.parametrize(("tension", "mass", "length"), SPANS)
def test_the_ear_hears_what_the_film_shows(tension: float, mass: float, length: float, clamped: bool) -> None:
    rng = np.random.default_rng(6)
    heights = film(tension, tension * (0.01 * length) ** 2, mass, length, clamped=clamped, damping=7.0)
    one = sound_of(heights)
    sound = np.zeros(4 * RATE)
    for start in (0.4, 1.5, 2.6):
        at = int(start * RATE)
        sound[at:at + one.size] += one
    sound = microphone(sound, 1, 80.0)
    said = hear(0.5 * sound / np.abs(sound).max() + 1e-3 * rng.standard_normal(sound.size), RATE)
    assert said.refused is None
    assert said.plucks == 3
    assert said.frequency == pytest.approx(note(heights), rel=0.01)
