"""Every set of belts a drive has had, by its jobs and its make-ups, with its running hours to the day it came off."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.sets import BeltSet, belt_sets
from beltwright.units import DAY, HOUR
from tests.bench.drives import a_drive
from tests.bench.findings.visits import FITTED, MONDAY, NOW, a_job, make_up, reading

WEEK = timedelta(days=7)


def _sets(record: Record) -> list[BeltSet]:
    return list(belt_sets(record, now=NOW))


def test_a_drive_never_re_belted_has_one_set_of_unknown_age() -> None:
    only, = _sets(Record([make_up(a_drive())]))
    assert (only.since, only.until, only.ran) == (None, None, None)


def test_a_re_belt_ends_one_set_and_begins_the_next() -> None:
    drive = replace(a_drive(), hours_a_day=0.5)
    first, second = a_job("re-belt", "belts-on", opened=MONDAY - 10 * WEEK), a_job("re-belt", "belts-on",
                                                                                  opened=MONDAY - 2 * WEEK)
    second = (replace(second[0], reason="one belt broken"), second[1])
    sets = _sets(Record([make_up(drive)], jobs=[first, second]))
    assert [each.until for each in sets] == [each.since for each in sets[1:]] + [None]
    assert [each.why for each in sets] == ["", "one belt broken", ""]
    assert sets[0].ran is None
    # eight weeks at half a day each day
    assert sets[1].ran == pytest.approx(56 * DAY * 0.5, rel=1e-6)
    assert not sets[1].assumed


def test_hours_read_go_before_hours_a_day() -> None:
    on, off = (a_job("re-belt", "belts-on", opened=MONDAY - weeks * WEEK) for weeks in (10, 2))
    clock = reading("hours", at=MONDAY - 2 * WEEK - timedelta(hours=1), hours=812 * HOUR)
    sets = _sets(Record([make_up(a_drive())], [clock], [on, off]))
    assert sets[1].ran == pytest.approx(813 * HOUR, rel=1e-2)


@pytest.mark.parametrize("entered", [timedelta(hours=-3), timedelta(hours=5)])
def test_a_job_and_the_make_up_that_goes_with_it_are_one_change(entered: timedelta) -> None:
    drive = a_drive()
    on = MONDAY - 3 * WEEK
    other = replace(drive, belts=replace(drive.belts, make="Northmark", fitted_on=on.date()))
    old = replace(drive, belts=replace(drive.belts, make="Southmark"))
    sets = _sets(Record([make_up(old), make_up(other, since=on + entered)], jobs=[a_job("re-belt", "belts-on",
                                                                                       opened=on)]))
    assert [each.make_up.drive.belts.make for each in sets] == ["Southmark", "Northmark"]


def test_belts_put_on_before_the_drive_was_entered_count_from_that_day() -> None:
    drive = a_drive()
    put_on = replace(drive, belts=replace(drive.belts, fitted_on=date(2025, 1, 10)), hours_a_day=1.0)
    only, = _sets(Record([make_up(put_on, since=FITTED)]))
    assert only.since is not None
    assert only.since.date() == date(2025, 1, 10)
    assert only.ran == pytest.approx((NOW - only.since).total_seconds())
