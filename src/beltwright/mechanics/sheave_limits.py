"""What a sheave may not be: too small or too wide for the motor that carries it, or too fast at its rim.

Motor: NEMA MG 1-14.42 gives, by frame, power and speed of 60 Hz motors, the smallest diameter and the greatest width of
a V-belt sheave; smaller loads the bearing and shaft too much, wider moves the load too far out. Rim: the speed at the
outside diameter that the material bears. The smallest sheave a belt section bends over is kept with the sections, not
here. Imports only `limits` of `mechanics`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final, cast

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero
from beltwright.tables import Table, Trust, load
from beltwright.units import show

# A plate in kW names the same motor a little differently (1.5 hp is 1.1 kW, 125 hp is 90 kW); ratings in hp next to
# each other are at least 20 percent apart.
_SAME_POWER: Final = 0.04
# Full-load speed over synchronous speed: down to 0.87 for a high-slip motor. 50 Hz speeds fall outside (2990/3600 is
# 0.83), so a motor of another supply is never taken for a 60 Hz one.
_MOST_SLIP: Final = 0.13


@dataclass(frozen=True, slots=True)
class RimLimit:
    """The rim speed a material bears [m/s], with its source and trust."""

    material: str
    speed: float
    source: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class MotorSheave:
    """The sheaves a motor frame may carry; None where the row has no figure.

    power, synchronous: the row found [W], [rad/s]
    classical_diameter: smallest pitch diameter for A to E [m]
    narrow_outside:     smallest outside diameter for 3V to 8V [m]
    classical_width, narrow_width: greatest face width [m]
    """

    frame: str
    power: float
    synchronous: float
    classical_diameter: float | None
    classical_width: float
    narrow_outside: float
    narrow_width: float
    source: str
    trust: Trust


def rim_speed(outside: Numbers, rotation: Numbers) -> Numbers:
    """How fast the rim of a sheave goes round.

    v = omega d_o / 2

    outside:  outside diameter, over the rim [m], scalar or array
    rotation: speed of the sheave's shaft [rad/s], scalar or array
    returns:  rim speed [m/s], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: statics

    >>> round(float(rim_speed(0.3, 183.26)), 1)
    27.5
    """
    above_zero("length", outside=outside)
    above_zero("rotation", rotation=rotation)
    return outside * rotation / 2.0


def rim_limit(material: str) -> RimLimit:
    """The rim speed a material bears.

    table by material

    material: cast iron, ductile iron or steel [-]
    returns:  limit with source and trust [m/s]

    On the outside diameter. A speed cast or stamped on the sheave goes before. Cast iron read in print, ductile iron
    and steel from memory.
    Errors: `NotKnown` for another material.
    Source: bloch

    >>> round(rim_limit("cast iron").speed, 1)
    33.0
    """
    rows = {cast(str, row["material"]): row for row in load("rim_speed_limits").rows}
    row = rows.get(material)
    if row is None:
        raise NotKnown(f"no rim-speed limit is known for {material!r}: {', '.join(rows)} is accepted")
    return RimLimit(material, cast(float, row["speed"]), cast(str, row["source"]), cast(Trust, row["trust"]))


def greatest_rotation(outside: Numbers, material: str) -> Numbers:
    """The fastest a sheave may turn for its rim's sake.

    omega = 2 v / d_o

    outside:  outside diameter, over the rim [m], scalar or array
    material: cast iron, ductile iron or steel [-]
    returns:  greatest speed of the shaft [rad/s], shape of `outside`

    Errors: `OutOfRange` for a diameter of zero or less; `NotKnown` for another material.
    Source: bloch

    >>> from beltwright.units import INCH, RPM
    >>> round(float(greatest_rotation(10 * INCH, "cast iron") / RPM))
    2483
    """
    above_zero("length", outside=outside)
    return 2.0 * rim_limit(material).speed / outside


def rim_within(outside: Numbers, rotation: Numbers, material: str) -> Mask:
    """Whether a sheave's rim stays within what its material bears.

    omega d_o / 2 <= v

    outside:  outside diameter, over the rim [m], scalar or array
    rotation: speed of the sheave's shaft [rad/s], scalar or array
    material: cast iron, ductile iron or steel [-]
    returns:  true where it does [-], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less; `NotKnown` for another material.
    Source: bloch

    >>> bool(rim_within(0.3, 183.26, "cast iron")), bool(rim_within(0.4, 183.26, "cast iron"))
    (True, False)
    """
    return rim_speed(outside, rotation) <= rim_limit(material).speed


def motor_sheave(frame: str, power: float, rotation: float) -> MotorSheave:
    """The smallest and widest V-belt sheave a motor may carry on its shaft.

    table by frame, rated power and synchronous speed

    frame:    motor frame as on the plate: 143T to 445T [-]
    power:    rated power of the motor [W]
    rotation: full-load or synchronous speed on the plate [rad/s]
    returns:  the row of the table, with its trust [m]

    60 Hz motors. The power is matched within 4 percent, so that a plate in kW finds its row; the speed may lie up to
    13 percent below the synchronous one.
    Errors: `NotKnown` for a frame that is no row (IEC motors have no such table) and for short-shaft frames;
    `OutOfRange` for a power or speed the frame has no row for.
    Source: nema-mg1

    >>> from beltwright.units import HORSEPOWER, INCH, RPM
    >>> round(motor_sheave("254T", 15 * HORSEPOWER, 3510 * RPM).classical_diameter / INCH, 3)
    3.8
    """
    above_zero("power", power=power)
    above_zero("rotation", rotation=rotation)
    name = "".join(frame.split()).upper()
    rows = [row for row in _motors().rows if row["frame"] == name]
    if not rows:
        raise _no_frame(frame, name)
    for row in rows:
        rated, synchronous = cast(float, row["power"]), cast(float, row["synchronous"])
        slip = 1.0 - rotation / synchronous
        if abs(power / rated - 1.0) <= _SAME_POWER and -1e-6 <= slip <= _MOST_SLIP:
            return MotorSheave(name, rated, synchronous, cast("float | None", row["classical_diameter"]),
                               cast(float, row["classical_width"]), cast(float, row["narrow_outside"]),
                               cast(float, row["narrow_width"]), _motors().source[0], cast(Trust, row["trust"]))
    known = "; ".join(f"{show(cast(float, row['power']), 'power', 'inch')} at "
                      f"{show(cast(float, row['synchronous']), 'rotation', 'inch')}" for row in rows)
    raise OutOfRange(f"motor of {show(power, 'power', 'inch')} at {show(rotation, 'rotation', 'inch')} in "
                     f"frame {name}: NEMA MG 1-14.42 lists for it {known}")


def _no_frame(frame: str, name: str) -> NotKnown:
    if name.endswith("S") and any(row["frame"] == name[:-1] for row in _motors().rows):
        return NotKnown(f"frame {name} has the short shaft made for couplings: it is not meant to carry a sheave, and "
                        f"no sheave limit is published for it")
    return NotKnown(f"no sheave limit is known for frame {frame.strip()!r}: the table covers NEMA frames 143T to 445T; "
                    f"for other motors ask the maker for the radial force the shaft may take")


@cache
def _motors() -> Table:
    return load("nema_sheave_limits")
