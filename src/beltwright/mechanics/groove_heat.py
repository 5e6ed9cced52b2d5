"""How hot a groove's flanks get while belts slip in it for seconds: iron that is rubbed at its face.

Within a start there is no time to give heat to the air (that is `heat`'s matter): what slip turns into heat soaks into
the metal behind the flanks. Must not import other modules of `mechanics` but `limits` and `starting`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from beltwright.errors import OutOfRange
from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.mechanics.starting import start_practice

# below this time over the metal's own the heat has not met its back yet, above it five terms are exact to 1e-5
_BEGUN = 0.05
_TERMS = 5


def flank_area(diameter: Numbers, thickness: Numbers, half_angle: Numbers, arc: Numbers) -> Numbers:
    """The face of both flanks of one groove that belts rub on.

    A = d/2 · φ · 2 h/cos(β/2)

    diameter:   pitch diameter of the sheave [m], scalar or array
    thickness:  height of the belt, as deep as it sits in the groove [m], scalar or array
    half_angle: half the groove angle [rad], scalar or array
    arc:        part of the rim that is rubbed: a full turn where the sheave turns under the belt, the arc of contact
                where it stands [rad], scalar or array
    returns:    area of one groove [m2], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> round(float(flank_area(0.2, 0.011, np.radians(19), 2 * np.pi)), 5)
    0.01462
    """
    above_zero("length", diameter=diameter, thickness=thickness)
    above_zero("angle", half_angle=half_angle, arc=arc)
    return diameter / 2 * arc * 2 * thickness / np.cos(half_angle)


def groove_warming(time: npt.ArrayLike, heat: npt.ArrayLike, area: float) -> npt.NDArray[np.float64]:
    """How far the flanks of a groove stand above where they began, as heat comes in.

    iron of depth δ, closed at its back: rise of a steady flux q after t is q δ/k (τ + 1/3 − 2/π² Σ exp(−n²π²τ)/n²),
    τ = a t/δ²; a flux that changes is added up from steady ones

    time:    moments, climbing [s], array
    heat:    heat made by slip in one groove up to each of them [J], array
    area:    face of both its flanks that is rubbed [m2]
    returns: rise at each moment [K], array

    Nearly all the heat goes into iron, whose effusivity is some 18 times that of rubber; the metal behind a flank and
    the part that stays in the belt are common practice. An order of size: the mean over the flank, no hot spots.
    Errors: `OutOfRange` for times or heat that fall and for an area of zero or less.
    Source: carslaw1959

    >>> rise = groove_warming([0.0, 1.0, 2.0], [0.0, 1000.0, 1000.0], area=0.01)
    >>> [round(float(each), 1) for each in rise]
    [0.0, 8.0, 3.6]
    """
    t, q = np.asarray(time, dtype=np.float64), np.asarray(heat, dtype=np.float64)
    above_zero("area", area=area)
    at_least_zero("short time", time=t)
    if np.any(np.diff(t) < 0.0) or np.any(np.diff(q) < -1e-9 * max(float(np.max(np.abs(q))), 1.0)):
        raise OutOfRange("times and the heat made up to them must climb")
    kept = np.concatenate(([True], np.diff(t) > 0.0))
    ends, made = t[kept], q[kept]
    if len(ends) < 2:
        return np.zeros_like(t)
    flux = (1.0 - start_practice("heat_to_belt")) * np.diff(made) / np.diff(ends) / area
    since = ends[:, None] - ends[None, :]
    answer = _steady(np.maximum(since, 0.0))
    rise = (answer[:, :-1] - answer[:, 1:]) @ flux
    return np.interp(t, ends, rise)


def _steady(time: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Rise under a steady flux of one, a time after it began."""
    depth, conducts = start_practice("metal_depth"), start_practice("iron_conductivity")
    spreads = conducts / (start_practice("iron_density") * start_practice("iron_heat"))
    tau = spreads * time / depth**2
    late = tau + 1.0 / 3.0 - 2.0 / np.pi**2 * sum(np.exp(-(n * np.pi) ** 2 * tau) / n**2 for n in range(1, _TERMS + 1))
    return depth / conducts * np.where(tau < _BEGUN, 2.0 * np.sqrt(tau / np.pi), late)
