"""Tension as read against its band: numbers and chances worked again by other means, and what settles what."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm
from uncertainties import ufloat

from beltwright.bench.findings.finding import URGENCIES
from beltwright.bench.findings.history import tension_now
from beltwright.bench.findings.judge import Record
from beltwright.plant.drive import Drive
from beltwright.plant.reading import Reading
from tests.bench.drives import a_drive
from tests.bench.findings.visits import (
    MONDAY,
    NOW,
    found,
    low,
    make_up,
    note_of,
    plucked,
    reading,
    targets,
)

HOUR = timedelta(hours=1)
JOINED = a_drive(belts_joined="yes")


def pressed(tension: float, drive: Drive | None = None, *, times: float = 1.0 / 64, belt: int = 1) -> Reading:
    """A force reading as a string with the belt's stiffness would give it, at any deflection."""
    numbers = targets(drive)
    assert numbers.span is not None
    assert numbers.allowance is not None
    force = 4 * times * (tension + numbers.allowance * (64 * times) ** 2)
    belts = 3 if drive is JOINED else 1
    return reading("force", belt=belt, force=force * belts, deflection=times * numbers.span)


@pytest.mark.parametrize("times", [1 / 128, 1 / 64, 1 / 40])
@pytest.mark.parametrize("drive", [a_drive(), JOINED])
def test_a_force_at_any_deflection_gives_the_strand(drive: Drive, times: float) -> None:
    now = tension_now(Record([make_up(drive)], [pressed(150.0, drive, times=times)]), now=NOW)
    assert now is not None
    assert now.strands is not None
    assert now.strands.mean == pytest.approx(150.0)


def test_uncertainty_and_chance_of_a_note_by_the_guide() -> None:
    drive = a_drive()
    numbers = targets(drive)
    assert numbers.set_to is not None
    frequency = note_of(1.05 * low())
    some = [reading("frequency", belt=1, frequency=frequency, uncertainty=0.3)]
    now = tension_now(Record([make_up(drive)], some), now=NOW)
    assert now is not None
    assert now.strands is not None
    strand = 4 * ufloat(numbers.mass, numbers.mass_spread) * (
        ufloat(numbers.span, numbers.span_spread) * ufloat(frequency, 0.3)) ** 2
    assert now.strands.mean == pytest.approx(strand.n, rel=1e-9)
    assert now.strands.mean_spread == pytest.approx(strand.s, rel=1e-6)
    bottom, top = numbers.set_to.run_in
    spread = norm(strand.n, strand.s)
    assert now.chances[0].below == pytest.approx(spread.cdf(bottom), abs=1e-6)
    assert now.chances[0].inside == pytest.approx(spread.cdf(top) - spread.cdf(bottom), abs=1e-6)


def test_uncertainty_of_a_force_by_the_guide() -> None:
    numbers = targets()
    assert numbers.span is not None
    mark = numbers.span / 64
    some = [reading("force", belt=1, force=18.0, gauge="spring scale")]
    now = tension_now(Record([make_up(a_drive())], some), now=NOW)
    assert now is not None
    assert now.strands is not None
    gauge = math.hypot(2 / 12**0.5, 0.05 * 18 / 3**0.5)           # a spring scale: 2 N steps, 5 percent
    rule = math.hypot(0.001 / 12**0.5, 0.0005 / 3**0.5)           # a rule: 1 mm steps, half a millimetre
    h, t = ufloat(mark, rule), ufloat(numbers.span, numbers.span_spread)
    strand = ufloat(18.0, gauge) * t / (4 * h) - ufloat(numbers.allowance, numbers.allowance_spread) * (64 * h / t) ** 2
    assert now.strands.mean == pytest.approx(strand.n)
    assert now.strands.mean_spread == pytest.approx(strand.s, rel=1e-6)


@pytest.mark.parametrize(("shares", "key", "urgency"), [
    ((1.25, 1.25, 1.25), "sound", "sound"),
    ((0.8, 0.8, 0.8), "tension-slack", "mend at next stop"),
    ((1.2, 0.7, 1.2), "tension-slack", "mend at next stop"),
    ((0.4, 0.4, 0.4), "tension-slack", "stop and mend"),
    ((1.75, 1.75, 1.75), "tension-tight", "plan"),
    ((2.4, 2.4, 2.4), "tension-tight", "mend at next stop"),
    ((1.02, 1.25, 1.25), "tension-near", "watch"),
    ((1.1, 1.5, 1.3), "tension-uneven", "plan"),
])
def test_each_urgency(shares: tuple[float, ...], key: str, urgency: str) -> None:
    assert found(plucked(*shares))[key].urgency == urgency


def test_the_number_and_the_limit_are_in_the_finding() -> None:
    slack = found(plucked(0.8, 0.7, 0.9))["tension-slack"]
    assert slack.numbers["least"].value == pytest.approx(0.7 * low())
    assert slack.numbers["low"].value == pytest.approx(low())
    assert slack.numbers["mean"].value == pytest.approx(0.8 * low())
    assert len(slack.readings) == 3
    assert "all 3 belts" in slack.statement.text("si")
    assert "lbf" in slack.statement.text("inch")


@pytest.mark.parametrize(("hours", "key"), [(2.0, "tension-new-low"), (23.0, "tension-new-low"), (30.0, "sound")])
def test_new_belts_are_held_to_the_band_of_new_belts_until_their_first_days_are_over(hours: float, key: str) -> None:
    some = [reading("hours", hours=hours * 3600.0), *plucked(1.4, 1.4, 1.4, state="as left")]
    assert key in found(some, now=MONDAY + timedelta(minutes=5))


def test_new_belts_that_have_let_go_are_planned_for_and_those_left_too_low_are_mended() -> None:
    clock = reading("hours", hours=4 * 3600.0)
    later = MONDAY + timedelta(minutes=5)
    assert found([clock, *plucked(1.4, 1.4, 1.4)], now=later)["tension-new-low"].urgency == "plan"
    assert found([clock, *plucked(1.4, 1.4, 1.4, state="as left")], now=later)[
        "tension-new-low"].urgency == "mend at next stop"
    assert found([clock, *plucked(0.8, 0.8, 0.8)], now=later)["tension-slack"].urgency == "mend at next stop"


def test_what_was_set_right_is_no_longer_open() -> None:
    left = plucked(1.25, 1.25, 1.25, state="as left", at=MONDAY + HOUR)
    assert list(found([*plucked(0.6, 0.6, 0.6), *left])) == ["sound"]
    # and the other way round it is
    assert "tension-slack" in found([*plucked(1.25, 1.25, 1.25), *plucked(0.6, 0.6, 0.6, at=MONDAY + HOUR)])


def test_as_left_settles_as_found_of_its_job_though_the_clock_was_set_back() -> None:
    job = make_up(a_drive()).id
    left = plucked(1.25, 1.25, 1.25, state="as left", at=MONDAY - 2 * HOUR, job=job)
    assert list(found([*plucked(0.6, 0.6, 0.6, job=job), *left])) == ["sound"]


def test_belts_that_were_not_read_again_are_said() -> None:
    assert found(plucked(1.25, 1.25))["tension-some-unread"].urgency == "watch"


def test_a_move_after_the_reading_makes_it_worth_nothing() -> None:
    moved = reading("motor move", "in between", at=MONDAY + HOUR, move=0.002)
    said = found([*plucked(0.3, 0.3, 0.3), moved])
    assert said["tension-unread"].urgency == "mend at next stop"
    assert "tension-slack" not in said
    assert said["alignment-unread"].urgency == "mend at next stop"


def test_readings_of_the_belts_before_say_nothing_of_those_on_now() -> None:
    before, after = a_drive(belt_marking="B105"), a_drive(belt_marking="B112")
    versions = [make_up(before), make_up(after, since=MONDAY + HOUR)]
    assert "tension-slack" not in found(plucked(0.5, 0.5, 0.5), make_ups=versions, now=MONDAY + 2 * HOUR)
    # what is only filled in changes nothing
    versions = [make_up(a_drive(belt_make=None)), make_up(a_drive(belt_make="any"), since=MONDAY + HOUR)]
    assert "tension-slack" in found(plucked(0.5, 0.5, 0.5), make_ups=versions, now=MONDAY + 2 * HOUR)


def test_belts_apart_by_no_more_than_their_errors_are_not_called_uneven() -> None:
    coarse = [reading("force", belt=belt, force=force) for belt, force in ((1, 15.5), (2, 17.5), (3, 16.5))]
    assert "tension-uneven" not in found(coarse)


def test_a_span_that_hangs_slack_and_a_press_too_deep() -> None:
    numbers = targets()
    assert numbers.span is not None
    assert found([reading("force", belt=1, force=1.0)])["tension-slack"].urgency == "stop and mend"
    deep = reading("force", belt=1, force=40.0, deflection=numbers.span / 10)
    assert found([deep])["tension-unread"].urgency == "plan"


def test_without_set_to_numbers_the_tension_is_said_and_not_judged() -> None:
    drive = a_drive(service=None)
    said = found([reading("frequency", belt=1, frequency=17.0)], drive=drive)["tension-no-band"]
    assert said.urgency == "watch"
    assert "service factor" in said.statement.text("si")


# --- how far to move -------------------------------------------------------------------------------------------------

def adjusted(start: float, move: float, end: float, at_day: float) -> list[Reading]:
    at = MONDAY - timedelta(days=at_day)
    return [*plucked(start, start, start, at=at), reading("motor move", "in between", at=at + HOUR / 2, move=move),
            *plucked(end, end, end, state="as left", at=at + HOUR)]


def test_until_the_drive_has_taught_it_the_advice_is_a_small_step() -> None:
    do = " ".join(found(plucked(0.8, 0.8, 0.8))["tension-slack"].actions("si"))
    assert "not known for this drive yet" in do


def test_the_move_is_learned_from_the_drives_own_moves() -> None:
    # 40 percent of the low end for each millimetre, twice, read finely
    some = [*adjusted(0.8, 0.0010, 1.2, 200), *adjusted(0.9, 0.0005, 1.1, 100), *plucked(0.85, 0.85, 0.85)]
    learned = tension_now(Record([make_up(a_drive())], some), now=NOW)
    assert learned is not None
    assert learned.taught is not None
    assert learned.taught.slope == pytest.approx(0.4 * low() / 0.001, rel=0.02)
    slack = found(some)["tension-slack"]
    assert "as its own moves have shown (2 of them)" in slack.actions("si")[0]
    # from 0.85 to the middle of 1 to 1.5: 1.0 mm away
    assert slack.actions("si")[0].startswith("Move the motor 1.0 mm away from")


def test_on_a_sprung_base_nothing_is_slid() -> None:
    do = found(plucked(0.8, 0.8, 0.8, drive=a_drive(base="sprung")), drive=a_drive(base="sprung"))["tension-slack"].do
    assert "spring or weight" in str(do[0])


# --- properties ------------------------------------------------------------------------------------------------------

def grave(shares: list[float]) -> int:
    return URGENCIES.index(next(iter(found(plucked(*shares)).values())).urgency)


@settings(max_examples=60, deadline=None)
@given(shares=st.lists(st.floats(0.05, 1.2), min_size=3, max_size=3), slacker=st.floats(0.3, 1.0))
def test_slacker_is_never_milder(shares: list[float], slacker: float) -> None:
    assert grave([share * slacker for share in shares]) <= grave(shares)


@settings(max_examples=60, deadline=None)
@given(shares=st.lists(st.floats(1.3, 2.5), min_size=3, max_size=3), tighter=st.floats(1.0, 2.0))
def test_tighter_is_never_milder(shares: list[float], tighter: float) -> None:
    assert grave([share * tighter for share in shares]) <= grave(shares)


@settings(max_examples=60, deadline=None)
@given(share=st.floats(0.2, 1.24), more=st.floats(0.0, 1.0), belt=st.integers(0, 2))
def test_one_belt_slacker_is_never_milder(share: float, more: float, belt: int) -> None:
    one = [1.25, 1.25, 1.25]
    one[belt] = share
    other = list(one)
    other[belt] = share * (1 - 0.9 * more)
    assert grave(other) <= grave(one)
