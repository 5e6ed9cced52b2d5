"""A clip made ready: slow samples, where it was plucked, hum and steady lines taken out, noise made white.

Works on plain arrays; knows nothing of files, belts or drives.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from scipy import fft
from scipy.linalg import solve_toeplitz
from scipy.ndimage import maximum_filter1d, median_filter, uniform_filter1d
from scipy.signal import butter, lfilter, resample_poly, sosfilt

Floats = npt.NDArray[np.floating[Any]]

SLOW: Final = 2000          # samples a second the work is done at: partials up to 900 Hz
MOST_PLUCKS: Final = 6
LONGEST_RING: Final = 1.4   # s of a pluck that is looked at
_TRIED: Final = 9           # peaks looked at for steady tones
_GATED: Final = 1e-8        # of the mean power: quieter than this is a recorder's own silence
_AFTER: Final = 0.012       # s after the onset where the free ringing is taken to begin
_ORDER: Final = 4
_HOLD: Final = 3.0          # how far the fit is held back: tails of the belt's own note must not be whitened away


@dataclass(frozen=True)
class Line:
    """A steady tone that has nothing to do with the pluck: mains hum, or a line of a fan or another machine."""

    kind: str
    frequency: float
    level: float            # its share of the power while it is quiet


@dataclass(frozen=True)
class Pluck:
    """The free ringing after one onset."""

    start: float            # s from the beginning of the clip
    rise: float             # how many times louder than just before
    ring: Floats            # whitened


@dataclass(frozen=True)
class Clean:
    """What is left to listen to, and what was taken out."""

    wave: Floats
    white: Floats
    floor: float            # power of the whitened noise
    plucks: tuple[Pluck, ...]
    lines: tuple[Line, ...]


def clean(samples: Floats, rate: float) -> Clean:
    """Mono samples [-1..1] at `rate` [Hz] made ready for the votes."""
    wave = slowed(samples, rate)
    weight = _quiet(wave)
    wave, lines = _without_hum(wave, weight)
    weight = _quiet(wave)
    onsets = _onsets(wave)
    first = onsets[0][0] if onsets else wave.size
    wave, steady = _without_lines(wave, weight, first)
    if lines or steady:
        weight = _quiet(wave)
        onsets = _onsets(wave)
    white = _whitened(wave, weight)
    power = _power(white, SLOW // 25)
    floor = max(float(np.percentile(power[SLOW // 50:], 15)), _GATED * float(power.mean())) + 1e-30
    return Clean(wave, white, floor, tuple(_rings(white, onsets)), lines + steady)


def slowed(samples: Floats, rate: float) -> Floats:
    """The samples at `SLOW` a second, without what lies below 5 Hz."""
    ratio = Fraction(SLOW, round(rate)).limit_denominator(1000)
    slow = resample_poly(samples, ratio.numerator, ratio.denominator) if ratio != 1 else np.asarray(samples, float)
    return np.asarray(sosfilt(butter(2, 5.0, "highpass", fs=SLOW, output="sos"), slow - slow.mean()))


def _quiet(wave: Floats) -> Floats:
    """Weights that favour the quiet: one over the power around each moment."""
    around = maximum_filter1d(_power(wave, SLOW // 12), SLOW // 12)
    weight = 1 / (around + 0.5 * np.percentile(around, 20) + _GATED * around.mean() + 1e-20)
    return np.asarray(weight / weight.mean())


def _power(wave: Floats, width: int) -> Floats:
    """Power around each moment: the running sum behind it may end a hair below nothing where a recorder put silence."""
    return np.maximum(uniform_filter1d(wave**2, width), 0.0)


def _without_hum(wave: Floats, weight: Floats) -> tuple[Floats, tuple[Line, ...]]:
    """Take out mains hum, if there is any: twelve harmonics of 50 or 60 Hz, off by up to 0.15 percent."""
    size = fft.next_fast_len(16 * wave.size)
    spectrum = np.abs(fft.rfft(weight * wave, size)) ** 2
    hertz = np.arange(spectrum.size) * SLOW / size
    usual = median_filter(spectrum[::8], size=501, mode="nearest")
    harmonics = np.arange(1, 13)
    best, found = 0.0, 0.0
    for mains in (50.0, 60.0):
        for off in np.linspace(-0.0015, 0.0015, 25):
            at = harmonics * mains * (1 + off)
            ratio = np.interp(at, hertz, spectrum) / (np.interp(at, hertz[::8], usual) + 1e-30)
            total = float(np.sum(np.log1p(ratio / 5)))
            if total > best:
                best, found = total, float(mains * (1 + off))
    t = np.arange(wave.size) / SLOW
    turns = np.exp(2j * np.pi * found * t)
    powers = [turns]
    for _ in harmonics[1:]:
        powers.append(powers[-1] * turns)
    terms = np.concatenate([[p.real for p in powers], [p.imag for p in powers]])
    slope = (t / t[-1] - 0.5) * terms[[0, 1, 2, 12, 13, 14]]
    fitted = _fit(wave, weight, np.concatenate([terms, slope]))
    before = float(np.sum(weight * wave**2))
    share = 1 - float(np.sum(weight * (wave - fitted) ** 2)) / (before + 1e-30)
    chance = 30 / max(60.0, wave.size / 12)
    if best < 14 or share < 2 * chance:
        return wave, ()
    return wave - fitted, (Line("mains hum", found, share),)


def _without_lines(wave: Floats, weight: Floats, first: int) -> tuple[Floats, tuple[Line, ...]]:
    """Take out steady lines above 10 Hz that sound before the first pluck as they do after it."""
    found: list[Line] = []
    if first < 0.15 * SLOW:
        return wave, ()
    t = np.arange(wave.size) / SLOW
    size = fft.next_fast_len(8 * wave.size)
    hertz = np.arange(size // 2 + 1) * SLOW / size
    looked = (hertz < 10) | (hertz > 900)
    before = float(np.sum(weight * wave**2)) + 1e-30
    ratio = _standing(wave, weight, size)
    for _ in range(_TRIED):
        top = int(np.argmax(np.where(looked, 0.0, ratio)))
        if looked[top] or ratio[top] < 60:
            break
        wanted = hertz[top]
        looked |= np.abs(hertz - wanted) < 1.0
        turn = np.exp(-2j * np.pi * wanted * t)
        part = weight * wave * turn
        chunks = [slice(0, first), *_thirds(first, wave.size)]
        level = np.array([part[c].sum() / (weight[c].sum() + 1e-30) for c in chunks])
        mean = np.abs(np.average(level, weights=[weight[c].sum() for c in chunks]))
        if np.abs(level[0]) < 0.5 * mean or mean**2 < 0.75 * np.mean(np.abs(level) ** 2):
            # the belt's own, most likely; a steady tone may stand behind it
            continue
        fitted = _fit(wave, weight, np.array([turn.real, turn.imag]))
        share = float(np.sum(weight * (wave**2 - (wave - fitted) ** 2))) / before
        if share < 0.01:
            continue    # a side of one taken out already
        wave = wave - fitted
        found.append(Line("steady tone", float(wanted), share))
        ratio = _standing(wave, weight, size)
    return wave, tuple(found)


def _standing(wave: Floats, weight: Floats, size: int) -> Floats:
    """How far each bin of the quiet parts' spectrum stands above those around it."""
    spectrum = np.abs(fft.rfft(weight * wave, size)) ** 2
    usual = median_filter(spectrum[::8], size=201, mode="nearest")
    return np.asarray(spectrum / (np.interp(np.arange(spectrum.size) / 8, np.arange(usual.size), usual) + 1e-30))


def _thirds(first: int, last: int) -> list[slice]:
    edges = np.linspace(first, last, 4).astype(int)
    return [slice(a, b) for a, b in pairwise(edges) if b > a]


def _fit(wave: Floats, weight: Floats, terms: Floats) -> Floats:
    """Weighted least squares of the terms, as a wave."""
    weighted = terms * weight
    gram = weighted @ terms.T
    gram[np.diag_indices_from(gram)] *= 1 + 1e-6
    return np.asarray(np.linalg.solve(gram, weighted @ wave) @ terms)


def _onsets(wave: Floats) -> list[tuple[int, float]]:
    """Where the sound jumps up: (sample, how many times), in order of time, the strongest few."""
    hop = SLOW // 200
    power = np.add.reduceat(wave**2, np.arange(0, wave.size, hop)) / hop
    total = np.concatenate([[0.0], np.cumsum(power)])
    ahead, behind, gap = 10, 24, 44
    k = np.arange(power.size)
    after = (total[np.minimum(k + ahead, power.size)] - total[k]) / ahead
    before = (total[k] - total[np.maximum(k - behind, 0)]) / np.maximum(np.minimum(k, behind), 1)
    floor = np.percentile(power, 10) + 1e-3 * power.mean() + 1e-20
    before[:2] = after[:2]
    ratio = after / (before + 0.3 * floor)
    loud = after / after.max()
    merit = np.log(np.maximum(ratio, 1e-9)) * (loud > 0.01)
    found: list[int] = []
    score = merit + 0.5 * np.log(loud + 1e-6)
    free = (merit > np.log(2.0)) & (k < power.size - 16)
    while free.any() and len(found) < MOST_PLUCKS:
        top = int(np.argmax(np.where(free, score, -np.inf)))
        found.append(top)
        free[max(0, top - gap):top + gap] = False
    if not found:
        found = [int(np.argmax(after[: max(1, power.size - 16)]))]
    return [(_edge(wave, f * hop, hop), float(np.sqrt(max(ratio[f], 1e-9)))) for f in sorted(found)]


def _edge(wave: Floats, near: int, hop: int) -> int:
    """The moment of release: the peak of the short power just after the jump."""
    stop = min(wave.size, near + 12 * hop)
    short = uniform_filter1d(wave[near:stop] ** 2, 6)
    over = np.flatnonzero(short > 0.3 * short.max())
    return near + int(over[0]) if over.size else near


def _rings(white: Floats, onsets: list[tuple[int, float]]) -> list[Pluck]:
    out = []
    for i, (at, rise) in enumerate(onsets):
        start = at + int(_AFTER * SLOW)
        stop = min(white.size, start + int(LONGEST_RING * SLOW))
        if i + 1 < len(onsets):
            stop = min(stop, onsets[i + 1][0] - SLOW // 50)
        if stop - start >= SLOW // 8:
            out.append(Pluck(at / SLOW, rise, white[start:stop]))
    return out


def _whitened(wave: Floats, weight: Floats) -> Floats:
    """The wave through the inverse of an autoregressive fit to its quiet parts: noise white, ringing still ringing."""
    flat = wave * np.sqrt(weight)
    size = fft.next_fast_len(2 * flat.size)
    lag = fft.irfft(np.abs(fft.rfft(flat, size)) ** 2, size)[: _ORDER + 1]
    lag[0] = lag[0] * (1 + _HOLD) + 1e-20
    ahead = solve_toeplitz(lag[:-1], lag[1:])
    white = lfilter(np.concatenate([[1.0], -ahead]), [1.0], wave)
    return np.asarray(white)
