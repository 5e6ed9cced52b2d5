"""Warming of grooves: against the slab cut into layers and integrated by SciPy, and the heat it holds in the end."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from beltwright.errors import OutOfRange
from beltwright.mechanics.groove_heat import flank_area, groove_warming
from beltwright.mechanics.starting import start_practice


@pytest.mark.parametrize("power", [lambda _t: 2000.0, lambda t: 3000.0 * np.exp(-t), lambda t: 4000.0 * (t < 0.7)])
def test_layers_of_iron_warm_the_same(power: object) -> None:
    """Explicit layers, conduction between them: no series, no step answer."""
    assert callable(power)
    area, depth = 0.012, start_practice("metal_depth")
    conducts, stores = start_practice("iron_conductivity"), start_practice("iron_density") * start_practice("iron_heat")
    layers = 200
    thick = depth / layers

    def rates(t: float, T: np.ndarray) -> np.ndarray:
        flow = -conducts * np.diff(T) / thick
        into = np.concatenate(([0.95 * power(t) / area], flow)) - np.concatenate((flow, [0.0]))
        return into / (stores * thick)

    times = np.linspace(0.0, 3.0, 301)
    found = solve_ivp(rates, (0.0, 3.0), np.zeros(layers), method="BDF", t_eval=times, rtol=1e-6, atol=1e-6,
                      max_step=0.02)
    # the face itself stands half a layer before the first layer's middle
    face = found.y[0] + np.array([0.95 * power(t) for t in times]) / area / conducts * thick / 2
    fine = np.linspace(0.0, 3.0, 3001)
    flux = np.array([power(t) for t in fine])
    heat = np.concatenate(([0.0], np.cumsum((flux[1:] + flux[:-1]) / 2 * np.diff(fine))))
    ours = groove_warming(times, np.interp(times, fine, heat), area)
    assert np.max(np.abs(ours - face)) < 0.02 * np.max(face)


@given(st.floats(0.002, 0.1), st.floats(10.0, 1e5), st.floats(0.05, 3.0))
def test_in_the_end_the_iron_holds_what_it_was_given(area: float, heat: float, over: float) -> None:
    rise = groove_warming([0.0, over, 500.0], [0.0, heat, heat], area)
    held = rise[-1] * area * start_practice("metal_depth") * start_practice("iron_density") * start_practice(
        "iron_heat")
    assert held == pytest.approx(0.95 * heat, rel=1e-4)
    assert rise[1] >= rise[-1]
    doubled = groove_warming([0.0, over, 500.0], [0.0, 2 * heat, 2 * heat], area)
    assert doubled == pytest.approx(2 * rise)


def test_no_slip_no_heat_and_what_runs_backwards_is_refused() -> None:
    assert not np.any(groove_warming([0.0, 1.0, 1.0, 2.0], [0.0, 0.0, 0.0, 0.0], 0.01))
    assert groove_warming([0.0], [0.0], 0.01) == pytest.approx([0.0])
    with pytest.raises(OutOfRange, match="climb"):
        groove_warming([0.0, 1.0], [5.0, 1.0], 0.01)
    with pytest.raises(OutOfRange, match="area"):
        groove_warming([0.0, 1.0], [0.0, 1.0], 0.0)
    with pytest.raises(OutOfRange, match="thickness"):
        flank_area(0.2, 0.0, 0.3, 6.28)
