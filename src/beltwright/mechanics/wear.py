"""Worn grooves: how far a belt sinks into dished flanks, and what that does to diameter, ratio, ride and neighbours.

Dish is what a feeler finds between a groove gauge and a flank, square to the flank, at its deepest. The belt has made
the dish and lies in it, so it sinks until both its flanks bear again. What unequal grooves do to the tension of a set
is worked out in `load_share`, which takes each groove's own diameter. The limits are the tables `wear_limits` and
`ride_limits`, handed in as numbers. NumPy and `limits` only; no record.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.units import show

# a sheave past this share of the limit is planned for when its partner is replaced anyway
PLAN_FROM: Final = 0.5


class Replace(NamedTuple):
    """Which sheave to replace now, and which to have at hand: masks."""

    driver: Mask
    driven: Mask
    plan_driver: Mask
    plan_driven: Mask


def wear_share(dish_left: Numbers, dish_right: Numbers, dish_limit: Numbers) -> Numbers:
    """How much of the limit the worse flank of a groove has used up.

    max(left, right)/limit

    dish_left:  dish of the flank towards the motor [m], scalar or array
    dish_right: dish of the flank away from the motor [m], scalar or array
    dish_limit: greatest dish allowed on a flank [m], scalar or array
    returns:    share, 1 at the limit [-], shape of the broadcast inputs

    Each flank is held against the limit by itself, as the gauge reads it.
    Errors: `OutOfRange` for a negative dish or no limit.
    Source: mobley, ch. 58

    >>> wear_share(0.0004, 0.0002, 0.0008).item()
    0.5
    """
    at_least_zero("length", dish_left=dish_left, dish_right=dish_right)
    above_zero("length", dish_limit=dish_limit)
    return np.maximum(dish_left, dish_right) / dish_limit


def sink(dish_left: Numbers, dish_right: Numbers, half_angle: Numbers) -> Numbers:
    """How much deeper a belt sits in a dished groove than in a straight one.

    s = (left + right)/(2 sin(β/2))

    dish_left:  dish of the flank towards the motor [m], scalar or array
    dish_right: dish of the flank away from the motor [m], scalar or array
    half_angle: half the groove angle [rad], scalar or array
    returns:    depth [m], shape of the broadcast inputs

    The belt keeps its width and bears at the deepest of each dish; wear of the belt's own flanks adds to it.
    Errors: `OutOfRange` for a negative dish or an angle no groove has.
    Source: statics

    >>> round(float(sink(0.0008, 0.0008, np.radians(19))) * 1000, 2)
    2.46
    """
    at_least_zero("length", dish_left=dish_left, dish_right=dish_right)
    _groove_angle(half_angle)
    return np.add(dish_left, dish_right) / (2 * np.sin(half_angle))


def side_shift(dish_left: Numbers, dish_right: Numbers, half_angle: Numbers) -> Numbers:
    """How far a belt moves sideways in a groove whose flanks are unequally dished; away from the motor is plus.

    y = (right - left)/(2 cos(β/2))

    dish_left:  dish of the flank towards the motor [m], scalar or array
    dish_right: dish of the flank away from the motor [m], scalar or array
    half_angle: half the groove angle [rad], scalar or array
    returns:    shift [m], shape of the broadcast inputs

    Unequal flanks are the mark that misalignment leaves: look there first.
    Errors: `OutOfRange` for a negative dish or an angle no groove has.
    Source: statics

    >>> round(float(side_shift(0.0002, 0.0008, np.radians(19))) * 1000, 2)
    0.32
    """
    at_least_zero("length", dish_left=dish_left, dish_right=dish_right)
    _groove_angle(half_angle)
    return np.subtract(dish_right, dish_left) / (2 * np.cos(half_angle))


def worn_diameter(diameter: Numbers, depth: Numbers) -> Numbers:
    """Pitch diameter at which a belt runs that has sunk into its groove.

    d' = d - 2 s

    diameter: pitch diameter of the sound groove [m], scalar or array
    depth:    how far the belt has sunk, from `sink` [m], scalar or array
    returns:  pitch diameter as worn [m], shape of the broadcast inputs

    Errors: `OutOfRange` for a belt sunk to the shaft (ask `sinkable` first).
    Source: statics

    >>> round(float(worn_diameter(0.2, 0.0025)), 4)
    0.195
    """
    above_zero("length", diameter=diameter)
    at_least_zero("length", depth=depth)
    if not np.all(sinkable(diameter, depth)):
        deepest = show(float(np.max(depth)), "length", "si", digits=1)
        raise OutOfRange(f"A belt sunk by {deepest} would be at the middle of the shaft: check the dish and the "
                         "diameter.")
    return np.subtract(diameter, np.multiply(2.0, depth))


def sinkable(diameter: Numbers, depth: Numbers) -> Mask:
    """Whether a belt can have sunk so far into a sheave of this size at all.

    2 s < d

    diameter: pitch diameter of the sound groove [m], scalar or array
    depth:    how far the belt has sunk [m], scalar or array
    returns:  true where `worn_diameter` has an answer [-], shape of the broadcast inputs

    Source: statics

    >>> bool(sinkable(0.2, 0.1))
    False
    """
    return np.less(np.multiply(2.0, depth), diameter)


def speed_change(driver: Numbers, driven: Numbers, driver_depth: Numbers, driven_depth: Numbers) -> Numbers:
    """What sunk belts do to the driven speed, as a share of it, slip apart.

    (d'/D')/(d/D) - 1

    driver:       pitch diameter of the driver's sound groove [m], scalar or array
    driven:       pitch diameter of the driven sheave's sound groove [m], scalar or array
    driver_depth: how far belts have sunk into the driver [m], scalar or array
    driven_depth: how far belts have sunk into the driven sheave [m], scalar or array
    returns:      change of the driven speed, slower is minus [-], shape of the broadcast inputs

    Errors: `OutOfRange` for a belt sunk to the shaft.
    Source: statics

    >>> round(float(speed_change(0.1, 0.3, 0.0025, 0.0)), 3)
    -0.05
    """
    sound = np.divide(driver, driven)
    return worn_diameter(driver, driver_depth) / worn_diameter(driven, driven_depth) / sound - 1.0


def forced_slip(driver: npt.ArrayLike, driven: npt.ArrayLike) -> Numbers:
    """How far each belt of a set runs against the speed all of them share, because its grooves differ in diameter.

    1 - (mean of d/D)/(d/D) of the belt

    driver:  pitch diameter of each belt's groove on the driver, belts along the last axis [m], array
    driven:  pitch diameter of each belt's groove on the driven sheave, belts along the last axis [m], array
    returns: slip each belt is forced to, above zero where it drives its neighbours along [-], shape of the inputs

    Belts share two shafts: what their ratios differ by goes into creep while the pull allows, else into slip, and wears
    belts and grooves further. How the pull shares out: `load_share.running_pulls`.
    Errors: `NotKnown` for fewer than two belts; `OutOfRange` for a diameter of zero or less.
    Source: statics

    >>> [round(float(each), 4) for each in forced_slip([0.100, 0.098], [0.3, 0.3])]
    [0.01, -0.0102]
    """
    d, D = np.broadcast_arrays(np.asarray(driver, dtype=np.float64), np.asarray(driven, dtype=np.float64))
    above_zero("length", driver=d, driven=D)
    if d.ndim == 0 or d.shape[-1] < 2:
        raise NotKnown("One belt alone has none to run against: grooves of two belts or more are needed.")
    ratio = d / D
    return 1.0 - ratio.mean(axis=-1, keepdims=True) / ratio


def replace(driver_dish: Numbers, driven_dish: Numbers, dish_limit: Numbers) -> Replace:
    """Which sheave to replace, from the worst flank of each.

    now: dish > limit; planned: dish > limit/2 while the other sheave goes

    driver_dish: worst dish of any flank of the driver [m], scalar or array
    driven_dish: worst dish of any flank of the driven sheave [m], scalar or array
    dish_limit:  greatest dish allowed on a flank [m], scalar or array
    returns:     masks: driver and driven now, driver and driven to have at hand [-], shape of the broadcast inputs

    One worn sheave spoils the belts for the sound one, so new belts on one new sheave want a partner that lasts as
    long. The smaller sheave is expected to wear first.
    Errors: `OutOfRange` for a negative dish or no limit.
    Source: practice

    >>> [bool(mask) for mask in replace(0.0009, 0.0005, 0.0008)]
    [True, False, False, True]
    """
    driver, driven = wear_share(driver_dish, driver_dish, dish_limit), wear_share(driven_dish, driven_dish, dish_limit)
    now_driver, now_driven = np.greater(driver, 1.0), np.greater(driven, 1.0)
    return Replace(*(mask[()] for mask in np.broadcast_arrays(
        now_driver, now_driven, now_driven & ~now_driver & np.greater(driver, PLAN_FROM),
        now_driver & ~now_driven & np.greater(driven, PLAN_FROM))))


def sound_ride(top_width: Numbers, groove_width: Numbers, half_angle: Numbers) -> Numbers:
    """How high the top of a new belt stands over the rim of a sound groove; below is minus.

    (w - b_g)/(2 tan(β/2))

    top_width:    width over the top of the belt [m], scalar or array
    groove_width: width of the groove at the rim [m], scalar or array
    half_angle:   half the groove angle [rad], scalar or array
    returns:      top of the belt above the rim [m], shape of the broadcast inputs

    The belt's flanks are taken to lie along the groove's. Belts are made to their pitch line, not to their top: take
    the answer to a millimetre. It is flush to just above the rim for a belt in a groove of its own section.
    Errors: `OutOfRange` for widths of zero or less or an angle no groove has.
    Source: statics

    >>> round(float(sound_ride(0.66, 0.637, np.radians(17))), 3)
    0.038
    """
    above_zero("length", top_width=top_width, groove_width=groove_width)
    _groove_angle(half_angle)
    return np.subtract(top_width, groove_width) / (2 * np.tan(half_angle))


def dish_from_ride(ride: Numbers, expected: Numbers, half_angle: Numbers) -> Numbers:
    """The wear of groove and belt together, per flank, that would let a belt ride so low.

    (expected - ride) sin(β/2)

    ride:       top of the belt above the rim as read, below is minus [m], scalar or array
    expected:   the same in a sound groove, from `sound_ride` or read when new [m], scalar or array
    half_angle: half the groove angle [rad], scalar or array
    returns:    wear square to the flank [m], below zero for a belt that rides higher than expected

    A pointer to where the gauge belongs, not a measurement: a worn belt, or one of the wrong section, looks the same.
    Errors: `OutOfRange` for an angle no groove has.
    Source: statics

    >>> round(float(dish_from_ride(-0.002, 0.0005, np.radians(19))) * 1000, 2)
    0.81
    """
    _groove_angle(half_angle)
    return np.subtract(expected, ride) * np.sin(half_angle)


def room_below(groove_depth: Numbers, thickness: Numbers, ride: Numbers) -> Numbers:
    """Room between the underside of a belt and the bottom of its groove; none means it no longer wedges.

    depth - (height - ride)

    groove_depth: rim to bottom of the groove [m], scalar or array
    thickness:    height of the belt's section [m], scalar or array
    ride:         top of the belt above the rim, below is minus [m], scalar or array
    returns:      room [m], zero or less where the belt rides on the bottom, shape of the broadcast inputs

    A shiny bottom says the same as an answer of zero. Published depths are least depths: a groove may be deeper.
    Errors: `OutOfRange` for a depth or height of zero or less.
    Source: statics

    >>> round(float(room_below(0.014, 0.011, -0.004)), 4)
    -0.001
    """
    above_zero("length", groove_depth=groove_depth, thickness=thickness)
    return np.subtract(groove_depth, np.subtract(thickness, ride))


def _groove_angle(half_angle: Numbers) -> None:
    if not np.all(np.greater(half_angle, 0.0) & np.less(half_angle, np.pi / 4)):
        raise OutOfRange("Half the groove angle must lie between 0° and 45°; V-belt grooves have 15° to 21°.")
