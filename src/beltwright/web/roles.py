"""The least role that each page and each call asks of a person, by method and address: one table for all of them.

What is not in the table asks for the highest role, so that a forgotten line shuts people out and lets nobody in; a test
walks the app and names what is forgotten. Knows no page.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from beltwright.desk.people import KEEPER
from beltwright.plant.person import ROLES, Role

Least = Literal["anyone", "look", "note", "plan", "keep the book"]
ANYONE: Final = "anyone"
LOOK, NOTE, PLAN, KEEP = ROLES

_GET: Final[Mapping[Least, tuple[str, ...]]] = {
    ANYONE: ("/log-in", "/trust", "/trust/authority.crt", "/calendar/{secret}", "/api/v1/openapi.json", "/sw.js"),
    LOOK: (
        "/", "/found", "/d/{tag:path}", "/drives/{tag}", "/drives/{tag}/card",
        "/drives/{tag}/card.pdf", "/drives/{tag}/label", "/drives/{tag}/starting", "/drives/{tag}/whip",
        "/labels", "/labels.pdf", "/book",
        "/me", "/book/method",
        "/jobs", "/jobs/{job_id}", "/jobs/{job_id}/record.pdf", "/drives/{tag}/jobs", "/drives/{tag}/readings",
        "/drives/{tag}/readings/{kind}", "/drives/{tag}/listen", "/drives/{tag}/heard/{reading_id}",
        "/heard/{reading_id}", "/phone-check",
        "/drives/{tag}/why", "/drives/{tag}/why/ahead", "/drives/{tag}/why.pdf",
        "/readings/{reading_id}",
        "/round", "/round/{tag}", "/waiting", "/no-signal", "/files/{name}",
        "/api/v1/round", "/api/v1/jobs/{job_id}/along",
        "/api/v1/me", "/api/v1/plant", "/api/v1/drives", "/api/v1/drives/{tag}", "/api/v1/drives/{tag}/card",
        "/api/v1/drives/{tag}/workings/{figure}", "/api/v1/drives/{tag}/readings", "/api/v1/drives/{tag}/findings",
        "/api/v1/drives/{tag}/why", "/api/v1/drives/{tag}/whip", "/api/v1/drives/{tag}/starting",
        "/api/v1/readings/{reading_id}", "/api/v1/jobs", "/api/v1/jobs/{job_id}", "/api/v1/kinds",
    ),
    NOTE: (),
    PLAN: ("/survey", "/survey/{key}", "/survey/so-far", "/survey/look",
           "/sheet", "/sheet/empty.{kind}", "/book/drives.{kind}"),
    KEEP: ("/people", "/book/changes", "/book/export.jsonl", "/book/backup"),
}
_CHANGE: Final[Mapping[Least, tuple[str, ...]]] = {
    ANYONE: ("POST /log-in", "POST /log-out", "POST /choices"),
    LOOK: ("POST /me/password", "POST /me/sessions", "POST /me/tokens", "POST /me/tokens/{token_id}/end"),
    NOTE: ("POST /api/v1/drives/{tag}/readings", "POST /api/v1/readings/{reading_id}/corrections",
           "POST /api/v1/jobs/{job_id}/events", "POST /api/v1/sync", "PUT /api/v1/files/{name}",
           "POST /drives/{tag}/readings/{kind}", "POST /drives/{tag}/listen", "POST /drives/{tag}/why",
           "POST /readings/{reading_id}", "POST /jobs/{job_id}", "POST /round/{tag}"),
    PLAN: ("POST /survey", "POST /sheet", "POST /api/v1/drives", "POST /api/v1/drives/{tag}/jobs",
           "POST /drives/{tag}/jobs", "POST /drives/{tag}/heard/{reading_id}/delete"),
    KEEP: ("POST /book/settings", "POST /book/import", "POST /labels/address",
           "POST /people", "POST /people/{person_id}/role", "POST /people/{person_id}/password",
           "POST /people/{person_id}/retire", "POST /people/{person_id}/bring-back",
           "POST /people/tokens/{token_id}/end"),
}
LEAST: Final[Mapping[str, Least]] = MappingProxyType({
    **{f"GET {path}": least for least, paths in _GET.items() for path in paths},
    **{call: least for least, calls in _CHANGE.items() for call in calls},
})


def least_for(method: str, path: str) -> Least:
    """What a call asks for; a call to see the head of a page asks for what the page does.

    >>> least_for("HEAD", "/drives/{tag}"), least_for("POST", "/something/new")
    ('look', 'keep the book')
    """
    return LEAST.get(f"{'GET' if method == 'HEAD' else method} {path}", KEEPER)


def enough(role: Role | None, least: Least) -> bool:
    """Whether a role, or nobody's, is enough.

    >>> enough(None, "anyone"), enough(None, "look"), enough("plan", "note")
    (True, False, True)
    """
    if least == ANYONE:
        return True
    return role is not None and ROLES.index(role) >= ROLES.index(least)
