"""How a drive is built is judged against published limits, or said not to be judged."""

from __future__ import annotations

import pytest

from beltwright.bench.known import complete
from beltwright.bench.verdicts import ORDER, Verdict, overall, verdicts
from beltwright.bench.worked import work_out
from beltwright.tables import sources
from tests.bench.drives import a_drive, demo_drives


def judged(**cells: str | None) -> dict[str, Verdict]:
    return {verdict.key: verdict for verdict in verdicts(work_out(complete(a_drive(**cells))))}


def test_a_sound_drive_is_good_throughout() -> None:
    assert {verdict.answer for verdict in judged().values()} == {"good"}


@pytest.mark.parametrize(("key", "answer", "cells"), [
    ("belts", "short", {"motor_power_hp": "60"}),
    ("belts", "short", {"belt_count": "1", "motor_power_hp": "20"}),
    ("belts", "not judged", {"service": None}),
    ("rim_driver", "danger", {"motor_speed_rpm": "3550", "driven_speed_rpm": None}),
    ("rim_driver", "not judged", {"driver_material": None}),
    ("smallest_driver", "short", {"driver_datum_in": "4.6", "driven_speed_rpm": None}),
    ("motor_sheave", "short", {"motor_frame": "405T", "motor_power_hp": "100"}),
    ("motor_sheave", "not judged", {"motor_frame": "D112M"}),
    ("wrap", "note", {"driven_datum_in": "38", "centre_in": "25", "belt_marking": "B128", "driven_speed_rpm": None}),
    ("long_span", "note", {"centre_in": "70", "belt_marking": "B173"}),
    ("room", "note", {"room_c": "48"}),
    ("room", "short", {"room_c": "60"}),
    ("base", "note", {"base": "fixed"}),
    ("base_slack_off", "short", {"slack_off_mm": "20"}),
    ("base_slack_off", "good", {"slack_off_mm": "45"}),
    ("base_slack_off", "good", {"slack_off_mm": "60"}),
    ("base_take_up", "short", {"take_up_mm": "30"}),
    ("base_take_up", "good", {"take_up_mm": "90"}),
    ("empty_grooves", "note", {"belt_count": "2"}),
])
def test_each_limit(key: str, answer: str, cells: dict[str, str | None]) -> None:
    assert judged(**cells)[key].answer == answer


def test_joined_belts_may_span_further() -> None:
    assert "long_span" not in judged(centre_in="70", belt_marking="B173", belts_joined="yes")


def test_every_verdict_names_a_source_and_reads_in_both_systems() -> None:
    for drive in demo_drives():
        found = verdicts(work_out(complete(drive)))
        assert [ORDER.index(verdict.answer) for verdict in found] == sorted(
            ORDER.index(verdict.answer) for verdict in found)
        for verdict in found:
            assert verdict.source in sources()
            assert verdict.statement.text("si")
            assert verdict.statement.text("inch")
            assert verdict.do or verdict.answer in ("good", "not judged")


def test_the_demo_plant_has_the_good_and_the_bad() -> None:
    answers = {drive.tag: overall(verdicts(work_out(complete(drive)))) for drive in demo_drives()}
    assert {tag for tag, answer in answers.items() if answer == "danger"} == {"FAN-21", "SAW-01"}
    assert {"ELV-02", "CNV-06", "COL-01"} <= {tag for tag, answer in answers.items() if answer == "short"}
    assert "good" in answers.values()
