"""The set-to numbers as a whole: against a printed example, each function's inverse, and one drive against many."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.errors import Infeasible, NotKnown, OutOfRange
from beltwright.mechanics import setting
from beltwright.mechanics.deflection import lone_belt_allowance, tension_from_force
from beltwright.mechanics.frequency import tension_from_frequency
from beltwright.mechanics.geometry import belt_length, driven_rotation
from beltwright.mechanics.setting import (
    SetTo,
    adequacy,
    known_length_factor,
    published_rating,
    ratable,
    set_to,
    set_to_numbers,
    settable,
)
from beltwright.mechanics.tension import power_held
from beltwright.units import FOOT, INCH, MINUTE, POUND_FORCE, RPM, from_si, to_si
from tests.published import printed

Column = npt.NDArray[Any]
ONE: dict[str, Any] = {"driver": 0.15, "driven": 0.45, "driver_pitch": 0.159, "driven_pitch": 0.459, "length": 2.4,
                       "rotation": 152.0, "power": 7500.0, "service_factor": 1.3, "belts": 3, "mass": 0.17,
                       "allowance": 20.0, "lone": False}


def invented(count: int, seed: int = 5) -> dict[str, Column]:
    rng = np.random.default_rng(seed)
    driver = rng.uniform(5.4, 9.0, count) * INCH
    driven = driver * rng.uniform(0.7, 3.0, count)
    length = np.clip(belt_length(driver, driven, (driver + driven) * rng.uniform(0.9, 1.6, count)), 36.8 * INCH, 7.6)
    return {"driver": driver, "driven": driven, "driver_pitch": driver + 0.009, "driven_pitch": driven + 0.009,
            "length": length, "rotation": rng.uniform(80, 180, count), "power": rng.uniform(1e3, 4e4, count),
            "service_factor": rng.uniform(1.0, 1.5, count), "belts": rng.integers(1, 9, count),
            "mass": rng.uniform(0.16, 0.2, count), "allowance": rng.uniform(0.0, 40.0, count),
            "lone": rng.random(count) < 0.2}


def figures(tree: Any) -> list[Any]:
    return [leaf for branch in tree for leaf in figures(branch)] if isinstance(tree, tuple) else [tree]


def test_shigley_17_4_from_sheaves_and_belt_to_the_tension_at_rest() -> None:
    """3 x B112 on 7.4 and 11 in, 10 hp at 1750 rpm: Fi = 32.2 and Fc = 11.1 lbf, so 43.3 lbf at rest."""
    drive = set_to(7.4 * INCH, 11 * INCH, 7.4 * INCH, 11 * INCH, 113.8 * INCH, 1750 * RPM, to_si(10, "hp", "power"),
                   1.3, 3, 0.965 * POUND_FORCE / (1000 * FOOT / MINUTE) ** 2, 20.0, lone=False)
    assert from_si(float(drive.centre), "in", "length") == printed("42.4")
    assert np.degrees(drive.driver_wrap) == printed("175.1")
    assert from_si(float(drive.speed), "ft/min", "speed") == printed("3390")
    assert from_si(float(drive.centrifugal), "lbf", "force") == printed("11.1")
    assert from_si(float(drive.tension - drive.centrifugal), "lbf", "force") == printed("32.2")
    assert from_si(float(drive.running.resultant), "lbf", "force") == printed("193.3")
    # by the book's rating Htab = 4.693, K1 = 0.99, K2 = 1.05
    judged = adequacy(to_si(4.693, "hp", "power"), 0.99, 1.05, to_si(10, "hp", "power"), 1.3, 3)
    assert from_si(float(judged.belt_power), "hp", "power") == printed("4.88")
    assert judged.required == pytest.approx(2.67, abs=0.01)  # printed from rounded powers; 2.665 by the inputs
    assert judged.to_fit == 3
    assert judged.service_factor_reached / 1.3 == printed("1.13")


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20)
def test_every_number_leads_back_to_the_load(seed: int) -> None:
    given = invented(30, seed)
    drive = set_to(**given)
    held = power_held(drive.tension, given["belts"], drive.speed, given["mass"], drive.arc_factor)
    assert np.allclose(held, given["power"] * given["service_factor"], rtol=1e-9)
    shared = np.where(given["lone"], lone_belt_allowance(given["allowance"], drive.span, given["length"]),
                      given["allowance"])
    for band, forces, notes in zip(drive.tensions, drive.forces, drive.frequencies, strict=True):
        for tension, force, note in zip(band, forces, notes, strict=True):
            by_force = tension_from_force(force, drive.span, drive.deflection, shared)
            by_note = tension_from_frequency(note, drive.span, given["mass"])
            assert np.allclose(by_force, tension, rtol=1e-10)
            assert np.allclose(by_note, tension, rtol=1e-10)
    # running, the shafts feel what the belts keep of their static pull once going round has taken its part
    at_rest = np.asarray(drive.shaft_pulls.run_in.low)
    kept = np.asarray(drive.tension - drive.centrifugal) / drive.tension
    assert np.allclose(drive.running.along, at_rest * kept, rtol=1e-9)
    assert np.all(np.asarray(drive.running.resultant) >= np.asarray(drive.running.along) * (1 - 1e-12))
    assert np.allclose(np.add(drive.driver_wrap, drive.driven_wrap), 2 * np.pi, rtol=1e-12)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20)
def test_which_sheave_drives_changes_no_tension_and_no_rating(seed: int) -> None:
    one = invented(20, seed)
    turned_round = {"driver": one["driven"], "driven": one["driver"], "driver_pitch": one["driven_pitch"],
                    "driven_pitch": one["driver_pitch"]}
    rotation = driven_rotation(one["driver_pitch"], one["driven_pitch"], one["rotation"])
    other: dict[str, Any] = one | turned_round | {"rotation": rotation}
    here, there = set_to(**one), set_to(**other)
    for name in ("tension", "forces", "frequencies", "shaft_pulls", "ratio", "span"):
        for a, b in zip(figures((getattr(here, name),)), figures((getattr(there, name),)), strict=True):
            assert np.allclose(a, b, rtol=1e-9), name
    assert np.allclose(here.running.across, -np.asarray(there.running.across), rtol=1e-9, atol=1e-9)
    rated, turned = (published_rating("B", "rma", way["driver_pitch"], way["driven_pitch"], way["rotation"])
                     for way in (one, other))
    assert np.allclose(rated, turned, rtol=1e-9)


def test_a_drive_among_many_is_exactly_the_drive_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(setting, "_BLOCK", 7)
    given = invented(31)
    many = set_to_numbers("B", "rma", **given)
    for place in (0, 6, 7, 30):
        own = {name: column[place] for name, column in given.items()}
        alone = set_to(**own)
        rated = published_rating("B", "rma", own["driver_pitch"], own["driven_pitch"], own["rotation"])
        judged = adequacy(rated, alone.arc_factor, known_length_factor("B", own["length"]), own["power"],
                          own["service_factor"], own["belts"])
        assert [float(figure[place]) for figure in figures(many)] == pytest.approx(
            [float(figure) for figure in figures((alone, judged))], rel=1e-12)


def test_shapes_broadcast() -> None:
    many = set_to_numbers("B", "rma", **(ONE | {"belts": np.array([[2], [3], [4]]), "power": np.array([5e3, 7.5e3])}))
    assert {np.shape(figure) for figure in figures(many)} == {(3, 2)}
    assert np.asarray(many.set_to.tension)[1, 1] == pytest.approx(set_to(**ONE).tension, rel=1e-12)
    alone = set_to_numbers("B", "rma", **ONE)
    assert {np.shape(figure) for figure in figures(alone)} == {()}


def test_no_drives_at_all_is_refused() -> None:
    with pytest.raises(OutOfRange, match="drives of 0"):
        set_to_numbers("B", "rma", **(ONE | {"power": np.empty(0)}))


def test_a_lone_belt_is_pressed_with_less_force_than_one_among_others() -> None:
    among, lone = set_to(**ONE), set_to(**(ONE | {"lone": True}))
    less = (1 - float(among.span) / ONE["length"]) * ONE["allowance"] / 16
    assert among.forces.run_in.low - lone.forces.run_in.low == pytest.approx(less)
    assert lone.tensions == among.tensions


def test_a_stiffer_belt_sounds_higher_at_the_same_tension() -> None:
    plain, stiff = set_to(**ONE), set_to(**(ONE | {"rigidity": 0.3}))
    assert stiff.tensions == plain.tensions
    assert stiff.frequencies.new.high > plain.frequencies.new.high


@given(driver=st.floats(0.05, 1.0), ratio=st.floats(1.0, 15.0), length=st.floats(0.3, 8.0))
def test_the_mask_says_where_there_is_an_answer(driver: float, ratio: float, length: float) -> None:
    given = ONE | {"driver": driver, "driven": driver * ratio, "length": length}
    if settable(given["driver"], given["driven"], given["length"]):
        assert isinstance(set_to(**given), SetTo)
    else:
        with pytest.raises((Infeasible, OutOfRange)):
            set_to(**given)


@given(pitch=st.floats(0.03, 1.0), ratio=st.floats(1.0, 10.0), rotation=st.floats(5.0, 900.0),
       length=st.floats(0.3, 12.0))
def test_the_mask_says_where_there_is_a_rating(pitch: float, ratio: float, rotation: float, length: float) -> None:
    def rate() -> object:
        return published_rating("B", "rma", pitch, pitch * ratio, rotation), known_length_factor("B", length)

    if ratable("B", "rma", pitch, pitch * ratio, rotation, length):
        assert rate()
    else:
        with pytest.raises(OutOfRange):
            rate()


def test_narrow_belts_are_rated_without_a_length_factor_and_the_rest_not_at_all() -> None:
    assert float(np.asarray(known_length_factor("5V", 2.5))) == 1.0
    assert published_rating("5V", "rma", 0.2, 0.4, 180.0) > 0.0
    for section, standard in (("SPB", "iso"), ("Z", "din"), ("B", "din")):
        with pytest.raises(NotKnown, match="no rating is published"):
            published_rating(section, standard, 0.2, 0.4, 180.0)


def test_one_impossible_drive_among_many_is_named() -> None:
    with pytest.raises(Infeasible):
        set_to(**(ONE | {"length": np.array([2.4, 0.9])}))
    with pytest.raises(OutOfRange, match="arc of contact"):
        set_to(**(ONE | {"driven": 1.2, "length": 3.91}))
