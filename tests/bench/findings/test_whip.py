"""A span in step with what shakes it is a finding only where something is known to shake."""

from __future__ import annotations

from datetime import timedelta

import pytest

from beltwright.bench.findings.targets import targets_for
from beltwright.bench.whip_chart import Found, whip_of
from beltwright.plant.drive import Drive
from beltwright.plant.reading import Reading
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, found, low, plucked, reading

# after the belts were left, so that their tension does not settle it
WHIPS = reading("seen", "running", at=MONDAY + timedelta(hours=2), what="whipping")


def share_at_which(drive: Drive, near: bool) -> float:
    """A share of the low end of the band at which that drive is near what shakes it, or clear."""
    for percent in range(100, 150):
        made = whip_of(targets_for(drive), Found(percent / 100 * low(drive), 1.0, "as found"))
        if made.answer == ("near" if near else "clear"):
            return percent / 100
    raise AssertionError("no such tension in its band")


def left(drive: Drive, near: bool) -> list[Reading]:
    share = share_at_which(drive, near)
    return plucked(share, share, share, drive=drive, state="as left")


@pytest.mark.parametrize("centre", ["42.4", "38"])
def test_a_span_near_what_may_shake_it_is_no_finding_by_itself(centre: str) -> None:
    drive = a_drive(centre_in=centre)
    assert "whip-near" not in found(left(drive, near=True), drive=drive)


def test_whip_seen_with_a_span_in_step_is_explained_and_told_what_to_do() -> None:
    drive = a_drive()
    findings = found([*left(drive, near=True), WHIPS], drive=drive)
    step = findings["whip-near"]
    assert step.urgency == findings["seen-whipping"].urgency == "mend at next stop"
    assert step.explains == ("seen-whipping",)
    assert "whip-near" in findings["seen-whipping"].explained_by
    assert list(findings).index("whip-near") < list(findings).index("seen-whipping")
    assert step.sure is not None
    assert step.sure > 0.5
    words = " ".join(step.actions("si"))
    made = whip_of(targets_for(drive))
    assert ("within the band and clear" in words) == (made.window is not None)


def test_whip_seen_with_the_spans_clear_has_another_cause() -> None:
    drive = a_drive()
    findings = found([*left(drive, near=False), WHIPS], drive=drive)
    assert "seen-whipping" in findings
    assert "whip-near" not in findings


def test_pushes_of_the_load_that_were_entered_are_watched_and_no_more() -> None:
    for pushes in ("0.85", "1.5"):
        drive = a_drive(driven_pulses=pushes)
        margin = {side.nearest.key: side for side in whip_of(targets_for(drive)).sides}
        if "driven pushes" in margin and margin["driven pushes"].answer == "near":
            findings = found(plucked(1.25, 1.25, 1.25, drive=drive, state="as left"), drive=drive)
            assert findings["whip-near"].urgency == "watch"
            assert "pushes a turn" in findings["whip-near"].statement.text("si")
            assert "Watch the spans" in findings["whip-near"].actions("si")[0]
            break
    else:
        raise AssertionError("none of these pushes is near a span")


def test_slack_belts_come_before_their_note() -> None:
    """Below the band the note is not where it belongs: set the belts first."""
    drive = a_drive()
    slack = next(share / 100 for share in range(84, 70, -1)
                 if whip_of(targets_for(drive), Found(share / 100 * low(drive), 1.0, "")).answer == "near")
    findings = found([*plucked(slack, slack, slack, drive=drive), WHIPS], drive=drive)
    assert findings["whip-near"].explained_by == ("tension-slack",)


def test_belts_too_slack_to_have_a_note_are_slack_and_nothing_more_is_said() -> None:
    findings = found([*plucked(0.3, 0.3, 0.3), WHIPS])
    assert "tension-slack" in findings
    assert "whip-near" not in findings


def test_a_sheave_that_runs_out_makes_the_span_it_shakes_worth_watching() -> None:
    drive = a_drive(motor_speed_rpm="1100", driven_speed_rpm=None)
    made = whip_of(targets_for(drive))
    by = next(side.nearest.key for side in made.sides if side.answer == "near")
    out = [reading("run-out", sheave=by.split()[0], radial=0.001, axial=0.0001)]
    readings = plucked(1.25, 1.25, 1.25, drive=drive, state="as left")
    assert "whip-near" not in found(readings, drive=drive)
    findings = found([*readings, *out], drive=drive)
    assert f"runout-radial-{by.split()[0]}" in findings
    assert findings["whip-near"].urgency == "watch"
