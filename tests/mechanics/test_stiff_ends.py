"""Stiff ends by the stretch of partials: the truth between a hinge and a wall, worked the other way round."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from beltwright.errors import OutOfRange
from beltwright.mechanics.frequency import frequency_from_tension, tension_from_frequency
from beltwright.mechanics.stiff_ends import STRETCHED, ends_share, spread_with_ends, stretch_tells, tension_with_ends

spans = st.floats(0.2, 3.0)
masses = st.floats(0.05, 1.0)
tensions = st.floats(50.0, 3000.0)
stretches = st.floats(0.0, 0.05)


@given(spans, masses, tensions, stretches)
def test_a_hinged_and_a_built_in_span_lie_at_the_ends_of_what_is_owned_as_doubt(
        span: float, mass: float, tension: float, stretch: float) -> None:
    rigidity = stretch * tension * span**2 / np.pi**2
    plain = np.sqrt(tension / mass) / (2 * span)
    hinged = plain * np.sqrt(1 + stretch)
    walled = float(frequency_from_tension(tension, span, mass, rigidity))
    for note, end in ((hinged, +1), (walled, -1)):
        told = float(tension_with_ends(note, span, mass, stretch))
        half = np.sqrt(3) * float(ends_share(stretch).uncertainty) * tension_from_frequency(note, span, mass)
        assert told + end * half == pytest.approx(tension, rel=1e-9)


@given(spans, masses, st.floats(6.0, 130.0))
def test_without_stretch_it_is_the_plain_string(span: float, mass: float, note: float) -> None:
    assert float(tension_with_ends(note, span, mass)) == pytest.approx(4 * mass * span**2 * note**2, rel=1e-12)
    assert float(ends_share(0.0).uncertainty) == 0.0


@given(spans, masses, st.floats(6.0, 130.0), st.floats(1e-6, 0.05))
def test_its_uncertainty_is_what_another_carrier_of_uncertainty_makes_of_it(
        span: float, mass: float, note: float, stretch: float) -> None:
    ends = ends_share(stretch)
    t, m, f = ufloat(span, 0.004), ufloat(mass, 0.05 * mass), ufloat(note, 0.004 * note)
    s = ufloat(float(ends.share), float(ends.uncertainty))
    other = 4 * m * t**2 * f**2 * s
    told = spread_with_ends(note, span, mass, stretch, frequency_uncertainty=0.004 * note, span_uncertainty=0.004,
                            mass_uncertainty=0.05 * mass)
    assert float(told.uncertainty) == pytest.approx(other.s, rel=1e-9)
    assert float(tension_with_ends(note, span, mass, stretch)) == pytest.approx(other.n, rel=1e-9)


def test_more_stretch_takes_more_off_and_past_the_series_it_is_refused() -> None:
    share = np.asarray(ends_share(np.linspace(0.0, STRETCHED, 50)).share)
    assert (np.diff(share) < 0).all()
    assert not stretch_tells(-0.001)
    with pytest.raises(OutOfRange, match=r"stretch of partials of 0\.150"):
        tension_with_ends(40.0, 0.5, 0.18, 0.15)
