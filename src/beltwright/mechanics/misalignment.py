"""What misalignment is to a belt: the angles at which its spans enter the grooves, and the limits for them.

Offset and angle are those of `alignment`: the driver's groove and plane against the driven sheave's plane, x along
the line of centres, y across it, z outward along the shafts. NumPy and `limits` only; no record.
"""

from __future__ import annotations

import numpy as np

from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero


def entry_angles(offset: Numbers, angle: Numbers, twist: Numbers, driver: Numbers, driven: Numbers,
                 centre: Numbers) -> tuple[Numbers, Numbers, Numbers, Numbers]:
    """The angle at which each span leaves the plane of each sheave: what misalignment is to a belt.

    z = offset + angle x' ± twist y' where the span leaves the driver; -z/t against the driven sheave's plane,
    -z/t - (angle cos a ± twist sin a) against the driver's; sin a = (D - d)/(2 C)

    offset:  driver's groove out of the driven sheave's plane, outward is plus [m], scalar or array
    angle:   slope of the driver's plane against the driven's along the line of centres [rad], scalar or array
    twist:   slope of the driver's plane against the driven's across the line [rad], scalar or array
    driver:  diameter of the driver [m], scalar or array
    driven:  diameter of the driven sheave [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: upper and lower span at the driver, upper and lower span at the driven sheave [rad]

    Small angles. Offset over centre alone where the sheaves are parallel; angle alone, at the driver, where the driver
    is turned about its own groove. The same numbers, mirrored, whichever sheave is called the driver.
    Source: statics

    >>> [round(float(entry), 4) for entry in entry_angles(0.004, 0.0, 0.0, 0.2, 0.2, 0.8)]
    [-0.005, -0.005, -0.005, -0.005]
    """
    sin = np.subtract(driven, driver) / (2 * centre)
    cos = np.sqrt(1 - sin**2)
    radius, span = np.divide(driver, 2), centre * cos
    along, across = -radius * sin, radius * cos
    upper, lower = (-(offset + angle * along + side * twist * across) / span for side in (1, -1))
    return upper - (angle * cos + twist * sin), lower - (angle * cos - twist * sin), upper, lower


def misalignment(offset: Numbers, angle: Numbers, twist: Numbers, driver: Numbers, driven: Numbers,
                 centre: Numbers) -> Numbers:
    """Total misalignment as one angle: offset over centre, angle and twist combined as the belt meets them.

    the largest of the four entry angles, without sign

    offset:  driver's groove out of the driven sheave's plane [m], scalar or array
    angle:   slope of the driver's plane against the driven's along the line of centres [rad], scalar or array
    twist:   slope of the driver's plane against the driven's across the line [rad], scalar or array
    driver:  diameter of the driver [m], scalar or array
    driven:  diameter of the driven sheave [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: angle to hold against the limits of the table `alignment_limits` [rad]

    Adding offset over centre and angle without their signs would depend on which sheave is the datum; this does not.
    Source: statics

    >>> round(float(np.degrees(misalignment(0.0, np.radians(0.4), 0.0, 0.2, 0.2, 0.8))), 3)
    0.4
    """
    entries = entry_angles(offset, angle, twist, driver, driven, centre)
    return np.max(np.abs(np.stack(np.broadcast_arrays(*entries))), axis=0)


def offset_at(angle: Numbers, centre: Numbers) -> Numbers:
    """How far one groove may stand out of the other sheave's plane if nothing else is wrong.

    offset = C tan(angle)

    angle:   limit or target of misalignment [rad], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: offset, either way [m], shape of the broadcast inputs

    The whole limit spent on the offset: none is left for angle and twist.
    Errors: `OutOfRange` for a negative angle or no centre distance.
    Source: statics

    >>> round(float(offset_at(np.arctan(0.0625 / 12), centre=36.0)), 4)
    0.1875
    """
    at_least_zero("angle", angle=angle)
    above_zero("length", centre=centre)
    return centre * np.tan(angle)


def face_wobble(swing: Numbers, diameter: Numbers) -> Numbers:
    """Slope of a face that swings: how far the sheave sits out of square with its shaft.

    wobble = swing/d

    swing:    axial run-out, full swing of the dial in one turn [m], scalar or array
    diameter: of the circle the dial rides on [m], scalar or array
    returns:  slope of the face against the plane of rotation [rad], shape of the broadcast inputs

    A flat face; small angles. A straightedge along the centres meets anything between none and all of it. With the
    run-out a sheave of that size is allowed: the `wobble_allowance` of `alignment.answer_map`.
    Errors: `OutOfRange` for a negative swing or no diameter.
    Source: statics

    >>> face_wobble(0.0005, 0.25)
    0.002
    """
    at_least_zero("length", swing=swing)
    above_zero("length", diameter=diameter)
    return swing / diameter
