"""Tension by pressing a span in at its middle: force from tension, tension from force, what the belt's stiffness adds.

A string at tension T, span t, pressed in by h, pushes back with 4 T h/t. A belt pushes back harder: pressing makes the
span longer by about 2 h^2/t, and that stretch adds to the tension. The published rule puts this into an allowance Y
at the one deflection h = t/64: P = (T + Y)/16. That Y is stretch shows in the rule for a lone belt, Y t/L: its sheaves
turn freely, so the whole length L shares what otherwise the span t takes alone. Stretch grows with the square of
the deflection, so at any other h the allowance is Y (64 h/t)^2; at t/64 both say the same. (Handbook tables of ready
forces are another thing: they hold for 1000 to 3000 ft/min and are cut by 20 percent above that speed, Mobley ch. 58.
The forms here carry the speed in the tension.) The allowance of a section is in `sections.stiffness_of`.

Must not import other modules of `mechanics` but `tension` and `limits`.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.mechanics.tension import Band, SetBands
from beltwright.units import INCH, show

# 1/64 in per inch of span: the mark at which published forces and allowances hold
MARK: Final = 1.0 / 64.0
# up to here the straight rule P = 4 T h/t is within 1 percent of the exact triangle of forces
STEEPEST: Final = 1.0 / 16.0
# one thickness of belt per so much span, the old rule by eye
COARSE_SPAN: Final = 48.0 * INCH


def mark_deflection(span: Numbers) -> Numbers:
    """How far to press the span in: 1/64 in for each inch of span.

    h = t/64

    span:    free length between the two points of tangency [m], scalar or array
    returns: deflection at mid-span [m], shape of `span`

    Metric standards say 1.6 mm per 100 mm, which is 2.4 percent more.
    Errors: `OutOfRange` for a span of zero or less.
    Source: bloch, pp. 326-327; the army manual tm5-4310 alike

    >>> mark_deflection(0.64)
    0.01
    """
    above_zero("length", span=span)
    return span * MARK


def coarse_deflection(span: Numbers, thickness: Numbers) -> Numbers:
    """The old rule by eye: a belt yields by its own thickness for every 48 in of span. A coarse check only.

    h = h_b t/(48 in)

    span:      free length between the two points of tangency [m], scalar or array
    thickness: height of the belt's section [m], scalar or array
    returns:   deflection at mid-span under a firm hand [m], shape of the broadcast inputs

    The force is not stated, so this tells a slack belt from a tight one and no more.
    Errors: `OutOfRange` for values of zero or less.
    Source: mo206

    >>> round(float(coarse_deflection(1.2192, 0.011)), 6)
    0.011
    """
    above_zero("length", span=span, thickness=thickness)
    return thickness * span / COARSE_SPAN


def lone_belt_allowance(allowance: Numbers, span: Numbers, length: Numbers) -> Numbers:
    """The allowance of a drive's only belt, whose whole length shares the stretch because nothing holds the sheaves.

    Y t/L in place of Y

    allowance: stiffness allowance Y of the section [N], scalar or array
    span:      free length between the two points of tangency [m], scalar or array
    length:    length of the belt, once round [m], scalar or array
    returns:   allowance of the lone belt [N], shape of the broadcast inputs

    One belt, fixed centres, sheaves free to turn. With two belts or more the others hold the sheaves.
    Errors: `OutOfRange` for values no drive has; a span is always shorter than half the belt.
    Source: bloch, pp. 326-327

    >>> lone_belt_allowance(20.0, span=0.5, length=2.0)
    5.0
    """
    at_least_zero("force", allowance=allowance)
    above_zero("length", span=span, length=length)
    if not np.all(goes_round := np.asarray(2.0 * span < length)):
        t, once_round = (show(value, "length", "si") for value in first_refused(goes_round, span, length))
        raise OutOfRange(f"a span of {t} on a belt of {once_round}: it must be shorter than half the belt")
    return allowance * span / length


def stretch_allowance(axial_rigidity: Numbers, span: Numbers, stretched: Numbers) -> Numbers:
    """The allowance that stretch alone accounts for, from the belt's own stretch stiffness.

    Y = EA t/(2048 l), the small-deflection limit of `pressed_force`

    axial_rigidity: pull per unit of strain of one strand [N], scalar or array
    span:           free length between the two points of tangency [m], scalar or array
    stretched:      length that shares the stretch: `span` if the sheaves are held, the belt's length if free [m],
                    scalar or array
    returns:        allowance at 1/64 of the span [N], shape of the broadcast inputs

    Bending stiffness comes on top on short thick spans and is left out.
    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> stretch_allowance(40960.0, span=0.5, stretched=0.5)
    20.0
    """
    above_zero("force", axial_rigidity=axial_rigidity)
    above_zero("length", span=span, stretched=stretched)
    return 2.0 * MARK**2 * axial_rigidity * span / stretched


def force_at_mark(tension: Numbers, allowance: Numbers) -> Numbers:
    """The force that presses a span in by 1/64 of its length, as published.

    P = (T + Y)/16

    tension:   static tension of one strand [N], scalar or array
    allowance: stiffness allowance Y of the belt [N], scalar or array
    returns:   force on one belt at mid-span, square to the span [N], shape of the broadcast inputs

    Errors: `OutOfRange` for a tension of zero or less or a negative allowance.
    Source: bloch, pp. 326-327

    >>> force_at_mark(300.0, 20.0)
    20.0
    """
    above_zero("force", tension=tension)
    at_least_zero("force", allowance=allowance)
    return 4.0 * MARK * (tension + allowance)


def deflection_force(tension: Numbers, span: Numbers, deflection: Numbers, allowance: Numbers) -> Numbers:
    """The force that presses a span in by any small deflection.

    P = (4 h/t) (T + Y (64 h/t)^2)

    tension:    static tension of one strand [N], scalar or array
    span:       free length between the two points of tangency [m], scalar or array
    deflection: at mid-span, square to the span [m], scalar or array
    allowance:  stiffness allowance Y of the belt at 1/64 of the span [N], scalar or array
    returns:    force on one belt at mid-span [N], shape of the broadcast inputs

    At 1/64 of the span this is the published (T + Y)/16; elsewhere the allowance goes as the stretch does.
    Errors: `OutOfRange` for values no drive has and a deflection of more than 1/16 of the span.
    Source: statics

    >>> deflection_force(300.0, span=0.64, deflection=0.01, allowance=20.0)
    20.0
    """
    above_zero("force", tension=tension)
    at_least_zero("force", allowance=allowance)
    slope = _slope(span, deflection)
    return 4.0 * slope * (tension + allowance * (slope / MARK) ** 2)


def tension_from_force(force: Numbers, span: Numbers, deflection: Numbers, allowance: Numbers) -> Numbers:
    """Static tension of a strand from the force that presses it in by a deflection.

    T = P t/(4 h) - Y (64 h/t)^2

    force:      on one belt at mid-span, square to the span [N], scalar or array
    span:       free length between the two points of tangency [m], scalar or array
    deflection: at mid-span [m], scalar or array
    allowance:  stiffness allowance Y of the belt at 1/64 of the span [N], scalar or array
    returns:    static tension of one strand [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values no drive has, a deflection of more than 1/16 of the span, and a force that the
    stiffness alone would give (ask `force_tells` first).
    Source: statics

    >>> tension_from_force(20.0, span=0.64, deflection=0.01, allowance=20.0)
    300.0
    """
    tension = _string_tension(force, span, deflection, allowance)
    if not np.all(tells := tension > 0.0):
        (low,) = first_refused(tells, force)
        raise OutOfRange(f"a force of {show(low, 'force', 'si', digits=1)} is no more than the belt's own stiffness "
                         f"gives: the span hangs slack, or deflection or section are not what was noted")
    return tension


def force_tells(force: Numbers, span: Numbers, deflection: Numbers, allowance: Numbers) -> Mask:
    """Whether a force is more than the belt's stiffness alone gives, so that a tension can be told from it.

    P > (4 h/t) Y (64 h/t)^2

    force:      on one belt at mid-span [N], scalar or array
    span:       free length between the two points of tangency [m], scalar or array
    deflection: at mid-span [m], scalar or array
    allowance:  stiffness allowance Y of the belt at 1/64 of the span [N], scalar or array
    returns:    true where it can [-], shape of the broadcast inputs

    Errors: `OutOfRange` as `tension_from_force`, but for the force.
    Source: statics

    >>> bool(force_tells(1.0, span=0.64, deflection=0.01, allowance=20.0))
    False
    """
    return _string_tension(force, span, deflection, allowance) > 0.0


def pressed_force(tension: Numbers, span: Numbers, deflection: Numbers, axial_rigidity: Numbers,
                  stretched: Numbers) -> Numbers:
    """The force that presses a span in, exact at any deflection, the belt stretching as it gives way.

    s = sqrt((t/2)^2 + h^2), e = (2 s - t)/l, T' = T + (EA + T) e, P = 2 T' h/s

    tension:        static tension of one strand before pressing [N], scalar or array
    span:           free length between the two points of tangency [m], scalar or array
    deflection:     at mid-span, square to the span [m], scalar or array
    axial_rigidity: pull per unit of strain of one strand [N], scalar or array
    stretched:      length that shares the stretch: `span` if the sheaves are held, the belt's length if free [m],
                    scalar or array
    returns:        force on one belt at mid-span [N], shape of the broadcast inputs

    Linear stretch counted on the unstretched length, hence EA + T; no bending stiffness; the points of tangency stay.
    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> round(float(pressed_force(300.0, span=0.64, deflection=0.01, axial_rigidity=40960.0, stretched=0.64)), 2)
    20.0
    """
    above_zero("force", tension=tension, axial_rigidity=axial_rigidity)
    side, strain = _triangle(span, deflection, stretched)
    return 2.0 * (tension + (axial_rigidity + tension) * strain) * deflection / side


def tension_from_pressed(force: Numbers, span: Numbers, deflection: Numbers, axial_rigidity: Numbers,
                         stretched: Numbers) -> Numbers:
    """Static tension before pressing, from force and deflection, with the stretch of the pressed span taken out.

    T = (P s/(2 h) - EA e)/(1 + e), s and e as in `pressed_force`

    force:          on one belt at mid-span, square to the span [N], scalar or array
    span:           free length between the two points of tangency [m], scalar or array
    deflection:     at mid-span [m], scalar or array
    axial_rigidity: pull per unit of strain of one strand [N], scalar or array
    stretched:      length that shares the stretch: `span` if the sheaves are held, the belt's length if free [m],
                    scalar or array
    returns:        static tension of one strand [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less and a force that the stretch alone would give.
    Source: statics

    >>> round(float(tension_from_pressed(20.0, span=0.64, deflection=0.01, axial_rigidity=40960.0, stretched=0.64)), 1)
    300.0
    """
    above_zero("force", force=force, axial_rigidity=axial_rigidity)
    side, strain = _triangle(span, deflection, stretched)
    tension = (0.5 * force * side / deflection - axial_rigidity * strain) / (1.0 + strain)
    if not np.all(tells := tension > 0.0):
        (low,) = first_refused(tells, force)
        raise OutOfRange(f"a force of {show(low, 'force', 'si', digits=1)} is no more than stretching the span takes: "
                         f"it hung slack, or deflection or stiffness are not what was noted")
    return tension


def force_on_band(force: Numbers, belts: Numbers) -> Numbers:
    """The force on a whole joined band, pressed across its full width, from the force on one belt.

    P_band = N P

    force:   on one belt at mid-span [N], scalar or array
    belts:   number of belts joined in the band [-], scalar or array
    returns: force on the band [N], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> force_on_band(20.0, 3)
    60.0
    """
    above_zero("force", force=force)
    above_zero("number", belts=belts)
    return force * belts


def force_per_belt(force: Numbers, belts: Numbers) -> Numbers:
    """The force that each belt of a joined band has its share of, from the force on the whole band.

    P = P_band/N

    force:   on the whole band at mid-span [N], scalar or array
    belts:   number of belts joined in the band [-], scalar or array
    returns: force on one belt [N], shape of the broadcast inputs

    The band is pressed across its full width; the belts in it cannot be told apart.
    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> force_per_belt(60.0, 3)
    20.0
    """
    above_zero("force", force=force)
    above_zero("number", belts=belts)
    return force / belts


def force_bands(bands: SetBands, allowance: Numbers) -> SetBands:
    """The bands of tension as force at 1/64 of the span, per belt.

    P = (T + Y)/16 at each end

    bands:     bands of static tension for run-in and for new belts [N], each end scalar or array
    allowance: stiffness allowance Y of the belt [N], scalar or array
    returns:   bands of force on one belt at mid-span [N], each end in the broadcast shape

    Errors: `OutOfRange` for a tension of zero or less or a negative allowance.
    Source: bloch, pp. 326-327

    >>> force_bands(SetBands(Band(300.0, 460.0), Band(460.0, 620.0)), 20.0).run_in
    Band(low=20.0, high=30.0)
    """
    return SetBands(*(Band(force_at_mark(band.low, allowance), force_at_mark(band.high, allowance)) for band in bands))


def _slope(span: Numbers, deflection: Numbers) -> Numbers:
    above_zero("length", span=span, deflection=deflection)
    slope = deflection / span
    if not np.all(small := np.asarray(slope) <= STEEPEST):
        t, h = (show(value, "length", "si", digits=1) for value in first_refused(small, span, deflection))
        raise OutOfRange(f"a deflection of {h} on a span of {t} is past what this rule holds for: press in by 1/64 of "
                         f"the span, at most 1/16")
    return slope


def _string_tension(force: Numbers, span: Numbers, deflection: Numbers, allowance: Numbers) -> Numbers:
    above_zero("force", force=force)
    at_least_zero("force", allowance=allowance)
    slope = _slope(span, deflection)
    return force / (4.0 * slope) - allowance * (slope / MARK) ** 2


def _triangle(span: Numbers, deflection: Numbers, stretched: Numbers) -> tuple[Numbers, Numbers]:
    """Half the pressed span along the belt, and the strain that pressing adds."""
    above_zero("length", span=span, deflection=deflection, stretched=stretched)
    side = np.hypot(0.5 * span, deflection)
    # (2 s - t) written without the difference of nearly equal numbers
    return side, 4.0 * deflection**2 / ((2.0 * side + span) * stretched)
