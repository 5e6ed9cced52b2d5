"""What a picture of a clip shows, as plain numbers in so many columns: wave, plucks, spectrum, partials.

For the drawing of `listening` and for the terminal alike. Draws nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from beltwright.desk.listen import Listened
from beltwright.mechanics.sound import ratios, seen
from beltwright.mechanics.sound.clean import SLOW

Floats = npt.NDArray[np.floating[Any]]

LOW, HIGH = 5.0, 400.0          # Hz shown
TICKS: Final = (10, 20, 50, 100, 200, 400)
_DEEP: Final = 45.0             # dB from the top of the spectrum to its bottom line
_POINTS: Final = 1 << 15
# clips refused for these cannot be made ready: they are shown as they came
NOT_READY: Final = ("too short", "too long", "low rate", "silent")


@dataclass(frozen=True)
class Traced:
    """A clip in columns.

    high, low: of the wave in each column, -1 to 1 of its loudest
    plucks:    where they begin, as a share of the clip; level: of the spectrum in each column, 0 to 1
    partials:  number and note of each [Hz], none where no note was found
    """

    seconds: float
    high: Floats
    low: Floats
    plucks: tuple[float, ...]
    level: Floats
    partials: tuple[tuple[int, float], ...]


def trace(listened: Listened, columns: int) -> Traced:
    """A clip and what was heard in it, in so many columns."""
    samples, rate, heard = listened.sound.samples, listened.sound.rate, listened.heard
    if heard.refused in NOT_READY or samples.size < rate / 2:
        wave, rings = np.asarray(samples, dtype=float), []
    else:
        _, wave, ready = seen(samples, rate)
        rings = [pluck.ring for pluck in ready.plucks] or [ready.wave]
    edges = np.linspace(0, wave.size, columns + 1).astype(int)[:-1]
    scale = float(np.abs(wave).max()) or 1.0
    seconds = samples.size / rate
    return Traced(seconds, np.maximum.reduceat(wave, edges) / scale, np.minimum.reduceat(wave, edges) / scale,
                  tuple(onset / seconds for onset in heard.onsets), _spectrum(rings, columns), _partials(listened))


def across(hertz: float) -> float:
    """Where a note stands across the spectrum, 0 to 1.

    >>> across(5.0), across(400.0)
    (0.0, 1.0)
    """
    return float(np.clip(np.log(hertz / LOW) / np.log(HIGH / LOW), 0.0, 1.0))


def _spectrum(rings: list[Floats], columns: int) -> Floats:
    if not rings:
        return np.zeros(columns)
    # the plucks one by one: taken together they would beat against each other
    power = [np.abs(np.fft.rfft(ring * np.linspace(1, 0, ring.size), _POINTS)) ** 2 for ring in rings]
    spectrum = np.sqrt(np.mean(power, axis=0))
    hertz = np.arange(spectrum.size) * SLOW / _POINTS
    limits = LOW * (HIGH / LOW) ** (np.arange(columns + 1) / columns)
    starts = np.minimum(np.searchsorted(hertz, limits[:-1]), spectrum.size - 2)
    top = np.maximum.reduceat(spectrum, starts)
    top[-1] = spectrum[starts[-1]:max(int(np.searchsorted(hertz, HIGH)), starts[-1] + 1)].max()
    most = float(top.max())
    if most <= 0.0:
        return np.zeros(columns)
    return np.clip(20 * np.log10(top / most + 1e-6) / _DEEP + 1.0, 0.0, 1.0)


def _partials(listened: Listened) -> tuple[tuple[int, float], ...]:
    heard = listened.heard
    clear = listened.answered or heard.refused == "outside the band"
    if heard.frequency is None or heard.stiffness is None or not clear:
        return ()
    notes = [heard.frequency * float(ratio) for ratio in ratios(np.asarray(heard.stiffness))]
    return tuple((number, note) for number, note in enumerate(notes, start=1) if LOW <= note <= HIGH)
