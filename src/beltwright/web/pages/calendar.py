"""The calendar of what is due: an address with a person's own secret in it, which opens this and nothing else."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import Response

from beltwright.book.store import Store
from beltwright.desk import people
from beltwright.desk.due import Due, due_of, in_order
from beltwright.desk.judge import due_of_plant
from beltwright.errors import Unknown
from beltwright.plant.identity import now
from beltwright.units import System
from beltwright.web import gate
from beltwright.web.addresses import drive_at
from beltwright.web.glances import FEW
from beltwright.web.lately import chosen
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


class Kept:
    """What is due at each drive, reckoned for a day: anew only where a fact is another.

    Judging a large plant takes longer than a calendar should wait, and every calendar that asks is itself put down.
    """

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._mark: tuple[object, ...] = ()
        self._by_drive: dict[UUID, tuple[object, list[Due]]] = {}
        self._due: list[Due] = []

    def due(self, book: Store, moment: datetime, system: System) -> list[Due]:
        """Everything due or to come, the earliest first."""
        with self._turn:
            mark = (book.mark(), moment.date(), system)
            if mark != self._mark:
                with book.looking():
                    self._keep_up(book, moment, system)
                self._due = in_order(each for _, some in self._by_drive.values() for each in some)
                self._mark = mark
            return self._due

    def _keep_up(self, book: Store, moment: datetime, system: System) -> None:
        noted, how = book.noted_now(), (moment.date(), system, chosen(book.settings()))
        made_of = {drive_id: (make_up_id, noted.get(drive_id, 0), how)
                   for drive_id, make_up_id in book.fitted_now().items()}
        self._by_drive = {drive_id: kept for drive_id, kept in self._by_drive.items()
                          if made_of.get(drive_id) == kept[0]}
        stale = made_of.keys() - self._by_drive.keys()
        for judged in due_of_plant(book, now=moment, drive_ids=stale if len(stale) <= FEW else None):
            drive_id = judged.make_up.drive_id
            self._by_drive[drive_id] = made_of[drive_id], due_of(judged, now=moment, system=system)


def _due(request: Request, at: At, system: System) -> list[Due]:
    state = request.app.state
    if not hasattr(state, "due"):
        state.due = Kept()
    kept: Kept = state.due
    return kept.due(at.book, now(), system)
