"""What is still to come on a drive: the day follows from hours run, hours a day and the interval."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.bench.findings.coming import Coming, coming
from beltwright.bench.findings.judge import Record, judge
from beltwright.units import DAY
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, NOW, a_job, make_up, plucked, reading


def _ahead(record: Record, now: datetime = NOW) -> dict[str, Coming]:
    return {each.recheck.name: each for each in coming(record, now=now)}


def _re_belted(share: float | None = 1.0) -> Record:
    drive = replace(a_drive(), hours_a_day=share)
    left = plucked(1.7, 1.7, 1.7, state="as left", at=MONDAY + timedelta(hours=1))
    return Record([make_up(drive)], left, [a_job("re-belt", "belts-on", "run-in")])


@pytest.mark.parametrize(("share", "first", "last"), [(1.0, 1, 2), (0.5, 2, 4), (1 / 3, 3, 6)])
def test_new_belts_leave_a_follow_up_after_24_to_48_running_hours(share: float, first: float, last: float) -> None:
    put_on = MONDAY + timedelta(minutes=1)
    found = _ahead(_re_belted(share))["first days"]
    assert found.last is not None
    assert abs((found.first - put_on).total_seconds() - first * DAY) < 1.0
    assert abs((found.last - put_on).total_seconds() - last * DAY) < 1.0
    assert not found.assumed


def test_run_in_that_was_done_is_not_to_come() -> None:
    assert "run-in" not in _ahead(_re_belted())
    assert _ahead(_re_belted(None))["first days"].assumed


@given(gone=st.floats(0.0, 400.0))
def test_what_is_to_come_is_never_due_yet_and_what_is_due_no_more_to_come(gone: float) -> None:
    record, now = _re_belted(), NOW + timedelta(days=gone)
    due = {finding.key for finding in judge(record, now=now)}
    ahead = _ahead(record, now)
    assert ("due-new-belts" in due) != ("first days" in ahead) or gone > 1.0
    assert ("due-season" in due) != ("season" in ahead)
    assert all(each.first > now for each in ahead.values())


def test_nothing_is_to_come_on_a_drive_that_is_laid_up_or_never_read() -> None:
    jobs = [a_job("lay up", "relax")]
    assert coming(Record([make_up(a_drive())], plucked(1.2, 1.2, 1.2), jobs), now=NOW) == ()
    assert coming(Record([make_up(a_drive())], [reading("seen", "running", what="cracked")]), now=NOW) == ()


def test_a_follow_up_says_its_days() -> None:
    found = _ahead(_re_belted())["first days"]
    assert found.days == f"{found.first.date()} to {(found.first + timedelta(days=1)).date()}"
