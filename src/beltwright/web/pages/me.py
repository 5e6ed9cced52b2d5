"""A person's own page: what they may do, their password, where they are logged in, their tokens and calendar."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from beltwright.desk import people
from beltwright.desk.people import Caller
from beltwright.errors import InputError, Refused
from beltwright.plant.identity import now
from beltwright.plant.person import MAY, ROLES, Purpose, Token
from beltwright.web import gate
from beltwright.web.visit import At, Typed

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Device:
    """Where a person is logged in."""

    words: str
    began: str
    seen: str
    here: bool


@dataclass(frozen=True, slots=True)
class Key:
    """A token as it is shown: never its secret."""

    id: str
    label: str
    holder: str
    may: str
    made: str
    used: str


@dataclass(frozen=True, slots=True)
class MePage:
    """One's own page. `secret`: of the token just made, shown this once; `problem` with the form named in `wrong`."""

    name: str
    role: str
    may: str
    first: bool
    devices: tuple[Device, ...]
    tokens: tuple[Key, ...]
    calendars: tuple[Key, ...]
    roles: tuple[str, ...]
    secret: str = ""
    secret_for: str = ""
    problem: str = ""
    wrong: str = ""
    done: str = ""


@router.get("/me", response_model=None)
def me(at: At) -> Response:
    """One's own page; alone with the book there is none."""
    caller = gate.caller_of(at.request)
    if caller is None:
        return RedirectResponse("/people", 303)
    return _page(at, caller)


@router.post("/me/password", response_model=None)
def password(at: At, typed: Typed) -> Response:
    """Change the password; sessions elsewhere end."""
    caller = _somebody(at)
    try:
        if typed.get("new", "") != typed.get("again", ""):
            raise InputError("the two new passwords differ: type the same one twice")
        people.change_own_password(gate.door_of(at.request).register, caller.person, typed.get("old", ""),
                                   typed.get("new", ""), at=now(), keep=gate.session_of(at.request))
    except (InputError, Refused) as problem:
        return _page(at, caller, problem=str(problem), wrong="password", status=422)
    return RedirectResponse("/" if caller.person.first else "/me", 303)


@router.post("/me/sessions")
def log_out_elsewhere(at: At) -> RedirectResponse:
    """End the person's sessions on every other device."""
    people.log_out_elsewhere(gate.door_of(at.request).register, _somebody(at).person.id,
                             keep=gate.session_of(at.request))
    return RedirectResponse("/me", 303)


@router.post("/me/tokens", response_model=None)
def make_token(at: At, typed: Typed) -> Response:
    """Make a token or a calendar's address; its secret is shown on this answer and never again."""
    caller = _somebody(at)
    purpose: Purpose = "calendar" if typed.get("purpose") == "calendar" else "api"
    try:
        token, secret = people.make_token(gate.door_of(at.request).register, caller.person.id,
                                          typed.get("label", ""), typed.get("role") or None, by=caller.person.name,
                                          at=now(), purpose=purpose)
    except (InputError, Refused) as problem:
        return _page(at, caller, problem=str(problem), wrong=purpose, status=422)
    shown = calendar_address(at, secret) if purpose == "calendar" else secret
    return _page(at, caller, secret=shown, secret_for=token.label)


@router.post("/me/tokens/{token_id}/end")
def end_token(at: At, token_id: UUID) -> RedirectResponse:
    """End one of one's own tokens."""
    caller = _somebody(at)
    people.end_token(gate.door_of(at.request).register, token_id, by=caller.person.name, at=now(), of=caller.person.id)
    return RedirectResponse("/me", 303)


def calendar_address(at: At, secret: str) -> str:
    """The address a calendar fetches, whole, for people copy it elsewhere."""
    base = at.address.rstrip("/") or f"{at.request.url.scheme}://{at.request.url.netloc}"
    return f"{base}/calendar/{secret}.ics"


def key(token: Token, holder: str) -> Key:
    """A token as it is shown."""
    return Key(str(token.id), token.label, holder, token.role, day(token.made_at),
               "never" if token.used_at is None else day(token.used_at))


def day(moment: datetime) -> str:
    """A moment as it stands in a list: to the minute, in UTC."""
    return f"{moment:%Y-%m-%d %H:%M} UTC"


def device_words(said: str) -> str:
    """A browser in words, by what it says of itself.

    >>> device_words("Mozilla/5.0 (Linux; Android 14; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126 Safari/537")
    'Chrome, Android'
    >>> device_words("curl/8.5")
    'curl/8.5'
    """
    program = next((word for sign, word in _PROGRAMS if sign in said), "")
    system = next((word for sign, word in _SYSTEMS if sign in said), "")
    return ", ".join(filter(None, (program, system))) or said or "a browser that does not say"


# the first that stands in what a browser says counts: most say that they are others, too
_PROGRAMS: Final = (("Edg", "Edge"), ("OPR", "Opera"), ("SamsungBrowser", "Samsung Internet"), ("Firefox", "Firefox"),
                    ("FxiOS", "Firefox"), ("CriOS", "Chrome"), ("Chrome", "Chrome"), ("Safari", "Safari"))
_SYSTEMS: Final = (("Android", "Android"), ("iPhone", "iPhone"), ("iPad", "iPad"), ("Windows", "Windows"),
                   ("Macintosh", "Mac"), ("CrOS", "Chromebook"), ("Linux", "Linux"))


def _somebody(at: At) -> Caller:
    caller = gate.caller_of(at.request)
    if caller is None:
        raise Refused("this book is served to this computer alone: nobody logs in here")
    return caller


def _page(at: At, caller: Caller, *, secret: str = "", secret_for: str = "", problem: str = "", wrong: str = "",
          status: int = 200) -> HTMLResponse:
    register, person = gate.door_of(at.request).register, caller.person
    here = caller.session.secret if caller.session else ""
    devices = tuple(Device(device_words(session.device), day(session.began_at),
                           day(session.seen_at), session.secret == here) for session in register.sessions(person.id))
    tokens = [token for token in register.tokens(person.id) if token.ended_at is None]
    may = tuple(role for role in ROLES if people.may(person.role, role))
    answer = at.show("me.html", MePage(
        person.name, person.role, MAY[person.role], person.first, devices,
        tuple(key(token, person.name) for token in tokens if token.purpose == "api"),
        tuple(key(token, person.name) for token in tokens if token.purpose == "calendar"), may,
        secret, secret_for, problem, wrong), status=status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
