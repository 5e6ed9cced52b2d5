"""What a V groove holds by friction: tension ratio, centrifugal part, power a belt can carry before it slips.

Two ways of writing a strand's tension are in use, and mixing them is the commonest slip in worked examples:

    net      less the centrifugal part m v^2: what presses the belt into the groove. Khurmi, Bansal, Sarkar and
             Jindal write T1, T2 so. Here: `net_tight`, `net_slack`.
    carried  with the centrifugal part: what strains the belt. Shigley's F1, F2. Here: `tight`, `slack`.

Friction knows the net tensions only: (T1 - Tc)/(T2 - Tc) = exp(mu theta / sin(beta/2)). The pull T1 - T2 is the same
either way. Must not import other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.units import show

# Tight over slack at half a turn of contact, the ratio behind the published ratings: exp(0.5123 pi) = 5
HALF_TURN_RATIO: Final = 5.0


class Strands(NamedTuple):
    """Tension of the tight and of the slack side, by one of the two conventions."""

    tight: Numbers
    slack: Numbers


def wedge_ratio(friction: Numbers, wrap: Numbers, half_angle: Numbers) -> Numbers:
    """How many times the slack side's pull a groove can hold on the tight side before the belt slips.

    R = exp(mu theta / sin(beta/2))

    friction:   coefficient of friction of belt on flank [-], scalar or array
    wrap:       arc of contact on the sheave looked at [rad], scalar or array
    half_angle: half the groove angle; a right angle for a flat face [rad], scalar or array
    returns:    ratio of the net tensions [-], shape of the broadcast inputs

    Full slip impending, one coefficient over the whole arc, belt wedged on both flanks and clear of the bottom.
    Errors: `OutOfRange` for values no groove has.
    Source: khurmi, ch. 11

    >>> round(float(wedge_ratio(0.28, np.radians(160), np.radians(22.5))), 3)
    7.715
    """
    above_zero("number", friction=friction)
    above_zero("angle", wrap=wrap, half_angle=half_angle)
    if not np.all(grooved := np.asarray(half_angle) <= np.pi / 2):
        (wide,) = first_refused(grooved, half_angle)
        raise OutOfRange(f"half the groove angle of {show(wide, 'angle', 'si')}: 90° (a flat face) is the most")
    return np.exp(friction * wrap / np.sin(half_angle))


def v_flat_ratio(friction: Numbers, wrap: Numbers, half_angle: Numbers, flat_wrap: Numbers) -> Numbers:
    """The tension ratio of a drive with a grooved small sheave and a flat large one: the side that slips first governs.

    R = exp(min(mu theta / sin(beta/2), mu theta_D))

    friction:   coefficient of friction of belt on flank and on the flat face [-], scalar or array
    wrap:       arc of contact on the grooved sheave [rad], scalar or array
    half_angle: half the groove angle [rad], scalar or array
    flat_wrap:  arc of contact on the flat sheave [rad], scalar or array
    returns:    ratio of the net tensions [-], shape of the broadcast inputs

    The flat face has no wedge but the longer arc; it governs for most groove angles.
    Errors: `OutOfRange` for values no groove has.
    Source: jindal, ex. 21-1

    >>> round(float(v_flat_ratio(0.22, 2.462, np.radians(20), 3.822)), 3)
    2.318
    """
    return np.minimum(wedge_ratio(friction, wrap, half_angle), wedge_ratio(friction, flat_wrap, np.pi / 2))


def ratio_at_arc(wrap: Numbers) -> Numbers:
    """The tension ratio the published ratings and set tensions are worked with, by arc of contact.

    R = 5^(theta/pi) = exp(0.5123 theta)

    wrap:    arc of contact on the sheave with less of it [rad], scalar or array
    returns: ratio of the net tensions [-], shape of `wrap`

    A working value well below full slip, the same for every groove angle: 5 at half a turn.
    Errors: `OutOfRange` for an arc of zero or less.
    Source: shigley, ch. 17, f = 0.5123

    >>> round(float(ratio_at_arc(np.pi)), 12)
    5.0
    """
    above_zero("angle", wrap=wrap)
    return HALF_TURN_RATIO ** (wrap / np.pi)


def working_friction(half_angle: Numbers) -> Numbers:
    """The coefficient of friction that the rule R = 5 at half a turn amounts to in a groove.

    mu = (ln 5 / pi) sin(beta/2)

    half_angle: half the groove angle [rad], scalar or array
    returns:    coefficient of friction of belt on flank [-], shape of `half_angle`

    Not a measured friction: what is left of it after the margin against slip that the rule holds back.
    Errors: `OutOfRange` for an angle of zero or less.
    Source: shigley, ch. 17, f = 0.5123 taken back through the wedge

    >>> round(float(working_friction(np.radians(19))), 3)
    0.167
    """
    above_zero("angle", half_angle=half_angle)
    return np.log(HALF_TURN_RATIO) / np.pi * np.sin(half_angle)


def centrifugal_tension(mass: Numbers, speed: Numbers) -> Numbers:
    """The tension a belt's own mass puts into it going round, the same in both strands.

    Tc = m v^2

    mass:    mass per length of one strand [kg/m], scalar or array
    speed:   belt speed [m/s], scalar or array
    returns: centrifugal tension of one strand [N], shape of the broadcast inputs

    It strains the belt and lifts it out of the groove; it neither grips nor loads the shafts.
    Errors: `OutOfRange` for a mass of zero or less or a negative speed.
    Source: khurmi, ch. 11

    >>> round(float(centrifugal_tension(0.193, 0.15 * 50 * np.pi)), 2)
    107.15
    """
    above_zero("mass per length", mass=mass)
    at_least_zero("speed", speed=speed)
    return mass * (speed * speed)


def net_tensions(pull: Numbers, tension_ratio: Numbers) -> Strands:
    """Both strands' net tensions when a pull is carried at a tension ratio.

    T1 - Tc = Fe R/(R - 1), T2 - Tc = Fe/(R - 1)

    pull:          effective pull on one strand, tight less slack [N], scalar or array
    tension_ratio: tight over slack, both net [-], scalar or array
    returns:       tight and slack, net of the centrifugal part [N], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative pull and for a ratio of one or less, which carries nothing.
    Source: statics

    >>> net_tensions(1000.0, 5.0)
    Strands(tight=1250.0, slack=250.0)
    """
    at_least_zero("force", pull=pull)
    _carries(tension_ratio)
    slack = pull / (tension_ratio - 1.0)
    return Strands(slack * tension_ratio, slack)


def carried_tensions(net_tight: Numbers, net_slack: Numbers, centrifugal: Numbers) -> Strands:
    """What the strands carry in all, from the net tensions: Khurmi's T1, T2 to Shigley's F1, F2.

    F1 = T1 + Tc, F2 = T2 + Tc

    net_tight:   tight side net of the centrifugal part [N], scalar or array
    net_slack:   slack side net of the centrifugal part [N], scalar or array
    centrifugal: tension from the belt's own mass going round [N], scalar or array
    returns:     tight and slack, centrifugal part included [N], shape of the broadcast inputs

    Errors: `OutOfRange` for negative values.
    Source: statics

    >>> carried_tensions(53.0, 11.0, 11.0)
    Strands(tight=64.0, slack=22.0)
    """
    at_least_zero("force", net_tight=net_tight, net_slack=net_slack, centrifugal=centrifugal)
    return Strands(net_tight + centrifugal, net_slack + centrifugal)


def power_at_limit(limit_tension: Numbers, tension_ratio: Numbers, speed: Numbers, mass: Numbers) -> Numbers:
    """The power one belt can carry when its tight side is at the most it may carry.

    P = (Tmax - m v^2) (1 - 1/R) v

    limit_tension: greatest tension of a strand, centrifugal part included [N], scalar or array
    tension_ratio: tight over slack, both net [-], scalar or array
    speed:         belt speed [m/s], scalar or array
    mass:          mass per length of one strand [kg/m], scalar or array
    returns:       power of one belt [W], shape of the broadcast inputs

    Bending of the belt round the sheaves is left out, as in the textbook examples.
    Errors: `OutOfRange` where the belt's own mass already uses up the limit (ask `runs_at` first), or the ratio is one.
    Source: khurmi, ch. 11

    >>> round(float(power_at_limit(800.0, 8.928, 15.708, 0.6)))
    9094
    """
    above_zero("force", limit_tension=limit_tension)
    _carries(tension_ratio)
    if not np.all(runs := runs_at(limit_tension, speed, mass)):
        limit, v, m = first_refused(runs, limit_tension, speed, mass)
        raise OutOfRange(f"belt speed of {show(v, 'speed', 'si')}: at {show((limit / m) ** 0.5, 'speed', 'si')} "
                         f"the belt's own mass takes all that the belt may carry")
    return (limit_tension - centrifugal_tension(mass, speed)) * (1.0 - 1.0 / tension_ratio) * speed


def runs_at(limit_tension: Numbers, speed: Numbers, mass: Numbers) -> Mask:
    """Whether anything is left of the greatest tension at this speed once the belt's own mass has taken its part.

    m v^2 < Tmax

    limit_tension: greatest tension of a strand, centrifugal part included [N], scalar or array
    speed:         belt speed [m/s], scalar or array
    mass:          mass per length of one strand [kg/m], scalar or array
    returns:       true where power can be carried [-], shape of the broadcast inputs

    Errors: `OutOfRange` for a mass of zero or less or a negative speed.
    Source: statics

    >>> bool(runs_at(560.0, speed=45.0, mass=0.35))
    False
    """
    return centrifugal_tension(mass, speed) < limit_tension


def best_speed(limit_tension: Numbers, mass: Numbers) -> Numbers:
    """The belt speed at which a belt of given strength carries the most power.

    v = sqrt(Tmax / (3 m)), where the centrifugal part is a third of the limit

    limit_tension: greatest tension of a strand, centrifugal part included [N], scalar or array
    mass:          mass per length of one strand [kg/m], scalar or array
    returns:       belt speed [m/s], shape of the broadcast inputs

    Strength alone: fatigue, heat and the rim-speed limit of the sheaves usually set a lower speed.
    Errors: `OutOfRange` for values of zero or less.
    Source: khurmi, ch. 11

    >>> round(float(best_speed(560.0, 0.35)), 3)
    23.094
    """
    above_zero("force", limit_tension=limit_tension)
    above_zero("mass per length", mass=mass)
    return np.sqrt(limit_tension / (3.0 * mass))


def _carries(tension_ratio: Numbers) -> None:
    above_zero("number", tension_ratio=tension_ratio)
    if not np.all(pulls := np.asarray(tension_ratio) > 1.0):
        (low,) = first_refused(pulls, tension_ratio)
        raise OutOfRange(f"tension ratio of {low:.2f}: a belt carries power above 1 only")
