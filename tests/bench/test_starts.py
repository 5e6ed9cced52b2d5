"""Starts of a drive: what has to be entered first, what comes of it at which tension, the finding and what it joins."""

from __future__ import annotations

import math
from typing import get_args

import pytest

from beltwright.bench.findings.finding import Finding
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.history import tension_now
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.targets import Targets, targets_for
from beltwright.bench.start_figures import advice, moments, shown_until, start_figures, verdict
from beltwright.bench.start_given import given, missing
from beltwright.bench.starts import Ask, Start, otherwise, start, surely_quiet, why_not
from beltwright.errors import InputError, NotKnown
from beltwright.mechanics.load_torque import load_kinds
from beltwright.mechanics.motor_feed import WAYS
from beltwright.plant.drive import Drive, Starting, StartLoad
from beltwright.plant.reading import Reading
from beltwright.units import RPM, System, to_si
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, NOW, found, laid, low, make_up, plucked, reading

START = {"motor_design": "B", "starting": "straight on the line", "start_load": "fan", "driven_inertia_kg_m2": "6"}
SQUEAL = "seen-squeal-at-start"


def a_start(tension: float | None = None, event: str = "start", times: float = 1.5, **cells: str | None) -> Start:
    drive = a_drive(**{**START, **cells})
    return start(targets_for(drive), None, Ask(event, tension, times))  # type: ignore[arg-type]


def squeals() -> Reading:
    return reading("seen", "running", what="squeal at start")


def read(drive: Drive, readings: list[Reading]) -> tuple[Targets, Tension | None]:
    return targets_for(drive), tension_now(Record([make_up(drive)], readings), now=NOW)


def judged(*readings: Reading, **cells: str | None) -> dict[str, Finding]:
    return found(readings, drive=a_drive(**{**START, **cells}))


def test_the_survey_offers_what_mechanics_can_work_out() -> None:
    assert get_args(Starting) == WAYS
    assert get_args(StartLoad) == load_kinds()


@pytest.mark.parametrize("left_out", [*START, "motor_power_hp", "motor_speed_rpm"])
def test_what_decides_is_never_guessed(left_out: str) -> None:
    drive = a_drive(**{**START, left_out: None})
    column = left_out.removesuffix("_kg_m2").removesuffix("_hp").removesuffix("_rpm")
    assert [each.column for each in missing(drive)] == [column]
    with pytest.raises(NotKnown, match="enter first"):
        start(targets_for(drive), None)
    assert "start-slips" not in found([*plucked(0.4, 0.4, 0.4), squeals()], drive=drive)


def test_a_drive_of_which_nobody_said_how_it_starts_has_no_finding_and_says_what_to_enter() -> None:
    assert "start-slips" not in found([*plucked(0.5, 0.5, 0.5), squeals()])
    words = why_not(targets_for(a_drive()))
    for asked in ("design letter", "how the motor is started", "kind of load", "inertia"):
        assert asked in words
    assert "driven sheave" in why_not(targets_for(a_drive(driven_datum_in=None, driven_speed_rpm=None,
                                                          belt_marking=None, **START)))


def test_data_sheet_and_wheel_serve_in_place_of_letter_and_inertia() -> None:
    letter = a_start(200.0)
    own = a_start(200.0, motor_design=None, locked_rotor_torque_percent="165",
                  pull_up_torque_percent="115.5", breakdown_torque_percent="200")
    assert own.least == pytest.approx(letter.least, rel=1e-9)
    facts = own.given.facts
    assert facts["locked_rotor"].how == "the motor's data sheet"
    assert letter.given.facts["locked_rotor"].trust == "memory"
    wheel = a_start(200.0, driven_inertia_kg_m2=None, wheel_diameter_mm="1000", wheel_mass_kg="37.5")
    assert wheel.given.facts["machine_inertia"].value == pytest.approx(6.0)
    assert wheel.given.facts["machine_inertia"].trust == "practice"
    assert "estimated" in wheel.given.facts["rotor_inertia"].how


def test_a_base_that_gives_is_said_to_be_none_of_this() -> None:
    assert "base that gives" in a_start(base="pivoted").given.caveat
    assert not a_start(base="slide rails").given.caveat
    assert not a_start().given.caveat


def test_full_load_torques_and_inertias_by_hand() -> None:
    """10 hp at 1750 rpm: 7457 W/183.26 rad/s = 40.69 N m; 40.69 · 11.0/7.4 datum, by pitch diameters 1.4646."""
    facts = a_start().given.facts
    assert facts["torque"].value == pytest.approx(40.69, abs=0.01)
    assert facts["load_torque"].value == pytest.approx(40.69 * 1.4646, rel=1e-3)
    made = a_start().given.train
    assert made.driven_inertia == pytest.approx(6.0 + facts["driven_sheave_inertia"].value)
    assert made.grip == pytest.approx((facts["ratio_dry"].value - 1) / (facts["ratio_dry"].value + 1))


def test_less_tension_goes_from_clean_to_squeal_and_never_back() -> None:
    order = ("starts clean", "clean in good grooves", "chirps", "squeals", "does not come up")
    outcomes = [order.index(a_start(tension).outcome) for tension in (400.0, 300.0, 240.0, 200.5, 180.0, 150.0, 60.0,
                                                                      30.0)]
    assert outcomes == sorted(outcomes)
    assert outcomes[0] == 0
    assert outcomes[-1] == 4
    assert order.index("squeals") in outcomes


def test_the_least_tension_does_not_depend_on_the_tension_it_is_asked_at() -> None:
    slack, tight = a_start(120.0), a_start(400.0)
    assert slack.least == pytest.approx(tight.least, rel=1e-9)
    assert slack.least < slack.least_poor
    assert a_start(slack.least * 1.01).slip_time == 0.0
    assert a_start(slack.least * 0.98).slip_time > 0.0
    assert slack.unaccounted < 1e-3


def test_heat_is_what_the_motor_gave_and_nobody_got() -> None:
    made = a_start(140.0)
    assert made.outcome == "squeals"
    assert made.heat * 3 == pytest.approx(made.course.heat[-1])
    assert 1.0 < made.rise < 100.0
    assert made.peak_pull == pytest.approx(2 * 3 * 140.0, rel=0.05)   # fixed centres: their sum stays
    assert verdict(made).text("si").startswith("the belts slip for")


def test_a_softer_start_asks_for_less_and_a_gentle_ramp_for_the_least() -> None:
    ways = {each.way: each for each in otherwise(*read(a_drive(**START), plucked(1.1, 1.1, 1.1)))}
    assert set(ways) == set(WAYS)
    assert ways["straight on the line"].own
    assert ways["frequency drive"].least < ways["straight on the line"].least
    assert min(ways.values(), key=lambda each: each.least).way == "frequency drive"
    assert all(each.up_at is not None and each.up_at > 1.0 for each in ways.values())


def test_a_jam_and_a_load_step() -> None:
    jam = a_start(240.0, "jam")
    assert jam.outcome == "stalls"
    assert jam.course.driven[-1] == 0.0
    assert "trips" in advice(jam)[0].text("si")
    slack = a_start(150.0, "jam")
    assert slack.outcome == "slips"
    assert slack.heat > 10 * jam.heat
    held, slipped = (a_start(tension, "load step", 1.8) for tension in (260.0, 150.0))
    assert held.outcome == "holds"
    assert slipped.outcome == "slips"
    assert a_start(600.0, "load step", 5.0).outcome == "stalls"
    with pytest.raises(InputError, match="more than 1"):
        a_start(260.0, "load step", 0.9)


@pytest.mark.parametrize("system", ["si", "inch"])
@pytest.mark.parametrize("made", [(240.0, "start"), (140.0, "start"), (30.0, "start"), (150.0, "jam"),
                                  (150.0, "load step")])
def test_every_figure_has_a_working_and_every_moment_a_number(made: tuple[float, str], system: System) -> None:
    worked = a_start(*made)
    figures = start_figures(worked)
    keys = {figure.key for figure in figures}
    assert {"start_slip", "start_peak_pull"} <= keys
    # in a jam it is better that belts slip: no tension is advised
    assert ({"start_least", "start_least_poor"} <= keys) == (worked.ask.event != "jam")
    assert any(figure.key == "start_heat" for figure in figures) == bool(worked.slips)
    for figure in figures:
        assert figure.text(system)
        assert figure.working.puts
        assert figure.working.cited()
    rows = moments(worked, shown_until(worked))
    assert all(math.isfinite(number) for row in rows for number in (
        row.time, row.driver, row.driven, row.motor, row.load, row.pull, row.slip))
    assert [row.time for row in rows] == sorted(row.time for row in rows)
    assert verdict(worked).text(system)
    assert all(line.text(system) for line in advice(worked))


def test_slack_belts_of_a_start_that_slips_explain_the_squeal_that_was_heard() -> None:
    keys = judged(*plucked(0.55, 0.55, 0.55), squeals())
    slips = keys["start-slips"]
    assert slips.urgency == "mend at next stop"
    assert slips.sure is not None
    assert slips.sure > 0.95
    assert SQUEAL in slips.explains
    assert "tension-slack" in slips.explained_by
    assert "N" in slips.statement.text("si")
    assert "lbf" in slips.statement.text("inch")
    assert len(slips.readings) == 3
    assert keys[SQUEAL].explained_by


def test_a_start_too_hard_for_belts_that_are_set_right_is_found_and_planned() -> None:
    """Twice the motor on the same belts: set right for the load it really has, too slack for the motor's pull."""
    hard = {"motor_power_hp": "30", "needed_power_kw": "7.5", "driven_inertia_kg_m2": "40"}
    drive = a_drive(**{**START, **hard})
    keys = found(plucked(1.25, 1.25, 1.25, drive=drive), drive=drive)
    slips = keys["start-slips"]
    assert slips.urgency == "plan"
    assert not slips.explained_by
    assert "softer" in " ".join(slips.actions("si"))


def test_a_perfect_drive_of_which_all_is_entered_is_sound() -> None:
    readings = [*plucked(1.4, 1.4, 1.4), laid(), laid(turned="both"), reading("seen", what="nothing wrong")]
    assert judged(*readings).keys() == {"sound"}


def test_a_tension_from_before_the_motor_was_moved_says_nothing_of_a_start() -> None:
    moved = reading("motor move", at=MONDAY.replace(hour=10), move=0.002)
    assert "start-slips" not in judged(*plucked(0.5, 0.5, 0.5), moved)


@pytest.mark.parametrize("starting", WAYS)
@pytest.mark.parametrize("start_load", load_kinds())
@pytest.mark.parametrize("inertia", ["0.05", "6", "60"])
def test_where_the_quick_answer_says_quiet_there_is_no_squeal(starting: str, start_load: str, inertia: str) -> None:
    drive = a_drive(**{**START, "starting": starting, "start_load": start_load, "driven_inertia_kg_m2": inertia,
                       "motor_inertia_kg_m2": "0.01"})
    targets = targets_for(drive)
    known = given(targets, None, 1.0)
    assert known is not None
    tension = next(share for share in range(20, 2000, 5) if surely_quiet(known, float(share)))
    quiet = start(targets, None, Ask(tension=float(tension)))
    assert quiet.outcome != "squeals"
    assert quiet.slip_time <= 0.2
    assert surely_quiet(known, 2000.0)
    assert not surely_quiet(known, 20.0)


def test_a_tension_as_read_goes_before_the_band_and_the_asked_one_before_both() -> None:
    drive = a_drive(**START)
    targets, tension = read(drive, plucked(1.2, 1.2, 1.2))
    as_read = start(targets, tension)
    assert as_read.tension == pytest.approx(1.2 * low(drive), rel=1e-6)
    assert "as read on 2026-03-02" in as_read.given.tension_from
    assert start(targets, None).given.tension_from.startswith("not read")
    assert start(targets, tension, Ask(tension=300.0)).tension == 300.0
    assert as_read.up_at is not None
    full = 1750 * RPM * as_read.given.train.driver_radius / as_read.given.train.driven_radius
    assert as_read.course.driven[-1] == pytest.approx(full, rel=1e-3)
    assert as_read.up_at < to_si(20, "s", "short time")
