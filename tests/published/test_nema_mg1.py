"""NEMA MG 1-14.42: the rows of the sheave table read in a reprint, and what is said of those that were not."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.sheave_limits import motor_sheave
from beltwright.units import HORSEPOWER, INCH, RPM, parse
from tests.published import printed

LINES = Path(__file__).with_name("nema_mg1.csv").read_text(encoding="utf-8").splitlines()[1:]
# full-load speeds as plates of 60 Hz motors show them
FULL_LOAD = {"hp_3600": 3510, "hp_1800": 1755, "hp_1200": 1160, "hp_900": 870}


def motors() -> Iterator[tuple[dict[str, str], str, float]]:
    for row in csv.DictReader(LINES):
        for column in FULL_LOAD:
            for power in filter(None, row[column].split("-")):
                yield row, column, float(power)


@pytest.mark.parametrize(("row", "column", "power"), list(motors()), ids=str)
def test_every_motor_of_the_rows_read(row: dict[str, str], column: str, power: float) -> None:
    for rpm in (FULL_LOAD[column], int(column.removeprefix("hp_"))):
        found = motor_sheave(row["frame"], power * HORSEPOWER, rpm * RPM)
        assert found.classical_diameter is not None
        assert found.classical_diameter / INCH == printed(row["classical_pitch"])
        assert found.classical_width / INCH == printed(row["classical_width"])
        assert found.narrow_outside / INCH == printed(row["narrow_outside"])
        assert found.narrow_width / INCH == printed(row["narrow_width"])
        assert found.power == pytest.approx(power * HORSEPOWER)
        assert found.trust == "reprint"


@pytest.mark.parametrize(("plate", "hp"), [("1,1 kW", 1.5), ("3.7 kW", 5.0), ("7.5 kW", 10.0), ("11 kW", 15.0)])
def test_a_plate_in_kw_finds_its_row(plate: str, hp: float) -> None:
    frame, rpm = {1.5: ("145T", 1755), 5.0: ("184T", 1750), 10.0: ("215T", 1755), 15.0: ("254T", 3520)}[hp]
    assert motor_sheave(frame, parse(plate, "power"), rpm * RPM).power == pytest.approx(hp * HORSEPOWER)


def test_rows_from_memory_say_so() -> None:
    assert motor_sheave("254T", 15 * HORSEPOWER, 1760 * RPM).trust == "memory"
    assert motor_sheave("445T", 125 * HORSEPOWER, 1180 * RPM).trust == "memory"


def test_frames_and_motors_outside_the_table_are_not_guessed() -> None:
    with pytest.raises(NotKnown, match="radial force"):
        motor_sheave("160M", 11e3, 1460 * RPM)
    with pytest.raises(NotKnown, match="short shaft"):
        motor_sheave("284TS", 25 * HORSEPOWER, 1770 * RPM)
    with pytest.raises(OutOfRange, match=r"215T.*15\.00 hp at 3600 rpm"):
        motor_sheave("215T", 15 * HORSEPOWER, 1760 * RPM)
    # a motor of 50 Hz in a NEMA frame is not taken for the next 60 Hz one
    for rpm in (2980, 1490, 990, 745):
        with pytest.raises(OutOfRange):
            motor_sheave("184T", 2 * HORSEPOWER, rpm * RPM)
