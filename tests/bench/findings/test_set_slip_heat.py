"""The belts as a set, slip and what it costs, heat: numbers against their limits, worked again by other means."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from uncertainties import ufloat

from beltwright.bench.findings.finding import URGENCIES, Finding
from beltwright.bench.findings.noted import Choices
from beltwright.mechanics.geometry import belt_length
from beltwright.plant.drive import Drive
from beltwright.plant.reading import Reading
from beltwright.units import HORSEPOWER, INCH, RPM, YEAR, to_si
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, found, plucked, reading, targets

SOUND = plucked(1.25, 1.25, 1.25)
MATCHING = 0.30 * INCH       # B112: belts of one set within 0.30 in


def said(*readings: Reading, drive: Drive | None = None, **more: object) -> dict[str, Finding]:
    return found([*SOUND, *readings], drive=drive, **more)  # type: ignore[arg-type]


# --- the set ---------------------------------------------------------------------------------------------------------

def measured(*lengths: float) -> list[Reading]:
    return [reading("belt length", belt=belt, length=length) for belt, length in enumerate(lengths, start=1)]


@pytest.mark.parametrize(("apart", "urgency"), [(0.5, None), (1.3, "plan"), (2.5, "mend at next stop")])
def test_lengths_against_the_published_difference(apart: float, urgency: str | None) -> None:
    odd = said(*measured(2.9, 2.9 + apart * MATCHING, 2.9)).get("set-lengths")
    assert (None if odd is None else odd.urgency) == urgency
    if odd is not None:
        assert odd.numbers["limit"].value == pytest.approx(MATCHING)
        assert odd.numbers["apart"].value == pytest.approx(apart * MATCHING)
        assert "odd: belt 2" in odd.statement.text("si")
        assert (odd.source, odd.trust) == ("mh31", "read")


def test_how_the_load_shares_out_by_a_root_of_the_whole() -> None:
    odd = said(*measured(2.900, 2.906, 2.912))["set-lengths"]
    numbers = targets()
    driver, driven = numbers.fact("driver_geometry"), numbers.fact("driven_geometry")
    assert numbers.length is not None
    assert numbers.mass is not None
    assert numbers.set_to is not None
    assert driver is not None
    assert driven is not None
    rigid = numbers.mass * (200e3 * 1000e3) ** 0.5   # the middle of what such belts are
    belts = [numbers.length * each / 2.906 for each in (2.900, 2.906, 2.912)]

    def strands(centre: float) -> list[float]:
        path = float(belt_length(driver, driven, centre))
        return [rigid * max(0.0, path / belt - 1) for belt in belts]
    total = 3 * numbers.set_to.run_in[0]
    centre = brentq(lambda at: sum(strands(at)) - total, 0.9, 1.3)
    assert odd.numbers["greatest_share"].value == pytest.approx(max(strands(centre)) * 3 / total, rel=1e-6)
    assert odd.numbers["least_share"].value == pytest.approx(min(strands(centre)) * 3 / total, abs=1e-6)


def test_a_short_belt_sunk_in_a_worn_groove_carries_less_than_in_a_sound_one() -> None:
    numbers = targets()
    deep = 0.0004 / math.sin(math.radians(19))
    driver, driven, centre = (numbers.fact(name) for name in ("driver_geometry", "driven_geometry", "centre"))
    assert driver is not None
    assert driven is not None
    assert centre is not None
    assert numbers.length is not None
    # as much shorter as its path round the worn groove is
    shorter = float(belt_length(driver, driven, centre) - belt_length(driver - 2 * deep, driven, centre))
    scale = 2.9 / numbers.length
    grooves = [reading("groove", sheave="driver", groove=belt, left=0.0004 if belt == 1 else 0.0,
                       right=0.0004 if belt == 1 else 0.0) for belt in (1, 2, 3)]
    far = measured(2.9 - shorter * scale, 2.9, 2.92)
    shared, alone = said(*grooves, *far)["set-lengths"], said(*far)["set-lengths"]
    assert float(shared.numbers["greatest_share"].value) < float(alone.numbers["greatest_share"].value)


def test_fewer_belts_than_grooves() -> None:
    drive = {"driver_grooves": "4", "driven_grooves": "4"}
    assert "set-empty-grooves" not in said(drive=a_drive(**drive))   # enough for the load: built so
    short = a_drive(**drive, motor_power_hp="30")
    some = plucked(1.25, 1.25, 1.25, drive=short)
    assert found(some, drive=short)["set-empty-grooves"].urgency == "plan"
    assert said(drive=a_drive(**drive, service=None))["set-empty-grooves"].urgency == "watch"


def test_bows_of_the_slack_side() -> None:
    # 8 s2/(3 t): 60 and 30 mm of bow on 1.08 m are 6.7 mm of length apart
    bows = [reading("bow", "running", belt=belt, bow=bow) for belt, bow in ((1, 0.030), (2, 0.060), (3, 0.030))]
    assert "set-bows" not in said(*bows)
    deeper = [reading("bow", "running", belt=belt, bow=bow) for belt, bow in ((1, 0.030), (2, 0.085), (3, 0.030))]
    odd = said(*deeper)["set-bows"]
    span = targets().span
    assert span is not None
    assert odd.numbers["apart"].value == pytest.approx(8 * (0.085**2 - 0.030**2) / (3 * span))
    hanging = [reading("bow", "running", belt=belt, bow=0.3) for belt in (1, 2)]
    assert said(*hanging)["set-bow-deep"].urgency == "mend at next stop"


def test_one_make_one_marking_one_age() -> None:
    def belt(number: int, make: str = "one", marking: str = "B112", age: float = 1e6) -> Reading:
        return reading("belt", belt=number, make=make, marking=marking, age=age)
    assert said(belt(1), belt(2), belt(3)).keys() == {"sound"}
    assert said(belt(1), belt(2, make="another"))["set-makes"].urgency == "plan"
    assert said(belt(1), belt(2, marking="B 120"))["set-markings"].urgency == "mend at next stop"
    assert said(belt(1), belt(2, age=0.0))["set-ages"].urgency == "plan"
    assert said(belt(1), belt(5))["set-count"].urgency == "watch"


def test_a_set_that_does_not_match_explains_uneven_tension() -> None:
    both = found([*plucked(1.0, 1.9, 1.3), *measured(2.9, 2.92, 2.9)])
    assert "tension-uneven" in both["set-lengths"].explains


# --- slip ------------------------------------------------------------------------------------------------------------

def speeds(lag: float, *, at: timedelta = timedelta(hours=1)) -> Reading:
    numbers = targets()
    driver, driven = numbers.fact("driver_pitch"), numbers.fact("driven_pitch")
    assert driver is not None
    assert driven is not None
    turn = 1750 * RPM
    return reading("speed", "running", at=MONDAY + at, driver_speed=turn,
                   driven_speed=turn * driver / driven * (1 - lag))


@pytest.mark.parametrize(("lag", "urgency"), [
    (0.012, None), (0.025, "watch"), (0.05, "mend at next stop"), (0.2, "stop and mend"),
])
def test_slip_against_creep(lag: float, urgency: str | None) -> None:
    slips = said(speeds(lag)).get("slip")
    assert (None if slips is None else slips.urgency) == urgency
    if slips is not None:
        assert slips.numbers["slip"].value == pytest.approx(lag)
        facts = targets().known.facts
        doubt = 0.0
        # optical tachometer: 0.1 rpm steps, 1 rpm and 0.05 percent
        for turn in (float(speeds(lag).values["driver_speed"]), float(speeds(lag).values["driven_speed"])):
            own = ((0.1 * RPM) ** 2 / 12 + (1.0 * RPM + 0.0005 * turn) ** 2 / 3) ** 0.5
            doubt += (own / turn) ** 2
        shares = 1 - (1 - lag) * ufloat(1, doubt**0.5) * (
            ufloat(1, facts["driven_pitch"].spread / facts["driven_pitch"].value)
            / ufloat(1, facts["driver_pitch"].spread / facts["driver_pitch"].value))
        assert slips.numbers["doubt"].value == pytest.approx(2 * shares.s, rel=1e-6)


def test_what_slip_costs_in_a_year() -> None:
    choices = Choices(to_si(0.20, "1/kWh", "price of energy"), "EUR")
    slips = said(speeds(0.055), choices=choices)["slip"]
    lost = 10 * HORSEPOWER * (0.055 - 0.005)     # beyond the creep that no belt is without
    assert slips.numbers["lost"].value == pytest.approx(lost)
    energy = lost * YEAR * 16 / 24
    assert slips.numbers["energy"].value == pytest.approx(energy)
    assert slips.numbers["money_a_year"].value == pytest.approx(energy / 3.6e6 * 0.20)
    assert "EUR" in slips.statement.text("si")
    assert "money_a_year" not in said(speeds(0.055))["slip"].numbers


def test_a_driven_sheave_does_not_run_ahead() -> None:
    assert said(speeds(-0.03))["slip-impossible"].urgency == "plan"


def test_slip_read_before_the_belts_were_set_is_settled() -> None:
    left = plucked(1.25, 1.25, 1.25, state="as left", at=MONDAY + timedelta(hours=2))
    assert found([speeds(0.06), *left]).keys() == {"sound"}


def test_slip_is_also_told_against_the_drive_itself() -> None:
    slips = said(speeds(0.01), speeds(0.04, at=timedelta(hours=3)))["slip"]
    assert slips.numbers["more"].value == pytest.approx(1 - 0.96 / 0.99)


def test_a_motor_that_takes_more_than_its_plate() -> None:
    def taking(times: float) -> Reading:
        return reading("power", "running", power=times * 10 * HORSEPOWER)
    assert "overload" not in said(taking(1.05))
    assert said(taking(1.2))["overload"].urgency == "plan"
    assert said(taking(1.5))["overload"].urgency == "mend at next stop"


# --- heat ------------------------------------------------------------------------------------------------------------

def at(where: str, temperature: float) -> Reading:
    return reading("temperature", "running", at=MONDAY + timedelta(hours=1), where=where, temperature=temperature)


@pytest.mark.parametrize(("temperature", "urgency"), [
    (59.0, None), (65.0, "plan"), (75.0, "mend at next stop"), (90.0, "stop and mend"),
])
def test_heat_of_belts(temperature: float, urgency: str | None) -> None:
    hot = said(at("belt", temperature)).get("heat-belt")
    assert (None if hot is None else hot.urgency) == urgency
    if hot is not None and temperature <= 85:
        assert hot.numbers["left"].value == pytest.approx(0.5 ** ((temperature - 60) / 10))


def test_life_lost_is_told_by_belt_or_by_room_never_by_both() -> None:
    room, belt = at("room", 53.0), at("belt", 70.0)
    alone = said(room)["heat-room"]
    assert alone.numbers["left"].value == pytest.approx(0.5 ** (10 / 20))
    both = said(room, belt)
    assert "left" in both["heat-belt"].numbers
    assert "left" not in both["heat-room"].numbers
    assert "heat-belt" in both["heat-room"].explains


def test_a_room_that_standard_belts_do_not_stand() -> None:
    assert said(at("room", 60.0))["heat-room"].urgency == "plan"
    assert said(at("room", -40.0))["heat-room"].urgency == "plan"
    assert said(drive=a_drive(room_c="48"))["heat-room"].urgency == "watch"


def test_hot_grooves_say_slip_and_how_much_of_it_the_slip_can_be() -> None:
    drive = a_drive(driver_width_in="2.5", driven_width_in="2.5")
    hot = said(at("driver groove", 70.0), speeds(0.05), drive=drive)["heat-groove-driver"]
    assert hot.urgency == "mend at next stop"
    assert hot.explained_by == ("slip",)
    assert 0 < hot.numbers["low"].value < hot.numbers["high"].value  # type: ignore[operator]


def test_hot_bearings_against_the_pull_of_the_belts() -> None:
    tight = found([*plucked(3.0, 3.0, 3.0), at("driven bearing", 95.0)])
    hot = tight["heat-bearing-driven"]
    assert hot.explained_by == ("tension-tight",)
    pull, asked = hot.numbers["pull"].value, hot.numbers["asked"].value
    assert float(pull) / float(asked) == pytest.approx(2.0)
    # twice the pull, an eighth of a ball bearing's life
    assert "12%" in hot.actions("si")[0]
    assert hot.numbers["bearing_load"].value == pytest.approx(float(pull) * (0.1 + 0.5) / 0.5)
    assert said(at("driven bearing", 95.0))["heat-bearing-driven"].explained_by == ()
    assert "not known" in found([at("driven bearing", 95.0)])["heat-bearing-driven"].actions("si")[0]


# --- run-out ---------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize(("swing", "urgency"), [(0.009, None), (0.016, "plan"), (0.030, "mend at next stop")])
def test_run_out_against_the_rule(swing: float, urgency: str | None) -> None:
    # inch rule: 0.010 in at the rim up to 10 in of diameter
    out = said(reading("run-out", sheave="driver", radial=swing * INCH)).get("runout-radial-driver")
    assert (None if out is None else out.urgency) == urgency
    if out is not None:
        assert out.numbers["limit"].value == pytest.approx(0.010 * INCH)


# --- never milder ----------------------------------------------------------------------------------------------------

def grave(*readings: Reading) -> int:
    return URGENCIES.index(next(iter(said(*readings).values())).urgency)


@settings(max_examples=60, deadline=None)
@given(where=st.sampled_from(("belt", "driver groove", "driven bearing", "room")), start=st.floats(20, 150),
       more=st.floats(0, 60))
def test_hotter_is_never_milder(where: str, start: float, more: float) -> None:
    assert grave(at(where, start + more)) <= grave(at(where, start))


@settings(max_examples=60, deadline=None)
@given(start=st.floats(0.0, 0.5), more=st.floats(0.0, 0.4))
def test_more_slip_is_never_milder(start: float, more: float) -> None:
    assert grave(speeds(start + more)) <= grave(speeds(start))


@settings(max_examples=60, deadline=None)
@given(start=st.floats(0.0, 0.05), more=st.floats(0.0, 0.05))
def test_belts_further_apart_are_never_milder(start: float, more: float) -> None:
    assert grave(*measured(2.9, 2.9 + start + more)) <= grave(*measured(2.9, 2.9 + start))


@settings(max_examples=60, deadline=None)
@given(start=st.floats(0.0, 0.01), more=st.floats(0.0, 0.01), way=st.sampled_from(("radial", "axial")))
def test_more_run_out_is_never_milder(start: float, more: float, way: str) -> None:
    def swings(swing: float) -> Reading:
        return reading("run-out", sheave="driven", **({"radial": swing} if way == "radial" else {"axial": swing}))  # type: ignore[arg-type]
    assert grave(swings(start + more)) <= grave(swings(start))
