"""Each practice of the trade is a finding, a step of a job or a rule somewhere: one test each, named for it."""

from __future__ import annotations

from datetime import timedelta
from typing import get_args

import pytest

from beltwright.bench import procedure
from beltwright.bench.findings.finding import Finding
from beltwright.bench.findings.seen import LOW_TENSION, meanings
from beltwright.errors import Refused
from beltwright.mechanics import recheck, storage
from beltwright.plant.identity import new_id
from beltwright.plant.job import Event, Job, JobKind, Step
from beltwright.plant.reading import FACES, KINDS, SEEN, TURNED, Reading
from beltwright.tables import load
from beltwright.units import INCH, MINUTE
from tests.bench.drives import a_drive
from tests.bench.findings.visits import DRIVE_ID, MONDAY, a_job, found, laid, plucked, reading

SOUND = plucked(1.25, 1.25, 1.25)


def steps(kind: JobKind) -> dict[str, Step]:
    return {step.key: step for step in procedure.steps_for(kind, {})}


def words(step: Step) -> str:
    return " ".join((step.title, *step.say, step.caution, *step.confirm)).casefold()


def of(key: str, *readings: object, **more: object) -> Finding:
    return found([*SOUND, *readings], **more)[key]  # type: ignore[list-item, arg-type]


def test_low_tension_is_what_usually_is_wrong() -> None:
    assert LOW_TENSION == 0.95
    heard = found([reading("seen", "running", what="squeal at start")])["seen-squeal-at-start"]
    assert heard.sure == 0.95
    assert "95 in 100" in heard.why_sure
    assert "low tension" in found()["due-never-read"].statement.text("si")


def test_a_dished_groove_means_a_new_sheave_and_every_groove_is_gauged() -> None:
    def groove(number: int, times: float) -> Reading:
        return reading("groove", sheave="driver", groove=number, left=times * INCH / 32, right=0.0)

    def dished(times: float) -> Finding:
        return of("grooves-worn-driver", groove(2, times))
    assert dished(1.1).urgency == "mend at next stop"
    assert "Replace the driver sheave" in dished(1.1).actions("si")[0]
    assert dished(0.9).urgency == "plan"
    # when belts no longer wedge
    bottomed = reading("groove", sheave="driver", groove=1, left=0.0, right=0.0, shine=True)
    assert "no longer wedges" in of("grooves-bottomed-driver", bottomed).statement.text("si")
    # the smaller sheave wears first; every groove is to be like the others
    assert "smaller sheave" in " ".join(dished(1.1).check_too)
    assert "the smaller sheave wears first" in words(steps("inspect")["grooves"])
    assert "every groove" in words(steps("inspect")["grooves"])
    assert of("grooves-unlike-driver", groove(1, 0.0), groove(2, 1.0)).urgency == "plan"


def test_a_belt_stands_just_above_the_rim() -> None:
    def rides(height: float) -> set[str]:
        return set(found([*SOUND, reading("ride", sheave="driver", groove=1, height=height)]))
    assert rides(0.001) == {"sound"}
    deep = of("ride-low-driver", reading("ride", sheave="driver", groove=1, height=-0.003))
    assert "section" in " ".join(deep.actions("si"))
    assert "just above the rim" in words(steps("inspect")["look"])


def test_straightedge_or_string_two_points_a_rim_and_again_after_half_a_turn() -> None:
    step = words(steps("inspect")["found-alignment"])
    for part in ("straightedge or string", "two points on each rim", "half round", "too far apart", "inside faces"):
        assert part in step
    assert FACES == ("outer", "inner")
    assert "both" in TURNED
    fields = {field.name for field in KINDS["alignment"].fields}
    assert {"driver_far", "driver_near", "driven_near", "driven_far"} <= fields
    assert "half a turn" in " ".join(of("alignment-out", laid(0.02, 0.02)).check_too)


def test_aligning_again_after_every_change_of_the_centre() -> None:
    moved = reading("motor move", "in between", at=MONDAY + timedelta(hours=1), move=0.001)
    assert found([*SOUND, moved])["alignment-unread"].urgency == "mend at next stop"
    for kind in get_args(JobKind):
        for step in steps(kind).values():
            if "motor move" in step.reads and any(key.startswith("align") for key in steps(kind)):
                assert "align" in {key.partition("@")[0] for key in step.reopens}, (kind, step.key)


def test_by_eye_while_it_runs() -> None:
    watch = words(steps("inspect")["watch"])
    for part in ("tight side tight", "slack side with a slight bow", "all belts alike"):
        assert part in watch
    assert "slight bow of the slack side is right" in meanings()["slack side bows"].means
    assert found([*SOUND, reading("bow", "running", belt=1, bow=0.02)]).keys() == {"sound"}


def test_by_ear_while_it_runs() -> None:
    for word in ("squeal at start", "squeal at peak load"):
        assert "too loose" in meanings()[word].means
        assert "Tighten until it stops" in meanings()[word].do[0]
    assert "a squeal means too loose" in words(steps("inspect")["watch"])


def test_grooves_a_hand_can_rest_in_after_the_lock_out() -> None:
    feel = steps("inspect")["feel"]
    order = list(steps("inspect"))
    assert order.index("try") < order.index("feel")
    assert feel.hands_on
    assert "infrared" in words(feel)
    hot = reading("temperature", where="driver groove", temperature=70.0)
    assert "no longer wedge" in of("heat-groove-driver", hot).statement.text("si")
    cool = reading("temperature", where="driver groove", temperature=45.0)
    assert found([*SOUND, cool]).keys() == {"sound"}


def test_hot_bearings_say_too_tight_or_far_out() -> None:
    hot = of("heat-bearing-driver", reading("temperature", "running", where="driver bearing", temperature=95.0))
    assert "too tight" in hot.statement.text("si")
    assert "far out on its shaft" in hot.statement.text("si")
    assert "nearer to the bearing" in " ".join(hot.actions("si"))


def test_new_belts_run_and_are_set_again() -> None:
    run_in = recheck.recheck("run-in")
    assert (run_in.low, run_in.high) == pytest.approx((15 * MINUTE, 20 * MINUTE))
    assert recheck.recheck("day of operation").action == "set"
    job = steps("re-belt")
    order = list(job)
    assert "15 to 20 minutes" in words(job["run-in"])
    assert order.index("set-new") < order.index("run-in") < order.index("set-new@2")
    left = plucked(1.75, 1.75, 1.75, state="as left", at=MONDAY + timedelta(hours=1))
    fitted = a_job("re-belt", "belts-on", "run-in")
    assert "due-new-belts" in found(left, jobs=[fitted], now=MONDAY + timedelta(days=2))


def test_a_set_is_all_belts_at_once_matched_one_make_never_new_with_used() -> None:
    assert set(steps("re-belt")["new-set"].confirm) == {"complete set", "all new", "one make", "matched"}
    assert not steps("re-belt")["new-set"].can_skip
    mixed = [reading("belt", belt=1, make="one", age=0.0), reading("belt", belt=2, make="other", age=1e7)]
    said = found([*SOUND, *mixed])
    assert {"set-makes", "set-ages"} <= set(said)
    lengths = [reading("belt length", belt=belt, length=2.9 + belt * 0.01) for belt in (1, 2)]
    assert "one matched set" in of("set-lengths", *lengths).actions("si")[0]
    for meaning in meanings().values():
        assert not any("replace the belt." in sentence.casefold() for sentence in meaning.do)


def test_belts_are_laid_in_by_hand_and_tightened_from_one_side() -> None:
    job = steps("re-belt")
    order = list(job)
    assert order.index("slack-off") < order.index("belts-off") < order.index("belts-on") < order.index("one-side")
    assert order.index("one-side") < order.index("tighten")
    assert "never pry" in words(job["slack-off"])
    assert job["belts-on"].confirm == ("laid in by hand, nothing pried",)
    assert "both spans are snug" in words(job["tighten"])
    made = Job(new_id(), DRIVE_ID, "re-belt", tuple(job.values()), MONDAY, "Ann")
    with pytest.raises(Refused):
        procedure.check(made, [], Event(new_id(), made.id, "done", "belts-on", "Ann", MONDAY))


def test_how_to_clean_and_what_never_to_use() -> None:
    clean = words(steps("inspect")["clean"])
    for part in ("stiff brush", "soap and water", "safe solvent on a rag", "never use belt dressing"):
        assert part in clean
    assert "stiff brush" in " ".join(meanings()["caked dirt"].do)
    assert "soap and water" in " ".join(meanings()["oil or grease"].do)
    assert "Never belt dressing." in meanings()["oil or grease"].do
    assert "never belt dressing" in " ".join(meanings()["belt dressing"].do)


def test_oil_and_grease_ruin_rubber() -> None:
    assert "soften and swell" in meanings()["oil or grease"].means
    assert "soon fail" in meanings()["oil or grease"].means
    said = found([*SOUND, reading("seen", what="oil or grease"), reading("seen", what="swollen")])
    assert said["seen-swollen"].explained_by == ("seen-oil-or-grease",)


def test_long_spans_and_pulsating_load_ask_for_joined_belts() -> None:
    for word in ("whipping", "turned over", "jumped off"):
        assert word in SEEN
        assert "joined belts" in " ".join(meanings()[word].do)
    from beltwright.bench.known import complete
    from beltwright.bench.verdicts import verdicts
    from beltwright.bench.worked import work_out
    long = {verdict.key: verdict for verdict in verdicts(work_out(complete(
        a_drive(centre_in="70", belt_marking="B173"))))}
    assert "joined belts" in long["long_span"].do


def test_a_long_stop_relaxes_the_belts_and_the_return_sets_and_aligns() -> None:
    assert "relax" in steps("lay up")
    back = list(steps("bring back"))
    assert back.index("set-tension") < back.index("align") < back.index("left-tension")
    laid_up = found(jobs=[a_job("lay up", "relax")])["laid-up"]
    assert laid_up.urgency == "stop and mend"
    assert "set the tension, align" in " ".join(laid_up.actions("si"))


def test_how_belts_are_stored() -> None:
    rows = {(str(row["what"]), str(row["name"])): row for row in load("storage_limits").rows}
    assert bool(storage.cool_enough(20.0))
    assert not bool(storage.cool_enough(30.0))
    assert bool(storage.dry_enough(0.5))
    assert not bool(storage.dry_enough(0.9))
    assert "sun" in str(rows["light", "sun"]["words"])
    assert rows["stack", "height"]["high_mm"] == pytest.approx(12 * INCH, abs=0.01)
    assert "never directly on the floor" in str(rows["floor", "never"]["words"])
    assert rows["distance", "heater"]["low_mm"] == pytest.approx(1.0)
    assert "heaters" in str(rows["temperature", "upper limit"]["words"])


def test_the_guard_goes_back_clean_as_the_law_asks() -> None:
    for kind in get_args(JobKind):
        guard = steps(kind)["guard-on"]
        assert guard.gate == "return"
        assert not guard.can_skip
        assert "clean" in words(guard)
        assert "law" in words(guard)
        assert guard.source == "osha-219"
    assert meanings()["guard damaged"].urgency == "stop and mend"
