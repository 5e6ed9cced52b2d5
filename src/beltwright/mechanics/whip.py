"""Span whip: at which frequencies a running span swings, tight and slack side under load.

A belt that travels swings slower than one at rest: the wave that runs against the belt is held back. The plain string
holds for every speed; what the belt's stiffness adds, held as if built in at both sheaves, is a correction on top.
What shakes a span, and how near that is, stands in `whip_shaken`.

Must not import other modules of `mechanics` but `friction`, `frequency` and `limits`.
"""

from __future__ import annotations

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.frequency import STIFFEST
from beltwright.mechanics.friction import Strands, centrifugal_tension
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.units import show


def running_strands(tension: Numbers, pull: Numbers) -> Strands:
    """What the two strands carry when the drive runs, from the static tension it was set to.

    T1 = T + F_e/2, T2 = T - F_e/2

    tension: static tension of one strand, as set or read at rest [N], scalar or array
    pull:    effective pull of one belt, tight less slack; 0 at idle [N], scalar or array
    returns: tight and slack strand, centrifugal part included [N], shape of the broadcast inputs

    Fixed centres and a belt that stretches in proportion to its pull: its length stays, so the mean of its strands
    stays. A sprung or pivoted base holds something else.
    Errors: `OutOfRange` for a tension of zero or less and a negative pull. Ask `runs_taut` whether both still pull.
    Source: statics

    >>> running_strands(225.0, pull=250.0)
    Strands(tight=350.0, slack=100.0)
    """
    above_zero("force", tension=tension)
    at_least_zero("force", pull=pull)
    return Strands(tension + 0.5 * pull, tension - 0.5 * pull)


def runs_taut(tension: Numbers, pull: Numbers, mass: Numbers, speed: Numbers) -> Mask:
    """Whether the slack strand of a running drive still carries anything besides its own going round.

    T - F_e/2 > m v^2

    tension: static tension of one strand, as set or read at rest [N], scalar or array
    pull:    effective pull of one belt, tight less slack; 0 at idle [N], scalar or array
    mass:    mass per length of one strand [kg/m], scalar or array
    speed:   belt speed [m/s], scalar or array
    returns: true where both spans have a note [-], shape of the broadcast inputs

    Errors: `OutOfRange` for values no drive has.
    Source: statics

    >>> bool(runs_taut(150.0, pull=250.0, mass=0.17, speed=15.0))
    False
    """
    return np.greater(running_strands(tension, pull).slack, centrifugal_tension(mass, speed))


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

    Tight and slack strand differ: ask for both. The formula is from memory, the effect of speed was read; two
    published treatments of the moving string agree with it.
    Errors: `OutOfRange` for a belt faster than its own wave (ask `taut` first) and for values no drive has.
    Source: archibald1958; swope1963 and wickert1990 alike

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


def strand_at_frequency(frequency: Numbers, span: Numbers, mass: Numbers, speed: Numbers, mode: Numbers = 1) -> Numbers:
    """The tension of a running strand at which its span swings at a given frequency: `span_frequency` turned round.

    T = m (t f/n + sqrt((t f/n)^2 + v^2))^2

    frequency: natural frequency of the running span [Hz], scalar or array
    span:      free length between the two points of tangency [m], scalar or array
    mass:      mass per length of one strand [kg/m], scalar or array
    speed:     belt speed [m/s], scalar or array
    mode:      number of half waves, 1, 2, ... [-], scalar or array
    returns:   tension of one running strand, centrifugal part included [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values no drive has.
    Source: archibald1958, solved for the tension

    >>> round(float(strand_at_frequency(span_frequency(400.0, 0.8, 0.192, 20.0), 0.8, 0.192, 20.0)), 9)
    400.0
    """
    above_zero("frequency", frequency=frequency)
    above_zero("length", span=span)
    above_zero("mass per length", mass=mass)
    at_least_zero("speed", speed=speed)
    above_zero("number", mode=mode)
    still = span * frequency / mode
    wave = still + np.hypot(still, speed)
    return mass * (wave * wave)


def stiff_span_frequency(strand: Numbers, span: Numbers, mass: Numbers, speed: Numbers, rigidity: Numbers,
                         mode: Numbers = 1) -> Numbers:
    """Natural frequency of a running span with the belt's bending stiffness, held as if built in at both sheaves.

    f_n (1 + 2 eps + (4 + (n pi)^2/2 (1 + 6 s^2 + s^4)) eps^2), eps = sqrt(EI/(T - m v^2))/t, s = v/c

    strand:   tension of one running strand, centrifugal part included [N], scalar or array
    span:     free length between the two points of tangency [m], scalar or array
    mass:     mass per length of one strand [kg/m], scalar or array
    speed:    belt speed [m/s], scalar or array
    rigidity: bending stiffness EI of one strand; 0 for the plain string [N m2], scalar or array
    mode:     number of half waves, 1, 2, ... [-], scalar or array
    returns:  frequency [Hz], shape of the broadcast inputs

    Worked out here: the built-in ends shorten the span by a boundary layer each, bending adds the rest by the moving
    string's own shapes. At rest it is the form of `frequency_from_tension`. Against an eigenvalue problem: short by
    0.1 percent at eps 0.02, 1 at 0.05 and 3 at 0.1, less far from the speed at which the strand goes slack. A belt
    leaves its sheaves less stiffly than a wall would hold it: the truth lies between this and the plain string.
    Errors: `OutOfRange` as `span_frequency`, and for eps above 0.1 (ask `stiff_span_holds` first).
    Source: kongparker2004

    >>> round(float(stiff_span_frequency(400.0, 0.8, 0.192, 20.0, 0.0)), 1)
    23.0
    """
    plain = span_frequency(strand, span, mass, speed, mode)
    if not np.all(holds := stiff_span_holds(strand, span, mass, speed, rigidity)):
        (thick,) = first_refused(holds, _layer(strand, span, mass, speed, rigidity))
        raise OutOfRange(f"the span is too short and stiff for its note: sqrt(EI/(T - m v^2))/span is {thick:.2f}, and "
                         f"the correction holds up to {STIFFEST}")
    eps = _layer(strand, span, mass, speed, rigidity)
    share = mass * np.square(speed) / strand
    bending = 0.5 * np.square(np.pi * mode) * (1.0 + share * (6.0 + share))
    return plain * (1.0 + eps * (2.0 + (4.0 + bending) * eps))


def stiff_span_holds(strand: Numbers, span: Numbers, mass: Numbers, speed: Numbers, rigidity: Numbers) -> Mask:
    """Whether a running span is long and taut enough for the correction by bending stiffness.

    sqrt(EI/(T - m v^2))/t <= 0.1

    strand:   tension of one running strand, centrifugal part included [N], scalar or array
    span:     free length between the two points of tangency [m], scalar or array
    mass:     mass per length of one strand [kg/m], scalar or array
    speed:    belt speed [m/s], scalar or array
    rigidity: bending stiffness EI of one strand [N m2], scalar or array
    returns:  true where `stiff_span_frequency` has an answer [-], shape of the broadcast inputs

    Errors: `OutOfRange` for values no drive has.
    Source: statics

    >>> bool(stiff_span_holds(200.0, span=0.2, mass=0.17, speed=10.0, rigidity=0.5))
    False
    """
    above_zero("length", span=span)
    at_least_zero("rigidity", rigidity=rigidity)
    held = np.where(taut(strand, mass, speed), strand - centrifugal_tension(mass, speed), np.inf)
    return taut(strand, mass, speed) & (np.sqrt(rigidity / held) <= STIFFEST * span)


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


def _layer(strand: Numbers, span: Numbers, mass: Numbers, speed: Numbers, rigidity: Numbers) -> Numbers:
    return np.sqrt(rigidity / (strand - centrifugal_tension(mass, speed))) / span
