"""Static tension: what each strand must pull at rest so that the belts carry their load running, and its bands.

The published forms share one term for the pull and differ in what they add for the belt's own mass:

    form                                 pull term                        mass term   function
    exact mean of strands                (R+1)/(R-1) Pd/(2 N v)           m v^2       `static_from_ratio`
    GB/T 13575.1, SI (the card's)        500 (2.5/K - 1) Pd[kW]/(N v)     m v^2       `static_tension`
    Bloch and Geitner                    K DHP/(N S), 24.75 at 180 deg    m v^2 / 2   `static_bloch`
    RMA, inch                            15 (2.5-G)/G 1000 HP/(N V)       m v^2       `static_rma`

"Initial tension" is a trap. Shigley's Fi leaves the centrifugal part out, (F1+F2)/2 - Fc with carried tensions;
Khurmi, Bansal and Sarkar leave it in, (T1+T2)/2 + Tc with net tensions. Khurmi's T0 = Shigley's Fi + Fc. What a
force gauge or the note of a still span reads is T0. Must not import other modules of `mechanics` but `friction`
and `limits`.
"""

from __future__ import annotations

from functools import cache
from typing import Final, NamedTuple, cast

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Numbers
from beltwright.mechanics.friction import centrifugal_tension, net_tensions, ratio_at_arc
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.tables import load

# 15 lbf kft/min per hp in the RMA form, where the exact mean of strands has 33000/2000 = 16.5: one half becomes 15/33
RMA_SHARE: Final = 15.0 / 33.0
# K = 1.25 (1 - 1/R) reaches this only with a slack side that pulls nothing
ARC_FACTOR_LIMIT: Final = 1.25


class Band(NamedTuple):
    """From low to high, each a number or an array."""

    low: Numbers
    high: Numbers


class SetBands(NamedTuple):
    """The band for belts that have run in, and the one to set new belts to."""

    run_in: Band
    new: Band


def effective_pull(power: Numbers, speed: Numbers) -> Numbers:
    """The pull that does the work: tight side less slack side, over all belts.

    Fe = P / v

    power:   power carried [W], scalar or array
    speed:   belt speed [m/s], scalar or array
    returns: effective pull [N], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative power or a speed of zero or less.
    Source: statics

    >>> effective_pull(7500.0, 15.0)
    500.0
    """
    at_least_zero("power", power=power)
    above_zero("speed", speed=speed)
    return power / speed


def strand_share(wrap: Numbers) -> Numbers:
    """Mean net tension of the two strands per unit of effective pull, at the working ratio for the arc.

    K = (1/2) (R + 1)/(R - 1), R = 5^(theta/pi): 0.75 at half a turn, 24.75 lbf kft/min per hp in the inch form

    wrap:    arc of contact on the sheave with less of it [rad], scalar or array
    returns: mean of strands over pull [-], shape of `wrap`

    Worked out, not copied: the printed table of K by arc was not at hand; its first entry agrees.
    Errors: `OutOfRange` for an arc of zero or less.
    Source: bloch, pp. 326-327 (symbols); table of K derived

    >>> round(float(strand_share(np.pi)), 12)
    0.75
    """
    R = ratio_at_arc(wrap)
    return 0.5 * (R + 1.0) / (R - 1.0)


def static_from_ratio(design_power: Numbers, belts: Numbers, speed: Numbers, mass: Numbers,
                      tension_ratio: Numbers) -> Numbers:
    """Static tension as the exact mean of the running strands, from a tension ratio of one's own choice.

    T = (R + 1)/(R - 1) Pd/(2 N v) + m v^2

    design_power:  power times service factor [W], scalar or array
    belts:         number of belts that share the load [-], scalar or array
    speed:         belt speed [m/s], scalar or array
    mass:          mass per length of one strand [kg/m], scalar or array
    tension_ratio: tight over slack, both net of the centrifugal part [-], scalar or array
    returns:       static tension of one strand, centrifugal part included [N], shape of the broadcast inputs

    Fixed centres and a belt that stretches in proportion to its pull: its length stays, so the mean stays.
    Errors: `OutOfRange` for values no drive has and for a ratio of one or less.
    Source: statics

    >>> round(float(static_from_ratio(7500.0, belts=2, speed=15.0, mass=0.17, tension_ratio=5.0)), 2)
    225.75
    """
    net = net_tensions(_pull_per_belt(design_power, belts, speed), tension_ratio)
    return initial_with_centrifugal(net.tight, net.slack, centrifugal_tension(mass, speed))


def static_tension(design_power: Numbers, belts: Numbers, speed: Numbers, mass: Numbers,
                   arc_factor: Numbers) -> Numbers:
    """Static tension of one strand, the form the card uses: the least at which the belts carry the design power.

    T = 500 (2.5/K - 1) Pd[kW]/(N v) + m v^2; in SI, 1/2 (2.5/K - 1) Pd/(N v) + m v^2

    design_power: power times service factor [W], scalar or array
    belts:        number of belts fitted [-], scalar or array
    speed:        belt speed [m/s], scalar or array
    mass:         mass per length of one strand [kg/m], scalar or array
    arc_factor:   arc-of-contact correction of the sheave with less wrap, 1 at half a turn [-], scalar or array
    returns:      static tension of one strand, centrifugal part included [N], shape of the broadcast inputs

    Why this form and not another: it is the only published one that holds exactly. A belt at rest is a closed loop at
    one tension. On fixed centres its length stays the same when it runs, so (stretch being in proportion to pull) the
    mean of the carried strand tensions stays the same too: T = (T1 + T2)/2 + m v^2 with T1, T2 net. With the ratio
    the belts are rated at, R = 5^(theta/pi), and K = 1.25 (1 - 1/R), the term (2.5/K - 1) is (R + 1)/(R - 1) exactly:
    the mean of strands per half the pull. Half of m v^2 (Bloch) or none (Shigley's Fi) would leave the running belt
    with less grip than worked out; 15 for 16.5 (RMA) sets a tenth less for the pull.
    A printed K, rounded to two digits, moves the result by up to 1 percent. Slide rails locked; a sprung or pivoted
    base holds the pull on the shafts instead, and the tension with it.
    Errors: `OutOfRange` for values no drive has and an arc factor outside 0 to 1.25.
    Source: gbt13575

    >>> round(float(static_tension(7500.0, belts=2, speed=15.0, mass=0.17, arc_factor=1.0)), 2)
    225.75
    """
    _arc_factor(arc_factor)
    return (0.5 * (2.5 / arc_factor - 1.0) * _pull_per_belt(design_power, belts, speed)
            + centrifugal_tension(mass, speed))


def power_held(tension: Numbers, belts: Numbers, speed: Numbers, mass: Numbers, arc_factor: Numbers) -> Numbers:
    """The power that belts at a given static tension carry at their working ratio: the card's form turned round.

    P = 2 (T - m v^2) N v / (2.5/K - 1)

    tension:    static tension of one strand as set or measured [N], scalar or array
    belts:      number of belts at that tension [-], scalar or array
    speed:      belt speed [m/s], scalar or array
    mass:       mass per length of one strand [kg/m], scalar or array
    arc_factor: arc-of-contact correction of the sheave with less wrap, 1 at half a turn [-], scalar or array
    returns:    power, service factor included [W], shape of the broadcast inputs; negative where running takes more
                than the tension set, so that the belts carry nothing

    Not the power at which they slip: the working ratio of 5 at half a turn keeps a margin.
    Errors: `OutOfRange` for values no drive has and an arc factor outside 0 to 1.25.
    Source: gbt13575

    >>> round(float(power_held(225.75, belts=2, speed=15.0, mass=0.17, arc_factor=1.0)), 6)
    7500.0
    """
    above_zero("force", tension=tension)
    above_zero("number", belts=belts)
    above_zero("speed", speed=speed)
    _arc_factor(arc_factor)
    return 2.0 * (tension - centrifugal_tension(mass, speed)) * belts * speed / (2.5 / arc_factor - 1.0)


def static_bloch(design_power: Numbers, belts: Numbers, speed: Numbers, mass: Numbers, wrap: Numbers) -> Numbers:
    """Static tension by the maintenance handbook's form: only half of the centrifugal part is added.

    Ts = K DHP/(N S) + M S^2/2; in SI, K Pd/(N v) + m v^2/2

    design_power: power times service factor [W], scalar or array
    belts:        number of belts [-], scalar or array
    speed:        belt speed [m/s], scalar or array
    mass:         mass per length of one strand [kg/m], scalar or array
    wrap:         arc of contact on the sheave with less of it [rad], scalar or array
    returns:      static tension of one strand, half the centrifugal part included [N], shape of the broadcast inputs

    For comparison; below the card's value by m v^2/2. K and M are worked out (`strand_share`), as the printed tables
    were not at hand.
    Errors: `OutOfRange` for values no drive has.
    Source: bloch, pp. 326-327

    >>> round(float(static_bloch(7500.0, belts=2, speed=15.0, mass=0.17, wrap=np.pi)), 3)
    206.625
    """
    return (strand_share(wrap) * _pull_per_belt(design_power, belts, speed)
            + 0.5 * centrifugal_tension(mass, speed))


def static_rma(design_power: Numbers, belts: Numbers, speed: Numbers, mass: Numbers, arc_factor: Numbers) -> Numbers:
    """Static tension by the rubber makers' inch form, from memory: the exact 16.5 rounded down to 15.

    T = 15 (2.5 - G)/G 1000 HP/(N V) + M V^2/10^6; in SI, (15/33) (2.5/G - 1) Pd/(N v) + m v^2

    design_power: power times service factor [W], scalar or array
    belts:        number of belts [-], scalar or array
    speed:        belt speed [m/s], scalar or array
    mass:         mass per length of one strand [kg/m], scalar or array
    arc_factor:   arc-of-contact correction of the sheave with less wrap, 1 at half a turn [-], scalar or array
    returns:      static tension of one strand, centrifugal part included [N], shape of the broadcast inputs

    For comparison; from memory, not verified. The pull term is 10/11 of the card's.
    Errors: `OutOfRange` for values no drive has and an arc factor outside 0 to 1.25.
    Source: ip20-1988

    >>> round(float(static_rma(7500.0, belts=2, speed=15.0, mass=0.17, arc_factor=1.0)), 3)
    208.705
    """
    _arc_factor(arc_factor)
    return (RMA_SHARE * (2.5 / arc_factor - 1.0) * _pull_per_belt(design_power, belts, speed)
            + centrifugal_tension(mass, speed))


def initial_with_centrifugal(net_tight: Numbers, net_slack: Numbers, centrifugal: Numbers) -> Numbers:
    """Initial tension as Khurmi, Bansal and Sarkar define it: what a gauge reads on the still belt.

    T0 = (T1 + T2 + 2 Tc)/2, T1 and T2 net

    net_tight:   tight side net of the centrifugal part [N], scalar or array
    net_slack:   slack side net of the centrifugal part [N], scalar or array
    centrifugal: tension from the belt's own mass going round [N], scalar or array
    returns:     initial tension, centrifugal part included [N], shape of the broadcast inputs

    Errors: `OutOfRange` for negative values.
    Source: khurmi, ch. 11

    >>> round(float(initial_with_centrifugal(651.96, 73.03, 148.04)), 3)
    510.535
    """
    at_least_zero("force", net_tight=net_tight, net_slack=net_slack, centrifugal=centrifugal)
    return 0.5 * (net_tight + net_slack) + centrifugal


def initial_without_centrifugal(tight: Numbers, slack: Numbers, centrifugal: Numbers) -> Numbers:
    """Initial tension as Shigley defines it: the mean grip of the running belt, less than a gauge reads at rest.

    Fi = (F1 + F2)/2 - Fc, F1 and F2 carried

    tight:       tight side, centrifugal part included [N], scalar or array
    slack:       slack side, centrifugal part included [N], scalar or array
    centrifugal: tension from the belt's own mass going round [N], scalar or array
    returns:     initial tension, centrifugal part left out [N], shape of the broadcast inputs

    Errors: `OutOfRange` for negative values.
    Source: shigley, ch. 17

    >>> round(float(initial_without_centrifugal(64.4, 22.2, 11.1)), 1)
    32.2
    """
    at_least_zero("force", tight=tight, slack=slack, centrifugal=centrifugal)
    return 0.5 * (tight + slack) - centrifugal


def set_bands(tension: Numbers) -> SetBands:
    """The bands to set belts to, around their static tension: run-in belts, and new ones that still have to seat.

    run-in belts T to 1.5 T; new belts 1.5 T to 2 T

    tension: static tension worked out for one strand [N], scalar or array
    returns: bands of static tension of one strand [N], each end in the shape of `tension`

    Run-in: Bloch's P_min to P_max and the army manual agree. New: the low end is the top of the run-in band (also the
    metric standard's 1.5), the high end is the most that Bloch (1.33 x 1.5 = 1.995) and the army manual (2) allow.
    The metric standard stays lower, 1.3 run in and 1.5 new; table `tension_bands` shows all of them side by side.
    The shares hold for tension. The force at the mark carries the stiffness allowance on top, unmultiplied, as in
    P_max = (1.5 T + Y)/16.
    Errors: `OutOfRange` for a tension of zero or less.
    Source: bloch, pp. 326-327

    >>> set_bands(200.0)
    SetBands(run_in=Band(low=200.0, high=300.0), new=Band(low=300.0, high=400.0))
    """
    above_zero("force", tension=tension)
    (used_low, used_high), (new_low, new_high) = _shares("run-in"), _shares("new")
    return SetBands(Band(tension * used_low, tension * used_high), Band(tension * new_low, tension * new_high))


@cache
def _shares(belts: str) -> tuple[float, float]:
    row = load("tension_bands").where(by="beltwright", belts=belts)[0]
    return cast(float, row["low"]), cast(float, row["high"])


def _pull_per_belt(design_power: Numbers, belts: Numbers, speed: Numbers) -> Numbers:
    above_zero("number", belts=belts)
    return effective_pull(design_power, speed) / belts


def _arc_factor(arc_factor: Numbers) -> None:
    above_zero("number", arc_factor=arc_factor)
    if not np.all(possible := np.asarray(arc_factor) < ARC_FACTOR_LIMIT):
        (high,) = first_refused(possible, arc_factor)
        raise OutOfRange(f"arc factor of {high:.2f}: V-belt factors stay below {ARC_FACTOR_LIMIT}")
