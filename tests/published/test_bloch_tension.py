"""Bloch and Geitner, Major Process Equipment Maintenance and Repair, pp. 326-327: set tension by force at the mark."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from beltwright.mechanics.deflection import force_at_mark, mark_deflection
from beltwright.mechanics.friction import centrifugal_tension
from beltwright.mechanics.tension import set_bands, static_bloch, static_tension, strand_share
from beltwright.tables import load
from beltwright.units import FOOT, HORSEPOWER, MINUTE, POUND_FORCE, from_si
from tests.published import printed
from tests.published.examples import examples

BLOCH = examples("bloch_tension")
KFPM = 1000 * FOOT / MINUTE
# pounds of pull that one horsepower is at 1000 ft/min
PER_HP = HORSEPOWER / KFPM / POUND_FORCE


def test_a_horsepower_at_1000_feet_per_minute_is_33_pounds() -> None:
    assert pytest.approx(33.0, rel=1e-12) == PER_HP


def test_k_by_arc_as_worked_out_elsewhere() -> None:
    example = BLOCH["K by arc"]
    for wrap, K in zip(example["given"]["wrap_deg"], example["derived"]["K"], strict=True):
        # one in the last digit: worked out with f = 0.5123 in place of ln 5/pi
        assert PER_HP * strand_share(np.radians(wrap)) == pytest.approx(float(K), abs=0.01), wrap


def test_k_by_the_arc_factor_is_the_same_rule_to_the_printed_digits_of_the_factor() -> None:
    # 16.5 (2.5 - G)/G with the printed G = 0.82 at 120 degrees
    by_factor = static_tension(HORSEPOWER, 1, KFPM, mass=1e-9, arc_factor=0.82)
    assert from_si(float(by_factor), "lbf", "force") == printed("33.80")
    assert PER_HP * strand_share(np.radians(120)) == pytest.approx(33.80, rel=0.01)


def test_m_by_section_from_the_metric_masses() -> None:
    example = BLOCH["M by section"]
    for section, mass in example["given"]["mass_kg_m"].items():
        at_kfpm = from_si(float(centrifugal_tension(mass, KFPM)), "lbf", "force")
        # one in the last digit: worked out from pounds per foot, rounded on the way
        assert at_kfpm == pytest.approx(float(example["derived"]["M"][section]), abs=0.01), section


def test_the_formula_in_the_books_own_units() -> None:
    """Ts = K DHP/(N S) + M S^2/2 with K = 24.75, M = 0.99: 10 hp on two B belts at 3000 ft/min."""
    by_hand = 24.75 * 10 / (2 * 3) + 0.99 * 3**2 / 2
    ours = static_bloch(10 * HORSEPOWER, belts=2, speed=3 * KFPM, mass=0.170, wrap=np.pi)
    assert from_si(float(ours), "lbf", "force") == pytest.approx(by_hand, abs=0.5 * 0.005 * 9)


def test_the_band_of_force_in_the_books_words() -> None:
    T, Y = 300.0, 20.0
    assert mark_deflection(1.0) == Fraction(BLOCH["pp. 326-327"]["printed"]["mark"])
    assert force_at_mark(set_bands(T).run_in.low, Y) == pytest.approx((T + Y) / 16, rel=1e-15)
    assert force_at_mark(set_bands(T).run_in.high, Y) == pytest.approx((1.5 * T + Y) / 16, rel=1e-15)


def test_new_belts_at_133_percent_of_the_greatest_force_lie_in_the_new_band() -> None:
    """P_new = 1.33 P_max multiplies the allowance too: it stands a little over the band's top end when Y is large."""
    T = 300.0
    row = load("tension_bands").where(by="bloch", belts="new")[0]
    factor = float(BLOCH["pp. 326-327"]["printed"]["new_over_max"])
    assert row["high"] == pytest.approx(1.5 * factor, rel=1e-12)
    for Y in (0.0, 5.0):
        force = factor * force_at_mark(set_bands(T).run_in.high, Y)
        band = set_bands(T).new
        assert force_at_mark(band.low, Y) < force < force_at_mark(band.high, Y) * 1.01
