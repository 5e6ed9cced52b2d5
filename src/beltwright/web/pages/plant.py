"""The plant: what needs a hand first and why, every drive by place, and finding one of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from beltwright.desk.standing import ORDER, Stands
from beltwright.plant.identity import loose, now
from beltwright.units import System
from beltwright.web.addresses import drive_at
from beltwright.web.glance import Glance, Overview
from beltwright.web.kept import FOR_EVER, Key, Middle, middle
from beltwright.web.lately import chosen
from beltwright.web.packed import pack
from beltwright.web.visit import At, Visit, first_up

router = APIRouter()

# drives shown one by one on a page; a plant with more is shown by its places
ON_A_PAGE: Final = 60
FIRST_HANDS: Final = 6
# the part that a search fills, among the pages of what it finds
_PART: Final = 0
_MODULES: Final = ("seek.js",)
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


@router.get("/", name="plant", response_class=HTMLResponse)
async def plant(at: At, q: str = "", place: str = "", state: str = "", page: int = 1) -> Response:
    """The plant; a search that names one drive's tag goes to that drive."""
    asked = Asked(q.strip(), place, state if state in ORDER else "")
    made = _kept(at, asked, page) if at.station.at_hand else None
    return at.show_kept(made) if made else await run_in_threadpool(_plant, at, asked, page)


def _plant(at: Visit, asked: Asked, page: int) -> Response:
    if asked.q and asked == Asked(q=asked.q) and (tag := only_one(at, asked.q)):
        return RedirectResponse(drive_at(tag), 303)
    filled, overview = _filled(at, asked, page)
    made = middle(at.text("plant.html", filled), filled.title, _MODULES)
    return at.show_kept(_keep(at, asked, page, overview, made))


@router.get("/found", name="found", response_class=HTMLResponse)
async def found(at: At, q: str = "") -> Response:
    """What a search finds, as the part of the plant's page that holds it: for searching while one types."""
    asked = Asked(q.strip())
    made = _kept(at, asked, _PART) if at.station.at_hand else None
    return at.packed([made.piece]) if made else await run_in_threadpool(_found, at, asked)


def _found(at: Visit, asked: Asked) -> Response:
    filled, overview = _filled(at, asked, 1)
    made = Middle("", (), pack(at.text("_found.html", filled).encode()))
    return at.packed([_keep(at, asked, _PART, overview, made).piece])


def _filled(at: Visit, asked: Asked, page: int) -> tuple[PlantPage, Overview]:
    overview = at.station.glances.look()
    return plant_page(overview, at.settings.plant, at.person.system, asked, page), overview


def _kept(at: Visit, asked: Asked, page: int) -> Middle | None:
    overview = at.station.glances.at_hand()
    return at.station.kept.get(_key(at, asked, page), _made_of(at, overview), now()) if overview else None


def _keep(at: Visit, asked: Asked, page: int, overview: Overview, made: Middle) -> Middle:
    """Keep what was filled from a plant that is judged to the end."""
    if not overview.to_come:
        at.station.kept.put(_key(at, asked, page), _made_of(at, overview), FOR_EVER, made)
    return made


def _key(at: Visit, asked: Asked, page: int) -> Key:
    return "plant", asked, page, at.person.system


def _made_of(at: Visit, overview: Overview) -> str:
    return f"{overview.serial} {chosen(at.settings)}"


@router.get("/d/{tag:path}", name="by_label")
def by_label(at: At, tag: str) -> RedirectResponse:
    """The address in the code on a label: short, and the same whatever becomes of the pages."""
    return RedirectResponse(drive_at(at.book.drive_by_tag(tag).drive.tag), 303)


def only_one(at: Visit, text: str) -> str:
    """The tag of the drive whose tag the text is, as people remember it; nothing for words that are no tag."""
    whole, overview = loose(text), at.station.glances.look()
    tag = overview.tags.get(whole, "")
    if tag or not whole or not overview.to_come:
        return tag
    return next((make_up.drive.tag for make_up in at.book.drives_called([text])), "")


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
    there = overview.at("" if asked.place == NO_PLACE else asked.place) if asked.place else overview.drives
    if not asked.q:
        return there
    found = overview.seek(asked.q)
    if not asked.place:
        return found
    here = {one.drive_id for one in there}
    return [one for one in found if one.drive_id in here]


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
    if not overview.drives and overview.to_come:
        return "The drives are being read out of the book: load this page again in a moment."
    if not overview.drives:
        return "There is no drive in the book yet."
    if asked.q:
        return f"No drive with “{asked.q}” in its tag, name, place or belt marking."
    return "No drive here."


def _counted(number: int) -> str:
    return "1 drive" if number == 1 else f"{number:,} drives"
