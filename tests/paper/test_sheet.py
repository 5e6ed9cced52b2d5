"""A card as texts: nothing of the bench is dropped, changed or invented on the way to paper and screen."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from beltwright.bench.card import Card
from beltwright.paper.sheet import ANSWERS, LEGEND, MARKS, Sheet, address, sheet
from beltwright.units import System
from tests.paper.demo import cards

TAGS = list(cards())
SYSTEMS: tuple[System, ...] = ("si", "inch")


def laid(tag: str, system: System = "si") -> tuple[Card, Sheet]:
    return cards()[tag], sheet(cards()[tag], system)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("tag", TAGS)
def test_every_figure_stands_on_the_card_once_as_the_bench_says_it(tag: str, system: System) -> None:
    card, made = laid(tag, system)
    cells = [cell for section in made.sections for row in section.rows for cell in row.cells if cell.figure]
    shown = Counter(cell.figure for cell in cells if cell.text)
    assert shown == Counter(dict.fromkeys(card.figures, 1))
    for cell in cells:
        if cell.text:
            figure = card.figures[cell.figure]
            assert cell.text == figure.text(system)
            assert cell.mark == MARKS.get(figure.working.trust, "")


@pytest.mark.parametrize("tag", TAGS)
def test_every_mark_is_explained(tag: str) -> None:
    _, made = laid(tag)
    used = {cell.mark for section in made.sections for row in section.rows for cell in row.cells} - {""}
    assert {mark for mark, _ in made.legend} == used
    assert used <= LEGEND.keys()


@pytest.mark.parametrize("tag", TAGS)
def test_isolation_comes_before_any_number_and_the_guard_goes_on_last(tag: str) -> None:
    _, made = laid(tag)
    keys = [section.key for section in made.sections]
    isolation = made.section("isolation")
    assert isolation is not None
    assert [row.label for row in isolation.rows] == [
        "Stop the machine the normal way", "Lock out", "Tag", "Deal with stored energy", "Try to start"]
    assert set(keys[:keys.index("isolation")]) <= {"danger"}
    assert all(keys.index("return") > keys.index(key) for key in keys if key not in ("return", "cautions"))
    back = made.section("return")
    assert back is not None
    assert "Guard" in back.rows[0].label
    assert "lock off" in back.rows[-1].label


@pytest.mark.parametrize("tag", TAGS)
def test_all_that_is_judged_and_all_that_is_missing_is_said(tag: str) -> None:
    card, made = laid(tag)
    verdicts, gaps, clashes = (made.section(key) for key in ("verdicts", "read_next", "disagree"))
    assert [row.answer for row in verdicts.rows] == [ANSWERS[v.answer] for v in card.verdicts] if verdicts else True
    assert [row.label for row in gaps.rows] == [gap.words for gap in card.gaps] if gaps else not card.gaps
    said = len(clashes.rows) if clashes else 0
    assert said == len(card.clashes) + len(card.known.unusable)


@pytest.mark.parametrize("tag", TAGS)
def test_a_blank_says_what_to_read_first(tag: str) -> None:
    card, made = laid(tag)
    for section in made.sections:
        if section.kind != "figures":
            continue
        for row in section.rows:
            if any(not cell.text for cell in row.cells):
                assert row.read_first, (section.key, row.label)
            if found := re.match(r"readings 1 to (\d+) of", row.read_first):
                assert 1 < int(found[1]) <= len(card.gaps)


def test_what_to_read_first_is_enough_and_its_last_reading_needed() -> None:
    card, made = laid("MIX-01")
    tension = made.section("tension")
    assert tension is not None
    found = re.match(r"readings 1 to (\d+) of", tension.rows[0].read_first)
    assert found
    assert "deflection force" in card.gaps[int(found[1]) - 1].unlocks


def test_readings_that_disagree_are_said_beside_the_numbers_to_set() -> None:
    _, clashing = laid("FAN-31")
    _, sound = laid("FAN-12")
    for key in ("set_to", "tension"):
        wrong, right = clashing.section(key), sound.section(key)
        assert wrong is not None
        assert right is not None
        assert "Does not add up" in wrong.lead
        assert not right.lead


def test_danger_stands_before_everything() -> None:
    _, made = laid("SAW-01")
    assert made.sections[0].key == "danger"
    assert made.overall == "danger"
    assert "stop it" in made.sections[0].rows[0].lines[0]


def test_joined_band_is_pressed_as_a_whole() -> None:
    card, made = laid("HML-11")
    tension, form = made.section("tension"), made.section("form_belts")
    assert tension is not None
    assert form is not None
    assert tension.rows[0].label == "Force at the mark, whole band"
    assert tension.rows[0].cells[0].text == card.figures["force_run_in_band"].text("si")
    assert [row.label for row in form.rows] == ["whole band"]


def test_forms_have_a_box_for_every_belt_and_groove() -> None:
    card, made = laid("CHP-01")
    belts, grooves = made.section("form_belts"), made.section("form_grooves")
    assert belts is not None
    assert grooves is not None
    assert len(belts.rows) == card.drive.belts.count == 8
    assert len(grooves.columns) == 8
    assert all(len(row.cells) == len(belts.columns) for row in belts.rows)


@pytest.mark.parametrize(("tag", "base", "wanted"), [
    ("FAN-12", "https://belts.example", "https://belts.example/d/FAN-12"),
    ("FAN-12", "https://belts.example/plant/", "https://belts.example/plant/d/FAN-12"),
    ("FAN 12/A?", "https://belts.example", "https://belts.example/d/FAN%2012%2FA%3F"),
    ("FAN-12", "", "FAN-12"), ("FAN-12", "  ", "FAN-12")])
def test_address_of_a_drive(tag: str, base: str, wanted: str) -> None:
    assert address(tag, base) == wanted
