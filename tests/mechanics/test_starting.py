"""Starting: the table of motor torques and the pull a set tension can hold, against the strands' own balance."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from beltwright.errors import OutOfRange
from beltwright.mechanics import starting
from beltwright.mechanics.friction import net_tensions
from beltwright.mechanics.tension import static_from_ratio
from beltwright.tables import load
from beltwright.units import HORSEPOWER, RPM


@pytest.mark.parametrize("row", load("design_b_torques").rows, ids=str)
def test_every_row_comes_back(row: dict[str, float]) -> None:
    torques = starting.design_b_torques(row["power"], row["poles"])
    assert torques == pytest.approx((row["locked_rotor"], row["breakdown"]), rel=1e-12)


@given(st.floats(1.5, 250.0), st.sampled_from([2, 4, 6, 8]))
def test_between_rows_lies_between_their_torques(horsepower: float, poles: int) -> None:
    rows = load("design_b_torques").where(poles=float(poles))
    powers = [float(row["power"]) / HORSEPOWER for row in rows]  # type: ignore[arg-type]
    above = next(at for at, power in enumerate(powers) if power >= horsepower * (1 - 1e-12))
    beside = rows[max(above - 1, 0)], rows[above]
    torques = starting.design_b_torques(horsepower * HORSEPOWER, poles)
    for name, share in torques._asdict().items():
        low, high = sorted(float(row[name]) for row in beside)  # type: ignore[arg-type]
        assert low - 1e-12 <= share <= high + 1e-12


def test_motors_of_many_kinds_at_once() -> None:
    power, poles = np.array([[7.5e3], [30e3]]), np.array([2, 4, 6, 8])
    together = starting.design_b_torques(power, poles)
    assert np.shape(together.locked_rotor) == (2, 4)
    for (row, column), share in np.ndenumerate(together.locked_rotor):
        alone = starting.design_b_torques(float(power[row, 0]), int(poles[column]))
        assert share == alone.locked_rotor
        assert together.breakdown[row, column] == alone.breakdown  # type: ignore[index]
    assert np.ndim(starting.design_b_torques(7.5e3, 4).breakdown) == 0


@pytest.mark.parametrize(("power", "poles", "said"), [
    (400e3, 4, r"400\.00 kW and 4 poles.*from 0\.75 kW to 372\.85 kW"),
    (0.3e3, 8, r"0\.30 kW and 8 poles.*from 0\.37 kW to 186\.42 kW"),
    (5e3, 3, r"3 poles.*for 2, 4, 6, 8 poles"),
    (math.nan, 4, r"nan kW"),
])
def test_motors_outside_the_table_are_refused(power: float, poles: int, said: str) -> None:
    assert not starting.design_b_covers(power, poles)
    with pytest.raises(OutOfRange, match=said):
        starting.design_b_torques(np.array([5e3, power]), np.array([4, poles]))


def test_the_larger_of_both_torques_counts_and_voltage_by_its_square() -> None:
    assert starting.peak_torque(100.0, 2.75, 2.2) == pytest.approx(275.0)
    assert starting.peak_torque(100.0, 1.4, 2.0) == pytest.approx(200.0)
    assert starting.peak_torque(100.0, 1.4, 2.0, voltage=0.8) == pytest.approx(128.0)


@given(st.floats(50.0, 2000.0), st.floats(1.2, 9.0), st.integers(1, 10), st.floats(0.0, 40.0))
def test_held_pull_is_where_the_strands_reach_the_ratio(tension: float, ratio: float, belts: int,
                                                        centrifugal: float) -> None:
    """Pull up the load with the mean of the strands held at what was set, until tight over slack is R."""
    def over_ratio(pull: float) -> float:
        mean = tension - centrifugal
        return mean + pull / 2 - ratio * (mean - pull / 2)

    by_root = belts * brentq(over_ratio, 0.0, 2 * (tension - centrifugal), xtol=1e-12, rtol=1e-14)
    held = starting.held_pull(tension, ratio, belts, centrifugal)
    assert held == pytest.approx(by_root, rel=1e-11)
    strands = net_tensions(float(held) / belts, ratio)
    assert (strands.tight + strands.slack) / 2 == pytest.approx(tension - centrifugal, rel=1e-12)


def test_held_pull_is_the_static_form_read_backwards() -> None:
    power, belts, speed, mass, ratio = 15e3, 4, 18.0, 0.17, 5.0
    tension = static_from_ratio(power, belts, speed, mass, ratio)
    assert starting.held_pull(tension, ratio, belts, mass * speed**2) == pytest.approx(power / speed, rel=1e-12)
    # standing still the same belts hold more, since nothing lifts them out of the groove
    assert starting.held_pull(tension, ratio, belts) > power / speed


def test_a_start_from_the_plate_to_the_margin() -> None:
    """30 hp, 1750 rpm, 4 poles: 1.5 and 2.0; full-load torque 122.07 N m, peak 244.1 N m, on 200 mm 2441 N."""
    power, rotation = 30 * HORSEPOWER, 1750 * RPM
    torque = starting.shaft_torque(power, rotation)
    assert torque == pytest.approx(122.07, abs=0.01)
    peak = starting.peak_torque(torque, *starting.design_b_torques(power, 4))
    pull = starting.pull_from_torque(peak, 0.2)
    assert pull == pytest.approx(2441.4, abs=0.2)
    held = starting.held_pull(500.0, 5.0, belts=4)
    assert starting.start_margin(held, pull) == pytest.approx(2666.7 / 2441.4, rel=1e-4)


@pytest.mark.parametrize("refused", [
    lambda: starting.shaft_torque(1e3, 0.0),
    lambda: starting.peak_torque(100.0, 1.5, 2.0, voltage=0.0),
    lambda: starting.pull_from_torque(-1.0, 0.2),
    lambda: starting.held_pull(30.0, 5.0, 4, centrifugal=30.0),
    lambda: starting.held_pull(300.0, 1.0, 4),
    lambda: starting.held_pull(300.0, 5.0, 0),
    lambda: starting.start_margin(100.0, 0.0),
])
def test_what_no_drive_has_is_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(OutOfRange):
        refused()
