"""Labels for guards: which drives, how they look, and the sheet to print."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final
from urllib.parse import urlencode, urlsplit

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from beltwright.errors import InputError
from beltwright.paper.card_pdf import qr
from beltwright.paper.labels import ON_A_SHEET, WORDS, WORDS_TAG, labels_pdf
from beltwright.paper.sheet import address
from beltwright.plant.drive import Drive
from beltwright.plant.identity import now
from beltwright.web.glance import Glance
from beltwright.web.pages.card import pdf
from beltwright.web.visit import ADDRESS, At, Typed, drawn

router = APIRouter()

# labels shown on a page, and made at once
SHOWN: Final = 20
MOST: Final = 500


@dataclass(frozen=True, slots=True)
class Label:
    """A label as it will be printed."""

    tag: str
    name: str
    place: str
    code: Markup
    address: str


@dataclass(frozen=True, slots=True)
class Option:
    """A place whose drives labels can be made for."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class LabelsPage:
    """Labels chosen and shown."""

    words: str
    labels: tuple[Label, ...]
    number: str
    more: str
    pdf: str
    places: tuple[Option, ...]
    sought: str
    used: str
    uses: tuple[str, ...]
    address: str
    address_problem: str
    fixed: bool
    can_choose: bool
    too_many: str


@router.get("/labels", name="labels")
def labels(at: At, place: str = "", q: str = "", tag: str = "", used: int = 0) -> HTMLResponse:
    """The labels of the drives chosen; none yet: of all."""
    return at.show("labels.html", labels_page(at, place, q.strip(), tag, used))


@router.get("/labels.pdf", name="labels_pdf")
def as_pdf(at: At, place: str = "", q: str = "", tag: str = "", used: int = 0) -> Response:
    """The sheet to print."""
    chosen = _chosen(at, place, q.strip(), tag)
    if len(chosen) > MOST:
        raise InputError(f"{len(chosen)} labels at once are too many: choose a place, {MOST} at most")
    drives = [at.book.drive(glance.drive_id).drive for glance in chosen]
    return pdf(labels_pdf(drives, base_url=at.address, plant=at.settings.plant, used=used, made_on=now().date()),
               "labels")


@router.get("/drives/{tag}/label", name="label")
def label(at: At, tag: str) -> RedirectResponse:
    """The label of one drive."""
    return RedirectResponse(f"/labels?{urlencode({'tag': at.book.drive_by_tag(tag).drive.tag})}", 303)


@router.post("/labels/address", name="label_address", response_model=None)
def choose_address(at: At, typed: Typed) -> Response:
    """Keep the address that the codes hold, for all labels and cards of the plant."""
    given = typed.get("address", "").strip().rstrip("/")
    if given and (problem := _address_problem(given)):
        page = replace(labels_page(at, "", "", "", 0), address=given, address_problem=problem)
        return at.show("labels.html", page, status=422)
    settings = at.settings
    at.book.change_settings(replace(settings, defaults={**settings.defaults, ADDRESS: given}),
                            by=at.person.name or "this computer")
    return RedirectResponse("/labels", 303)


def labels_page(at: At, place: str, sought: str, tag: str, used: int) -> LabelsPage:
    """Fill the page."""
    chosen = _chosen(at, place, sought, tag)
    shown = [at.book.drive(glance.drive_id).drive for glance in chosen[:SHOWN]]
    more = len(chosen) - len(shown)
    query = urlencode({name: text for name, text in (("place", place), ("q", sought), ("tag", tag),
                                                     ("used", used or "")) if text})
    places = list(dict.fromkeys(glance.place for glance in at.station.glances.look().drives if glance.place))
    return LabelsPage(
        WORDS if at.address else WORDS_TAG, tuple(_label(drive, at.address) for drive in shown),
        "1 label" if len(chosen) == 1 else f"{len(chosen):,} labels", f"and {more:,} more on the sheet" if more else "",
        "" if not chosen or len(chosen) > MOST else f"/labels.pdf?{query}" if query else "/labels.pdf",
        (Option("", "the whole plant", not place), *(Option(name, name, name == place) for name in places)),
        tag or sought, str(used), tuple(str(number) for number in range(ON_A_SHEET)), at.address, "",
        bool(at.station.address), at.book.write,
        f"Choose a place: {MOST} labels at most are made at once." if len(chosen) > MOST else "")


def _chosen(at: At, place: str, sought: str, tag: str) -> Sequence[Glance]:
    overview = at.station.glances.look()
    if tag:
        make_up = at.book.drive_by_tag(tag)
        return [glance for glance in overview.drives if glance.drive_id == make_up.drive_id]
    found = overview.seek(sought) if sought else overview.drives
    there = {glance.drive_id for glance in overview.at(place)} if place else None
    return [glance for glance in found if there is None or glance.drive_id in there]


def _label(drive: Drive, base: str) -> Label:
    return Label(drive.tag, drive.name, drive.place, _code(address(drive.tag, base)), address(drive.tag, base))


def _code(words: str) -> Markup:
    """The code in whatever size its place has: a view box instead of a size."""
    return drawn(re.sub(r'width="(\d+)" height="(\d+)"', r'viewBox="0 0 \1 \2"', qr(words), count=1))


def _address_problem(given: str) -> str:
    parts = urlsplit(given)
    if parts.scheme not in ("http", "https") or not parts.netloc or parts.query or parts.fragment:
        return f"“{given}” is no address: type it like https://belts.mill.example"
    return ""
