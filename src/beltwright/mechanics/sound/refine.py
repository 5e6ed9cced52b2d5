"""From a candidate on the grid to a frequency with an uncertainty: the string fitted to all plucks at once, closely.

The same damped stiff string as in `comb`, now between the grid points: frequency, stiffness and Q move together up the
evidence, by quadratics fitted to it; its curvature, the scatter between plucks and a floor make the uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from beltwright.mechanics.sound import comb
from beltwright.mechanics.sound.clean import Floats

_CUT: Final = 600.0             # Hz above which partials are left out
_SLACK: Final = 0.02
_HOLD: Final = 0.06             # ridge, as a share of each partial's own energy: dense combs must not look perfect
_MISFIT: Final = 2.8            # the model is not exact: the curvature is believed this much less
_FLOOR: Final = 0.0020          # of the frequency: glide, ends, coding
_FREE: Final = 4                # log frequency, root of B, log Q, fall of Q with the partial
_PAIRS: Final = tuple((i, j) for i in range(_FREE) for j in range(i, _FREE))
# the middle, both ways along each axis, both ways along each diagonal: enough for a quadratic, with some to spare
_DESIGN: Final = np.array([np.zeros(_FREE), *(s * np.eye(_FREE)[i] for i in range(_FREE) for s in (-1, 1)),
                           *(s * (np.eye(_FREE)[i] + np.eye(_FREE)[j]) for i, j in _PAIRS if i != j for s in (-1, 1))])
_QUADRATIC: Final = np.linalg.pinv(np.stack(
    [np.ones(len(_DESIGN)), *_DESIGN.T, *(_DESIGN[:, i] * _DESIGN[:, j] for i, j in _PAIRS)], axis=1))
_LEAST: Final = np.array([0.0, 0.0, np.log(6.0), 0.0])
_MOST: Final = np.array([6.0, 0.24, np.log(600.0), 0.6])


@dataclass(frozen=True)
class Fitted:
    """The string that fits best."""

    frequency: float
    spread: float           # standard uncertainty of the frequency
    stiffness: float
    quality: float
    scatter: float          # robust scatter of the single plucks, as a share of the frequency; 0 for one pluck
    evidence: float = 0.0   # nats; comparable between fits of one clip
    share: float = 0.0      # of the energy explained
    fall: float = comb.FALL
    shares: tuple[float, ...] = ()  # of the energy of each pluck explained


def refine(banks: list[comb.Bank], first: float, stiffness: float, quality: float) -> Fitted:
    """The first mode [Hz] near `first` [Hz] that fits all plucks best, from a start in stiffness [-] and Q [-]."""
    at = np.array([np.log(first), np.sqrt(stiffness), np.log(quality), comb.FALL])
    step = np.array([0.006, 0.02, 0.3, 0.12])
    for _ in range(5):
        value, _ = _values(banks, at, step)
        at, far = _climb(value, at, step)
        step = step * (0.8 if far else 0.5)
    step = np.array([0.003, 0.012, 0.2, 0.1])
    value, each = _values(banks, at, step)
    bend, _ = _quadratic(value)
    spread = _MISFIT / float(np.sqrt(_curvature(-bend / np.outer(step, step))))
    scatter, error = _between(each, step[0])
    total = float(np.sqrt(min(spread, 0.03) ** 2 + error**2 + _FLOOR**2))
    frequency = float(np.exp(at[0]))
    scale = np.array([_CUT * source.seconds / comb.WEIGHT for source in banks])
    return Fitted(frequency, total * frequency, float(at[1] ** 2), float(np.exp(at[2])), scatter, float(value[0]),
                  float(1 - np.exp(-value[0] / scale.sum())), float(at[3]),
                  tuple((1 - np.exp(-each[:, 0] / scale)).tolist()))


def _curvature(curve: Floats) -> float:
    """Curvature along the frequency once all else has given way as far as it likes."""
    # stiffness, Q and its fall are known beforehand to about this much
    rest = curve[1:, 1:] + np.diag([100.0, 1.0, 16.0])
    top, vectors = np.linalg.eigh(0.5 * (rest + rest.T))
    given = vectors.T @ curve[0, 1:]
    left = curve[0, 0] - float(np.sum(given**2 / np.maximum(top, [1.0, 1.0, 1.0])))
    return max(left, 0.1 * float(curve[0, 0]), 1e4)


def _climb(value: Floats, at: Floats, step: Floats) -> tuple[Floats, bool]:
    """One step up: to the top of the quadratic where there is one near, else to the best point tried."""
    bend, slope = _quadratic(value)
    top = np.linalg.eigvalsh(bend)
    best = _DESIGN[int(np.argmax(value))]
    move = best
    if top[-1] < -1e-9:
        peak = -np.linalg.solve(bend, slope)
        move = peak * min(1.0, 2.0 / float(np.abs(peak).max() + 1e-12))
    return np.clip(at + move * step, _LEAST, _MOST), bool(np.abs(move).max() > 0.8)


def _quadratic(value: Floats) -> tuple[Floats, Floats]:
    """Second and first derivatives of a quadratic through the points of the design, in steps."""
    found = _QUADRATIC @ value
    bend = np.zeros((_FREE, _FREE))
    for (i, j), c in zip(_PAIRS, found[1 + _FREE:], strict=True):
        bend[i, j] += c
        bend[j, i] += c
    return bend, np.asarray(found[1:1 + _FREE])


def _values(banks: list[comb.Bank], at: Floats, step: Floats) -> tuple[Floats, Floats]:
    """Evidence at the points of the design around `at`: of all plucks, and of each pluck."""
    points = np.clip(at + _DESIGN * step, _LEAST, _MOST)
    first, quality = np.exp(points[:, 0]), np.exp(points[:, 2])
    partials = int(np.clip(_CUT / np.exp(at[0]), 3, comb.PARTIALS))
    ratio = comb.ratios(points[:, 1] ** 2, partials)
    n = np.arange(1, partials + 1)
    decay = np.pi * ratio * n ** points[:, 3:] / quality[:, None]
    frequency = ratio * first[:, None]
    each = np.zeros((len(banks), len(points)))
    for seconds in {source.seconds for source in banks}:
        # plucks that ring equally long share their Gram matrices
        which = [k for k, source in enumerate(banks) if source.seconds == seconds]
        weight = comb.WEIGHT / seconds
        inner = np.stack([comb.products(banks[k], frequency, decay * first[:, None] + weight) for k in which], axis=-1)
        pairs = np.empty((len(points), 2 * partials, len(which)))
        pairs[:, 0::2], pairs[:, 1::2] = inner.real, -inner.imag
        grams = comb.gram(ratio, decay, weight / first)
        held = grams + _HOLD * np.einsum("pii->pi", grams)[:, :, None] * np.eye(2 * partials)
        level = np.linalg.solve(held, pairs)
        # what these levels explain: never what a nearly singular matrix would promise
        energy = (level * (2 * pairs - grams @ level)).sum(axis=1) * first[:, None]
        for place, k in enumerate(which):
            share = np.clip(energy[:, place] / (banks[k].energy * (1 + _SLACK) + 1e-30), 0, 0.9999)
            each[k] = -_CUT / weight * np.log1p(-share)
    return each.sum(axis=0), each


def _between(each: Floats, step: float) -> tuple[float, float]:
    """Scatter between plucks of the frequency alone, and what it leaves on their mean, as shares."""
    if len(each) < 2:
        return 0.0, 0.002
    a, b, c = each[:, 1], each[:, 0], each[:, 2]
    bend = a - 2 * b + c
    fine = bend < -1e-6
    off = np.clip(np.where(fine, 0.5 * (a - c) / np.where(fine, bend, -1.0), 0.0), -3, 3)[fine] * step
    if off.size < 2:
        return 0.0, 0.002
    scatter = 1.4826 * float(np.median(np.abs(off - np.median(off))))
    return scatter, scatter / float(np.sqrt(off.size))
