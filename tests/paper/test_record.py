"""The record of a job: who, when, every step, values against limits, isolation and guard; nothing left out."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from beltwright.bench import procedure
from beltwright.paper.record import Record, record
from beltwright.paper.record_pdf import record_pdf
from beltwright.plant.identity import new_id
from beltwright.plant.job import Event, EventKind, Job, JobKind
from beltwright.plant.reading import Reading, State, Value
from beltwright.units import KINDS
from tests.paper.demo import cards, text_of

CARD = cards()["FAN-12"]
START = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


class Work:
    """A job being done, a minute a step."""

    def __init__(self, kind: JobKind = "re-tension", reason: str = "squeals at start") -> None:
        self.drive_id = new_id()
        self.job = Job(new_id(), self.drive_id, kind, procedure.steps_for(kind, CARD.words("si")), START, "Ada Brook",
                       reason, "1")
        self.events: list[Event] = []
        self.readings: list[Reading] = []
        self.at = START

    def event(self, kind: EventKind, step: str = "", by: str = "Ada Brook", reason: str = "") -> None:
        self.at += timedelta(minutes=1)
        confirm = next((one.confirm for one in self.job.steps if one.key == step), ())
        event = Event(new_id(), self.job.id, kind, step, by, self.at, reason, confirm if kind == "done" else ())
        procedure.check(self.job, self.events, event)
        self.events.append(event)

    def read(self, kind: str, state: State, values: Mapping[str, Value], *, supersedes: UUID | None = None,
             reason: str = "") -> Reading:
        reading = Reading(new_id(), self.drive_id, kind, state, values, {}, self.at, "Ben Cole", self.job.id,
                          supersedes, reason)
        self.readings.append(reading)
        return reading

    def up_to(self, key: str) -> Work:
        for step in self.job.steps:
            if step.key == key:
                break
            if step.key == "feel":
                self.event("skipped", step.key, reason="cold since yesterday")
                continue
            self.event("done", step.key)
            if step.key in ("lock", "locks-off"):
                self.event("done", step.key, "Ben Cole")
        return self

    def closed(self) -> Work:
        self.up_to("")
        self.event("closed")
        return self

    def record(self, zone: str = "UTC") -> Record:
        return record(self.job, self.events, self.readings, CARD, "si", zone=ZoneInfo(zone))


def cells(made: Record, key: str) -> list[tuple[str, ...]]:
    part = made.part(key)
    assert part is not None
    return [line.cells for line in part.lines]


def test_head_says_who_when_what_for_and_how_it_ended() -> None:
    made = Work().closed().record("Europe/Berlin")
    assert made.opened == "2026-11-25 07:00 by Ada Brook"
    assert made.reason == "squeals at start"
    assert made.ended == "closed"
    assert made.end.endswith("by Ada Brook")
    assert made.people == ("Ada Brook", "Ben Cole")
    assert made.zone == "times in CET"
    minutes = len(Work().closed().events)
    assert made.took == f"{minutes / 60:.1f} h"


@pytest.mark.parametrize("kind", ["inspect", "re-tension", "re-belt", "change sheave", "align", "lay up", "bring back"])
def test_every_step_and_every_event_is_there(kind: JobKind) -> None:
    work = Work(kind).closed()
    made = work.record()
    steps = cells(made, "steps")
    assert len(steps) == len(work.job.steps)
    assert {row[2] for row in steps} <= {"done", "skipped"}
    assert len(cells(made, "log")) == 1 + len(work.events)
    gates = [step for step in work.job.steps if step.gate]
    said = cells(made, "gates")
    assert len(said) >= len(gates)
    for step in gates:
        rows = [row for row in said if row[0].startswith(step.title)]
        assert rows
        assert all(row[1] and row[2] for row in rows)


def test_each_persons_lock_is_confirmed_under_their_own_name() -> None:
    said = cells(Work().closed().record(), "gates")
    for title in ("Lock out", "Each lock off, by its owner"):
        assert [row[1] for row in said if row[0] == title] == ["Ada Brook", "Ben Cole"]


def test_skipped_step_shows_name_and_reason() -> None:
    rows = cells(Work().closed().record(), "steps")
    (row,) = [row for row in rows if row[2] == "skipped"]
    assert row[1] == "Feel the grooves"
    assert row[3] == "Ada Brook"
    assert row[5] == "cold since yesterday"


def test_open_job_says_what_is_not_confirmed() -> None:
    work = Work().up_to("tighten")
    made = work.record()
    assert made.ended == ""
    missing = [row[0] for row in cells(made, "gates") if row[3] == "not confirmed"]
    assert missing == ["Guard cleaned and back on", "Tools and rags out", "People clear and told",
                       "Each lock off, by its owner"]
    assert "This job is not closed." in text_of(record_pdf(work.job, work.events, work.readings, CARD, "si"))


def force(number: float) -> float:
    return number * KINDS["force"]["N"][0]


@pytest.mark.parametrize(("newtons", "place"), [(20.0, "below"), (30.0, "in run-in band"), (45.0, "in new band"),
                                                (60.0, "above")])
def test_tension_against_the_bands(newtons: float, place: str) -> None:
    work = Work().up_to("loosen")
    work.read("force", "as found", {"belt": 2, "force": force(newtons)})
    (row,) = cells(work.record(), "tension")
    assert row == ("belt 2", f"{newtons:.1f} N, {place}", "", "", "")


def test_tension_taken_another_way_is_not_held_against_the_band() -> None:
    work = Work().up_to("loosen")
    work.read("force", "as found", {"belt": 1, "force": 20.0, "deflection": 0.010})
    (row,) = cells(work.record(), "tension")
    assert row[1] == "20.0 N (deflection 10.00 mm)"


def test_last_reading_of_a_belt_counts_and_as_left_stands_beside_as_found() -> None:
    work = Work().up_to("loosen")
    for newtons, state in ((20.0, "as found"), (22.0, "as found"), (31.0, "as left")):
        work.read("force", state, {"belt": 1, "force": newtons})  # type: ignore[arg-type]
    (row,) = cells(work.record(), "tension")
    assert row[1:3] == ("22.0 N, below", "31.0 N, in run-in band")


def test_groove_and_run_out_are_held_against_their_limits() -> None:
    work = Work().up_to("loosen")
    work.read("groove", "as found", {"sheave": "driver", "groove": 1, "left": 0.0009, "right": 0.0001})
    work.read("groove", "as found", {"sheave": "driver", "groove": 2, "left": 0.0002, "right": 0.0003})
    work.read("run-out", "as left", {"sheave": "driven", "radial": 0.0001, "axial": 0.001})
    rows = cells(work.record(), "readings")
    assert [row[3] for row in rows] == ["dish over 0.79 mm", "dish within 0.79 mm",
                                        "radial within 0.27 mm; axial over 0.29 mm"]


def test_corrected_reading_stays_with_its_reason_and_no_longer_counts() -> None:
    work = Work().up_to("loosen")
    wrong = work.read("groove", "as found", {"sheave": "driver", "groove": 1, "left": 0.0030, "right": 0.0})
    work.read("groove", "as found", {"sheave": "driver", "groove": 1, "left": 0.0003, "right": 0.0},
              supersedes=wrong.id, reason="misread the feeler")
    made = work.record()
    (counted,) = cells(made, "readings")
    assert "0.30 mm" in counted[2]
    (old,) = cells(made, "corrected")
    assert "3.00 mm" in old[1]
    assert old[3] == "Ben Cole: misread the feeler"


def test_printed_record_holds_every_line_and_room_to_sign() -> None:
    work = Work("re-belt").closed()
    work.read("force", "as left", {"belt": 1, "force": 45.0})
    made = work.record()
    pdf = record_pdf(work.job, work.events, work.readings, CARD, "si", plant="Hollow Creek")
    printed = text_of(pdf).replace(" ", "")
    for part in made.parts:
        assert part.title.replace(" ", "") in printed
        for line in part.lines:
            for words in line.cells:
                assert words.replace(" ", "") in printed, words
    assert printed.count("signature") == 2
    assert str(work.job.id) in printed


def test_hostile_words_are_printed_as_they_are() -> None:
    words = '#panic("x") $y$ *z* <a> \\ // [w]'
    work = Work(reason=words)
    work.up_to("feel")
    work.event("skipped", "feel", by="#let", reason=words)
    pdf = record_pdf(work.job, work.events, work.readings, CARD, "si", plant=words)
    assert text_of(pdf).replace(" ", "").count(words.replace(" ", "")) >= 3


def test_long_job_breaks_onto_more_pages_with_its_headings() -> None:
    from io import BytesIO

    work = Work("re-belt").closed()
    for belt in range(1, 9):
        for _ in range(4):
            work.read("seen", "as found", {"what": "cracked", "belt": belt})
    reader = PdfReader(BytesIO(record_pdf(work.job, work.events, work.readings, CARD, "si", paper="us-letter")))
    assert len(reader.pages) > 2
    assert all(str(work.job.id) in page.extract_text() for page in reader.pages)
