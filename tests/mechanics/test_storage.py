"""Belts in the store: shelf life adds up however a stay is cut, climate limits, coils and pegs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import OutOfRange
from beltwright.mechanics.storage import (
    COILED,
    coiling,
    cool_enough,
    dry_enough,
    may_be_kept,
    needs_warming,
    peg,
    shelf_life,
    shelf_life_used,
)
from beltwright.tables import cite, load
from beltwright.units import INCH, YEAR, to_si

stores = st.floats(-20.0, 46.0)


@given(stores, st.floats(0.0, 20.0))
def test_a_warmer_store_never_keeps_belts_longer(warm: float, cooler: float) -> None:
    assert float(shelf_life(warm)) <= float(shelf_life(warm - cooler)) <= 8 * YEAR


@given(st.lists(st.tuples(st.floats(0.0, YEAR), stores), min_size=1, max_size=8), st.floats(0.0, 1.0))
def test_a_stay_uses_the_same_life_however_it_is_cut_and_ordered(stays: list[tuple[float, float]], cut: float) -> None:
    kept, degrees = (np.array(each) for each in zip(*stays, strict=True))
    whole = shelf_life_used(kept, degrees)
    halves = shelf_life_used(np.concatenate([kept * cut, kept * (1 - cut)]), np.concatenate([degrees, degrees]))
    assert halves == pytest.approx(whole)
    assert shelf_life_used(kept[::-1], degrees[::-1]) == pytest.approx(whole)


@given(stores)
def test_a_whole_life_at_one_temperature_uses_all_of_it(degrees: float) -> None:
    assert shelf_life_used(float(shelf_life(degrees)), degrees) == pytest.approx(1.0)


def test_a_store_too_hot_is_refused_and_named() -> None:
    assert list(np.asarray(may_be_kept(np.array([46.0, 46.2, np.nan])))) == [True, False, False]
    with pytest.raises(OutOfRange, match=r"50 °C.*46 °C"):
        shelf_life(np.array([20.0, 50.0]))
    with pytest.raises(OutOfRange, match="kept"):
        shelf_life_used(-1.0, 20.0)


def test_climate_limits() -> None:
    assert list(np.asarray(cool_enough(np.array([10.0, 24.9, 25.0])))) == [True, True, False]
    assert list(np.asarray(needs_warming(np.array([14.9, 15.0])))) == [True, False]
    percent = to_si(1.0, "%", "share")   # 70 percent as typed, to the last digit
    assert list(np.asarray(dry_enough(np.array([64.0, 65.0, 69.0, 70.0]) * percent))) == [True, True, True, False]
    assert list(np.asarray(dry_enough(np.array([64.0, 65.0]) * percent, polyurethane=True))) == [True, False]
    with pytest.raises(OutOfRange, match="humidity"):
        dry_enough(1.2)
    with pytest.raises(OutOfRange, match="humidity"):
        dry_enough(-0.1)


@given(st.floats(0.05, 0.6), st.floats(0.005, 0.03))
def test_peg_serves_both_rules(smallest: float, thickness: float) -> None:
    diameter = float(peg(smallest, thickness))
    assert diameter >= smallest
    assert diameter >= 10 * thickness
    assert diameter in (smallest, 10 * thickness)


def test_coils_by_length() -> None:
    lengths = np.array([26.0, 60.0, 60.5, 120.0, 121.0, 180.0, 300.0]) * INCH
    found = coiling(lengths, "B")
    assert list(np.asarray(found.coils)) == [0, 0, 1, 1, 2, 2, 3]
    # a belt laid in c coils shows 2 c + 1 loops, by its topology
    assert np.all(np.asarray(found.loops) == 2 * np.asarray(found.coils) + 1)
    assert "D" not in COILED
    with pytest.raises(OutOfRange, match="section D"):
        coiling(3.0, "D")
    with pytest.raises(OutOfRange, match="length"):
        coiling(0.0, "A")


def test_every_row_says_who_says_so() -> None:
    for table in ("storage_limits", "shelf_life"):
        for row in load(table).rows:
            assert cite(str(row["source"]))
            assert row["trust"]
