"""What was seen, heard or smelt: every word has its meaning, nothing forbidden is advised, and findings are joined."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.bench.findings.finding import URGENCIES, in_order
from beltwright.bench.findings.joins import joined, joins
from beltwright.bench.findings.seen import LOW_TENSION, NOTHING, because_slack, key_of, meanings
from beltwright.bench.procedure import kinds, steps_for
from beltwright.plant.job import JobKind
from beltwright.plant.reading import SEEN, Reading, State
from beltwright.tables import sources
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, a_job, found, make_up, plucked, reading

LATER = MONDAY + timedelta(hours=1)
SOUND = plucked(1.25, 1.25, 1.25, at=MONDAY - timedelta(hours=1))
STEPS = {step.key.partition("@")[0] for kind in kinds() for step in steps_for(kind, {})}  # type: ignore[arg-type]


def seen(*words: str, state: State = "running", **more: int) -> list[Reading]:
    return [reading("seen", state, what=word, **more) for word in words]  # type: ignore[arg-type]


def test_every_word_has_its_meaning_and_no_other_has() -> None:
    assert set(meanings()) == set(SEEN) - {NOTHING}
    for meaning in meanings().values():
        assert meaning.urgency in URGENCIES[:3]
        assert meaning.of in ("belts", "grooves", "drive")
        assert meaning.do
        assert meaning.check_too
        assert meaning.source in sources()
        # what settles it are steps that there are
        assert set(meaning.settled_by) <= STEPS


@pytest.mark.parametrize("word", sorted(set(SEEN) - {NOTHING}))
def test_each_word_is_a_finding_with_what_to_do(word: str) -> None:
    said = found([*SOUND, *seen(word)])[key_of(word)]
    assert said.urgency == meanings()[word].urgency
    assert meanings()[word].means in said.statement.text("si")
    assert said.actions("si")


def test_belt_dressing_and_prying_are_never_advised() -> None:
    for meaning in meanings().values():
        for sentence in meaning.do:
            words = sentence.casefold()
            assert "dressing" not in words or "never" in words or meaning.word == "belt dressing"
            assert "pry" not in words
            # a solvent belongs on a rag in a groove
            assert "solvent" not in words or "groove" in words or "never a solvent" in words


def test_nothing_wrong_closes_what_was_seen_before_it() -> None:
    well = reading("seen", "running", at=LATER, what=NOTHING)
    assert found([*SOUND, *seen("whipping", "squeal at start"), well]).keys() == {"sound"}
    again = reading("seen", "running", at=LATER + timedelta(hours=1), what="whipping")
    assert "seen-whipping" in found([*SOUND, *seen("whipping"), well, again])
    # as found cracked, as left nothing wrong, noted in one moment
    assert found([*SOUND, *seen("cracked", state="as found"), *seen(NOTHING, state="as left")]).keys() == {"sound"}


@pytest.mark.parametrize(("word", "kind", "step"), [
    ("oil or grease", "inspect", "clean"), ("guard damaged", "inspect", "guard-on"),
    ("hold-down bolts loose", "inspect", "left-bolts"), ("squeal at start", "re-tension", "set-tension"),
    ("cracked", "re-belt", "belts-on"), ("belt dressing", "re-belt", "clean-grooves"),
    ("foreign matter in groove", "re-belt", "clean-grooves"),
])
def test_the_step_that_mends_it_settles_it(word: str, kind: JobKind, step: str) -> None:
    job = a_job(kind, step, opened=LATER)
    assert key_of(word) in found([*SOUND, *seen(word)])
    assert key_of(word) not in found([*SOUND, *seen(word)], jobs=[job])
    # a step done before it was seen does not
    before = a_job(kind, step, opened=MONDAY - timedelta(days=1))
    if step != "belts-on":
        assert key_of(word) in found([*SOUND, *seen(word)], jobs=[before])


def test_a_tension_left_inside_its_band_settles_a_squeal_and_not_a_crack() -> None:
    left = plucked(1.25, 1.25, 1.25, state="as left", at=LATER)
    after = found([*seen("squeal at start", "cracked"), *left])
    assert "seen-squeal-at-start" not in after
    assert "seen-cracked" in after
    still_slack = plucked(0.7, 0.7, 0.7, state="as left", at=LATER)
    assert "seen-squeal-at-start" in found([*seen("squeal at start"), *still_slack])


def test_marks_of_belts_go_with_the_belts() -> None:
    versions = [make_up(a_drive(belt_marking="B105")), make_up(a_drive(), since=LATER)]
    said = found(seen("cracked", "guard damaged"), make_ups=versions)
    assert "seen-cracked" not in said
    assert "seen-guard-damaged" in said


def test_half_the_belts_missing_stops_the_drive() -> None:
    assert found([*SOUND, *seen("missing belt")])["seen-missing-belt"].urgency == "mend at next stop"
    two = [*seen("missing belt", belt=1), *seen("missing belt", belt=2)]
    assert found([*SOUND, *two])["seen-missing-belt"].urgency == "stop and mend"


# --- base rates ------------------------------------------------------------------------------------------------------

def test_a_squeal_without_a_reading_is_low_tension_as_often_as_the_trade_says() -> None:
    said = found(seen("squeal at start"))["seen-squeal-at-start"]
    assert said.sure == LOW_TENSION
    assert "no tension was read" in said.why_sure
    assert "no source" in said.why_sure


@given(st.floats(0.0, 1.0))
def test_the_reading_and_the_base_rate_by_bayes(slack: float) -> None:
    prior = LOW_TENSION
    expected = prior * slack / (prior * slack + (1 - prior) * (1 - slack))
    assert because_slack(slack)[0] == pytest.approx(expected, abs=1e-9)


def test_a_squeal_at_the_right_tension_has_another_cause() -> None:
    said = found([*SOUND, *seen("squeal at start")])["seen-squeal-at-start"]
    assert said.sure is not None
    assert said.sure < 0.05
    assert "another cause" in said.actions("si")[0]


def test_a_squeal_speaks_for_slack_belts_that_read_doubtful() -> None:
    doubtful = plucked(0.98, 0.98, 0.98)
    alone, heard = found(doubtful)["tension-slack"], found([*doubtful, *seen("squeal at start")])["tension-slack"]
    assert alone.sure is not None
    assert heard.sure is not None
    assert alone.sure < 0.8 < heard.sure
    assert "base rate" in heard.why_sure
    assert heard.explains == ("seen-squeal-at-start",)


# --- joined ----------------------------------------------------------------------------------------------------------

def test_slack_belts_explain_squeal_heat_and_slip() -> None:
    hot = reading("temperature", "running", at=LATER, where="driver groove", temperature=70.0)
    lag = reading("speed", "running", at=LATER, driver_speed=183.26, driven_speed=118.0)
    said = found([*plucked(0.6, 0.6, 0.6), hot, lag, *seen("squeal at peak load")])
    assert {"slip", "heat-groove-driver", "seen-squeal-at-peak-load"} <= set(said["tension-slack"].explains)
    assert said["slip"].explained_by == ("tension-slack",)
    assert next(iter(said)) == "tension-slack"


def test_misalignment_explains_frayed_edges_and_flanks_worn_on_one_side() -> None:
    worn = [reading("groove", sheave="driver", groove=number, left=0.0007, right=0.0001) for number in (1, 2)]
    out = reading("alignment", face="outer", turned="neither", driver_far=0.02, driver_near=0.02, driven_near=0.0,
                  driven_far=0.0)
    said = found([*SOUND, out, *worn, *seen("frayed", state="as found")])
    assert {"seen-frayed", "grooves-one-sided-driver"} <= set(said["alignment-out"].explains)


def test_every_pattern_of_the_joins_can_match_something() -> None:
    known = {key_of(word) for word in SEEN} | {
        "laid-up", "tension-slack", "tension-new-low", "tension-tight", "tension-near", "tension-uneven",
        "tension-unread", "tension-running-down", "alignment-out", "alignment-contradiction", "slip", "overload",
        "heat-belt", "heat-room", "set-lengths", "set-bows", "set-bow-deep", "due-new-belts",
        "whip-near", "start-slips"} | {
        f"{topic}-{which}" for which in ("driver", "driven") for topic in (
            "sheave-crooked", "runout-radial", "grooves-worn", "grooves-bottomed", "grooves-unlike",
            "grooves-one-sided", "ride-low", "heat-groove", "heat-bearing")}
    for cause, effects in joins():
        for pattern in (cause, *effects):
            plain = pattern.replace("{which}", "driver").rstrip("*")
            assert any(key.startswith(plain) for key in known), pattern


def test_no_two_findings_explain_each_other() -> None:
    words = [word for word in SEEN if word != NOTHING]
    everything = joined(list(found([*plucked(0.6, 0.6, 0.6), *seen(*words)]).values()))
    explains = {finding.key: set(finding.explains) for finding in everything}
    for key, effects in explains.items():
        for effect in effects:
            assert key not in explains[effect]
    ordered = in_order(everything)
    assert all(URGENCIES.index(first.urgency) <= URGENCIES.index(second.urgency) for first, second in pairwise(ordered))
