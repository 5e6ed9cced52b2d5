"""Tension from a plucked span whose stiffness was heard with its note: what the stiff ends take off, and how surely.

The partials of a stiff string stretch, f_n = n f_1 sqrt((1 + B n^2)/(1 + B)), and B tells EI/(T t^2) without knowing
EI. How much of that raises the first note depends on how the belt leaves its sheaves: like a hinge, hardly; like a
wall, twice the root. A belt does something in between, so the middle is taken and half the difference is doubt.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.frequency import STIFFEST, tension_from_frequency
from beltwright.mechanics.limits import first_refused
from beltwright.mechanics.uncertainty import Spread, bound_uncertainty, combined

# sqrt(B)/pi is eps of the built-in span: past it the series of `frequency` no longer holds
STRETCHED: Final = float((np.pi * STIFFEST) ** 2)
_SECOND: Final = 4.0 + np.pi**2 / 2.0


class Ends(NamedTuple):
    """The share of the plain string's tension that is left, and its standard uncertainty."""

    share: Numbers
    uncertainty: Numbers


def stretch_tells(stiffness: Numbers) -> Mask:
    """Whether partials are stretched little enough for the stiff-end form.

    0 <= B <= (0.1 pi)^2

    stiffness: stiffness of the span by its partials [-], scalar or array
    returns:   true where the form holds [-], shape of `stiffness`

    Source: statics

    >>> bool(stretch_tells(0.01)), bool(stretch_tells(0.2))
    (True, False)
    """
    return (np.asarray(stiffness) >= 0.0) & (np.asarray(stiffness) <= STRETCHED)


def ends_share(stiffness: Numbers) -> Ends:
    """What share of the plain string's tension a note really stands for, by the stretch of its partials.

    hinged: 1/(1 + B); built in: 1/(1 + 2 eps + (4 + pi^2/2) eps^2)^2, eps = sqrt(B)/pi; the middle of both is taken

    stiffness: stiffness of the span by its partials; 0 for the plain string [-], scalar or array
    returns:   share of T = 4 m t^2 f^2 [-] and its standard uncertainty [-], each in the shape of `stiffness`

    The truth lies anywhere between the two (a rectangle). Where no stretch was heard the share is one, and that the
    ends may be stiff all the same is not counted.
    Errors: `OutOfRange` for a stretch past what the form holds for (ask `stretch_tells` first).
    Source: morse1948, stiff string between rigid clamps; hinged ends fletcher1998

    >>> share, uncertainty = ends_share(0.004)
    >>> round(float(share), 3), round(float(uncertainty), 3)
    (0.957, 0.023)
    """
    if not np.all(tells := stretch_tells(stiffness)):
        (stretched,) = first_refused(tells, stiffness)
        raise OutOfRange(f"a stretch of partials of {stretched:.3f}: the correction for stiff ends holds from 0 to "
                         f"{STRETCHED:.3f}")
    eps = np.sqrt(stiffness) / np.pi
    hinged = 1.0 / (1.0 + np.asarray(stiffness))
    built_in = 1.0 / (1.0 + eps * (2.0 + _SECOND * eps)) ** 2
    return Ends(0.5 * (hinged + built_in), bound_uncertainty(0.5 * (hinged - built_in)))


def tension_with_ends(frequency: Numbers, span: Numbers, mass: Numbers, stiffness: Numbers = 0.0) -> Numbers:
    """Static tension of a belt span from its note and the stretch of its partials.

    T = 4 m t^2 f^2 times the share of `ends_share`

    frequency: first transverse natural frequency of the still span [Hz], scalar or array
    span:      free length between the two points of tangency [m], scalar or array
    mass:      mass per length of one strand; of a joined band, of each belt with its share of the tie [kg/m], scalar
               or array
    stiffness: stiffness of the span by its partials; 0 for the plain string [-], scalar or array
    returns:   static tension of one strand [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values no drive has, and as `ends_share`.
    Source: rayleigh1894; the ends as `ends_share`

    >>> round(float(tension_with_ends(40.0, span=0.5, mass=0.18, stiffness=0.004)), 1)
    275.6
    """
    return tension_from_frequency(frequency, span, mass) * ends_share(stiffness).share


def spread_with_ends(frequency: Numbers, span: Numbers, mass: Numbers, stiffness: Numbers = 0.0, *,
                     frequency_uncertainty: Numbers, span_uncertainty: Numbers, mass_uncertainty: Numbers) -> Spread:
    """How well the note of a plucked span tells the static tension, its stiff ends counted in.

    T = 4 m t^2 f^2 s; dT/df = 2 T/f, dT/dt = 2 T/t, dT/dm = T/m, dT/ds = T/s

    frequency:             first note of the still span [Hz], scalar or array
    span:                  free span [m], scalar or array
    mass:                  mass per length of one strand [kg/m], scalar or array
    stiffness:             stiffness of the span by its partials; 0 for the plain string [-], scalar or array
    frequency_uncertainty: standard uncertainty of the note [Hz], scalar or array
    span_uncertainty:      standard uncertainty of the span [m], scalar or array
    mass_uncertainty:      standard uncertainty of the mass per length [kg/m], scalar or array
    returns:               standard uncertainty of the tension and each input's part in it [N]

    Errors: as `tension_with_ends`.
    Source: gum, eq. 10

    >>> spread = spread_with_ends(40.0, 0.5, 0.18, 0.004, frequency_uncertainty=0.1, span_uncertainty=0.003,
    ...                           mass_uncertainty=0.009)
    >>> {name: round(float(part), 1) for name, part in spread.parts.items()}
    {'frequency': 1.4, 'span': 3.3, 'mass': 13.8, 'ends': 6.5}
    """
    ends = ends_share(stiffness)
    plain = tension_from_frequency(frequency, span, mass)
    tension = plain * ends.share
    parts = {"frequency": 2.0 * tension * (frequency_uncertainty / frequency),
             "span": 2.0 * tension * (span_uncertainty / span), "mass": tension * (mass_uncertainty / mass),
             "ends": plain * ends.uncertainty}
    return Spread(combined(list(parts.values())), MappingProxyType(parts))
