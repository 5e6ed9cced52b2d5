"""One visit of a person to a page: the book, the person, and how a promised record becomes a page.

Every page function gets a `Visit` and gives its record to `Visit.show`. What the frame round each page needs (plant,
units, light, where one can go) is put together here, once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Annotated, Final

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from beltwright.bench.card import METHOD
from beltwright.book.store import Store
from beltwright.errors import InputError
from beltwright.plant.settings import Settings
from beltwright.units import System
from beltwright.web import gate
from beltwright.web.addresses import drive_at
from beltwright.web.glances import Glances
from beltwright.web.kept import Kept, Middle, parted
from beltwright.web.lately import Lately
from beltwright.web.packed import Piece, joined, pack, unpacked
from beltwright.web.person import KEPT, LIGHTS, SYSTEMS, Person, as_cookie, person
from beltwright.web.shelf import Shelf

# where one can always go: address, word, mark
PLACES: Final = (("/", "Plant", "plant"), ("/round", "Round", "round"), ("/survey", "Enter a drive", "enter"),
                 ("/labels", "Labels", "label"), ("/book", "Book", "book"))


# under which the plant keeps the address that labels hold
ADDRESS: Final = "address of the pages"


@dataclass(frozen=True, slots=True)
class Station:
    """What the app holds for every page.

    address: where people reach it, for the codes on labels; empty while it is served to this computer alone
    """

    book: Store
    glances: Glances
    templates: Environment
    shelf: Shelf
    lately: Lately
    kept: Kept = field(default_factory=Kept)
    address: str = ""

    @property
    def at_hand(self) -> bool:
        """Whether the book is a file, which answers at once; one on a server is asked from a thread of its own."""
        return self.book.database.path is not None


@dataclass(frozen=True, slots=True)
class Place:
    """Where one can always go: address, word, the mark beside it; and whether one is there."""

    href: str
    word: str
    mark: str
    here: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands round every page."""

    plant: str
    person: Person
    here: str
    places: tuple[Place, ...]
    systems: Mapping[System, str]
    lights: tuple[str, ...]
    method: str
    look_only: bool
    alone: bool
    role: str


@dataclass(frozen=True)
class Visit:
    """A person at a page, with the book open."""

    request: Request
    station: Station

    @property
    def book(self) -> Store:
        """The plant's record."""
        return self.station.book

    @cached_property
    def settings(self) -> Settings:
        """The plant's choices."""
        return self.station.lately.settings()

    @cached_property
    def address(self) -> str:
        """Where people's phones reach the pages, for codes on labels and cards; empty while nobody has said."""
        return self.station.address or self.settings.defaults.get(ADDRESS, "")

    @cached_property
    def person(self) -> Person:
        """Who is looking."""
        found = person(self.request.cookies, self.settings.system)
        if gate.door_of(self.request).alone:
            return found
        caller = gate.caller_of(self.request)
        return replace(found, name=caller.person.name if caller else "")

    def signed(self, typed: str) -> str:
        """The name that goes on record: that of who is logged in; alone with the book, the one typed."""
        return typed.strip() or self.person.name if gate.door_of(self.request).alone else self.person.name

    def show(self, template: str, page: object, *, status: int = 200) -> HTMLResponse:
        """The page that a promised record makes."""
        answer = HTMLResponse(gate.marked(self.request, self.text(template, page)), status)
        gate.keep_visitor(self.request, answer)
        return answer

    def show_kept(self, made: Middle) -> Response:
        """The page with a middle that was filled before: only what stands round it is this person's."""
        top, _, bottom = parted(gate.marked(self.request, self.text("kept.html", made)))
        return self.packed([pack(top.encode(), once=True), made.piece, pack(bottom.encode(), once=True)])

    def packed(self, pieces: Sequence[Piece]) -> Response:
        """Pieces that make a page or a part of one, packed as they are where the browser takes that."""
        headers = {"Vary": "Accept-Encoding"}
        if "gzip" in self.request.headers.get("accept-encoding", ""):
            headers["Content-Encoding"] = "gzip"
            answer = HTMLResponse(joined(pieces), headers=headers)
        else:
            answer = HTMLResponse(b"".join(map(unpacked, pieces)), headers=headers)
        gate.keep_visitor(self.request, answer)
        return answer

    def text(self, template: str, page: object) -> str:
        """The same as text."""
        return self.station.templates.get_template(template).render(page=page, frame=self._frame())

    def remember(self, answer: HTMLResponse | RedirectResponse, **choices: str) -> None:
        """Let the person's browser keep what they chose."""
        for name, chosen in choices.items():
            answer.set_cookie(name, as_cookie(chosen), max_age=KEPT, httponly=True, samesite="lax",
                              secure=self.request.url.scheme == "https")

    def _frame(self) -> Frame:
        path, query = self.request.url.path, self.request.url.query
        here = next((href for href, _, _ in PLACES[1:] if path.startswith(href)), "/")
        places = tuple(Place(href, word, mark, href == here) for href, word, mark in PLACES)
        back = f"{path}?{query}" if query and self.request.method == "GET" else path
        return Frame(self.settings.plant, self.person, back, places, SYSTEMS, LIGHTS, METHOD, not self.book.write,
                     gate.door_of(self.request).alone, gate.role_of(self.request) or "")


def nobody(system: System) -> Frame:
    """What would stand round a page of which the middle alone is wanted."""
    who = Person("", system, LIGHTS[0])
    return Frame("", who, "/", (), SYSTEMS, LIGHTS, METHOD, look_only=True, alone=True, role="")


def station_of(request: Request) -> Station:
    """What the app holds."""
    station: Station = request.app.state.station
    return station


async def visit(request: Request) -> Visit:
    """The visit a request is. Async, for what is not is handed to a thread and costs more than all that is done here.
    """
    return Visit(request, station_of(request))


async def typed(request: Request) -> Mapping[str, str]:
    """The texts of a form as typed; of a box that is there twice, the last. `InputError` when it cannot be read."""
    from starlette.exceptions import HTTPException

    try:
        form = await request.form(max_files=gate.MOST_FILES, max_fields=gate.MOST_FIELDS)
    except HTTPException as problem:
        raise InputError(f"the form cannot be read: {problem.detail}") from None
    return {name: text for name, text in form.items() if isinstance(text, str)}


At = Annotated[Visit, Depends(visit)]
Typed = Annotated[Mapping[str, str], Depends(typed)]


def environment(shelf: Shelf) -> Environment:
    """The templates: everything put into them is escaped, and what is not promised is an error."""
    templates = Environment(loader=PackageLoader("beltwright.web"), autoescape=True, undefined=StrictUndefined,
                            trim_blocks=True, lstrip_blocks=True, auto_reload=False)
    templates.globals.update(static=shelf.address, drive_at=drive_at, pages_version=lambda: shelf.version)
    templates.filters.update(mark=_mark, first_up=first_up)
    return templates


# the shape that stands for a word, where it is not called by it
_MARKS: Final = {"falls short": "short", "not judged": "unknown", "wrong": "short", "doubtful": "note",
                 "not used": "note", "stop and mend": "danger", "mend at next stop": "short", "sound": "good",
                 "plan": "to-plan", "to come": "wait"}


def _mark(answer: str) -> str:
    """The name of the shape that stands for an answer."""
    return _MARKS.get(answer, answer)


def first_up(text: str) -> str:
    """A sentence part as a sentence begins.

    >>> first_up("span, tangent to tangent")
    'Span, tangent to tangent'
    """
    return text[:1].upper() + text[1:]


def drawn(svg: str) -> Markup:
    """A drawing of our own making, for a template to put in as it is."""
    return Markup(svg)
