"""The energy department's tip sheet: a 100 hp fan, three quarters loaded, running all year, on better belts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from beltwright.mechanics.slip import energy_saved, yearly_energy
from beltwright.tables import load
from beltwright.units import HOUR, YEAR, from_si, to_si
from tests.published import printed

TIP: dict[str, Any] = json.loads(Path(__file__).with_name("doe_tip.json").read_text(encoding="utf-8"))


def test_energy_of_the_fan_in_a_year() -> None:
    example = TIP["example"]
    energy = yearly_energy(to_si(example["rated_power_hp"], "hp", "power"), example["load_share"],
                           example["motor_efficiency"], example["hours_a_year"] * HOUR / YEAR)
    assert from_si(float(energy), "kWh", "energy") == printed(example["energy_kWh"])


def test_energy_saved_by_better_belts() -> None:
    example = TIP["example"]
    energy = to_si(float(example["energy_kWh"]), "kWh", "energy")
    saved = energy_saved(energy, example["efficiency_before"], example["efficiency_after"])
    assert from_si(float(saved), "kWh", "energy") == printed(example["saved_kWh"])


def test_table_holds_the_sheets_efficiencies() -> None:
    rows = {(row["belts"], row["state"]): row for row in load("belt_efficiency").where(source="doe-tip5")}

    def percent(belts: str, state: str, end: str) -> float:
        value = rows[belts, state][end]
        assert isinstance(value, float)
        return from_si(value, "%", "share")

    assert [percent("plain", "new and tight", end) for end in ("low_pct", "high_pct")] == [
        printed(digits) for digits in TIP["peak_plain_pct"]]
    assert percent("plain", "not set again", "high_pct") == printed(TIP["not_set_again_pct"])
    assert percent("synchronous", "any", "high_pct") == printed(TIP["synchronous_pct"])
