"""Alignment findings on drives that are rigid bodies: what is said is so, and what is advised puts it right."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.figure import Said
from beltwright.bench.findings.aligned import limit
from beltwright.bench.findings.finding import URGENCIES, Finding
from beltwright.mechanics.alignment import Level, Line
from beltwright.plant.drive import Drive as Record
from beltwright.plant.reading import Reading
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, found, laid, plucked, reading, targets
from tests.mechanics.sheave_bodies import Drive, Sheave

FEET = {"foot_spread_mm": "200", "foot_width_mm": "250", "foot_reach_mm": "180"}
WITH_FEET = a_drive(**FEET)
RIM = 0.02
FINE = 2e-5
SOUND = plucked(1.25, 1.25, 1.25)


def body(offset: float = 0.0, angle: float = 0.0, twist: float = 0.0, wobble: float = 0.0) -> Drive:
    """The sound drive of the tests, its driver out of place."""
    numbers = targets()
    driver, driven, centre = numbers.fact("driver_outside"), numbers.fact("driven_outside"), numbers.centre
    assert driver is not None
    assert driven is not None
    assert centre is not None
    return Drive(Sheave(driver, (0.0, 0.0, offset), (angle, twist), (wobble, 0.0), RIM, RIM),
                 Sheave(driven, (centre, 0.0, 0.0), (0.0, 0.0), (0.0, 0.0), RIM, RIM))


def rims(face: str) -> list[Reading]:
    return [reading("rim", sheave=which, face=face, thickness=RIM, resolution=FINE) for which in ("driver", "driven")]


def read(drive: Drive, *, half_turn: bool = True, level: bool = False) -> list[Reading]:
    """Straightedge on the outer faces, again after half a turn, rims, and a level where wanted."""
    some = rims("outer")
    stands = [("neither", 0.0), ("both", math.pi)] if half_turn else [("neither", 0.0)]
    for turned, turn in stands:
        gaps = drive.gaps(Line(1.0, turn, turn), 0.0)
        far, near, other_near, other_far = (round(float(gap), 7) for gap in gaps)
        some.append(reading("alignment", face="outer", turned=turned, driver_far=far, driver_near=near,
                            driven_near=other_near, driven_far=other_far, resolution=FINE))
        if level:
            tilts = drive.tilts(Level(turn, turn))
            some.append(reading("tilt", turned=turned, driver_tilt=float(tilts[0]), driven_tilt=float(tilts[1]),
                                resolution=1e-5))
    return some


def out(drive: Drive, record: Record | None = None, **how: bool) -> Finding:
    return found([*SOUND, *read(drive, **how)], drive=record)["alignment-out"]


@settings(max_examples=25, deadline=None)
@given(offset=st.floats(-0.02, 0.02), angle=st.floats(-0.02, 0.02))
def test_offset_and_angle_are_those_of_the_bodies(offset: float, angle: float) -> None:
    said = found([*SOUND, *read(body(offset, angle))]).get("alignment-out")
    if said is None:
        assert abs(offset) < 0.01
        assert abs(angle) < 0.01
        return
    assert said.numbers["offset"].value == pytest.approx(abs(offset), abs=2e-5)
    assert said.numbers["plane"].value == pytest.approx(abs(angle), abs=1e-4)


def test_both_limits_stand_beside_the_number() -> None:
    said = out(body(offset=0.008))
    assert said.urgency == "plan"
    assert said.numbers["limit"].value == pytest.approx(math.radians(0.5))
    assert said.numbers["target"].value == pytest.approx(math.atan(1 / 192))
    assert "0.50°" in said.statement.text("si")
    assert "0.30°" in said.statement.text("si")
    assert said.numbers["limit_offset"].value == pytest.approx(targets().centre * math.tan(math.radians(0.5)))  # type: ignore[operator]


@pytest.mark.parametrize(("offset", "urgency"), [(0.0005, None), (0.008, "plan"), (0.02, "mend at next stop")])
def test_urgency_by_the_limits(offset: float, urgency: str | None) -> None:
    said = found([*SOUND, *read(body(offset))]).get("alignment-out")
    assert (None if said is None else said.urgency) == urgency


def moves(sentences: tuple[Said | str, ...]) -> dict[str, tuple[float, str]]:
    """Lengths and ways out of the sentences, by name."""
    puts: dict[str, tuple[float, str]] = {}
    for sentence in sentences:
        if isinstance(sentence, Said):
            for name, put in sentence.puts.items():
                if not isinstance(put.value, str):
                    way = sentence.puts.get(f"{name}_way") or sentence.puts.get("way") or sentence.puts.get("feet")
                    puts[f"{name}-{way.value}" if way is not None and name == "height" else name] = (
                        put.value, "" if way is None else str(way.value))
    return puts


@settings(max_examples=25, deadline=None)
@given(offset=st.floats(-0.02, 0.02), angle=st.floats(-0.02, 0.02))
def test_sliding_and_turning_as_advised_puts_the_sheaves_in_line(offset: float, angle: float) -> None:
    bent = body(offset, angle)
    said = found([*SOUND, *read(bent)]).get("alignment-out")
    if said is None:
        return
    by = moves(said.do)
    slid, way = by.get("offset", (0.0, ""))
    # outward is away from the motor: positive z
    offset += slid * (-1 if way == "towards the motor" else 1)
    gap, way = by.get("gap", (0.0, ""))
    # the rim next to the driven sheave is at +x
    angle += gap / bent.driver.diameter * (-1 if way == "towards the motor" else 1)
    assert offset == pytest.approx(0.0, abs=5e-5)
    assert angle == pytest.approx(0.0, abs=3e-4)
    assert found([*SOUND, *read(body(offset, angle))]).keys() == {"sound"}


@settings(max_examples=25, deadline=None)
@given(angle=st.floats(0.006, 0.02), sign=st.sampled_from((-1, 1)), twist=st.floats(-0.01, 0.01))
def test_feet_and_shims_as_advised_turn_the_motor_square_and_keep_the_centre(angle: float, sign: int,
                                                                             twist: float) -> None:
    angle *= sign
    said = out(body(0.0, angle, twist), WITH_FEET, level=True)
    by = moves(said.do)
    reach, spread = 0.180, 0.200
    front, back = ((value if way == "towards" else -value) for value, way in (by["front"], by["back"]))
    # seen from above: the shaft through front and back feet; its sheave, `reach` before the front feet, stays
    assert (back - front) / spread == pytest.approx(-angle, abs=2e-4)
    assert front - reach * (back - front) / spread == pytest.approx(0.0, abs=5e-5)
    # seen from the side
    raised = by.get("height-back", (0.0, ""))[0] - by.get("height-front", (0.0, ""))[0]
    assert raised == pytest.approx(-twist * spread, abs=1e-4)


def test_a_crooked_sheave_is_told_from_a_crooked_shaft_by_the_half_turn() -> None:
    crooked, bent = body(wobble=0.02), body(angle=0.02)
    assert "sheave-crooked-driver" in found([*SOUND, *read(crooked)])
    assert "alignment-out" not in found([*SOUND, *read(crooked)])
    assert "sheave-crooked-driver" not in found([*SOUND, *read(bent)])
    # on one stand both look alike, and the reader is told to turn
    one_stand = out(crooked, half_turn=False)
    assert "half a turn" in one_stand.check_too[0]


def test_contradicting_readings_are_to_be_read_again() -> None:
    readings = read(body())
    last = readings[-1]
    readings[-1] = replace(last, values={**last.values, "driver_far": 0.006})
    more = [*rims("inner"), laid(face="inner"), laid(face="inner", turned="both")]
    said = found([*SOUND, *readings, *more])
    assert said["alignment-contradiction"].urgency == "plan"
    assert said["alignment-out"].sure is None
    assert said["alignment-out"].sure_words == "not sure"


def test_every_change_of_the_centre_asks_for_alignment_again() -> None:
    moved = reading("motor move", "in between", at=MONDAY + timedelta(hours=1), move=0.001)
    left = plucked(1.25, 1.25, 1.25, state="as left", at=MONDAY + timedelta(hours=2))
    assert found([*read(body()), moved, *left])["alignment-unread"].urgency == "mend at next stop"
    again = [replace(each, taken_at=MONDAY + timedelta(hours=2)) for each in read(body())]
    assert found([*read(body(0.02)), moved, *left, *again]).keys() == {"sound"}


def test_sheaves_that_are_not_on_record_and_tilt_alone() -> None:
    assert "enter them" in found([laid(0.01)], drive=a_drive(driven_datum_in=None, driven_speed_rpm=None))[
        "alignment-unknown"].statement.text("si")
    tilt = reading("tilt", turned="neither", driver_tilt=0.01, driven_tilt=0.0)
    assert "tilt alone" in found([tilt])["alignment-unknown"].statement.text("si")


def test_widths_of_unlike_sheaves_stand_for_rims_not_measured() -> None:
    # a driver wider by 6 mm, edges alike: its face stands out 3 mm although the grooves are in line
    wide = a_drive(driver_width_in="2.736", driven_width_in="2.5")
    gaps = laid(0.0, 0.0, 0.003, 0.003)
    assert "alignment-out" not in found([*SOUND, gaps], drive=wide)
    said = found([*SOUND, laid(0.0, 0.0, 0.012, 0.012)], drive=wide)["alignment-out"]
    assert said.numbers["offset"].value == pytest.approx(0.012 - 0.003, abs=5e-5)


@settings(max_examples=40, deadline=None)
@given(offset=st.floats(0.0, 0.02), more=st.floats(0.0, 0.03), sign=st.sampled_from((-1, 1)))
def test_further_out_of_line_is_never_milder(offset: float, more: float, sign: int) -> None:
    def grave(by: float) -> int:
        return URGENCIES.index(next(iter(found([*SOUND, *read(body(sign * by))]).values())).urgency)
    assert grave(offset + more) <= grave(offset)


def test_the_limits_are_the_tables() -> None:
    assert (limit("acceptable").source, limit("target").source) == ("alignment-checklist", "practice")
