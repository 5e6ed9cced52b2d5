"""Who changed what in the book, the latest first, for who keeps it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import HTMLResponse

from beltwright.book.changes import latest
from beltwright.web.pages.me import day
from beltwright.web.visit import At

router = APIRouter()

FEW, MOST = 100, 5000


@dataclass(frozen=True, slots=True)
class Line:
    """One change, in words."""

    at: str
    by: str
    what: str
    about: str
    detail: str


@dataclass(frozen=True, slots=True)
class ChangesPage:
    """The latest changes; `more`: how many to ask for to see earlier ones, none where these are all."""

    lines: tuple[Line, ...]
    more: int | None


@router.get("/book/changes", name="changes")
def changes(at: At, most: Annotated[int, Query(ge=1, le=MOST)] = FEW) -> HTMLResponse:
    """The latest changes."""
    found = latest(at.book, most=most)
    more = min(most * 5, MOST) if len(found) == most < MOST else None
    return at.show("changes.html", ChangesPage(tuple(
        Line(day(change.at), change.by, change.what, change.about, change.detail.replace(" -> ", " → "))
        for change in found), more))
