"""The rooms of the JSON face put together, who is calling, and the description of it all (OpenAPI)."""

from __future__ import annotations

from functools import cache
from typing import Any, Final

from fastapi import APIRouter, FastAPI, Request
from fastapi.responses import JSONResponse, Response

from beltwright import __version__
from beltwright.web import gate, phone, roles
from beltwright.web.api import drives, jobs, readings, shapes, spans, why
from beltwright.web.api.caller import By

# each address in full in its own room: the gate looks it up as it stands there
about = APIRouter(prefix=shapes.AT, tags=["about"], responses=shapes.REFUSALS)


@about.get("/me", response_model=shapes.Me)
def me(request: Request, by: By) -> dict[str, Any]:
    """In whose name this call is made, and what it may."""
    return {"name": by.name(None), "role": gate.role_of(request), "alone": by.alone}


@about.get("/openapi.json", include_in_schema=False)
def described() -> Response:
    """The description of the JSON face."""
    return JSONResponse(description())


ROOMS: Final = (about, drives.router, readings.router, jobs.router, spans.router, why.router)


@cache
def description() -> dict[str, Any]:
    """The OpenAPI document: each call with the least role it asks for."""
    app = FastAPI(title="Beltwright", version=__version__, summary="V-belt drives: set-to numbers, readings, jobs.",
                  description="Numbers carry their unit in their name. Send a token as `Authorization: Bearer ...`; "
                              "served to one computer alone, none is needed.")
    for room in (*ROOMS, phone.router):
        app.include_router(room)
    made = app.openapi()
    made["components"]["schemas"].update(shapes.named_apart())
    made["components"]["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
    for path, calls in made["paths"].items():
        for method, call in calls.items():
            call["security"] = [{"token": []}]
            call["x-least-role"] = roles.least_for(method.upper(), path)
    return made
