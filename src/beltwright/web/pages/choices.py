"""How a person likes to see things: units and light, from the title block at the foot of every page."""

from __future__ import annotations

from urllib.parse import urlsplit

from fastapi import APIRouter
from fastapi.responses import RedirectResponse

from beltwright.web.person import LIGHTS, SYSTEMS
from beltwright.web.visit import At, Typed

router = APIRouter()


@router.post("/choices")
def choose(at: At, typed: Typed) -> RedirectResponse:
    """Keep what was chosen in the person's browser, and go back to the page they were on."""
    answer = RedirectResponse(own_page(typed.get("back", "/")), 303)
    for name, known in (("units", tuple(SYSTEMS)), ("light", LIGHTS)):
        if typed.get(name) in known:
            at.remember(answer, **{name: typed[name]})
    return answer


def own_page(back: str) -> str:
    """An address to go back to, of this app and nobody else's.

    >>> own_page("/drives/FAN-12?x=1"), own_page("//elsewhere/x"), own_page("https://elsewhere/")
    ('/drives/FAN-12?x=1', '/', '/')
    """
    parts = urlsplit(back.replace("\\", "/"))
    if parts.scheme or parts.netloc or not parts.path.startswith("/") or parts.path.startswith("//"):
        return "/"
    return parts.path + (f"?{parts.query}" if parts.query else "")
