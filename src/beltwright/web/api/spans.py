"""What no eye can compute, as JSON: whether spans are in step with what shakes them, whether the start slips."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from beltwright.desk import starts
from beltwright.desk.whip import whip_now
from beltwright.paper.start_json import start_content
from beltwright.paper.whip_json import whip_content
from beltwright.plant.identity import now
from beltwright.web.api import shapes
from beltwright.web.visit import At

router = APIRouter(prefix=shapes.AT, tags=["spans and starts"], responses=shapes.REFUSALS)


class Whip(shapes.Shown):
    """The spans of a drive under load, what shakes them, which tension is clear, else what helps."""

    tag: str
    answer: str
    sides: list[dict[str, Any]]
    shakers: list[dict[str, Any]]
    helps: list[dict[str, Any]]


class Start(shapes.Shown):
    """A start worked out in time: `outcome` is none where something is to be entered first, `enter` says what."""

    tag: str
    outcome: str | None


@router.get("/drives/{tag}/whip", response_model=Whip)
def whip(at: At, tag: str) -> dict[str, Any]:
    """Note of each span against what shakes it, at the tension as read, else at the middle of the band."""
    return whip_content(whip_now(at.book, tag, now=now()))


@router.get("/drives/{tag}/starting", response_model=Start)
def starting(at: At, tag: str) -> dict[str, Any]:
    """Whether the start slips, how long, how hot, and the least tension at which it does not."""
    return start_content(starts.start(at.book, tag, now=now()))
