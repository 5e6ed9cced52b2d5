"""Force and note of the same belts: agreement, a lasting difference learned from, a contradiction, and stiff ends."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from beltwright.bench.findings.history import tension_history, tension_now
from beltwright.bench.findings.judge import Record, judge, judge_many
from beltwright.bench.findings.strands import STRETCH, strands
from beltwright.plant.reading import Reading
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, NOW, found, low, make_up, note_of, reading, targets

WEEK = timedelta(days=7)


def force_of(tension: float) -> float:
    """Force at the mark, by hand: P = 4 T/64 + 4 Y/64 for a belt among others."""
    numbers = targets()
    assert numbers.allowance is not None
    return (tension + numbers.allowance) / 16


def both(ratio: float, visits: int = 3, belts: int = 3) -> list[Reading]:
    """Belts read both ways, by force `ratio` times as tight as by note."""
    some = []
    for visit in range(visits):
        at = MONDAY - (visits - visit) * WEEK
        for belt in range(1, belts + 1):
            tension = 1.2 * low() * (1 + 0.02 * belt)
            some += [reading("force", at=at + timedelta(minutes=belt), belt=belt, force=force_of(ratio * tension),
                             gauge="digital force gauge"),
                     reading("frequency", at=at + timedelta(minutes=belt, seconds=20), belt=belt,
                             frequency=note_of(tension), uncertainty=0.05)]
    return some


def test_force_and_note_that_agree_are_not_spoken_of() -> None:
    assert not {"note-mass-learned", "note-force-contradict"} & found(both(1.0)).keys()


def test_a_lasting_difference_is_learned_and_shown_as_learned() -> None:
    said = found(both(1.14))["note-mass-learned"]
    numbers = said.numbers
    before, mass = numbers["before"].value, numbers["mass"].value
    assert isinstance(before, float)
    assert isinstance(mass, float)
    assert before == targets().mass
    assert before * 1.03 < mass < before * 1.14
    assert "learned" in said.statement.text("si")
    assert len(said.readings) == 18


def test_notes_are_judged_with_the_mass_learned() -> None:
    # by note alone the belts read a little slack; by what force has taught they are not
    some = both(1.16)
    slack = [reading("frequency", at=MONDAY + timedelta(seconds=belt), belt=belt, frequency=note_of(0.96 * low()))
             for belt in (1, 2, 3)]
    assert "tension-slack" in found(slack)
    assert "tension-slack" not in found([*some, *slack])


def test_the_years_and_the_present_are_shown_with_the_mass_learned() -> None:
    some = [*both(1.14), reading("frequency", belt=1, frequency=30.0)]
    record = Record([make_up(a_drive())], some)
    standing = tension_now(record, now=NOW)
    assert standing is not None
    assert standing.strands is not None
    plain = strands([(targets(), [[some[-1]]])])[0][0]
    assert plain is not None
    assert standing.strands.mean > 1.05 * plain.mean
    assert tension_history(record)[-1].strands.mean == standing.strands.mean


def test_one_visit_teaches_nothing_yet() -> None:
    assert "note-mass-learned" not in found(both(1.14, visits=1))


def test_a_weighed_belt_that_force_contradicts_is_a_contradiction() -> None:
    drive = a_drive()
    weighed = replace(drive, belts=replace(drive.belts, mass=targets().mass))
    said = found(both(1.35), drive=weighed)["note-force-contradict"]
    assert said.urgency == "plan"
    assert "35% more" in said.statement.text("si")


def test_belts_taken_off_since_teach_nothing() -> None:
    old = make_up(a_drive())
    changed = replace(a_drive(), belts=replace(a_drive().belts, fitted_on=(MONDAY - timedelta(days=1)).date()))
    assert "note-mass-learned" not in found(both(1.14), make_ups=[old, make_up(
        changed, since=MONDAY - timedelta(days=1))])


def test_alone_or_among_many_it_is_the_same() -> None:
    records = [Record([make_up(a_drive())], both(ratio)) for ratio in (1.0, 1.14, 0.88)]
    assert [judge(each, now=NOW) for each in records] == [some for _, some in judge_many(records, now=NOW)]


@pytest.mark.parametrize(("stretch", "least", "most"), [("0.004", 0.91, 0.999), ("not heard", 1.0, 1.0),
                                                        ("7", 1.0, 1.0), ("nan", 1.0, 1.0)])
def test_a_stretch_heard_with_the_note_takes_its_share_off(stretch: str, least: float, most: float) -> None:
    plain = reading("frequency", belt=1, frequency=30.0)
    heard = replace(plain, extra={STRETCH: stretch})
    (before,), (after,) = strands([(targets(), [[plain]]), (targets(), [[heard]])])
    assert before is not None
    assert after is not None
    assert least * before.mean <= after.mean <= most * before.mean
    assert after.spread[0] >= 0.9 * before.spread[0]
