"""Whether the belts of a set match: lengths, measured or seen from the bow of the slack side, against a published
limit.

The limit comes in as a number (`standard_lengths.length_limits` looks it up). What a set that does not match does to
the load is `load_share`. Belts lie along the last axis, sets along the axes before it. NumPy and `limits` only; no
record.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero

Array = npt.NDArray[np.float64]

# deepest bow, as a share of the span, at which the shallow parabola is taken: its next term is 3.75 percent there
DEEPEST_BOW: Final = 0.125
# a difference of exactly the limit is within it, whatever the last digit of a double says
_ROUNDING: Final = 1e-12


class Difference(NamedTuple):
    """Longest less shortest belt of a set, and its standard uncertainty [m]."""

    difference: Numbers
    uncertainty: Numbers


def length_in_bow(bow: Numbers, span: Numbers) -> Numbers:
    """Belt length that a bowed strand has more than a straight one.

    8 s²/(3 t)

    bow:     of the slack side, from straight to the deepest point [m], scalar or array
    span:    free length between the two points of tangency [m], scalar or array
    returns: length [m], shape of the broadcast inputs

    A shallow parabola: all slack brought to one side, tight side straight. The difference between two belts of a set is
    their difference in length, as long as neither is pulled straight.
    Errors: `OutOfRange` for a negative bow or one deeper than an eighth of the span (ask `shallow` first).
    Source: statics

    >>> round(float(length_in_bow(0.03, 0.8)), 6)
    0.003
    """
    at_least_zero("length", bow=bow)
    above_zero("length", span=span)
    if not np.all(shallow(bow, span)):
        raise OutOfRange("A bow deeper than an eighth of the span is no shallow bow: take up slack first, or take the "
                         "belts off and measure them.")
    return 8.0 * np.square(bow) / (np.multiply(3.0, span))


def shallow(bow: Numbers, span: Numbers) -> Mask:
    """Whether a bow is shallow enough to tell a length.

    0 ≤ s ≤ t/8

    bow:     of the slack side [m], scalar or array
    span:    free length between the two points of tangency [m], scalar or array
    returns: true where `length_in_bow` has an answer [-], shape of the broadcast inputs

    Source: statics

    >>> bool(shallow(0.2, 0.8))
    False
    """
    return np.greater_equal(bow, 0.0) & np.less_equal(bow, np.multiply(DEEPEST_BOW, span))


def difference(length: npt.ArrayLike, length_uncertainty: npt.ArrayLike) -> Difference:
    """How far the belts of a set differ in length, to hold against the published matching limit.

    L_max - L_min, u² = u_max² + u_min²

    length:             length of each belt, measured or from its bow, belts along the last axis [m], array
    length_uncertainty: standard uncertainty of each, without what all share [m], scalar or array
    returns:            difference and its standard uncertainty [m], shape without the last axis

    Errors: `NotKnown` for fewer than two belts; `OutOfRange` for a negative uncertainty.
    Source: gum, 5.1

    >>> [round(float(each), 5) for each in difference([2.500, 2.504, 2.502], 0.0005)]
    [0.004, 0.00071]
    """
    L, u = np.broadcast_arrays(_belts(length), np.asarray(length_uncertainty, dtype=np.float64))
    at_least_zero("length", length_uncertainty=u)
    ends = [np.take_along_axis(u, at(L, axis=-1, keepdims=True), axis=-1)[..., 0] for at in (np.argmax, np.argmin)]
    return Difference(np.ptp(L, axis=-1), np.hypot(*ends))


def matched(length: npt.ArrayLike, matching_limit: npt.ArrayLike) -> Mask:
    """Whether the belts of a set match.

    L_max - L_min ≤ limit

    length:         length of each belt, belts along the last axis [m], array
    matching_limit: published difference allowed within a set [m], scalar or one per set
    returns:        true where the set is matched [-], shape without the last axis

    Errors: `NotKnown` for fewer than two belts; `OutOfRange` for a negative limit.
    Source: ip20-1988

    >>> bool(matched([2.500, 2.504, 2.502], 0.004)), bool(matched([2.500, 2.505, 2.502], 0.004))
    (True, False)
    """
    L, allowed = _belts(length), np.asarray(matching_limit, dtype=np.float64)
    at_least_zero("length", matching_limit=allowed)
    return np.ptp(L, axis=-1) <= allowed + _ROUNDING * L.max(axis=-1)


def fellows(length: npt.ArrayLike, matching_limit: npt.ArrayLike) -> npt.NDArray[np.bool_]:
    """The largest group of belts that match each other; the others are the odd ones.

    the most belts with L_max - L_min ≤ limit; of groups as large, the closest, then the shortest

    length:         length of each belt, belts along the last axis [m], array
    matching_limit: published difference allowed within a set [m], scalar or one per set
    returns:        true for the belts of that group [-], shape of `length`

    The odd belt does not save the set: a set is replaced whole. It says what to look for.
    Errors: `NotKnown` for fewer than two belts; `OutOfRange` for a negative limit.
    Source: ip20-1988

    >>> [bool(each) for each in fellows([2.500, 2.512, 2.503, 2.501], 0.004)]
    [True, False, True, True]
    """
    L = _belts(length)
    allowed = np.asarray(matching_limit, dtype=np.float64)[..., None, None]
    at_least_zero("length", matching_limit=allowed)
    # group k: every belt from belt k's length up to the limit beyond it
    beyond = L[..., None, :] - L[..., :, None]
    groups = (beyond >= 0.0) & (beyond <= allowed + _ROUNDING * L.max(axis=-1)[..., None, None])
    count = groups.sum(axis=-1)
    width = np.where(groups, beyond, 0.0).max(axis=-1)
    best = np.lexsort((L, width, -count), axis=-1)[..., :1]
    return np.take_along_axis(groups, best[..., None], axis=-2)[..., 0, :]


def _belts(length: npt.ArrayLike) -> Array:
    L = np.asarray(length, dtype=np.float64)
    if L.ndim == 0 or L.shape[-1] < 2:
        raise NotKnown("One belt alone makes no set: lengths of two belts or more are needed.")
    above_zero("length", length=L)
    return L
