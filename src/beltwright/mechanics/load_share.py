"""How the load shares out among the belts of a set that differ in length or sit in unlike grooves.

At rest all belts of a set see one centre distance: a belt that is longer, or sits in smaller grooves, is stretched less
and carries less; one too long by far hangs slack. Running, all see one ratio of speeds, so each belt pulls by the creep
that its own diameters force on it, up to what its tension can grip.

Belts lie along the last axis, sets along the axes before it. Shafts are rigid, belts stretch in proportion. NumPy,
`geometry` and `limits` only; no record.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.errors import Infeasible, NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.geometry import belt_length, centre_from_length, length_per_centre
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.units import show

Array = npt.NDArray[np.float64]

# Newton's steps come down on a hollow-upward curve and never overshoot; kinks where a belt goes slack cost one each
_STEPS: Final = 100
_LAST_STEP: Final = 1e-13


class Shared(NamedTuple):
    """Static tension of each belt [N], nought for one that hangs slack, and the centre distance of the set [m]."""

    tension: Array
    centre: Array


class Pulls(NamedTuple):
    """Pull of each belt [N], slip of each belt, and whether it slides bodily instead of creeping.

    A pull below nothing is dragged along by its neighbours and works against them.
    """

    pull: Array
    slip: Array
    slides: npt.NDArray[np.bool_]


def relative_strains(length: npt.ArrayLike, driver: npt.ArrayLike, driven: npt.ArrayLike) -> Array:
    """How much more each belt of a set is stretched than the mean one, at the one centre distance all of them share.

    path around the belt's own grooves/own length, less the mean of that

    length:  natural length of each belt, belts along the last axis [m], array
    driver:  diameter of each belt's groove on the driver, on the line of the length [m], array
    driven:  diameter of each belt's groove on the driven sheave, on the same line [m], array
    returns: strain less the mean strain [-], belts along the last axis

    Times the pull per strain of a strand it is the difference in static tension, while all belts are taut. It hardly
    hangs on the centre distance, for which the mean belt's is taken.
    Errors: `NotKnown` for fewer than two belts; `Infeasible` for belts that do not go round.
    Source: statics

    >>> [round(float(each) * 1000, 2) for each in relative_strains([2.500, 2.505], 0.2, 0.3)]
    [1.0, -1.0]
    """
    L, d, D, _ = _set(length, driver, driven, 1.0)
    if L.shape[-1] < 2:
        raise NotKnown("One belt alone makes no set: two belts or more are needed.")
    mean = [each.mean(axis=-1, keepdims=True) for each in (d, D, L)]
    strain = belt_length(d, D, centre_from_length(*mean)) / L - 1.0
    return np.asarray(strain - np.mean(strain, axis=-1, keepdims=True))


def tensions_at(length: npt.ArrayLike, driver: npt.ArrayLike, driven: npt.ArrayLike, axial_rigidity: npt.ArrayLike,
                centre: npt.ArrayLike) -> Array:
    """Static tension of each belt of a set at a known centre distance.

    T = EA max(0, path/L - 1)

    length:         natural length of each belt, belts along the last axis [m], array
    driver:         diameter of each belt's groove on the driver, on the line of the length [m], array
    driven:         diameter of each belt's groove on the driven sheave, on the same line [m], array
    axial_rigidity: pull per unit of strain of one strand, of each belt [N], scalar or array
    centre:         distance between the shafts, one per set [m], scalar or array
    returns:        tension, nought for a belt that hangs slack [N], belts along the last axis

    Errors: `OutOfRange` for lengths, diameters or rigidities of zero or less; `Infeasible` for sheaves that overlap.
    Source: statics

    >>> tensions_at([2.500, 2.501, 2.510], 1 / np.pi, 1 / np.pi, 50000.0, centre=0.752).round(1).tolist()
    [80.0, 60.0, 0.0]
    """
    L, d, D, EA = _set(length, driver, driven, axial_rigidity)
    return _tensions(L, d, D, EA, np.asarray(centre, dtype=np.float64)[..., None])


def share_tension(length: npt.ArrayLike, driver: npt.ArrayLike, driven: npt.ArrayLike, axial_rigidity: npt.ArrayLike,
                  total: npt.ArrayLike) -> Shared:
    """How a set's static tension shares out when the motor is set so that all belts together have the tension wanted.

    Σ EA_i max(0, path_i(C)/L_i - 1) = total, solved for C

    length:         natural length of each belt, belts along the last axis [m], array
    driver:         diameter of each belt's groove on the driver, on the line of the length [m], array
    driven:         diameter of each belt's groove on the driven sheave, on the same line [m], array
    axial_rigidity: pull per unit of strain of one strand, of each belt [N], scalar or array
    total:          tension of one strand, added up over the belts, one per set [N], scalar or array
    returns:        tension of each belt [N], belts along the last axis, and the centre distance [m]

    The sum rises with C and is hollow upwards, kinks included, so Newton's steps from the far side come down on the one
    answer whichever belts hang slack. Both shafts rigid and parallel.
    Errors: `OutOfRange` for values of zero or less; `Infeasible` where the sheaves touch before the tension is low
    enough (ask `shareable` first).
    Source: statics

    >>> shared = share_tension([2.500, 2.505], 0.2, 0.3, 100000.0, 800.0)
    >>> [round(float(each), 1) for each in shared.tension]
    [500.3, 299.7]
    """
    L, d, D, EA = _set(length, driver, driven, axial_rigidity)
    wanted = np.broadcast_to(np.asarray(total, dtype=np.float64), L.shape[:-1])
    above_zero("force", total=wanted)
    if not np.all(_low_enough(L, d, D, EA, wanted)):
        raise Infeasible("The belts are too short for these sheaves: with the rims touching they are already tighter "
                         "than asked. Check lengths and diameters.")
    # at half of a belt's stretched length the sheaves are farther apart than the belt alone could reach
    centre = np.max(L * (1.0 + wanted[..., None] / EA), axis=-1) / 2
    for _ in range(_STEPS):
        at = centre[..., None]
        T = _tensions(L, d, D, EA, at)
        slope = np.sum(np.where(T > 0.0, EA * length_per_centre(d, D, at) / L, 0.0), axis=-1)
        step = (np.sum(T, axis=-1) - wanted) / slope
        centre = centre - step
        if np.all(np.abs(step) <= _LAST_STEP * centre):
            break
    return Shared(_tensions(L, d, D, EA, centre[..., None]), centre)


def shareable(length: npt.ArrayLike, driver: npt.ArrayLike, driven: npt.ArrayLike, axial_rigidity: npt.ArrayLike,
              total: npt.ArrayLike) -> Mask:
    """Whether the set can be brought down to the tension asked before the sheaves touch.

    Σ T at C = (D + d)/2 ≤ total

    length:         natural length of each belt, belts along the last axis [m], array
    driver:         diameter of each belt's groove on the driver, on the line of the length [m], array
    driven:         diameter of each belt's groove on the driven sheave, on the same line [m], array
    axial_rigidity: pull per unit of strain of one strand, of each belt [N], scalar or array
    total:          tension of one strand, added up over the belts, one per set [N], scalar or array
    returns:        true where `share_tension` has an answer [-], shape without the last axis

    Errors: `OutOfRange` for lengths, diameters or rigidities of zero or less.
    Source: statics

    >>> bool(shareable([2.0, 2.0], 0.5, 0.8, 50000.0, 800.0))
    False
    """
    L, d, D, EA = _set(length, driver, driven, axial_rigidity)
    return _low_enough(L, d, D, EA, np.asarray(total, dtype=np.float64))


def grip(tension: Numbers, centrifugal: Numbers, tension_ratio: Numbers) -> Numbers:
    """The most one belt can pull at its static tension before it slides bodily.

    F = 2 (T - Tc) (R - 1)/(R + 1), from T1 + T2 = 2 T and (T1 - Tc)/(T2 - Tc) = R; nothing where Tc takes all of T

    tension:       static tension of one strand [N], scalar or array
    centrifugal:   tension from the belt's own mass going round [N], scalar or array
    tension_ratio: tight over slack, both net, at the sheave with less wrap [-], scalar or array
    returns:       pull at full slip [N], shape of the broadcast inputs

    The belt keeps its length while the load comes on: what the tight side gains the slack side loses.
    Errors: `OutOfRange` for negative tensions or a ratio of one or less.
    Source: statics

    >>> grip(300.0, 60.0, 5.0).item()
    320.0
    """
    at_least_zero("force", tension=tension, centrifugal=centrifugal)
    above_zero("number", tension_ratio_less_one=np.subtract(tension_ratio, 1.0))
    ratio = np.asarray(tension_ratio, dtype=np.float64)
    return 2.0 * np.maximum(np.subtract(tension, centrifugal), 0.0) * (ratio - 1.0) / (ratio + 1.0)


def running_pulls(driver: npt.ArrayLike, driven: npt.ArrayLike, axial_rigidity: npt.ArrayLike, grips: npt.ArrayLike,
                  pull: npt.ArrayLike) -> Pulls:
    """How the pull of a running set shares out among belts that see one ratio of speeds through unlike grooves.

    F_i = EA_i (1 - ρ D_i/d_i) held within ± grip_i, with the speed ratio ρ that makes Σ F_i d_i the torque asked

    driver:         pitch diameter of each belt's groove on the driver, belts along the last axis [m], array
    driven:         pitch diameter of each belt's groove on the driven sheave, belts along the last axis [m], array
    axial_rigidity: pull per unit of strain of one strand, of each belt [N], scalar or array
    grips:          the most each belt can pull, from `grip` [N], scalar or array
    pull:           effective pull of the whole set, torque over the mean radius of the driver, one per set [N]
    returns:        pull and slip of each belt [N, -] and whether it slides, belts along the last axis

    Creep from stretch alone: a belt also gives in its flanks, so real sets share out more evenly than this, never less.
    Errors: `OutOfRange` for values of zero or less; `Infeasible` where all belts together cannot grip the pull (ask
    `holds` first).
    Source: statics

    >>> shared = running_pulls([0.2, 0.2], [0.3, 0.3], 50000.0, [300.0, 200.0], 400.0)
    >>> [round(float(each)) for each in shared.pull], [bool(each) for each in shared.slides]
    ([200, 200], [False, True])
    """
    d, D, EA, G = _running(driver, driven, axial_rigidity, grips)
    wanted = np.broadcast_to(np.asarray(pull, dtype=np.float64), d.shape[:-1])
    at_least_zero("force", pull=wanted)
    if not np.all(holds(d, G, wanted)):
        raise Infeasible("All belts together cannot grip this pull: the set slips bodily. Set tension first.")
    torque = wanted * d.mean(axis=-1)
    # torque falls with ρ along straight pieces that meet where a belt begins or ends to slide: find the piece, then ρ
    corners = np.sort(np.concatenate([(1.0 - G / EA) * d / D, (1.0 + G / EA) * d / D], axis=-1), axis=-1)
    there = np.sum(_pulls(d, D, EA, G, corners[..., None]) * d[..., None, :], axis=-1)
    right = np.clip(np.sum(there >= torque[..., None], axis=-1, keepdims=True), 1, corners.shape[-1] - 1)
    (x0, x1), (y0, y1) = ([np.take_along_axis(each, right - back, axis=-1)[..., 0] for back in (1, 0)]
                          for each in (corners, there))
    fall = np.where(y0 > y1, y0 - y1, 1.0)
    rho = (x0 + (x1 - x0) * (y0 - torque) / fall)[..., None]
    shared = _pulls(d, D, EA, G, rho)
    return Pulls(shared, 1.0 - rho * D / d, np.abs(shared) >= G * (1.0 - 1e-9))


def holds(driver: npt.ArrayLike, grips: npt.ArrayLike, pull: npt.ArrayLike) -> Mask:
    """Whether all belts of a set together can grip the pull.

    pull × mean of d ≤ Σ grip_i d_i

    driver:  pitch diameter of each belt's groove on the driver, belts along the last axis [m], array
    grips:   the most each belt can pull, from `grip` [N], scalar or array
    pull:    effective pull of the whole set, one per set [N], scalar or array
    returns: true where `running_pulls` has an answer [-], shape without the last axis

    Source: statics

    >>> bool(holds([0.2, 0.2], [300.0, 200.0], 600.0))
    False
    """
    d, G = np.broadcast_arrays(np.asarray(driver, dtype=np.float64), np.asarray(grips, dtype=np.float64))
    # a pull at the very limit may come out a rounding above it
    return np.asarray(pull) * d.mean(axis=-1) <= np.sum(G * d, axis=-1) * (1.0 + 1e-12)


def _set(length: npt.ArrayLike, driver: npt.ArrayLike, driven: npt.ArrayLike,
         axial_rigidity: npt.ArrayLike) -> tuple[Array, Array, Array, Array]:
    L, d, D, EA = (np.atleast_1d(each) for each in np.broadcast_arrays(
        *(np.asarray(each, dtype=np.float64) for each in (length, driver, driven, axial_rigidity))))
    above_zero("length", length=L, driver=d, driven=D)
    above_zero("force", axial_rigidity=EA)
    return L, d, D, EA


def _running(driver: npt.ArrayLike, driven: npt.ArrayLike, axial_rigidity: npt.ArrayLike,
             grips: npt.ArrayLike) -> tuple[Array, Array, Array, Array]:
    d, D, EA, G = (np.atleast_1d(each) for each in np.broadcast_arrays(
        *(np.asarray(each, dtype=np.float64) for each in (driver, driven, axial_rigidity, grips))))
    above_zero("length", driver=d, driven=D)
    above_zero("force", axial_rigidity=EA)
    at_least_zero("force", grips=G)
    if not np.all(G < EA):
        raise OutOfRange(f"A grip of {show(float(np.max(G)), 'force', 'si')} would stretch a belt to twice its length: "
                         "check the belt's stretch stiffness.")
    return d, D, EA, G


def _tensions(L: Array, d: Array, D: Array, EA: Array, centre: Array) -> Array:
    return np.asarray(EA * np.maximum(belt_length(d, D, centre) / L - 1.0, 0.0))


def _low_enough(L: Array, d: Array, D: Array, EA: Array, total: Array) -> Mask:
    touching = np.max(d + D, axis=-1, keepdims=True) / 2
    return np.sum(_tensions(L, d, D, EA, touching), axis=-1) <= total


def _pulls(d: Array, D: Array, EA: Array, G: Array, rho: Array) -> Array:
    """Pull of each belt (last axis) at each speed ratio (the axis before it)."""
    if rho.ndim > d.ndim:
        d, D, EA, G = (each[..., None, :] for each in (d, D, EA, G))
    return np.clip(EA * (1.0 - rho * D / d), -G, G)
