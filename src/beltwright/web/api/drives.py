"""The plant, its drives, their cards and findings, as JSON."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Response

from beltwright.bench.card import METHOD
from beltwright.bench.findings.finding import worst
from beltwright.desk import judge, prepare
from beltwright.desk.survey import Row, hand_in
from beltwright.errors import SheetError
from beltwright.paper import as_json
from beltwright.plant.identity import now
from beltwright.web.api import shapes
from beltwright.web.api.caller import By
from beltwright.web.glance import Glance
from beltwright.web.visit import At

router = APIRouter(prefix=shapes.AT, tags=["drives"], responses=shapes.REFUSALS)

MOST_AT_ONCE = 1000
_FIRST_HANDS = 20


@router.get("/plant", response_model=shapes.Plant)
def plant(at: At) -> dict[str, Any]:
    """The plant at a glance: how many drives, how they stand, which need a hand first."""
    overview = at.station.glances.look()
    return {"plant": at.settings.plant, "method": METHOD, "drives": len(overview.drives), "to_come": overview.to_come,
            "stands": dict(overview.counts), "first_hands": [_line(glance) for glance in
                                                            overview.first_hands()[:_FIRST_HANDS]]}


@router.get("/drives", response_model=shapes.Drives)
def drives(at: At, q: Annotated[str, Query(max_length=200)] = "", place: Annotated[str, Query(max_length=200)] = "",
           after: Annotated[int, Query(ge=0, le=10**9)] = 0,
           limit: Annotated[int, Query(ge=1, le=MOST_AT_ONCE)] = 100) -> dict[str, Any]:
    """Drives in order of place and tag; `q` and `place` choose among them as on the plant's page."""
    overview = at.station.glances.look()
    found = overview.seek(q) if q.strip() else overview.at(place) if place else overview.drives
    if q.strip() and place:
        wanted = {glance.drive_id for glance in overview.at(place)}
        found = tuple(glance for glance in found if glance.drive_id in wanted)
    end = after + limit
    return {"drives": [_line(glance) for glance in found[after:end]], "next": end if end < len(found) else None}


@router.post("/drives", response_model=shapes.Entered, status_code=201,
             responses={200: {"model": shapes.Entered, "description": "The drive was known: changed, or the same."}})
def enter(at: At, by: By, cells: shapes.Values, answer: Response) -> dict[str, Any]:
    """Enter a drive, or add to what is known of it, by the columns of the sheet: `{"tag": "FAN-12", "centre_mm": 600}`.

    An empty text leaves the earlier answer, a dash takes it back.
    """
    typed = {name: as_typed(value) for name, value in cells.items()}
    done = hand_in(at.book, [Row(1, typed)], by=by.name(None), at=now())
    if done.understood.problems:
        wrong = done.understood.problems
        raise SheetError("; ".join(f"{cell.column}: {cell.problem}" for cell in wrong), wrong)
    answer.status_code = 201 if done.entered else 200
    for became, tags in (("entered", done.entered), ("changed", done.changed), ("same", done.same)):
        for tag in tags:
            return {"tag": tag, "became": became}
    raise SheetError("nothing was handed in: a drive needs a tag and a name")


@router.get("/drives/{tag}", response_model=shapes.Drive)
def drive(at: At, tag: str) -> dict[str, Any]:
    """A drive as it is now, by the columns of the sheet."""
    made = at.book.drive_by_tag(tag)
    return {"id": made.drive_id, "tag": made.drive.tag, "name": made.drive.name, "place": made.drive.place,
            "since": made.since, "by": made.by, "cells": dict(made.drive.typed)}


@router.get("/drives/{tag}/card", response_model=shapes.Card)
def card(at: At, tag: str) -> dict[str, Any]:
    """The set-to numbers, what is judged of the build, what does not add up, what to read next."""
    return as_json.card_content(prepare.card(at.book, tag))


@router.get("/drives/{tag}/workings/{figure}", response_model=shapes.Figure)
def working(at: At, tag: str, figure: str) -> dict[str, Any]:
    """One figure of the card with its working: formula, the numbers put in, sources, how far to trust it."""
    return as_json.figure_content(prepare.working(at.book, tag, figure))


@router.get("/drives/{tag}/findings", response_model=shapes.Findings)
def findings(at: At, tag: str) -> dict[str, Any]:
    """What the readings say, most urgent first."""
    found = judge.findings(at.book, tag, now=now())
    return {"tag": at.book.drive_by_tag(tag).drive.tag, "urgency": worst(found),
            "findings": [as_json.finding_content(each) for each in found]}


def as_typed(value: object) -> str:
    """A JSON value as a person would have typed it.

    >>> as_typed(41.5), as_typed(1500.0), as_typed(True), as_typed("9.3 lbf")
    ('41.5', '1500', 'yes', '9.3 lbf')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.15g}"
    return str(value)


def _line(glance: Glance) -> dict[str, Any]:
    return {"tag": glance.tag, "name": glance.name, "place": glance.place, "belts": glance.belts,
            "stands": glance.stands, "reasons": [f"{reason.title}: {reason.said.text('si')}"
                                                for reason in glance.reasons]}
