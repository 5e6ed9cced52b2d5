"""Service factors: gaps between the printed hours, order of the table, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.service import driven_machines, driver_classes, hours_in_a_day, service_factor
from beltwright.tables import load, sources
from beltwright.units import parse

MACHINES = st.sampled_from(driven_machines())
CLASSES = st.sampled_from(["normal torque", "high torque"])


def factor(hours: str, machine: str = "screens", driver_class: str = "normal torque") -> float:
    return float(service_factor(machine, driver_class, parse(hours, "hours a day")).value)


@pytest.mark.parametrize(("hours", "expected", "printed"), [
    ("1 h/d", 1.1, False), ("3 h/d", 1.1, True), ("5 h/d", 1.1, True), ("5.9 h/d", 1.1, False), ("6 h/d", 1.2, False),
    ("7 h/d", 1.2, False), ("8 h/d", 1.2, True), ("10 h/d", 1.2, True), ("12 h/d", 1.2, False), ("15 h/d", 1.2, False),
    ("15.1 h/d", 1.3, False), ("16 h/d", 1.3, True), ("24 h/d", 1.3, True),
])
def test_gaps_between_the_printed_hours_are_read_and_said(hours: str, expected: float, printed: bool) -> None:
    found = service_factor("screens", "normal torque", parse(hours, "hours a day"))
    assert found.value == expected
    assert bool(found.printed) is printed
    assert found.trust == ("reprint" if printed else "memory")


@given(MACHINES, CLASSES, st.floats(0.001, 1.0), st.floats(0.001, 1.0))
def test_longer_hours_and_a_harder_driver_never_ask_less(machine: str, driver_class: str, one: float,
                                                         other: float) -> None:
    shorter, longer = sorted((one, other))
    assert service_factor(machine, driver_class, shorter).value <= service_factor(machine, driver_class, longer).value
    assert (service_factor(machine, "normal torque", one).value
            <= service_factor(machine, "high torque", one).value)
    assert 1.0 <= service_factor(machine, driver_class, one).value <= 2.0


def test_every_machine_has_a_group_with_both_classes_and_every_group_a_machine() -> None:
    groups = {row["group"] for row in load("service_machines").rows}
    assert {(row["group"], row["driver_class"]) for row in load("service_factors").rows} == {
        (group, driver_class) for group in groups for driver_class in dict(driver_classes())}
    for table in ("service_machines", "service_factors"):
        assert {row["source"] for row in load(table).rows} <= set(sources())


def test_hours_as_an_array() -> None:
    found = service_factor("hammer mills", "high torque", np.array([4.0, 9.0, 20.0]) / 24)
    assert np.asarray(found.value).tolist() == [1.4, 1.5, 1.6]
    assert found.trust == "reprint"
    found = service_factor("hammer mills", "high torque", np.array([4.0, 12.0, 20.0]) / 24)
    assert np.asarray(found.value).tolist() == [1.4, 1.5, 1.6]
    assert np.asarray(found.printed).tolist() == [True, False, True]
    assert found.trust == "memory"


def test_a_row_from_memory_is_memory_even_in_printed_hours() -> None:
    assert service_factor("hoists", "normal torque", 9 / 24).trust == "memory"
    choking = service_factor("any machine that can choke", "normal torque", 9 / 24)
    assert (choking.value, choking.trust, choking.sources) == (2.0, "memory", ("mott",))


@pytest.mark.parametrize("hours", [0.0, -0.1, 1.01, 24.0, np.nan, np.inf])
def test_hours_outside_a_day_are_refused(hours: float) -> None:
    assert not hours_in_a_day(hours)
    with pytest.raises(OutOfRange, match="at most 24 hours a day"):
        service_factor("screens", "normal torque", np.array([0.5, hours]))


def test_machines_and_classes_are_not_guessed() -> None:
    with pytest.raises(NotKnown, match=r"'fan' is no row .* or give the service factor itself"):
        service_factor("fan", "normal torque", 0.5)
    with pytest.raises(NotKnown, match="normal torque or high torque is accepted"):
        service_factor("screens", "soft start", 0.5)
