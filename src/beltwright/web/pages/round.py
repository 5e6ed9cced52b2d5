"""The round: drives to look at today in walking order, what to look at through the guard while they run, quick notes.

Which are due is the desk's to say (`desk.rounds`), how each stands comes from the plant at a glance; the order is that
of the places. A round begins with a tap here or with the label at the drive.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from beltwright.bench import procedure
from beltwright.desk import record
from beltwright.desk.judge import findings
from beltwright.desk.rounds import WHICH, Which, lately_seen, stands_still, why_today
from beltwright.desk.standing import ORDER, standing
from beltwright.errors import InputError
from beltwright.plant.identity import new_id, now
from beltwright.plant.reading import KINDS
from beltwright.web import gate
from beltwright.web.addresses import drive_at, slug
from beltwright.web.visit import At, Typed, Visit, first_up

router = APIRouter()

# stops on one round: more than anybody walks in a day
MOST: Final = 60
# of a large plant, those named before one has chosen a place
_FIRST: Final = 12
# findings said at a stop
_KNOWN: Final = 4
_WORDS: Final[Mapping[Which, str]] = {"today": "Due today", "hand": "Need a hand", "all": "All that turn"}
_NOTHING: Final[Mapping[Which, str]] = {
    "today": "Nothing is due today: every drive was looked at within the week.", "hand": "No drive needs a hand.",
    "all": "There is no drive here yet."}
# what can be seen, heard or smelt from outside the guard
_THROUGH_GUARD: Final = ("nothing wrong", "squeal at start", "squeal at peak load", "slack side bows",
                         "slack side uneven", "whipping", "jumped off", "missing belt", "turned over",
                         "smell of rubber", "oil or grease", "caked dirt", "guard damaged", "hold-down bolts loose")
_RUNNING: Final = tuple(kind.name for kind in KINDS.values() if not kind.hands_on and kind.name != "seen")


@dataclass(frozen=True, slots=True)
class Stop:
    """A drive on the round. `due`: why today; `seen`: who looked today, and when."""

    tag: str
    name: str
    place: str
    href: str
    drive: str
    answer: str
    why: str
    due: str
    seen: str
    still: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """A round one can choose: which drives, how many."""

    href: str
    words: str
    count: int
    here: bool


@dataclass(frozen=True, slots=True)
class RoundPage:
    """A round: what to see first, then its places in walking order, each with its stops; or the places to choose from.

    limit: why not every drive is on it, if so; still: drives that do not turn and are left out
    """

    title: str
    choices: tuple[Choice, ...]
    first: tuple[Stop, ...]
    places: tuple[tuple[str, tuple[Stop, ...]], ...]
    choose: tuple[tuple[str, str, str], ...]
    stops: int
    looked_at: int
    limit: str
    still: tuple[Stop, ...]
    jobs: int
    nothing: str


@dataclass(frozen=True, slots=True)
class Known:
    """Something known of a drive before one looks: how grave, what, what was found."""

    answer: str
    title: str
    said: str


@dataclass(frozen=True, slots=True)
class StopPage:
    """One stop: what is known, what to look at, what to note."""

    tag: str
    name: str
    place: str
    drive: str
    round: str
    action: str
    known: tuple[Known, ...]
    watch: tuple[str, ...]
    caution: str
    chips: tuple[tuple[str, str], ...]
    readings: tuple[tuple[str, str], ...]
    after: str
    to_go: str
    ask_name: bool
    by: str
    made: str
    noted: str
    problem: str


@router.get("/round", name="round")
def round_page(at: At, place: str = "", which: str = "today") -> HTMLResponse:
    """The round, or where to walk it in a large plant."""
    every = _every(at, place)
    asked = _asked(which)
    chosen = _of(every, asked)
    jobs = len(at.book.jobs(open_only=True))
    offered = tuple(Choice(_round_at(place, each), words, len(_of(every, each)), each == asked)
                    for each, words in _WORDS.items())
    still = tuple(stop for stop in every if stop.still)
    title = place or "Round"
    if not place and len(chosen) > MOST:
        first = tuple(_gravest(chosen))[:_FIRST]
        return at.show("round.html", RoundPage(title, offered, first, (), _places(chosen, asked), len(chosen),
                                               sum(bool(stop.seen) for stop in chosen), "", (), jobs, ""))
    stops = _limited(chosen)
    grouped = tuple((there, tuple(some)) for there, some in groupby(stops, key=lambda stop: stop.place))
    limit = (f"{len(stops)} of {len(chosen):,}: the gravest, then those longest unseen. The others come up when these "
             "are done." if len(stops) < len(chosen) else "")
    return at.show("round.html", RoundPage(
        title, offered, tuple(stop for stop in stops if stop.answer == ORDER[0] and not stop.seen), grouped, (),
        len(stops), sum(bool(stop.seen) for stop in stops), limit, still, jobs,
        "" if stops else _NOTHING[asked] if every else "There is no drive here yet."))


def walk(at: Visit, place: str = "", which: Which = "today") -> Sequence[Stop]:
    """The stops of a round in walking order: by place, then by tag."""
    return _limited(_of(_every(at, place), which))


def _every(at: Visit, place: str) -> Sequence[Stop]:
    """Every drive at a place, as a stop."""
    overview = at.station.glances.look()
    moment = now()
    seen = lately_seen(at.book, now=moment)
    found = []
    for glance in overview.at(place) if place else overview.drives:
        titles = tuple(reason.title for reason in glance.reasons)
        last = seen.get(glance.drive_id)
        today = last is not None and last.at.date() == moment.date()
        found.append(Stop(
            glance.tag, glance.name, glance.place, f"/round/{slug(glance.tag)}", drive_at(glance.tag),
            glance.stands or "to come", first_up(titles[0]) if titles else "",
            why_today(glance.stands or "", titles, None if today else last),
            f"{last.at:%H:%M} by {last.by}" if last is not None and today else "", stands_still(titles)))
    return found


def _of(stops: Sequence[Stop], which: Which) -> list[Stop]:
    """Those of a round that was asked for; what was looked at today stays on it, ticked."""
    if which == "all":
        return [stop for stop in stops if not stop.still]
    if which == "hand":
        return [stop for stop in stops if stop.answer in ORDER[:2] and not stop.still]
    return [stop for stop in stops if (stop.due or stop.seen) and not stop.still]


def _limited(stops: Sequence[Stop]) -> list[Stop]:
    """No more than anybody walks: the gravest, in walking order."""
    if len(stops) <= MOST:
        return list(stops)
    kept = {stop.tag for stop in _gravest(stops)[:MOST]}
    return [stop for stop in stops if stop.tag in kept]


def _gravest(stops: Sequence[Stop]) -> list[Stop]:
    return sorted(stops, key=lambda stop: (bool(stop.seen), ORDER.index(stop.answer) if stop.answer in ORDER
                                           else len(ORDER)))


def _places(stops: Sequence[Stop], which: Which) -> tuple[tuple[str, str, str], ...]:
    """The places to walk to, each with how many drives are asked for there."""
    return tuple((_round_at(place, which), place or "No place noted", f"{len(list(some)):,}")
                 for place, some in groupby(stops, key=lambda stop: stop.place))


def _asked(which: str) -> Which:
    return next((each for each in WHICH if each == which), "today")


def _round_at(place: str, which: Which) -> str:
    asked = {**({"place": place} if place else {}), **({"which": which} if which != "today" else {})}
    return f"/round?{urlencode(asked)}" if asked else "/round"


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
    answer = RedirectResponse(page.after or page.round, 303)
    at.remember(answer, name=by)
    return answer


def _stop(at: Visit, tag: str, *, noted: str = "", problem: str = "") -> StopPage:
    drive = at.book.drive_by_tag(tag).drive
    watch = procedure.steps_for("inspect", {})[1]
    stops = walk(at, drive.place)
    here = next((number for number, stop in enumerate(stops) if stop.tag == drive.tag), -1)
    ahead = [stop for stop in [*stops[here + 1:], *stops[:max(here, 0)]] if not stop.seen]
    system = at.person.system
    stood = standing(drive, findings(at.book, drive.tag, now=now()))
    known = tuple(Known(reason.stands, first_up(reason.title), first_up(reason.said.text(system)))
                  for reason in stood.reasons[:_KNOWN])
    return StopPage(
        drive.tag, drive.name, drive.place, drive_at(drive.tag), _round_at(drive.place, "today"),
        f"/round/{slug(drive.tag)}", known, watch.say, watch.caution,
        tuple((str(number), what) for number, what in enumerate(_THROUGH_GUARD)),
        tuple((f"{drive_at(drive.tag, 'readings')}/{name.replace(' ', '-')}", KINDS[name].title) for name in _RUNNING),
        ahead[0].href if ahead else "", f"{len(ahead)} more at {drive.place or 'this place'}" if ahead else "",
        gate.door_of(at.request).alone, at.person.name, str(new_id()),
        f"{noted} noted" if noted.isdigit() else "", problem)
