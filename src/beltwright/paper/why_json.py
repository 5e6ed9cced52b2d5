"""An inquiry into why a drive fails, as JSON for other programs and for a phone that goes on without signal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Final

from beltwright.bench.causes.ahead import Given, Place
from beltwright.bench.causes.inquiry import Inquiry
from beltwright.bench.causes.ranking import Ranked
from beltwright.paper.as_json import Content
from beltwright.paper.why import cause_text, question_text, why
from beltwright.units import System

# causes a phone shows
_LIKELIEST: Final = 5
_DIGITS: Final = 6


def inquiry_content(found: Inquiry) -> Content:
    """Where an inquiry stands: numbers beside the words."""
    made = why(found, "si")
    texts = asdict(made)
    return texts | {
        "causes": [{**words, **_numbers(each)} for words, each in zip(texts["causes"], found.causes, strict=True)],
        "evidence": [{"sign": each.sign, "if_there": round(each.present, _DIGITS), "if_not": round(
            each.absent, _DIGITS), "origin": each.origin, "words": each.words.text("si"),
            "readings": [str(one) for one in each.readings]} for each in found.evidence]}


def _numbers(each: Ranked) -> Content:
    return {"probability": round(each.chance, _DIGITS), "base_rate": each.rate.trade,
            "base_rate_plant": round(each.rate.plant, _DIGITS), "base_rate_drive": round(each.rate.drive, _DIGITS),
            "signs_for": [{"sign": one.evidence.sign, "times": round(one.times, 3)} for one in each.signs_for],
            "signs_against": [{"sign": one.evidence.sign, "times": round(one.times, 3)} for one in each.signs_against]}


def ahead_content(tree: Mapping[Given, Place], system: System) -> list[Content]:
    """The questions ahead: a list of places, the first where the inquiry stands; `leads` are places in the list."""
    number = {given: at for at, given in enumerate(tree)}
    return [{
        "causes": [{"name": each.name, "title": each.title, "chance": each.chance, "bar": each.bar,
                    "words": each.words} for each in (cause_text(one, system) for one in place.causes[:_LIKELIEST])],
        "question": None if place.check is None else asdict(question_text(place.check)),
        "stop": place.stop, "leads": {answer: number[given] for answer, given in place.leads.items()}}
        for place in tree.values()]
