"""How a drive stands: its build and its readings in one order, the most urgent first."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from beltwright.bench.card import make_card
from beltwright.bench.figure import say
from beltwright.bench.findings.finding import Finding
from beltwright.desk.standing import ORDER, standing
from tests.bench.drives import a_drive, demo_drives

AT = datetime(2026, 3, 2, tzinfo=UTC)
SQUEAL = Finding("squeal", "mend at next stop", "Squeal", say("it squeals"), do=("Tighten it.", "Look again."), at=AT)
SOUND = Finding("sound", "sound", "Sound", say("nothing to mend"), at=AT)


def test_a_drive_well_built_and_sound_has_no_reasons() -> None:
    mill = next(drive for drive in demo_drives() if drive.tag == "PEL-01")
    found = standing(mill, [SOUND])
    assert (found.stands, found.reasons, found.needs_a_hand) == ("sound", (), False)


def test_the_most_urgent_of_build_and_readings_counts() -> None:
    short = standing(a_drive(belt_count="1", driver_grooves="1", driven_grooves="1"), [SQUEAL])
    assert short.stands == "mend at next stop"
    assert {reason.title for reason in short.reasons} >= {"Squeal", "Number of belts"}
    assert short.needs_a_hand
    burst = next(drive for drive in demo_drives() if drive.tag == "SAW-01")
    assert standing(burst, [SQUEAL]).stands == "stop and mend"


def test_reasons_stand_in_order_and_say_what_to_do_first() -> None:
    for drive in demo_drives():
        places = [ORDER.index(reason.stands) for reason in standing(drive, [SQUEAL]).reasons]
        assert places == sorted(places)
    (squeal,) = [reason for reason in standing(a_drive(), [SQUEAL]).reasons if reason.title == "Squeal"]
    assert squeal.do.text("si") == "Tighten it"


def test_what_another_finding_explains_is_no_reason_of_its_own() -> None:
    hot = Finding("hot", "stop and mend", "Hot", say("hot"), explained_by=("squeal",))
    assert standing(a_drive(), [SQUEAL, hot]).stands == "mend at next stop"


def test_readings_that_cannot_be_together_are_a_reason() -> None:
    found = standing(a_drive(centre_in="52.4"), [])
    assert [reason.stands for reason in found.reasons if reason.title == "Readings disagree"] == ["plan"]


@pytest.mark.parametrize("drive", demo_drives(), ids=lambda drive: drive.tag)
def test_a_card_at_hand_changes_nothing(drive: object) -> None:
    assert standing(drive, [SQUEAL], make_card(drive)) == standing(drive, [SQUEAL])  # type: ignore[arg-type]
