"""What shakes a span, how near that is, and which tensions stay clear of it.

Two ways to shake a span. Across: something comes by as often as the span swings. Along: its tension is made to
swing twice as often as the span does, and a swing once begun is fed at every turn (Mathieu's equation); then the span
whips though nothing pushes it sideways, unless damping takes out more than the tension puts in.

Must not import other modules of `mechanics` but `tension`, `whip` and `limits`.
"""

from __future__ import annotations

from functools import cache
from typing import Final, NamedTuple

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.mechanics.tension import Band
from beltwright.mechanics.whip import strand_at_frequency, wave_speed
from beltwright.tables import load
from beltwright.units import show

# a pulsation of this share swings a strand between nothing and twice its tension; beyond, it goes slack
WHOLE: Final = 1.0


class MarginLimits(NamedTuple):
    """Nearer than the first: expect whip; from the second on: clear [-]."""

    near: float
    clear: float


class Damping(NamedTuple):
    """Damping of a belt span as a share of critical: the least to reckon with, and the usual [-]."""

    least: float
    usual: float


def whip_margin(frequency: Numbers, excitation: Numbers) -> Numbers:
    """How far a span's frequency lies from one that shakes it, as a share of the latter; minus where it is below.

    f/f_x - 1

    frequency:  natural frequency of the running span [Hz], scalar or array
    excitation: frequency at which it is shaken [Hz], scalar or array
    returns:    margin [-], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: practice

    >>> round(whip_margin(24.0, 25.0), 2)
    -0.04
    """
    above_zero("frequency", frequency=frequency, excitation=excitation)
    return frequency / excitation - 1.0


def margin_limits() -> MarginLimits:
    """How far a span's frequency is to stay from what shakes it.

    row of the table `whip_margins`

    returns: share of the exciting frequency below which to expect whip, and from which it is clear [-]

    Source: practice

    >>> [round(share, 2) for share in margin_limits()]
    [0.15, 0.2]
    """
    return _limits()


def span_damping() -> Damping:
    """How much of a span's swing damping takes out, as a share of critical damping.

    row of the table `whip_damping`

    returns: the least to reckon with, and the usual [-]

    Source: practice

    >>> span_damping().least
    0.01
    """
    return _damping()


def torque_swing(pulsation: Numbers, pull: Numbers) -> Numbers:
    """How far the tension of a strand swings to either side when the torque pulsates.

    dT = p F_e/2

    pulsation: swing of the torque to either side of its mean, as a share of the mean [-], scalar or array
    pull:      effective pull of one belt at the mean torque [N], scalar or array
    returns:   swing of the tension of either strand, to either side [N], shape of the broadcast inputs

    Half of the swing of the pull goes to each strand, as half of the pull does.
    Errors: `OutOfRange` for negative values.
    Source: statics

    >>> torque_swing(0.4, pull=250.0)
    50.0
    """
    at_least_zero("number", pulsation=pulsation)
    at_least_zero("force", pull=pull)
    return 0.5 * pulsation * pull


def runout_swing(swing: Numbers, axial_rigidity: Numbers, length: Numbers, growth: Numbers) -> Numbers:
    """How far the tension of a strand swings to either side when a sheave runs out.

    dT = EA (s/2) (dL/dC)/L

    swing:          full swing of the dial at the rim [m], scalar or array
    axial_rigidity: pull per unit of strain of one strand [N], scalar or array
    length:         belt length round the sheaves [m], scalar or array
    growth:         how much longer the belt's path grows per move of the motor [m/m], scalar or array
    returns:        swing of the tension, to either side [N], shape of the broadcast inputs

    The sheave's middle goes round in a circle of half the swing, so the centre distance grows and shrinks by it once
    a turn and the whole belt is stretched by that.
    Errors: `OutOfRange` for a negative swing and for values of zero or less.
    Source: statics

    >>> round(float(runout_swing(0.0005, 80000.0, length=2.9, growth=2.0)), 1)
    13.8
    """
    at_least_zero("length", swing=swing)
    above_zero("force", axial_rigidity=axial_rigidity)
    above_zero("length", length=length)
    above_zero("number", growth=growth)
    return 0.5 * swing * growth * axial_rigidity / length


def pulsation_felt(pulsation: Numbers, strand: Numbers, mass: Numbers, speed: Numbers, mode: Numbers = 1) -> Numbers:
    """How strongly a running span feels the swing of its tension, as the swing that a span at rest would feel alike.

    eta' = eta |sin(n pi s)|/(n pi s (1 - s^2)), s = v/c

    pulsation: swing of the strand's tension over the tension [-], scalar or array
    strand:    tension of one running strand, centrifugal part included [N], scalar or array
    mass:      mass per length of one strand [kg/m], scalar or array
    speed:     belt speed, below that of the strand's own wave [m/s], scalar or array
    mode:      number of half waves, 1, 2, ... [-], scalar or array
    returns:   equivalent swing [-], shape of the broadcast inputs

    The shape of a running span leans: its crest runs along it, and a swing of the tension gets less of a hold on it;
    but the span carries less besides its own going round, so that what hold there is counts for more. Shared axially:
    every part of the span has the same tension. First order in the pulsation.
    Errors: `OutOfRange` for a negative pulsation, and for a belt as fast as its own wave.
    Source: mockensturm1996

    >>> [round(float(pulsation_felt(0.2, 400.0, 0.192, speed)), 3) for speed in (0.0, 30.0)]
    [0.2, 0.15]
    """
    at_least_zero("number", pulsation=pulsation)
    at_least_zero("speed", speed=speed)
    above_zero("number", mode=mode)
    share = speed / wave_speed(strand, mass)
    if not np.all(slower := np.less(share, 1.0)):
        (fast,) = first_refused(slower, speed)
        raise OutOfRange(f"A belt at {show(fast, 'speed', 'si')} runs as fast as its own wave: the strand carries "
                         f"nothing besides its own going round.")
    return pulsation * np.abs(np.sinc(mode * share)) / (1.0 - np.square(share))


def least_pulsation(damping: Numbers) -> Numbers:
    """The swing of tension from which on a span at rest is fed more than damping takes out.

    eta_0 = 4 zeta

    damping: damping of the span as a share of critical [-], scalar or array
    returns: swing of the strand's tension over the tension [-], shape of `damping`

    Errors: `OutOfRange` for a negative damping.
    Source: bolotin1964

    >>> least_pulsation(0.01)
    0.04
    """
    at_least_zero("number", damping=damping)
    return 4.0 * damping


def feeds(pulsation: Numbers, damping: Numbers) -> Mask:
    """Whether a swing of tension can feed a span's whip at all: damping takes out less than it puts in.

    eta > 4 zeta

    pulsation: swing of tension that the span feels, over the tension [-], scalar or array
    damping:   damping of the span as a share of critical [-], scalar or array
    returns:   true where `parametric_region` is not empty [-], shape of the broadcast inputs

    Errors: `OutOfRange` for negative values.
    Source: bolotin1964

    >>> bool(feeds(0.03, damping=0.01))
    False
    """
    at_least_zero("number", pulsation=pulsation)
    return np.greater(pulsation, least_pulsation(damping))


def parametric_region(frequency: Numbers, pulsation: Numbers, damping: Numbers) -> Band:
    """Between which frequencies a swing of its tension makes a span whip: the region round twice its own frequency.

    2 f sqrt((b + sqrt(b^2 + h^2/2))/2), b = 1 -+ h, h = sqrt(eta^2 - 16 zeta^2)/2

    frequency: natural frequency of the running span [Hz], scalar or array
    pulsation: swing of tension that the span feels, over the tension [-], scalar or array
    damping:   damping of the span as a share of critical [-], scalar or array
    returns:   frequencies of the swing from which and up to which the span whips [Hz]; both 2 f where it never does

    First region, second approximation: within a tenth of a percent up to a swing of 0.5. The regions further down
    (once the span's frequency and below) need a far larger swing and are left out.
    Errors: `OutOfRange` for a swing of 1 and more (the strand goes slack every time), and values of zero or less.
    Source: bolotin1964

    >>> [round(float(end), 2) for end in parametric_region(20.0, 0.2, 0.01)]
    [38.02, 41.93]
    """
    above_zero("frequency", frequency=frequency)
    at_least_zero("number", pulsation=pulsation, damping=damping)
    if not np.all(whole := np.less(pulsation, WHOLE)):
        (much,) = first_refused(whole, pulsation)
        raise OutOfRange(f"a swing of tension of {show(much, 'share', 'si')}: from 100% on the strand goes slack in "
                         f"every swing")
    left = np.square(pulsation) - np.square(least_pulsation(damping))
    half = 0.5 * np.sqrt(np.maximum(left, 0.0))
    low, high = (frequency * np.sqrt(2.0 * (side + np.sqrt(side * side + 0.5 * half * half)))
                 for side in (1.0 - half, 1.0 + half))
    return Band(low, high)


def shaken_tensions(excitation: Numbers, margin: Numbers, span: Numbers, mass: Numbers, speed: Numbers,
                    lift: Numbers) -> Band:
    """The static tensions at which a running span comes too near to what shakes it.

    T(f_x (1 -+ margin)) - lift, T of `strand_at_frequency`

    excitation: frequency at which the span is shaken [Hz], scalar or array
    margin:     how near is too near, as a share of the exciting frequency, below 1 [-], scalar or array
    span:       free length between the two points of tangency [m], scalar or array
    mass:       mass per length of one strand [kg/m], scalar or array
    speed:      belt speed [m/s], scalar or array
    lift:       what the running strand carries above its static tension: half the pull, minus on the slack side [N],
                scalar or array
    returns:    static tension from which and up to which it is too near [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values no drive has, and a margin of 1 and more.
    Source: statics

    >>> [round(float(end)) for end in shaken_tensions(25.0, 0.2, span=1.0, mass=0.17, speed=15.0, lift=0.0)]
    [344, 686]
    """
    at_least_zero("number", margin=margin)
    if not np.all(below := np.less(margin, 1.0)):
        (wide,) = first_refused(below, margin)
        raise OutOfRange(f"a margin of {show(wide, 'share', 'si')}: it stays below 100%")
    low, high = (strand_at_frequency(excitation * side, span, mass, speed) for side in (1.0 - margin, 1.0 + margin))
    return Band(low - lift, high - lift)


def clear_window(low: Numbers, high: Numbers, starts: Numbers, ends: Numbers) -> Band:
    """The widest part of a band that none of several stretches covers.

    widest of [low, high] less the union of [start, end]

    low:     where the band begins, scalar or array without the last axis of `starts` [N]
    high:    where the band ends, alike [N]
    starts:  where the stretches begin, one along the last axis; infinite for none [N], array
    ends:    where they end, alike [N]
    returns: from and to [N], shape of the band; both alike where all of it is covered

    Errors: `OutOfRange` for a band that ends before it begins.
    Source: statics

    >>> [float(end) for end in clear_window(100.0, 200.0, np.array([90.0, 150.0]), np.array([120.0, 160.0]))]
    [160.0, 200.0]
    """
    if not np.all(ordered := np.less_equal(low, high)):
        first, last = first_refused(ordered, low, high)
        raise OutOfRange(f"a band from {show(first, 'force', 'si')} to {show(last, 'force', 'si')}: it has to end "
                         f"above its beginning")
    lows, highs = np.asarray(low)[..., np.newaxis], np.asarray(high)[..., np.newaxis]
    clipped = [np.asarray(np.clip(each, lows, highs)) for each in (starts, ends)]
    order = np.argsort(clipped[0], axis=-1)
    from_here, to_here = (np.take_along_axis(each, order, -1) for each in clipped)
    # from the end of all stretches so far to where the next begins
    begins = np.concatenate([lows, np.maximum.accumulate(to_here, axis=-1)], axis=-1)
    stops = np.concatenate([from_here, highs], axis=-1)
    widest = np.argmax(stops - begins, axis=-1, keepdims=True)
    begin, stop = (np.take_along_axis(each, widest, -1)[..., 0] for each in (begins, stops))
    return Band(begin, np.maximum(stop, begin))


@cache
def _limits() -> MarginLimits:
    table = load("whip_margins")
    return MarginLimits(table.column("near")[0], table.column("clear")[0])


@cache
def _damping() -> Damping:
    table = load("whip_damping")
    return Damping(table.column("least")[0], table.column("usual")[0])
