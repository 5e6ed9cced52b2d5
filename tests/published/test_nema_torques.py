"""NEMA design B torques: the table, which is from memory, against the range that the motor guide MG 10 prints."""

from __future__ import annotations

import pytest

from beltwright.tables import load
from tests.published.examples import examples, expected

GUIDE = examples("nema_torques")["design B, from the motor selection guide MG 10"]
TABLE = load("design_b_torques")


@pytest.mark.parametrize("torque", ["locked_rotor", "breakdown"])
def test_the_table_fills_the_printed_range_and_does_not_leave_it(torque: str) -> None:
    shares = [round(100 * share, 9) for share in TABLE.column(torque)]
    assert min(shares) == expected(GUIDE, f"{torque}_least")
    assert max(shares) == expected(GUIDE, f"{torque}_most")


@pytest.mark.parametrize("poles", [2.0, 4.0, 6.0, 8.0])
def test_larger_motors_give_no_larger_share(poles: float) -> None:
    rows = TABLE.where(poles=poles)
    assert len(rows) > 15
    for column in ("locked_rotor", "breakdown"):
        shares = [row[column] for row in rows]
        assert shares == sorted(shares, reverse=True)  # type: ignore[type-var]
    powers = [row["power"] for row in rows]
    assert powers == sorted(set(powers))  # type: ignore[type-var]


def test_it_says_that_it_is_from_memory() -> None:
    assert TABLE.trust == "memory"
