"""Jobs at the desk: opened with the drive's numbers, done behind the gates, gone on with on another device."""

from __future__ import annotations

from datetime import timedelta

import pytest

from beltwright.book.opening import open_book
from beltwright.book.store import Store
from beltwright.desk import jobs, record
from beltwright.errors import InputError, Refused
from beltwright.plant.identity import new_id
from tests.desk.conftest import START

ISOLATION = ("stop", "lock", "tag", "stored", "try")


def isolate(book: Store, job_id: object, by: str = "Ann") -> None:
    for key in ISOLATION:
        jobs.do(book, job_id, key, by=by, at=START)  # type: ignore[arg-type]


def test_the_steps_carry_the_drives_numbers(book: Store) -> None:
    job = jobs.open_job(book, "fan1", "re-belt", by="Ann", at=START, system="inch")
    words = {step.key: " ".join(step.say) for step in job.steps}
    assert "1 matched set of 3 belts B112" in words["draw"]
    assert "lbf" in words["set-new"]
    assert "/64 in" in words["set-new"]


def test_one_open_job_a_drive(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "inspect", by="Ann", at=START)
    with pytest.raises(Refused, match="opened by Ann"):
        jobs.open_job(book, "FAN-1", "align", by="Bo", at=START)
    jobs.abandon(book, job.id, by="Ann", at=START, reason="wrong drive")
    jobs.open_job(book, "FAN-1", "align", by="Bo", at=START)


@pytest.mark.parametrize(("kind", "by", "says"), [("polish", "Ann", "re-tension"), ("align", "", "a name is needed")])
def test_what_cannot_be_opened(book: Store, kind: str, by: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        jobs.open_job(book, "FAN-1", kind, by=by, at=START)


def test_a_hands_on_reading_of_a_job_waits_for_isolation_and_an_own_lock(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "re-tension", by="Ann", at=START)
    answers = {"belt": "1", "force": "18 N"}
    for by in ("Ann", "Bo"):
        with pytest.raises(Refused, match="own lock"):
            record.note(book, "FAN-1", "force", answers, state="as found", by=by, at=START, job_id=job.id)
        if by == "Ann":
            isolate(book, job.id)
    record.note(book, "FAN-1", "force", answers, state="as found", by="Ann", at=START, job_id=job.id)
    assert len(jobs.standing(book, job.id).readings) == 1


def test_moving_the_motor_opens_alignment_and_bolts_again(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "re-tension", by="Ann", at=START)
    isolate(book, job.id)
    for key in ("loosen", "tighten", "turn", "set-tension", "align", "bolts"):
        after = jobs.do(book, job.id, key, by="Ann", at=START)
    assert after.mark("align").state == "done"
    record.note(book, "FAN-1", "motor move", {"move": "1 mm"}, state="in between", by="Ann", at=START, job_id=job.id)
    now = jobs.standing(book, job.id).progress
    assert (now.mark("align").state, now.mark("bolts").state) == ("open", "open")
    assert now.mark("align").reopened


def test_a_job_goes_on_on_another_device_where_it_stopped(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "inspect", by="Ann", at=START)
    jobs.do(book, job.id, "tell", by="Ann", at=START)
    jobs.skip(book, job.id, "watch", by="Ann", at=START, reason="line is down")
    other = open_book(book.where, write=True)
    try:
        found = jobs.find_job(other, "fan 1")
        assert jobs.standing(other, found.id).progress.next.key == "stop"  # type: ignore[union-attr]
        jobs.do(other, found.id, "stop", by="Bo", at=START)
    finally:
        other.close()
    assert jobs.standing(book, job.id).progress.mark("stop").by == ("Bo",)


def test_the_same_event_sent_twice_counts_once(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "inspect", by="Ann", at=START)
    mark = new_id()
    for _ in range(2):
        jobs.do(book, job.id, "tell", by="Ann", at=START, event_id=mark)
    assert len(book.events(job.id)) == 1


def test_a_clock_that_goes_back_changes_no_order(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "inspect", by="Ann", at=START)
    for minutes, key in enumerate(ISOLATION):
        jobs.do(book, job.id, key, by="Ann", at=START - timedelta(minutes=minutes))
    jobs.do(book, job.id, "guard-off", by="Ann", at=START - timedelta(hours=9))
    assert jobs.standing(book, job.id).progress.mark("guard-off").state == "done"


def test_a_refused_step_leaves_no_trace(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "inspect", by="Ann", at=START)
    with pytest.raises(Refused):
        jobs.do(book, job.id, "guard-off", by="Ann", at=START)
    with pytest.raises(Refused):
        jobs.close(book, job.id, by="Ann", at=START)
    assert not book.events(job.id)


def test_a_whole_re_belt_ends_closed_and_says_who_did_what(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "re-belt", by="Ann", at=START)
    for step in job.steps:
        jobs.do(book, job.id, step.key, by="Ann", at=START, confirmed=step.confirm)
    jobs.close(book, job.id, by="Ann", at=START)
    standing = jobs.standing(book, job.id)
    assert standing.progress.ended == "closed"
    assert {mark.by for mark in standing.progress.marks} == {("Ann",)}
    assert not book.jobs(job.drive_id, open_only=True)


def test_an_old_set_or_a_mixed_one_does_not_go_on(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "re-belt", by="Ann", at=START)
    isolate(book, job.id)
    with pytest.raises(Refused, match="all new, one make"):
        jobs.do(book, job.id, "new-set", by="Ann", at=START, confirmed=("complete set", "matched"))
    with pytest.raises(Refused, match="Check the new set"):
        jobs.do(book, job.id, "belts-on", by="Ann", at=START, confirmed=("laid in by hand, nothing pried",))
