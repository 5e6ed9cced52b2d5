"""How belts lose tension in running after they were fitted or set, and when they will have to be set again.

Rubber and cord under a held stretch let go in proportion to the logarithm of time: T = T1 - k ln(t/t1). The clock t
starts one settling time t1 before the reading as left, so that this reading (running hours zero) counts: with running
hours h since the belts were set, t/t1 = 1 + h/t1. A drive's own readings since then fix T1 and k; the spread of that
line carries into the date. NumPy only: it runs for every drive of a plant at once, readings along the last axis, a
reading that is not there given an infinite uncertainty. Must not import other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from typing import Final, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.units import MINUTE

# common practice: new belts run 15 to 20 minutes and are set again
SETTLE: Final = 20 * MINUTE
# two fix a line, the third lets it be doubted
READINGS_NEEDED: Final = 3
# 95 in 100, normal errors
BAND: Final = 1.960

Array: TypeAlias = "npt.NDArray[np.float64]"


class Line(NamedTuple):
    """A drive's log-time law, T = level - rate (x - middle) with x = ln(1 + hours/settle), and how well it is known.

    At `middle`, the weighted mean of x, level and rate are independent. scatter: 1 where the readings scatter as their
    uncertainties let expect; above 1 the variances have been widened by its square.
    """

    settle: Numbers
    middle: Numbers
    level: Numbers
    rate: Numbers
    level_variance: Numbers
    rate_variance: Numbers
    scatter: Numbers
    readings: Numbers


class Foretold(NamedTuple):
    """A tension the line gives, and its standard uncertainty."""

    tension: Numbers
    uncertainty: Numbers


class Crossing(NamedTuple):
    """Running time since the belts were set at which tension reaches the limit; infinite: never within the horizon."""

    not_before: Numbers
    expected: Numbers
    not_after: Numbers


def enough(hours: npt.ArrayLike, uncertainty: npt.ArrayLike) -> Mask:
    """Whether there are readings enough to fit the law: three, not all at the same running hours.

    n >= 3, hours differ

    hours:       running time since the belts were set, readings along the last axis [s], array
    uncertainty: standard uncertainty of each tension, infinite for a reading that is not there [N], array
    returns:     true where `fit` has an answer [-], shape without the last axis

    Source: practice

    >>> from beltwright.units import DAY
    >>> bool(enough([0.0, DAY], [5.0, 5.0]))
    False
    """
    t, u = np.broadcast_arrays(np.atleast_1d(np.asarray(hours, dtype=float)), np.asarray(uncertainty, dtype=float))
    there = np.isfinite(u)
    if t.shape[-1] == 0:
        return np.zeros(t.shape[:-1], dtype=bool)[()]
    first, last = np.where(there, t, np.inf).min(axis=-1), np.where(there, t, -np.inf).max(axis=-1)
    # hours closer together than a minute tell no slope apart
    return (there.sum(axis=-1) >= READINGS_NEEDED) & (last > first + MINUTE)


def fit(hours: npt.ArrayLike, tension: npt.ArrayLike, uncertainty: npt.ArrayLike, settle: float = SETTLE) -> Line:
    """The log-time law of a drive from its own readings since its belts were fitted or last set.

    T = T1 - k ln(1 + h/t1), weighted least squares, weights 1/u^2

    hours:       running time since the belts were set, zero for as left; readings along the last axis [s], array
    tension:     static tension read [N], array
    uncertainty: its standard uncertainty, infinite for a reading that is not there [N], array
    settle:      running time the belts were given to seat before they were set [s], scalar
    returns:     the line with its variances [SI], each number in the shape without the last axis

    Readings of one stretch only, since the last setting; on a set, the mean strand. Give each reading the uncertainty
    that is its own: what all share (span, mass, gauge) belongs to the limit. Wear of belt and groove is not in the
    law. Scatter beyond the stated uncertainties widens the variances (Birge).
    Errors: `NotKnown` with too few readings (ask `enough` first); `OutOfRange` for hours below zero, no uncertainty.
    Source: gent2012

    >>> from beltwright.units import DAY
    >>> law = fit([0.0, DAY, 10 * DAY], [300.0, 261.0, 240.0], 5.0)
    >>> round(float(law.rate), 2)
    9.11
    """
    above_zero("time", settle=settle)
    t, T, u = np.broadcast_arrays(*(np.atleast_1d(np.asarray(each, dtype=float)) for each in (
        hours, tension, uncertainty)))
    at_least_zero("time", hours=t)
    if not np.all(u > 0.0):
        raise OutOfRange("uncertainty of a reading of tension: a value above zero is needed")
    if not np.all(enough(t, u)):
        raise NotKnown(f"too few readings since the belts were set: {READINGS_NEEDED} at different running hours "
                       f"are needed before a date can be foretold")
    weight = u**-2.0
    T = np.where(weight > 0.0, T, 0.0)   # a reading that is not there may stand as any number, or as none
    x = np.log1p(t / settle)
    total = weight.sum(axis=-1)
    middle, level = (weight * x).sum(axis=-1) / total, (weight * T).sum(axis=-1) / total
    along, off = x - middle[..., None], T - level[..., None]
    stretch = (weight * along**2).sum(axis=-1)
    rate = -(weight * along * off).sum(axis=-1) / stretch
    readings = np.isfinite(u).sum(axis=-1)
    left = (weight * (off + rate[..., None] * along) ** 2).sum(axis=-1)
    scatter = np.sqrt(left / (readings - 2))
    widened = np.maximum(scatter, 1.0) ** 2
    return Line(settle, middle, level, rate, widened / total, widened / stretch, scatter, readings)


def tension_at(line: Line, hours: Numbers) -> Foretold:
    """The tension the line gives at some running time, between or beyond the readings.

    T = level - rate (x - middle), u^2 = var(level) + (x - middle)^2 var(rate)

    line:    fitted log-time law [SI]
    hours:   running time since the belts were set [s], scalar or array
    returns: tension and its standard uncertainty [N], shape of the broadcast inputs

    Errors: `OutOfRange` for hours below zero.
    Source: gum, eq. 10

    >>> from beltwright.units import DAY
    >>> law = fit([0.0, DAY, 10 * DAY], [300.0, 261.0, 240.0], 5.0)
    >>> [round(float(each), 1) for each in tension_at(law, 40 * DAY)]
    [227.4, 5.4]
    """
    at_least_zero("time", hours=hours)
    beyond = np.log1p(np.asarray(hours) / line.settle) - line.middle
    return Foretold(line.level - line.rate * beyond, np.sqrt(line.level_variance + beyond**2 * line.rate_variance))


def time_to_limit(line: Line, limit: Numbers, hours: Numbers, horizon: Numbers, *, limit_uncertainty: Numbers = 0.0,
                  coverage: float = BAND) -> Crossing:
    """When belts will have come down to the limit, with a band: not before, expected, not after.

    the x with (level - limit - rate xi)^2 <= z^2 (u_L^2 + var(level) + xi^2 var(rate)), xi = x - middle

    line:              fitted log-time law [SI]
    limit:             tension at which the belts have to be set again [N], scalar or array
    hours:             running time now, since the belts were set [s], scalar or array
    horizon:           running time beyond which nothing is foretold [s], scalar or array
    limit_uncertainty: standard uncertainty that the limit and all readings share [N], scalar or array
    coverage:          half-width of the band in standard uncertainties [-], scalar
    returns:           three running times since the belts were set [s], infinite for never within the horizon, and
                       the time now where it may have come, or has come, already

    `not_before` is where the lower edge of the line's band comes down to the limit, `not_after` where the upper does:
    Fieller's interval, cut at now and at the horizon. Each end fails one time in forty. The logarithm forgives no
    great reach: a horizon beyond some ten times the last reading's hours is a guess, and wear comes on top.
    Errors: `OutOfRange` for a limit of zero or less, hours below zero or a horizon that lies behind.
    Source: fieller1954

    >>> from beltwright.units import DAY, YEAR
    >>> law = fit([0.0, DAY, 10 * DAY], [300.0, 261.0, 240.0], 5.0)
    >>> [round(float(each) / DAY) for each in time_to_limit(law, 225.0, hours=10 * DAY, horizon=YEAR)]
    [19, 52, 241]
    """
    above_zero("force", limit=limit)
    at_least_zero("time", hours=hours)
    at_least_zero("force", limit_uncertainty=limit_uncertainty)
    if not np.all(np.asarray(horizon) >= np.asarray(hours)):
        raise OutOfRange("the horizon lies before the running hours now: foretelling looks ahead only")
    now = np.log1p(np.asarray(hours) / line.settle) - line.middle
    far = np.log1p(np.asarray(horizon) / line.settle) - line.middle
    above = np.asarray(line.level) - limit
    level_part = coverage**2 * (line.level_variance + np.square(limit_uncertainty))
    rate_part = coverage**2 * np.asarray(line.rate_variance)
    edge = np.sqrt(level_part + now**2 * rate_part)
    lower_root, upper_root = _edges_meet(above, np.asarray(line.rate), level_part, rate_part, now)
    ahead = above - line.rate * now
    with np.errstate(divide="ignore", invalid="ignore"):   # a rate of zero or less meets the limit nowhere ahead
        mean_root = np.where(np.asarray(line.rate) > 0.0, above / line.rate, np.inf)
    return Crossing(*(_running_time(np.where(come, now, root), line, far, hours) for come, root in (
        (ahead - edge <= 0.0, lower_root), (ahead <= 0.0, mean_root), (ahead + edge <= 0.0, upper_root))))


def _edges_meet(above: Array, rate: Array, level_part: Array, rate_part: Array, now: Array) -> tuple[Array, Array]:
    """Where the lower and the upper edge of the band first meet the limit after now; infinite where they do not.

    Both edges satisfy (above - rate xi)^2 = level_part + rate_part xi^2: A xi^2 - 2 B xi + C = 0. A root belongs to
    the lower edge where the line itself is above the limit, to the upper where it is below.
    """
    A, B, C = rate**2 - rate_part, rate * above, above**2 - level_part
    inside = B**2 - A * C
    # the sum that does not cancel, then the other root from the product of both
    q = B + np.where(B < 0.0, -1.0, 1.0) * np.sqrt(np.maximum(inside, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        roots = np.stack(np.broadcast_arrays(q / A, C / q))
        roots = np.where(np.isfinite(roots) & (inside >= 0.0) & (roots > now), roots, np.inf)
        over = above - rate * roots
    met = np.isfinite(roots)
    return (np.where(met & (over > 0.0), roots, np.inf).min(axis=0),
            np.where(met & (over <= 0.0), roots, np.inf).min(axis=0))


def _running_time(beyond: Array, line: Line, far: Array, hours: Numbers) -> Numbers:
    x = np.minimum(beyond, far) + line.middle
    # back through the logarithm now stays now only to rounding, so it is held there
    return np.where(beyond <= far, np.maximum(np.expm1(x) * line.settle, hours), np.inf)[()]
