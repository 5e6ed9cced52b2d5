"""Readings that disagree are said to, by how much, and with the reading that is likely wrong."""

from __future__ import annotations

import pytest

from beltwright.bench.clashes import Clash, clashes
from beltwright.bench.known import complete
from tests.bench.drives import a_drive, demo_drives


def found(**cells: str | None) -> dict[str, Clash]:
    return {clash.key: clash for clash in clashes(complete(a_drive(**cells)))}


def test_a_drive_that_adds_up_has_none() -> None:
    assert found() == {}


@pytest.mark.parametrize(("marking", "centre"), [("B97", "42.4"), ("B128", "42.4"), ("B112", "46.4")])
def test_a_wrong_marking_is_found_with_the_belt_that_would_fit(marking: str, centre: str) -> None:
    clash = found(belt_marking=marking, centre_in=centre)["length"]
    assert clash.weight == "wrong"
    fits = "B120" if centre == "46.4" else "B112"
    assert fits in clash.likely.text("inch")


def test_an_outside_diameter_taken_for_a_datum_one_is_recognised() -> None:
    # rims of 30.4 and 9.4 in handed in as datum diameters: the belt seems 0.9 in too short for the centre
    clash = found(belt_marking="C180", driver_datum_in="10.0", driven_datum_in="32.4", centre_in="59.19",
                  driven_speed_rpm=None)["length"]
    assert "length apart" in clash.statement.text("inch")


@pytest.mark.parametrize("centre", ["42.0", "42.4", "42.8", "43.0"])
def test_a_belt_within_its_tolerance_or_a_little_grown_is_no_clash(centre: str) -> None:
    assert "length" not in found(centre_in=centre)


def test_more_belts_than_grooves() -> None:
    clash = found(belt_count="4")["grooves"]
    assert clash.weight == "wrong"
    assert clash.columns[0] == "belt_count"
    assert found(driven_grooves="2")["grooves"].columns == ("belt_count", "driven_grooves")


@pytest.mark.parametrize(("rpm", "weight"), [("1130", "doubtful"), ("900", "wrong"), ("1260", "wrong")])
def test_speeds_against_diameters(rpm: str, weight: str) -> None:
    assert found(driven_speed_rpm=rpm)["speed"].weight == weight


@pytest.mark.parametrize("rpm", ["1195", "1187", "1170"])
def test_usual_slip_is_no_clash(rpm: str) -> None:
    assert "speed" not in found(driven_speed_rpm=rpm)


def test_stated_ratio_grooves_of_both_section_and_face() -> None:
    assert found(ratio="2.5")["ratio"].weight == "wrong"
    assert found(driven_grooves="4")["groove count"].weight == "doubtful"
    assert found(belt_section="C")["section"].weight == "wrong"
    face = found(driver_width_in="3.25")["face width"]   # three C grooves: 2 x 1 + 2 x 0.688 in
    assert "C" not in found(driver_width_in="2.5")
    assert face.columns[0] == "driver_width"


def test_the_gravest_comes_first() -> None:
    weights = [clash.weight for clash in clashes(complete(a_drive(driven_grooves="4", ratio="2.5", belt_count="9")))]
    assert weights == sorted(weights, key=lambda weight: weight != "wrong")


def test_in_the_demo_plant_only_the_drive_with_the_wrong_belt_disagrees() -> None:
    wrong = {drive.tag for drive in demo_drives() if any(clash.weight == "wrong" for clash in clashes(complete(drive)))}
    assert wrong == {"FAN-31"}
