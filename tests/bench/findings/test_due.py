"""What falls due: first hours of new belts, the season, a lay-up, a job left open; and a perfect drive is sound."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from beltwright.bench.findings.noted import Choices
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, NOW, a_job, found, laid, plucked, reading

DAY = timedelta(days=1)
NEW = a_drive(belts_fitted_on=MONDAY.date().isoformat())   # runs 16 hours a day


@pytest.mark.parametrize(("hours", "urgency"), [(0.1, None), (30.0, "plan"), (80.0, "mend at next stop")])
def test_new_belts_are_called_back_after_their_first_days(hours: float, urgency: str | None) -> None:
    # running hours on the clock; read as left when they were fitted, and run in by the job
    job = a_job("re-belt", "belts-on", "run-in", opened=MONDAY)
    left = plucked(1.75, 1.75, 1.75, state="as left", at=MONDAY + timedelta(hours=1))
    clock = reading("hours", at=MONDAY + 7 * DAY, hours=hours * 3600)
    due = found([*left, clock], drive=NEW, jobs=[job], now=MONDAY + 7 * DAY).get("due-new-belts")
    assert (None if due is None else due.urgency) == urgency


def test_running_time_is_reckoned_by_the_hours_a_day() -> None:
    left = plucked(1.75, 1.75, 1.75, state="as left", at=MONDAY + timedelta(hours=1), drive=NEW)
    job = a_job("re-belt", "belts-on", "run-in", opened=MONDAY)

    def due(days: float) -> bool:
        return "due-new-belts" in found(left, drive=NEW, jobs=[job], now=MONDAY + days * DAY)
    # 24 running hours at 16 a day: a day and a half after the belts went on
    assert not due(1.45)
    assert due(1.55)


def test_a_reading_after_their_first_days_keeps_it() -> None:
    job = a_job("re-belt", "belts-on", "run-in", opened=MONDAY)
    left = plucked(1.75, 1.75, 1.75, state="as left", at=MONDAY + timedelta(hours=1))
    again = plucked(1.25, 1.25, 1.25, state="as left", at=MONDAY + 2 * DAY)
    assert found([*left, *again], drive=NEW, jobs=[job], now=MONDAY + 3 * DAY).keys() == {"sound"}


def test_belts_fitted_and_never_read() -> None:
    drive = a_drive(belts_fitted_on=date(2025, 12, 1).isoformat())
    assert found(drive=drive)["due-new-belts"].urgency == "mend at next stop"
    assert found()["due-never-read"].urgency == "plan"


@pytest.mark.parametrize(("days", "urgency"), [(60, None), (100, "watch"), (200, "plan")])
def test_the_seasons_reading(days: int, urgency: str | None) -> None:
    due = found(plucked(1.25, 1.25, 1.25), now=MONDAY + days * DAY).get("due-season")
    assert (None if due is None else due.urgency) == urgency


def test_a_plant_keeps_the_intervals_it_chose() -> None:
    chosen = Choices(rechecks=("first days", "by law"))
    due = found(plucked(1.25, 1.25, 1.25), now=MONDAY + 100 * DAY, choices=chosen)
    assert due.keys() == {"due-by-law"}
    assert due["due-by-law"].source == "osha-219"


def test_a_laid_up_drive_is_not_to_be_started_until_the_return_job_is_closed() -> None:
    slack = plucked(0.1, 0.1, 0.1, state="as left", at=MONDAY + timedelta(minutes=3))
    lay_up = a_job("lay up", "relax", "lay-up-sign")
    said = found(slack, jobs=[lay_up], now=MONDAY + 200 * DAY)
    assert next(iter(said)) == "laid-up"
    assert said["laid-up"].urgency == "stop and mend"
    assert "do not start" in said["laid-up"].statement.text("si")
    # relaxed belts are slack on purpose, nothing falls due
    assert said.keys() == {"laid-up"}
    back = a_job("bring back", "set-tension", "align", opened=MONDAY + 200 * DAY, ends=None)
    assert "laid-up" in found(slack, jobs=[lay_up, back], now=MONDAY + 201 * DAY)
    closed = a_job("bring back", "set-tension", "align", opened=MONDAY + 200 * DAY)
    left = plucked(1.25, 1.25, 1.25, state="as left", at=MONDAY + 200 * DAY)
    assert found([*slack, *left], jobs=[closed, lay_up], now=MONDAY + 201 * DAY).keys() == {"sound"}


def test_belts_relaxed_in_a_job_that_was_given_up_are_relaxed() -> None:
    given_up = a_job("lay up", "relax", ends="abandoned")
    assert "laid-up" in found(jobs=[given_up])
    assert "laid-up" not in found(jobs=[a_job("lay up", "guard-off", ends="abandoned")])
    # another lay-up after the return counts anew
    returned = [a_job("lay up", "relax"), a_job("bring back", "set-tension", opened=MONDAY + DAY),
                a_job("lay up", "relax", opened=MONDAY + 2 * DAY)]
    assert "laid-up" in found(jobs=returned, now=MONDAY + 3 * DAY)


def test_a_job_left_open_is_said() -> None:
    left_open = a_job("align", "stop", ends=None)
    assert "job-open" not in found(jobs=[left_open])
    assert found(jobs=[left_open], now=MONDAY + 3 * DAY)["job-open"].urgency == "watch"


def test_aligning_confirmed_in_a_job_counts_without_a_reading() -> None:
    moved = reading("motor move", "in between", at=MONDAY, move=0.001)
    left = plucked(1.25, 1.25, 1.25, state="as left", at=MONDAY + timedelta(minutes=30))
    confirmed = a_job("re-tension", "tighten", "set-tension", "align", "bolts")
    assert "alignment-unread" in found([moved, *left])
    assert found([moved, *left], jobs=[confirmed]).keys() == {"sound"}


def test_a_perfect_drive_is_sound_and_nothing_else() -> None:
    everything = [
        *plucked(1.25, 1.25, 1.25), laid(), laid(turned="both"),
        *(reading("groove", sheave=which, groove=number, left=0.0, right=0.0, shine=False)
          for which in ("driver", "driven") for number in (1, 2, 3)),
        *(reading("ride", sheave=which, groove=1, height=0.001) for which in ("driver", "driven")),
        *(reading("run-out", sheave=which, radial=0.0001, axial=0.0001) for which in ("driver", "driven")),
        *(reading("belt length", belt=belt, length=2.9) for belt in (1, 2, 3)),
        *(reading("belt", belt=belt, make="one", marking="B112", age=1e7) for belt in (1, 2, 3)),
        *(reading("bow", "running", belt=belt, bow=0.01) for belt in (1, 2, 3)),
        *(reading("temperature", "running", where=where, temperature=35.0) for where in (
            "belt", "driver groove", "driven groove", "driver bearing", "driven bearing", "room")),
        reading("power", "running", power=7000.0), reading("hours", hours=1e7), reading("seen", what="nothing wrong"),
    ]
    assert found(everything, now=NOW).keys() == {"sound"}
    sound = found(everything, now=NOW)["sound"]
    assert sound.sure is not None
    assert sound.sure > 0.9
    assert "in line within" in sound.statement.text("si")
