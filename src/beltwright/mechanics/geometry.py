"""The plane geometry of an open belt drive: length, centre distance, wrap, span, speeds.

`driver` and `driven` are diameters on the same line as the belt's length: datum diameters with a datum length, outside
(effective) diameters with an outside (effective) length, pitch with pitch. Which sheave is the larger one does not
matter. Exact forms first; the textbook approximations stand beside them for checks by hand. Knows nothing of
sections, tensions or records; imports `units` (to show numbers in a refusal) and `errors` only.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.errors import Infeasible, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.units import show

# drives solved together: the arrays of one block stay in the processor's cache, which halves the time per drive
_BLOCK: Final = 16384
# a step this small, relative, leaves an error of its cube: below the rounding of a double
_LAST_STEP: Final = 1e-5
# two or three steps do for any drive that is built; a driver of no size at all needs about forty
_STEPS: Final = 80
# touching sheaves whose centre distance or belt length was rounded down in its last digits are still touching
_CENTRE_ROUNDING: Final = 1 - 1e-12
_LENGTH_ROUNDING: Final = 1 - 1e-14


class Wraps(NamedTuple):
    """Arc of contact on each sheave [rad]; together always one full turn."""

    driver: Numbers
    driven: Numbers


def belt_length(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    """Length of an open belt around two sheaves, exact.

    L = 2 C cos a + (π/2)(D + d) + a (D - d),  sin a = (D - d)/(2 C)

    driver:  diameter of the driving sheave on the belt's length line [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: belt length on that line [m], shape of the broadcast inputs

    Two strands, straight spans, sheaves in one plane. `Infeasible` where the sheaves would overlap.
    Source: statics

    >>> round(float(belt_length(0.3, 0.6, centre=0.9)), 4)
    3.2388
    """
    _refuse_overlap(driver, driven, centre)
    return _path(driver, driven, centre)


def wraps(driver: Numbers, driven: Numbers, centre: Numbers) -> Wraps:
    """Arc of contact on the driving and on the driven sheave.

    θ = π - 2 a on the driver, π + 2 a on the driven, sin a = (D - d)/(2 C)

    driver:  diameter of the driving sheave [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: wrap on the driver and on the driven sheave [rad], shape of the broadcast inputs

    `Infeasible` where the sheaves would overlap.
    Source: statics

    >>> [round(float(np.degrees(arc)), 1) for arc in wraps(4.0, 6.0, centre=19.12)]
    [174.0, 186.0]
    """
    _refuse_overlap(driver, driven, centre)
    lean = _lean(driver, driven, centre)
    return Wraps(np.pi - 2 * lean, np.pi + 2 * lean)


def free_span(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    """Free length of belt between the two points of tangency.

    t = √(C² - ((D - d)/2)²)

    driver:  diameter of the driving sheave [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: span [m], shape of the broadcast inputs

    `Infeasible` where the sheaves would overlap.
    Source: bloch

    >>> round(float(free_span(0.3, 0.6, centre=0.9)), 4)
    0.8874
    """
    _refuse_overlap(driver, driven, centre)
    return _span(driver, driven, centre)


def belt_speed(diameter: Numbers, rotation: Numbers) -> Numbers:
    """Speed of the belt from the sheave it runs on; with the outside diameter, the speed of the rim.

    v = ω d / 2

    diameter: pitch diameter for the belt's speed, outside diameter for the rim's [m], scalar or array
    rotation: angular speed of that sheave [rad/s], scalar or array
    returns:  speed [m/s], shape of the broadcast inputs

    No slip on that sheave.
    Source: statics

    >>> belt_speed(0.3, 100.0)
    15.0
    """
    return rotation * diameter / 2


def speed_ratio(driver: Numbers, driven: Numbers) -> Numbers:
    """Speed ratio of the drive, one or more whether it slows down or speeds up.

    i = larger / smaller diameter

    driver:  pitch diameter of the driving sheave [m], scalar or array
    driven:  pitch diameter of the driven sheave [m], scalar or array
    returns: ratio [-], shape of the broadcast inputs

    No slip.
    Source: statics

    >>> float(speed_ratio(0.3, 0.15))
    2.0
    """
    return np.maximum(driver, driven) / np.minimum(driver, driven)


def driven_rotation(driver: Numbers, driven: Numbers, rotation: Numbers) -> Numbers:
    """Angular speed of the driven sheave when nothing slips.

    ω_2 = ω d / D

    driver:   pitch diameter of the driving sheave [m], scalar or array
    driven:   pitch diameter of the driven sheave [m], scalar or array
    rotation: angular speed of the driving sheave [rad/s], scalar or array
    returns:  angular speed of the driven sheave [rad/s], shape of the broadcast inputs

    Slip makes the real one lower.
    Source: statics

    >>> driven_rotation(0.15, 0.3, 150.0)
    75.0
    """
    return rotation * driver / driven


def shortest_length(driver: Numbers, driven: Numbers) -> Numbers:
    """The shortest belt these sheaves can take: the one that fits when they touch.

    L_exact at C = (D + d)/2

    driver:  diameter of the driving sheave on the belt's length line [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    returns: belt length on that line [m], shape of the broadcast inputs

    Rims stand out beyond the datum line, so on datum diameters the true limit lies a little higher.
    Source: statics

    >>> round(float(shortest_length(0.2, 0.2)), 4)
    1.0283
    """
    return _path(driver, driven, np.add(driver, driven) / 2)


def feasible(driver: Numbers, driven: Numbers, length: Numbers) -> Mask:
    """Whether a belt of this length can go round these two sheaves at all.

    d > 0, D > 0, L ≥ the length at which the sheaves touch, all finite

    driver:  diameter of the driving sheave on the belt's length line [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    length:  belt length on that line [m], scalar or array
    returns: true where `centre_from_length` has an answer [-], shape of the broadcast inputs

    Source: statics

    >>> [bool(fits) for fits in feasible(0.3, 0.6, np.array([2.0, 3.2]))]
    [False, True]
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        return (np.greater(driver, 0) & np.greater(driven, 0) & np.isfinite(length)
                & np.greater_equal(length, shortest_length(driver, driven) * _LENGTH_ROUNDING))


def centre_from_length(driver: Numbers, driven: Numbers, length: Numbers) -> Numbers:
    """Centre distance at which a belt of this length is just taut on these sheaves, exact.

    t + u atan(u/t) = h,  C = √(t² + u²),  h = (L - (π/2)(D + d))/2,  u = |D - d|/2

    driver:  diameter of the driving sheave on the belt's length line [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    length:  belt length on that line [m], scalar or array
    returns: centre distance [m], shape of the broadcast inputs

    In z = t/h and y = u/h the equation is f(z) = z + y atan(y/z) - 1 = 0, which rises and is hollow upwards
    (f' = z²/(z² + y²), f'' > 0). The textbook form gives a start that is never too small, so Halley's steps come
    down on the root from above and cannot miss it, whatever the ratio.
    `Infeasible` where the belt is too short (with the length needed); `OutOfRange` for a diameter that is none.
    Source: statics

    >>> round(float(centre_from_length(4.0, 6.0, length=54.0)), 2)
    19.12
    """
    sheave, other, belt = np.broadcast_arrays(driver, driven, length)
    flat = [np.ascontiguousarray(side, dtype=np.float64).reshape(-1) for side in (sheave, other, belt)]
    result = np.empty(flat[0].size)
    for start in range(0, result.size, _BLOCK):
        part = slice(start, start + _BLOCK)
        block = [side[part] for side in flat]
        if not np.all(feasible(*block)):
            _refuse_length(*flat)
        _solve_centre(block, result[part])
    return result.reshape(sheave.shape)[()]


def _solve_centre(block: list[npt.NDArray[np.float64]], centre: npt.NDArray[np.float64]) -> None:
    """Write the centre distances of one block of feasible drives into `centre`; in place, to stay in cache."""
    driver, driven, length = block
    h = (length - (np.pi / 2) * (driver + driven)) / 2
    y = np.abs(driven - driver)
    y /= 2 * h
    # y < 2/π for every feasible drive; only rounding can take touching sheaves of extreme ratio past it
    np.minimum(y, 2 / np.pi, out=y)
    w = y * y
    # start: C/h = (1 + √(1 - 2 y²))/2, the textbook form; 2 y² < 8/π² < 1
    z = np.sqrt(1 - 2 * w)
    z += 1
    z *= z
    z /= 4
    z -= w
    np.sqrt(z, out=z)
    f, below, scratch = np.empty_like(z), np.empty_like(z), np.empty_like(z)
    for _ in range(_STEPS):
        np.divide(y, z, out=f)
        np.arctan(f, out=f)
        f *= y
        f += z
        f -= 1
        # Halley: step = (f/f') / (1 - f f''/(2 f'²)) = f z (z² + w) / (z³ - f w)
        np.multiply(z, z, out=scratch)
        np.multiply(scratch, z, out=below)
        scratch += w
        scratch *= z
        scratch *= f
        f *= w
        below -= f
        scratch /= below
        z -= scratch
        scratch /= z
        if np.max(np.abs(scratch, out=scratch)) < _LAST_STEP:
            break
    z *= z
    z += w
    np.sqrt(z, out=z)
    np.multiply(z, h, out=centre)


def length_per_centre(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    """How much longer the belt's path grows per unit of motor movement along the line of centres.

    dL/dC = 2 cos a,  sin a = (D - d)/(2 C)

    driver:  diameter of the driving sheave [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: change of length per change of centre distance [m/m], shape of the broadcast inputs

    Source: statics

    >>> float(length_per_centre(0.3, 0.3, centre=0.9))
    2.0
    """
    return 2 * free_span(driver, driven, centre) / centre


def centre_per_length(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    """How far the centre distance moves per unit of belt length: what a belt longer than marked does to the motor.

    dC/dL = 1/(2 cos a),  sin a = (D - d)/(2 C)

    driver:  diameter of the driving sheave [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: change of centre distance per change of length [m/m], shape of the broadcast inputs

    Source: statics

    >>> float(centre_per_length(0.3, 0.3, centre=0.9))
    0.5
    """
    return centre / (2 * free_span(driver, driven, centre))


def span_per_centre(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    """How much longer the free span grows per unit of motor movement along the line of centres.

    dt/dC = 1/cos a,  sin a = (D - d)/(2 C)

    driver:  diameter of the driving sheave [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: change of span per change of centre distance [m/m], shape of the broadcast inputs

    More than one on unequal sheaves, because the wrap on the small one grows at the cost of the large one.
    Source: statics

    >>> float(span_per_centre(0.3, 0.3, centre=0.9))
    1.0
    """
    return centre / free_span(driver, driven, centre)


def length_approximate(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    """Length of an open belt by the textbook form, for checks by hand.

    L = 2 C + (π/2)(D + d) + (D - d)²/(4 C)

    driver:  diameter of the driving sheave [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: belt length [m], shape of the broadcast inputs

    Reads short, by (D - d)⁴/(192 C³) and a little more, never above (D - d)⁴/(113 C³).
    `Infeasible` where the sheaves would overlap.
    Source: shigley

    >>> round(float(length_approximate(4.0, 6.0, centre=19.0)), 3)
    53.761
    """
    _refuse_overlap(driver, driven, centre)
    return 2 * centre + (np.pi / 2) * np.add(driver, driven) + np.subtract(driven, driver) ** 2 / (4 * centre)


def centre_approximate(driver: Numbers, driven: Numbers, length: Numbers) -> Numbers:
    """Centre distance from belt length by the textbook form, for checks by hand.

    C = (K + √(K² - 2 (D - d)²))/4,  K = L - (π/2)(D + d)

    driver:  diameter of the driving sheave [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    length:  belt length on that line [m], scalar or array
    returns: centre distance [m], shape of the broadcast inputs

    Never below the exact centre distance; 5.3 % above it at worst up to ratio 15 (sheaves touching).
    `Infeasible` where the belt is too short.
    Source: shigley

    >>> round(float(centre_approximate(4.0, 6.0, length=54.0)), 2)
    19.12
    """
    if not np.all(feasible(driver, driven, length)):
        _refuse_length(driver, driven, length)
    K = length - (np.pi / 2) * np.add(driver, driven)
    return (K + np.sqrt(K**2 - 2 * np.subtract(driven, driver) ** 2)) / 4


def feasible_centre(driver: Numbers, driven: Numbers, centre: Numbers) -> Mask:
    """Whether two sheaves of these diameters can stand this far apart.

    d > 0, D > 0, C ≥ (D + d)/2, all finite

    driver:  diameter of the driving sheave [m], scalar or array
    driven:  diameter of the driven sheave on the same line [m], scalar or array
    centre:  distance between the shafts [m], scalar or array
    returns: true where the sheaves do not overlap [-], shape of the broadcast inputs

    With outside diameters this is the real limit; datum diameters leave the rims out.
    Source: statics

    >>> bool(feasible_centre(0.3, 0.6, centre=0.4))
    False
    """
    return (np.greater(driver, 0) & np.greater(driven, 0) & np.isfinite(centre)
            & np.greater_equal(centre, np.add(driver, driven) / 2 * _CENTRE_ROUNDING))


def _path(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    step, span = np.subtract(driven, driver), _span(driver, driven, centre)
    return 2 * span + (np.pi / 2) * np.add(driver, driven) + step * np.arctan(step / 2 / span)


def _span(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    half_step = np.subtract(driven, driver) / 2
    # as a product of sum and difference, so that nothing is lost when the sheaves nearly touch
    return np.sqrt((centre - half_step) * (centre + half_step))


def _lean(driver: Numbers, driven: Numbers, centre: Numbers) -> Numbers:
    """Angle a of a span to the line of centres [rad], above zero where the driven sheave is the larger."""
    # as a tangent: the arc sine loses half its digits where a tiny sheave touches a large one
    return np.arctan(np.subtract(driven, driver) / 2 / _span(driver, driven, centre))


def _refuse_overlap(driver: Numbers, driven: Numbers, centre: Numbers) -> None:
    possible = feasible_centre(driver, driven, centre)
    if np.all(possible):
        return
    small, large, apart, where = _first(possible, driver, driven, centre)
    _refuse_no_diameter(small, large, where)
    if not np.isfinite(apart):
        raise OutOfRange(f"The centre distance{where} is not a number.")
    raise Infeasible(f"The sheaves overlap{where}: at a centre distance of {_length(apart)}, sheaves of "
                     f"{_length(small)} and {_length(large)} need at least {_length((small + large) / 2)}.")


def _refuse_length(driver: Numbers, driven: Numbers, length: Numbers) -> None:
    sheave, other, belt, where = _first(feasible(driver, driven, length), driver, driven, length)
    _refuse_no_diameter(sheave, other, where)
    if not np.isfinite(belt):
        raise OutOfRange(f"The belt length{where} is not a number.")
    shortest = float(shortest_length(sheave, other))
    raise Infeasible(f"The belt is too short{where}: {_length(belt)}, where sheaves of {_length(sheave)} and "
                     f"{_length(other)} need at least {_length(shortest)} on the same line.")


def _refuse_no_diameter(sheave: float, other: float, where: str) -> None:
    for diameter in (sheave, other):
        if not (diameter > 0 and np.isfinite(diameter)):
            raise OutOfRange(f"A sheave's diameter must be more than 0{where}: it is {_length(diameter)}.")


def _first(possible: Mask, *values: Numbers) -> tuple[float, float, float, str]:
    """The three numbers of the first drive that is not possible, and where it stands among several."""
    mask, *columns = np.broadcast_arrays(possible, *values)
    at = int(np.argmin(mask))
    one, two, three = (float(np.ravel(column)[at]) for column in columns)
    wrong = int(mask.size - np.count_nonzero(mask))
    more = f" and {wrong - 1} more" if wrong > 1 else ""
    return one, two, three, f" (drive {at + 1} of {mask.size}{more})" if mask.size > 1 else ""


def _length(value: float) -> str:
    return f"{show(value, 'length', 'si', digits=1)} ({show(value, 'length', 'inch')})"
