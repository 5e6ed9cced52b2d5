"""The job card of a drive: a page to print, and the same as PDF."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from beltwright.bench.card import make_card
from beltwright.paper.sheet import Sheet, sheet
from beltwright.plant.identity import now
from beltwright.web.addresses import drive_at
from beltwright.web.visit import At

router = APIRouter()


@dataclass(frozen=True, slots=True)
class CardPage:
    """The card as texts, and where its drive and its PDF are."""

    sheet: Sheet
    drive: str
    pdf: str


@router.get("/drives/{tag}/card", name="card")
def card(at: At, tag: str) -> HTMLResponse:
    """The card to be printed."""
    drive = at.book.drive_by_tag(tag).drive
    made = sheet(make_card(drive), at.person.system, plant=at.settings.plant, base_url=at.station.address,
                 made_on=now().date())
    return at.show("card.html", CardPage(made, drive_at(drive.tag), ""))
