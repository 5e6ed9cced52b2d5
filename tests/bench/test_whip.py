"""Whip of whole drives: windows against plain search, remedies against the drive really altered, speeds likewise."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench import whip
from beltwright.bench.findings.targets import targets_for, targets_of_plant
from beltwright.bench.known import complete
from beltwright.bench.verdicts import verdicts
from beltwright.bench.whip_chart import Found, Whip, setup_for, whip_of
from beltwright.bench.whip_figures import whip_figures
from beltwright.bench.whip_help import CENTRES, altered, helps, with_idler
from beltwright.bench.worked import work_out
from beltwright.errors import BeltwrightError, NotKnown
from beltwright.mechanics.whip import span_frequency
from beltwright.mechanics.whip_shaken import margin_limits
from beltwright.plant.drive import Drive
from beltwright.tables import sources
from beltwright.units import RPM
from tests.bench.drives import a_drive, demo_drives

NEAR, CLEAR = margin_limits()
DEMO = [drive for drive in demo_drives() if whip.whippable(targets_for(drive))]


def of(**cells: str | None) -> Whip:
    return whip_of(targets_for(a_drive(**cells)))


def is_clear(drive: Drive, tension: float, margin: float) -> bool:
    """Both spans of a drive at a static tension, by the string and the shakers written out once more."""
    targets = targets_for(drive)
    assert targets.set_to is not None
    assert targets.span is not None
    assert targets.mass is not None
    assert targets.length is not None
    known, speed = targets.known, targets.set_to.speed
    pull = known.value("power") / known.value("belts") / speed
    turns = [known.value("driver_rotation") / (60 * RPM), known.value("driven_rotation") / (60 * RPM)]
    shakers = [*turns, speed / targets.length, 2 * speed / targets.length]
    notes = [float(span_frequency(tension + lift, targets.span, targets.mass, speed)) for lift in (pull / 2, -pull / 2)]
    return all(abs(note / shaker - 1) >= margin for note in notes for shaker in shakers)


@settings(max_examples=12, deadline=None)
@given(st.sampled_from(DEMO), st.sampled_from((NEAR, CLEAR, 0.08)))
def test_the_clear_window_is_the_longest_run_of_clear_tensions(drive: Drive, margin: float) -> None:
    setup = setup_for(targets_for(drive))
    low, high = float(setup.low[0]), float(setup.high[0])
    window = whip.clear_tensions(setup, margin)
    steps = np.linspace(low, high, 801)
    good = "".join("x" if is_clear(drive, float(tension), margin) else " " for tension in steps)
    longest = max((len(run) for run in good.split()), default=0) * (steps[1] - steps[0])
    assert float(window.high[0] - window.low[0]) == pytest.approx(longest, abs=2.1 * (steps[1] - steps[0]))  # type: ignore[index]


def test_many_drives_together_are_as_each_alone() -> None:
    together = whip.setup_of([targets for targets in targets_of_plant(demo_drives()) if whip.whippable(targets)])
    window = whip.clear_tensions(together, CLEAR)
    middle = 0.5 * (together.low + together.high)
    nearest = whip.nearest(whip.margins_at(together, middle))
    assert len(together.low) == len(DEMO) > 25
    for at, drive in enumerate(DEMO):
        alone = setup_for(targets_for(drive))
        own = whip.clear_tensions(alone, CLEAR)
        assert (window.low[at], window.high[at]) == pytest.approx((own.low[0], own.high[0]))  # type: ignore[index]
        one = whip_of(targets_for(drive))
        assert one.nearest.margin == pytest.approx(float(nearest.margin[at]))


def test_a_drive_altered_by_nothing_is_the_drive() -> None:
    for drive in DEMO:
        targets = targets_for(drive)
        setup = setup_for(targets)
        same = altered(targets, setup, mass=setup.mass)
        for ours, own in zip(same, setup, strict=True):
            np.testing.assert_allclose(ours, own, rtol=1e-9)


def really(drive: Drive, key: str, said: str) -> Drive | None:
    """The drive with that remedy, put in as a survey would."""
    belts = drive.belts
    match key:
        case "joined":
            return replace(drive, belts=replace(belts, joined=True))
        case "cogged":
            return replace(drive, belts=replace(belts, section=None, marking=(belts.marking or "").replace("B", "BX")))
        case "mass":
            return replace(drive, belts=replace(belts, mass=float(said.split()[0])))
        case "shorter":
            return replace(drive, centre=float(said.split()[2]) / 1000)
    return None


@pytest.mark.parametrize("cells", [
    *({"centre_in": str(inches)} for inches in (38, 42.4, 46, 52)),
    {"motor_speed_rpm": "1450", "driven_speed_rpm": None}, {"motor_power_hp": "15"}])
def test_each_remedy_is_what_the_altered_drive_would_be_told(cells: dict[str, str | None]) -> None:
    drive = a_drive(**cells)
    targets = targets_for(drive)
    tried = 0
    for one in helps(targets, setup_for(targets), CLEAR):
        changed = None if one.window is None and one.key == "shorter" else really(drive, one.key, one.said.text("si"))
        if changed is None:
            continue
        setup = setup_for(targets_for(changed))
        window = whip.clear_tensions(setup, CLEAR)
        assert bool(whip.settable(window, setup.low)[0]) == (one.window is not None), one
        if one.window is not None:
            # what was said was rounded to the millimetre and the gram
            assert (window.low[0], window.high[0]) == pytest.approx(one.window, rel=0.01)  # type: ignore[index]
        tried += 1
    assert tried >= 2


def test_an_idler_lifts_the_slack_note_by_as_much_as_it_shortens_the_span() -> None:
    targets = targets_for(a_drive())
    setup = setup_for(targets)
    three = with_idler(setup, np.array([0.25, 0.5]))
    notes = whip.notes_at(three, np.array([240.0, 240.0]))
    plain = whip.notes_at(setup, np.array([240.0]))[0]
    assert notes[0] == pytest.approx([plain[0], 4 * plain[1], plain[1] / 0.75])
    assert notes[1] == pytest.approx([plain[0], 2 * plain[1], 2 * plain[1]])


def test_remedies_only_where_no_tension_of_the_band_is_clear() -> None:
    for drive in DEMO:
        made = whip_of(targets_for(drive))
        assert (made.window is None) == bool(made.helps)
        if made.window is not None:
            assert made.band[0] <= made.window[0] < made.window[1] <= made.band[1]
            assert is_clear(drive, sum(made.window) / 2, CLEAR)
    assert CENTRES[0] < 1.0


def test_at_each_speed_where_they_cross_the_span_swings_as_often_as_it_is_shaken() -> None:
    """Against the drive as if its plate said that speed, at the same torque and the same tension."""
    drive = a_drive(motor_lowest_speed_rpm="700", motor_highest_speed_rpm="1750", driven_speed_rpm=None)
    made = whip_of(targets_for(drive))
    assert made.speeds is not None
    assert len(made.speeds.crossings) >= 3
    assert drive.motor.speed is not None
    assert drive.motor.power is not None
    for crossing in made.speeds.crossings:
        share = crossing.speed / drive.motor.speed
        slower = replace(drive, motor=replace(drive.motor, speed=crossing.speed, power=drive.motor.power * share))
        there = whip_of(targets_for(slower), Found(made.tension, 0.0, "as set"))
        side = next(side for side in there.sides if side.name == crossing.side)
        shaker = next(shaker for shaker in there.shakers if shaker.words == crossing.words)
        assert side.note == pytest.approx(shaker.meets, rel=2e-3)
    for start, end in made.speeds.near:
        assert drive.motor.lowest_speed is not None
        assert drive.motor.highest_speed is not None
        assert drive.motor.lowest_speed <= start <= end <= drive.motor.highest_speed


def test_pushes_feed_a_span_only_where_the_torque_swings_far_enough() -> None:
    def feeding(**cells: str) -> list[str]:
        return [shaker.words for shaker in of(driven_pulses="2", **cells).shakers if shaker.feeds]
    assert feeding() == []
    assert feeding(pulsation_percent="2") == []
    assert feeding(pulsation_percent="40") == ["driven machine, 2 pushes a turn, swinging the tension"]
    made = of(driven_pulses="2", pulsation_percent="40")
    pushes = {shaker.feeds: shaker for shaker in made.shakers if shaker.key.startswith("driven pushes")}
    assert pushes[True].meets == pytest.approx(pushes[False].meets / 2)
    assert {tongue.side for tongue in made.tongues} == {"tight", "slack"}
    for tongue in made.tongues:
        assert all(low < pushes[True].meets < high for low, high in zip(tongue.low, tongue.high, strict=True))
    slack, tight = ((tongue.high[0] - tongue.low[0]) for side in ("slack", "tight") for tongue in made.tongues
                    if tongue.side == side)
    assert slack > tight   # the same swing of the pull is a larger share of the slack strand


def test_a_sheave_that_runs_out_far_swings_the_tension() -> None:
    targets = targets_for(a_drive())
    assert not any(shaker.feeds for shaker in whip_of(targets, runout=(0.0001, 0.0001)).shakers)
    found = [shaker for shaker in whip_of(targets, runout=(0.001, 0.0)).shakers if shaker.feeds]
    assert [shaker.words for shaker in found] == ["run-out of the driver sheave, swinging the tension"]
    assert found[0].meets == pytest.approx(1750 / 60 / 2)


def test_the_card_warns_only_where_no_tension_of_the_band_stays_away() -> None:
    """The page of whip says the same of such a drive, and a search through its band finds nothing either."""
    warned = []
    for drive in DEMO:
        made = whip_of(targets_for(drive))
        keys = {verdict.key for verdict in verdicts(work_out(complete(drive)))}
        if "whip" in keys:
            warned.append(drive.tag)
            assert made.passable is None
            assert made.window is None
            low, high = made.band
            assert not any(is_clear(drive, low + share * (high - low), NEAR) for share in np.linspace(0.01, 0.99, 50))
    assert warned
    assert len(warned) < len(DEMO) / 5


def test_figures_name_their_sources_and_read_in_both_systems() -> None:
    made = whip_of(targets_for(a_drive(driven_pulses="3", pulsation_percent="50", centre_in="46")),
                   Found(250.0, 5.0, "as left, 2026-03-02"))
    figures = {figure.key: figure for figure in whip_figures(made)}
    for figure in figures.values():
        assert set(figure.working.sources) <= sources().keys(), figure.key
        assert figure.text("si")
        assert figure.text("inch")
        assert figure.working.formula
    assert {"whip_tension", "whip_note_tight", "whip_note_slack", "whip_margin_slack", "shakes_belt_twice",
            "shakes_driven_pushes_feeding"} <= figures.keys()
    assert figures["whip_note_slack"].spread is not None
    assert figures["whip_note_slack"].spread > 0


def test_span_and_mass_cancel_in_the_note_of_a_tension_that_was_read_by_note() -> None:
    """Moved by hand: the tension that the same plucked note gives for another mass, the pull as it is."""
    targets = targets_for(a_drive())
    by_note = whip_of(targets, Found(250.0, 25.0, "as left", own=2.0))
    by_force = whip_of(targets, Found(250.0, 25.0, "as left"))
    assert targets.mass is not None
    assert targets.span is not None
    assert targets.set_to is not None
    for ours, other in zip(by_note.sides, by_force.sides, strict=True):
        assert ours.note == other.note
        assert ours.spread < 0.6 * other.spread
        heavier, lift = 1.01 * targets.mass, ours.strand - 250.0
        slower = span_frequency(250.0 * 1.01 + lift, targets.span, heavier, targets.set_to.speed)
        alone = replace(targets, mass_spread=0.01 * targets.mass, span_spread=0.0)
        by_mass = whip_of(alone, Found(250.0, 25.0, "as left", own=0.0))
        side = next(side for side in by_mass.sides if side.name == ours.name)
        assert side.spread == pytest.approx(abs(float(slower) - ours.note), rel=1e-6)


def test_tensions_at_which_the_slack_side_carries_nothing_are_not_clear() -> None:
    """A machine that takes more than it was reckoned for: part of the band leaves the slack side without pull."""
    for pulses in (None, 2.0):
        drive = replace(a_drive(), service_factor=0.55, driven_pulses=pulses, pulsation=0.3)
        setup = setup_for(targets_for(drive))
        assert not whip.runs(setup, setup.low)[0]
        assert whip.runs(setup, setup.high)[0]
        window = whip.clear_tensions(setup, 0.01)
        assert whip.runs(setup, np.asarray(window.low))[0]
    with pytest.raises(NotKnown, match="even at the top of its band"):
        whip_of(targets_for(replace(a_drive(), service_factor=0.2)), Found(400.0, 5.0, "as left"))


def test_a_base_that_holds_the_pull_makes_the_notes_a_guide() -> None:
    assert "sprung" in of(base="sprung").caution
    assert of(base="slide rails").caution == of().caution == ""


def test_what_is_not_known_is_said() -> None:
    with pytest.raises(NotKnown, match="FAN-1 have no note yet: needed first: the service factor"):
        of(service=None)
    with pytest.raises(NotKnown, match="at the tension read the slack side carries nothing"):
        whip_of(targets_for(a_drive()), Found(20.0, 1.0, "as found"))


@settings(max_examples=20, deadline=None)
@given(st.floats(20, 90), st.floats(3, 30), st.floats(600, 3000), st.floats(0.5, 12), st.floats(0, 150))
def test_any_drive_that_can_be_entered_is_judged_or_refused_in_words(inches: float, power: float, speed: float,
                                                                     pulses: float, swing: float) -> None:
    try:
        made = of(centre_in=f"{inches:.1f}", motor_power_hp=f"{power:.1f}", motor_speed_rpm=f"{speed:.0f}",
                  driven_speed_rpm=None, driven_pulses=f"{pulses:.2f}", pulsation_percent=f"{swing:.0f}",
                  belt_marking=None, belt_section="B")
    except BeltwrightError:
        return
    assert {side.answer for side in made.sides} <= {"near", "borderline", "clear"}
    assert all(np.isfinite(made.curves.slack))
    for side in made.sides:
        assert side.note > 0
        assert (side.answer == "clear") <= (abs(side.margin) >= CLEAR)
