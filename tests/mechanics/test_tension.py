"""Static tension: the card's form against a belt whose length is kept, and the forms against each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from beltwright.errors import OutOfRange
from beltwright.mechanics.friction import carried_tensions, centrifugal_tension, net_tensions, ratio_at_arc
from beltwright.mechanics.tension import (
    effective_pull,
    initial_with_centrifugal,
    initial_without_centrifugal,
    power_held,
    set_bands,
    static_bloch,
    static_from_ratio,
    static_rma,
    static_tension,
    strand_share,
)
from beltwright.tables import load, sources

powers = st.floats(100.0, 200e3)
counts = st.integers(1, 20)
speeds = st.floats(3.0, 33.0)
masses = st.floats(0.05, 1.0)
arcs = st.floats(1.4, math.pi)


def exact_arc_factor(wrap: float) -> float:
    """K = 1.25 (1 - 5^(-theta/pi)), written apart from the code under test."""
    return 1.25 * (1 - math.exp(-math.log(5) * wrap / math.pi))


@given(power=powers, belts=counts, speed=speeds, mass=masses, wrap=arcs)
def test_the_cards_form_is_the_exact_mean_of_strands(power: float, belts: int, speed: float, mass: float,
                                                     wrap: float) -> None:
    card = static_tension(power, belts, speed, mass, exact_arc_factor(wrap))
    assert card == pytest.approx(static_from_ratio(power, belts, speed, mass, ratio_at_arc(wrap)), rel=1e-12)


@given(power=powers, belts=counts, speed=speeds, mass=masses, wrap=arcs, stiffness=st.floats(2e4, 5e5))
def test_set_at_rest_to_the_cards_tension_a_belt_runs_at_the_working_ratio(
        power: float, belts: int, speed: float, mass: float, wrap: float, stiffness: float) -> None:
    """Oracle: keep the length of a stretchy loop of two equal strands; find the slack side that carries the pull."""
    tension = float(static_tension(power, belts, speed, mass, exact_arc_factor(wrap)))
    pull = power / speed / belts

    def length_lost(net_slack: float) -> float:
        strains = [(net + mass * speed**2) / stiffness for net in (net_slack + pull, net_slack)]
        return sum(strains) / 2 - tension / stiffness

    net_slack = brentq(length_lost, -10 * tension, 10 * tension, xtol=1e-9)
    assert (net_slack + pull) / net_slack == pytest.approx(5 ** (wrap / math.pi), rel=1e-6)


@given(power=powers, belts=counts, speed=speeds, mass=masses, ratio=st.floats(1.1, 20.0))
def test_khurmis_initial_tension_is_shigleys_and_the_centrifugal_part(power: float, belts: int, speed: float,
                                                                      mass: float, ratio: float) -> None:
    net = net_tensions(effective_pull(power, speed) / belts, ratio)
    centrifugal = centrifugal_tension(mass, speed)
    khurmi = initial_with_centrifugal(*net, centrifugal)
    shigley = initial_without_centrifugal(*carried_tensions(*net, centrifugal), centrifugal)
    assert khurmi == pytest.approx(shigley + centrifugal, rel=1e-12)
    # what is set and read at rest is Khurmi's
    assert khurmi == pytest.approx(static_from_ratio(power, belts, speed, mass, ratio), rel=1e-12)


def test_mixing_the_two_conventions_counts_the_centrifugal_part_wrongly() -> None:
    """The trap in numbers: Shigley's formula fed with net tensions is short of the static tension by twice Tc."""
    net, centrifugal = net_tensions(400.0, 5.0), 60.0
    right = initial_with_centrifugal(*net, centrifugal)
    trapped = initial_without_centrifugal(*net, centrifugal)
    assert right - trapped == pytest.approx(2 * centrifugal)


@given(power=powers, belts=counts, speed=speeds, mass=masses, wrap=arcs)
def test_what_the_other_published_forms_leave_out(power: float, belts: int, speed: float, mass: float,
                                                  wrap: float) -> None:
    factor = exact_arc_factor(wrap)
    card, own = static_tension(power, belts, speed, mass, factor), mass * speed**2
    assert card - static_bloch(power, belts, speed, mass, wrap) == pytest.approx(own / 2, rel=1e-6, abs=1e-6)
    assert (static_rma(power, belts, speed, mass, factor) - own) * 1.1 == pytest.approx(card - own, rel=1e-9)


@given(power=powers, belts=counts, speed=speeds, mass=masses, factor=st.floats(0.5, 1.1))
def test_power_held_turns_the_form_round(power: float, belts: int, speed: float, mass: float, factor: float) -> None:
    tension = static_tension(power, belts, speed, mass, factor)
    assert power_held(tension, belts, speed, mass, factor) == pytest.approx(power, rel=1e-9)


def test_belts_set_below_their_own_centrifugal_pull_hold_no_power() -> None:
    assert power_held(100.0, 2, 30.0, 0.2, 1.0) < 0.0


@given(power=powers, belts=counts, speed=speeds, mass=masses, factor=st.floats(0.5, 1.0), more=st.floats(1.01, 3.0))
def test_more_load_fewer_belts_and_less_wrap_want_more_tension(power: float, belts: int, speed: float, mass: float,
                                                               factor: float, more: float) -> None:
    least = static_tension(power, belts, speed, mass, factor)
    assert static_tension(power * more, belts, speed, mass, factor) > least
    assert static_tension(power, belts + 1, speed, mass, factor) < least
    assert static_tension(power, belts, speed, mass, factor / more) > least


def test_an_idle_drive_wants_no_more_than_the_belt_takes_to_go_round() -> None:
    assert static_tension(0.0, 3, 20.0, 0.2, 0.95) == pytest.approx(80.0)


def test_strand_share_falls_towards_one_half_as_the_wrap_grows() -> None:
    shares = np.asarray(strand_share(np.linspace(1.0, 40.0, 50)))
    assert np.all(np.diff(shares) < 0)
    assert shares[-1] == pytest.approx(0.5, abs=1e-6)


def test_bands_join_without_gap_and_scale_with_the_tension() -> None:
    tensions = np.array([100.0, 250.0])
    bands = set_bands(tensions)
    assert np.array_equal(np.asarray(bands.run_in.low), tensions)
    assert np.array_equal(np.asarray(bands.run_in.high), np.asarray(bands.new.low))
    assert np.array_equal(np.asarray(bands.new.high), 2 * tensions)


def test_the_cards_bands_lie_inside_what_the_named_sources_allow() -> None:
    rows = [row for row in load("tension_bands").rows if row["by"] != "beltwright"]
    assert {row["by"] for row in rows} <= set(sources())
    for belts, band in set_bands(1.0)._asdict().items():
        named = [row for row in rows if row["belts"] == belts.replace("_", "-")]
        lows = [row["low"] for row in named if row["low"] is not None]
        highs = [row["high"] for row in named if row["high"] is not None]
        assert min(lows) <= band.low <= max(lows)
        assert min(highs) <= band.high <= max(highs)


@pytest.mark.parametrize(("change", "words"), [
    ({"speed": 0.0}, r"speed of 0\.0 m/s: a value above zero"),
    ({"belts": 0}, r"belts of 0\.00: a value above zero"),
    ({"mass": math.nan}, "mass of nan"),
    ({"design_power": -1000.0}, r"power of -1\.00 kW: zero or more"),
    ({"arc_factor": 1.25}, r"arc factor of 1\.25: V-belt factors stay below 1\.25"),
    ({"arc_factor": 0.0}, r"arc factor of 0\.00"),
])
def test_values_no_drive_has_are_refused(change: dict[str, float], words: str) -> None:
    sound = {"design_power": 5000.0, "belts": 2, "speed": 12.0, "mass": 0.17, "arc_factor": 0.95}
    with pytest.raises(OutOfRange, match=words):
        static_tension(**(sound | change))
