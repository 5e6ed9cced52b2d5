"""Who is asking, whether they may, and whether a form is one of ours: asked before every page and every call.

Served to this computer alone there is one person and no log-in. Otherwise a browser holds a session in a cookie and a
program a token; `roles` says what each address asks for. Every form carries a token that follows from the cookie of
the browser it was made for (`marked` puts it in, so that no template can forget it); a page of another site knows
neither. Calls of the API need none: `entry` lets nothing change that a foreign page has sent.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from urllib.parse import quote, urlsplit

from fastapi import Request
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from beltwright.desk import passwords, people
from beltwright.desk.people import KEEPER, Caller
from beltwright.desk.register import Register
from beltwright.errors import InputError
from beltwright.plant.identity import now
from beltwright.plant.person import Role
from beltwright.web import roles

FIELD: Final = "form_token"
HEADER: Final = "x-form-token"
CHANGES: Final = frozenset(("POST", "PUT", "PATCH", "DELETE"))
# what somebody may do who was given a first password and has not chosen their own
_WITH_FIRST: Final = ("/me", "/me/password", "/log-out", "/choices", "/api/v1/me")
# of a form, whatever page it goes to; a page may take fewer
MOST_FIELDS: Final = 2000
MOST_FILES: Final = 24
_FORM: Final = re.compile(r'<form\b[^>]*\bmethod="post"[^>]*>', re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Door:
    """The register, whether the book is served to this computer alone, and the plant's own authority, if it has one."""

    register: Register
    alone: bool = True
    authority: Path | None = None


class NotLoggedIn(Exception):
    """Nobody, or nobody any more."""


class NotAllowed(Exception):
    """Somebody whose role is not enough."""

    def __init__(self, role: Role, least: roles.Least) -> None:
        super().__init__(f"this is for those who may {least}; you may {role}. Ask who keeps the book.")


class FirstPassword(Exception):
    """Somebody who has to choose a password of their own first."""


class NotOurForm(Exception):
    """A form that no page of ours has made for this browser, or made too long ago."""


async def gate(request: Request) -> None:
    """Let a request to a page or call pass, or raise why not. A dependency of the whole app."""
    door = door_of(request)
    path = _address_of(request)
    if not door.alone:
        caller = await run_in_threadpool(_caller, request, door.register)
        request.state.caller = caller
        least = roles.least_for(request.method, path)
        if not roles.enough(None if caller is None else caller.role, least):
            raise NotLoggedIn if caller is None else NotAllowed(caller.role, least)
        if caller is not None and caller.person.first and caller.token is None and path not in _WITH_FIRST:
            raise FirstPassword
    if request.method in CHANGES and not _is_call(request):
        await _must_be_our_form(request)


def _address_of(request: Request) -> str:
    """The address as its room wrote it; of a room within a room, whose address is not whole there, nothing."""
    route = request.scope["route"]
    return str(route.path) if route.path_regex.match(request.url.path) else ""


def door_of(request: Request) -> Door:
    """The app's door."""
    door: Door = request.app.state.door
    return door


def caller_of(request: Request) -> Caller | None:
    """Who is asking; nobody where the book is served to this computer alone, and before the gate was reached."""
    caller: Caller | None = getattr(request.state, "caller", None)
    return caller


def role_of(request: Request) -> Role | None:
    """What who is asking may do."""
    caller = caller_of(request)
    if caller is not None:
        return caller.role
    return KEEPER if door_of(request).alone else None


# --- cookies ---------------------------------------------------------------------------------------------------------

def session_of(request: Request) -> str:
    """The secret of the browser's session, or nothing."""
    return request.cookies.get(_cookie("session", request), "")


def keep_session(request: Request, answer: Response, secret: str) -> None:
    """Let the browser hold a session; an empty secret ends it there."""
    name, safe = _cookie("session", request), request.url.scheme == "https"
    if secret:
        answer.set_cookie(name, secret, max_age=int(people.LONGEST_SESSION.total_seconds()), httponly=True, secure=safe,
                          samesite="lax")
    else:
        answer.delete_cookie(name, httponly=True, secure=safe, samesite="lax")


def _cookie(name: str, request: Request) -> str:
    # the prefix keeps every other host from setting it
    return f"__Host-{name}" if request.url.scheme == "https" else name


# --- forms -----------------------------------------------------------------------------------------------------------

def form_token(request: Request) -> str:
    """What a form made for this browser carries."""
    secret = session_of(request) or request.cookies.get(_cookie("visitor", request), "")
    if not secret:
        secret = getattr(request.state, "visitor", "") or passwords.new_secret()
        request.state.visitor = secret
    return passwords.masked(passwords.bound_to(secret, "forms"))


def marked(request: Request, page: str) -> str:
    """A page with the token put into every form that changes something."""
    if not _FORM.search(page):
        return page
    box = f'<input type="hidden" name="{FIELD}" value="{form_token(request)}">'
    return _FORM.sub(lambda form: form[0] + box, page)


def keep_visitor(request: Request, answer: Response) -> None:
    """Let the browser hold the secret its forms were made for, when it is a new one."""
    if secret := getattr(request.state, "visitor", ""):
        answer.set_cookie(_cookie("visitor", request), secret, httponly=True, samesite="lax",
                          secure=request.url.scheme == "https")


async def _must_be_our_form(request: Request) -> None:
    secret = session_of(request) or request.cookies.get(_cookie("visitor", request), "")
    if not secret:
        raise NotOurForm
    given = request.headers.get(HEADER, "")
    if not given:
        try:
            # kept by the request: a page that asks for the form again gets this one
            form = await request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS)
        except HTTPException as problem:
            raise InputError(f"the form cannot be read: {problem.detail}") from None
        found = form.get(FIELD, "")
        given = found if isinstance(found, str) else ""
    if not passwords.same(passwords.unmasked(given), passwords.bound_to(secret, "forms")):
        raise NotOurForm


# --- who -------------------------------------------------------------------------------------------------------------

def _caller(request: Request, register: Register) -> Caller | None:
    scheme, _, given = request.headers.get("authorization", "").partition(" ")
    if scheme.casefold() == "bearer" and _is_call(request):
        return people.caller_by_token(register, given.strip(), purpose="api", at=now())
    if secret := session_of(request):
        return people.caller_by_session(register, secret, at=now())
    return None


def _is_call(request: Request) -> bool:
    return request.url.path.startswith("/api/")


# --- addresses to go back to ------------------------------------------------------------------------------------------

def own_address(text: str) -> str:
    """An address of our own to go back to; whatever could lead elsewhere is the plant's page.

    >>> own_address("/drives/FAN-12?x=1"), own_address("//evil.example/x"), own_address("/\\\\evil.example")
    ('/drives/FAN-12?x=1', '/', '/')
    """
    if not text.startswith("/") or not text.isprintable() or not text.isascii() or "\\" in text:
        return "/"
    parts = urlsplit(text)
    if parts.scheme or parts.netloc or parts.path.startswith("//"):
        return "/"
    return parts.path + (f"?{parts.query}" if parts.query else "")


def log_in_address(request: Request) -> str:
    """Where to log in and be led back to this page."""
    here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return "/log-in" if here == "/" else f"/log-in?back={quote(own_address(here), safe='/')}"
