"""Tension by the note of a plucked span: first frequency from tension and back, plain string or with stiff ends.

Only on a still belt. The result is as good as the mass per length: published masses differ by up to 17 percent for one
section, and tension goes with the mass, so a weighed belt is worth the trouble. In a joined band, tension and mass grow
together and the note stays that of one belt with its share of the tie. Must not import other modules of `mechanics`
but `tension` and `limits`.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.mechanics.tension import Band, SetBands
from beltwright.units import show

# eps = sqrt(EI/T)/t: up to here the series is within 1.2 percent of the exact built-in beam, short of it by 21 eps^3
STIFFEST: Final = 0.1
# second-order term of a built-in span's first note
_SECOND: Final = 4.0 + np.pi**2 / 2.0


def frequency_from_tension(tension: Numbers, span: Numbers, mass: Numbers, rigidity: Numbers = 0.0) -> Numbers:
    """The note a still span sounds when plucked.

    f = (1/2t) sqrt(T/m) (1 + 2 eps + (4 + pi^2/2) eps^2), eps = sqrt(EI/T)/t

    tension:  static tension of one strand [N], scalar or array
    span:     free length between the two points of tangency [m], scalar or array
    mass:     mass per length of one strand [kg/m], scalar or array
    rigidity: bending stiffness EI of one strand; 0 for the plain string [N m2], scalar or array
    returns:  first transverse natural frequency [Hz], shape of the broadcast inputs

    The stiff-end terms take the belt as built in at both points of tangency: within 0.3 percent at eps 0.05,
    1.2 percent at 0.1, where they stop. With 1 + 2 eps alone the note would be 8 percent short there. A belt leaves
    its sheaves less stiffly than a wall would hold it, so the truth lies between this and the plain string.
    Errors: `OutOfRange` for values no drive has and eps above 0.1 (ask `stiff_ends_hold` first).
    Source: morse1948, stiff string between rigid clamps; the plain string rayleigh1894

    >>> round(float(frequency_from_tension(288.0, span=0.5, mass=0.18)), 9)
    40.0
    """
    above_zero("force", tension=tension)
    _span(span, mass, rigidity)
    _hold(tension, span, rigidity)
    eps = np.sqrt(rigidity / tension) / span
    return 0.5 / span * np.sqrt(tension / mass) * (1.0 + eps * (2.0 + _SECOND * eps))


def tension_from_frequency(frequency: Numbers, span: Numbers, mass: Numbers, rigidity: Numbers = 0.0) -> Numbers:
    """Static tension of a belt span from the note it sounds when plucked.

    T = 4 m t^2 f^2 ((1 - x + sqrt((1 - x)^2 - k x^2))/2)^2, x = sqrt(EI/m)/(t^2 f), k = 4 + pi^2/2

    frequency: first transverse natural frequency of the still span [Hz], scalar or array
    span:      free length between the two points of tangency [m], scalar or array
    mass:      mass per length of one strand [kg/m], scalar or array
    rigidity:  bending stiffness EI of one strand; 0 for the plain string [N m2], scalar or array
    returns:   static tension of one strand [N], shape of the broadcast inputs

    The stiff-end form of `frequency_from_tension` solved for T, exactly. With EI = 0, T = 4 m t^2 f^2: the ideal
    string, which reads high on short or thick spans.
    Errors: `OutOfRange` for values no drive has, and where stiffness makes up too much of the note (eps above 0.1).
    Source: morse1948, stiff string between rigid clamps; the plain string rayleigh1894

    >>> float(tension_from_frequency(40.0, span=0.5, mass=0.18))
    288.0
    """
    above_zero("frequency", frequency=frequency)
    _span(span, mass, rigidity)
    # with s = sqrt(T) and q = sqrt(EI)/t the form is s + 2 q + k q^2/s = F, F = 2 t f sqrt(m): a quadratic in s/F
    x = np.sqrt(rigidity / mass) / (span * span * frequency)
    under_root = (1.0 - x) ** 2 - _SECOND * x * x
    if not np.all(tells := (x < 1.0) & (under_root > 0.0)):
        t, f = first_refused(tells, span, frequency)
        raise OutOfRange(f"a note of {show(f, 'frequency', 'si')} on a span of {show(t, 'length', 'si')} is no higher "
                         f"than the belt's stiffness alone would make it: it tells no tension")
    tension = 4.0 * mass * (span * frequency) ** 2 * (0.5 * (1.0 - x + np.sqrt(under_root))) ** 2
    _hold(tension, span, rigidity)
    return tension


def stiff_ends_hold(tension: Numbers, span: Numbers, rigidity: Numbers) -> Mask:
    """Whether stiffness is small enough beside tension for the stiff-end form.

    sqrt(EI/T)/t <= 0.1

    tension:  static tension of one strand [N], scalar or array
    span:     free length between the two points of tangency [m], scalar or array
    rigidity: bending stiffness EI of one strand [N m2], scalar or array
    returns:  true where the form holds [-], shape of the broadcast inputs

    Errors: `OutOfRange` for values no drive has.
    Source: statics

    >>> bool(stiff_ends_hold(200.0, span=0.2, rigidity=0.5))
    False
    """
    above_zero("force", tension=tension)
    above_zero("length", span=span)
    at_least_zero("rigidity", rigidity=rigidity)
    return np.sqrt(rigidity / tension) / span <= STIFFEST


def joined_frequency(tension: Numbers, belts: Numbers, span: Numbers, mass: Numbers) -> Numbers:
    """The note of a joined band, from the tension of each belt in it.

    f = (1/2t) sqrt(N T/m_band)

    tension: static tension of one belt of the band [N], scalar or array
    belts:   number of belts joined [-], scalar or array
    span:    free length between the two points of tangency [m], scalar or array
    mass:    mass per length of the whole band, tie included [kg/m], scalar or array
    returns: first transverse natural frequency of the band moving as one [Hz], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: rayleigh1894

    >>> round(float(joined_frequency(288.0, belts=3, span=0.5, mass=0.54)), 9)
    40.0
    """
    above_zero("number", belts=belts)
    return frequency_from_tension(tension * belts, span, mass)


def joined_tension(frequency: Numbers, belts: Numbers, span: Numbers, mass: Numbers) -> Numbers:
    """Static tension of each belt of a joined band, from the note of the band.

    T = 4 m_band t^2 f^2/N

    frequency: first transverse natural frequency of the still band [Hz], scalar or array
    belts:     number of belts joined [-], scalar or array
    span:      free length between the two points of tangency [m], scalar or array
    mass:      mass per length of the whole band, tie included [kg/m], scalar or array
    returns:   static tension of one belt, the mean over the band [N], shape of the broadcast inputs

    Pluck across the full width; the belts in a band cannot be told apart.
    Errors: `OutOfRange` for values of zero or less.
    Source: rayleigh1894

    >>> round(float(joined_tension(40.0, belts=3, span=0.5, mass=0.54)), 9)
    288.0
    """
    above_zero("number", belts=belts)
    return tension_from_frequency(frequency, span, mass) / belts


def frequency_bands(bands: SetBands, span: Numbers, mass: Numbers, rigidity: Numbers = 0.0) -> SetBands:
    """The bands of tension as notes of the plucked span.

    f(T) at each end

    bands:    bands of static tension for run-in and for new belts [N], each end scalar or array
    span:     free length between the two points of tangency [m], scalar or array
    mass:     mass per length of one strand [kg/m], scalar or array
    rigidity: bending stiffness EI of one strand; 0 for the plain string [N m2], scalar or array
    returns:  bands of frequency [Hz], each end in the broadcast shape

    Errors: `OutOfRange` as `frequency_from_tension`.
    Source: rayleigh1894

    >>> bands = SetBands(Band(72.0, 108.0), Band(108.0, 144.0))
    >>> round(float(frequency_bands(bands, span=0.5, mass=0.18).run_in.low), 9)
    20.0
    """
    return SetBands(*(Band(frequency_from_tension(band.low, span, mass, rigidity),
                           frequency_from_tension(band.high, span, mass, rigidity)) for band in bands))


def _span(span: Numbers, mass: Numbers, rigidity: Numbers) -> None:
    above_zero("length", span=span)
    above_zero("mass per length", mass=mass)
    at_least_zero("rigidity", rigidity=rigidity)


def _hold(tension: Numbers, span: Numbers, rigidity: Numbers) -> None:
    if not np.all(holds := stiff_ends_hold(tension, span, rigidity)):
        (stiff,) = first_refused(holds, np.sqrt(rigidity / tension) / span)
        raise OutOfRange(f"the span is too short and stiff for its note: sqrt(EI/T)/span is {stiff:.2f}, and the "
                         f"correction holds up to {STIFFEST}")
