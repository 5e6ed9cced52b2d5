"""The file of the trade's knowledge: whole, reasoned, hung on what the bench really says, refused with its faults."""

from __future__ import annotations

from fnmatch import fnmatchcase
from importlib.resources import files
from pathlib import Path

import pytest

import beltwright.bench
from beltwright.bench.causes import knowledge as known
from beltwright.bench.causes.knowledge import GROUPS, knowledge, read
from beltwright.errors import InputError
from beltwright.plant.reading import KINDS, SEEN
from beltwright.plant.trouble import CAUSES, DEAD_LOOKS, SIGNS

TEXT = (files(known.__package__) / "causes.toml").read_text(encoding="utf-8")
TRADE = knowledge()
WHY = '"the motor pulls hardest then, a slack belt slides first"'


def test_there_is_as_much_of_it_as_was_asked_for() -> None:
    assert len(CAUSES) == len(set(CAUSES)) >= 30
    assert len(SIGNS) == len(set(SIGNS)) >= 60
    assert set(DEAD_LOOKS) <= set(SIGNS)
    assert tuple(TRADE.causes) == CAUSES
    assert tuple(TRADE.signs) == SIGNS
    assert {sign.group for sign in TRADE.signs.values()} == set(GROUPS)


def test_every_sign_is_of_some_cause_and_every_cause_has_several_signs() -> None:
    assert {link.sign for cause in TRADE.causes.values() for link in cause.links} == set(SIGNS)
    assert all(len(cause.links) >= 3 for cause in TRADE.causes.values())


def test_low_tension_is_most_of_it_and_says_on_whose_word() -> None:
    bases = {name: cause.base for name, cause in TRADE.causes.items()}
    low = bases.pop("tension too low")
    assert low == 0.95
    assert "common practice, no source" in TRADE.causes["tension too low"].why
    assert max(bases.values()) < 0.1
    assert all(cause.why.startswith("judgement") for name, cause in TRADE.causes.items() if name != "tension too low")
    assert "JUDGEMENT" in TEXT[:600]


def test_every_cure_says_what_to_do_what_proves_it_and_how_long() -> None:
    for cause in TRADE.causes.values():
        assert cause.cure.do
        assert cause.cure.proof
        assert cause.cure.work > 0.0


def test_every_word_seen_speaks_here_but_those_that_are_no_sign_of_a_cause() -> None:
    heard = {sign.seen for sign in TRADE.signs.values()}
    assert set(SEEN) - heard == {"nothing wrong", "guard damaged"}


def test_findings_and_verdicts_named_are_such_as_the_bench_gives() -> None:
    """A key that nobody makes any more would keep quiet for ever: each stands in the words of the bench."""
    source = "\n".join(path.read_text(encoding="utf-8") for path in Path(beltwright.bench.__file__).parent.rglob("*.py")
                       if path.parent.name != "causes")
    for sign in TRADE.signs.values():
        for key in (*sign.findings, *sign.verdicts):
            stem = key.removesuffix("*")
            assert f'"{stem}' in source or (stem.startswith("set-") and 'f"set-{field}s"' in source), (sign.name, key)
        for kind in sign.reading:
            name, _, where = kind.partition(": ")
            choices = {choice for field in KINDS[name].fields for choice in field.choices}
            assert not where or where in choices


def test_keys_with_any_end_do_not_catch_each_other() -> None:
    keys = [(sign.name, key) for sign in TRADE.signs.values() for key in sign.findings]
    for name, key in keys:
        assert not any(other != name and fnmatchcase(second.replace("*", "x"), key) for other, second in keys)


@pytest.mark.parametrize(("old", "new", "says"), [
    ('[cause."sheaves offset"]', '[cause."sheaves ofset"]', "no cause 'sheaves offset'; cause 'sheaves ofset' is not"),
    ("base = 0.95", "base = 95", "cause 'tension too low': base 95 lies not between 0 and 1"),
    ("base = 0.95", "", "cause 'tension too low': base is missing"),
    ('[0.60, "squeal at start", ', '[1.60, "squeal at start", ', "strength 1.6 of 'squeal at start'"),
    (f'[0.60, "squeal at start", {WHY}]', '[0.60, "squeal at start"]', "is not [strength, sign, reason]"),
    (WHY, '" "', "no reason for 'squeal at start'"),
    ('[0.50, "squeal at peak load", "slides', '[0.50, "squeal at start", "slides', "'squeal at start' is named twice"),
    ('[0.50, "squeal at peak load", "slides', '[0.50, "squeal at noon", "slides', "'squeal at noon' is not one of"),
    ('group = "heard"', 'group = "smelt"', "group 'smelt' is none of heard, running"),
    ('reading = ["alignment"]', 'reading = ["alinement"]', "no kind of reading 'alinement'"),
    ('parts = "belts"', 'parts = "belt"', "parts 'belt' are none of belts, sheave and belts"),
    ("minutes = 2", "minutes = 0", "minutes 0 are not more than nought"),
    ("leak = 0.04", "leak = true", "leak reads True"),
    ('seen = "whipping"', 'seen = "wipping"', "'wipping' is no word"),
    ("hands_on = true", "hand_on = true", "no such entry: hand_on"),
    ("[cause.", "[cause", "not readable as TOML"),
])
def test_a_fault_of_the_file_is_named_with_its_place(old: str, new: str, says: str) -> None:
    assert old in TEXT
    with pytest.raises(InputError) as refused:
        read(TEXT.replace(old, new, 1))
    assert says in str(refused.value)


def test_all_faults_are_named_at_once() -> None:
    with pytest.raises(InputError) as refused:
        read(TEXT.replace("base = 0.95", "base = 0").replace('seen = "whipping"', 'seen = "flapping"'))
    assert str(refused.value).count(";") == 1
