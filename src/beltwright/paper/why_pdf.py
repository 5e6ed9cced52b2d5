"""The one-page record of an inquiry: evidence, causes, cure, proof due. Laid out from `why`."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Final

from beltwright.paper.press import Paper, press
from beltwright.paper.why import JUDGEMENT, WhyText

# as many as a page holds
_CAUSES: Final = 4
_NOTED: Final = 22


def why_pdf(made: WhyText, *, paper: Paper = "a4", plant: str = "", made_on: date | None = None) -> bytes:
    """The record on one page, ready to print; the most telling evidence where not all of it finds room."""
    causes = made.causes[:min(_CAUSES, made.shown)]
    telling = [each for each in made.noted if each.there != "not there"] + [
        each for each in made.noted if each.there == "not there"]
    left_out = len(telling) - _NOTED
    data = {"why": asdict(made) | {"causes": [asdict(each) for each in causes],
                                   "noted": [asdict(each) for each in telling[:_NOTED]]},
            "left_out": f"and {left_out} more that are not there" if left_out > 0 else "", "paper": paper,
            "plant": plant, "made_on": "" if made_on is None else made_on.isoformat(), "judgement": JUDGEMENT}
    return press("why", data, {}, made_on)
