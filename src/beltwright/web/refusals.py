"""What Beltwright refuses, as the web says it: the one place where an error becomes a status, a page or JSON."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

from beltwright.errors import BeltwrightError, BookError, BookLocked, NotKnown, Refused, SheetError, Unknown
from beltwright.web import gate
from beltwright.web.api import shapes
from beltwright.web.visit import Visit, station_of

# the first that fits counts
_STATUS: Final[tuple[tuple[type[BeltwrightError], int], ...]] = (
    (Unknown, 404), (Refused, 409), (NotKnown, 409), (BookError, 503), (BeltwrightError, 422))
_TITLES: Final[Mapping[int, str]] = {
    401: "Log in first", 403: "Not from here", 404: "Not found", 405: "Not this way", 409: "Not now", 413: "Too large",
    422: "Cannot be read", 503: "The book cannot be used now"}
# how soon to try again when somebody else is writing [s]
_AGAIN: Final = "2"


_QUOTED: Final = re.compile(r"'([^']*)'")


@dataclass(frozen=True, slots=True)
class RefusalPage:
    """Something refused: what it is in a word, and why and what to do in a sentence."""

    title: str
    message: str
    again: str = ""


def status_of(error: BeltwrightError) -> int:
    """The HTTP status of an error.

    >>> status_of(Unknown("no such drive")), status_of(BookLocked("busy")), status_of(SheetError("row 3"))
    (404, 503, 422)
    """
    return next(status for kind, status in _STATUS if isinstance(error, kind))


def speak(app: FastAPI) -> None:
    """Let the app answer every refusal in these words."""

    @app.exception_handler(BeltwrightError)
    def refused(request: Request, error: BeltwrightError) -> Response:
        headers = {"Retry-After": _AGAIN} if isinstance(error, BookLocked) else {}
        cells = shapes.cells(error.cells if isinstance(error, SheetError) else ())
        return _answer(request, status_of(error), str(error), cells, headers, error.accepted)

    @app.exception_handler(gate.NotLoggedIn)
    def nobody(request: Request, _error: gate.NotLoggedIn) -> Response:
        if wants_json(request):
            return _answer(request, 401, "log in first, or send a token: Authorization: Bearer ...", [],
                           {"WWW-Authenticate": "Bearer"})
        if request.method in gate.CHANGES:
            return _answer(request, 401, "nobody is logged in here any more, and nothing was kept: log in in another "
                           "window, come back and send this once more", [], {})
        return RedirectResponse(gate.log_in_address(request), 303)

    @app.exception_handler(gate.FirstPassword)
    def first_password(request: Request, _error: gate.FirstPassword) -> Response:
        if wants_json(request) or request.method in gate.CHANGES:
            return _answer(request, 403, "choose a password of your own first, on the page about you", [], {})
        return RedirectResponse("/me", 303)

    @app.exception_handler(gate.NotAllowed)
    def not_allowed(request: Request, error: gate.NotAllowed) -> Response:
        return _answer(request, 403, str(error), [], {})

    @app.exception_handler(gate.NotOurForm)
    def not_ours(request: Request, _error: gate.NotOurForm) -> Response:
        return _answer(request, 403, "this form was made for another log-in or too long ago, and nothing was kept: go "
                       "back, load the page anew and send it once more", [], {})

    @app.exception_handler(ClientDisconnect)
    def hung_up(_request: Request, _gone: ClientDisconnect) -> Response:
        return Response(status_code=400)   # nobody hears it, and nothing was done: a phone that lost its signal

    @app.exception_handler(HTTPException)
    def no_such_page(request: Request, error: HTTPException) -> Response:
        words = {404: "there is no page at this address", 405: "this page is not asked for in this way"}
        return _answer(request, error.status_code, words.get(error.status_code, str(error.detail)), [],
                       error.headers or {})

    @app.exception_handler(RequestValidationError)
    def not_understood(request: Request, error: RequestValidationError) -> Response:
        if wants_json(request):
            cells = [_cell(part) for part in error.errors()]
            words = "; ".join(f"{cell['column']}: {cell['problem']}" for cell in cells)
            return _answer(request, 422, words, cells, {}, cells[0]["accepted"] if len(cells) == 1 else ())
        wrong = ", ".join(".".join(map(str, part["loc"][1:])) for part in error.errors())
        return _answer(request, 422, f"the address of this page cannot be understood: {wrong}", [], {})


def _answer(request: Request, status: int, message: str, cells: Sequence[Mapping[str, Any]],
            headers: Mapping[str, str], accepted: Sequence[str] = ()) -> Response:
    if wants_json(request):
        said = {"problem": message, "accepted": list(accepted), "cells": list(cells)}
        return JSONResponse(said, status, dict(headers))
    page = RefusalPage(_TITLES.get(status, "Refused"), message[:1].upper() + message[1:],
                       request.url.path if status == 503 else "")
    answer = Visit(request, station_of(request)).show("refusal.html", page, status=status)
    answer.headers.update(headers)
    return answer


def _cell(part: Mapping[str, Any]) -> dict[str, Any]:
    """What the framework says of a value that cannot be read, in the shape of every refusal."""
    typed = part.get("input")
    return {"row": 0, "column": ".".join(map(str, part["loc"][1:])) or str(part["loc"][0]),
            "typed": typed[:200] if isinstance(typed, str) else "", "problem": str(part["msg"]),
            # of a word that must be one of several, the framework lists them in its message alone
            "accepted": _QUOTED.findall(str(part.get("ctx", {}).get("expected", "")))}


def wants_json(request: Request) -> bool:
    """Whether a program asked, not a person."""
    return request.url.path.startswith("/api/") or "application/json" in request.headers.get("accept", "")
