"""A base rate sharpened by what was found: how often a cause has a part in trouble, by the trade and by own cases.

The rate is a Beta distribution, so that cases are simply added to it. Must not import other modules of `mechanics`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Numbers


class BaseRate(NamedTuple):
    """A rate after the cases: its mean, its standard uncertainty, and how many cases it weighs."""

    mean: Numbers
    uncertainty: Numbers
    weight: Numbers


def sharpened(base_rate: Numbers, weight: Numbers, found: Numbers, troubles: Numbers) -> BaseRate:
    """A base rate after cases of one's own: the conjugate update of a Beta distribution.

    mean = (w r + k)/(w + n), u^2 = mean (1 - mean)/(w + n + 1)

    base_rate: share of troubles in which the cause has a part, before the cases [-], scalar or array
    weight:    how many cases that rate is worth [-], scalar or array
    found:     cases in which the cause was found [-], scalar or array
    troubles:  cases cleared up, the cause found or not [-], scalar or array
    returns:   mean, standard uncertainty and weight after the cases [-], each in the shape of the broadcast inputs

    The cases count alike and come from drives alike. Handed on, mean and weight are the rate before further cases.
    Errors: `OutOfRange` for a rate outside 0 to 1, a weight of nought or less, more found than cleared up.
    Source: gelman2013

    >>> after = sharpened(0.02, weight=20.0, found=2, troubles=3)
    >>> round(float(after.mean), 3), round(float(after.uncertainty), 3)
    (0.104, 0.062)
    """
    r, w, k, n = (np.asarray(each, dtype=float) for each in (base_rate, weight, found, troubles))
    if not (np.all((r >= 0.0) & (r <= 1.0)) and np.all(w > 0.0) and np.all((k >= 0.0) & (k <= n))):
        raise OutOfRange("a base rate lies between 0 and 1, weighs more than nought, and no more cases are found than "
                         "were cleared up")
    mean = (w * r + k) / (w + n)
    return BaseRate(mean[()], np.sqrt(mean * (1.0 - mean) / (w + n + 1.0))[()], (w + n + 0.0 * mean)[()])
