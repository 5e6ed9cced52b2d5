"""What one belt carries: the published power-rating equations, each named, none standing in for another.

    IP-20   classical A to D and AX to CX: coefficients read in a reprint of the standard
    IP-22   narrow 3V, 5V, 8V: coefficients from memory, not verified, and marked so wherever they show

Both rate one belt at half a turn of contact and the reference length; `corrections` has the factors for other arcs
and lengths, `textbook` the older rating. The diameter is the small sheave's pitch diameter, never the smaller datum
diameter, which would cost a B belt 13 percent of its power on its smallest sheave; the rotation is that of the faster
shaft. Where no rating is published (Z, SPx, E, cogged narrow and metric belts) nothing is guessed: `NotKnown`, with
what to enter instead. Imports only `limits` of `mechanics`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final, Literal, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, first_refused
from beltwright.tables import Trust, load
from beltwright.units import show

Method = Literal["ip20", "ip22"]

_NAMES: Final[Mapping[Method, str]] = MappingProxyType({"ip20": "IP-20", "ip22": "IP-22"})
_ENTER: Final = "enter the power one belt carries from the belt's own table, at this drive's speed and small sheave"


@dataclass(frozen=True, slots=True)
class Coefficients:
    """One section's row of a rating equation, with the units it is written in as its bases (SI).

    k1 to k4:  of the equation, as printed; k3_other: a second value in circulation, not used
    slowest, fastest: belt speeds the equation is used for [m/s]
    """

    method: Method
    section: str
    k1: float
    k2: float
    k3: float
    k4: float
    k3_other: float | None
    diameter_base: float
    rotation_base: float
    power_base: float
    slowest: float
    fastest: float
    source: str
    trust: Trust
    note: str


def rating_method(section: str, standard: str = "rma") -> Method:
    """Which published equation rates a belt.

    classical inch belts: IP-20; narrow inch belts: IP-22

    section:  belt section: A, B, ..., 3V, ..., SPC [-]
    standard: whose lengths and grooves the marking follows: rma, din, is, iso [-]
    returns:  `ip20` or `ip22` [-]

    Errors: `NotKnown` where no rating is published: Z, E, SPx, 3VX, 5VX, and belts to a metric standard.
    Source: ip20-1988

    >>> rating_method("BX"), rating_method("5V")
    ('ip20', 'ip22')
    """
    for method in _NAMES:
        if standard == "rma" and section in _coefficients(method):
            return method
    kind = f"section {section}" if standard == "rma" else f"section {section} to a metric standard"
    raise NotKnown(f"no rating is published for {kind}: {_ENTER}")


def coefficients(section: str, method: Method) -> Coefficients:
    """The row of a rating equation that belongs to a section, with its source and trust.

    rows of the tables `ip20_coefficients` and `ip22_coefficients`

    section: belt section: A, B, C, D, AX, BX, CX; 3V, 5V, 8V [-]
    method:  `ip20` or `ip22` [-]
    returns: coefficients as printed, with the bases that make them SI [-]

    Errors: `NotKnown` for a section the equation does not cover.
    Source: ip20-1988

    >>> coefficients("B", "ip20").k1, coefficients("8V", "ip22").trust
    (1.769, 'memory')
    """
    row = _coefficients(method).get(section)
    if row is None:
        covered = ", ".join(_coefficients(method))
        raise NotKnown(f"{_NAMES[method]} has no rating for section {section} (it covers {covered}): {_ENTER}")
    return row


def ratio_factor(ratio: Numbers, method: Method) -> Numbers:
    """The speed-ratio factor: on a larger large sheave the belt bends less, so it carries a little more.

    K_SR = table(band of the ratio)

    ratio:   speed of the faster shaft over that of the slower, one or more [-], scalar or array
    method:  `ip20` or `ip22` [-]
    returns: K_SR [-], shape of `ratio`

    Bands are printed to two decimals; a band is held until the next begins. From memory.
    Errors: `OutOfRange` for a ratio below one.
    Source: ip20-1988

    >>> ratio_factor(1.10, "ip20"), ratio_factor(4.0, "ip22")
    (np.float64(1.0344), np.float64(1.1278))
    """
    _check_ratio(ratio)
    return _ratio_factor(ratio, method)


def ratio_power(section: str, rotation: Numbers, ratio: Numbers, method: Method = "ip20") -> Numbers:
    """The power the speed ratio adds to a belt's rating: a part of `power_ip20` and `power_ip22`, for the working.

    H_2 = K2 r (1 - 1/K_SR)

    section:  belt section [-]
    rotation: speed of the faster shaft [rad/s], scalar or array
    ratio:    speed of the faster shaft over that of the slower, one or more [-], scalar or array
    method:   `ip20` or `ip22` [-]
    returns:  added power of one belt [W], shape of the broadcast inputs

    Errors: `NotKnown` for a section without rating; `OutOfRange` for a ratio below one or no rotation.
    Source: ip20-1988

    >>> round(float(ratio_power("B", 151.8, 3.0)))
    471
    """
    row = coefficients(section, method)
    above_zero("rotation", rotation=rotation)
    return rotation * (1.0 - 1.0 / ratio_factor(ratio, method)) * (row.k2 * row.power_base / row.rotation_base)


def power_ip20(section: str, pitch: Numbers, rotation: Numbers, ratio: Numbers = 1.0) -> Numbers:
    """The power one classical belt carries at half a turn of contact and a length factor of one.

    H = d r [K1 - K2/d - K3 (d r)^2 - K4 log10(d r)] + K2 r (1 - 1/K_SR)

    section:  belt section: A, B, C, D, AX, BX, CX [-]
    pitch:    pitch diameter of the small sheave, not its datum diameter [m], scalar or array
    rotation: speed of the faster shaft [rad/s], scalar or array
    ratio:    speed of the faster shaft over that of the slower, one or more [-], scalar or array
    returns:  rated power of one belt [W], shape of the broadcast inputs

    Belt speed 20 to 6500 ft/min; below the section's smallest sheave it still answers (flag that apart) as long as
    the belt carries anything at all. Arrays: ask `rated_ip20` first.
    Errors: `NotKnown` for a section without rating; `OutOfRange` for a ratio below one, too slow or fast a belt, or a
    sheave so small or fast that nothing is left to carry.
    Source: ip20-1988, coefficients in a reprint

    >>> from beltwright.units import INCH, RPM, from_si
    >>> power = power_ip20("B", pitch=6.2 * INCH, rotation=1750 * RPM)
    >>> round(float(from_si(power, "hp", "power")), 3)
    7.04
    """
    return _power(coefficients(section, "ip20"), pitch, rotation, ratio)


def rated_ip20(section: str, pitch: Numbers, rotation: Numbers, ratio: Numbers = 1.0) -> Mask:
    """Where `power_ip20` answers.

    d, r > 0, ratio >= 1, belt speed within its limits, H > 0

    section:  belt section: A, B, C, D, AX, BX, CX [-]
    pitch:    pitch diameter of the small sheave [m], scalar or array
    rotation: speed of the faster shaft [rad/s], scalar or array
    ratio:    speed of the faster shaft over that of the slower [-], scalar or array
    returns:  true where the equation rates the belt [-], shape of the broadcast inputs

    Errors: `NotKnown` for a section without rating.
    Source: ip20-1988

    >>> rated_ip20("A", np.array([0.03, 0.1]), 366.0)
    array([False,  True])
    """
    return _rated(coefficients(section, "ip20"), pitch, rotation, ratio)


def power_ip22(section: str, pitch: Numbers, rotation: Numbers, ratio: Numbers = 1.0) -> Numbers:
    """The power one narrow belt carries at half a turn of contact: FROM MEMORY, NOT VERIFIED.

    H = d r [K1 - K2/d - K3 (d r)^2 - K4 log10(d r)] + K2 r (1 - 1/K_SR)

    section:  belt section: 3V, 5V, 8V [-]
    pitch:    pitch diameter of the small sheave [m], scalar or array
    rotation: speed of the faster shaft [rad/s], scalar or array
    ratio:    speed of the faster shaft over that of the slower, one or more [-], scalar or array
    returns:  rated power of one belt [W], shape of the broadcast inputs

    The only outside point, from an older chart, lies 11 percent lower; whoever shows the answer must say so. Belt
    speed 20 to 6500 ft/min. Arrays: ask `rated_ip22` first.
    Errors: as `power_ip20`; cogged narrow belts (3VX, 5VX) are `NotKnown`.
    Source: ip22, coefficients from memory

    >>> from beltwright.units import INCH, RPM, from_si
    >>> power = power_ip22("5V", pitch=8.0 * INCH, rotation=1750 * RPM)
    >>> round(float(from_si(power, "hp", "power")), 2)
    24.68
    """
    return _power(coefficients(section, "ip22"), pitch, rotation, ratio)


def rated_ip22(section: str, pitch: Numbers, rotation: Numbers, ratio: Numbers = 1.0) -> Mask:
    """Where `power_ip22` answers.

    d, r > 0, ratio >= 1, belt speed within its limits, H > 0

    section:  belt section: 3V, 5V, 8V [-]
    pitch:    pitch diameter of the small sheave [m], scalar or array
    rotation: speed of the faster shaft [rad/s], scalar or array
    ratio:    speed of the faster shaft over that of the slower [-], scalar or array
    returns:  true where the equation rates the belt [-], shape of the broadcast inputs

    Errors: `NotKnown` for a section without rating.
    Source: ip22

    >>> rated_ip22("3V", np.array([0.1, 0.9]), 183.0)
    array([ True, False])
    """
    return _rated(coefficients(section, "ip22"), pitch, rotation, ratio)


def _power(row: Coefficients, pitch: Numbers, rotation: Numbers, ratio: Numbers) -> Numbers:
    above_zero("length", pitch=pitch)
    above_zero("rotation", rotation=rotation)
    _check_ratio(ratio)
    twice_speed = pitch * rotation
    good = _rated_speed(row, twice_speed)
    if not np.all(good):
        (refused,) = first_refused(good, twice_speed)
        raise OutOfRange(f"belt speed {show(refused / 2, 'speed', 'si')}: {_NAMES[row.method]} rates belts from "
                         f"{show(row.slowest, 'speed', 'si')} to {show(row.fastest, 'speed', 'si')}")
    power = _equation(row, twice_speed, rotation, ratio)
    good = np.asarray(power > 0.0)
    if not np.all(good):
        small, fast = first_refused(good, pitch, rotation)
        raise OutOfRange(f"by {_NAMES[row.method]}, a belt of section {row.section} carries nothing over a sheave of "
                         f"{show(small, 'length', 'si', digits=1)} pitch diameter at {show(fast, 'rotation', 'si')}: a "
                         f"larger sheave or a thinner section is needed")
    return power


def _rated(row: Coefficients, pitch: Numbers, rotation: Numbers, ratio: Numbers) -> Mask:
    with np.errstate(all="ignore"):
        twice_speed = pitch * rotation
        inside = (np.asarray(pitch) > 0.0) & (rotation > 0.0) & (ratio >= 1.0) & np.isfinite(ratio)
        return inside & _rated_speed(row, twice_speed) & (_equation(row, twice_speed, rotation, ratio) > 0.0)


def _rated_speed(row: Coefficients, twice_speed: Numbers) -> Mask:
    return (np.asarray(twice_speed) >= 2.0 * row.slowest) & (np.asarray(twice_speed) <= 2.0 * row.fastest)


def _equation(row: Coefficients, twice_speed: Numbers, rotation: Numbers, ratio: Numbers) -> Numbers:
    """The rating equation with d multiplied in and both terms of K2 r gathered: - K2 r + K2 r (1 - 1/K_SR)."""
    x = twice_speed * (1.0 / (row.diameter_base * row.rotation_base))
    bend = rotation / _ratio_factor(ratio, row.method) * (row.k2 / row.rotation_base)
    return (x * (row.k1 - row.k3 * (x * x) - row.k4 * np.log10(x)) - bend) * row.power_base


def _ratio_factor(ratio: Numbers, method: Method) -> Numbers:
    begins, factors = _ratio_bands(method)
    return factors[np.searchsorted(begins, ratio, side="right")]


def _check_ratio(ratio: Numbers) -> None:
    good = (np.asarray(ratio) >= 1.0) & np.isfinite(ratio)
    if not np.all(good):
        (low,) = first_refused(good, ratio)
        raise OutOfRange(f"speed ratio {low:g}: one or more is needed, the faster shaft over the slower")


@cache
def _coefficients(method: Method) -> dict[str, Coefficients]:
    table = load(f"{method}_coefficients")
    rows = {}
    for row in table.rows:
        numbers = {name: cast(float, row[name]) for name in (
            "k1", "k2", "k3", "k4", "diameter_base", "rotation_base", "power_base", "slowest", "fastest")}
        section = cast(str, row["section"])
        rows[section] = Coefficients(method=method, section=section, k3_other=cast("float | None", row.get("k3_other")),
                                     source=table.source[0], trust=cast(Trust, row["trust"]),
                                     note=cast("str | None", row["note"]) or "", **numbers)
    return rows


@cache
def _ratio_bands(method: Method) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Where each band but the first begins, and the factors of all."""
    table = load(f"{method}_ratio_factors")
    return np.array(table.column("from_ratio")[1:]), np.array(table.column("factor"))
