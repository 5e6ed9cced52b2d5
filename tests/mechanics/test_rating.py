"""The rating equations against the printed form evaluated in inches and hp, their identities, and what they refuse."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.rating import (
    Method,
    coefficients,
    power_ip20,
    power_ip22,
    rated_ip20,
    rated_ip22,
    rating_method,
    ratio_factor,
    ratio_power,
)
from beltwright.mechanics.textbook import power_textbook, rated_textbook
from beltwright.units import FOOT, HORSEPOWER, INCH, MINUTE, RPM

IP20 = st.sampled_from(["A", "B", "C", "D", "AX", "BX", "CX"])
IP22 = st.sampled_from(["3V", "5V", "8V"])
PITCHES = st.floats(2.0, 40.0)
SPEEDS = st.floats(50.0, 6000.0)
RATIOS = st.floats(1.0, 15.0)
ANY = st.floats(allow_nan=True, allow_infinity=True)
# half plausible, half anything a keyboard or a broken instrument can give
ANY_PITCH, ANY_ROTATION, ANY_RATIO = (st.one_of(plausible, ANY) for plausible in (
    PITCHES.map(lambda size: size * INCH), SPEEDS.map(lambda rpm: rpm * RPM), RATIOS))


def printed_form(section: str, method: Method, pitch_in: float, rpm: float, ratio: float) -> float:
    """The equation term by term as it is printed, in inches, thousands of rpm and hp."""
    row = coefficients(section, method)
    d, r = pitch_in, rpm / 1000
    basic = d * r * (row.k1 - row.k2 / d - row.k3 * (d * r) ** 2 - row.k4 * math.log10(d * r))
    return basic + row.k2 * r * (1 - 1 / float(ratio_factor(ratio, method)))


@given(IP20, PITCHES, SPEEDS, RATIOS)
def test_ip20_is_the_printed_equation(section: str, pitch_in: float, rpm: float, ratio: float) -> None:
    assume(rated_ip20(section, pitch_in * INCH, rpm * RPM, ratio))
    ours = power_ip20(section, pitch_in * INCH, rpm * RPM, ratio) / HORSEPOWER
    assert ours == pytest.approx(printed_form(section, "ip20", pitch_in, rpm, ratio), rel=1e-9, abs=1e-9)


@given(IP22, PITCHES, SPEEDS, RATIOS)
def test_ip22_is_the_printed_equation(section: str, pitch_in: float, rpm: float, ratio: float) -> None:
    assume(rated_ip22(section, pitch_in * INCH, rpm * RPM, ratio))
    ours = power_ip22(section, pitch_in * INCH, rpm * RPM, ratio) / HORSEPOWER
    assert ours == pytest.approx(printed_form(section, "ip22", pitch_in, rpm, ratio), rel=1e-9, abs=1e-9)


@given(IP20, PITCHES, SPEEDS, RATIOS)
def test_a_ratio_adds_its_term_and_nothing_else(section: str, pitch_in: float, rpm: float, ratio: float) -> None:
    pitch, rotation = pitch_in * INCH, rpm * RPM
    assume(rated_ip20(section, pitch, rotation))
    added = ratio_power(section, rotation, ratio)
    assert added >= 0
    together = power_ip20(section, pitch, rotation, ratio)
    assert together == pytest.approx(power_ip20(section, pitch, rotation) + added, rel=1e-9)


@given(IP20, PITCHES, SPEEDS, st.floats(1.01, 3.0))
def test_at_one_belt_speed_a_larger_sheave_carries_more(section: str, pitch_in: float, rpm: float, more: float) -> None:
    assume(rated_ip20(section, pitch_in * INCH, rpm * RPM))
    slower = rpm / more
    assert (power_ip20(section, pitch_in * more * INCH, slower * RPM)
            > power_ip20(section, pitch_in * INCH, rpm * RPM))


@pytest.mark.parametrize("method", ["ip20", "ip22"])
def test_ratio_factors_hold_over_their_bands_and_never_fall(method: Method) -> None:
    ratios = np.linspace(1.0, 6.0, 5001)
    factors = np.asarray(ratio_factor(ratios, method))
    assert np.all(np.diff(factors) >= 0)
    assert len(set(factors.tolist())) == 10
    assert factors[0] == 1.0
    # between 1.01 and 1.02 nothing is printed: the lower band holds, which rates lower
    assert ratio_factor(1.0199, method) == 1.0 < ratio_factor(1.02, method)


@given(IP20, ANY_PITCH, ANY_ROTATION, ANY_RATIO)
def test_the_mask_says_exactly_where_it_is_refused(section: str, pitch: float, rotation: float, ratio: float) -> None:
    if rated_ip20(section, pitch, rotation, ratio):
        power = power_ip20(section, pitch, rotation, ratio)
        assert np.isfinite(power)
        assert power > 0
    else:
        with pytest.raises(OutOfRange):
            power_ip20(section, pitch, rotation, ratio)


@given(st.sampled_from("ABCDE"), ANY_PITCH, ANY_ROTATION)
def test_the_textbooks_mask_says_exactly_where_it_is_refused(section: str, pitch: float, rotation: float) -> None:
    if rated_textbook(section, pitch, rotation):
        assert power_textbook(section, pitch, rotation) > 0
    else:
        with pytest.raises(OutOfRange):
            power_textbook(section, pitch, rotation)


@given(st.sampled_from("ABCD"), st.floats(1.0, 3.0), st.floats(1000.0, 5000.0))
def test_the_textbook_gives_premium_belts_more(section: str, larger: float, speed_ft_min: float) -> None:
    smallest = {"A": 3.0, "B": 5.4, "C": 9.0, "D": 13.0}[section]
    pitch = smallest * larger * INCH
    rotation = 2 * speed_ft_min * FOOT / MINUTE / pitch
    assume(rated_textbook(section, pitch, rotation))
    regular, premium = (float(power_textbook(section, pitch, rotation, quality)) for quality in ("regular", "premium"))
    assert regular < premium


def test_arrays_give_what_scalars_give() -> None:
    pitch = np.array([5.4, 6.2, 9.0])[:, None] * INCH
    rotation = np.array([700.0, 1160.0, 1750.0, 1750.0]) * RPM
    ratio = np.array([1.0, 1.3, 3.0, 1.05])
    together = np.asarray(power_ip20("B", pitch, rotation, ratio))
    assert together.shape == (3, 4)
    alone = [[float(power_ip20("B", float(d), float(w), float(i))) for w, i in zip(rotation, ratio, strict=True)]
             for d in pitch[:, 0]]
    assert together == pytest.approx(np.array(alone), rel=1e-14)
    assert np.asarray(rated_ip20("B", pitch, rotation, ratio)).shape == (3, 4)


def test_a_refusal_names_the_first_drive_that_is_wrong_and_the_limit() -> None:
    with pytest.raises(OutOfRange, match=r"belt speed 36\.7 m/s: IP-20 rates belts from 0\.1 m/s to 33\.0 m/s"):
        power_ip20("B", np.array([0.2, 0.4, 0.5]), 1750 * RPM)
    with pytest.raises(OutOfRange, match=r"section B carries nothing over a sheave of 25\.4 mm .* at 3500 rpm"):
        power_ip20("B", np.array([0.1, 0.0254]), 3500 * RPM)
    with pytest.raises(OutOfRange, match=r"speed ratio 0\.5: one or more"):
        power_ip20("B", 0.15, 1750 * RPM, 0.5)
    with pytest.raises(OutOfRange, match="pitch of -100 mm"):
        power_ip20("B", -0.1, 1750 * RPM)
    with pytest.raises(OutOfRange, match=r"from 0\.1 m/s"):
        power_ip20("B", 0.15, 1 * RPM)


@pytest.mark.parametrize("section", ["Z", "ZX", "E", "SPZ", "SPA", "SPB", "SPC", "XPZ", "3VX", "5VX", "9J", "Q"])
def test_no_rating_is_guessed(section: str) -> None:
    with pytest.raises(NotKnown, match="enter the power one belt carries"):
        rating_method(section)
    with pytest.raises(NotKnown, match=rf"IP-20 has no rating for section {section} .*enter the power"):
        power_ip20(section, 0.2, 100.0)
    with pytest.raises(NotKnown, match="enter the power"):
        power_ip22(section, 0.2, 100.0)


@pytest.mark.parametrize("standard", ["din", "is", "iso"])
def test_a_belt_to_a_metric_standard_is_not_rated_by_the_inch_one(standard: str) -> None:
    assert rating_method("B", "rma") == "ip20"
    with pytest.raises(NotKnown, match="metric standard: enter the power"):
        rating_method("B", standard)


def test_section_e_is_rated_by_the_older_table_alone() -> None:
    assert power_textbook("E", 22 * INCH, 80.0) > 0
    with pytest.raises(NotKnown, match="A to E"):
        power_textbook("AX", 0.1, 100.0)


def test_narrow_and_classical_equations_are_not_mixed() -> None:
    with pytest.raises(NotKnown, match="IP-22"):
        power_ip22("B", 0.2, 100.0)
    with pytest.raises(NotKnown, match="IP-20"):
        power_ip20("5V", 0.2, 100.0)
