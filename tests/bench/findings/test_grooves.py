"""Grooves against the wear limit, flank by flank; how deep belts sink, how unlike grooves make them fight."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.findings.finding import URGENCIES, Finding
from beltwright.plant.drive import Drive
from beltwright.plant.reading import Reading
from beltwright.units import INCH
from tests.bench.drives import a_drive
from tests.bench.findings.visits import found, plucked, reading, targets

SOUND = plucked(1.25, 1.25, 1.25)
LIMIT = INCH / 32
JOINED = a_drive(belts_joined="yes")


def gauged(*flanks: tuple[float, float], sheave: str = "driver", shine: bool = False) -> list[Reading]:
    """Left and right flank of each groove, in parts of the limit."""
    return [reading("groove", sheave=sheave, groove=number, left=left * LIMIT, right=right * LIMIT, shine=shine)
            for number, (left, right) in enumerate(flanks, start=1)]


def said(*readings: Reading, drive: Drive | None = None) -> dict[str, Finding]:
    return found([*SOUND, *readings], drive=drive)


@pytest.mark.parametrize(("dish", "urgency"), [(0.3, None), (0.6, "watch"), (0.85, "plan"), (1.1, "mend at next stop")])
def test_the_limit_of_single_belts(dish: float, urgency: str | None) -> None:
    worn = said(*gauged((dish, dish))).get("grooves-worn-driver")
    assert (None if worn is None else worn.urgency) == urgency
    if worn is not None:
        assert worn.numbers["dish"].value == pytest.approx(dish * LIMIT)
        assert worn.numbers["limit"].value == pytest.approx(LIMIT)


def test_the_limit_is_half_for_joined_belts() -> None:
    worn = said(*gauged((0.6, 0.6)), drive=JOINED)["grooves-worn-driver"]
    assert worn.urgency == "mend at next stop"
    assert worn.numbers["limit"].value == pytest.approx(LIMIT / 2)
    assert "joined" in worn.statement.text("si")


def test_each_flank_by_itself() -> None:
    assert said(*gauged((0.0, 1.1)))["grooves-worn-driver"].urgency == "mend at next stop"


def test_how_far_the_belt_sinks_by_the_triangle() -> None:
    worn = said(*gauged((1.1, 1.1)))["grooves-worn-driver"]
    # 7.4 in is over 7 in: 38 degrees for B
    assert worn.numbers["sinks"].value == pytest.approx(1.1 * LIMIT / math.sin(math.radians(19)))
    pitch = targets().fact("driver_pitch")
    assert pitch is not None
    sunk = 2 * 1.1 * LIMIT / math.sin(math.radians(19))
    assert worn.numbers["speed_change"].value == pytest.approx(-sunk / pitch)


@pytest.mark.parametrize(("driven", "says"), [
    (1.2, "Replace both sheaves"), (0.7, "more than half worn"), (0.1, "Replace the driver sheave"),
    (None, "Gauge the driven sheave before ordering"),
])
def test_which_sheave_to_replace_and_whether_both(driven: float | None, says: str) -> None:
    other = [] if driven is None else gauged((driven, driven), sheave="driven")
    worn = said(*gauged((1.1, 1.1)), *other)["grooves-worn-driver"]
    assert says in " ".join(worn.actions("si"))
    assert "B groove gauge, 38°" in " ".join(worn.actions("si"))


def test_unlike_grooves_make_belts_fight() -> None:
    # one groove at half the limit beside two sound ones: B belts on 7.75 in pitch diameter
    unlike = said(*gauged((0.0, 0.0), (0.5, 0.5), (0.0, 0.0)))["grooves-unlike-driver"]
    assert unlike.urgency == "plan"
    pitch = targets().fact("driver_pitch")
    assert pitch is not None
    sizes = [pitch, pitch - LIMIT / math.sin(math.radians(19)), pitch]
    mean = sum(sizes) / 3
    assert unlike.numbers["fight"].value == pytest.approx(mean / sizes[1] - mean / sizes[0])
    assert "groove 2" in unlike.statement.text("si")
    # the belt in the deeper groove is stretched less: the others carry its load
    assert float(unlike.numbers["least_share"].value) < 1 < float(unlike.numbers["greatest_share"].value)
    assert said(*gauged((0.0, 0.0), (1.9, 1.9)))["grooves-unlike-driver"].urgency == "mend at next stop"
    assert "grooves-unlike-driver" not in said(*gauged((0.5, 0.5), (0.5, 0.5)))


def test_wear_on_one_side_points_to_alignment() -> None:
    one = said(*gauged((0.1, 0.8), (0.0, 0.6)))
    assert "away from the motor" in one["grooves-one-sided-driver"].statement.text("si")
    assert "alignment" in " ".join(one["grooves-one-sided-driver"].actions("si"))
    assert "grooves-one-sided-driver" not in said(*gauged((0.1, 0.8), (0.6, 0.0)))
    assert "grooves-one-sided-driver" not in said(*gauged((0.7, 0.8)))


def test_a_shiny_bottom_and_a_belt_that_rides_low() -> None:
    assert said(*gauged((0.2, 0.2), shine=True))["grooves-bottomed-driver"].urgency == "mend at next stop"
    low = reading("ride", sheave="driver", groove=2, height=-0.0020)
    assert said(low)["ride-low-driver"].urgency == "mend at next stop"
    assert said(low)["ride-low-driver"].numbers["limit"].value == pytest.approx(INCH / 16)
    just = reading("ride", sheave="driver", groove=2, height=-0.0005)
    assert said(just)["ride-low-driver"].urgency == "watch"
    assert "ride-low-driver" not in said(reading("ride", sheave="driver", groove=2, height=0.0005))


def test_worn_grooves_explain_belts_that_ride_low_and_slip() -> None:
    both = said(*gauged((1.2, 1.2)), reading("ride", sheave="driver", groove=1, height=-0.003))
    assert both["ride-low-driver"].explained_by == ("grooves-worn-driver",)


@settings(max_examples=60, deadline=None)
@given(flanks=st.lists(st.tuples(st.floats(0, 2), st.floats(0, 2)), min_size=1, max_size=4), more=st.floats(0, 1),
       joined=st.booleans())
def test_more_dish_on_the_worst_flank_is_never_milder(flanks: list[tuple[float, float]], more: float,
                                                      joined: bool) -> None:
    drive = JOINED if joined else a_drive()

    def grave(some: list[tuple[float, float]]) -> int:
        return URGENCIES.index(next(iter(said(*gauged(*some), drive=drive).values())).urgency)
    at = max(range(len(flanks)), key=lambda number: max(flanks[number]))
    left, right = flanks[at]
    deeper = list(flanks)
    deeper[at] = (left + more, right) if left >= right else (left, right + more)
    assert grave(deeper) <= grave(flanks)
