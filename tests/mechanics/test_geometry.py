"""Open-drive geometry against SciPy: arc length by quadrature round the belt's path, and root finding."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from beltwright.errors import Infeasible, OutOfRange
from beltwright.mechanics import geometry as g

SIZES = st.floats(0.05, 1.5)
RATIOS = st.floats(1.0, 15.0)
# from sheaves that all but touch to a very long drive, as multiples of the touching distance
APART = st.floats(-10.0, 1.3).map(lambda power: 1 + 10.0**power)
DRIVES = st.tuples(SIZES, RATIOS, APART, st.booleans()).map(
    lambda given: _drive(given[0], given[0] * given[1], given[2], given[3]))


def _drive(small: float, large: float, apart: float, speeds_up: bool) -> tuple[float, float, float]:
    centre = (small + large) / 2 * apart
    return (large, small, centre) if speeds_up else (small, large, centre)


def traced_length(driver: float, driven: float, centre: float) -> float:
    """The belt's path as a support function: h(φ) = greatest reach in direction φ; its perimeter is ∫ h dφ."""
    def reach(direction: float) -> float:
        return max(driver / 2, driven / 2 + centre * math.cos(direction))

    # the two directions square to the spans, where the path passes from one sheave to the other
    corner = math.acos((driver - driven) / (2 * centre))
    parts = ((-corner, corner), (corner, 2 * math.pi - corner))
    return sum(quad(reach, low, high, epsabs=1e-12, epsrel=1e-12)[0] for low, high in parts)


@given(DRIVES)
def test_length_is_that_of_the_path_traced_round_both_sheaves(drive: tuple[float, float, float]) -> None:
    assert g.belt_length(*drive) == pytest.approx(traced_length(*drive), rel=1e-10)


@given(DRIVES)
def test_centre_agrees_with_bracketed_root_finding(drive: tuple[float, float, float]) -> None:
    driver, driven, centre = drive
    length = traced_length(*drive)
    low, high = (driver + driven) / 2, length / 2
    if traced_length(driver, driven, low) >= length:
        root = low
    else:
        root = brentq(lambda c: traced_length(driver, driven, c) - length, low, high, xtol=1e-13, rtol=1e-12)
    # the quadrature itself is good to 1e-12, and where the sheaves touch a root cannot be told from the limit
    longer = max(length, float(g.shortest_length(driver, driven)))
    assert g.centre_from_length(driver, driven, longer) == pytest.approx(root, rel=1e-9)
    assert g.centre_from_length(driver, driven, longer) == pytest.approx(centre, rel=1e-9)


@given(DRIVES)
def test_there_and_back(drive: tuple[float, float, float]) -> None:
    driver, driven, centre = drive
    assert g.centre_from_length(driver, driven, g.belt_length(*drive)) == pytest.approx(centre, rel=1e-13)


@pytest.mark.parametrize("ratio", [1.0, 1.0 + 1e-15, 1.5, 3.0, 7.0, 15.0, 1e3, 1e6, 1e12])
def test_touching_sheaves_of_any_ratio_come_back(ratio: float) -> None:
    driver, driven = 0.1, 0.1 * ratio
    centre = (driver + driven) / 2
    assert g.centre_from_length(driver, driven, g.shortest_length(driver, driven)) == pytest.approx(centre, rel=1e-9)


@given(SIZES, APART)
def test_equal_sheaves_are_a_rectangle_with_round_ends(size: float, apart: float) -> None:
    centre = size * apart
    length = 2 * centre + math.pi * size
    assert g.belt_length(size, size, centre) == pytest.approx(length, rel=1e-15)
    assert g.centre_from_length(size, size, length) == pytest.approx(centre, rel=1e-14)
    assert g.wraps(size, size, centre) == (math.pi, math.pi)
    assert g.free_span(size, size, centre) == pytest.approx(centre, rel=1e-15)


@given(DRIVES)
def test_arcs_and_spans_make_up_the_length_and_one_turn(drive: tuple[float, float, float]) -> None:
    driver, driven, _ = drive
    on_driver, on_driven = g.wraps(*drive)
    assert on_driver + on_driven == pytest.approx(2 * math.pi, rel=1e-15)
    assert (on_driven - on_driver) * (driven - driver) >= 0
    arcs = on_driver * driver / 2 + on_driven * driven / 2
    assert 2 * g.free_span(*drive) + arcs == pytest.approx(g.belt_length(*drive), rel=1e-14)


@given(DRIVES)
def test_which_sheave_drives_does_not_matter_to_the_belt(drive: tuple[float, float, float]) -> None:
    driver, driven, centre = drive
    turned = driven, driver, centre
    assert g.belt_length(*turned) == g.belt_length(*drive)
    assert g.wraps(*turned) == tuple(reversed(g.wraps(*drive)))
    assert g.speed_ratio(driven, driver) == g.speed_ratio(driver, driven) >= 1
    assert g.centre_from_length(driven, driver, g.belt_length(*drive)) == \
        g.centre_from_length(driver, driven, g.belt_length(*drive))


@given(DRIVES, st.floats(1e-3, 1e3))
def test_a_drive_drawn_larger_keeps_its_shape(drive: tuple[float, float, float], scale: float) -> None:
    larger = tuple(size * scale for size in drive)
    assert g.belt_length(*larger) == pytest.approx(scale * g.belt_length(*drive), rel=1e-13)
    assert g.free_span(*larger) == pytest.approx(scale * g.free_span(*drive), rel=1e-9)
    assert g.wraps(*larger) == pytest.approx(g.wraps(*drive), rel=1e-7)


@given(DRIVES, st.floats(1e-6, 1.0))
def test_longer_belts_stand_further_apart(drive: tuple[float, float, float], more: float) -> None:
    driver, driven, centre = drive
    length = g.belt_length(*drive)
    assert g.centre_from_length(driver, driven, length * (1 + more)) > g.centre_from_length(driver, driven, length)
    assert g.belt_length(driver, driven, centre * (1 + more)) > length


@given(st.tuples(SIZES, RATIOS, st.floats(1.05, 20.0), st.booleans()).map(
    lambda given: _drive(given[0], given[0] * given[1], given[2], given[3])))
def test_slopes_are_those_of_the_curves(drive: tuple[float, float, float]) -> None:
    driver, driven, centre = drive
    step = 1e-5 * centre

    def slope(curve: object) -> float:
        assert callable(curve)
        return float(curve(driver, driven, centre + step) - curve(driver, driven, centre - step)) / (2 * step)

    assert g.length_per_centre(*drive) == pytest.approx(slope(g.belt_length), rel=1e-6)
    assert g.span_per_centre(*drive) == pytest.approx(slope(g.free_span), rel=1e-6)
    assert g.centre_per_length(*drive) * g.length_per_centre(*drive) == pytest.approx(1.0, rel=1e-15)


@given(DRIVES)
def test_textbook_length_is_short_by_no_more_than_it_says(drive: tuple[float, float, float]) -> None:
    driver, driven, centre = drive
    short = g.belt_length(*drive) - g.length_approximate(*drive)
    rounding = 4e-15 * g.belt_length(*drive)
    assert -rounding <= short <= (driven - driver) ** 4 / (113 * centre**3) + rounding
    assert short >= (driven - driver) ** 4 / (192 * centre**3) - rounding


@given(DRIVES)
def test_textbook_centre_is_long_by_no_more_than_it_says(drive: tuple[float, float, float]) -> None:
    driver, driven, centre = drive
    approximate = g.centre_approximate(driver, driven, g.belt_length(*drive))
    assert centre * (1 - 1e-14) <= approximate <= centre * 1.053


def test_arrays_give_what_their_drives_give_one_by_one() -> None:
    driver = np.geomspace(0.06, 0.9, 7)[:, np.newaxis]
    driven = np.geomspace(0.06, 0.9, 9)
    centre = (driver + driven) / 2 * np.linspace(1.0, 4.0, 9)
    length = np.asarray(g.belt_length(driver, driven, centre))
    solved = np.asarray(g.centre_from_length(driver, driven, length))
    assert solved.shape == (7, 9)
    for (row, column), found in np.ndenumerate(solved):
        alone = g.centre_from_length(float(driver[row, 0]), float(driven[column]), float(length[row, column]))
        assert found == pytest.approx(alone, rel=1e-15)
    assert np.ndim(g.centre_from_length(0.1, 0.2, 1.0)) == 0


def test_more_drives_than_one_block_keep_their_order() -> None:
    rng = np.random.default_rng(7)
    driver, driven = rng.uniform(0.05, 1.0, (2, 40_001))
    centre = (driver + driven) * rng.uniform(0.51, 5.0, driver.size)
    solved = np.asarray(g.centre_from_length(driver, driven, g.belt_length(driver, driven, centre)))
    np.testing.assert_allclose(solved, centre, rtol=1e-13)
    assert g.centre_from_length(np.empty(0), 0.3, 1.0).shape == (0,)  # type: ignore[union-attr]


def test_a_belt_too_short_is_refused_with_the_length_it_needs() -> None:
    with pytest.raises(Infeasible, match=r"too short: 1200\.0 mm .* 300\.0 mm .* 600\.0 mm .* at least 2364\.2 mm"):
        g.centre_from_length(0.3, 0.6, 1.2)
    need = traced_length(0.3, 0.6, 0.45)
    assert g.shortest_length(0.3, 0.6) == pytest.approx(need, rel=1e-12)
    assert not g.feasible(0.3, 0.6, need * (1 - 1e-9))
    assert g.feasible(0.3, 0.6, need * (1 + 1e-9))
    with pytest.raises(Infeasible, match=r"too short"):
        g.centre_approximate(0.3, 0.6, 2.3)


def test_the_drive_at_fault_is_named_among_many() -> None:
    length = np.full(50_000, 3.0)
    length[[40_000, 41_000]] = 1.0
    with pytest.raises(Infeasible, match=r"\(drive 40001 of 50000 and 1 more\)"):
        g.centre_from_length(0.3, 0.6, length)
    assert np.flatnonzero(~np.asarray(g.feasible(0.3, 0.6, length))).tolist() == [40_000, 41_000]


@pytest.mark.parametrize("function", [g.belt_length, g.wraps, g.free_span, g.length_approximate, g.length_per_centre,
                                      g.centre_per_length, g.span_per_centre])
def test_overlapping_sheaves_are_refused(function: object) -> None:
    assert callable(function)
    with pytest.raises(Infeasible, match=r"overlap: at a centre distance of 400\.0 mm .* at least 450\.0 mm"):
        function(0.3, 0.6, 0.4)
    with pytest.raises(OutOfRange, match=r"centre distance is not a number"):
        function(0.3, 0.6, math.nan)
    with pytest.raises(OutOfRange, match=r"diameter must be more than 0"):
        function(0.3, -0.6, 1.0)


@pytest.mark.parametrize(("driver", "driven", "length"), [(0.0, 0.6, 3.0), (0.3, -0.6, 3.0), (math.nan, 0.6, 3.0),
                                                          (0.3, math.inf, 3.0), (0.3, 0.6, math.nan),
                                                          (0.3, 0.6, math.inf)])
def test_what_is_no_measurement_is_refused(driver: float, driven: float, length: float) -> None:
    assert not g.feasible(driver, driven, length)
    for solve in (g.centre_from_length, g.centre_approximate):
        with pytest.raises(OutOfRange):
            solve(driver, driven, length)


@given(DRIVES, st.floats(1.0, 1000.0))
def test_both_sheaves_run_at_the_speed_of_the_belt(drive: tuple[float, float, float], rotation: float) -> None:
    driver, driven, _ = drive
    turned = g.driven_rotation(driver, driven, rotation)
    assert g.belt_speed(driven, turned) == pytest.approx(g.belt_speed(driver, rotation), rel=1e-14)
    ratio = rotation / turned
    assert max(ratio, 1 / ratio) == pytest.approx(g.speed_ratio(driver, driven), rel=1e-14)
