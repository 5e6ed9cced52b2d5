"""Tables in the terminal: within the width, points under points, nothing lost, safe to show what others typed."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.cli.screen import DRAWN, LETTERS
from beltwright.cli.table import Column, Over, clean, length, pad, table, wrapped

WORDS = st.lists(st.text("abcdefghijklmnop", min_size=1, max_size=14), max_size=8).map(" ".join)
NUMBERS = st.one_of(st.integers(-9999, 9999).map(str), st.decimals(-999, 999, places=2).map(str), st.just(""))
ROWS = st.lists(st.tuples(WORDS, NUMBERS, WORDS), min_size=1, max_size=8)
COLUMNS = (Column("what", least=8), Column("how\nmuch", "number"), Column("why", least=8))


@given(ROWS, st.integers(40, 120))
def test_no_line_is_wider_than_the_screen_and_no_word_is_lost(rows: list[tuple[str, str, str]], width: int) -> None:
    lines = table(COLUMNS, rows, width=width, signs=DRAWN)
    assert max(map(length, lines)) <= width
    body = lines[4:] if "how" in lines[1] and len(lines) > 4 else lines
    wanted = sorted("".join(cell for row in rows for cell in (row[0], row[2])).replace(" ", ""))
    # a word longer than its column is cut across lines, so the letters are compared
    assert sorted(re.sub(r"[^a-p]", "", "".join(body))) == wanted


@given(st.lists(NUMBERS.filter(bool), min_size=2, max_size=12))
def test_points_stand_under_points(numbers: list[str]) -> None:
    lines = table((Column("n", "number"),), [(each,) for each in numbers], width=80, signs=DRAWN)[3:-1]
    places = {line.index(".") for line in lines if "." in line}
    ends = {len(line) for line in lines if "." not in line}
    assert len(places) <= 1
    assert not places or ends <= places
    assert len(ends) <= 1
    assert [line.strip() for line in lines] == numbers


def test_bands_stand_under_each_other() -> None:
    lines = table((Column("force\nN", "number"),), [("9 to 13",), ("132 to 194",), ("12.5 to 18",)], width=80,
                  signs=LETTERS)
    assert lines[4:-1] == ["  9   to  13",
                           "132   to 194",
                           " 12.5 to  18"]


def test_a_printed_table_looks_like_one() -> None:
    assert table((Column("tag"), Column("drive", least=8), Column("press\nmm", "number")),
                 [Over("Drying"), ("FAN-12", "Dryer exhaust fan", "16.8"), Over("Grinding"), ("HML-11", "Mill", "9")],
                 width=30, signs=DRAWN) == [
        "━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━",
        "                         press",
        "tag     drive               mm",
        "──────────────────────────────",
        "Drying",
        "FAN-12  Dryer exhaust     16.8",
        "        fan",
        "",
        "Grinding",
        "HML-11  Mill               9",
        "━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━"]


def test_a_screen_too_narrow_gets_a_block_a_row() -> None:
    lines = table((Column("belts"), Column("press\nmm", "number"), Column("what is to be done", least=20)),
                  [("3 × SPB 2500", "16.8", "tighten all of them")], width=30, signs=DRAWN)
    assert lines[1:-1] == ["belts: 3 × SPB 2500", "press mm: 16.8", "what is to be done: tighten", "    all of them"]


@pytest.mark.parametrize(("typed", "shown"), [
    ("\x1b[2Jgone", "[2Jgone"), ("two\nlines", "two lines"), ("tab\tbed", "tab bed"),
    ("\u202eright to left", "right to left"), ("plain", "plain")])
def test_what_others_typed_moves_no_cursor(typed: str, shown: str) -> None:
    assert clean(typed) == shown
    assert table((Column(""),), [(typed,)], width=40, signs=DRAWN)[-2] == shown


@given(st.text(), st.integers(0, 40))
def test_filling_up_counts_what_the_screen_shows(text: str, width: int) -> None:
    cleaned = clean(text)
    assert length(pad(cleaned, width)) == max(width, length(cleaned))


def test_wrapped_lines_hang_under_the_first() -> None:
    assert wrapped("one two three four five six seven", 24, first="1. ") == [
        "1. one two three four", "   five six seven"]
