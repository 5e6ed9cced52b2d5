"""Sheave limits: every row of the motor table can be found, and the rim's two questions answer each other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.sheave_limits import greatest_rotation, motor_sheave, rim_limit, rim_speed, rim_within
from beltwright.tables import load
from beltwright.units import HORSEPOWER, RPM

ROWS = load("nema_sheave_limits").rows
MATERIALS = st.sampled_from(["cast iron", "ductile iron", "steel"])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['frame']} {row['power'] / HORSEPOWER:.2f} "
                                                      f"{row['synchronous'] / RPM:.0f}")
@pytest.mark.parametrize("slip", [0.0, 0.03, 0.125])
def test_every_row_is_found_by_its_own_motor(row: dict[str, float | str | None], slip: float) -> None:
    assert isinstance(row["power"], float)
    assert isinstance(row["synchronous"], float)
    found = motor_sheave(f" {str(row['frame']).lower()} ", row["power"], row["synchronous"] * (1 - slip))
    assert found.synchronous == row["synchronous"]
    for name in ("power", "classical_diameter", "classical_width", "narrow_outside", "narrow_width", "trust"):
        assert getattr(found, name) == row[name]


def test_sizes_do_not_shrink_as_the_power_of_a_frame_rises() -> None:
    for frame in {row["frame"] for row in ROWS}:
        for synchronous in {row["synchronous"] for row in ROWS}:
            own = load("nema_sheave_limits").where(frame=str(frame), synchronous=float(str(synchronous)))
            sizes = [row["narrow_outside"] for row in sorted(own, key=lambda row: float(str(row["power"])))]
            assert sizes == sorted(sizes, key=lambda size: float(str(size)))
        assert len({row["narrow_width"] for row in ROWS if row["frame"] == frame}) == 1


def test_a_row_without_a_classical_diameter_says_none() -> None:
    found = motor_sheave("444T", 150 * HORSEPOWER, 1780 * RPM)
    assert found.classical_diameter is None
    assert found.narrow_outside > 0


@pytest.mark.parametrize(("power", "rotation"),
                         [(0.0, 100.0), (-1.0, 100.0), (np.nan, 100.0), (1e4, 0.0), (1e4, np.nan)])
def test_no_motor_like_this(power: float, rotation: float) -> None:
    with pytest.raises(OutOfRange, match="above zero"):
        motor_sheave("254T", power, rotation)


def test_a_motor_is_not_taken_for_its_neighbour() -> None:
    # 12 hp is no rating, and neither 10 nor 15
    with pytest.raises(OutOfRange, match=r"12\.00 hp"):
        motor_sheave("215T", 12 * HORSEPOWER, 3500 * RPM)
    # faster than synchronous
    with pytest.raises(OutOfRange, match="1810 rpm"):
        motor_sheave("215T", 10 * HORSEPOWER, 1810 * RPM)


@given(st.floats(0.02, 3.0), MATERIALS)
def test_the_greatest_rotation_brings_the_rim_to_its_limit(outside: float, material: str) -> None:
    most = greatest_rotation(outside, material)
    assert rim_speed(outside, most) == pytest.approx(rim_limit(material).speed)
    assert rim_within(outside, most * (1 - 1e-9), material)
    assert not rim_within(outside, most * (1 + 1e-9), material)


def test_tougher_material_runs_faster() -> None:
    limits = [rim_limit(material) for material in ("cast iron", "ductile iron", "steel")]
    assert [limit.speed for limit in limits] == sorted(limit.speed for limit in limits)
    assert [limit.trust for limit in limits] == ["read", "memory", "memory"]
    with pytest.raises(NotKnown, match="cast iron, ductile iron, steel"):
        rim_limit("wood")


def test_rim_speeds_of_many_sheaves_at_once() -> None:
    outside = np.array([0.2, 0.4, 0.6])
    assert rim_within(outside, 1750 * RPM, "cast iron").tolist() == [True, False, False]  # type: ignore[union-attr]
    assert np.asarray(greatest_rotation(outside, "steel")).shape == (3,)
    with pytest.raises(OutOfRange, match="outside of 0 mm"):
        rim_speed(np.array([0.2, 0.0]), 100.0)


def test_the_speed_guide_ends_at_the_rims_limit() -> None:
    (usual,) = load("speed_guides").where(guide="usual range")
    assert usual["fastest"] == pytest.approx(rim_limit("cast iron").speed, abs=0.05)
