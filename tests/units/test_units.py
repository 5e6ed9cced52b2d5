"""Units and what people type, held against pint and against a plain model of how numbers are written."""

from __future__ import annotations

import math
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright import units
from beltwright.errors import UnitError

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()

# our kind and unit, pint's unit, pint's coherent SI unit
ORACLE = [
    ("length", "mm", "mm", "m"), ("length", "cm", "cm", "m"), ("length", "in", "inch", "m"),
    ("length", "ft", "ft", "m"),
    ("rotation", "rpm", "rpm", "rad/s"), ("rotation", "1/min", "turn/min", "rad/s"),
    ("speed", "m/min", "m/min", "m/s"), ("speed", "ft/min", "ft/min", "m/s"),
    ("power", "kW", "kW", "W"), ("power", "hp", "hp", "W"), ("force", "lbf", "lbf", "N"), ("force", "kN", "kN", "N"),
    ("force", "kgf", "kgf", "N"), ("moment", "lbf ft", "lbf*ft", "N*m"), ("moment", "lbf in", "lbf*inch", "N*m"),
    ("stiffness", "lbf/in", "lbf/inch", "N/m"), ("rigidity", "lbf in2", "lbf*inch**2", "N*m**2"),
    ("mass", "lb", "lb", "kg"), ("mass", "oz", "oz", "kg"), ("mass per length", "lb/ft", "lb/ft", "kg/m"),
    ("mass per length", "g/m", "g/m", "kg/m"), ("temperature", "degF", "degF", "degC"),
    ("temperature difference", "degF", "delta_degF", "delta_degC"), ("angle", "deg", "deg", "rad"),
    ("angle", "min", "arcmin", "rad"), ("slope", "in/ft", "inch/ft", "m/m"), ("time", "h", "h", "s"),
    ("time", "d", "day", "s"), ("energy", "kWh", "kWh", "J"), ("stress", "psi", "psi", "Pa"),
    ("area", "in2", "inch**2", "m**2"),
]


@pytest.mark.parametrize(("kind", "unit", "theirs", "si"), ORACLE)
@given(value=st.floats(0.001, 1e6))
def test_every_factor_agrees_with_pint(kind: str, unit: str, theirs: str, si: str, value: float) -> None:
    expected = PINT.Quantity(value, theirs).to(si).magnitude
    assert units.to_si(value, unit, kind) == pytest.approx(expected, rel=1e-12, abs=1e-9)
    assert units.from_si(units.to_si(value, unit, kind), unit, kind) == pytest.approx(value, rel=1e-9)


@given(value=st.decimals(0, 99999, places=3), unit=st.sampled_from(["mm", "in", "ft", "m"]), comma=st.booleans(),
       gap=st.sampled_from(["", " ", "  "]))
def test_decimals_with_point_or_comma_mean_the_same(value: object, unit: str, comma: bool, gap: str) -> None:
    digits = f"{value:.2f}"
    text = (digits.replace(".", ",") if comma else digits) + gap + unit
    assert units.parse(text, "length") == pytest.approx(PINT.Quantity(float(digits), unit).to("m").magnitude, abs=1e-12)


@given(whole=st.integers(0, 400), bottom=st.sampled_from([2, 4, 8, 16, 32, 64]), data=st.data(),
       joint=st.sampled_from([" ", "-", " - "]), mark=st.sampled_from([" in", '"', "in", " inches", "″"]))
def test_a_rule_reads_as_it_is_written(whole: int, bottom: int, data: st.DataObject, joint: str, mark: str) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    expected = float((whole + Fraction(top, bottom)) * Fraction(254, 10000))
    assert units.parse(f"{whole}{joint}{top}/{bottom}{mark}", "length") == pytest.approx(expected, rel=1e-14)


@given(st.integers(0, 64 * 200))
def test_sixty_fourths_come_back_as_the_same_length(count: int) -> None:
    length = count / 64 * 0.0254
    assert units.parse(units.sixty_fourths(length), "length") == pytest.approx(length, abs=1e-12)


@pytest.mark.parametrize(("text", "kind", "expected"), [
    ("23 5/8 in", "length", 0.600075), ('23-5/8"', "length", 0.600075), ("7.4in", "length", 0.18796),
    ("2 ft 3 1/2 in", "length", 0.6985), ("5/16 in", "length", 0.0079375), ("1,5 kW", "power", 1500.0),
    ("0,500 m", "length", 0.5), ("1450 rpm", "rotation", 1450 * math.pi / 30),
    ("1450 r/min", "rotation", 1450 * math.pi / 30),
    ("12 lb", "force", 12 * 4.4482216152605), ("98.6 °F", "temperature", 37.0), ("-10 C", "temperature", -10.0),
    ("1e3 N", "force", 1000.0), (".5 in", "length", 0.0127), ("38 Hz", "frequency", 38.0), ("2,3 %", "share", 0.023),
])
def test_what_people_type(text: str, kind: str, expected: float) -> None:
    assert units.parse(text, kind) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("text", "kind", "says"), [
    ("1,500", "length", "ambiguous"), ("12,500 mm", "length", "12500 or 12.5"), ("1450", "rotation", "has no unit"),
    ("7 furlong", "length", "unknown unit"), ("7 kW", "length", "unknown unit"), ("", "length", "nothing typed"),
    ("abc mm", "length", "not a number"), ("1.2.3 mm", "length", "not a number"),
    ("1,234.5 mm", "length", "not a number"),
    ("1 500 mm", "length", "unknown unit"), ("23 9/8 in", "length", "below 1"), ("5/0 in", "length", "zero"),
    ("nan mm", "length", "not a number"), ("inf mm", "length", "not a number"), ("1e999 mm", "length", "too large"),
    ("12 mm mm", "length", "unknown unit"), ("2 ft 13 in", "length", "below 12"), ("--3 mm", "length", "not a number"),
])
def test_what_is_refused_and_why(text: str, kind: str, says: str) -> None:
    with pytest.raises(UnitError, match=says):
        units.parse(text, kind)


@given(st.text(max_size=12), st.sampled_from(sorted(units.KINDS)))
def test_any_text_is_read_or_refused_and_nothing_else(text: str, kind: str) -> None:
    try:
        value = units.parse(text, kind)
    except UnitError:
        return
    assert math.isfinite(value)


@given(st.floats(-1e7, 1e7), st.sampled_from(sorted(units.SHOWN["si"])))
def test_both_systems_show_the_same_value(value: float, kind: str) -> None:
    for system in ("si", "inch"):
        shown = units.show(value, kind, system, digits=6)
        unit = units.SHOWN[system][kind].unit
        number = float(shown.removesuffix(units.sign(unit)).strip())
        step = abs(units.to_si(1, unit, kind))
        assert units.to_si(number, unit, kind) == pytest.approx(value, rel=1e-5, abs=1e-2 * step)
