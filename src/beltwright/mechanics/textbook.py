"""The older textbook rating of V belts, A to E: the table form behind Shigley's Table 17-12 and Faires' equation.

It rates a belt about half of what IP-20 allows the same belt, being decades older: neither is wrong, and they must
never be mixed in one drive. Kept for checks of the textbooks' examples and for section E, which IP-20 lacks. Imports
only `limits` of `mechanics`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import cast

import numpy as np

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, first_refused
from beltwright.tables import Trust, load
from beltwright.units import show


@dataclass(frozen=True, slots=True)
class TextbookConstants:
    """One section's row of the older equation, with the units it is written in as its bases (SI).

    smallest: smallest sheave of the table; and_over: the sheave from which the table prints one figure [m]
    slowest, fastest: belt speeds of the table [m/s]
    """

    section: str
    quality: str
    x: float
    y: float
    z: float
    smallest: float
    and_over: float
    diameter_base: float
    speed_base: float
    power_base: float
    slowest: float
    fastest: float
    source: str
    trust: Trust
    note: str


def textbook_constants(section: str, quality: str = "regular") -> TextbookConstants:
    """The row of the older equation that belongs to a section, with its source and trust.

    rows of the table `textbook_coefficients`

    section: belt section: A, B, C, D, E [-]
    quality: `regular` or `premium` [-]
    returns: constants as printed, with the bases that make them SI [-]

    Errors: `NotKnown` for a section or quality the table does not have.
    Source: shigley

    >>> textbook_constants("C").x
    6.372
    """
    row = _textbook().get((section, quality))
    if row is None:
        raise NotKnown(f"the older rating table has no {quality} belt of section {section}: it covers A to E, in "
                       f"regular and premium quality")
    return row


def power_textbook(section: str, pitch: Numbers, rotation: Numbers, quality: str = "regular") -> Numbers:
    """The power one belt carries by the older textbook table: about half of what IP-20 allows the same belt.

    H = S (X S^-0.09 - Y/d - Z S^2)

    section:  belt section: A, B, C, D, E [-]
    pitch:    pitch diameter of the small sheave [m], scalar or array
    rotation: speed of the faster shaft [rad/s], scalar or array
    quality:  `regular`, the quality of Shigley's table, or `premium`, that of Faires [-]
    returns:  rated power of one belt [W], shape of the broadcast inputs

    As the table: 1000 to 5000 ft/min, from its smallest sheave; a sheave above its `and over` row is rated as that
    row. No ratio term. Arrays: ask `rated_textbook` first.
    Errors: `NotKnown` for a section or quality the table does not have; `OutOfRange` outside the table, or where
    nothing is left to carry.
    Source: shigley, table 17-12 and the equation behind it

    >>> from beltwright.units import FOOT, INCH, MINUTE, from_si
    >>> power = power_textbook("D", pitch=18 * INCH, rotation=2 * 3000 * FOOT / MINUTE / (18 * INCH))
    >>> round(float(from_si(power, "hp", "power")), 1)
    18.1
    """
    row = textbook_constants(section, quality)
    above_zero("length", pitch=pitch)
    above_zero("rotation", rotation=rotation)
    large, inside = _in_table(row, pitch, pitch * rotation / 2)
    if not np.all(large):
        (small,) = first_refused(large, pitch)
        raise OutOfRange(f"pitch diameter {_mm(small)}: the older rating table begins at {_mm(row.smallest)} for "
                         f"section {section}")
    if not np.all(inside):
        (speed,) = first_refused(inside, pitch * rotation / 2)
        raise OutOfRange(f"belt speed {_ms(speed)}: the older rating table runs from {_ms(row.slowest)} to "
                         f"{_ms(row.fastest)}")
    power = _power(row, pitch, rotation)
    carries = power > 0.0
    if not np.all(carries):
        small, fast = first_refused(carries, pitch, rotation)
        raise OutOfRange(f"by the older rating table, a belt of section {section} carries nothing over a sheave of "
                         f"{_mm(small)} pitch diameter at {show(fast, 'rotation', 'si')}")
    return power


def rated_textbook(section: str, pitch: Numbers, rotation: Numbers, quality: str = "regular") -> Mask:
    """Where `power_textbook` answers.

    d and belt speed inside the table, H > 0

    section:  belt section: A, B, C, D, E [-]
    pitch:    pitch diameter of the small sheave [m], scalar or array
    rotation: speed of the faster shaft [rad/s], scalar or array
    quality:  `regular` or `premium` [-]
    returns:  true where the table rates the belt [-], shape of the broadcast inputs

    Errors: `NotKnown` for a section or quality the table does not have.
    Source: shigley

    >>> rated_textbook("D", np.array([0.2, 0.5]), 50.0)
    array([False,  True])
    """
    row = textbook_constants(section, quality)
    with np.errstate(all="ignore"):
        large, inside = _in_table(row, pitch, pitch * rotation / 2)
        return large & inside & (_power(row, pitch, rotation) > 0.0)


def _in_table(row: TextbookConstants, pitch: Numbers, speed: Numbers) -> tuple[Mask, Mask]:
    """Whether the sheave, and the belt speed, lie in the table; a rounding error at its edges does no harm."""
    slack = 1e-9
    return (np.asarray(pitch) >= row.smallest * (1 - slack),
            (np.asarray(speed) >= row.slowest * (1 - slack)) & (np.asarray(speed) <= row.fastest * (1 + slack)))


def _power(row: TextbookConstants, pitch: Numbers, rotation: Numbers) -> Numbers:
    speed = pitch * rotation * (0.5 / row.speed_base)
    bend = row.y * row.diameter_base / np.minimum(pitch, row.and_over)
    return speed * (row.x * np.power(speed, -0.09) - bend - row.z * (speed * speed)) * row.power_base


def _mm(value: float) -> str:
    return show(value, "length", "si", digits=1)


def _ms(value: float) -> str:
    return show(value, "speed", "si")


@cache
def _textbook() -> dict[tuple[str, str], TextbookConstants]:
    rows = {}
    for row in load("textbook_coefficients").rows:
        numbers = {name: cast(float, row[name]) for name in (
            "x", "y", "z", "smallest", "and_over", "diameter_base", "speed_base", "power_base", "slowest", "fastest")}
        key = cast(str, row["section"]), cast(str, row["quality"])
        rows[key] = TextbookConstants(section=key[0], quality=key[1], source=cast(str, row["source"]),
                                      trust=cast(Trust, row["trust"]), note=cast("str | None", row["note"]) or "",
                                      **numbers)
    return rows
