"""Why a drive fails, as JSON. Answers, verdicts and belts that failed are noted like any reading."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from beltwright.desk import causes
from beltwright.paper.why_json import inquiry_content
from beltwright.plant.identity import now
from beltwright.web.api import shapes
from beltwright.web.visit import At

router = APIRouter(prefix=shapes.AT, tags=["causes"], responses=shapes.REFUSALS)


class RankedCause(shapes.Shown):
    """A cause: how likely it has a part, what speaks for and against it, its cure and what proves that."""

    name: str
    title: str
    probability: float
    decided: str
    speaks_for: list[str]
    speaks_against: list[str]
    do: list[str]
    proof: str


class Question(shapes.Shown):
    """A check to make: the sign it tells, what to ask, what it takes."""

    sign: str
    ask: str
    takes: str
    lock_out: bool


class Inquiry(shapes.Shown):
    """How the inquiry into a drive stands; `question` is none where asking has ended, `stop` says why."""

    tag: str
    causes: list[RankedCause]
    question: Question | None
    stop: str


@router.get("/drives/{tag}/why", response_model=Inquiry)
def why(at: At, tag: str) -> dict[str, Any]:
    """Causes ranked by what is on record, the next check, proofs due."""
    return inquiry_content(causes.inquiry(at.book, tag, now=now()))
