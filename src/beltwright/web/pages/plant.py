"""The plant: what needs a hand first and why, every drive by place, and finding one of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from beltwright.desk.standing import ORDER, Stands
from beltwright.errors import Unknown
from beltwright.plant.identity import loose
from beltwright.units import System
from beltwright.web.addresses import drive_at
from beltwright.web.glances import Glance, Overview, glance
from beltwright.web.visit import At, first_up

router = APIRouter()

# drives shown one by one on a page; a plant with more is shown by its places
ON_A_PAGE: Final = 60
FIRST_HANDS: Final = 6
# pages of an unchanged plant that are kept filled
_KEPT: Final = 32
NO_PLACE: Final = "no place noted"
TO_COME: Final = "to come"


@dataclass(frozen=True, slots=True)
class Line:
    """A drive in the list. `why` and `do`: of the most urgent reason, where there is one."""

    tag: str
    href: str
    name: str
    place: str
    belts: str
    stands: str
    title: str = ""
    why: str = ""
    do: str = ""


@dataclass(frozen=True, slots=True)
class Tally:
    """How many drives stand so, and where they are listed."""

    stands: str
    number: str
    href: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Place:
    """A place: its drives, or in a large plant only how many and where they are listed."""

    name: str
    href: str
    number: str
    tallies: tuple[Tally, ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Area:
    """Places under one roof, in a large plant."""

    name: str
    number: str
    places: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class PlantPage:
    """The plant, or the part of it that was asked for."""

    plant: str
    title: str
    sought: str
    drives: str
    tallies: tuple[Tally, ...]
    to_come: str
    first_hands: tuple[Line, ...]
    more_hands: str
    areas: tuple[Area, ...]
    places: tuple[Place, ...]
    asked: bool
    nothing: str
    before: str
    after: str
    stretch: str


@dataclass(frozen=True, slots=True)
class Asked:
    """What part of the plant is asked for."""

    q: str = ""
    place: str = ""
    state: str = ""

    def href(self, **other: str) -> str:
        """The address of the same with something else."""
        asked = {"q": self.q, "place": self.place, "state": self.state, **other}
        words = urlencode({name: text for name, text in asked.items() if text})
        return f"/?{words}" if words else "/"


@router.get("/", name="plant", response_model=None)
def plant(at: At, q: str = "", place: str = "", state: str = "", page: int = 1) -> Response:
    """The plant; a search that names one drive's tag goes to that drive."""
    asked = Asked(q.strip(), place, state if state in ORDER else "")
    if asked.q and asked == Asked(q=asked.q) and (tag := only_one(at, asked.q)):
        return RedirectResponse(drive_at(tag), 303)
    return at.show("plant.html", plant_page(seen(at, asked), at.settings.plant, at.person.system, asked, page))


@router.get("/found", name="found")
def found(at: At, q: str = "") -> HTMLResponse:
    """What a search finds, as the part of the plant's page that holds it: for searching while one types."""
    asked = Asked(q.strip())
    return at.show("_found.html", plant_page(seen(at, asked), at.settings.plant, at.person.system, asked, 1))


@router.get("/d/{tag:path}", name="by_label")
def by_label(at: At, tag: str) -> RedirectResponse:
    """The address in the code on a label: short, and the same whatever becomes of the pages."""
    return RedirectResponse(drive_at(at.book.drive_by_tag(tag).drive.tag), 303)


def only_one(at: At, text: str) -> str:
    """The tag of the drive whose tag the text is, as people remember it; nothing for words that are no tag."""
    whole, overview = loose(text), at.station.glances.look()
    tag = overview.tags.get(whole, "")
    if tag or not whole or not overview.to_come:
        return tag
    try:
        return at.book.drive_by_tag(text).drive.tag
    except Unknown:
        return ""


def seen(at: At, asked: Asked) -> Overview:
    """The plant at a glance; while not all of it is judged, what is sought is looked for in the book itself."""
    overview = at.station.glances.look()
    if not (overview.to_come and asked.q):
        return overview
    known = {found.drive_id for found in overview.drives}
    rest = tuple(glance(make_up) for make_up in at.book.search(asked.q) if make_up.drive_id not in known)
    return replace(overview, drives=overview.drives + rest)


@lru_cache(maxsize=_KEPT)
def plant_page(overview: Overview, name: str, system: System, asked: Asked, page: int) -> PlantPage:
    """Fill the page."""
    chosen = _chosen(overview, asked)
    shown = [one for one in chosen if not asked.state or one.stands == asked.state]
    narrowed = asked != Asked()
    whole = not narrowed and len(overview.drives) > ON_A_PAGE
    last = max(1, -(-len(shown) // ON_A_PAGE))
    page = min(max(page, 1), last)
    some = [] if whole else shown[(page - 1) * ON_A_PAGE:page * ON_A_PAGE]
    hands = () if narrowed else overview.first_hands()
    return PlantPage(
        plant=name, title=asked.place or name, sought=asked.q, drives=_counted(len(shown)),
        tallies=_tallies(chosen, asked), to_come=f"{overview.to_come:,}" if overview.to_come else "",
        first_hands=tuple(line(one, system) for one in hands[:FIRST_HANDS]),
        more_hands=f"{len(hands) - FIRST_HANDS:,} more" if len(hands) > FIRST_HANDS else "",
        areas=_areas(overview, asked) if whole else (), places=_listed(some, system, asked), asked=narrowed,
        nothing="" if shown else _nothing(overview, asked),
        before=asked.href(page=str(page - 1)) if page > 1 and not whole else "",
        after=asked.href(page=str(page + 1)) if page < last and not whole else "",
        stretch=f"page {page} of {last}" if last > 1 and not whole else "")


def line(one: Glance, system: System) -> Line:
    """A drive as a line of the list."""
    reason = one.reasons[0] if one.reasons else None
    return Line(one.tag, drive_at(one.tag), one.name, one.place, one.belts, one.stands or TO_COME,
                reason.title if reason else "", first_up(reason.said.text(system)) if reason else "",
                first_up(reason.do.text(system)) if reason else "")


def _chosen(overview: Overview, asked: Asked) -> Sequence[Glance]:
    found = overview.seek(asked.q) if asked.q else overview.drives
    if not asked.place:
        return found
    there = {one.drive_id for one in overview.at("" if asked.place == NO_PLACE else asked.place)}
    return [one for one in found if one.drive_id in there]


def _tallies(drives: Iterable[Glance], asked: Asked) -> tuple[Tally, ...]:
    counts: Counter[Stands] = Counter(one.stands for one in drives if one.stands is not None)
    return tuple(Tally(stands, f"{counts[stands]:,}", asked.href(state="" if asked.state == stands else stands),
                       asked.state == stands) for stands in ORDER if counts[stands] or asked.state == stands)


def _listed(some: Iterable[Glance], system: System, asked: Asked) -> tuple[Place, ...]:
    """The drives themselves, by place; what a search found stays in the order of nearness."""
    listed = list(some)
    if asked.q:
        listed_by: Iterable[tuple[str, Iterable[Glance]]] = [("", listed)] if listed else []
    else:
        listed_by = groupby(listed, key=lambda one: one.place)
    return tuple(Place(place if place or asked.q else first_up(NO_PLACE), asked.href(place=place), "", (),
                       tuple(line(one, system) for one in there)) for place, there in listed_by)


def _areas(overview: Overview, asked: Asked) -> tuple[Area, ...]:
    areas = []
    for area, inside in groupby(overview.places(), key=lambda pair: pair[0].partition(" / ")[0]):
        places = list(inside)
        areas.append(Area(area or first_up(NO_PLACE), _counted(sum(len(some) for _, some in places)), tuple(
            Place(place.partition(" / ")[2] or place or first_up(NO_PLACE), asked.href(place=place or NO_PLACE),
                  f"{len(some):,}", _tallies(some, Asked(place=place or NO_PLACE)), ()) for place, some in places)))
    return tuple(areas)


def _nothing(overview: Overview, asked: Asked) -> str:
    if not overview.drives:
        return "There is no drive in the book yet."
    if asked.q:
        return f"No drive with “{asked.q}” in its tag, name, place or belt marking."
    return "No drive here."


def _counted(number: int) -> str:
    return "1 drive" if number == 1 else f"{number:,} drives"
