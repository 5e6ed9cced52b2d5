"""The versions of the method: what changed when, and which open jobs were made by an earlier one."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from beltwright.bench.card import METHOD
from beltwright.web.visit import At

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Version:
    """A version of the method."""

    version: str
    since: str
    changed: str
    now: bool


@dataclass(frozen=True, slots=True)
class Earlier:
    """An open job whose numbers an earlier version made."""

    href: str
    words: str
    method: str


@dataclass(frozen=True, slots=True)
class MethodPage:
    """The versions, the latest first, and the open jobs made by an earlier one."""

    method: str
    versions: tuple[Version, ...]
    earlier: tuple[Earlier, ...]


@router.get("/book/method", name="method")
def method(at: At) -> HTMLResponse:
    """The versions of the method."""
    with at.book.looking():
        old = [job for job in at.book.jobs(open_only=True) if job.method and job.method != METHOD]
        earlier = tuple(Earlier(f"/jobs/{job.id}", f"{at.book.drive(job.drive_id).drive.tag}: {job.kind}", job.method)
                        for job in old)
    return at.show("method.html", MethodPage(METHOD, tuple(reversed(versions())), earlier))


@cache
def versions() -> tuple[Version, ...]:
    """Every version, oldest first."""
    kept = tomllib.loads((files("beltwright.bench") / "methods.toml").read_text(encoding="utf-8"))
    return tuple(Version(each["version"], each["since"].isoformat(), each["changed"], each["version"] == METHOD)
                 for each in kept["method"])
