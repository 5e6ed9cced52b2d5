"""Whatever was noted, there is an answer: in order, in words, in either system, the same however the notes lie."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.findings.finding import URGENCIES, Finding
from beltwright.bench.findings.judge import Record, judge, judge_many
from beltwright.bench.findings.noted import Choices
from beltwright.plant.drive import Drive
from beltwright.plant.reading import Reading
from beltwright.tables import TRUST_WORDS, sources
from beltwright.units import KINDS, to_si
from tests.bench.drives import a_drive, demo_drives
from tests.bench.findings.visits import NOW, any_reading, make_up

DRIVES = (a_drive(), a_drive(belts_joined="yes"), a_drive(belt_count="1"), a_drive(service=None, centre_in=None),
          a_drive(belt_marking=None), Drive("BARE", "a drive of which nothing is known"),
          a_drive(incline_deg="40", foot_spread_mm="200", foot_width_mm="250", foot_reach_mm="180", base="pivoted",
                  driver_width_in="3.5", driven_width_in="3.5", shafts="horizontal"), *demo_drives())
CHOICES = Choices(to_si(0.12, "1/kWh", "price of energy"), "EUR", ("run-in", "first days", "season", "by law"))


@settings(max_examples=300, deadline=None)
@given(drive=st.sampled_from(DRIVES), readings=st.lists(any_reading(), max_size=14), shuffled=st.randoms())
def test_any_readings_have_an_answer_and_their_order_does_not_matter(drive: Drive, readings: list[Reading],
                                                                     shuffled: random.Random) -> None:
    record = Record([make_up(drive)], readings)
    findings = judge(record, now=NOW, choices=CHOICES)
    check(findings)
    mixed = list(readings)
    shuffled.shuffle(mixed)
    assert judge(replace(record, readings=mixed), now=NOW, choices=CHOICES) == findings
    # at the end of a plant it is the same drive
    (*_, (_, among)) = judge_many([Record([make_up(other)]) for other in DRIVES[:3]] + [record], now=NOW,
                                  choices=CHOICES)
    assert [(each.key, each.urgency) for each in among] == [(each.key, each.urgency) for each in findings]


def check(findings: tuple[Finding, ...]) -> None:
    assert findings
    places = [URGENCIES.index(finding.urgency) for finding in findings]
    assert places == sorted(places)
    keys = [finding.key for finding in findings]
    assert len(set(keys)) == len(keys)
    assert (keys == ["sound"]) == ("sound" in [finding.urgency for finding in findings])
    for finding in findings:
        for system in ("si", "inch"):
            words = finding.statement.text(system)
            assert words
            assert "nan" not in words.casefold().split()
            assert all(finding.actions(system))
        assert finding.source in sources()
        assert finding.trust in TRUST_WORDS
        assert finding.sure is None or 0.0 <= finding.sure <= 1.0
        assert set(finding.joined) <= set(keys) - {finding.key}
        for put in finding.numbers.values():
            assert put.kind in KINDS
            assert put.value == pytest.approx(put.value)   # a number, and not NaN
    by_key = {finding.key: finding for finding in findings}
    assert all(finding.key in by_key[effect].explained_by for finding in findings for effect in finding.explains)
    assert all(finding.key in by_key[cause].explains for finding in findings for cause in finding.explained_by)
