"""The first vote: how well a damped stiff string with its partials explains the ringing, for every first mode.

Partials f_n = n f1 sqrt((1 + B n^2) / (1 + B)), each dying as exp(-pi f_n n^g t / Q). For a first mode, a stiffness B
and a Q the share of the energy that partials 1..N explain follows from inner products with damped sinusoids; those
come from a bank of FFTs of the ringing, one per rate of decay. Energy is weighted by exp(-a t) with a proportional to
f1, so the Gram matrices depend on B, Q and a/f1 only: they are closed forms, factored once, a few megabytes.
Source: fletcher1998 for the partials; least squares for the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
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
_FFT: Final = 16384
_STEP: Final = 0.15         # spacing of the rates of decay, as a log: between them is drawn straight
_DECAYS: Final = np.exp(np.arange(np.log(0.5), np.log(1600.0), _STEP))
_TOP: Final = 0.45 * SLOW


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
    """The spectra of one ringing at each rate of decay."""

    spectra: Complexes      # [decay, frequency]
    power: Floats           # [frequency]: energy below each frequency under the weight
    seconds: float          # the length that sets the weight, one of `LENGTHS`
    energy: float           # all of it under the weight


def bank(ring: Floats) -> Bank:
    """Spectra of a ringing, ready for any damped partial."""
    t = np.arange(ring.size) / SLOW
    damped = (ring * np.exp(-_DECAYS[:, None] * t)).astype(np.float32)
    damped[:, 0] *= 0.5
    spectra = fft.rfft(damped, _FFT, axis=1) / SLOW
    seconds = float(LENGTHS[_rung(ring.size / SLOW)])
    step = float(_step(np.asarray(WEIGHT / seconds / 2)))
    row, up = int(step), step % 1
    power = np.abs(spectra[row]) ** 2 * (1 - up) + np.abs(spectra[row + 1]) ** 2 * up
    total = np.cumsum(power, dtype=np.float64) * (2 * SLOW / _FFT)
    weighted = ring**2 * np.exp(-WEIGHT / seconds * t)
    energy = float(weighted.sum() - 0.5 * weighted[0]) / SLOW
    return Bank(np.asarray(spectra, dtype=np.complex64), total, seconds, energy)


def _step(value: Floats) -> Floats:
    return np.clip((np.log(value) - np.log(_DECAYS[0])) / _STEP, 0, _DECAYS.size - 1.001)


def products(source: Bank, frequency: Floats, decay: Floats) -> Complexes:
    """Inner products of the ringing with exp(-decay t - 2 pi i f t), zero above the top."""
    step, bin_ = _step(decay), np.minimum(frequency, _TOP) * _FFT / SLOW
    return _gather(source.spectra, *_places(step, bin_)) * (frequency < _TOP)


def _places(step: Floats, bin_: Floats) -> tuple[Ints, Floats, Floats]:
    row, column = step.astype(np.int32), bin_.astype(np.int32)
    return row * (_FFT // 2 + 1) + column, (step - row).astype(np.float32), (bin_ - column).astype(np.float32)


def _gather(spectra: Complexes, at: Ints, up: Floats, right: Floats) -> Complexes:
    flat, width = spectra.ravel(), spectra.shape[1]
    here = flat[at] * (1 - right) + flat[at + 1] * right
    next_ = flat[at + width] * (1 - right) + flat[at + width + 1] * right
    return np.asarray(here * (1 - up) + next_ * up)


def below(source: Bank, frequency: Floats) -> Floats:
    """Energy of the ringing below a frequency under the weight exp(-a t), a T = `WEIGHT`."""
    return np.asarray(source.power[(np.minimum(frequency, _TOP) * _FFT / SLOW).astype(int)])


def window_of(first: Floats, seconds: float) -> tuple[Ints, npt.NDArray[np.bool_]]:
    """Which weight each first mode gets, and whether the ringing lasts long enough for it."""
    needed = WEIGHT / (seconds * np.asarray(first))
    rung = np.round((np.log(needed) - np.log(WINDOWS[0])) / 0.25).astype(int)
    return np.clip(rung, 0, WINDOWS.size - 1), rung < WINDOWS.size


@cache
def _grid(rung: int) -> tuple[Ints, Floats, Floats, float, Ints, npt.NDArray[np.bool_]]:
    """Where in a bank the partials of every grid point stand, for a ringing of a rung of length."""
    which, enough = window_of(FIRST, LENGTHS[rung])
    weight = float(WEIGHT / LENGTHS[rung])
    frequency = frequencies()
    n = np.arange(1, PARTIALS + 1)
    decay = np.pi * (frequency * n**FALL)[:, :, None, :] / QUALITY[None, None, :, None] + weight
    bins = np.broadcast_to((np.minimum(frequency, _TOP) * _FFT / SLOW)[:, :, None, :], decay.shape)
    at, up, right = _places(_step(decay), bins)
    return at, up, right, weight, which, enough


CUTS: Final = np.array([70.0, 140.0, 280.0, 560.0, 880.0])


def explained(source: Bank) -> tuple[Floats, Floats, Floats]:
    """Energy that partials 1..N explain over the whole grid, and what there is to explain.

    returns: explained [first, stiff, quality, N]; energy below each of `CUTS`; independent samples below each
    """
    at, up, right, weight, which, enough = _grid(_rung(source.seconds))
    low = _low()
    inner = _gather(source.spectra, at, up, right) * low[:, :, None, :]
    pairs = np.empty((*inner.shape[:-1], 2 * PARTIALS), dtype=np.float32)
    pairs[..., 0::2], pairs[..., 1::2] = inner.real, -inner.imag
    tables = _tables()
    energy = np.empty((*inner.shape[:-1], PARTIALS), dtype=np.float32)
    for window in np.unique(which):
        rows = which == window
        parts = np.matmul(pairs[rows].transpose(1, 2, 0, 3), tables[window].transpose(0, 1, 3, 2))
        np.square(parts, out=parts)
        # what stands above the top was not looked for and explains nothing
        each = (parts[..., 0::2] + parts[..., 1::2]).transpose(2, 0, 1, 3) * low[rows][:, :, None, :]
        energy[rows] = np.cumsum(each, axis=-1)
    energy *= (FIRST * enough)[:, None, None, None].astype(np.float32)
    return energy, below(source, CUTS), 2 * CUTS / weight


@cache
def frequencies() -> Floats:
    """f_n of every first mode and stiffness looked at, [first, stiff, n] [Hz]."""
    return np.asarray(FIRST[:, None, None] * ratios(STIFF)[None])


@cache
def _low() -> npt.NDArray[np.bool_]:
    return np.asarray(frequencies() < _TOP)


@cache
def counted(cut: int) -> Ints:
    """How many partials lie below a cut, [first, stiff]."""
    return np.asarray((frequencies() < CUTS[cut]).sum(axis=-1))
