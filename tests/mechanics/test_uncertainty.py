"""Propagation of uncertainty against a second engine (`uncertainties`), against Monte Carlo, and against SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from uncertainties import UFloat, ufloat, wrap

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.deflection import deflection_force, tension_from_force
from beltwright.mechanics.frequency import frequency_from_tension, tension_from_frequency
from beltwright.mechanics.uncertainty import (
    LEVELS,
    bound_uncertainty,
    combined,
    coverage_factor,
    effective_degrees,
    expanded,
    force_spread,
    frequency_spread,
    instrument_uncertainty,
    repeat_uncertainty,
    resolution_uncertainty,
    shares,
)
from beltwright.tables import load
from beltwright.units import to_si

share_of_value = st.floats(1e-6, 0.1)


@given(st.floats(100.0, 2000.0), st.floats(0.2, 3.0), st.floats(1 / 100, 1 / 30), st.floats(1.0, 60.0), share_of_value,
       share_of_value, share_of_value, share_of_value)
def test_force_method_agrees_with_a_second_engine(
        tension: float, span: float, slope: float, allowance: float, dP: float, dh: float, dt: float,
        dY: float) -> None:
    """The oracle takes derivatives of the measuring model itself, by finite steps."""
    deflection = slope * span
    force = float(deflection_force(tension, span, deflection, allowance))
    inputs = {"force": ufloat(force, dP * force), "span": ufloat(span, dt * span),
              "deflection": ufloat(deflection, dh * deflection), "allowance": ufloat(allowance, dY * allowance)}
    oracle = wrap(tension_from_force)(*inputs.values())
    ours = force_spread(force, span, deflection, allowance, **stated(inputs))
    assert oracle.nominal_value == pytest.approx(tension)
    assert ours.uncertainty == pytest.approx(oracle.std_dev, rel=1e-5)
    for name, part in ours.parts.items():
        assert part == pytest.approx(oracle.derivatives[inputs[name]] * inputs[name].std_dev, rel=1e-5, abs=1e-6)


@given(st.floats(100.0, 2000.0), st.floats(0.3, 3.0), st.floats(0.05, 1.0), st.floats(0.001, 0.06), share_of_value,
       share_of_value, share_of_value, share_of_value)
def test_note_method_agrees_with_a_second_engine(
        tension: float, span: float, mass: float, eps: float, df: float, dt: float, dm: float, dEI: float) -> None:
    """Stiff ends included: eps is how stiff the span is beside its tension."""
    rigidity = (eps * span) ** 2 * tension
    frequency = float(frequency_from_tension(tension, span, mass, rigidity))
    inputs = {"frequency": ufloat(frequency, df * frequency), "span": ufloat(span, dt * span),
              "mass": ufloat(mass, dm * mass), "rigidity": ufloat(rigidity, dEI * rigidity)}
    oracle = wrap(tension_from_frequency)(*inputs.values())
    ours = frequency_spread(frequency, span, mass, rigidity, **stated(inputs))
    assert ours.uncertainty == pytest.approx(oracle.std_dev, rel=1e-5)
    for name, part in ours.parts.items():
        assert part == pytest.approx(oracle.derivatives[inputs[name]] * inputs[name].std_dev, rel=1e-4, abs=1e-5)


def stated(inputs: dict[str, UFloat]) -> dict[str, float]:
    return {f"{name}_uncertainty": each.std_dev for name, each in inputs.items()}


def test_both_methods_agree_with_monte_carlo() -> None:
    """Supplement 1: draw the inputs, work out the tension each time, look at the spread."""
    rng = np.random.default_rng(20240611)
    n = 400_000
    span = rng.uniform(0.64 - 0.005, 0.64 + 0.005, n)
    allowance = rng.uniform(10.0, 30.0, n)
    pressed = tension_from_force(rng.normal(20.0, 1.0, n), span, rng.normal(0.01, 0.0004, n), allowance)
    by_force = force_spread(20.0, 0.64, 0.01, 20.0, force_uncertainty=1.0, span_uncertainty=bound_uncertainty(0.005),
                            deflection_uncertainty=0.0004, allowance_uncertainty=bound_uncertainty(10.0))
    assert float(np.std(pressed)) == pytest.approx(by_force.uncertainty, rel=0.01)

    rung = tension_from_frequency(rng.normal(40.0, 0.4, n), span, rng.uniform(0.18 * 0.85, 0.18 * 1.15, n))
    by_note = frequency_spread(40.0, 0.64, 0.18, frequency_uncertainty=0.4, span_uncertainty=bound_uncertainty(0.005),
                               mass_uncertainty=bound_uncertainty(0.18 * 0.15))
    assert float(np.std(rung)) == pytest.approx(by_note.uncertainty, rel=0.01)


def test_stiffness_known_to_be_nothing_cannot_be_uncertain() -> None:
    plain = frequency_spread(np.array([40.0, 45.0]), 0.64, 0.18, frequency_uncertainty=0.4, span_uncertainty=0.003,
                             mass_uncertainty=0.01)
    assert list(np.asarray(plain.parts["rigidity"])) == [0.0, 0.0]
    with pytest.raises(OutOfRange, match="bending stiffness"):
        frequency_spread(40.0, 0.64, 0.18, 0.0, frequency_uncertainty=0.4, span_uncertainty=0.003,
                         mass_uncertainty=0.01, rigidity_uncertainty=0.05)


def test_expanded_band_holds_its_share_when_the_scatter_comes_from_few_readings() -> None:
    """Five readings and one bound: the band from Welch, Satterthwaite and Student holds 95 in 100 true values."""
    rng = np.random.default_rng(7)
    trials, sigma, bound = 40_000, 3.0, 2.0
    readings = rng.normal(0.0, sigma, (trials, 5))
    offset = rng.uniform(-bound, bound, trials)
    scatter = repeat_uncertainty(readings)
    parts = [scatter, bound_uncertainty(bound)]
    half = expanded(combined(parts), effective_degrees(parts, [4.0, np.inf]))
    held = np.mean(np.abs(readings.mean(axis=1) + offset) <= half)
    assert held == pytest.approx(0.95, abs=0.015)
    # without the degrees of freedom the band claims too much: this is what they are for
    assert np.mean(np.abs(readings.mean(axis=1) + offset) <= expanded(combined(parts))) < 0.935


def test_every_cell_of_the_remembered_table_is_students_distribution() -> None:
    table = load("student_t")
    # three of the printed levels are rounded: they stand for one, two and three standard deviations
    exactly = {0.6827: 1.0, 0.9545: 2.0, 0.9973: 3.0}
    for level, column in LEVELS.items():
        below = stats.norm.cdf(exactly[level]) if level in exactly else 0.5 + level / 2
        for degrees, factor in zip(table.column("degrees"), table.column(column), strict=True):
            exact = float(stats.t.ppf(below, degrees))
            digits = 0.0006 if degrees >= 100 else 0.0051
            assert factor == pytest.approx(exact, abs=digits), f"{degrees:g} degrees, {column}"


@given(st.floats(1.0, 1e6), st.sampled_from(sorted(LEVELS)))
def test_band_is_never_narrower_than_students(degrees: float, level: float) -> None:
    assert coverage_factor(degrees, level) >= stats.t.ppf(0.5 + level / 2, degrees) - 0.005


def test_scatter_degrees_and_levels_that_mean_nothing_are_refused() -> None:
    with pytest.raises(NotKnown, match="at least 2"):
        repeat_uncertainty([42.0])
    with pytest.raises(OutOfRange, match="degrees of freedom"):
        effective_degrees([1.0], [0.0])
    with pytest.raises(OutOfRange, match="degrees of freedom"):
        coverage_factor(np.array([5.0, np.nan]))
    with pytest.raises(OutOfRange, match=r"0\.9545"):
        coverage_factor(5.0, 0.5)


@given(st.floats(0.0, 500.0), st.floats(0.01, 100.0), st.floats(0.0, 500.0), st.floats(0.0, 300.0))
def test_shares_are_the_normal_distribution(value: float, uncertainty: float, low: float, width: float) -> None:
    found = shares(value, uncertainty, low, low + width)
    below = stats.norm.cdf(low, value, uncertainty)
    above = stats.norm.sf(low + width, value, uncertainty)
    assert found == pytest.approx((below, 1 - below - above, above), abs=1.6e-7)
    assert sum(found) == pytest.approx(1.0, abs=3e-7)


@given(st.floats(0.0, 500.0), st.floats(0.0, 100.0), st.floats(0.1, 50.0))
def test_a_slacker_belt_is_never_less_likely_slack(value: float, step: float, uncertainty: float) -> None:
    low, high = 200.0, 300.0
    assert shares(value, uncertainty, low, high).below >= shares(value + step, uncertainty, low, high).below - 1.5e-7


def test_open_and_empty_bands() -> None:
    assert shares(10.0, 1.0, -np.inf, np.inf) == pytest.approx((0.0, 1.0, 0.0))
    assert shares(np.array([9.0, 11.0]), 1.0, 10.0, np.inf).below == pytest.approx([0.841345, 0.158655], abs=1e-6)
    with pytest.raises(OutOfRange, match="uncertainty"):
        shares(10.0, 0.0, 9.0, 11.0)
    with pytest.raises(OutOfRange, match="lower end"):
        shares(10.0, 1.0, 11.0, 9.0)


def test_instruments_read_their_own_columns() -> None:
    # a rule at the mark: half a millimetre bound, a millimetre step, nothing in proportion
    rule = instrument_uncertainty("rule at the mark", 0.0094)
    assert rule == pytest.approx(np.hypot(0.001 / 12**0.5, 0.0005 / 3**0.5))
    assert instrument_uncertainty("rule at the mark", 0.5) == rule
    # a strobe: 1 rpm step, 1 rpm and 0.1 percent bound
    rpm = to_si(1.0, "rpm", "rotation")
    expected = np.hypot(resolution_uncertainty(rpm), bound_uncertainty(rpm + 0.001 * 150.0))
    assert instrument_uncertainty("strobe", 150.0) == pytest.approx(expected)
    with pytest.raises(NotKnown, match="plunger force gauge"):
        instrument_uncertainty("thumb", 1.0)


def test_every_instrument_has_one_kind_of_step_and_a_bound_or_a_share() -> None:
    for row in load("instruments").rows:
        filled = {name.split("_", 1)[1] for name, cell in row.items()
                  if name.startswith(("step_", "bound_")) and cell is not None} - {"share_pct"}
        assert len(filled) <= 1, row["instrument"]
        assert float(instrument_uncertainty(str(row["instrument"]), 1.0)) > 0.0


def test_nothing_negative_is_an_uncertainty() -> None:
    for refused in (resolution_uncertainty, bound_uncertainty, expanded):
        with pytest.raises(OutOfRange):
            refused(-1.0)
