"""The printed rules of heat, in degrees Fahrenheit as printed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from beltwright.mechanics.heat import life_by_belt_heat, life_by_room_heat, room_rule_holds, room_usable, runs_cool
from beltwright.tables import load
from beltwright.units import from_si, to_si
from tests.published import printed

RULES: dict[str, Any] = json.loads(Path(__file__).with_name("heat_rules.json").read_text(encoding="utf-8"))


def degF(value: float) -> float:  # noqa: N802
    return to_si(value, "degF", "temperature")


def test_good_running_temperature() -> None:
    good = RULES["good_running"]
    limits = {row["part"]: row["high_degC"] for row in load("temperature_limits").where(name="good running")}
    for part, name in (("belt", "belt"), ("room", "room_below")):
        assert limits[part] == printed(good[f"{name}_degC"])
        assert degF(good[f"{name}_degF"]) == printed(good[f"{name}_degC"])
    assert runs_cool(degF(139.9), degF(109.0))
    assert not runs_cool(degF(141.0), degF(109.0))
    assert not runs_cool(degF(139.9), degF(110.5))


@pytest.mark.parametrize("row", RULES["belt_rule"]["life"])
def test_life_by_belt_temperature(row: dict[str, float]) -> None:
    assert life_by_belt_heat(belt_temperature=degF(row["belt_degF"])) == pytest.approx(row["share"])


def test_both_steps_as_printed_in_either_unit() -> None:
    for form in ("belt", "room"):
        rule = RULES[f"{form}_rule"]
        assert to_si(rule["halves_per_degF"], "degF", "temperature difference") == printed(rule["halves_per_K"])
        assert load("heat_life").where(form=form)[0]["halves_each_K"] == printed(rule["halves_per_K"])
    other = to_si(RULES["room_rule"]["other_print_degF"], "degF", "temperature difference")
    base = 45.0
    assert life_by_room_heat(room_temperature=base + other) == pytest.approx(
        0.5 * float(life_by_room_heat(room_temperature=base)), rel=0.02)


def test_usable_rooms() -> None:
    usable = RULES["usable_room"]
    low, (high, most) = usable["low_degF"], usable["high_degF"]
    row = load("temperature_limits").where(part="room", name="usable")[0]
    at_most = load("temperature_limits").where(part="room", name="usable at most")[0]
    for cell, digits in ((row["low_degC"], low), (row["high_degC"], high), (at_most["high_degC"], most)):
        assert isinstance(cell, float)
        assert from_si(cell, "degF", "temperature") == printed(digits)
    assert list(np.asarray(room_usable(np.array([degF(-31.0), degF(-29.0), degF(129.0), degF(131.0)])))) == [
        False, True, True, False]
    assert list(np.asarray(room_rule_holds(room_temperature=np.array([degF(159.0), degF(161.0)])))) == [True, False]
