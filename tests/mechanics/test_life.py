"""Belt life by the durability method: what wears adds up, what the law scales by, and where it keeps silent."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import life
from beltwright.mechanics.friction import centrifugal_tension
from beltwright.units import FOOT, HOUR, INCH, MINUTE, POUND_FORCE

SECTIONS = st.sampled_from(["A", "B", "C", "D", "E", "3V", "5V", "8V"])
PEAKS = st.floats(100.0, 3000.0)


@given(PEAKS, PEAKS, SECTIONS)
def test_each_sheave_uses_up_its_share(one: float, other: float, section: str) -> None:
    """Miner's sum: in N passes each sheave has used N/N_i of the belt, and at failure the shares make one."""
    K, b = life.durability(section).strength, life.durability(section).exponent
    passes = life.passes_to_failure(one, other, K, b)
    alone = [(K / peak) ** b for peak in (one, other)]
    assert sum(passes / stands for stands in alone) == pytest.approx(1.0, rel=1e-12)
    assert passes <= min(alone) * (1 + 1e-12)
    assert life.passes_to_failure(one, one, K, b) == pytest.approx(alone[0] / 2, rel=1e-12)


@given(PEAKS, PEAKS, SECTIONS, st.floats(1.01, 2.0))
def test_tension_costs_life_by_the_power_b(one: float, other: float, section: str, more: float) -> None:
    K, b = life.durability(section).strength, life.durability(section).exponent
    ratio = life.passes_to_failure(one, other, K, b) / life.passes_to_failure(one * more, other * more, K, b)
    assert math.log(ratio) == pytest.approx(b * math.log(more), rel=1e-9)


@pytest.mark.parametrize("section", ["A", "B", "C", "D", "E", "3V", "5V", "8V"])
def test_larger_sheaves_and_looser_belts_last_longer(section: str) -> None:
    limits = life.durability(section)
    sheaves = limits.smallest * np.array([1.0, 1.2, 1.5, 2.0])
    tight = 0.07 * limits.strength
    lives = life.passes_to_failure(*life.peak_tensions(tight, limits.bending_constant, sheaves, 2 * limits.smallest),
                                   strength=limits.strength, exponent=limits.exponent)
    assert np.all(np.diff(lives) > 0)
    looser = life.passes_to_failure(*life.peak_tensions(0.9 * tight, limits.bending_constant, sheaves, sheaves),
                                    strength=limits.strength, exponent=limits.exponent)
    assert np.all(looser > life.passes_to_failure(
        *life.peak_tensions(tight, limits.bending_constant, sheaves, sheaves), strength=limits.strength,
        exponent=limits.exponent))


@given(st.floats(300.0, 1500.0), st.floats(0.13, 0.5), st.floats(0.13, 0.5), st.floats(1.0, 8.0), st.floats(2.0, 30.0))
def test_nothing_beyond_the_published_range_is_ever_told(tight: float, driver: float, driven: float, length: float,
                                                         speed: float) -> None:
    limits = life.durability("B")
    told = life.belt_life("B", tight, driver, driven, length, speed)
    bare = life.passes_to_failure(*life.peak_tensions(tight, limits.bending_constant, driver, driven), limits.strength,
                                  limits.exponent)
    assert 1e8 <= told.passes <= 1e9
    assert told.more_than == (bare > 1e9)
    assert told.less_than == (bare < 1e8)
    if not (told.more_than or told.less_than):
        assert told.passes == bare
    assert told.time == pytest.approx(told.passes * length / speed, rel=1e-12)


def test_arrays_carry_their_flags_one_by_one() -> None:
    tight = np.array([300.0, 560.0, 1200.0])
    told = life.belt_life("B", tight, 0.1575, 0.3048, 2.33, 25.0)
    assert np.asarray(told.more_than).tolist() == [True, False, False]
    assert np.asarray(told.less_than).tolist() == [False, False, True]
    assert np.asarray(told.passes)[[0, 2]].tolist() == [1e9, 1e8]
    for number, one in enumerate(tight):
        alone = life.belt_life("B", float(one), 0.1575, 0.3048, 2.33, 25.0)
        assert alone.time == np.asarray(told.time)[number]


def test_the_centrifugal_constant_is_a_mass() -> None:
    """Kc (V/1000)^2 lbf and m v^2 are one tension: 24.4 lbf for section B at 5031.8 ft/min."""
    tension = centrifugal_tension(life.durability("B").mass, 5031.8 * FOOT / MINUTE)
    assert tension / POUND_FORCE == pytest.approx(0.965 * 5.0318**2, rel=1e-12)
    masses = {section: round(life.durability(section).mass, 3) for section in "ABCDE"}
    assert masses == {"A": 0.097, "B": 0.166, "C": 0.296, "D": 0.603, "E": 0.869}


def test_a_sheave_below_the_smallest_is_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match=r"sheave of 114 mm \(4\.50 in\) for section B.*from 127 mm \(5\.00 in\) up"):
        life.belt_life("B", 300.0, np.array([6.0, 4.5]) * INCH, 12 * INCH, 2.3, 20.0)
    with pytest.raises(OutOfRange):
        life.belt_life("B", 300.0, 12 * INCH, 4.99 * INCH, 2.3, 20.0)
    assert life.covers("B", 5 * INCH, 12 * INCH)
    assert not life.covers("B", math.nan, 12 * INCH)


@pytest.mark.parametrize("section", ["Z", "AX", "5VX", "SPB", "b"])
def test_a_section_without_constants_is_not_guessed(section: str) -> None:
    with pytest.raises(NotKnown, match=r"No durability constants .* A, B, C, D, E, 3V, 5V, 8V"):
        life.belt_life(section, 300.0, 0.2, 0.3, 2.3, 20.0)


def test_how_far_each_row_is_to_be_trusted() -> None:
    assert {section: life.durability(section).trust for section in ("A", "B", "D", "5V")} == {
        "A": "memory", "B": "read", "D": "read", "5V": "memory"}


@pytest.mark.parametrize("refused", [
    lambda: life.bending_tension(60.0, 0.0),
    lambda: life.peak_tensions(-1.0, 60.0, 0.2, 0.2),
    lambda: life.passes_to_failure(0.0, 300.0, 5e3, 11.0),
    lambda: life.running_time(1e9, 2.0, 0.0),
    lambda: life.belt_life("B", math.nan, 0.2, 0.2, 2.0, 20.0),
])
def test_what_no_drive_has_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()


def test_a_year_of_running_in_hours() -> None:
    assert life.running_time(1e9, 2.5, 25.0) / HOUR == pytest.approx(1e8 / 3600, rel=1e-12)
