"""Refusing numbers no drive can have: zero or negative lengths, tensions, speeds, and NaN.

The functions of `mechanics` call these first, so that a slip of the keyboard is named at the door instead of coming
out as a NaN further on. Must not import other modules of `mechanics`.
"""

from __future__ import annotations

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.units import KINDS, SHOWN, show


def above_zero(kind: str, **quantities: Numbers) -> None:
    """Let pass only finite values above zero.

    x > 0

    kind:       kind of the quantities, a key of `units.KINDS` [-]
    quantities: values by name, scalars or arrays [SI unit of the kind]
    returns:    nothing [-]

    Errors: `OutOfRange` naming the quantity and the first value refused.
    Source: practice

    >>> above_zero("length", span=0.5)
    >>> above_zero("length", span=-0.5)
    Traceback (most recent call last):
    beltwright.errors.OutOfRange: span of -500 mm: a value above zero is needed
    """
    for name, values in quantities.items():
        _refuse((np.asarray(values) > 0.0) & np.isfinite(values), kind, name, values, "a value above zero is needed")


def at_least_zero(kind: str, **quantities: Numbers) -> None:
    """Let pass only finite values of zero or more.

    x >= 0

    kind:       kind of the quantities, a key of `units.KINDS` [-]
    quantities: values by name, scalars or arrays [SI unit of the kind]
    returns:    nothing [-]

    Errors: `OutOfRange` naming the quantity and the first value refused.
    Source: practice

    >>> at_least_zero("force", allowance=0.0)
    """
    for name, values in quantities.items():
        _refuse((np.asarray(values) >= 0.0) & np.isfinite(values), kind, name, values, "zero or more is needed")


def first_refused(accepted: Mask, *values: Numbers) -> tuple[float, ...]:
    """The values at the first place where a check fails, to be named in a refusal.

    values at the first false of the mask

    accepted: mask of what passes the check, false somewhere [-]
    values:   scalars or arrays that broadcast to the mask [any unit]
    returns:  one number of each [as the values]

    Source: practice

    >>> first_refused(np.array([True, False]), np.array([3.0, 4.0]), 7.0)
    (4.0, 7.0)
    """
    where = int(np.argmin(accepted))
    return tuple(float(np.broadcast_to(value, np.shape(accepted)).flat[where]) for value in values)


def _refuse(accepted: Mask, kind: str, name: str, values: Numbers, needed: str) -> None:
    if not np.all(accepted):
        (first,) = first_refused(accepted, values)
        shown = show(first, kind, "si") if kind in SHOWN["si"] else f"{first:g} {next(iter(KINDS[kind]))}"
        raise OutOfRange(f"{name.replace('_', ' ')} of {shown}: {needed}")
