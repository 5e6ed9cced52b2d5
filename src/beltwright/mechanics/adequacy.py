"""Whether the belts on a drive are enough: power asked, power a belt carries, belts required, service factor reached.

The number of belts is always rounded up. Jindal's example 21-5 needs 4.01 belts and takes 4, a quarter of a percent
short; here that is 5, and whoever wants to run 4 sees the service factor they would really have. Imports only `limits`
of `mechanics`.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero

# three belts that come out as 3.0000000000000004 are three belts
_ROUNDING: Final = 1e-9


def design_power(power: Numbers, service_factor: Numbers) -> Numbers:
    """The power the belts must be able to carry: what is carried, with the allowance for machine, driver and hours.

    P_d = P K_s

    power:          power carried, or the motor's rated power [W], scalar or array
    service_factor: allowance for the driven machine, the driver and the hours [-], scalar or array
    returns:        design power [W], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> design_power(10e3, 1.3)
    13000.0
    """
    above_zero("power", power=power)
    above_zero("number", service_factor=service_factor)
    return power * service_factor


def corrected_power(rated_power: Numbers, arc_factor: Numbers, length_factor: Numbers = 1.0) -> Numbers:
    """The power one belt carries on this drive, with its arc of contact and its length.

    H_a = H K_theta K_L

    rated_power:   power one belt carries at half a turn of contact and the reference length [W], scalar or array
    arc_factor:    arc-of-contact correction [-], scalar or array
    length_factor: length correction; one where none is known, and the working says so [-], scalar or array
    returns:       power one belt carries [W], shape of the broadcast inputs

    The ratio term is part of the rated power. Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> round(corrected_power(4.0, 0.977, 1.0), 2)
    3.91
    """
    above_zero("power", rated_power=rated_power)
    above_zero("number", arc_factor=arc_factor, length_factor=length_factor)
    return rated_power * arc_factor * length_factor


def belts_required(design_power: Numbers, belt_power: Numbers) -> Numbers:
    """How many belts the drive needs, not yet rounded.

    N = P_d / H_a

    design_power: power times service factor [W], scalar or array
    belt_power:   power one belt carries, corrected for arc and length [W], scalar or array
    returns:      number of belts, with its fraction [-], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> round(belts_required(30e3, 9.4e3 * 0.795), 2)
    4.01
    """
    above_zero("power", design_power=design_power, belt_power=belt_power)
    return design_power / belt_power


def belts_to_fit(design_power: Numbers, belt_power: Numbers) -> Numbers:
    """How many belts to fit: the number required, always rounded up.

    N = ceil(P_d / H_a)

    design_power: power times service factor [W], scalar or array
    belt_power:   power one belt carries, corrected for arc and length [W], scalar or array
    returns:      whole number of belts, one or more [-], shape of the broadcast inputs

    Only a rounding error of the arithmetic (1e-9) is let go; 4.01 belts are five.
    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> float(belts_to_fit(30e3, 9.4e3 * 0.795))
    5.0
    """
    return np.ceil(belts_required(design_power, belt_power) * (1.0 - _ROUNDING))


def service_factor_reached(power: Numbers, belt_power: Numbers, belts: Numbers) -> Numbers:
    """The service factor a drive really has with the belts that are on it.

    K_s = N H_a / P

    power:      power carried, or the motor's rated power [W], scalar or array
    belt_power: power one belt carries, corrected for arc and length [W], scalar or array
    belts:      number of belts on the drive [-], scalar or array
    returns:    service factor reached [-], shape of the broadcast inputs

    Taken against the table's service factor it is the drive's margin (Shigley's n_fs is this over K_s).
    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> round(service_factor_reached(10.0, 4.878, 3), 2)
    1.46
    """
    above_zero("power", power=power, belt_power=belt_power)
    above_zero("number", belts=belts)
    return belt_power * belts / power


def enough_belts(belts: Numbers, design_power: Numbers, belt_power: Numbers) -> Mask:
    """Whether the belts on the drive are as many as it needs.

    N >= ceil(P_d / H_a)

    belts:        number of belts on the drive [-], scalar or array
    design_power: power times service factor [W], scalar or array
    belt_power:   power one belt carries, corrected for arc and length [W], scalar or array
    returns:      true where they are enough [-], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> bool(enough_belts(4, 30e3, 9.4e3 * 0.795))
    False
    """
    above_zero("number", belts=belts)
    return belts >= belts_to_fit(design_power, belt_power)
