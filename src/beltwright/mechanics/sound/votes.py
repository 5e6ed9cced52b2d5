"""The three votes taken together: comb, periodicity and spectrum, and the first modes worth judging.

The comb is weighed over several ranges of frequency, since a low string is best seen low. Periodicity (the ringing
against itself one period later, in which damping cancels) helps where partials are many and stiffness is none; the
damped spectrum where one partial is nearly all there is. None decides: each candidate goes on with what all say.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from scipy import fft

from beltwright.mechanics.sound import comb
from beltwright.mechanics.sound.clean import SLOW, Clean, Floats
from beltwright.mechanics.sound.comb import CUTS, FIRST, PARTIALS, QUALITY, STIFF

_SLACK: Final = 0.2         # share of the energy a true string may leave unexplained: the model is never exact
_COST: Final = 4.0          # nats each partial has to earn
_TEMPER: Final = 0.15       # how far the evidence is believed
_FALLIBLE: Final = 25.0     # nats one pluck can hold against a candidate: it may be a knock
_SPANS: Final = (0.06, 0.12, 0.25, 0.5, 0.9)
_STEP: Final = 0.01         # spacing of FIRST, as a log
MOST: Final = 16


@dataclass(frozen=True)
class Votes:
    """What the plucks say about every first mode of `comb.FIRST`."""

    maps: Floats            # [cut, first]: evidence of the comb, best at 0
    total: Floats           # [first]: all ranges together, best at 0
    strength: float         # nats of the best above no string at all
    stiff: Floats           # [first]: index of the best stiffness
    quality: Floats         # [first]: index of the best Q
    period: Floats          # [first]: correlation one period later, -1 to 1
    line: Floats            # [first]: log of the energy of the first partial over the floor
    single: Floats          # [pluck, first]: evidence of each pluck alone, best at 0
    shares: Floats          # [pluck, cut, first]: share explained at the best stiffness and Q
    partials: Floats        # [pluck, first, N]: energy each further partial explains, over the pluck's energy
    loud: Floats            # [pluck]: log of the energy over the floor
    banks: list[comb.Bank]


def take(clip: Clean, prior: Floats | None = None) -> Votes:
    """All votes on a clean clip; `prior` [first, stiff] is what the belt's section says about stiffness, in nats."""
    banks = [comb.bank(pluck.ring) for pluck in clip.plucks]
    heard = [comb.explained(source) for source in banks]
    maps: list[Floats] = []
    total = np.zeros((STIFF.size, QUALITY.size, FIRST.size), dtype=np.float32)
    alone = [total.copy() for _ in heard]
    for cut in range(CUTS.size):
        here = np.zeros_like(total)
        for (energy, there, samples), mine in zip(heard, alone, strict=True):
            one = _evidence(energy, float(there[cut]), float(samples[cut]), cut)
            np.maximum(one, one.max() - _FALLIBLE, out=one)
            here += one
            mine += one
        if prior is not None:
            here += prior.T[:, None].astype(np.float32)
        maps.append(_peak(here))
        if cut > 0:
            total += np.maximum(here, here.max() - _FALLIBLE)
    flat = total.reshape(-1, FIRST.size).argmax(axis=0)
    stiff, quality = flat // QUALITY.size, flat % QUALITY.size
    marginal = _over(total)
    shares, partials, loud = _explained(clip, heard, stiff, quality)
    single = np.array([_peak(one) for one in alone])
    line = np.log(np.mean([e[0, 2, :, 0] / (t[-1] / np.exp(g)) for (e, t, _), g in zip(heard, loud, strict=True)],
                          axis=0) + 1e-6)
    return Votes(np.array(maps), marginal - marginal.max(), float(marginal.max()), stiff, quality,
                 _periodicity(clip, loud), line, single, shares, partials, loud, banks)


def _evidence(energy: Floats, there: float, samples: float, cut: int) -> Floats:
    """Nats in favour of a string over none, [stiff, quality, first], from the energy below one cut."""
    index, some, cost = _places(cut)
    share = energy.reshape(-1).take(index, mode="clip")
    share *= some / np.float32(there * (1 + _SLACK) + 1e-30)
    np.minimum(share, np.float32(0.999), out=share)
    np.log1p(np.negative(share, out=share), out=share)
    share *= np.float32(-0.5 * samples * _TEMPER)
    share -= cost
    return share


@cache
def _places(cut: int) -> tuple[comb.Ints, Floats, Floats]:
    """Where the energy of all partials below a cut stands, whether there are any, and what they have to earn."""
    count = comb.counted(float(CUTS[cut]))[:, None]
    rows = np.arange(STIFF.size * QUALITY.size * FIRST.size).reshape(STIFF.size, QUALITY.size, FIRST.size)
    return (rows * PARTIALS + np.maximum(count - 1, 0), (count > 0).astype(np.float32),
            (_TEMPER * _COST * count).astype(np.float32))


def _explained(clip: Clean, heard: list[tuple[Floats, Floats, Floats]], stiff: comb.Ints,
               quality: comb.Ints) -> tuple[Floats, Floats, Floats]:
    """Shares and partials of each pluck at the best stiffness and Q of each first mode, and how loud each is."""
    rows = np.arange(FIRST.size)
    shares = np.empty((len(heard), CUTS.size, FIRST.size))
    partials = np.empty((len(heard), FIRST.size, PARTIALS))
    loud = np.empty(len(heard))
    counts = [comb.counted(float(cut))[stiff, rows] for cut in CUTS]
    known = np.arange(PARTIALS) < comb.counted()[stiff, rows][:, None]
    for k, (energy, there, samples) in enumerate(heard):
        best = energy[stiff, quality, rows]
        partials[k] = np.diff(best, prepend=0, axis=1) * known / (there[-1] + 1e-30)
        loud[k] = np.log(there[-1] / (clip.floor * samples[-1] / (2 * CUTS[-1]) + 1e-30) + 1e-9)
        for cut, count in enumerate(counts):
            x = best[rows, np.maximum(count - 1, 0)] * (count > 0)
            shares[k, cut] = np.minimum(x / (there[cut] + 1e-30), 1.0)
    return shares, partials, loud


def _over(evidence: Floats) -> Floats:
    """Log of the sum over all stiffness and Q of each first mode."""
    flat = evidence.reshape(-1, FIRST.size)
    top = flat.max(axis=0)
    return np.asarray(top + np.log(np.exp(flat - top).sum(axis=0)), dtype=np.float64)


def _peak(evidence: Floats) -> Floats:
    """Evidence of each first mode, over all stiffness and Q, with the best at 0."""
    flat = _over(evidence)
    return np.asarray(flat - flat.max())


def _periodicity(clip: Clean, loud: Floats) -> Floats:
    """Correlation of the ringing with itself one period later, over all plucks, the louder ones counting for more."""
    lag = SLOW / FIRST
    total, weights = np.zeros(FIRST.size), np.zeros(FIRST.size)
    for pluck, weight in zip(clip.plucks, np.maximum(loud, 0.1), strict=True):
        ring = pluck.ring
        power = np.concatenate([[0.0], np.cumsum(ring**2)])
        curves = []
        for seconds in _SPANS:
            width = min(int(seconds * SLOW), ring.size)
            size = fft.next_fast_len(ring.size + width)
            head = fft.rfft(ring[:width], size)
            cross = fft.irfft(np.conj(head) * fft.rfft(ring, size), size)[: ring.size]
            k = np.arange(ring.size)
            later = power[np.minimum(k + width, ring.size)] - power[k]
            short = np.minimum(k + width, ring.size) - k < width / 2
            curves.append(np.where(short, 0.0, cross / np.sqrt(power[width] * later + 1e-30)))
        wanted = np.minimum(np.searchsorted(_SPANS, 2.0 / FIRST), len(_SPANS) - 1)
        inside = lag < ring.size - 4
        total += weight * _cubic(np.array(curves), wanted, lag) * inside
        weights += weight * inside
    return np.asarray(total / np.maximum(weights, 1e-9))


def _cubic(curves: Floats, which: comb.Ints, x: Floats) -> Floats:
    """Curves between their samples; 0 where there are none on both sides."""
    i = x.astype(int)
    near = np.clip(i, 1, curves.shape[1] - 3)
    a, b, c, d = (curves[which, near + k] for k in (-1, 0, 1, 2))
    u = x - i
    between = b + 0.5 * u * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)))
    return np.asarray(np.where(near == i, between, 0.0))


def candidates(votes: Votes) -> list[int]:
    """Places in `comb.FIRST` worth judging: the peaks of each vote, and their octaves."""
    ranked: list[tuple[float, int]] = []
    for curve, most in ((votes.total, 7), *((one, 3) for one in votes.maps[1:]), (votes.period, 4), (votes.line, 2)):
        peaks = np.flatnonzero((curve[1:-1] >= curve[:-2]) & (curve[1:-1] > curve[2:])) + 1
        best = sorted(peaks, key=lambda k, c=curve: -c[k])[:most]  # type: ignore[misc]
        ranked += [(place, int(k)) for place, k in enumerate(best)]
    top = int(np.argmax(votes.total))
    for factor in (0.5, 2.0, 1 / 3, 3.0):
        k = top + round(np.log(factor) / _STEP)
        if 3 <= k < FIRST.size - 3:
            ranked.append((3, k - 2 + int(np.argmax(votes.total[k - 2:k + 3]))))
    kept: list[int] = []
    for _, k in sorted(ranked, key=lambda r: r[0]):
        if all(abs(k - other) > 2 for other in kept) and len(kept) < MOST:
            kept.append(k)
    return kept or [top]


def features(votes: Votes, clip: Clean, found: list[int]) -> tuple[Floats, Floats]:
    """What the judge looks at: one row per candidate, and one row for the clip as a whole."""
    weight = np.maximum(votes.loud, 0.1)
    weight = weight / weight.sum()
    rise = np.log(np.array([pluck.rise for pluck in clip.plucks]))
    length = np.log(np.array([pluck.ring.size / SLOW for pluck in clip.plucks]))
    whole = np.array([votes.strength / 50, np.log(max(votes.strength, 1.0)) / 4, votes.loud.max() / 4,
                      float(weight @ votes.loud) / 4, votes.loud.min() / 4, len(clip.plucks) / 4, float(weight @ rise),
                      rise.max(), float(weight @ length), votes.period.max(), votes.line.max() / 4,
                      _crowded(votes.total, 3.0), _crowded(votes.total, 8.0),
                      *np.log(0.1 - np.sort(_tops(votes.total))[-2:-5:-1])])
    rows = []
    for k in found:
        first = np.log(FIRST[k] / 30)
        own = votes.total[k]
        near = [_around(votes.total, k, f) - own for f in (2.0, 0.5, 3.0, 1 / 3, 1.5, 2 / 3, 4.0, 0.25)]
        period = [_around(votes.period, k, f) for f in (1.0, 2.0, 0.5, 3.0, 1.5, 2 / 3)]
        shares = weight @ votes.shares[:, :, k]
        parts = np.sqrt(np.maximum(weight @ votes.partials[:, k], 0))
        single = np.array([_around(one, k, 1.0) for one in votes.single])
        rows.append([own / 10, *np.clip(votes.maps[:, k] / 10, -3, 0), *np.clip(np.array(near) / 10, -3, 3), *period,
                     votes.period[k] - votes.period.max(), *shares, *parts[:8],
                     parts[0:8:2].sum() / (parts[:8].sum() + 1e-9), parts[2:9:3].sum() / (parts[:9].sum() + 1e-9),
                     (votes.line[k] - votes.line.max()) / 4, votes.line[k] / 4,
                     np.clip(single, -30, 0).mean() / 10, float((single > -3).mean()),
                     np.clip(single.min() / 10, -3, 0),
                     first, first**2, STIFF[int(votes.stiff[k])] * 25, float(votes.stiff[k] == 0),
                     np.log(QUALITY[int(votes.quality[k])] / 20)])
    return np.array(rows), whole


def _around(curve: Floats, k: int, factor: float) -> float:
    """The best of a curve within 2 percent of a multiple of a candidate, its least where that is outside."""
    at = k + round(np.log(factor) / _STEP)
    if at < 0 or at >= curve.size:
        return float(np.min(curve))
    return float(curve[max(0, at - 2):at + 3].max())


def _tops(curve: Floats) -> Floats:
    tops = curve[np.flatnonzero((curve[1:-1] >= curve[:-2]) & (curve[1:-1] > curve[2:])) + 1]
    return np.concatenate([tops, np.full(4, curve.min() - 1e-6)])


def _crowded(curve: Floats, nats: float) -> float:
    return float(np.log((_tops(curve) > -nats).sum() + 0.5))
