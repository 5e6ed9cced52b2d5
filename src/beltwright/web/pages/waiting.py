"""Notes waiting on this phone, and the page for when there is no signal. What stands on both is the phone's own."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from beltwright.web.visit import At

router = APIRouter()


@dataclass(frozen=True, slots=True)
class WaitingPage:
    """Filled by the phone."""

    offline: bool


@router.get("/waiting", name="waiting")
def waiting(at: At) -> HTMLResponse:
    """The notes that wait."""
    return at.show("waiting.html", WaitingPage(False))


@router.get("/no-signal", name="no_signal")
def no_signal(at: At) -> HTMLResponse:
    """Shown by the worker instead of a page that the phone does not hold."""
    return at.show("waiting.html", WaitingPage(True))
