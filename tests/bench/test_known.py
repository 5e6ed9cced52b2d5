"""A drive is completed from any sufficient set of readings, and nothing is guessed."""

from __future__ import annotations

import pytest

from beltwright.bench.known import complete
from tests.bench.drives import a_drive
from tests.published import printed

INCH = 0.0254


def test_shigleys_drive_comes_out_as_printed() -> None:
    """Shigley, example 17-4: C = 42.4 in from B112 on 7.4 and 11.0 in sheaves."""
    known = complete(a_drive(centre_in=None))
    assert known.value("centre") / INCH == printed("42.4")
    assert known.value("length") / INCH == printed("113.8")


@pytest.mark.parametrize("cells", [
    {"driver_datum_in": None, "driver_outside_in": "7.75"},
    {"driven_datum_in": None, "driven_outside_in": "11.35"},
    {"driver_datum_in": None, "driver_pitch_in": "7.75", "driven_datum_in": None, "driven_pitch_in": "11.35"},
    {"belt_marking": None, "belt_section": "B", "belt_standard": "rma", "belt_length_datum_in": "113.8"},
    {"centre_in": None, "belt_marking": "B112"},
    {"belt_marking": None, "belt_section": "B", "belt_standard": "rma", "centre_in": "42.41"},
])
def test_any_sufficient_set_gives_the_same_drive(cells: dict[str, str | None]) -> None:
    known, full = complete(a_drive(**cells)), complete(a_drive())
    for name in ("driver_geometry", "driven_geometry", "driver_pitch", "driven_outside", "length", "centre", "ratio"):
        assert known.value(name) == pytest.approx(full.value(name), rel=5e-4), name


def test_one_sheave_and_the_speeds_give_the_other() -> None:
    known = complete(a_drive(driven_datum_in=None, driven_speed_rpm="1195"))
    assert known.value("driven_pitch") / INCH == pytest.approx(7.75 * 1750 / 1195, rel=1e-9)
    assert known.facts["driven_pitch"].origin == "worked out"


def test_what_cannot_be_worked_out_stays_unknown() -> None:
    known = complete(a_drive(belt_marking=None, driven_datum_in=None, driven_speed_rpm=None))
    assert known.section is None
    assert "driven_geometry" not in known
    assert "length" not in known


def test_a_section_with_several_standards_is_not_guessed() -> None:
    known = complete(a_drive(belt_marking=None, belt_section="B"))
    assert known.section is None
    assert "belt_standard" in dict(known.unusable)


def test_a_weighed_belt_goes_before_the_tables() -> None:
    by_table, weighed = complete(a_drive()).facts["mass"], complete(a_drive(belt_mass_kg_per_m="0.2")).facts["mass"]
    assert weighed.value == 0.2
    assert weighed.spread < by_table.spread


@pytest.mark.parametrize(("cells", "column"), [
    ({"belt_marking": "Q112"}, "belt_marking"), ({"belt_marking": "B225"}, "belt_marking"),
    ({"centre_in": "8"}, "centre"), ({"belt_marking": None, "belt_section": "W"}, "belt_section"),
])
def test_what_cannot_be_used_is_named_with_the_reason(cells: dict[str, str | None], column: str) -> None:
    known = complete(a_drive(**cells))
    assert column in dict(known.unusable), known.unusable


def test_a_drive_with_only_its_name_is_a_drive() -> None:
    known = complete(a_drive(**{name: None for name in a_drive().typed if name not in ("tag", "name")}))
    assert not known.facts
