"""The calendar of what is due: an address with a person's own secret in it, which opens this and nothing else."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

from fastapi import APIRouter, Request
from fastapi.responses import Response

from beltwright.desk import people
from beltwright.desk.due import Due, due_of_plant
from beltwright.errors import Unknown
from beltwright.plant.identity import now
from beltwright.units import System
from beltwright.web import gate
from beltwright.web.addresses import drive_at
from beltwright.web.visit import At

router = APIRouter()

# how often a calendar should ask again
ASK_AGAIN = timedelta(hours=6)


@router.get("/calendar/{secret}")
def calendar(at: At, secret: str) -> Response:
    """What is due, as every calendar reads it (RFC 5545)."""
    caller = people.caller_by_token(gate.door_of(at.request).register, secret.removesuffix(".ics"),
                                    purpose="calendar", at=now())
    if caller is None:
        raise Unknown("there is no calendar at this address, or no longer")
    base = at.address.rstrip("/") or f"{at.request.url.scheme}://{at.request.url.netloc}"
    text = written(_due(at.request, at, at.settings.system), plant=at.settings.plant, base=base, at=now())
    return Response(text, media_type="text/calendar; charset=utf-8", headers={
        "Content-Disposition": 'inline; filename="beltwright.ics"', "Cache-Control": "private, no-store",
        "X-Robots-Tag": "noindex"})


def written(due: list[Due], *, plant: str, base: str, at: datetime) -> bytes:
    """The calendar as text: a day-long event for each thing due, under a name that stays the same."""
    from icalendar import Calendar, Event, vText

    made = Calendar()
    made.add("prodid", "-//Beltwright//what is due//EN")
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    for name in ("name", "x-wr-calname"):
        made.add(name, vText(_in_line(f"Belts, {plant}")))
    made.add("refresh-interval", ASK_AGAIN, parameters={"VALUE": "DURATION"})
    for each in due:
        event = Event()
        address = base + drive_at(each.tag)
        event.add("uid", f"{each.key}@{address.split('://', 1)[-1]}")
        event.add("dtstamp", at.astimezone(UTC).replace(microsecond=0))
        event.add("dtstart", each.day)
        event.add("dtend", each.day + timedelta(days=1))
        event.add("summary", _in_line(f"{each.tag}: {each.title}"))
        event.add("description", "\n".join(map(_in_line, (each.name, each.words, each.urgency))))
        event.add("location", _in_line(each.place))
        event.add("url", address)
        event.add("categories", ["Belts"])
        event.add("transp", "TRANSPARENT")
        made.add_component(event)
    return bytes(made.to_ical())


def _in_line(text: str) -> str:
    # whatever ends a line or is no sign becomes a space: an old reader of calendars may unfold it wrongly
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


class _Kept:
    """What was due when last asked: judging a large plant takes longer than a calendar should wait, ten times a day."""

    def __init__(self) -> None:
        self.turn = threading.Lock()
        self.mark: tuple[object, ...] = ()
        self.due: list[Due] = []


def _due(request: Request, at: At, system: System) -> list[Due]:
    state = request.app.state
    if not hasattr(state, "due"):
        state.due = _Kept()
    kept: _Kept = state.due
    moment = now()
    with kept.turn:
        mark = (at.book.mark(), moment.date(), system)
        if mark != kept.mark:
            kept.due, kept.mark = due_of_plant(at.book, now=moment, system=system), mark
        return kept.due
