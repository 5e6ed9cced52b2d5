"""Sections: known by section and standard together, refused with what is accepted, and sound as bodies."""

from __future__ import annotations

import math

import pytest

from beltwright.errors import InputError
from beltwright.mechanics.sections import (
    accepted,
    mass_of,
    section,
    standards_of,
    stiffness_of,
    systems,
)
from beltwright.plant.drive import STANDARDS
from beltwright.tables import load, sources

WEDGE = math.radians(40.0)
PAIRS = [(name, whose) for name in accepted() for whose in standards_of(name)]
WANTED = ("A", "B", "C", "D", "E", "AX", "BX", "CX", "Z", "3V", "5V", "8V", "3VX", "5VX", "SPZ", "SPA", "SPB", "SPC",
          "XPZ", "XPA", "XPB", "XPC", "9N", "15N", "25N")


def test_every_section_of_the_trade_is_known() -> None:
    assert set(WANTED) <= set(accepted())


def test_the_standards_are_those_a_drive_can_be_noted_with() -> None:
    assert {whose for _, whose in PAIRS} == set(STANDARDS) == {system.standard for system in systems().values()}


@pytest.mark.parametrize(("name", "whose"), PAIRS)
def test_a_section_is_a_body_a_groove_can_hold(name: str, whose: str) -> None:
    belt = section(name, whose)
    bottom = belt.width - 2 * belt.height * math.tan(WEDGE / 2)
    seat = belt.datum_width or belt.effective_width
    assert seat is not None
    assert 0.0 < bottom < seat < belt.width or belt.width == pytest.approx(seat, rel=0.02)
    # a belt has to bend: the smallest sheave is at least four belt heights across, and not as large as forty
    assert 4 < belt.smallest / belt.height < 40


@pytest.mark.parametrize(("name", "whose"), PAIRS)
def test_a_cogged_belt_goes_round_smaller_sheaves_than_its_plain_section(name: str, whose: str) -> None:
    belt = section(name, whose)
    if belt.cogged:
        plain = section(belt.plain, whose)
        assert belt.smallest < plain.smallest
        assert belt.smallest_as == plain.smallest_as
        assert (belt.width, belt.height) == (plain.width, plain.height)


@pytest.mark.parametrize(("name", "whose"), PAIRS)
def test_every_size_has_its_source(name: str, whose: str) -> None:
    belt = section(name, whose)
    assert {belt.source, belt.smallest_source, belt.system.belts, belt.system.sheaves} <= set(sources())


@pytest.mark.parametrize("typed", ["b", " B ", "spb", "5vx"])
def test_case_and_blanks_do_not_matter(typed: str) -> None:
    whose = standards_of(typed)[0]
    assert section(typed, whose) == section(typed.strip().upper(), whose.upper())


@pytest.mark.parametrize("typed", ["", "F", "BB", "4L", "SPD", "5V1250", "B112"])
def test_an_unknown_section_is_refused_with_the_list(typed: str) -> None:
    with pytest.raises(InputError, match="unknown belt section") as refused:
        section(typed, "rma")
    assert all(name in str(refused.value) for name in WANTED)
    for asked in (mass_of, stiffness_of, standards_of):
        with pytest.raises(InputError, match="unknown belt section"):
            asked(typed)


@pytest.mark.parametrize(("name", "whose", "has"), [
    ("SPB", "rma", "din and iso"), ("5V", "iso", "rma"), ("9N", "rma", "iso"), ("AX", "is", "rma, din and iso"),
])
def test_a_section_of_another_standard_is_refused_with_its_own(name: str, whose: str, has: str) -> None:
    with pytest.raises(InputError, match=f"section {name} is not a section of {whose}: its standards here are {has}"):
        section(name, whose)


@pytest.mark.parametrize("asked", [lambda: section("B", "ansi"), lambda: mass_of("B", "ansi"), lambda: accepted("")])
def test_an_unknown_standard_is_refused_with_the_four(asked: object) -> None:
    with pytest.raises(InputError, match=r"unknown standard .*: use rma, din, is or iso"):
        asked()  # type: ignore[operator]


@pytest.mark.parametrize("name", accepted())
def test_mass_is_that_of_a_rubber_body_of_the_section(name: str) -> None:
    # the trapezium of the section at the density of rubber with cord, about 1.3 g/cm3, a third either way
    belt = section(name, standards_of(name)[-1])
    area = belt.height * (belt.width - belt.height * math.tan(WEDGE / 2))
    mass = mass_of(name)
    assert 900 < mass.low / area <= mass.value / area <= mass.high / area < 1700
    assert mass.low <= mass.value <= mass.high


@pytest.mark.parametrize("name", [name for name in accepted() if section(name, standards_of(name)[0]).cogged])
def test_a_cogged_belt_is_lighter_than_its_plain_section_and_says_where_it_is_from(name: str) -> None:
    plain = section(name, standards_of(name)[0]).plain
    cogged = mass_of(name)
    assert cogged.value < mass_of(plain).value
    assert cogged.source == "practice"
    assert plain in cogged.note


def test_a_joined_band_weighs_more_a_rib_or_says_that_its_back_is_missing() -> None:
    for name in ("3V", "5V", "8V", "9N", "15N", "25N"):
        assert mass_of(name, joined=True).value > mass_of(name).value
        assert not mass_of(name, joined=True).note
    assert mass_of("B", joined=True).value == mass_of("B").value
    assert "back" in mass_of("B", joined=True).note
    assert "back" in mass_of("BX", joined=True).note


def test_an_inch_section_and_its_metric_twin_weigh_and_resist_alike() -> None:
    for inch, metric in (("3V", "9N"), ("5V", "15N"), ("8V", "25N")):
        assert mass_of(inch).value == mass_of(metric).value
        assert stiffness_of(inch).value == stiffness_of(metric).value
        assert inch in stiffness_of(metric).note


def test_stiffness_keeps_both_rules_by_name_and_trusts_neither_far() -> None:
    for name in accepted():
        found = stiffness_of(name)
        assert found.trust == "memory"
        assert found.low <= found.value <= found.high
        assert len({rule.name for rule in found.published}) == len(found.published)
    assert [rule.source for rule in stiffness_of("CX").published] == ["gbt13575", "ip20-1988"]
    assert [rule.source for rule in stiffness_of("5VX").published] == ["ip22"]
    assert stiffness_of("SPB").value == 32.0


def test_each_mass_of_the_table_reaches_its_section() -> None:
    for row in load("belt_mass").rows:
        found = mass_of(str(row["section"]), joined=row["strand"] == "joined")
        assert any(item.value == row["mass"] and item.source == row["source"] for item in found.published)
