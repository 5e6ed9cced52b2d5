"""The note of a span against eigenvalues worked out another way, and one band that agrees with itself three ways."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import eigh_tridiagonal
from scipy.optimize import brentq

from beltwright.errors import OutOfRange
from beltwright.mechanics.deflection import force_bands, mark_deflection, tension_from_force
from beltwright.mechanics.frequency import (
    frequency_bands,
    frequency_from_tension,
    joined_frequency,
    joined_tension,
    stiff_ends_hold,
    tension_from_frequency,
)
from beltwright.mechanics.tension import set_bands

tensions = st.floats(20.0, 3000.0)
spans = st.floats(0.1, 4.0)
masses = st.floats(0.05, 1.0)


def built_in_beam(tension: float, span: float, mass: float, rigidity: float) -> float:
    """First frequency of a tensioned beam with both ends built in, from its own equation (bracketed root)."""
    def wave_numbers(omega: float) -> tuple[float, float]:
        half = tension / (2 * rigidity)
        steep = math.sqrt(math.sqrt(half**2 + mass * omega**2 / rigidity) + half)
        return omega * math.sqrt(mass / rigidity) / steep, steep

    def symmetric_mode(omega: float) -> float:
        a, b = wave_numbers(omega)
        return a * math.sin(a * span / 2) + b * math.tanh(b * span / 2) * math.cos(a * span / 2)

    string = math.pi / span * math.sqrt(tension / mass)
    return brentq(symmetric_mode, string, 2.0 * string, xtol=1e-12 * string) / (2 * math.pi)


def test_the_plain_string_against_a_chain_of_beads() -> None:
    tension, span, mass, beads = 300.0, 0.7, 0.17, 2000
    step = span / (beads + 1)
    lowest = eigh_tridiagonal(np.full(beads, 2.0), np.full(beads - 1, -1.0), select="i", select_range=(0, 0))[0][0]
    chain = math.sqrt(lowest * tension / (mass * step**2)) / (2 * math.pi)
    assert frequency_from_tension(tension, span, mass) == pytest.approx(chain, rel=1e-6)


@given(tension=tensions, span=spans, mass=masses, eps=st.floats(1e-3, 0.0999))
def test_stiff_ends_against_the_built_in_beam(tension: float, span: float, mass: float, eps: float) -> None:
    rigidity = tension * (eps * span) ** 2
    beam = built_in_beam(tension, span, mass, rigidity)
    ours = float(frequency_from_tension(tension, span, mass, rigidity))
    string = float(frequency_from_tension(tension, span, mass))
    assert string < ours <= beam * (1 + 1e-9)
    # what is left is of the third order, 1.2 percent at the most
    assert (beam - ours) / string <= 22 * eps**3 + 1e-9


@given(tension=tensions, span=spans, mass=masses, eps=st.floats(0.0, 0.099))
def test_note_and_back(tension: float, span: float, mass: float, eps: float) -> None:
    rigidity = tension * (eps * span) ** 2
    note = frequency_from_tension(tension, span, mass, rigidity)
    assert tension_from_frequency(note, span, mass, rigidity) == pytest.approx(tension, rel=1e-9)


@given(tension=tensions, span=spans, mass=masses, eps=st.floats(0.01, 0.09))
def test_leaving_stiffness_out_reads_the_tension_high(tension: float, span: float, mass: float, eps: float) -> None:
    note = frequency_from_tension(tension, span, mass, tension * (eps * span) ** 2)
    assert tension_from_frequency(note, span, mass) > tension * (1 + 2 * eps) ** 2


@given(tension=tensions, span=spans, mass=masses, belts=st.integers(1, 12))
def test_a_joined_band_sounds_as_one_belt_of_it(tension: float, span: float, mass: float, belts: int) -> None:
    band = joined_frequency(tension, belts, span, mass * belts)
    assert band == pytest.approx(frequency_from_tension(tension, span, mass), rel=1e-12)
    assert joined_tension(band, belts, span, mass * belts) == pytest.approx(tension, rel=1e-12)


@given(tension=tensions, span=spans, mass=masses, allowance=st.floats(0.0, 150.0), eps=st.floats(0.0, 0.05))
def test_one_band_is_the_same_band_as_force_as_note_and_as_tension(tension: float, span: float, mass: float,
                                                                   allowance: float, eps: float) -> None:
    bands = set_bands(tension)
    rigidity = tension * (eps * span) ** 2
    forces = force_bands(bands, allowance)
    notes = frequency_bands(bands, span, mass, rigidity)
    for band, force, note in zip(bands, forces, notes, strict=True):
        for end in ("low", "high"):
            by_force = tension_from_force(getattr(force, end), span, mark_deflection(span), allowance)
            by_note = tension_from_frequency(getattr(note, end), span, mass, rigidity)
            assert by_force == pytest.approx(getattr(band, end), rel=1e-10)
            assert by_note == pytest.approx(getattr(band, end), rel=1e-10)


@given(span=spans, mass=masses, tension=tensions, times=st.floats(1.1, 4.0))
def test_scaling(span: float, mass: float, tension: float, times: float) -> None:
    note = frequency_from_tension(tension, span, mass)
    assert frequency_from_tension(tension * times**2, span, mass) == pytest.approx(note * times, rel=1e-12)
    assert frequency_from_tension(tension, span * times, mass) == pytest.approx(note / times, rel=1e-12)
    assert tension_from_frequency(note, span, mass * times) == pytest.approx(tension * times, rel=1e-12)


def test_a_meters_published_sum_400_newtons_on_0_8_metres() -> None:
    """28.5 Hz for 400 N, 0.192 kg/m, 0.8 m, worked out beside the string formula."""
    assert frequency_from_tension(400.0, 0.8, 0.192) == pytest.approx(28.5, abs=0.05)


def test_too_stiff_a_span_is_refused_both_ways() -> None:
    assert not stiff_ends_hold(200.0, 0.2, 0.5)
    with pytest.raises(OutOfRange, match=r"too short and stiff for its note: sqrt\(EI/T\)/span is 0\.25"):
        frequency_from_tension(200.0, 0.2, 0.17, rigidity=0.5)
    with pytest.raises(OutOfRange, match=r"a note of 5\.0 Hz on a span of 200 mm is no higher than the belt's"):
        tension_from_frequency(np.array([300.0, 5.0]), 0.2, 0.17, rigidity=0.5)
    with pytest.raises(OutOfRange, match="too short and stiff"):
        tension_from_frequency(200.0, 0.2, 0.17, rigidity=0.5)


@pytest.mark.parametrize("bad", [0.0, -3.0, math.nan])
def test_no_note_no_span_no_mass(bad: float) -> None:
    with pytest.raises(OutOfRange, match="frequency of"):
        tension_from_frequency(bad, 0.5, 0.17)
    with pytest.raises(OutOfRange, match="span of"):
        tension_from_frequency(30.0, bad, 0.17)
    with pytest.raises(OutOfRange, match="mass of"):
        frequency_from_tension(200.0, 0.5, bad)
