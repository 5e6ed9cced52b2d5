"""Pull on the shafts against the belt's pressure and friction summed round the arc, and statics solved as equations."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from beltwright.errors import OutOfRange
from beltwright.mechanics import shaft_load
from beltwright.mechanics.geometry import wraps
from beltwright.units import HORSEPOWER, INCH, POUND_FORCE, RPM

FORCES = st.floats(10.0, 5000.0)
WRAPS = st.floats(1.4, 2 * math.pi - 1.4)
BELTS = st.integers(1, 12)


def pressed(tight: float, slack: float, centrifugal: float, wrap: float) -> tuple[float, float]:
    """What the belt presses and rubs on the sheave, summed round the arc: along to the other shaft, and across.

    The sheave stands in the origin, the other shaft on the x axis, the tight strand leaves above. The tension falls
    from tight to slack round the back; (T - Tc) presses inwards, the fall of T rubs towards the tight end.
    """
    start = math.pi - wrap / 2
    fall = math.log((tight - centrifugal) / (slack - centrifugal)) / wrap

    def net(angle: float) -> float:
        return (tight - centrifugal) * math.exp(-fall * (angle - start))

    def along(angle: float) -> float:
        return -net(angle) * math.cos(angle) + fall * net(angle) * math.sin(angle)

    def across(angle: float) -> float:
        return -net(angle) * math.sin(angle) - fall * net(angle) * math.cos(angle)

    return quad(along, start, start + wrap)[0], quad(across, start, start + wrap)[0]


@given(FORCES, st.floats(1.05, 8.0), st.floats(0.0, 500.0), WRAPS, BELTS)
def test_running_pull_is_the_pressure_and_friction_round_the_arc(
        net_slack: float, ratio: float, centrifugal: float, wrap: float, belts: int) -> None:
    net_tight = net_slack * ratio
    pull = shaft_load.running_pull(net_tight, net_slack, wrap, belts)
    along, across = pressed(net_tight + centrifugal, net_slack + centrifugal, centrifugal, wrap)
    size = belts * net_tight
    assert pull.along == pytest.approx(belts * along, abs=1e-8 * size)
    assert pull.across == pytest.approx(belts * across, abs=1e-8 * size)
    assert pull.resultant == pytest.approx(belts * math.hypot(along, across), rel=1e-8)
    assert pull.direction == pytest.approx(math.atan2(across, along), abs=1e-7)


@given(FORCES, FORCES, WRAPS, BELTS)
def test_resultant_is_the_cosine_rule_and_at_most_both_strands(one: float, other: float, wrap: float,
                                                               belts: int) -> None:
    pull = shaft_load.running_pull(one, other, wrap, belts)
    by_cosine = belts * math.sqrt(one**2 + other**2 - 2 * one * other * math.cos(wrap))
    assert pull.resultant == pytest.approx(by_cosine, rel=1e-7)
    assert pull.resultant <= belts * (one + other) * (1 + 1e-15)


@given(st.floats(0.1, 0.6), st.floats(1.0, 6.0), st.floats(1.05, 5.0), FORCES, FORCES)
def test_both_shafts_feel_the_same_pull(driver: float, ratio: float, apart: float, tight: float, slack: float) -> None:
    driven = driver * ratio
    arcs = wraps(driver, driven, (driver + driven) / 2 * apart)
    here, there = (shaft_load.running_pull(tight, slack, arc, 3) for arc in arcs)
    size = 3 * (tight + slack)
    assert here.along == pytest.approx(there.along, abs=1e-12 * size)
    assert here.across == pytest.approx(-there.across, abs=1e-12 * size)
    # tight above: seen from the small sheave the pull leans up, from the large one down
    assert here.across * (tight - slack) >= -1e-12 * size**2


@given(FORCES, WRAPS, BELTS)
def test_at_rest_both_strands_pull_alike_and_straight_across(tension: float, wrap: float, belts: int) -> None:
    pull = shaft_load.running_pull(tension, tension, wrap, belts)
    assert shaft_load.static_pull(tension, wrap, belts) == pytest.approx(pull.resultant, rel=1e-12)
    assert pull.across == 0
    assert shaft_load.static_pull(2 * tension, wrap, belts) == 2 * shaft_load.static_pull(tension, wrap, belts)


@pytest.mark.parametrize(("tight", "slack", "wrap", "belts", "each", "all_belts"), [
    (254.53, 50.91, 180.0, 5, 305.4, 1527.2),   # net of the centrifugal part; half a turn
    (53.32, 11.14, 175.14, 3, 64.42, 193.3),    # Shigley ex. 17-4, worked from its strand tensions
])
def test_worked_pulls_running_and_at_rest(tight: float, slack: float, wrap: float, belts: int, each: float,
                                          all_belts: float) -> None:
    arc = math.radians(wrap)
    assert shaft_load.running_pull(tight, slack, arc, 1).resultant == pytest.approx(each, abs=0.05)
    assert shaft_load.running_pull(tight, slack, arc, belts).resultant == pytest.approx(all_belts, abs=0.1)
    # the mean of the strands stays what it was at rest; the wrap is near half a turn, so the pull hardly changes
    assert shaft_load.static_pull((tight + slack) / 2, arc, belts) == pytest.approx(all_belts, abs=0.15)


@given(FORCES, st.floats(0.0, 0.5), st.floats(0.05, 2.0))
def test_bearings_and_pull_balance(load: float, overhang: float, bearing_span: float) -> None:
    near, far = shaft_load.bearing_loads(load, overhang, bearing_span)
    # sheave at 0, near bearing at b, far bearing at b + a: forces and moments on the shaft
    balance = np.array([[1.0, 1.0], [overhang, overhang + bearing_span]])
    reactions = np.linalg.solve(balance, [-load, 0.0])
    assert near == pytest.approx(-reactions[0], rel=1e-9)
    assert far == pytest.approx(reactions[1], rel=1e-9, abs=1e-9)


def test_the_two_rules_are_one_and_exact_at_five_to_one() -> None:
    power, diameter, rotation = 20e3, 0.25, 150.0
    pull = 2 * power / (rotation * diameter)
    assert shaft_load.overhung_load(power, diameter, rotation) == pytest.approx(shaft_load.bending_force(pull))
    strands = shaft_load.running_pull(1.25 * pull, 0.25 * pull, math.pi, 1)
    assert strands.resultant == pytest.approx(shaft_load.bending_force(pull), rel=1e-12)


def test_the_printed_constant_of_the_overhung_rule_is_rounded_down() -> None:
    hp, inches, rpm = 10.0, 6.0, 1750.0
    printed_rule = 126_000 * hp * 1.5 / (inches * rpm)
    ours = shaft_load.overhung_load(hp * HORSEPOWER, inches * INCH, rpm * RPM) / POUND_FORCE
    assert ours == pytest.approx(printed_rule, rel=5e-4)
    assert ours > printed_rule
    farther_out = shaft_load.overhung_load(hp * HORSEPOWER, inches * INCH, rpm * RPM, location_factor=1.2)
    assert farther_out / POUND_FORCE == pytest.approx(1.2 * ours)


@pytest.mark.parametrize("refused", [
    lambda: shaft_load.running_pull(-1.0, 1.0, 3.0, 2),
    lambda: shaft_load.running_pull(1.0, math.nan, 3.0, 2),
    lambda: shaft_load.running_pull(1.0, 1.0, 2 * math.pi, 2),
    lambda: shaft_load.running_pull(1.0, 1.0, 3.0, 0),
    lambda: shaft_load.static_pull(0.0, 3.0, 2),
    lambda: shaft_load.static_pull(100.0, np.array([3.0, -3.0]), 2),
    lambda: shaft_load.bearing_loads(100.0, -0.1, 0.4),
    lambda: shaft_load.bearing_loads(100.0, 0.1, 0.0),
    lambda: shaft_load.overhung_load(1e3, 0.0, 150.0),
    lambda: shaft_load.bending_force(-1.0),
])
def test_what_no_drive_has_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()
