"""The round: drives to look at in walking order, what to look at through the guard while they run, quick notes.

What is due or was found comes from the desk's judgement as the plant's list shows it; the order is that of the places.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Final

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from beltwright.bench import procedure
from beltwright.desk import record
from beltwright.errors import InputError
from beltwright.plant.identity import new_id, now
from beltwright.plant.reading import KINDS
from beltwright.units import DAY
from beltwright.web import gate
from beltwright.web.addresses import drive_at, slug
from beltwright.web.visit import At, Typed, Visit, first_up

router = APIRouter()

# stops on one round: more than anybody walks in a day
MOST: Final = 60
# what can be seen, heard or smelt from outside the guard
_THROUGH_GUARD: Final = ("nothing wrong", "squeal at start", "squeal at peak load", "slack side bows",
                         "slack side uneven", "whipping", "jumped off", "missing belt", "turned over",
                         "smell of rubber", "oil or grease", "caked dirt", "guard damaged", "hold-down bolts loose")
_RUNNING: Final = tuple(kind.name for kind in KINDS.values() if not kind.hands_on and kind.name != "seen")


@dataclass(frozen=True, slots=True)
class Stop:
    """A drive on the round."""

    tag: str
    name: str
    place: str
    href: str
    answer: str
    why: str
    seen: str


@dataclass(frozen=True, slots=True)
class RoundPage:
    """A round: its places in walking order, each with its stops; or the places to choose from."""

    title: str
    places: tuple[tuple[str, tuple[Stop, ...]], ...]
    choose: tuple[tuple[str, str, str], ...]
    stops: int
    looked_at: int
    jobs: int


@dataclass(frozen=True, slots=True)
class StopPage:
    """One stop: what to look at, what to note."""

    tag: str
    name: str
    place: str
    drive: str
    action: str
    watch: tuple[str, ...]
    caution: str
    chips: tuple[tuple[str, str], ...]
    readings: tuple[tuple[str, str], ...]
    after: str
    ask_name: bool
    by: str
    made: str
    noted: str
    problem: str


@router.get("/round", name="round")
def round_page(at: At, place: str = "") -> HTMLResponse:
    """The round, or where to walk it in a large plant."""
    overview = at.station.glances.look()
    jobs = len(at.book.jobs(open_only=True))
    if not place and len(overview.drives) > MOST:
        places = [(f"/round?place={name}", name or "No place noted", f"{len(some):,}")
                  for name, some in overview.places()]
        return at.show("round.html", RoundPage("Round", (), tuple(places), 0, 0, jobs))
    stops = walk(at, place)
    grouped = tuple((there, tuple(some)) for there, some in groupby(stops, key=lambda stop: stop.place))
    return at.show("round.html", RoundPage(place or "Round", grouped, (), len(stops),
                                           sum(bool(stop.seen) for stop in stops), jobs))


def walk(at: Visit, place: str = "") -> Sequence[Stop]:
    """The stops in walking order: by place, then by tag."""
    overview = at.station.glances.look()
    drives = (overview.at(place) if place else overview.drives)[:MOST]
    seen = _seen_today(at)
    stops = []
    for glance in drives:
        reason = glance.reasons[0] if glance.reasons else None
        stops.append(Stop(glance.tag, glance.name, glance.place, f"/round/{slug(glance.tag)}",
                          glance.stands or "to come",
                          first_up(reason.title) if reason else "", seen.get(str(glance.drive_id), "")))
    return stops


@router.get("/round/{tag}", name="stop")
def stop_page(at: At, tag: str, noted: str = "") -> HTMLResponse:
    """One stop of the round."""
    return at.show("stop.html", _stop(at, tag, noted=noted))


@router.post("/round/{tag}")
def note(at: At, tag: str, typed: Typed) -> Response:
    """Quick notes: everything ticked is a reading."""
    by = at.signed(typed.get("by", ""))
    ticked = [name.removeprefix("see-") for name, text in typed.items() if name.startswith("see-") and text]
    whats = [_THROUGH_GUARD[int(at_)] for at_ in ticked if at_.isdigit() and int(at_) < len(_THROUGH_GUARD)]
    try:
        if not whats:
            raise InputError("tick what you saw, heard or smelt; “nothing wrong” is a note too")
        moment = now()
        with at.book.writing():
            for what in whats:
                record.note(at.book, tag, "seen", {"what": what}, state="running", by=by, at=moment,
                            words=typed.get("words", ""))
    except InputError as problem:
        return at.show("stop.html", _stop(at, tag, problem=first_up(str(problem))), status=422)
    page = _stop(at, tag)
    answer = RedirectResponse(f"/round/{slug(tag)}?noted={len(whats)}", 303) if not page.after else RedirectResponse(
        page.after, 303)
    at.remember(answer, name=by)
    return answer


def _stop(at: Visit, tag: str, *, noted: str = "", problem: str = "") -> StopPage:
    drive = at.book.drive_by_tag(tag).drive
    watch = procedure.steps_for("inspect", {})[1]
    stops = walk(at, drive.place)
    here = next((number for number, stop in enumerate(stops) if stop.tag == drive.tag), -1)
    after = stops[here + 1].href if 0 <= here < len(stops) - 1 else ""
    return StopPage(drive.tag, drive.name, drive.place, drive_at(drive.tag), f"/round/{slug(drive.tag)}", watch.say,
                    watch.caution, tuple((str(number), what) for number, what in enumerate(_THROUGH_GUARD)),
                    tuple((f"{drive_at(drive.tag, 'readings')}/{name.replace(' ', '-')}", KINDS[name].title)
                          for name in _RUNNING), after, gate.door_of(at.request).alone, at.person.name, str(new_id()),
                    f"{noted} noted" if noted.isdigit() else "", problem)


def _seen_today(at: Visit) -> Mapping[str, str]:
    """Who looked at which drive today, and when; a day ends at midnight UTC."""
    since = datetime.fromtimestamp(now().timestamp() // DAY * DAY, tz=now().tzinfo)
    return {str(drive_id): f"{readings[-1].taken_at:%H:%M} by {readings[-1].by}"
            for drive_id, readings in at.book.readings_of_plant(since=since)}
