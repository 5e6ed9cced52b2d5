"""The questions worked out ahead say what the inquiry says once the answers are noted."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.causes.ahead import ahead
from beltwright.bench.causes.inquiry import inquire
from beltwright.bench.findings.judge import Record
from beltwright.plant.trouble import ANSWERS
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, NOW, make_up, plucked, reading

MADE = make_up(a_drive())
READ = plucked(0.93, 0.97, 0.9)


@settings(max_examples=12, deadline=None)
@given(answers=st.lists(st.sampled_from(ANSWERS), min_size=1, max_size=3), locked_out=st.booleans())
def test_the_tree_is_the_inquiry(answers: list[str], locked_out: bool) -> None:
    tree = ahead(inquire(Record([MADE], READ), now=NOW, locked_out=locked_out), locked_out=locked_out, depth=3)
    place, noted = tree[frozenset()], list(READ)
    for minute, answer in enumerate(answers):
        if place.check is None:
            return
        noted.append(reading("answer", at=MONDAY + timedelta(minutes=5 + minute), sign=place.check.sign.name,
                             answer=answer))
        place = tree[place.leads[answer]]
        stands = inquire(Record([MADE], noted), now=NOW, locked_out=locked_out)
        assert [each.cause.name for each in place.causes[:5]] == [each.cause.name for each in stands.causes[:5]]
        assert [each.chance for each in place.causes] == pytest.approx([each.chance for each in stands.causes])
        assert (place.check and place.check.sign) == (stands.check and stands.check.sign)
        assert place.stop == stands.stop


def test_every_lead_is_a_place_of_the_tree_and_its_end_leads_nowhere() -> None:
    tree = ahead(inquire(Record([MADE], READ), now=NOW), depth=2)
    assert all(given in tree for place in tree.values() for given in place.leads.values())
    assert {len(given) for given, place in tree.items() if not place.leads} <= {2}
