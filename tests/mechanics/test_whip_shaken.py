"""What shakes a span: Mathieu's equation and the running string integrated in time, windows against plain search."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from beltwright.errors import OutOfRange
from beltwright.mechanics import whip, whip_shaken
from beltwright.mechanics.stretch import tension_per_move

Array = npt.NDArray[np.float64]


def growth(rates: Array, swing: float, period: float) -> float:
    """By how much a swing has grown after a period, by integration in time of x' = (A + η cos Ωt B) x; Floquet."""
    steady, pulsing = rates
    size = len(steady)

    def run(t: float, state: Array) -> Array:
        now = steady + swing * math.cos(2 * math.pi * t / period) * pulsing
        return np.asarray((now @ state.reshape(size, size)).ravel())

    done = solve_ivp(run, (0.0, period), np.eye(size).ravel(), rtol=1e-8, atol=1e-10)
    return float(np.max(np.abs(np.linalg.eigvals(done.y[:, -1].reshape(size, size)))))


def mathieu(natural: float, damping: float) -> Array:
    """q'' + 2 ζ ω q' + ω² (1 + η cos Ωt) q = 0."""
    steady = np.array([[0.0, 1.0], [-natural**2, -2 * damping * natural]])
    return np.array([steady, np.array([[0.0, 0.0], [-natural**2, 0.0]])])


@settings(max_examples=15, deadline=None)
@given(st.floats(0.02, 0.5), st.floats(0.0, 0.04))
def test_the_region_is_where_mathieus_equation_grows(pulsation: float, damping: float) -> None:
    natural = 2 * math.pi * 20.0
    rates = mathieu(natural, damping)
    if not whip_shaken.feeds(pulsation * 0.98, damping):
        if not whip_shaken.feeds(pulsation * 1.02, damping):
            for shaken in np.linspace(37.0, 43.0, 7):
                assert growth(rates, pulsation, 1 / shaken) < 1.0
        return
    low, high = whip_shaken.parametric_region(20.0, pulsation, damping)
    off = 0.002 * 40.0
    assert growth(rates, pulsation, 1 / (0.5 * (float(low) + float(high)))) > 1.0
    for outside in (float(low) - off, float(high) + off):
        assert growth(rates, pulsation, 1 / outside) <= 1.0 + 1e-6
    if float(high) - float(low) > 2 * off:
        for inside in (float(low) + off, float(high) - off):
            assert growth(rates, pulsation, 1 / inside) > 1.0


def running_string(share: float, terms: int = 8) -> Array:
    """The running string between fixed ends in `terms` half waves, c = t = 1; a swinging tension acts on y_xx alone."""
    n = np.arange(1, terms + 1)
    across = np.zeros((terms, terms))
    for i in n:
        for j in n:
            if (i + j) % 2:
                across[i - 1, j - 1] = 4.0 * i * j / (i**2 - j**2)   # 2 ∫ sin(iπx) d/dx sin(jπx) dx
    stiff = np.diag((n * np.pi) ** 2)
    nothing = np.zeros((terms, terms))
    steady = np.block([[nothing, np.eye(terms)], [-(1 - share**2) * stiff, -2 * share * across]])
    return np.array([steady, np.block([[nothing, nothing], [-stiff, nothing]])])


@pytest.mark.parametrize("share", [0.0, 0.2, 0.4, 0.6])
def test_how_a_running_span_feels_a_swing_of_its_tension(share: float) -> None:
    """The edges of the region of the whole string, integrated in time, lie where the felt swing puts them."""
    swing, rates = 0.08, running_string(share)
    first = 0.5 * (1 - share**2)
    felt = whip_shaken.pulsation_felt(swing, 1.0, 1.0, share)
    low, high = whip_shaken.parametric_region(first, felt, 0.0)
    half = 0.5 * (float(high) - float(low))
    for edge, out in ((float(low), -1.0), (float(high), 1.0)):
        assert growth(rates, swing, 1 / (edge - 0.12 * half * out)) > 1.0005
        assert growth(rates, swing, 1 / (edge + 0.12 * half * out)) < 1.0005


def test_a_span_at_rest_feels_the_whole_swing_and_one_in_whole_waves_none() -> None:
    assert whip_shaken.pulsation_felt(0.3, 400.0, 0.2, 0.0, np.array([1.0, 2.0])) == pytest.approx([0.3, 0.3])
    half = 0.5 * float(whip.wave_speed(400.0, 0.2))
    assert whip_shaken.pulsation_felt(0.3, 400.0, 0.2, half, mode=2) == pytest.approx(0.0, abs=1e-12)
    assert whip_shaken.pulsation_felt(0.3, 400.0, 0.2, half) > 0.2


@given(st.floats(0.0, 0.9), st.floats(0.0, 0.1))
def test_more_swing_widens_and_damping_narrows_the_region(pulsation: float, damping: float) -> None:
    low, high = whip_shaken.parametric_region(20.0, pulsation, damping)
    assert (low < high) == bool(whip_shaken.feeds(pulsation, damping)) or high - low < 1e-3
    assert low <= 40.0 <= high
    wider = whip_shaken.parametric_region(20.0, pulsation + 0.05, damping)
    narrower = whip_shaken.parametric_region(20.0, pulsation, damping + 0.01)
    assert wider.low <= low <= narrower.low
    assert narrower.high <= high <= wider.high


def test_run_out_stretches_the_belt_as_a_move_of_the_motor_does() -> None:
    """Half the swing of the dial, moved, changes the tension by what `tension_per_move` says."""
    assert whip_shaken.runout_swing(0.0004, 80000.0, 2.9, 1.98) == pytest.approx(
        tension_per_move(80000.0, 2.9, 1.98) * 0.0002, rel=1e-12)


def test_a_pulsating_torque_by_hand() -> None:
    """A pull of 250 N that swings by 40 N of each 100: from 150 to 350 N, and each strand takes half of that."""
    strands = [whip.running_strands(225.0, pull) for pull in (150.0, 250.0, 350.0)]
    assert whip_shaken.torque_swing(0.4, 250.0) == strands[2].tight - strands[1].tight == pytest.approx(50.0)
    assert whip_shaken.torque_swing(0.4, 250.0) == strands[0].slack - strands[1].slack


@given(st.floats(5.0, 60.0), st.floats(0.01, 0.5), st.floats(0.3, 2.0), st.floats(0.06, 0.5), st.floats(0.0, 30.0),
       st.floats(-200.0, 200.0))
def test_tensions_too_near_a_shaker_are_those_whose_note_is(excitation: float, margin: float, span: float, mass: float,
                                                            speed: float, lift: float) -> None:
    band = whip_shaken.shaken_tensions(excitation, margin, span, mass, speed, lift)
    for static, off in ((band.low, -margin), (band.high, margin)):
        note = whip.span_frequency(static + lift, span, mass, speed)
        assert whip_shaken.whip_margin(note, excitation) == pytest.approx(off, abs=1e-6)


STRETCH = st.tuples(st.integers(0, 60), st.integers(1, 30))


@settings(max_examples=200)
@given(st.integers(0, 40), st.integers(0, 40), st.lists(STRETCH, max_size=6))
def test_the_widest_clear_window_against_counting(low: int, wide: int, stretches: list[tuple[int, int]]) -> None:
    """Whole numbers: a window of n is n steps in a row that no stretch touches."""
    high = low + wide
    free = [not any(start <= step < start + long for start, long in stretches) for step in range(low, high)]
    longest = max((len(run) for run in "".join("x" if good else " " for good in free).split()), default=0)
    window = whip_shaken.clear_window(float(low), float(high), np.array([float(start) for start, _ in stretches]),
                                      np.array([float(start + long) for start, long in stretches]))
    assert window.high - window.low == longest
    assert low <= window.low <= window.high <= high


def test_windows_of_many_drives_are_those_of_each() -> None:
    chance = np.random.default_rng(2)
    low = chance.uniform(50, 100, 40)
    high = low + chance.uniform(0, 100, 40)
    starts = np.where(chance.random((40, 5)) < 0.2, np.inf, chance.uniform(0, 250, (40, 5)))
    ends = np.where(np.isinf(starts), np.inf, starts + chance.uniform(0, 40, (40, 5)))
    together = whip_shaken.clear_window(low, high, starts, ends)
    for at in range(40):
        alone = whip_shaken.clear_window(low[at], high[at], starts[at], ends[at])
        assert (together.low[at], together.high[at]) == (alone.low, alone.high)  # type: ignore[index]


@pytest.mark.parametrize("refused", [
    lambda: whip_shaken.whip_margin(0.0, 25.0),
    lambda: whip_shaken.torque_swing(-0.1, 100.0),
    lambda: whip_shaken.runout_swing(-1e-4, 8e4, 2.9, 2.0),
    lambda: whip_shaken.pulsation_felt(0.1, 400.0, 0.192, 46.0),
    lambda: whip_shaken.parametric_region(20.0, 1.0, 0.01),
    lambda: whip_shaken.shaken_tensions(25.0, 1.0, 0.8, 0.2, 10.0, 0.0),
    lambda: whip_shaken.clear_window(2.0, 1.0, np.array([1.0]), np.array([1.5])),
    lambda: whip_shaken.least_pulsation(-0.01),
])
def test_what_no_drive_has_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()
