"""The first vote: how well a damped stiff string with its partials explains the ringing, for every first mode.

Partials f_n = n f1 sqrt((1 + B n^2) / (1 + B)), each dying as exp(-pi f_n n^g t / Q). For a first mode, a stiffness B
and a Q the share of the energy that partials 1..N explain follows from inner products with damped sinusoids; those
come from a bank of FFTs of the ringing, one per rate of decay, the faster decays with fewer bins. Energy is weighted by
exp(-a t) with a proportional to f1, so the Gram matrices depend on B, Q and a/f1 only: they are closed forms, factored
once, a few megabytes.
Source: fletcher1998 for the partials; least squares for the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from scipy import fft

from beltwright.mechanics.sound.clean import SLOW, Floats

Complexes = npt.NDArray[np.complexfloating[Any, Any]]
Ints = npt.NDArray[np.integer[Any]]

FIRST: Final = np.exp(np.arange(np.log(5.5), np.log(140.0), 0.01))        # first modes looked at [Hz]
STIFF: Final = np.array([0.0, 0.0004, 0.001, 0.0018, 0.003, 0.0046, 0.0066, 0.009, 0.012, 0.016, 0.021, 0.027, 0.034,
                         0.043])
QUALITY: Final = np.array([5.0, 9.0, 16.0, 30.0, 70.0, 300.0])
PARTIALS: Final = 14
FALL: Final = 0.3
WINDOWS: Final = np.exp(np.arange(np.log(0.011), np.log(1.4), 0.25))     # a / f1
RIDGE: Final = 4e-3
WEIGHT: Final = 2.2          # a T: how far the weight has died at the end of a ringing
LENGTHS: Final = np.array([0.12, 0.17, 0.24, 0.34, 0.48, 0.68, 0.96, 1.36])
CUTS: Final = np.array([70.0, 140.0, 280.0, 560.0, 880.0])              # ranges the energy is weighed in [Hz]
_STEP: Final = 0.15         # spacing of the rates of decay, as a log: between them is drawn straight
_DECAYS: Final = np.exp(np.arange(np.log(0.5), np.log(1600.0), _STEP))
_TOP: Final = 0.45 * SLOW
# the spectrum of what dies fast is smooth: from the second tier on bins are narrower than 1/120 of the rate of decay,
# so that a straight line between them is within a thousandth; the row where two tiers meet is kept in both
_SIZES: Final = np.array([32768, 16384, 8192, 4096, 2048, 1024, 512])
_EDGES: Final = np.concatenate([[0], np.ceil(np.log(120 * SLOW / _SIZES[1:] / _DECAYS[0]) / _STEP),
                                [_DECAYS.size - 1]]).astype(np.int32)
_WIDTHS: Final = (_TOP * _SIZES / SLOW).astype(np.int32) + 2
# the first two cells stay empty: what stands above the top is looked up there
_BASES: Final = (2 + np.concatenate([[0], np.cumsum((np.diff(_EDGES) + 1) * _WIDTHS)])).astype(np.int32)


def ratios(stiffness: Floats, partials: int = PARTIALS) -> Floats:
    """Partials of a stiff string over its first.

    f_n / f_1 = n sqrt((1 + B n^2) / (1 + B))

    stiffness: B, zero for an ideal string [-], scalar or array
    partials: how many [-]
    returns: ratios for n = 1..partials [-], one row per stiffness

    Pinned ends, small stiffness.
    Source: fletcher1998

    >>> ratios(np.array(0.0), 3).tolist()
    [1.0, 2.0, 3.0]
    """
    n = np.arange(1, partials + 1)
    B = np.asarray(stiffness)[..., None]
    return np.asarray(n * np.sqrt((1 + B * n**2) / (1 + B)))


def gram(ratio: Floats, decay: Floats, window: Floats) -> Floats:
    """Gram matrices of cos and sin of each damped partial under the weight exp(-a t), in units of 1/f1.

    Rows go cos 1, sin 1, cos 2, sin 2, ...: a leading block belongs to the first partials.
    """
    rate = decay[..., :, None] + decay[..., None, :] + np.asarray(window)[..., None, None]
    turn = 2 * np.pi * ratio
    minus = 1 / (rate - 1j * (turn[..., :, None] - turn[..., None, :]))
    plus = 1 / (rate - 1j * (turn[..., :, None] + turn[..., None, :]))
    out = np.empty((*rate.shape[:-2], 2 * rate.shape[-1], 2 * rate.shape[-1]))
    out[..., 0::2, 0::2] = 0.5 * (minus + plus).real
    out[..., 1::2, 1::2] = 0.5 * (minus - plus).real
    out[..., 1::2, 0::2] = 0.5 * (minus + plus).imag
    out[..., 0::2, 1::2] = np.swapaxes(out[..., 1::2, 0::2], -1, -2)
    ridge = np.arange(out.shape[-1])
    out[..., ridge, ridge] *= 1 + RIDGE
    return out


def _rung(seconds: float) -> int:
    """The longest of `LENGTHS` that a ringing fills."""
    return max(0, int(np.searchsorted(LENGTHS, seconds + 1e-9, "right")) - 1)


@cache
def _tables() -> npt.NDArray[np.float32]:
    """Inverse Cholesky factors, [window, stiff, quality, 2N, 2N]: the square of factor times products is energy."""
    ratio = ratios(STIFF)[None, :, None, :]
    n = np.arange(1, PARTIALS + 1)
    decay = np.pi * ratio * n**FALL / QUALITY[None, None, :, None]
    ratio, decay = np.broadcast_arrays(ratio, decay)
    shape = (WINDOWS.size, *ratio.shape[1:])
    full = gram(np.broadcast_to(ratio, shape), np.broadcast_to(decay, shape), WINDOWS[:, None, None])
    return np.asarray(np.linalg.inv(np.linalg.cholesky(full)), dtype=np.float32)


@dataclass(frozen=True)
class Bank:
    """The spectra of one ringing at each rate of decay that is asked of it."""

    cells: Complexes        # tier by tier, in each by rate of decay and frequency
    below: Floats           # energy below each of `CUTS` under the weight exp(-a t), a T = `WEIGHT`
    seconds: float          # the length that sets the weight, one of `LENGTHS`
    energy: float           # all of it under the weight


def bank(ring: Floats) -> Bank:
    """Spectra of a ringing, ready for any damped partial."""
    t = np.arange(ring.size) / SLOW
    seconds = float(LENGTHS[_rung(ring.size / SLOW)])
    weight = WEIGHT / seconds
    slowest = int(_step(np.asarray(weight)))
    cells = np.zeros(_BASES[-1], dtype=np.complex64)
    for first, last, size, width, base in zip(_EDGES, _EDGES[1:], _SIZES, _WIDTHS, _BASES, strict=False):
        if last >= slowest:
            skipped = max(0, slowest - int(first))
            rows = _DECAYS[first + skipped:last + 1, None]
            part = cells[base + skipped * width:base + (skipped + rows.size) * width].reshape(-1, width)
            part[:] = _damped(ring[:size], t[:size], rows, int(size))[:, :width]
    power = np.cumsum(np.abs(_damped(ring, t, np.array([[weight / 2]]), int(_SIZES[0]))[0]) ** 2, dtype=np.float64)
    below = power[(CUTS * _SIZES[0] / SLOW).astype(int)] * (2 * SLOW / _SIZES[0])
    weighted = ring**2 * np.exp(-weight * t)
    return Bank(cells, below, seconds, float(weighted.sum() - 0.5 * weighted[0]) / SLOW)


def _damped(ring: Floats, t: Floats, decay: Floats, size: int) -> Complexes:
    """Spectra of the ringing times exp(-decay t)."""
    damped = (ring / SLOW * np.exp(-decay * t)).astype(np.float32)
    damped[:, 0] *= 0.5
    return np.asarray(fft.rfft(damped, size, axis=1))


def _step(value: Floats) -> Floats:
    return np.clip((np.log(value) - np.log(_DECAYS[0])) / _STEP, 0, _DECAYS.size - 1.001)


def products(source: Bank, frequency: Floats, decay: Floats) -> Complexes:
    """Inner products of the ringing with exp(-decay t - 2 pi i f t), zero above the top."""
    return _gather(source.cells, *_places(_step(decay), frequency))


def _places(step: Floats, frequency: Floats) -> tuple[Ints, Ints, Floats, Floats]:
    """Cells of a bank at the rate of decay below and above, and how far on between rates and between bins."""
    tier = np.searchsorted(_EDGES[1:-1], step, "right")
    bin_ = frequency * (_SIZES[tier] / SLOW)
    row, column = step.astype(np.int32), bin_.astype(np.int32)
    low = frequency < _TOP
    at = np.where(low, _BASES[tier] + (row - _EDGES[tier]) * _WIDTHS[tier] + column, 0)
    above = np.where(low, at + _WIDTHS[tier], 0)
    return at, above, (step - row).astype(np.float32), (bin_ - column).astype(np.float32)


def _gather(cells: Complexes, at: Ints, above: Ints, up: Floats, right: Floats) -> Complexes:
    here = _between(cells, at, right)
    there = _between(cells, above, right)
    there -= here
    there *= up
    there += here
    return there


def _between(cells: Complexes, at: Ints, right: Floats) -> Complexes:
    at = at.astype(np.intp)
    # clipping is never needed and far faster than looking for what is out of bounds
    here, next_ = cells.take(at, mode="clip"), cells.take(at + 1, mode="clip")
    next_ -= here
    next_ *= right
    next_ += here
    return next_


def window_of(first: Floats, seconds: float) -> tuple[Ints, npt.NDArray[np.bool_]]:
    """Which weight each first mode gets, and whether the ringing lasts long enough for it."""
    needed = WEIGHT / (seconds * np.asarray(first))
    rung = np.round((np.log(needed) - np.log(WINDOWS[0])) / 0.25).astype(int)
    return np.clip(rung, 0, WINDOWS.size - 1), rung < WINDOWS.size


@cache
def _grid(rung: int) -> tuple[Ints, Ints, Floats, Floats]:
    """Where in a bank the partials of every grid point stand, [stiff, quality, first, n], for a rung of length."""
    frequency = frequencies().transpose(1, 0, 2)[:, None]
    n = np.arange(1, PARTIALS + 1)
    decay = np.pi * frequency * n**FALL / QUALITY[:, None, None] + WEIGHT / LENGTHS[rung]
    return _places(_step(decay), np.broadcast_to(frequency, decay.shape))


@cache
def _windows(rung: int) -> tuple[tuple[tuple[int, slice], ...], Floats]:
    """Runs of first modes that share a weight, and what turns the units of the tables into energy."""
    which, enough = window_of(FIRST, LENGTHS[rung])
    edges = [0, *(np.flatnonzero(np.diff(which)) + 1).tolist(), FIRST.size]
    runs = tuple((int(which[a]), slice(a, b)) for a, b in pairwise(edges))
    return runs, (FIRST * enough)[:, None].astype(np.float32)


@cache
def _sums() -> Floats:
    """Adds up the energy of cos and sin of partials 1..N, [2n, N]."""
    return np.repeat(np.triu(np.ones((PARTIALS, PARTIALS), dtype=np.float32)), 2, axis=0)


def explained(source: Bank) -> tuple[Floats, Floats, Floats]:
    """Energy that partials 1..N explain over the whole grid, and what there is to explain.

    Partials above the top were not looked for: what stands there beyond the last one below means nothing.

    returns: explained [stiff, quality, first, N]; energy below each of `CUTS`; independent samples below each
    """
    rung = _rung(source.seconds)
    places, tables, (runs, scale) = _grid(rung), _tables(), _windows(rung)
    energy = np.empty((STIFF.size, QUALITY.size, FIRST.size, PARTIALS), dtype=np.float32)
    parts = np.empty((QUALITY.size, FIRST.size, 2 * PARTIALS), dtype=np.float32)
    for k in range(STIFF.size):
        # one stiffness at a time stays in the processor's cache
        inner = _gather(source.cells, *(place[k] for place in places))
        pairs = np.conj(inner, out=inner).view(np.float32)
        for window, run in runs:
            np.matmul(pairs[:, run], tables[window, k].swapaxes(-1, -2), out=parts[:, run])
        np.square(parts, out=parts)
        np.matmul(parts, _sums(), out=energy[k])
        energy[k] *= scale
    return energy, source.below, 2 * CUTS * source.seconds / WEIGHT


@cache
def frequencies() -> Floats:
    """f_n of every first mode and stiffness looked at, [first, stiff, n] [Hz]."""
    return np.asarray(FIRST[:, None, None] * ratios(STIFF)[None])


@cache
def counted(cut: float = _TOP) -> Ints:
    """How many partials lie below a frequency [Hz], [stiff, first]."""
    return np.asarray((frequencies() < cut).sum(axis=-1).T)
