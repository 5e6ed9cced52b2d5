"""Room to lay belts on and to take up: each rule by name, the largest found, rules that do not speak left out."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import InputError, OutOfRange
from beltwright.mechanics.geometry import belt_length, centre_from_length, feasible
from beltwright.mechanics.lengths import marked_length
from beltwright.mechanics.sections import accepted, section, standards_of
from beltwright.mechanics.standard_lengths import standard_lengths
from beltwright.mechanics.takeup import (
    Allowance,
    allowances,
    gbt_travel,
    largest,
    rma_gives,
    rma_travel,
    textbook_travel,
)
from beltwright.units import INCH

PAIRS = [(name, whose) for name in accepted() for whose in standards_of(name)]


@given(st.sampled_from(PAIRS), st.floats(0.7, 12.0))
def test_the_largest_is_the_largest_of_the_named_rules(pair: tuple[str, str], length: float) -> None:
    found = allowances(length, section(*pair).system.length_as, *pair)
    most = largest(found.rules)
    by_name = {each.rule: each for each in found.rules}
    assert most.slack_off == max(each.slack_off for each in found.rules) == by_name[str(most.slack_off_rule)].slack_off
    assert most.take_up == max(each.take_up for each in found.rules) == by_name[str(most.take_up_rule)].take_up
    # three rules there are; the inch tables count as one
    assert len(found.rules) + len(found.left_out) == 3
    assert all(reason for _, reason in found.left_out)


@given(st.floats(0.5, 15.0), st.floats(1.01, 3.0))
def test_travel_grows_with_the_belt(length: float, times: float) -> None:
    for travel in (textbook_travel, lambda size: gbt_travel(size, "C", "iso")):
        short, long = travel(length), travel(length * times)
        assert long.slack_off > short.slack_off
        assert long.take_up > short.take_up


@pytest.mark.parametrize("name", accepted("rma"))
def test_every_standard_inch_belt_has_its_row_and_rows_never_shrink(name: str) -> None:
    series = standard_lengths(name, "rma").belts
    numbers = np.array([float(belt.number) for belt in series])
    given_ = np.asarray(rma_gives(numbers, name))
    lengths = np.array([belt.length for belt in series])[given_]
    # the narrow table ends at 8V5000
    assert numbers[~given_].tolist() == ([5600.0] if name == "8V" else [])
    travel = rma_travel(numbers[given_], name, lengths)
    assert np.all(np.diff(travel.slack_off) >= 0)
    assert np.all(np.diff(travel.take_up) >= 0)
    # the slack-off lets the belt go over the rim, the take-up is for stretch: both are a few percent of the length
    assert np.all(np.asarray(travel.slack_off) / lengths < 0.04)
    assert np.all((np.asarray(travel.take_up) / lengths > 0.01) & (np.asarray(travel.take_up) / lengths < 0.045))


@pytest.mark.parametrize(("number", "name", "slack_off", "take_up"), [
    (35, "A", 0.75, 1.0), (36, "A", 0.75, 1.5), (112, "BX", 1.25, 2.5), (113, "B", 1.25, 3.0), (225, "D", 2.5, 4.5),
    (390, "C", 2.0, 6.0), (475, "3V", 0.5, 1.0), (476, "3V", 0.8, 1.2), (1250, "5VX", 1.0, 1.8), (5000, "8V", 2.0, 5.5),
])
def test_rows_of_the_inch_tables(number: int, name: str, slack_off: float, take_up: float) -> None:
    travel = rma_travel(number, name, 3.0)
    assert float(travel.slack_off) / INCH == pytest.approx(slack_off)
    assert float(travel.take_up) / INCH == pytest.approx(take_up)


def test_above_390_the_take_up_is_a_share_of_the_length() -> None:
    length = float(marked_length(480, "D", "rma"))
    assert float(rma_travel(480, "D", length).take_up) == pytest.approx(0.015 * length)


@pytest.mark.parametrize(("number", "name"), [(160, "A"), (30, "C"), (470, "5V"), (700, "D"), (0, "A"),
                                              (float("nan"), "A"), (5600, "8V")])
def test_a_belt_the_tables_do_not_speak_of_is_refused(number: float, name: str) -> None:
    assert not rma_gives(number, name)
    with pytest.raises(OutOfRange, match=r"the RMA IP-2[02] table has no slack-off for that belt"):
        rma_travel(np.array([1000.0 if name[0].isdigit() else 120.0, number]), name, 3.0)


def test_rules_that_do_not_speak_are_left_out_with_the_reason() -> None:
    narrow = allowances(3.175, "effective", "5V", "rma")
    assert [each.rule for each in narrow.rules] == ["textbook", "ip22"]
    assert "no datum width" in dict(narrow.left_out)["GB/T 13575.1: 2 b_d + 0.009 L and 0.02 L"]
    metric = allowances(2.5, "inside", "B", "din")
    assert [each.rule for each in metric.rules] == ["textbook", "gbt13575"]
    assert metric.left_out == (("RMA tables", "they speak of inch belts only"),)
    odd = allowances(float(marked_length(150, "A", "rma")), "datum", "A", "rma")
    assert ("RMA IP-20 table", "it has no figure for a belt of that length") in odd.left_out


def test_a_joined_band_is_told_that_the_inch_table_is_for_single_belts() -> None:
    for joined in (False, True):
        table = allowances(3.175, "effective", "5V", "rma", joined=joined).rules[-1]
        assert ("single belts" in table.note) is joined


def test_arrays_and_single_belts_agree() -> None:
    lengths = np.array([belt.length for belt in standard_lengths("C", "rma").belts])
    together = largest(allowances(lengths, "datum", "C", "rma").rules)
    for index, length in enumerate(lengths):
        alone = largest(allowances(float(length), "datum", "C", "rma").rules)
        assert alone.slack_off == np.asarray(together.slack_off)[index]
        assert str(alone.take_up_rule) == np.asarray(together.take_up_rule)[index]


def test_the_slack_off_really_lets_a_belt_over_the_rim() -> None:
    # a belt laid on by hand passes outside one groove's depth of one sheave: the shorter centre must leave it slack
    # enough for a path over that sheave's rim. The textbook and GB/T rules allow for it on an ordinary B drive.
    small, large, rim = 0.14, 0.28, 2 * 0.0035
    length = float(belt_length(small, large, 0.55))
    over_rim = float(belt_length(small + rim, large, 0.55)) - length
    most = float(largest(allowances(length, "datum", "B", "iso").rules).slack_off)
    assert feasible(small, large, length - over_rim)
    assert 0.55 - float(centre_from_length(small, large, length - over_rim)) < most


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan")])
def test_a_belt_of_no_length_is_refused(bad: float) -> None:
    for asked in (lambda: textbook_travel(bad), lambda: gbt_travel(bad, "B", "iso"), lambda: rma_travel(112, "B", bad),
                  lambda: allowances(bad, "datum", "B", "iso")):
        with pytest.raises(OutOfRange, match="length of "):
            asked()


def test_what_no_rule_can_say_is_refused() -> None:
    with pytest.raises(InputError, match="no datum width"):
        gbt_travel(3.0, "5V", "rma")
    with pytest.raises(InputError, match="no rule"):
        largest(tuple[Allowance, ...]())
    with pytest.raises(InputError, match="not a section of rma"):
        rma_gives(100, "SPB")
