"""Whether the belts of one set pull alike: belts of several makes, lengths or ages, or unequal grooves, do not.

Tensions of one set read with the same gauge, span and mass share most of their errors; those shift all belts together
and say nothing about evenness. So each belt comes with the uncertainty that is its own only (its force or its note).
Must not import other modules of `mechanics` but `agreement` and `limits`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.agreement import chi_square_limit
from beltwright.mechanics.limits import above_zero


class Evenness(NamedTuple):
    """The mean strand, its uncertainty from the belts' own errors, and how far the belts lie apart.

    spread:  slackest to tightest, as a share of the mean
    scatter: 1 where they differ as much as their own errors let expect
    """

    mean: Numbers
    uncertainty: Numbers
    spread: Numbers
    scatter: Numbers


def evenness(tension: npt.ArrayLike, uncertainty: npt.ArrayLike) -> Evenness:
    """How alike the belts of a set pull.

    mean = sum(T)/n, u = sqrt(sum of u^2)/n, spread = (T_max - T_min)/mean, scatter^2 = chi^2/(n - 1)

    tension:     static tension of each belt, belts along the last axis [N], array
    uncertainty: each belt's own standard uncertainty, without what all share [N], scalar or array
    returns:     mean and its uncertainty [N], spread and scatter [-], shape without the last axis

    The plain mean, since all belts together carry the load, well read or not. chi^2 is about the weighted mean.
    Errors: `NotKnown` for fewer than two belts; `OutOfRange` for tensions or uncertainties of zero or less.
    Source: gum, 4.3.1

    >>> even = evenness([230.0, 250.0, 270.0], 10.0)
    >>> round(float(even.mean)), round(float(even.spread), 2), round(float(even.scatter), 2)
    (250, 0.16, 2.0)
    """
    T, u = np.broadcast_arrays(np.atleast_1d(np.asarray(tension, dtype=float)), np.asarray(uncertainty, dtype=float))
    count = T.shape[-1]
    if count < 2:
        raise NotKnown(f"{count} belt(s) read: whether belts pull alike shows from 2 on")
    above_zero("force", tension=T, uncertainty=u)
    mean = T.mean(axis=-1)
    return Evenness(mean, np.sqrt(np.square(u).sum(axis=-1)) / count, np.ptp(T, axis=-1) / mean,
                    np.sqrt(_chi_square(T, u) / (count - 1)))


def uneven(tension: npt.ArrayLike, uncertainty: npt.ArrayLike, chance: float = 0.05) -> Mask:
    """Whether the belts of a set differ by more than their own errors explain.

    chi^2 > the limit that belts pulling alike pass with this chance

    tension:     static tension of each belt, belts along the last axis [N], array
    uncertainty: each belt's own standard uncertainty, without what all share [N], scalar or array
    chance:      chance that belts pulling alike are called uneven [-], scalar between 0 and 1
    returns:     true where they are uneven [-], shape without the last axis

    Says that they differ, not that it matters: that is the spread's to say.
    Errors: as `evenness`.
    Source: birge1932

    >>> bool(uneven([230.0, 250.0, 270.0], 10.0)), bool(uneven([230.0, 250.0, 270.0], 20.0))
    (True, False)
    """
    even = evenness(tension, uncertainty)
    freedom = np.broadcast(np.atleast_1d(np.asarray(tension)), np.asarray(uncertainty)).shape[-1] - 1
    return np.square(even.scatter) * freedom > chi_square_limit(freedom, chance)


def _chi_square(T: npt.NDArray[np.float64], u: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    weight = u**-2.0
    middle = (weight * T).sum(axis=-1) / weight.sum(axis=-1)
    return np.asarray((weight * np.square(T - middle[..., None])).sum(axis=-1))
