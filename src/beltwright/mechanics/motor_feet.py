"""What a person can move to put two sheaves in line: the motor on its feet, the sheave along its shaft.

The motor is a rigid body on four feet; its shaft points outward (z), its sheave is the driver. Offset, angle and twist
are those of `alignment`. The order that wastes no work: shims first (twist), then the feet across the base (angle),
then the slide along the shaft (offset), then tension, then read again: each step disturbs those after it, not those
before. The slide alone needs no formula: the driver's sheave goes inward along its shaft by the offset, or the driven
one outward by as much. NumPy and `limits` only; no record.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero

FEET: Final = ("front near", "front far", "back near", "back far")
DIRECTIONS: Final = ("towards", "up", "outward")


class Swing(NamedTuple):
    """Back feet only: how far they go towards the driven shaft, and what the centre distance does [m]."""

    back: Numbers
    centre_change: Numbers


class Shims(NamedTuple):
    """Shims to put under both front or both back feet, and what the centre distance does [m]."""

    front: Numbers
    back: Numbers
    centre_change: Numbers


def base_slopes(angle: Numbers, twist: Numbers, incline: Numbers) -> tuple[Numbers, Numbers]:
    """The driver's angle and twist as the motor's base sees them: along the floor and in the vertical.

    plan = angle cos ι - twist sin ι, tilt = angle sin ι + twist cos ι

    angle:   slope of the driver's plane against the driven's along the line of centres [rad], scalar or array
    twist:   slope of the driver's plane against the driven's across the line [rad], scalar or array
    incline: line of centres from driver to driven, above the horizontal [rad], scalar or array
    returns: slope along the floor (mended by moving feet), slope in the vertical (mended by shims) [rad]

    A level base. Small angles.
    Source: statics

    >>> [abs(round(float(slope), 6)) for slope in base_slopes(0.01, 0.0, np.pi / 2)]
    [0.0, 0.01]
    """
    return angle * np.cos(incline) - twist * np.sin(incline), angle * np.sin(incline) + twist * np.cos(incline)


def foot_moves(offset: Numbers, angle: Numbers, twist: Numbers, incline: Numbers, foot_spread: Numbers,
               foot_width: Numbers, foot_reach: Numbers, shaft_height: Numbers) -> npt.NDArray[np.float64]:
    """How far each foot of the motor has to go so that the driver comes into line and its centre stays where it is.

    move = ω × (foot - middle of the sheave) + slide; ω turns the driver's plane into the driven's, slide = -offset

    offset:       driver's groove out of the driven sheave's plane, outward is plus [m], scalar or array
    angle:        slope of the driver's plane against the driven's along the line of centres [rad], scalar or array
    twist:        slope of the driver's plane against the driven's across the line [rad], scalar or array
    incline:      line of centres from driver to driven, above the horizontal [rad], scalar or array
    foot_spread:  front feet to back feet, along the shaft [m], scalar or array
    foot_width:   across the feet, bolt to bolt [m], scalar or array
    foot_reach:   front feet to the middle of the sheave, along the shaft [m], scalar or array
    shaft_height: shaft over the feet [m], scalar or array
    returns:      feet (`FEET`; near is nearest the driven shaft) by directions (`DIRECTIONS`: along the floor towards
                  the driven shaft, up, outward along the shaft) [m], the last two axes

    The centre distance stays, and with it the belts' tension. Up may come out below nothing: see `shims`.
    Small angles: one degree leaves an error of 2 parts in 10000 of a foot's distance from the sheave.
    Errors: `OutOfRange` for foot distances of zero or less.
    Source: statics

    >>> moves = foot_moves(0.002, 0.0, 0.0, 0.0, 0.2, 0.25, 0.15, 0.16)
    >>> [abs(round(float(each), 6)) for each in moves[0]]
    [0.0, 0.0, 0.002]
    """
    above_zero("length", foot_spread=foot_spread, foot_width=foot_width, foot_reach=foot_reach,
               shaft_height=shaft_height)
    plan, tilt = base_slopes(angle, twist, incline)
    moves = []
    for foot in FEET:
        back, side = (1.0 if foot.startswith("back") else 0.0), (0.5 if foot.endswith("near") else -0.5)
        behind = np.add(foot_reach, np.multiply(back, foot_spread))
        across = np.multiply(side, foot_width)
        # a point that far behind on the shaft stands out by plan and tilt times `behind`; one off the shaft goes back
        # by what the plane stood out there, and the feet lie below the shaft
        outward = -np.asarray(offset) - plan * across + np.multiply(tilt, shaft_height)
        moves.append(np.stack(np.broadcast_arrays(-plan * behind, -tilt * behind, outward), axis=-1))
    return np.stack(moves, axis=-2)


def swing_back_feet(plan: Numbers, incline: Numbers, foot_spread: Numbers, foot_reach: Numbers) -> Swing:
    """The quick way for the angle: front bolts as pivots, back feet moved, and what that does to the centre distance.

    back = -plan spread; the centre distance changes by -plan reach cos ι

    plan:        slope of the driver's plane along the floor against the driven's [rad], scalar or array
    incline:     line of centres from driver to driven, above the horizontal [rad], scalar or array
    foot_spread: front feet to back feet, along the shaft [m], scalar or array
    foot_reach:  front feet to the middle of the sheave, along the shaft [m], scalar or array
    returns:     move of the back feet towards the driven shaft, change of the centre distance [m]

    A centre distance that grows tightens the belts: loosen them first, and set tension again. Pivoting on one bolt
    instead of the pair also slides the sheave by half the foot width times `plan`: set the offset afterwards.
    Errors: `OutOfRange` for foot distances of zero or less.
    Source: statics

    >>> swing = swing_back_feet(0.01, 0.0, 0.2, 0.15)
    >>> round(float(swing.back), 6), round(float(swing.centre_change), 6)
    (-0.002, -0.0015)
    """
    above_zero("length", foot_spread=foot_spread, foot_reach=foot_reach)
    return Swing(-np.multiply(plan, foot_spread), -np.multiply(plan, foot_reach) * np.cos(incline))


def shims(tilt: Numbers, incline: Numbers, foot_spread: Numbers, foot_reach: Numbers) -> Shims:
    """Shims that take the tilt out of a motor whose feet can only be raised.

    back - front = -tilt spread, the lower pair gets none; the sheave rises by front + tilt reach

    tilt:        slope of the driver's plane in the vertical against the driven's, top outward is plus [rad]
    incline:     line of centres from driver to driven, above the horizontal [rad], scalar or array
    foot_spread: front feet to back feet, along the shaft [m], scalar or array
    foot_reach:  front feet to the middle of the sheave, along the shaft [m], scalar or array
    returns:     shims under both front feet and under both back feet, change of the centre distance [m]

    On a level line of centres the rise of the sheave leaves the centre distance alone; on an inclined one it changes by
    -rise sin ι: set tension again. Where shims lie already, the same may be taken from under the other pair.
    Errors: `OutOfRange` for foot distances of zero or less.
    Source: statics

    >>> front, back, centre_change = shims(-0.005, 0.0, 0.2, 0.15)
    >>> round(float(front), 6), round(float(back), 6)
    (0.0, 0.001)
    """
    above_zero("length", foot_spread=foot_spread, foot_reach=foot_reach)
    front = np.maximum(np.multiply(tilt, foot_spread), 0.0)
    back = np.maximum(-np.multiply(tilt, foot_spread), 0.0)
    return Shims(front, back, -(front + np.multiply(tilt, foot_reach)) * np.sin(incline))
