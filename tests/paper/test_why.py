"""An inquiry in words: chances never said to be more than they are, one page of print, numbers beside the words."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from beltwright.bench.causes.inquiry import Inquiry, inquire
from beltwright.bench.findings.judge import Record
from beltwright.paper.press import pages
from beltwright.paper.why import LEAST_SHOWN, percent, why
from beltwright.paper.why_json import inquiry_content
from beltwright.paper.why_pdf import why_pdf
from beltwright.plant.reading import Reading
from beltwright.plant.trouble import DEAD_LOOKS, SIGNS
from beltwright.units import HOUR
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, NOW, make_up, plucked, reading


def asked(*answers: tuple[str, str], dead: Sequence[Reading] = ()) -> Inquiry:
    noted = [reading("answer", at=MONDAY + timedelta(minutes=at), sign=sign, answer=answer)
             for at, (sign, answer) in enumerate(answers)]
    return inquire(Record([make_up(a_drive())], [*plucked(0.6, 0.6, 0.6), *noted, *dead]), now=NOW)


@given(chance=st.floats(0.0, 1.0))
def test_only_what_is_settled_is_said_to_be_certain(chance: float) -> None:
    said = percent(chance)
    assert (said in ("0%", "100%")) == (chance in (0.0, 1.0))


def test_the_likeliest_come_first_and_at_least_some_are_shown() -> None:
    made = why(asked(("squeal at start", "present")), "si")
    assert made.causes[0].title == "Tension too low"
    assert [each.bar for each in made.causes] == sorted((each.bar for each in made.causes), reverse=True)
    assert made.shown >= LEAST_SHOWN
    assert any("squeal at start" in words for words in made.causes[0].speaks_for)


def test_a_confirmed_cause_asks_for_its_proof() -> None:
    record = Record([make_up(a_drive())], [
        *plucked(1.3, 1.3, 1.3), reading("cause", at=MONDAY, cause="grooves worn", verdict="confirmed")])
    made = why(inquire(record, now=NOW), "si")
    assert made.causes[0].decided == "confirmed"
    assert [proof.title for proof in made.proofs] == ["Grooves worn"]
    assert made.proofs[0].proof


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_its_record_is_one_page_however_much_is_known(paper: str) -> None:
    busy = asked(*((sign, "absent") for sign in SIGNS if sign not in DEAD_LOOKS), ("squeal at start", "present"),
                 dead=[reading("belts failed", count=3, hours=900 * HOUR, look="flanks glazed",
                               look_too="burnt in one place")])
    data = why_pdf(why(busy, "si"), paper=paper, plant="Pellet mill", made_on=NOW.date())  # type: ignore[arg-type]
    assert pages(data) == 1
    words = " ".join(PdfReader(io.BytesIO(data)).pages[0].extract_text().split())
    assert "Tension too low" in words
    assert "Proof due" in words
    assert "judgement" in words


def test_other_programs_get_numbers_beside_the_words() -> None:
    found = asked(("squeal at start", "present"))
    content = json.loads(json.dumps(inquiry_content(found)))
    assert content["causes"][0]["probability"] == pytest.approx(found.causes[0].chance, abs=1e-6)
    assert {each["sign"] for each in content["evidence"]} == {each.sign for each in found.evidence}
