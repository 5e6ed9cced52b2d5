"""The log-time law against SciPy's fit; its foretold dates against a scan of the band and many made-up drives."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.relaxation import BAND, SETTLE, enough, fit, tension_at, time_to_limit
from beltwright.units import DAY, HOUR, YEAR

Array = npt.NDArray[np.float64]


def readings(seed: int, count: int, rate: float, noise: float) -> tuple[Array, Array, Array]:
    """Readings of a drive that obeys the law: as left, after a day's running, then scattered over a season."""
    rng = np.random.default_rng(seed)
    hours = np.concatenate([[0.0, DAY], rng.uniform(2 * DAY, 90 * DAY, count - 2)])
    uncertainty = rng.uniform(0.5, 1.5, count) * noise
    return hours, 320.0 - rate * np.log1p(hours / SETTLE) + rng.normal(0.0, uncertainty), uncertainty


@given(st.integers(0, 10_000), st.integers(3, 12), st.floats(0.0, 20.0), st.floats(1.0, 12.0))
def test_law_is_scipys_fit(seed: int, count: int, rate: float, noise: float) -> None:
    hours, tension, uncertainty = readings(seed, count, rate, noise)

    def law(h: Array, start: float, k: float) -> Array:
        return start - k * np.log1p(h / SETTLE)

    best, covariance = optimize.curve_fit(law, hours, tension, p0=[300.0, 5.0], sigma=uncertainty, absolute_sigma=True)
    ours = fit(hours, tension, uncertainty)
    chi2 = float(np.sum(((tension - law(hours, *best)) / uncertainty) ** 2))
    widened = max(1.0, chi2 / (count - 2))
    assert ours.rate == pytest.approx(best[1], rel=1e-5, abs=1e-5)
    assert ours.scatter == pytest.approx(np.sqrt(chi2 / (count - 2)), rel=1e-4, abs=1e-6)
    assert ours.rate_variance == pytest.approx(widened * covariance[1, 1], rel=1e-4)
    for at in (0.0, 5 * DAY, YEAR):
        x = np.array([1.0, -np.log1p(at / SETTLE)])
        told = tension_at(ours, at)
        assert told.tension == pytest.approx(law(np.array(at), *best), rel=1e-5)
        assert told.uncertainty == pytest.approx(np.sqrt(widened * (x @ covariance @ x)), rel=1e-4)


@given(st.integers(0, 10_000), st.integers(3, 12), st.floats(-5.0, 20.0), st.floats(1.0, 25.0), st.floats(120.0, 320.0),
       st.floats(0.0, 15.0))
def test_foretold_times_are_where_the_band_meets_the_limit(
        seed: int, count: int, rate: float, noise: float, limit: float, shared: float) -> None:
    """A scan of the band's edges over the time ahead finds what the closed form says, or finds nothing either."""
    hours, tension, uncertainty = readings(seed, count, rate, noise)
    line = fit(hours, tension, uncertainty)
    now, horizon = float(hours.max()), 5 * YEAR
    found = time_to_limit(line, limit, now, horizon, limit_uncertainty=shared)
    scan = np.geomspace(now, horizon, 4001)
    told = tension_at(line, scan)
    half = BAND * np.hypot(told.uncertainty, shared)
    for edge, time in zip((told.tension - half, told.tension, told.tension + half), found, strict=True):
        under = np.flatnonzero(edge <= limit)
        if under.size == 0:
            # an edge may touch the limit between two steps of the scan
            assert np.isinf(time) or np.min(edge) < limit + 0.05
        elif under[0] == 0:
            assert time == pytest.approx(now)
        else:
            assert scan[under[0] - 1] * (1 - 1e-9) <= time <= scan[under[0]] * (1 + 1e-9)
    assert now <= found.not_before <= found.expected <= found.not_after


def test_band_holds_the_true_time_19_times_in_20() -> None:
    rng = np.random.default_rng(5)
    drives, rate, noise, limit = 20_000, 9.0, 4.0, 225.0
    hours = np.array([0.0, 1.0, 4.0, 9.0, 16.0, 25.0]) * DAY
    tension = 320.0 - rate * np.log1p(hours / SETTLE) + rng.normal(0.0, noise, (drives, hours.size))
    line = fit(np.broadcast_to(hours, tension.shape), tension, np.full(tension.shape, noise))
    true = SETTLE * np.expm1((320.0 - limit) / rate)
    assert true > 25 * DAY
    found = time_to_limit(line, limit, 25 * DAY, 50 * YEAR)
    early, late = np.mean(true < np.asarray(found.not_before)), np.mean(true > np.asarray(found.not_after))
    # the variances only ever widen (Birge), so the band may hold more than it claims and never less
    assert 0.005 < early < 0.03
    assert 0.005 < late < 0.03
    # and the best guess lies either side alike
    assert np.mean(np.asarray(found.expected) < true) == pytest.approx(0.5, abs=0.02)


def test_an_error_shared_by_all_readings_is_carried_by_the_limits_uncertainty() -> None:
    """One wrong span shifts every reading of a drive; the band must still hold the true time."""
    rng = np.random.default_rng(8)
    drives, rate, noise, shared, limit = 20_000, 9.0, 3.0, 6.0, 225.0
    hours = np.array([0.0, 1.0, 4.0, 9.0, 16.0, 25.0]) * DAY
    tension = (320.0 - rate * np.log1p(hours / SETTLE) + rng.normal(0.0, noise, (drives, hours.size))
               + rng.normal(0.0, shared, (drives, 1)))
    line = fit(np.broadcast_to(hours, tension.shape), tension, np.full(tension.shape, noise))
    true = SETTLE * np.expm1((320.0 - limit) / rate)

    def held(limit_uncertainty: float) -> float:
        found = time_to_limit(line, limit, 0.0, 1000 * YEAR, limit_uncertainty=limit_uncertainty)
        inside = (np.asarray(found.not_before) <= true) & (true <= np.asarray(found.not_after))
        return float(np.mean(inside))

    assert 0.945 < held(shared) < 0.98
    assert held(0.0) < 0.85


def test_exact_readings_give_the_law_back() -> None:
    hours = np.array([0.0, 2.0, 24.0, 200.0]) * HOUR
    line = fit(hours, 300.0 - 8.0 * np.log1p(hours / SETTLE), 1e-6)
    found = time_to_limit(line, 230.0, 200 * HOUR, 10 * YEAR)
    assert line.rate == pytest.approx(8.0)
    assert found == pytest.approx((SETTLE * np.expm1(70.0 / 8.0),) * 3, rel=1e-5)
    # the same running time on a belt already at its limit: now
    assert time_to_limit(line, 299.0, 200 * HOUR, 10 * YEAR) == pytest.approx((200 * HOUR,) * 3)
    assert time_to_limit(line, 100.0, 200 * HOUR, 10 * YEAR) == pytest.approx((np.inf,) * 3)


def test_belts_that_do_not_relax_are_not_called_back_on_a_date() -> None:
    hours = np.array([0.0, 1.0, 10.0, 60.0]) * DAY
    found = time_to_limit(fit(hours, np.array([300.0, 301.0, 300.0, 301.5]), 2.0), 200.0, 60 * DAY, YEAR)
    assert found == pytest.approx((np.inf, np.inf, np.inf))


@given(st.permutations(range(6)), st.integers(0, 1000))
def test_order_and_absent_readings_change_nothing(order: list[int], seed: int) -> None:
    hours, tension, uncertainty = readings(seed, 6, 9.0, 4.0)
    plain = fit(hours, tension, uncertainty)
    padded = fit(np.append(hours[order], [0.0, DAY]), np.append(tension[order], [np.nan, 0.0]),
                 np.append(uncertainty[order], [np.inf, np.inf]))
    assert padded == pytest.approx(plain, rel=1e-9, abs=1e-12)


@given(st.integers(0, 1000), st.floats(0.0, 30.0))
def test_a_higher_limit_is_never_reached_later(seed: int, step: float) -> None:
    hours, tension, uncertainty = readings(seed, 6, 9.0, 4.0)
    line = fit(hours, tension, uncertainty)
    now = float(hours.max())
    lower, higher = (np.asarray(time_to_limit(line, limit, now, 5 * YEAR)) for limit in (200.0, 200.0 + step))
    assert np.all((higher <= lower * (1 + 1e-9)) | np.isinf(lower))


def test_drives_side_by_side_come_out_as_one_by_one() -> None:
    made = [readings(seed, 5, 9.0, 4.0) for seed in range(4)]
    hours, tension, uncertainty = (np.stack(each) for each in zip(*made, strict=True))
    together = time_to_limit(fit(hours, tension, uncertainty), np.array([200.0, 220.0, 240.0, 260.0]),
                             hours.max(axis=-1), 2 * YEAR)
    for row, (limit, (h, T, u)) in enumerate(zip((200.0, 220.0, 240.0, 260.0), made, strict=True)):
        alone = time_to_limit(fit(h, T, u), limit, float(h.max()), 2 * YEAR)
        assert [float(np.asarray(each)[row]) for each in together] == pytest.approx(list(alone))


def test_too_few_readings_and_impossible_ones_are_refused() -> None:
    assert not enough([0.0, DAY], 5.0)
    assert not enough([DAY, DAY, DAY], 5.0)
    assert not enough([0.0, DAY, 2 * DAY], [5.0, 5.0, np.inf])
    assert not enough([], [])
    assert list(np.asarray(enough([[0.0, DAY, 2 * DAY], [DAY, DAY, DAY]], 5.0))) == [True, False]
    with pytest.raises(NotKnown, match="too few readings"):
        fit([0.0, DAY], [300.0, 260.0], 5.0)
    with pytest.raises(OutOfRange, match="hours"):
        fit([-1.0, DAY, 2 * DAY], [300.0, 260.0, 250.0], 5.0)
    with pytest.raises(OutOfRange, match="uncertainty"):
        fit([0.0, DAY, 2 * DAY], [300.0, 260.0, 250.0], 0.0)
    line = fit([0.0, DAY, 2 * DAY], [300.0, 260.0, 250.0], 5.0)
    with pytest.raises(OutOfRange, match="horizon"):
        time_to_limit(line, 200.0, 2 * DAY, DAY)
