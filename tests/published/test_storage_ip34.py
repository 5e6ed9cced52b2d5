"""The rubber makers' bulletin on the storage of belts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from beltwright.errors import OutOfRange
from beltwright.mechanics.storage import coiling, dry_enough, shelf_life
from beltwright.tables import load
from beltwright.units import from_si, to_si
from tests.published import printed

BULLETIN: dict[str, Any] = json.loads(Path(__file__).with_name("storage_ip34.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("row", BULLETIN["shelf_life"])
def test_shelf_life(row: dict[str, Any]) -> None:
    life = shelf_life(to_si(row["degF"], "degF", "temperature"))
    assert from_si(float(life), "year", "time") == printed(row["years"])


def test_never_kept_hotter() -> None:
    with pytest.raises(OutOfRange):
        shelf_life(to_si(BULLETIN["never_above_degF"] + 1, "degF", "temperature"))


def test_humidity() -> None:
    limit = to_si(BULLETIN["humidity_below_pct"], "%", "share")
    assert dry_enough(limit - 0.001)
    assert not dry_enough(limit + 0.001)


def test_the_other_reprint_is_kept_beside_it() -> None:
    years = load("shelf_life").where(rule="other reprint")[0]["low_year"]
    assert isinstance(years, float)
    assert from_si(years, "year", "time") == printed(BULLETIN["other_reprint_years"])


@pytest.mark.parametrize("row", BULLETIN["coiling"])
def test_coiling(row: dict[str, Any]) -> None:
    assert coiling(to_si(row["up_to_in"], "in", "length"), "A") == (row["coils"], row["loops"])
