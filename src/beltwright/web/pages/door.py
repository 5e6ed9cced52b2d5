"""Logging in and out."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from beltwright.desk import people
from beltwright.errors import InputError, Refused
from beltwright.plant.identity import now
from beltwright.web import gate
from beltwright.web.visit import At, Typed

router = APIRouter()


@dataclass(frozen=True, slots=True)
class LogInPage:
    """The door: what was typed and what was wrong with it; where to go then; whether phones can be made to trust us."""

    name: str
    back: str
    problem: str
    nobody_yet: bool
    trust: bool


@router.get("/log-in", response_model=None)
def door(at: At, back: str = "/") -> Response:
    """The door; who is in already, or alone with the book, goes on."""
    if gate.role_of(at.request) is not None:
        return RedirectResponse(gate.own_address(back), 303)
    return _door(at, "", back, "")


@router.post("/log-in", response_model=None)
def log_in(at: At, typed: Typed) -> Response:
    """Begin a session and go where the person wanted to; a failed try is answered in the same words always."""
    register = gate.door_of(at.request).register
    name, back = typed.get("name", ""), gate.own_address(typed.get("back", "/"))
    try:
        person, secret = people.log_in(register, name, typed.get("password", ""), address=_address(at.request),
                                       device=at.request.headers.get("user-agent", ""), at=now())
    except InputError as problem:
        return _door(at, name, back, str(problem), 422)
    except Refused as problem:
        answer = _door(at, name, back, str(problem), 429)
        answer.headers["Retry-After"] = str(int(people.WINDOW.total_seconds()))
        return answer
    people.log_out(register, gate.session_of(at.request))
    going = RedirectResponse("/me" if person.first else back, 303)
    gate.keep_session(at.request, going, secret)
    return going


@router.post("/log-out")
def log_out(at: At) -> RedirectResponse:
    """End the session, here and in the book."""
    people.log_out(gate.door_of(at.request).register, gate.session_of(at.request))
    going = RedirectResponse("/log-in", 303)
    gate.keep_session(at.request, going, "")
    return going


def _door(at: At, name: str, back: str, problem: str, status: int = 200) -> HTMLResponse:
    door = gate.door_of(at.request)
    page = LogInPage(name[:people.LONGEST_NAME], gate.own_address(back), problem, not door.register.people(),
                     door.authority is not None)
    answer = at.show("log_in.html", page, status=status)
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _address(request: Request) -> str:
    return request.client.host if request.client else ""
