"""Run-out of a sheave: what the dial may swing in a full turn, and what a swinging face means for alignment.

Reads the table `runout_limits` (from memory of IP-20 and IP-22, so marked). NumPy, `tables` and `limits` only.
"""

from __future__ import annotations

from typing import Literal, cast

import numpy as np

from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.tables import load


def runout_limit(direction: Literal["radial", "axial"], outside: Numbers) -> Numbers:
    """Greatest swing of the dial in one turn for a sheave of this size.

    limit = base + growth (d_o - d_base) above d_base, base below it

    direction: `radial`, dial on the rim, or `axial`, dial on the face at the rim [-]
    outside:   diameter over the rim [m], scalar or array
    returns:   full swing of the dial [m], shape of `outside`

    Errors: `OutOfRange` for a diameter of zero or less.
    Source: ip20-1988

    >>> round(float(runout_limit("axial", 0.254)) / 0.0254, 4)
    0.01
    """
    above_zero("length", outside=outside)
    row, = load("runout_limits").where(what=direction)
    base, growth, up_to = (cast(float, row[key]) for key in ("base", "growth", "up_to"))
    return base + growth * np.maximum(np.subtract(outside, up_to), 0.0)


def groove_difference_limit(outside: Numbers, grooves: Numbers) -> Numbers:
    """How much the grooves of one sheave may differ in pitch diameter, least to greatest.

    limit = base + growth (N - N_base) above N_base grooves, base below

    outside: diameter over the rim [m], scalar or array
    grooves: number of grooves of the sheave [-], scalar or array
    returns: greatest difference of diameters [m], shape of the broadcast inputs

    A limit for making sheaves; wear that passes it makes belts of one length pull unequally.
    Errors: `OutOfRange` for a diameter of zero or less or fewer than one groove.
    Source: ip20-1988

    >>> round(float(groove_difference_limit(0.254, 8)) / 0.0254, 4)
    0.011
    """
    above_zero("length", outside=outside)
    above_zero("number", grooves=grooves)
    small, large = load("runout_limits").where(what="groove difference")
    is_small = np.asarray(outside) <= cast(float, small["up_to"])
    base, free, growth = (np.where(is_small, cast(float, small[key]), cast(float, large[key]))
                          for key in ("base", "grooves", "growth_per_groove"))
    return base + growth * np.maximum(grooves - free, 0.0)


def face_wobble(swing: Numbers, diameter: Numbers) -> Numbers:
    """Slope of a face that swings: how far the sheave sits out of square with its shaft.

    wobble = swing/d

    swing:    axial run-out, full swing of the dial in one turn [m], scalar or array
    diameter: of the circle the dial rides on [m], scalar or array
    returns:  slope of the face against the plane of rotation [rad], shape of the broadcast inputs

    A flat face; small angles. A straightedge along the centres meets anything between none and all of it.
    Errors: `OutOfRange` for a negative swing or no diameter.
    Source: statics

    >>> face_wobble(0.0005, 0.25)
    0.002
    """
    at_least_zero("length", swing=swing)
    above_zero("length", diameter=diameter)
    return swing / diameter
