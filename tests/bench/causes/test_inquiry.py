"""One drive's inquiry: what its record says of each sign, base rates of plant and drive, what cures are worth."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.causes.cures import Prices
from beltwright.bench.causes.evidence import Evidence
from beltwright.bench.causes.inquiry import Inquiry, inquire
from beltwright.bench.causes.rates import PLANT_WEIGHT, TRADE_WEIGHT, Counts, counted, together
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.noted import Choices
from beltwright.plant.drive import Drive
from beltwright.plant.reading import Reading
from beltwright.units import HOUR, INCH, RPM
from tests.bench.drives import a_drive, demo_drives
from tests.bench.findings.visits import MONDAY, NOW, a_job, any_reading, found, laid, make_up, plucked, reading

DAY = timedelta(days=1)


def ask(*readings: Reading | list[Reading], plant: Counts | None = None, **more: Any) -> Inquiry:
    flat = [each for some in readings for each in (some if isinstance(some, list) else [some])]
    jobs, cells = more.pop("jobs", ()), more.pop("cells", {})
    return inquire(Record([make_up(a_drive(**cells))], flat, jobs), now=NOW, plant=plant, **more)


def evidence(*readings: Reading | list[Reading], **more: Any) -> dict[str, Evidence]:
    return {each.sign: each for each in ask(*readings, **more).evidence}


def answered(sign: str, answer: str, *, hours: float = 0.0) -> Reading:
    return reading("answer", at=MONDAY + timedelta(hours=hours), sign=sign, answer=answer)


def decided(cause: str, verdict: str, *, hours: float = 0.0) -> Reading:
    at = MONDAY + timedelta(hours=hours)
    return reading("cause", at=at, verdict=verdict, cause=cause) if cause else reading("cause", at=at, verdict=verdict)


def failures(cause: str, *days: int) -> list[Reading]:
    """Belts that failed so many days ago, each time put down to the same."""
    return [reading("belts failed", at=MONDAY - ago * DAY, count=1, cause=cause) for ago in days]


# --- evidence --------------------------------------------------------------------------------------------------------

def test_a_tension_reading_enters_with_the_chance_that_it_is_low() -> None:
    slack = evidence(plucked(0.6, 0.6, 0.6))["tension read low"]
    assert slack.present > 0.95
    assert slack.present + slack.absent == pytest.approx(1.0)
    assert "below with chance" in slack.words.text("si")
    assert len(slack.readings) == 3
    near = evidence(plucked(1.02, 1.02, 1.02))["tension read low"]
    assert 0.1 < near.present < 0.6
    right = evidence(plucked(1.25, 1.25, 1.25))
    assert right["tension read low"].present < 0.05
    assert right["tension read high"].present < 0.05
    assert evidence(plucked(2.2, 2.2, 2.2))["tension read high"].present > 0.95


def test_the_chance_is_that_of_the_finding() -> None:
    readings = plucked(0.8, 0.8, 0.8)
    slack = found(readings)["tension-slack"]
    assert evidence(readings)["tension read low"].present == pytest.approx(slack.sure, rel=0.02)


def test_as_found_counts_also_once_it_was_set() -> None:
    """What ate the belts is how it ran, not how it was left."""
    left = plucked(1.25, 1.25, 1.25, state="as left", at=MONDAY + timedelta(hours=2))
    assert evidence(plucked(0.6, 0.6, 0.6), left)["tension read low"].present > 0.95
    assert evidence(left)["tension read low"].present < 0.05


def test_findings_enter_by_themselves_as_surely_as_they_are() -> None:
    crooked = laid(0.02, 0.02)
    out = evidence(crooked)["out of line as read"]
    assert out.present == pytest.approx(found([crooked])["alignment-out"].sure)
    assert out.origin == "as read"
    worn = reading("groove", sheave="driver", groove=2, left=1.2 * INCH / 32, right=0.0)
    assert evidence(worn)["grooves dished as read"].there


def test_what_was_read_and_is_in_order_speaks_against() -> None:
    noted = evidence(laid(), reading("temperature", "running", where="belt", temperature=40.0),
                     reading("groove", sheave="driver", groove=1, left=0.0, right=0.0))
    for sign in ("out of line as read", "belt hot as read", "grooves dished as read"):
        assert (noted[sign].present, noted[sign].absent) == (0.0, 1.0), sign
    # one groove does not tell that grooves are alike, nor a belt's heat that of a bearing
    assert not {"grooves unlike as read", "sheave face reads crooked", "bearing hot as read"} & noted.keys()
    # the motor was moved since: the line says nothing any more
    moved = reading("motor move", "in between", at=MONDAY + timedelta(hours=1), move=0.001)
    assert "out of line as read" not in evidence(laid(), moved)


def test_what_was_never_read_says_nothing() -> None:
    assert {each.origin for each in ask().evidence} <= {"by the card"}


def test_the_card_speaks_of_how_the_drive_is_built() -> None:
    sound = evidence()
    assert not sound["fewer belts than the load asks"].there
    assert not sound["sheave below the smallest"].there
    short = evidence(cells={"motor_power_hp": "40", "belt_count": "2"})
    assert short["fewer belts than the load asks"].there
    assert "needed" in short["fewer belts than the load asks"].words.text("si")


def test_words_seen_are_signs_there() -> None:
    assert evidence(reading("seen", "running", what="squeal at start"))["squeal at start"].sure
    assert "squeal at start" not in evidence(reading("seen", "running", what="nothing wrong"))


def test_the_last_answer_counts_and_one_that_could_not_be_told_says_nothing() -> None:
    first, second = answered("slaps", "present"), answered("slaps", "absent", hours=1)
    assert evidence(first)["slaps"].there
    assert not evidence(first, second)["slaps"].there
    gone = ask(first, second, answered("slaps", "could not tell", hours=2))
    assert "slaps" not in {each.sign for each in gone.evidence}
    assert gone.check is not None
    assert "slaps" not in {check.sign.name for check in (gone.check, *gone.others)}


def test_a_reading_goes_before_an_answer_where_the_bench_can_read_it() -> None:
    said = answered("tension read low", "absent", hours=1)
    assert not evidence(said)["tension read low"].there
    assert evidence(plucked(0.6, 0.6, 0.6), said)["tension read low"].there


def test_belts_that_failed_tell_how_they_look_and_how_long_they_ran() -> None:
    soon = evidence(reading("belts failed", count=2, hours=500 * HOUR, look="turned over",
                            look_too="cord out at one edge"))
    assert {"turned over", "cord out at one edge", "failed within weeks"} <= soon.keys()
    assert soon["failed within weeks"].there
    late = evidence(reading("belts failed", count=2, hours=9000 * HOUR))
    assert not late["failed within weeks"].there
    assert "failed within weeks" not in evidence(reading("belts failed", count=2, hours=2000 * HOUR))


# --- the inquiry -----------------------------------------------------------------------------------------------------

def test_a_squeal_a_slack_reading_and_the_cause_leads() -> None:
    stands = ask(plucked(0.6, 0.6, 0.6), answered("squeal at start", "present"))
    first = stands.causes[0]
    assert first.cause.name == "tension too low"
    assert first.chance > 0.99
    assert first.signs_for[0].evidence.sign == "tension read low"
    assert not stands.proofs_due


def test_a_confirmed_cause_owes_its_proof_until_it_is_cured() -> None:
    answer, confirmed = answered("flanks worn on one side", "present"), decided("sheaves offset", "confirmed", hours=1)
    stands = ask(answer, confirmed)
    assert [(each.cause, each.verdict) for each in stands.decided] == [("sheaves offset", "confirmed")]
    assert stands.causes[0].cause.name == "sheaves offset"
    due, = stands.proofs_due
    assert due.reading == "alignment"
    assert "four points" in due.proof
    after = ask(answer, confirmed, decided("sheaves offset", "cured", hours=2))
    assert after.since == MONDAY + timedelta(hours=2)
    assert not after.proofs_due
    assert "flanks worn on one side" not in {each.sign for each in after.evidence}


def test_a_cause_ruled_out_is_out_until_somebody_finds_it_after_all() -> None:
    out = decided("tension too low", "ruled out")
    assert ask(out).causes[-1].cause.name == "tension too low"
    again = ask(out, decided("tension too low", "confirmed", hours=1))
    assert [each.verdict for each in again.decided] == ["confirmed"]


def test_answers_of_belts_long_gone_say_nothing() -> None:
    old = reading("answer", at=MONDAY - 300 * DAY, sign="slaps", answer="present")
    changes = [a_job("re-belt", "belts-on", opened=MONDAY - days * DAY) for days in (200, 100)]
    assert "slaps" in evidence(old, jobs=changes[:1])
    assert "slaps" not in evidence(old, jobs=changes)


# --- base rates ------------------------------------------------------------------------------------------------------

def test_cases_are_counted_once_each() -> None:
    two_causes = [decided("grooves worn", "confirmed"), decided("sheaves offset", "confirmed", hours=1),
                  decided("grooves worn", "cured", hours=2)]
    nothing_found = [decided("dust or dirt", "confirmed", hours=3), decided("dust or dirt", "ruled out", hours=4),
                     decided("", "closed", hours=5)]
    put_down_to = [reading("belts failed", at=MONDAY + timedelta(hours=hours), count=1, cause=cause)
                   for hours, cause in ((6, "grooves worn"), (7, "oil or grease"))]   # the last is still open
    history = [*two_causes, *nothing_found, *put_down_to]
    assert counted(history) == Counts(2, {"grooves worn": 2, "sheaves offset": 1})
    assert together([Counts(2, {"a": 1}), Counts(1, {"a": 1, "b": 1})]) == Counts(3, {"a": 2, "b": 1})


def test_base_rates_of_trade_plant_and_drive_are_kept_apart() -> None:
    history = failures("grooves worn", 90, 60, 30, 1)
    rate = next(each.rate for each in ask(history, plant=Counts(20, {"grooves worn": 10})).causes
                if each.cause.name == "grooves worn")
    assert rate.trade == 0.09
    assert rate.plant == pytest.approx((TRADE_WEIGHT * 0.09 + 10) / (TRADE_WEIGHT + 20))
    assert rate.drive == pytest.approx((PLANT_WEIGHT * rate.plant + 3) / (PLANT_WEIGHT + 3))
    assert (rate.plant_seen, rate.drive_seen) == ((10, 20), (3, 3))
    assert rate.trade < rate.plant < rate.drive
    others = next(each.rate for each in ask(history).causes if each.cause.name == "tension too low")
    assert others.drive < others.trade


def test_a_history_of_one_cause_makes_it_likelier_next_time() -> None:
    history = failures("sheaves offset", 9, 6, 3, 1)

    def chance(*readings: Any) -> float:
        return next(each.chance for each in ask(*readings).causes if each.cause.name == "sheaves offset")
    assert chance(history) > 3 * chance()


# --- what a cure is worth --------------------------------------------------------------------------------------------

def worth(cause: str, *readings: Any, **more: Any) -> tuple[list[str], list[str]]:
    each = next(each.worth for each in ask(*readings, **more).causes if each.cause.name == cause)
    return [line.text("si") for line in each.costs], [line.text("si") for line in each.saves]


def test_a_cure_costs_hours_and_belts_and_money_where_prices_are_known() -> None:
    costs, saves = worth("grooves worn")
    assert costs == ["about 3.0 hours of work, lock-out with it", "3 belts, as one matched set",
                     "a sheave, its price not on record"]
    assert saves == []
    priced, _ = worth("grooves worn", prices=Prices(60.0 / HOUR, 25.0, "EUR"))
    assert priced[:2] == ["about 3.0 hours of work, lock-out with it: 180 EUR", "3 belts, as one matched set: 75 EUR"]
    assert worth("tension too low")[0] == ["about 0.8 hours of work, lock-out with it"]


def test_a_cure_saves_what_slip_wastes_and_belts_that_were_lost() -> None:
    slow = reading("speed", "running", driver_speed=1750 * RPM, driven_speed=1120 * RPM)
    choices = Choices(energy_price=0.2 / 3.6e6, currency="EUR")
    _, saves = worth("tension too low", slow, choices=choices)
    energy = found([slow], choices=choices)["slip"].numbers
    assert len(saves) == 1
    assert saves[0].startswith(f"{energy['energy'].text('si')} a year that slip wastes")
    assert saves[0].endswith(f"{energy['money_a_year'].value:.0f} EUR")
    # a cause that brings no slip cannot claim it
    assert worth("guard rubs", slow, choices=choices)[1] == []
    lost = [reading("belts failed", at=MONDAY - days * DAY, count=3) for days in (300, 200, 100)]
    _, saves = worth("guard rubs", lost, prices=Prices(belt=25.0, currency="EUR"))
    assert saves == ["up to 8.2 belts a year, as many as were lost on record: 205 EUR"]
    # one belt lost tells no rate
    assert worth("guard rubs", failures("guard rubs", 300))[1] == []


DRIVES = (a_drive(), a_drive(belts_joined="yes"), a_drive(belt_count="1"), a_drive(centre_in=None),
          Drive("BARE", "a drive of which nothing is known"), *demo_drives())


@settings(deadline=None, max_examples=150)
@given(st.sampled_from(DRIVES), st.lists(any_reading(), max_size=14))
def test_any_readings_at_all_make_an_inquiry(drive: Drive, readings: list[Reading]) -> None:
    stands = inquire(Record([make_up(drive)], readings), now=NOW)
    assert all(0.0 <= each.chance <= 1.0 for each in stands.causes)
    assert [each.chance for each in stands.causes] == sorted((each.chance for each in stands.causes), reverse=True)
    assert (stands.check is None) == bool(stands.stop)
    answered = {each.sign for each in stands.evidence}
    assert not answered & {sign.name for sign in stands.questions}
    for each in stands.causes:
        for line in (*each.worth.costs, *each.worth.saves):
            line.text("si"), line.text("inch")
    for said in stands.evidence:
        assert said.words.text("inch")


@settings(deadline=None, max_examples=30)
@given(st.lists(any_reading(), max_size=10), st.randoms(use_true_random=False))
def test_the_order_in_which_readings_were_handed_in_changes_nothing(readings: list[Reading], chance: Any) -> None:
    shuffled = chance.sample(readings, len(readings))
    first, second = (inquire(Record([make_up(a_drive())], some), now=NOW) for some in (readings, shuffled))
    assert [(each.sign, each.present, each.readings) for each in first.evidence] == [
        (each.sign, each.present, each.readings) for each in second.evidence]
    assert [each.chance for each in first.causes] == pytest.approx([each.chance for each in second.causes])
