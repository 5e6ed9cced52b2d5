"""Span whip: at which frequencies a running span swings, and how near that is to what shakes it.

A belt that travels swings slower than one at rest: the wave that runs against the belt is held back. A span is shaken
once per turn of each shaft (run-out, unbalance) and twice per turn of the belt (a lump or splice that goes over both
sheaves). Plain string: the belt's stiffness is left out. Must not import other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.tables import load
from beltwright.units import TURN, show


class Margins(NamedTuple):
    """How far a span's frequency lies from each thing that shakes it, as a share of the latter [-], minus is below."""

    driver: Numbers
    driven: Numbers
    belt: Numbers


class MarginLimits(NamedTuple):
    """Nearer than the first: expect whip; from the second on: clear [-]."""

    near: float
    clear: float


def wave_speed(strand: Numbers, mass: Numbers) -> Numbers:
    """How fast a sideways wave runs along a strand, seen from the belt.

    c = √(T/m)

    strand:  tension of one strand, centrifugal part included [N], scalar or array
    mass:    mass per length of one strand [kg/m], scalar or array
    returns: wave speed [m/s], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: rayleigh1894, ch. VI

    >>> round(float(wave_speed(400.0, mass=0.192)), 2)
    45.64
    """
    above_zero("force", strand=strand)
    above_zero("mass per length", mass=mass)
    return np.sqrt(np.divide(strand, mass))


def taut(strand: Numbers, mass: Numbers, speed: Numbers) -> Mask:
    """Whether a running strand still carries anything besides its own going round.

    v < c

    strand:  tension of one strand, centrifugal part included [N], scalar or array
    mass:    mass per length of one strand [kg/m], scalar or array
    speed:   belt speed [m/s], scalar or array
    returns: true where `span_frequency` has an answer [-], shape of the broadcast inputs

    Errors: `OutOfRange` for a tension or mass of zero or less.
    Source: archibald1958

    >>> bool(taut(400.0, mass=0.192, speed=50.0))
    False
    """
    return np.less(speed, wave_speed(strand, mass))


def span_frequency(strand: Numbers, span: Numbers, mass: Numbers, speed: Numbers, mode: Numbers = 1) -> Numbers:
    """Natural frequency of a span that runs at belt speed; at speed 0, of the span at rest.

    f_n = n (c² - v²)/(2 t c),  c = √(T/m)

    strand:  tension of one running strand, centrifugal part included [N], scalar or array
    span:    free length between the two points of tangency [m], scalar or array
    mass:    mass per length of one strand [kg/m], scalar or array
    speed:   belt speed [m/s], scalar or array
    mode:    number of half waves, 1, 2, ... [-], scalar or array
    returns: frequency [Hz], shape of the broadcast inputs

    Tight and slack strand differ: ask for both. The formula is from memory, the effect of speed was read.
    Errors: `OutOfRange` for a belt faster than its own wave (ask `taut` first) and for values no drive has.
    Source: archibald1958

    >>> [round(float(span_frequency(400.0, span=0.8, mass=0.192, speed=v)), 1) for v in (0.0, 20.0)]
    [28.5, 23.0]
    """
    above_zero("length", span=span)
    at_least_zero("speed", speed=speed)
    above_zero("number", mode=mode)
    wave = wave_speed(strand, mass)
    if not np.all(np.less(speed, wave)):
        fast, limit = (show(value, "speed", "si") for value in first_refused(np.less(speed, wave), speed, wave))
        raise OutOfRange(f"A belt at {fast} where its own wave runs at {limit}: the strand carries nothing besides its "
                         f"own going round.")
    return mode * (wave - speed) * (wave + speed) / (2 * span * wave)


def belt_frequency(speed: Numbers, length: Numbers) -> Numbers:
    """How often the belt comes round.

    f_b = v/L

    speed:   belt speed [m/s], scalar or array
    length:  belt length on the pitch line [m], scalar or array
    returns: turns of the belt per second [Hz], shape of the broadcast inputs

    Always below the frequency of either shaft. Errors: `OutOfRange` for a negative speed or no length.
    Source: statics

    >>> belt_frequency(15.0, length=2.5)
    6.0
    """
    at_least_zero("speed", speed=speed)
    above_zero("length", length=length)
    return speed / length


def whip_margins(frequency: Numbers, driver_rotation: Numbers, driven_rotation: Numbers,
                 belt_frequency: Numbers) -> Margins:
    """How far a span's frequency lies from one per turn of either shaft and from two per turn of the belt.

    f/f_x - 1 with f_x = ω/(2π) of each shaft and 2 f_b

    frequency:       natural frequency of the running span [Hz], scalar or array
    driver_rotation: speed of the driver shaft [rad/s], scalar or array
    driven_rotation: speed of the driven shaft [rad/s], scalar or array
    belt_frequency:  how often the belt comes round [Hz], scalar or array
    returns:         margin to driver, driven and belt, minus where the span is the slower [-]

    Errors: `OutOfRange` for values of zero or less.
    Source: practice

    >>> [round(float(margin), 2) for margin in whip_margins(24.0, 157.08, 62.83, belt_frequency=6.0)]
    [-0.04, 1.4, 1.0]
    """
    above_zero("frequency", frequency=frequency, belt_frequency=belt_frequency)
    above_zero("rotation", driver_rotation=driver_rotation, driven_rotation=driven_rotation)
    return Margins(frequency * TURN / driver_rotation - 1, frequency * TURN / driven_rotation - 1,
                   frequency / (2 * belt_frequency) - 1)


def margin_limits() -> MarginLimits:
    """How far a span's frequency is to stay from what shakes it.

    row of the table `whip_margins`

    returns: share of the exciting frequency below which to expect whip, and from which it is clear [-]

    Source: practice

    >>> [round(share, 2) for share in margin_limits()]
    [0.15, 0.2]
    """
    return _limits()


def clear_of_whip(margins: Margins) -> Mask:
    """Whether a span's frequency is well away from everything that shakes it.

    |margin| ≥ clear, each

    margins: as from `whip_margins` [-]
    returns: true where clear of all three [-], shape of the margins

    Source: practice

    >>> bool(clear_of_whip(Margins(-0.04, 1.4, 1.0)))
    False
    """
    least = _limits().clear
    driver, driven, belt = (np.greater_equal(np.abs(margin), least) for margin in margins)
    return driver & driven & belt


@cache
def _limits() -> MarginLimits:
    table = load("whip_margins")
    return MarginLimits(table.column("near")[0], table.column("clear")[0])
