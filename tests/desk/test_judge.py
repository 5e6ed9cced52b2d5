"""Judging over a book: what people noted comes out as findings, of one drive and of the plant alike."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from beltwright.bench.findings.finding import Finding
from beltwright.book.store import Store
from beltwright.desk import jobs, judge, record
from beltwright.desk.survey import hand_in, rows_from
from beltwright.errors import Unknown
from beltwright.plant.identity import new_id
from beltwright.units import to_si
from tests.bench.drives import SOUND
from tests.desk.conftest import START

DAY = timedelta(days=1)
NOW = START + DAY


def note(book: Store, kind: str, tag: str = "FAN-1", state: str = "as found", after: float = 0.0,
         **answers: str) -> None:
    record.note(book, tag, kind, answers, state=state, by="Ann", at=START + timedelta(minutes=after))


def keys(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.key for finding in findings]


def test_what_was_noted_comes_out_as_findings(book: Store) -> None:
    note(book, "frequency", belt="1", frequency="13 Hz")
    note(book, "seen", state="running", what="squeal at start")
    found = judge.findings(book, "fan1", now=NOW)
    assert keys(found) == ["tension-slack", "seen-squeal-at-start", "tension-some-unread"]
    assert found[0].explains == ("seen-squeal-at-start",)
    with pytest.raises(Unknown):
        judge.findings(book, "FAN-99", now=NOW)


def test_a_corrected_reading_counts_as_corrected(book: Store) -> None:
    slack = record.note(book, "FAN-1", "frequency", {"belt": "1", "frequency": "13 Hz"}, state="as found", by="Ann",
                        at=START)
    record.correct(book, slack.id, {"frequency": "17 Hz"}, reason="misread", by="Ann", at=START)
    assert "tension-slack" not in keys(judge.findings(book, "FAN-1", now=NOW))


def test_the_plant_is_each_drive_by_itself(book: Store) -> None:
    hand_in(book, rows_from([{**SOUND, "tag": f"FAN-{number}"} for number in range(2, 30)]), by="Ann", at=START)
    for number in range(1, 30, 2):
        note(book, "frequency", f"FAN-{number}", belt="1", frequency=f"{12 + number / 4} Hz")
    for number in range(3, 30, 9):
        job = jobs.open_job(book, f"FAN-{number}", "inspect", by="Ann", at=START - 3 * DAY)
        jobs.do(book, job.id, "tell", by="Ann", at=START)
    plant = list(judge.findings_of_plant(book, now=NOW))
    assert len(plant) == 29
    for judged in plant:
        alone = judge.findings(book, judged.make_up.drive.tag, now=NOW)
        assert judged.findings == alone
        assert judged.urgency == alone[0].urgency
    assert any("job-open" in keys(judged.findings) for judged in plant)


def test_a_laid_up_drive_says_so_until_it_is_brought_back(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "lay up", by="Ann", at=START)
    for at, step in enumerate(job.steps):
        jobs.do(book, job.id, step.key, by="Ann", at=START + timedelta(minutes=at), confirmed=step.confirm)
    jobs.close(book, job.id, by="Ann", at=START + timedelta(hours=1))
    assert judge.findings(book, "FAN-1", now=NOW)[0].key == "laid-up"
    (judged,) = judge.findings_of_plant(book, now=NOW)
    assert judged.findings[0].key == "laid-up"


def test_what_the_plant_chose_is_kept(book: Store) -> None:
    settings = replace(book.settings(), energy_price=to_si(0.2, "1/kWh", "price of energy"), currency="EUR",
                       defaults={"rechecks": "by law, season"})
    book.change_settings(settings, by="Ann")
    note(book, "speed", state="running", driver_speed="1750 rpm", driven_speed="1120 rpm")
    note(book, "frequency", belt="1", frequency="17 Hz")
    slip = next(each for each in judge.findings(book, "FAN-1", now=NOW) if each.key == "slip")
    assert "EUR" in slip.statement.text("si")
    assert "due-by-law" in keys(judge.findings(book, "FAN-1", now=START + 70 * DAY))


def test_tension_through_the_years_and_as_it_stands(book: Store) -> None:
    assert judge.tension(book, "FAN-1", now=NOW) is None
    note(book, "frequency", belt="1", frequency="15 Hz")
    note(book, "motor move", state="in between", after=5, move="1 mm")
    note(book, "frequency", state="as left", after=10, belt="1", frequency="17 Hz")
    history = judge.history(book, "FAN-1")
    assert [held.strands.state for held in history] == ["as found", "as left"]
    now = judge.tension(book, "FAN-1", now=NOW)
    assert now is not None
    assert now.strands == history[-1].strands
    assert now.taught is not None
    assert now.taught.slope == pytest.approx((history[1].strands.mean - history[0].strands.mean) / 0.001)


def test_reading_a_plant_leaves_the_book_free_for_writers(book: Store) -> None:
    hand_in(book, rows_from([{**SOUND, "tag": f"FAN-{number}"} for number in range(2, 5)]), by="Ann", at=START)
    for judged in judge.findings_of_plant(book, now=NOW):
        assert record.note(book, judged.make_up.drive.tag, "seen", {"what": "cracked"}, state="as found", by="Ann",
                           at=START, reading_id=new_id())
