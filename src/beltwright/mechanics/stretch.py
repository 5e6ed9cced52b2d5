"""How far to move the motor for a wanted change of tension, and what a drive's own moves teach about its stiffness.

A move x along the line of centres lengthens the belt's path by (dL/dC) x and so adds k x to every strand's tension,
k = (EA/L)(dL/dC). EA is seldom published, and base and shafts give too, so k is learned from the drive: tension as
found, move, tension as left. Until it is known the advice is one small step and a second reading. Moves count away
from the driven shaft as plus, so slackening is the same sum with a minus. Must not import other modules of
`mechanics` but `limits`.
"""

from __future__ import annotations

from typing import Final, NamedTuple, TypeAlias, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.tables import load

# a slope is known when its uncertainty is at most this share of it: the move is then right within half, 19 times of 20
KNOWN_WITHIN: Final = 0.25
Array: TypeAlias = "npt.NDArray[np.float64]"

_ROUNDS: Final = 200
_SETTLED: Final = 1e-13


class Stiffness(NamedTuple):
    """What the axial rigidity of a strand may be: least, middle (geometric) and most."""

    low: Numbers
    middle: Numbers
    high: Numbers


class Step(NamedTuple):
    """A first move, and the least and most it may change the tension by."""

    move: Numbers
    least: Numbers
    most: Numbers


class Learned(NamedTuple):
    """Tension per move as a drive's own moves show it.

    scatter: how far the moves contradict each other, 1 where they scatter as their uncertainties let expect; above 1
             the uncertainty has been widened by it
    """

    slope: Numbers
    uncertainty: Numbers
    scatter: Numbers
    moves: int


class Move(NamedTuple):
    """The best move, its standard uncertainty, and how much of it to make before reading again."""

    move: Numbers
    uncertainty: Numbers
    cautious: Numbers


def tension_per_move(axial_rigidity: Numbers, length: Numbers, growth: Numbers) -> Numbers:
    """How much each strand's tension rises per distance the motor is moved.

    k = (EA / L) (dL/dC)

    axial_rigidity: pull per unit of strain of one strand [N], scalar or array
    length:         belt length round the sheaves [m], scalar or array
    growth:         how much longer the belt's path grows per move, just under 2 [m/m], scalar or array
    returns:        change of static tension per move [N/m], shape of the broadcast inputs

    Sheaves free to turn, so that the whole belt shares the stretch; base and shafts taken as rigid: real slopes are
    lower. Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> round(tension_per_move(80e3, length=2.0, growth=1.96))
    78400
    """
    above_zero("force", axial_rigidity=axial_rigidity)
    above_zero("length", length=length)
    above_zero("number", growth=growth)
    return axial_rigidity / length * growth


def rigidity_from_slope(slope: Numbers, length: Numbers, growth: Numbers) -> Numbers:
    """Axial rigidity of one strand from the tension per move a drive has shown.

    EA = k L / (dL/dC)

    slope:   change of static tension per move [N/m], scalar or array
    length:  belt length round the sheaves [m], scalar or array
    growth:  how much longer the belt's path grows per move [m/m], scalar or array
    returns: pull per unit of strain of one strand, base and shafts included [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> round(rigidity_from_slope(78400.0, length=2.0, growth=1.96))
    80000
    """
    above_zero("stiffness", slope=slope)
    above_zero("length", length=length)
    above_zero("number", growth=growth)
    return slope * length / growth


def usual_rigidity(mass: Numbers) -> Stiffness:
    """What the axial rigidity of a strand may be, from its mass, while the drive's own is not known.

    EA = m c^2, c^2 over a wide range

    mass:    mass per length of one strand [kg/m], scalar or array
    returns: least, middle and most pull per unit of strain [N], shape of `mass`

    Common practice, no source; wide on purpose and fit for sizing a first step only.
    Errors: `OutOfRange` for a mass of zero or less.
    Source: practice

    >>> [round(each, -2) for each in usual_rigidity(0.18)]
    [36000.0, 80500.0, 180000.0]
    """
    above_zero("mass per length", mass=mass)
    low, high, _ = _range()
    return Stiffness(mass * low, mass * (low * high) ** 0.5, mass * high)


def first_step(change: Numbers, mass: Numbers, length: Numbers, growth: Numbers) -> Step:
    """A small move to make first while the drive's stiffness is not known; then read again.

    x = (1/4) dT / k, k from the middle of the usual range

    change:  wanted change of static tension of a strand, minus to slacken [N], scalar or array
    mass:    mass per length of one strand [kg/m], scalar or array
    length:  belt length round the sheaves [m], scalar or array
    growth:  how much longer the belt's path grows per move [m/m], scalar or array
    returns: move [m], and the least and the most it should change the tension by [N], with the sign of `change`

    A quarter: even the stiffest belt of the range then goes little over half the way, tightening or slackening.
    Errors: `OutOfRange` for a mass, length or growth of zero or less.
    Source: practice

    >>> step = first_step(100.0, mass=0.18, length=2.0, growth=1.96)
    >>> round(step.move, 6), round(step.least), round(step.most)
    (0.000317, 11, 56)
    """
    low, middle, high = (tension_per_move(each, length, growth) for each in usual_rigidity(mass))
    move = _range()[2] * change / middle
    return Step(move, low * move, high * move)


def _range() -> tuple[float, float, float]:
    row = load("belt_stretch").rows[0]
    return cast("tuple[float, float, float]",
                (row["low_N_per_kg_m"], row["high_N_per_kg_m"], row["first_share_pct"]))


def learn(tension_before: npt.ArrayLike, move: npt.ArrayLike, tension_after: npt.ArrayLike, *,
          before_uncertainty: npt.ArrayLike, move_uncertainty: npt.ArrayLike,
          after_uncertainty: npt.ArrayLike) -> Learned:
    """Tension per move of a drive from its own moves: as found, moved, as left; errors in tensions and moves alike.

    least sum of (dT - k x)^2 / (u_a^2 + u_b^2 + k^2 u_x^2);  u(k) = 1/sqrt(sum of X^2/w), X the adjusted moves

    tension_before:     static tension as found, moves along the last axis [N], scalar or array
    move:               how far the motor was moved, away from the driven shaft is plus [m], scalar or array
    tension_after:      static tension as left [N], scalar or array
    before_uncertainty: standard uncertainty of the tension before [N], scalar or array
    move_uncertainty:   standard uncertainty of the move [m], scalar or array
    after_uncertainty:  standard uncertainty of the tension after [N], scalar or array
    returns:            slope and its standard uncertainty [N/m], scatter [-] and number of moves [-]

    The line goes through the origin: no move, no change. Tensions of the set's mean strand, belts turned round by hand
    before the second reading. Hand in the uncertainties that are each reading's own; an error that both readings share
    in proportion (span, mass) is taken into the slope and cancels when the next move is judged with the same figures.
    Where moves contradict each other more than they should, the uncertainty grows with them (Birge).
    Errors: `NotKnown` when no move was made, or tension went down when the motor went out; `OutOfRange` for
    uncertainties that are none.
    Source: york2004, the line held to the origin

    >>> learnt = learn([180.0, 240.0], [0.0008, 0.0010], [240.0, 321.0], before_uncertainty=5.0,
    ...                move_uncertainty=2e-5, after_uncertainty=5.0)
    >>> round(float(learnt.slope), -2), round(float(learnt.uncertainty), -2), learnt.moves
    (78700.0, 5700.0, 2)
    """
    before, x, after, u_before, u_x, u_after = (np.atleast_1d(each) for each in np.broadcast_arrays(*(
        np.asarray(each, dtype=float) for each in (
            tension_before, move, tension_after, before_uncertainty, move_uncertainty, after_uncertainty))))
    above_zero("force", before_uncertainty=u_before, after_uncertainty=u_after)
    at_least_zero("length", move_uncertainty=u_x)
    if not np.all(np.any(x != 0.0, axis=-1)):
        raise NotKnown("the motor was not moved: nothing is learned about how far to move it")
    y = after - before
    k, X, w = _through_origin(x, y, u_x**2, u_before**2 + u_after**2)
    if not np.all(k > 0.0):
        raise NotKnown("tension fell when the motor was moved out: check which reading was before, and the move's sign")
    own = np.sum(X * X / w, axis=-1) ** -0.5
    moves = x.shape[-1]
    scatter = np.sqrt(np.sum((y - k[..., None] * x) ** 2 / w, axis=-1) / max(moves - 1, 1))
    return Learned(k, own * np.maximum(scatter, 1.0), scatter, moves)


def _through_origin(x: Array, y: Array, u_x2: Array, u_y2: Array) -> tuple[Array, Array, Array]:
    """Slope of the best line through the origin with errors in both, the adjusted x, and the weights' reciprocals."""
    k = np.sum(x * y / u_y2, axis=-1) / np.sum(x * x / u_y2, axis=-1)
    for _ in range(_ROUNDS):
        last = k
        slope = k[..., None]
        w = u_y2 + slope * slope * u_x2
        X = (x * u_y2 + slope * y * u_x2) / w   # York's adjusted points, without an intercept
        with np.errstate(divide="ignore", invalid="ignore"):   # readings that contradict each other end as no number
            k = np.sum(X * y / w, axis=-1) / np.sum(X * x / w, axis=-1)
        if np.all(np.abs(k - last) <= _SETTLED * np.abs(k)):
            return k, X, w
    raise NotKnown("the moves contradict each other too much to learn a stiffness from: read again after a small step")


def known(slope: Numbers, slope_uncertainty: Numbers) -> Mask:
    """Whether a drive's slope is known well enough to say how far to move; else a first step and a second reading.

    u(k) / k <= 1/4

    slope:             change of static tension per move [N/m], scalar or array
    slope_uncertainty: its standard uncertainty [N/m], scalar or array
    returns:           true where it is known [-], shape of the broadcast inputs

    Source: practice

    >>> bool(known(80e3, 8e3)), bool(known(80e3, 30e3))
    (True, False)
    """
    return (np.asarray(slope) > 0.0) & (np.asarray(slope_uncertainty) <= KNOWN_WITHIN * np.asarray(slope))


def move_for(change: Numbers, slope: Numbers, *, slope_uncertainty: Numbers, change_uncertainty: Numbers = 0.0) -> Move:
    """How far to move the motor for a wanted change of tension, on a drive whose slope is known.

    x = dT / k;  u(x)^2 = (u(dT)/k)^2 + (x u(k)/k)^2;  cautious dT/(k + 2 u(k))

    change:             wanted change of static tension of a strand, minus to slacken [N], scalar or array
    slope:              change of static tension per move [N/m], scalar or array
    slope_uncertainty:  its standard uncertainty [N/m], scalar or array
    change_uncertainty: standard uncertainty of the change wanted, from the reading as found [N], scalar or array
    returns:            move, its standard uncertainty, and the cautious move [m], shape of the broadcast inputs

    The cautious move passes the mark one time in forty. Slackening: a belt that comes down to its tension holds on to
    some of it, so go past the mark and come back up (common practice).
    Errors: `OutOfRange` where the slope is not known well enough (ask `known` first).
    Source: gum, eq. 10

    >>> advice = move_for(80.0, 80e3, slope_uncertainty=8e3, change_uncertainty=6.0)
    >>> [round(float(each), 6) for each in advice]
    [0.001, 0.000125, 0.000833]
    """
    if not np.all(known(slope, slope_uncertainty)):
        raise OutOfRange("the drive's stiffness is not known within a quarter: make a small step and read again")
    at_least_zero("force", change_uncertainty=change_uncertainty)
    move = change / slope
    return Move(move, np.hypot(change_uncertainty / slope, move * slope_uncertainty / slope),
                change / (slope + 2.0 * slope_uncertainty))
