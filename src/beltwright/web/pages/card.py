"""The job card of a drive: a page to print, and the same as PDF."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response
from markupsafe import Markup

from beltwright.bench.card import make_card
from beltwright.paper.card_pdf import card_pdf
from beltwright.paper.drawing import PAGE, drawing
from beltwright.paper.sheet import Sheet, sheet
from beltwright.plant.identity import now
from beltwright.web.addresses import drive_at, slug
from beltwright.web.visit import At, drawn

router = APIRouter()


@dataclass(frozen=True, slots=True)
class CardPage:
    """The card as texts, its drawing, and where its drive and its PDF are."""

    sheet: Sheet
    drawing: Markup
    drive: str
    pdf: str


@router.get("/drives/{tag}/card", name="card")
def card(at: At, tag: str) -> HTMLResponse:
    """The card to be printed."""
    made = make_card(at.book.drive_by_tag(tag).drive)
    texts = sheet(made, at.person.system, plant=at.settings.plant, base_url=at.address, made_on=now().date())
    page = CardPage(texts, drawn(drawing(made, at.person.system, PAGE)), drive_at(texts.tag),
                    drive_at(texts.tag, "card.pdf"))
    return at.show("card.html", page)


@router.get("/drives/{tag}/card.pdf", name="card_pdf")
def as_pdf(at: At, tag: str) -> Response:
    """The card as a file to print or send."""
    drive = at.book.drive_by_tag(tag).drive
    data = card_pdf(make_card(drive), at.person.system, plant=at.settings.plant, base_url=at.address,
                    made_on=now().date())
    return pdf(data, f"card {slug(drive.tag)}")


def pdf(data: bytes, name: str) -> Response:
    """A PDF to be seen in the browser, with a name for who keeps it."""
    plain = name.encode("ascii", "replace").decode().replace("?", "-")
    return Response(data, media_type="application/pdf",
                    headers={"Content-Disposition": f'inline; filename="{plain}.pdf"'})
