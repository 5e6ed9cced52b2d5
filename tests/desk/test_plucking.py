"""Listening at a drive, end to end over a book: what a clip means, what is kept of it, judged again, deleted."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from beltwright.bench.findings.strands import STRETCH
from beltwright.bench.findings.targets import targets_for
from beltwright.book.enclosed import name_of
from beltwright.book.store import Store
from beltwright.desk import judge, record
from beltwright.desk.kept_clips import clips, delete_clip, find_clip, judge_again, take_over
from beltwright.desk.plucking import BeltHeard, hear_belt, keep
from beltwright.desk.survey import hand_in, rows_from
from beltwright.errors import InputError, Refused, Unknown
from beltwright.plant.reading import Reading
from tests.bench.drives import SOUND
from tests.desk.conftest import START
from tests.sound import strings
from tests.sound.belts import clip_at, clip_of, silence

WHEN = START + timedelta(days=30)


def band(book: Store) -> tuple[float, float]:
    wants = targets_for(book.drive_by_tag("FAN-1").drive).set_to
    assert wants is not None
    return wants.run_in


def clip(book: Store, share: float, seed: int = 1) -> bytes:
    return clip_at(book.drive_by_tag("FAN-1").drive, share * band(book)[0], seed=seed)


def noted(book: Store, data: bytes, belt: int = 1) -> tuple[BeltHeard, Reading]:
    heard = hear_belt(book, "FAN-1", data, belt=belt, at=WHEN + timedelta(minutes=belt))
    book.keep_file(name_of(data), data)
    return heard, keep(book, heard, name_of(data), by="Jo")


@pytest.mark.parametrize(("share", "verdicts"), [(1.25, ("in the band",)), (0.6, ("slack",)), (2.2, ("tight",))])
def test_a_clip_is_a_tension_with_its_uncertainty_and_a_verdict(book: Store, share: float,
                                                                verdicts: tuple[str, ...]) -> None:
    heard = hear_belt(book, "FAN-1", clip(book, share), belt=2, at=WHEN)
    assert heard.listened.answered, heard.listened.sentence
    meant = heard.plucked
    assert meant is not None
    assert meant.tension is not None
    assert abs(meant.tension - share * band(book)[0]) < 3 * meant.spread
    assert meant.verdict in verdicts
    assert dict(meant.parts).keys() >= {"the note", "the span", "the mass"}
    assert sum(part**2 for _, part in meant.parts) == pytest.approx(meant.spread**2, rel=1e-6)
    said = meant.statement().text("si")
    assert said.startswith("belt 2 pulls ")
    assert "is right for run-in belts" in said


def test_what_is_kept_is_judged_as_it_was_shown(book: Store) -> None:
    heard, reading = noted(book, clip(book, 0.6), belt=2)
    assert reading.values["frequency"] == pytest.approx(heard.listened.heard.frequency, abs=6e-4)
    assert {"files", "heard by", "confidence", "plucks", STRETCH} <= reading.extra.keys()
    found = {each.key: each for each in judge.findings(book, "FAN-1", now=WHEN + timedelta(hours=1))}
    assert heard.plucked is not None
    assert found["tension-slack"].numbers["mean"].value == pytest.approx(heard.plucked.tension, rel=1e-3)


def test_belts_of_one_visit_stand_side_by_side_with_force(book: Store) -> None:
    noted(book, clip(book, 1.25, seed=1), belt=1)
    record.note(book, "FAN-1", "force", {"belt": "2", "force": "300 N"}, state="as found", by="Jo", at=WHEN)
    heard = hear_belt(book, "FAN-1", clip(book, 1.3, seed=2), belt=2, at=WHEN + timedelta(minutes=5))
    assert heard.plucked is not None
    assert heard.plucked.all_belts is not None
    assert heard.plucked.all_belts.belts == (1, 2)
    assert heard.plucked.by_force is not None
    assert not heard.plucked.agrees
    words = " ".join(each.text("si") for each in heard.plucked.compared())
    assert "does not agree" in words
    assert "belts 1, 2 of this visit" in words


def test_a_clip_not_understood_is_no_reading(book: Store) -> None:
    heard = hear_belt(book, "FAN-1", silence(), belt=1, at=WHEN)
    assert not heard.answered
    with pytest.raises(Refused, match="Not sure: There is next to no sound"):
        keep(book, heard, "x", by="Jo")
    assert book.readings(book.drive_by_tag("FAN-1").drive_id) == []


@pytest.mark.parametrize(("belt", "words"), [(None, "say which belt"), (0, "say which belt"), (4, "no belt 4"),
                                             (-1, "no belt -1")])
def test_a_belt_the_drive_has_not_is_refused(book: Store, belt: int | None, words: str) -> None:
    with pytest.raises(InputError, match=words):
        hear_belt(book, "FAN-1", silence(), belt=belt, at=WHEN)


def test_judged_again_nothing_changes_until_it_is_taken_over(book: Store) -> None:
    _, sound = noted(book, clip(book, 1.25), belt=1)
    wrong = replace(noted(book, clip(book, 1.1, seed=7), belt=2)[1])
    record.correct(book, wrong.id, {"frequency": "9 Hz"}, reason="as an older ear had it", by="Jo", at=WHEN)
    again = judge_again(book)
    assert [each.became for each in again] == ["the same", "another note"]
    drive_id = sound.drive_id
    before = book.readings(drive_id, superseded=True)
    assert len(before) == 3
    (put_right,) = take_over(book, again, by="Ann", at=WHEN)
    assert put_right.values["frequency"] == pytest.approx(float(wrong.values["frequency"]), abs=1e-6)
    assert put_right.reason.startswith("its clip judged again: ")
    assert len(book.readings(drive_id, superseded=True)) == 4
    assert {each.became for each in judge_again(book)} == {"the same"}


def test_a_deleted_clip_leaves_its_reading_and_says_who_and_why(book: Store) -> None:
    data = clip(book, 1.25)
    noted(book, data, belt=1)
    noted(book, data, belt=3)     # the same file twice: one clip of two readings
    name = name_of(data)
    assert find_clip(book, name[:12]).name == name
    gone = delete_clip(book, name, by="Ann", why="voices in it", at=WHEN)
    assert len(gone) == 2
    assert not book.has_file(name)
    (first, second) = book.readings(gone[0].drive_id)
    assert {first.values["belt"], second.values["belt"]} == {1, 3}
    assert {each.deleted for each in clips(book)} == {"deleted by Ann: voices in it"}
    assert judge_again(book) == []
    with pytest.raises(Unknown):
        delete_clip(book, name, by="Ann", why="again", at=WHEN)
    with pytest.raises(InputError, match="say who deletes"):
        delete_clip(book, name, by="Ann", why=" ", at=WHEN)


def test_a_hand_that_corrects_a_reading_does_not_lose_its_clip(book: Store) -> None:
    data = clip(book, 1.25)
    _, reading = noted(book, data)
    record.correct(book, reading.id, {"belt": "3"}, reason="counted from the wrong side", by="Jo", at=WHEN)
    (found,) = clips(book)
    assert found.reading is not None
    assert (found.name, found.reading.values["belt"]) == (name_of(data), 3)


def test_a_joined_band_is_plucked_as_one_and_told_belt_by_belt(book: Store) -> None:
    hand_in(book, rows_from([{**SOUND, "tag": "FAN-2", "belts_joined": "yes", "belt_mass_kg_per_m": "0.2"}]), by="Ann",
            at=START)
    drive = book.drive_by_tag("FAN-2").drive
    assert drive.belts.joined
    # the whole band: three times the mass under three times the tension of one belt
    numbers = targets_for(drive)
    assert numbers.span is not None
    data = clip_of(strings.Span(numbers.span, 3 * 0.2, 3 * 240.0, 5e-4, 25.0, 0.2, 0.002))
    heard = hear_belt(book, "FAN-2", data, at=WHEN)
    assert (heard.belt, heard.answered) == (0, True)
    assert heard.plucked is not None
    assert heard.plucked.tension == pytest.approx(240.0, rel=0.05)
    assert heard.plucked.statement().text("si").startswith("each belt of the joined band pulls 2")
    with pytest.raises(InputError, match="plucked as one"):
        hear_belt(book, "FAN-2", data, belt=2, at=WHEN)


def test_a_clip_of_no_reading_is_listed_and_deleted(book: Store) -> None:
    data = silence()
    book.keep_file(name_of(data), data)
    (found,) = clips(book)
    assert (found.name, found.reading) == (name_of(data), None)
    assert clips(book, "FAN-1") == []
    assert judge_again(book) == []
    assert delete_clip(book, name_of(data), by="Ann", why="nothing in it", at=WHEN) == []
    assert clips(book) == []


def test_the_mass_learned_is_said_where_it_is_used(book: Store) -> None:
    numbers = targets_for(book.drive_by_tag("FAN-1").drive)
    assert numbers.allowance is not None
    assert numbers.mass is not None
    assert numbers.span is not None
    for visit in range(3):
        for belt in (1, 2, 3):
            when = WHEN - timedelta(days=20 - visit, minutes=-belt)
            tension = 1.1 * band(book)[0]
            note_hz = (tension / 1.14 / numbers.mass) ** 0.5 / (2 * numbers.span)
            record.note(book, "FAN-1", "force", {"belt": str(belt), "gauge": "digital force gauge", "force":
                        f"{(tension + numbers.allowance) / 16} N"}, state="as found", by="Jo", at=when)
            record.note(book, "FAN-1", "frequency", {"belt": str(belt), "frequency": f"{note_hz} Hz"},
                        state="as found", by="Jo", at=when + timedelta(seconds=30))
    heard = hear_belt(book, "FAN-1", clip(book, 1.1), belt=1, at=WHEN)
    assert heard.plucked is not None
    assert heard.plucked.learned is not None
    assert heard.plucked.targets.mass == heard.plucked.learned.mass > 1.05 * numbers.mass
    assert "learned from 9 belts of this drive" in heard.plucked.beside()[0].text("si")
