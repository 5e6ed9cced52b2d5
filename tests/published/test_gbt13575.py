"""GB/T 13575.1: the metric form of the static tension, its shaft pull and test forces."""

from __future__ import annotations

import numpy as np
import pytest

from beltwright.mechanics.shaft_load import static_pull
from beltwright.mechanics.tension import set_bands, static_tension, strand_share
from beltwright.tables import load
from tests.published.examples import examples, expected

GBT = examples("gbt13575")


def test_shaft_pull_of_a_worked_drive() -> None:
    example = GBT["B-section drive, four belts"]
    given = example["given"]
    pull = static_pull(given["static_N"], np.radians(given["wrap_deg"]), given["belts"])
    assert pull == expected(example, "shaft_pull_N")


def test_the_formula_in_its_own_units() -> None:
    """F0 = 500 (2.5/K - 1) Pd/(z v) + m v^2 with kW: 7.5 kW on 3 belts at 12 m/s, K = 0.92, 0.170 kg/m."""
    by_hand = 500 * (2.5 / 0.92 - 1) * 7.5 / (3 * 12) + 0.170 * 12**2
    assert static_tension(7500.0, 3, 12.0, 0.170, 0.92) == pytest.approx(by_hand, rel=1e-12)


def test_500_and_24_75_are_the_same_constant() -> None:
    # 500 x 1.5 N m/s per kW at half a turn, and three quarters of the pull in the inch form
    assert strand_share(np.pi) * 1e3 == pytest.approx(750.0, rel=1e-12)


def test_test_forces_as_recalled_stand_in_the_table_beside_the_cards_band() -> None:
    shares = {name: float(text) for name, text in GBT["test forces"]["printed"].items()}
    run_in, new = load("tension_bands").where(by="gbt13575")
    assert (run_in["low"], run_in["high"]) == (shares["least"], shares["run_in"])
    assert new["low"] == new["high"] == shares["new"]
    ours = set_bands(1.0)
    assert ours.run_in.low <= shares["least"] <= shares["run_in"] <= ours.run_in.high
    assert ours.new.low == shares["new"]
