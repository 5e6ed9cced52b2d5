"""The people of the plant, for who keeps the book: added, given another role or first password, retired; the audit."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from beltwright.desk import people
from beltwright.desk.register import Register
from beltwright.errors import InputError, Refused
from beltwright.plant.identity import now
from beltwright.plant.person import MAY, ROLES
from beltwright.web import gate
from beltwright.web.pages.changes import Line
from beltwright.web.pages.me import Key, day, key
from beltwright.web.visit import At, Typed

router = APIRouter()

# lines of the audit on the page
MOST_CHANGES = 100


@dataclass(frozen=True, slots=True)
class Somebody:
    """A person in the list."""

    id: str
    name: str
    role: str
    since: str
    seen: str
    first: bool


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """Everybody. `given`: the first password just made, shown this once, and whose it is."""

    people: tuple[Somebody, ...]
    retired: tuple[Somebody, ...]
    roles: tuple[tuple[str, str], ...]
    tokens: tuple[Key, ...]
    changes: tuple[Line, ...]
    alone: bool
    given: str = ""
    given_to: str = ""
    problem: str = ""
    name: str = ""
    role: str = "note"


@router.get("/people")
def everybody(at: At) -> HTMLResponse:
    """The people, their tokens, and what was changed."""
    return _page(at)


@router.post("/people", response_model=None)
def add(at: At, typed: Typed) -> Response:
    """Add a person; the first password is shown on this answer and never again."""
    try:
        person, given = people.add(_register(at), typed.get("name", ""), typed.get("role", ""), by=_by(at), at=now())
    except (InputError, Refused) as problem:
        return _page(at, problem=str(problem), name=typed.get("name", ""), role=typed.get("role", ""), status=422)
    return _page(at, given=given, given_to=person.name)


@router.post("/people/{person_id}/role")
def role(at: At, person_id: UUID, typed: Typed) -> RedirectResponse:
    """Another role."""
    people.change_role(_register(at), person_id, typed.get("role", ""), by=_by(at), at=now())
    return RedirectResponse("/people", 303)


@router.post("/people/{person_id}/password")
def password(at: At, person_id: UUID) -> HTMLResponse:
    """A first password for somebody who has lost theirs."""
    given = people.reset_password(_register(at), person_id, by=_by(at), at=now())
    return _page(at, given=given, given_to=_register(at).person(person_id).name)


@router.post("/people/{person_id}/retire")
def retire(at: At, person_id: UUID) -> RedirectResponse:
    """Somebody has left."""
    people.retire(_register(at), person_id, by=_by(at), at=now())
    return RedirectResponse("/people", 303)


@router.post("/people/{person_id}/bring-back")
def bring_back(at: At, person_id: UUID) -> HTMLResponse:
    """Somebody is here again."""
    person, given = people.bring_back(_register(at), person_id, by=_by(at), at=now())
    return _page(at, given=given, given_to=person.name)


@router.post("/people/tokens/{token_id}/end")
def end_token(at: At, token_id: UUID) -> RedirectResponse:
    """End anybody's token."""
    people.end_token(_register(at), token_id, by=_by(at), at=now())
    return RedirectResponse("/people", 303)


def _register(at: At) -> Register:
    return gate.door_of(at.request).register


def _by(at: At) -> str:
    return at.person.name or "this computer"


def _page(at: At, *, given: str = "", given_to: str = "", problem: str = "", name: str = "", role: str = "note",
          status: int = 200) -> HTMLResponse:
    register = _register(at)
    there = register.people()
    seen = {person.id: sessions[0].seen_at for person in there if (sessions := register.sessions(person.id))}
    names = {person.id: person.name for person in there}
    listed = [(person, Somebody(str(person.id), person.name, person.role, day(person.added_at),
                                day(seen[person.id]) if person.id in seen else "not logged in", person.first))
              for person in there]
    answer = at.show("people.html", PeoplePage(
        tuple(shown for person, shown in listed if person.retired_at is None),
        tuple(shown for person, shown in listed if person.retired_at is not None),
        tuple((each, MAY[each]) for each in ROLES),
        tuple(key(token, names[token.person_id]) for token in register.tokens() if token.ended_at is None),
        tuple(Line(day(change.at), change.by, change.what, change.about, change.detail)
              for change in register.changes(most=MOST_CHANGES)),
        gate.door_of(at.request).alone, given, given_to, problem, name, role), status=status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
