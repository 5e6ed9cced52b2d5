"""The service-factor table of the RMA form: the three groups read in a reprint."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from beltwright.mechanics.service import driven_machines, service_factor
from beltwright.units import to_si
from tests.published import printed

LINES = Path(__file__).with_name("service_factors.csv").read_text(encoding="utf-8").splitlines()[1:]
ROWS = list(csv.DictReader(LINES))
CLASSES = {"I": "normal torque", "II": "high torque"}


def machines() -> Iterator[tuple[str, dict[str, str]]]:
    for row in ROWS:
        for machine in row["machines"].split("; "):
            yield machine, row


@pytest.mark.parametrize(("machine", "row"), list(machines()))
def test_every_machine_of_the_groups_read(machine: str, row: dict[str, str]) -> None:
    for column, text in row.items():
        if column == "machines":
            continue
        driver, hours = column.split()
        for hour in hours.split("-"):
            found = service_factor(machine, CLASSES[driver], to_si(float(hour), "h/d", "hours a day"))
            assert found.value == printed(text)
            assert found.printed
            assert (found.trust, found.sources) == ("reprint", ("rma-service",))


def test_the_rest_of_the_table_is_marked_as_from_memory() -> None:
    read = {machine for machine, _ in machines()}
    rest = [machine for machine in driven_machines() if machine not in read]
    assert read <= set(driven_machines())
    assert len(rest) == 5
    for machine in rest:
        assert service_factor(machine, "normal torque", 0.375).trust == "memory"
