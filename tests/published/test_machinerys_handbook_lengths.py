"""Machinery's Handbook, 31st ed., table 8 (ANSI/RMA IP-20, 1988): datum lengths of classical belts and their limits."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from beltwright.mechanics.lengths import marked_length, read_marking
from beltwright.mechanics.standard_lengths import length_limits, standard_lengths
from beltwright.tables import load
from beltwright.units import from_si
from tests.published import printed


def rows(name: str) -> list[dict[str, str]]:
    lines = Path(__file__).with_name(f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(lines[1:]))


LENGTHS = rows("machinerys_handbook_lengths")
SOUND = [row for row in LENGTHS if not row["reason"]]
MISPRINTS = [row for row in LENGTHS if row["reason"]]
BANDS = rows("machinerys_handbook_length_limits")


def name(row: dict[str, str]) -> str:
    return row["section"] + row["number"]


@pytest.mark.parametrize("row", SOUND, ids=name)
def test_a_marking_names_the_printed_length(row: dict[str, str]) -> None:
    belt = read_marking(name(row))
    assert (belt.standard, belt.length_as) == ("rma", "datum")
    assert from_si(belt.length, "in", "length") == printed(row["printed_in"])


@pytest.mark.parametrize("row", MISPRINTS, ids=name)
def test_a_misprinted_length_stays_known_and_is_not_followed(row: dict[str, str]) -> None:
    length = from_si(float(marked_length(float(row["number"]), row["section"], "rma")), "in", "length")
    assert length == printed(row["right_in"])
    assert length != printed(row["printed_in"])


def test_the_misprints_are_the_three_that_break_the_rule_of_their_column() -> None:
    adds: dict[tuple[str, bool], list[float]] = {}
    for row in LENGTHS:
        group = row["section"], int(row["number"]) >= 240
        adds.setdefault(group, []).append(round(float(row["printed_in"]) - int(row["number"]), 1))
    odd = {name(row) for row in LENGTHS
           if (found := adds[row["section"], int(row["number"]) >= 240])
           and round(float(row["printed_in"]) - int(row["number"]), 1) != max(set(found), key=found.count)}
    assert odd == {name(row) for row in MISPRINTS} == {"A75", "C300", "C360"}


@pytest.mark.parametrize("section", "ABCD")
def test_the_standard_belts_are_the_printed_ones(section: str) -> None:
    wanted = {row["number"]: row["right_in"] or row["printed_in"] for row in LENGTHS if row["section"] == section}
    belts = standard_lengths(section, "rma").belts
    assert {str(belt.number) for belt in belts} == set(wanted)
    for belt in belts:
        assert from_si(belt.length, "in", "length") == printed(wanted[str(belt.number)])
    column = {row["number"]: row[section] for row in load("lengths_ip20").rows if row[section] is not None}
    assert {belt.number: pytest.approx(belt.length, abs=1e-9) for belt in belts} == column


@pytest.mark.parametrize("row", BANDS, ids=lambda row: f"{row['from']} to {row['to']}")
def test_limits_of_every_belt_in_a_band(row: dict[str, str]) -> None:
    held = [each for each in LENGTHS if int(row["from"]) <= int(each["number"]) <= int(row["to"])]
    assert held
    for each in held:
        length = float(marked_length(float(each["number"]), each["section"], "rma"))
        limits = length_limits(length, "datum", each["section"], "rma")
        assert limits.tolerance is not None
        assert limits.matching is not None
        assert from_si(limits.tolerance, "in", "length") == printed(row["deviation_in"])
        assert from_si(limits.matching, "in", "length") == printed(row["matching_in"])


def test_two_readings_of_the_tolerance_at_144_disagree_and_the_table_says_so() -> None:
    # one reading of the print ends the 0.8 in band at 144, another begins the 1.0 in band there
    row, = load("lengths_ip20").where(number=144.0)
    assert isinstance(row["tolerance"], float)
    assert from_si(row["tolerance"], "in", "length") in (pytest.approx(0.8), pytest.approx(1.0))
    assert row["tolerance_trust"] != "read"
    assert "0.8" in str(row["note"])
