"""The only conversion factors, the parser of what people type, and how a value is shown.

Inside Beltwright every float is coherent SI; a temperature is in degrees Celsius. Here, and only here, stands what an
inch or a horsepower is. Imports nothing heavier than the standard library.

Sources: international inch, foot and pound, SI brochure 9th ed. (2019), table 8 and its notes; mechanical horsepower
550 ft lbf/s; international-table BTU; standard acceleration of fall 9.80665 m/s2.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from beltwright.errors import UnitError

INCH: Final = 0.0254
FOOT: Final = 12 * INCH
POUND: Final = 0.45359237
FALL: Final = 9.80665
POUND_FORCE: Final = POUND * FALL
HORSEPOWER: Final = 550 * FOOT * POUND_FORCE
MINUTE: Final = 60.0
HOUR: Final = 3600.0
DAY: Final = 24 * HOUR
YEAR: Final = 365 * DAY   # 8760 h, as energy is reckoned
TURN: Final = 2 * math.pi
RPM: Final = TURN / MINUTE

System = Literal["si", "inch"]

# kind of quantity -> unit as shown -> (factor to SI, offset to SI): si = typed * factor + offset
KINDS: Final[dict[str, dict[str, tuple[float, float]]]] = {
    "length": {"mm": (1e-3, 0.0), "cm": (1e-2, 0.0), "m": (1.0, 0.0), "in": (INCH, 0.0), "ft": (FOOT, 0.0)},
    "area": {"mm2": (1e-6, 0.0), "cm2": (1e-4, 0.0), "m2": (1.0, 0.0), "in2": (INCH**2, 0.0)},
    "density": {"kg/m3": (1.0, 0.0)},
    "stress": {"MPa": (1e6, 0.0), "kPa": (1e3, 0.0), "Pa": (1.0, 0.0), "psi": (POUND_FORCE / INCH**2, 0.0)},
    "rotation": {"rpm": (RPM, 0.0), "rad/s": (1.0, 0.0), "1/min": (RPM, 0.0)},
    "speed": {"m/s": (1.0, 0.0), "m/min": (1 / MINUTE, 0.0), "ft/min": (FOOT / MINUTE, 0.0)},
    "power": {"kW": (1e3, 0.0), "W": (1.0, 0.0), "hp": (HORSEPOWER, 0.0)},
    "force": {"N": (1.0, 0.0), "kN": (1e3, 0.0), "lbf": (POUND_FORCE, 0.0), "kgf": (FALL, 0.0)},
    "moment": {"N m": (1.0, 0.0), "N mm": (1e-3, 0.0), "lbf ft": (POUND_FORCE * FOOT, 0.0),
               "lbf in": (POUND_FORCE * INCH, 0.0)},
    "stiffness": {"N/mm": (1e3, 0.0), "N/m": (1.0, 0.0), "kN/m": (1e3, 0.0), "lbf/in": (POUND_FORCE / INCH, 0.0)},
    "rigidity": {"N m2": (1.0, 0.0), "lbf in2": (POUND_FORCE * INCH**2, 0.0)},
    "mass": {"kg": (1.0, 0.0), "g": (1e-3, 0.0), "lb": (POUND, 0.0), "oz": (POUND / 16, 0.0)},
    "mass per length": {"kg/m": (1.0, 0.0), "g/m": (1e-3, 0.0), "lb/ft": (POUND / FOOT, 0.0)},
    # Shigley's Kc: the centrifugal tension at 1000 ft/min, which is a mass per length in other clothes
    "centrifugal constant": {"lbf/kfpm2": (POUND_FORCE / (1000 * FOOT / MINUTE) ** 2, 0.0)},
    "temperature": {"degC": (1.0, 0.0), "degF": (5 / 9, -160 / 9)},
    "temperature difference": {"K": (1.0, 0.0), "degF": (5 / 9, 0.0)},
    "angle": {"deg": (math.pi / 180, 0.0), "rad": (1.0, 0.0), "min": (math.pi / 10800, 0.0)},
    "slope": {"mm/m": (1e-3, 0.0), "in/ft": (INCH / FOOT, 0.0)},
    "frequency": {"Hz": (1.0, 0.0)},
    "time": {"h": (HOUR, 0.0), "min": (MINUTE, 0.0), "s": (1.0, 0.0), "d": (DAY, 0.0),
             "year": (YEAR, 0.0)},
    "energy": {"kWh": (3.6e6, 0.0), "J": (1.0, 0.0)},
    # what runs off within a start: read in seconds, never in hours
    "short time": {"s": (1.0, 0.0), "min": (MINUTE, 0.0)},
    "heat": {"kJ": (1e3, 0.0), "J": (1.0, 0.0), "BTU": (1055.05585262, 0.0)},
    "inertia": {"kg m2": (1.0, 0.0), "lb ft2": (POUND * FOOT**2, 0.0)},
    "share": {"%": (1e-2, 0.0)},
    "hours a day": {"h/d": (HOUR / DAY, 0.0)},
    "price of energy": {"1/kWh": (1 / 3.6e6, 0.0)},
    "number": {"": (1.0, 0.0)},
}

# spellings people use -> unit as shown; matched without regard to case unless the exact spelling is known
SPELLINGS: Final[dict[str, str]] = {
    '"': "in", "″": "in", "inch": "in", "inches": "in", "ins": "in", "'": "ft", "′": "ft", "feet": "ft", "foot": "ft",
    "metre": "m", "meter": "m", "millimetre": "mm", "millimeter": "mm",
    "r/min": "rpm", "rev/min": "rpm", "min-1": "rpm", "min^-1": "rpm", "u/min": "rpm",
    "fpm": "ft/min", "mps": "m/s", "kw": "kW", "w": "W", "watt": "W", "hp": "hp",
    "n": "N", "kn": "kN", "lb": "lb", "lbs": "lb", "lbf": "lbf", "kgf": "kgf", "kp": "kgf", "newton": "N",
    "nm": "N m", "n·m": "N m", "lbf·ft": "lbf ft", "ft lbf": "lbf ft",
    "c": "degC", "°c": "degC", "degc": "degC", "f": "degF", "°f": "degF", "degf": "degF",
    "°": "deg", "degree": "deg", "degrees": "deg", "hz": "Hz", "hours": "h", "hour": "h", "hrs": "h",
    "minutes": "min", "seconds": "s", "sec": "s", "days": "d", "day": "d", "years": "year", "percent": "%",
    "mm²": "mm2", "cm²": "cm2", "kg/m³": "kg/m3", "kgm2": "kg m2", "kg·m²": "kg m2", "kg m²": "kg m2", "kgm²": "kg m2",
    "lb·ft²": "lb ft2", "lb ft²": "lb ft2", "lbft2": "lb ft2", "kj": "kJ", "mpa": "MPa", "kwh": "kWh",
}
# a pound on a force gauge is a pound-force; on a scale it is a mass
_FORCE_POUND: Final = {"lb": "lbf", "kg": "kgf", "#": "lbf"}

_NUMBER: Final = r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_MIXED: Final = re.compile(r"^([+-]?\d+)(?:\s+|\s*-\s*)(\d+)\s*/\s*(\d+)")
_FRACTION: Final = re.compile(r"^([+-]?\d+)\s*/\s*(\d+)")
_PLAIN: Final = re.compile(rf"^{_NUMBER}(?:[eE][+-]?\d+)?(?![\d.,/])")
_FEET_INCHES: Final = re.compile(r"""^(\d+)\s*(?:'|′|ft|feet|foot)\s*-?\s*(\d.*)$""", re.IGNORECASE)


def accepted(kind: str) -> str:
    """The units accepted for a kind of quantity, as a sentence part.

    >>> accepted("power")
    'kW, W or hp'
    """
    units = [unit for unit in KINDS[kind] if unit]
    return units[0] if len(units) == 1 else f"{', '.join(units[:-1])} or {units[-1]}" if units else "a plain number"


def accepted_units(kind: str) -> tuple[str, ...]:
    """The same, each by itself.

    >>> accepted_units("power")
    ('kW', 'W', 'hp')
    """
    return tuple(unit for unit in KINDS[kind] if unit)


def canonical(text: str, kind: str) -> str:
    """The unit as Beltwright shows it, from any spelling people use; `UnitError` if it is not one of `kind`."""
    units = KINDS[kind]
    found = text.strip().rstrip(".")
    if kind == "force":
        found = _FORCE_POUND.get(found.lower(), found)
    for guess in (found, SPELLINGS.get(found, ""), SPELLINGS.get(found.lower(), ""), found.lower()):
        if guess in units and (guess or not found):
            return guess
    raise UnitError(f"unknown unit {found!r} for {_a(kind)}: use {accepted(kind)}", accepted=accepted_units(kind))


def to_si(value: float, unit: str, kind: str) -> float:
    """A value in `unit` as SI.

    >>> to_si(1500, "rpm", "rotation") == 50 * math.pi
    True
    """
    factor, offset = KINDS[kind][unit]
    return value * factor + offset


def from_si(value: float, unit: str, kind: str) -> float:
    """An SI value in `unit`.

    >>> round(from_si(0.3, "in", "length"), 3)
    11.811
    """
    factor, offset = KINDS[kind][unit]
    return (value - offset) / factor


def parse(text: str, kind: str, *, default: str | None = None) -> float:
    """What a person typed, as SI.

    text:    a number and a unit: `23 5/8 in`, `23-5/8"`, `1,5 kW`, `1450 rpm`, `2 ft 3 in`
    kind:    a key of `KINDS`
    default: the unit of a bare number, where the column or box already carries it
    errors:  `UnitError` for a missing, unknown or wrong unit, for no number, and for an ambiguous `1,500`

    >>> round(parse('23-5/8"', "length"), 6)
    0.600075
    >>> parse("1,5 kW", "power")
    1500.0
    >>> parse("1,500", "length", default="mm")
    Traceback (most recent call last):
    beltwright.errors.UnitError: '1,500' is ambiguous: type 1500 or 1.5
    """
    typed = text.strip().replace("\u00a0", " ").replace("−", "-").replace("–", "-")
    if not typed:
        raise UnitError(f"nothing typed: a number with {accepted(kind)} is needed", accepted=accepted_units(kind))
    if kind == "length" and (feet := _FEET_INCHES.match(typed)):
        inches = parse(feet[2], kind)
        if inches >= FOOT or not re.search(r'["″]|in', feet[2]):
            raise UnitError(f"{text.strip()!r}: after feet, type inches below 12, such as 2 ft 3 1/2 in")
        return int(feet[1]) * FOOT + inches
    number, rest = _leading_number(typed)
    unit = rest.strip()
    if not unit and KINDS[kind].keys() != {""}:
        if default is None:
            raise UnitError(f"{text.strip()!r} has no unit: use {accepted(kind)}", accepted=accepted_units(kind))
        unit = default
    return to_si(number, canonical(unit, kind), kind)


def parse_number(text: str) -> float:
    """A plain number without unit, decimal point or decimal comma.

    >>> parse_number("0,75")
    0.75
    """
    return parse(text, "number")


def parse_count(text: str) -> int:
    """A whole number of things, zero or more.

    >>> parse_count("4")
    4
    """
    typed = text.strip()
    if not re.fullmatch(r"\d+(?:[.,]0+)?", typed):
        raise UnitError(f"{typed!r} is not a whole number: type 0, 1, 2, ...")
    return int(re.split(r"[.,]", typed)[0])


def _leading_number(typed: str) -> tuple[float, str]:
    if match := _MIXED.match(typed):
        whole, top, bottom = int(match[1]), int(match[2]), int(match[3])
        if bottom == 0 or top >= bottom:
            raise UnitError(f"{match[0]!r} is not a mixed number: the fraction must be below 1, such as 23 5/8")
        sign = -1 if match[1].startswith("-") else 1
        return sign * float(abs(whole) + Fraction(top, bottom)), typed[match.end():]
    if match := _FRACTION.match(typed):
        if int(match[2]) == 0:
            raise UnitError(f"{match[0]!r} divides by zero")
        return float(Fraction(int(match[1]), int(match[2]))), typed[match.end():]
    match = _PLAIN.match(typed)
    if match is None:
        raise UnitError(f"{typed!r} is not a number: type it like 12.5, 12,5 or 12 1/2, without thousands marks")
    digits = match[0]
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", digits):
        joined, decimal = digits.replace(",", ""), digits.replace(",", ".").rstrip("0")
        raise UnitError(f"{digits!r} is ambiguous: type {joined} or {decimal.rstrip('.')}",
                        accepted=(joined, decimal.rstrip(".")))
    value = float(digits.replace(",", "."))
    if not math.isfinite(value):
        raise UnitError(f"{digits!r} is too large to be a measurement")
    return value, typed[match.end():]


def _a(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeio' else 'a'} {kind}"


@dataclass(frozen=True, slots=True)
class Shown:
    """How one kind of value is shown: its unit and the digits after the point."""

    unit: str
    digits: int


# the units a person reads, by the system they chose; a figure may ask for more or fewer digits
SHOWN: Final[dict[System, dict[str, Shown]]] = {
    "si": {
        "length": Shown("mm", 0), "rotation": Shown("rpm", 0), "speed": Shown("m/s", 1), "power": Shown("kW", 2),
        "force": Shown("N", 0), "moment": Shown("N m", 1), "mass per length": Shown("kg/m", 3),
        "temperature": Shown("degC", 0), "temperature difference": Shown("K", 0), "angle": Shown("deg", 1),
        "slope": Shown("mm/m", 1), "frequency": Shown("Hz", 1), "time": Shown("h", 0), "energy": Shown("kWh", 0),
        "share": Shown("%", 1), "stiffness": Shown("N/mm", 0), "hours a day": Shown("h/d", 0), "mass": Shown("kg", 2),
        "number": Shown("", 2), "price of energy": Shown("1/kWh", 3), "short time": Shown("s", 1),
        "heat": Shown("kJ", 1), "inertia": Shown("kg m2", 3),
    },
    "inch": {
        "length": Shown("in", 2), "rotation": Shown("rpm", 0), "speed": Shown("ft/min", 0), "power": Shown("hp", 2),
        "force": Shown("lbf", 1), "moment": Shown("lbf ft", 1), "mass per length": Shown("lb/ft", 3),
        "temperature": Shown("degF", 0), "temperature difference": Shown("degF", 0), "angle": Shown("deg", 1),
        "slope": Shown("in/ft", 3), "frequency": Shown("Hz", 1), "time": Shown("h", 0), "energy": Shown("kWh", 0),
        "share": Shown("%", 1), "stiffness": Shown("lbf/in", 0), "hours a day": Shown("h/d", 0), "mass": Shown("lb", 2),
        "number": Shown("", 2), "price of energy": Shown("1/kWh", 3), "short time": Shown("s", 1),
        "heat": Shown("BTU", 1), "inertia": Shown("lb ft2", 2),
    },
}
_SIGNS: Final = {"degC": "°C", "degF": "°F", "deg": "°", "mm2": "mm²", "kg/m3": "kg/m³", "N m2": "N m²",
                 "kg m2": "kg m²", "lb ft2": "lb ft²"}


def sign(unit: str) -> str:
    """The unit as it is set in print: `degC` becomes `°C`."""
    return _SIGNS.get(unit, unit)


_TAILS: Final = {"degC": "c", "degF": "f", "%": "percent", "h/d": "h_per_day"}


def tail(unit: str) -> str:
    """The unit as the tail of a name, of a sheet's column or in JSON: `centre_mm`, `room_c`.

    >>> tail("kg/m"), tail("degC"), tail("N m"), tail("1/kWh")
    ('kg_per_m', 'c', 'n_m', 'per_kwh')
    """
    return _TAILS.get(unit, unit.removeprefix("1").replace("/", "_per_").replace(" ", "_").strip("_").lower())


def show(value: float, kind: str, system: System, *, digits: int | None = None) -> str:
    """An SI value as text with its unit, in the system a person chose.

    >>> show(0.6, "length", "si"), show(0.6, "length", "inch")
    ('600 mm', '23.62 in')
    >>> show(1.5708, "angle", "si")
    '90.0°'
    """
    shown = SHOWN[system][kind]
    number = f"{from_si(value, shown.unit, kind):.{shown.digits if digits is None else digits}f}"
    if float(number) == 0:
        number = number.lstrip("-")
    unit = sign(shown.unit)
    return number + unit if unit in ("°", "%") else f"{number} {unit}".rstrip()


def show_band(low: float, high: float, kind: str, system: System, *, digits: int | None = None) -> str:
    """A band with its unit once: `41 to 62 N`.

    >>> show_band(41.2, 61.8, "force", "si")
    '41 to 62 N'
    """
    first = show(low, kind, system, digits=digits)
    unit = sign(SHOWN[system][kind].unit)
    return f"{first.removesuffix(unit).strip()} to {show(high, kind, system, digits=digits)}"


def sixty_fourths(value: float) -> str:
    """A length in inches and 64ths, not reduced: the mark to count to on a rule.

    >>> sixty_fourths(0.0091), sixty_fourths(0.0254 * 1.5)
    ('23/64 in', '1 32/64 in')
    """
    whole, part = divmod(round(abs(value) / INCH * 64), 64)
    minus = "-" if value < 0 and (whole or part) else ""
    if not part:
        return f"{minus}{whole} in"
    return f"{minus}{f'{whole} ' if whole else ''}{part}/64 in"
