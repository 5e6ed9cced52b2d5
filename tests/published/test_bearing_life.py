"""Rating life of rolling bearings: one worked example by ISO 281's plain law, one by a Weibull spread of lives."""

from __future__ import annotations

import pytest
from scipy.optimize import brentq

from beltwright.mechanics.bearing_life import EXPONENTS, rating_life, rating_needed, rating_turns, survival
from beltwright.units import HOUR, RPM, TURN
from tests.published import printed
from tests.published.examples import examples, expected

BEARINGS = examples("bearing_life")
BALL = EXPONENTS["ball"]


def test_million_turns_of_a_ball_bearing() -> None:
    example = BEARINGS["ball bearing under 2 kN"]
    turns = rating_turns(example["given"]["rating_N"], example["given"]["load_N"], BALL)
    assert turns / 1e6 == expected(example, "million_turns")


def test_rating_for_a_wanted_life_by_the_plain_law_and_by_the_spread_of_lives() -> None:
    example = BEARINGS["25 000 hours at 350 rpm"]
    given = example["given"]
    life, rotation = given["life_h"] * HOUR, given["speed_rpm"] * RPM
    load = given["load_N"] * given["application_factor"]
    assert life * rotation / TURN / 1e6 == expected(example, "million_turns")

    plain = float(rating_needed(load, life, BALL, rotation))
    assert plain / 1e3 == expected(example, "plain_rating_kN")
    # the spread of lives puts nine in ten at 0.993 of L10, so it asks for a little more than the plain law
    spread = brentq(lambda rating: survival(life, rating_life(rating, load, BALL, rotation)) - given["reliability"],
                    plain * 0.9, plain * 1.2)
    assert spread / 1e3 == expected(example, "rating_kN")
    assert plain / 1e3 != printed(example["printed"]["rating_kN"])


def test_share_of_the_chosen_bearings_that_last() -> None:
    example = BEARINGS["25 000 hours at 350 rpm"]
    given = example["given"]
    rated = rating_life(given["chosen_rating_N"], given["load_N"] * given["application_factor"], BALL,
                        given["speed_rpm"] * RPM)
    lasting = survival(given["life_h"] * HOUR, rated)
    assert lasting == expected(example, "reliability")
    assert lasting == pytest.approx(0.9195, abs=5e-5)
