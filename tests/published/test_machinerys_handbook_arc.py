"""Machinery's Handbook, 31st ed., table 12: arc of contact and its correction."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from beltwright.mechanics.corrections import arc_factor, arc_factor_fit, arc_factor_printed, arc_factor_v_flat
from beltwright.mechanics.geometry import wraps
from tests.published import printed

LINES = Path(__file__).with_name("machinerys_handbook_arc.csv").read_text(encoding="utf-8").splitlines()[1:]
ROWS = list(csv.DictReader(LINES))


def arc(row: dict[str, str]) -> float:
    """The small sheave's arc that belongs to a row, by the geometry of an open drive one centre distance long."""
    return float(wraps(0.1, 0.1 + float(row["difference"]), 1.0).driver)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: str(row["difference"]))
def test_every_row(row: dict[str, str]) -> None:
    wrap = arc(row)
    assert np.degrees(wrap) == printed(row["arc_deg"])
    assert arc_factor_printed(wrap) == printed(row["v_v"])
    assert arc_factor_v_flat(wrap) == printed(row["v_flat"])
    assert arc_factor(wrap) == pytest.approx(float(row["v_v"]), abs=0.0045)
    assert arc_factor_fit(wrap) == pytest.approx(float(row["v_v"]), abs=0.009)


def test_a_misprint_of_the_arc_in_a_later_book_is_known() -> None:
    # Shigley's table 17-13 prints 166.5 degrees at 0.2; geometry and the handbook's 169 have 168.5
    assert np.degrees(2 * np.arccos(0.2 / 2)) == printed("168.5")
    assert np.degrees(2 * np.arccos(0.2 / 2)) != printed("166.5")
