"""A plant's numbers are those of each drive alone; the tension through the years is judged by what was fitted then."""

from __future__ import annotations

from dataclasses import fields
from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.figure import say
from beltwright.bench.findings.finding import URGENCIES, Finding, graver, in_order, worst
from beltwright.bench.findings.history import tension_history
from beltwright.bench.findings.judge import TOGETHER, Record, judge, judge_many
from beltwright.bench.findings.targets import targets_for, targets_of_plant
from beltwright.bench.known import complete
from beltwright.bench.worked import spread, value, work_out
from beltwright.plant.drive import Drive
from tests.bench.drives import a_drive, demo_drives
from tests.bench.findings.visits import MONDAY, NOW, a_job, low, make_up, note_of, plucked, reading

DRIVES = (*demo_drives(), a_drive(), a_drive(centre_in=None), a_drive(belt_count="1"), a_drive(belts_joined="yes"),
          a_drive(service=None), a_drive(belt_marking=None), Drive("BARE", "nothing known"),
          # the belt cannot go round, or hardly touches the small sheave
          a_drive(centre_in="8"), a_drive(driven_datum_in="60", centre_in="36", driven_speed_rpm=None))


@settings(max_examples=30, deadline=None)
@given(some=st.lists(st.sampled_from(DRIVES), min_size=1, max_size=20))
def test_a_plants_numbers_are_those_of_each_drive_alone(some: list[Drive]) -> None:
    for drive, among in zip(some, targets_of_plant(some), strict=True):
        alone = targets_for(drive)
        for field in fields(alone):
            one, other = getattr(alone, field.name), getattr(among, field.name)
            if isinstance(one, float):
                assert other == pytest.approx(one, rel=1e-12), field.name
            elif field.name == "set_to" and one is not None:
                for each in fields(one):
                    assert getattr(other, each.name) == pytest.approx(getattr(one, each.name), rel=1e-12)
            elif field.name != "known":
                assert one == other, field.name


def test_the_numbers_are_the_cards() -> None:
    drive = a_drive()
    worked, numbers = work_out(complete(drive)), targets_for(drive)
    assert worked.set_to is not None
    assert worked.shape is not None
    assert numbers.set_to is not None
    band = worked.set_to.tensions.run_in
    assert numbers.set_to.run_in == (value(band.low), value(band.high))
    assert numbers.span_spread == spread(worked.shape.span)


def test_many_drives_are_each_as_alone_over_the_seams_of_blocks() -> None:
    records = [Record([make_up(DRIVES[number % len(DRIVES)])],
                      plucked(*(0.5 + (number * 7 % 100) / 60,) * 3)) for number in range(TOGETHER + 40)]
    judged = list(judge_many(iter(records), now=NOW))
    assert len(judged) == len(records)
    for record, (now, findings) in list(zip(records, judged, strict=True))[::37]:
        assert now is record.make_ups[-1]
        assert [(each.key, each.urgency) for each in findings] == [(each.key, each.urgency)
                                                                  for each in judge(record, now=NOW)]


# --- through the years -----------------------------------------------------------------------------------------------

def test_each_occasion_is_held_against_what_was_fitted_that_day() -> None:
    light, heavy = a_drive(motor_power_hp="7.5"), a_drive(motor_power_hp="15", belt_marking="B105", centre_in=None)
    versions = [make_up(light), make_up(heavy, since=MONDAY)]
    before = reading("frequency", at=MONDAY - timedelta(days=30), belt=1, frequency=note_of(200.0, light))
    after = reading("frequency", at=MONDAY + timedelta(days=30), belt=1, frequency=note_of(200.0, heavy))
    first, second = tension_history(Record(versions, [after, before]))
    assert [first.strands.mean, second.strands.mean] == pytest.approx([200.0, 200.0])
    assert first.band is not None
    assert second.band is not None
    assert first.band[0] == pytest.approx(low(light))
    assert second.band[0] == pytest.approx(low(heavy), rel=0.51)   # new belts or run in, of the stronger drive
    assert second.band[0] > first.band[0]
    assert (first.make_up, second.make_up) == tuple(versions)


def test_what_is_filled_in_later_is_good_for_the_readings_before() -> None:
    bare, full = a_drive(service=None), a_drive()
    versions = [make_up(bare), make_up(full, since=MONDAY + timedelta(days=1))]
    (held,) = tension_history(Record(versions, [reading("frequency", belt=1, frequency=17.0)]))
    assert held.band is not None


def test_new_belts_are_new_until_their_first_days_are_over() -> None:
    job = a_job("re-belt", "belts-on", "run-in", opened=MONDAY)
    some = [*plucked(1.2, 1.2, 1.2, at=MONDAY - timedelta(days=1)),
            *plucked(1.75, 1.75, 1.75, state="as left", at=MONDAY + timedelta(hours=1)),
            *plucked(1.25, 1.25, 1.25, at=MONDAY + timedelta(days=3))]
    assert [held.new for held in tension_history(Record([make_up(a_drive())], some, [job]))] == [False, True, False]


# --- a list of findings ----------------------------------------------------------------------------------------------

@given(st.lists(st.tuples(st.sampled_from(URGENCIES), st.floats(0, 1), st.text("ab", max_size=3)), max_size=8))
def test_the_list_begins_with_the_most_urgent(some: list[tuple[str, float, str]]) -> None:
    findings = [Finding(key, urgency, key, say("x"), sure) for urgency, sure, key in some]  # type: ignore[arg-type]
    ordered = in_order(findings)
    assert sorted(finding.key for finding in ordered) == sorted(finding.key for finding in findings)
    assert worst(ordered) == (ordered[0].urgency if ordered else "sound")
    for first, second in pairwise(ordered):
        assert graver(first.urgency, second.urgency) == first.urgency
