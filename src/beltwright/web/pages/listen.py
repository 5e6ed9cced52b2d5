"""Listening on the phone: a clip recorded on the page or handed in, heard, judged against the band, kept as a reading.

The form works by itself with a file. The module of the page records instead, puts the clip into the form, and into the
phone's outbox where there is no signal. A note the ear is not sure of is told with what to do, and not kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from beltwright.bench.card import make_card
from beltwright.bench.plucked import Verdict, plucked
from beltwright.book.enclosed import name_of
from beltwright.desk import kept_clips, plucking, record
from beltwright.desk.judge import record_of
from beltwright.errors import BeltwrightError, InputError, Unknown
from beltwright.plant.identity import new_id, now
from beltwright.plant.reading import Reading
from beltwright.units import parse, show, show_band
from beltwright.web import gate, roles
from beltwright.web.addresses import drive_at
from beltwright.web.pages.reading import with_unit
from beltwright.web.visit import At, Typed, Visit, drawn, first_up

router = APIRouter()

LARGEST: Final = 24 * 1024 * 1024
_STATES: Final = ("as found", "in between", "as left")
_MOST_BELTS: Final = 40
# answers to the sign that stands for them
_SIGNS: Final[Mapping[Verdict, str]] = {
    "in the band": "good", "slack": "short", "tight": "danger", "may be slack": "note", "may be tight": "note",
    "not judged": "unknown"}


@dataclass(frozen=True, slots=True)
class Told:
    """What a clip said: the tension first, what it rests on, the picture; or why not, and what to do."""

    sure: bool
    sign: str
    verdict: str
    belt: str
    tension: str
    doubt: str
    band: str
    note: str
    compared: tuple[str, ...]
    beside: tuple[str, ...]
    advice: str
    drawing: Markup


@dataclass(frozen=True, slots=True)
class ListenPage:
    """The form, and what the last clip said."""

    tag: str
    name: str
    drive: str
    action: str
    back: str
    joined: bool
    belts: tuple[str, ...]
    belt: str
    told_how: bool
    states: tuple[str, ...]
    state: str
    bands: tuple[tuple[str, str], ...]
    unit: str
    span: str
    job: str
    step: str
    made: str
    ask_name: bool
    by: str
    heard: tuple[tuple[str, str], ...]
    told: Told | None = None
    problem: str = ""


@dataclass(frozen=True, slots=True)
class HeardPage:
    """A reading that was heard: its clip, what it says now, who deleted it."""

    tag: str
    name: str
    drive: str
    again: str
    next: str
    back: str
    job: bool
    what: str
    noted: str
    told: Told | None
    clip: str
    download: str
    deleted: str
    can_delete: bool
    action: str
    ask_name: bool
    by: str
    fresh: bool
    problem: str = ""


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the address or the form says."""

    belt: str = ""
    state: str = ""
    span: str = ""
    job: str = ""
    step: str = ""
    by: str = ""


@router.get("/drives/{tag}/listen", name="listen")
def listen_page(at: At, tag: str, belt: str = "", state: str = "", job: str = "", step: str = "") -> HTMLResponse:
    """The form."""
    return at.show("listen.html", _page(at, tag, _Asked(belt, state, "", job, step)))


@router.post("/drives/{tag}/listen")
async def hear(at: At, tag: str, request: Request) -> Response:
    """Hear a clip, and keep it as a reading where the ear is sure."""
    form = await request.form(max_files=1, max_fields=gate.MOST_FIELDS)
    typed = {name: text for name, text in form.items() if isinstance(text, str)}
    file = form.get("clip")
    try:
        data = await file.read(LARGEST + 1) if isinstance(file, UploadFile) and file.filename else b""
    finally:
        await form.close()
    return await run_in_threadpool(_hear, at, tag, typed, data)


def _hear(at: Visit, tag: str, typed: Mapping[str, str], data: bytes) -> Response:
    asked = _Asked(**{name: typed.get(name, "") for name in ("belt", "state", "span", "job", "step", "by")})
    heard = None
    try:
        if not data or len(data) > LARGEST:
            raise InputError("choose a clip: 3 to 10 s, three plucks a second apart" if not data else
                             f"the clip is too large: at most {LARGEST >> 20} MB")
        heard = plucking.hear_belt(at.book, tag, data, belt=_number(asked.belt), state=asked.state or "as found",
                                   at=now(), span=_span(asked.span, at))
        if not heard.answered:
            page = replace(_page(at, tag, asked), told=told(at, heard))
            return at.show("listen.html", page, status=422)
        reading = _keep(at, heard, asked, typed, data)
    except BeltwrightError as problem:
        page = replace(_page(at, tag, asked), told=told(at, heard) if heard else None, problem=first_up(str(problem)))
        return at.show("listen.html", page, status=422 if isinstance(problem, InputError) else 409)
    answer = RedirectResponse(f"{drive_at(tag, 'heard')}/{reading.id}?fresh=1", 303)
    at.remember(answer, name=reading.by)
    return answer


def _keep(at: Visit, heard: plucking.BeltHeard, asked: _Asked, typed: Mapping[str, str], data: bytes) -> Reading:
    name = name_of(data)
    try:
        job_id = UUID(asked.job) if asked.job else None
        made = UUID(typed.get("made", "")) if typed.get("made") else new_id()
    except ValueError:
        raise InputError("the job of this clip cannot be understood: open it from the job") from None
    with at.book.writing():
        try:
            return at.book.reading(made)    # the form sent twice by a second press
        except Unknown:
            pass
        at.book.keep_file(name, data)
        return plucking.keep(at.book, heard, name, by=at.signed(asked.by), job_id=job_id, reading_id=made)


@router.get("/drives/{tag}/heard/{reading_id}", name="heard")
def heard_page(at: At, tag: str, reading_id: UUID, fresh: str = "") -> HTMLResponse:
    """A reading with a clip: its picture, its sound, what it says."""
    return at.show("heard.html", _heard(at, tag, reading_id, fresh=bool(fresh)))


@router.get("/heard/{reading_id}")
def heard_wherever(at: At, reading_id: UUID) -> RedirectResponse:
    """The same by the reading alone, for pages that name no drive."""
    drive_id = at.book.reading(reading_id).drive_id
    return RedirectResponse(f"{drive_at(at.book.drive(drive_id).drive.tag, 'heard')}/{reading_id}", 303)


@router.post("/drives/{tag}/heard/{reading_id}/delete")
def delete(at: At, tag: str, reading_id: UUID, typed: Typed) -> Response:
    """Delete the clip of a reading; the reading stays and says who and why."""
    page = _heard(at, tag, reading_id)
    try:
        reading = at.book.reading(reading_id)
        names = plucking.clips_of(reading)
        if not names:
            raise InputError("this reading has no clip any more")
        gone = kept_clips.delete_clip(at.book, names[0], by=at.signed(typed.get("by", "")), why=typed.get("why", ""),
                                      at=now())
    except InputError as problem:
        return at.show("heard.html", replace(page, problem=first_up(str(problem))), status=422)
    after = next((each for each in gone if each.supersedes == reading_id), gone[0])
    return RedirectResponse(f"{drive_at(tag, 'heard')}/{after.id}", 303)


@router.get("/phone-check", name="phone_check")
def phone_check(at: At) -> HTMLResponse:
    """How a plant checks its own phone, to be printed and taken along."""
    return at.show("phone_check.html", None)


# --- pages ------------------------------------------------------------------------------------------------------------

def told(at: Visit, heard: plucking.BeltHeard) -> Told:
    """What a clip said, as the page shows it."""
    # what hears and draws is loaded when the first clip comes
    from beltwright.paper.listening import NARROW, picture
    from beltwright.paper.traced import NOT_READY

    system, meant, ear = at.person.system, heard.plucked, heard.listened
    right = None if meant is None else meant.notes
    svg = drawn("" if ear.heard.refused in NOT_READY else picture(
        ear, right, sentence="" if meant is None else first_up(meant.statement().text(system)), width=NARROW))
    if meant is None or meant.tension is None:
        words = first_up(ear.heard.why) if meant is None else first_up(meant.why)
        besides = plucking.besides_words(ear)
        return Told(meant is not None, "note" if meant is None else "unknown", "Not sure" if meant is None else
                    "Not judged", "", "", "", "", ear.sentence, besides, (words,), ear.heard.advice, svg)
    band = "" if meant.band is None else (f"{show_band(*meant.band, 'force', system)} is right for "
                                          f"{'new' if meant.new else 'run-in'} belts")
    return Told(True, _SIGNS[meant.verdict], first_up(meant.verdict), first_up(meant.belt),
                show(meant.tension, "force", system), f"± {show(2 * meant.spread, 'force', system)}", band,
                ear.sentence, (*(f"{first_up(each.text(system))}." for each in meant.compared()),
                               *plucking.besides_words(ear)),
                tuple(first_up(each.text(system)) for each in meant.beside()), "", svg)


def _page(at: Visit, tag: str, asked: _Asked) -> ListenPage:
    make_up = at.book.drive_by_tag(tag)
    drive, system = make_up.drive, at.person.system
    figures = make_card(drive).figures
    bands = tuple((figures[key].title, figures[key].text(system)) for key in (
        "span", "frequency_run_in", "frequency_new") if key in figures)
    count = min(drive.belts.count or 4, _MOST_BELTS)
    belts = () if drive.belts.joined else tuple(str(number) for number in range(1, count + 1))
    found = [each.reading for each in kept_clips.clips(at.book, tag) if each.here and each.reading][-12:]
    there = drive_at(drive.tag)
    back = f"/jobs/{asked.job}{f'?step={asked.step}' if asked.step else ''}" if _is_mark(asked.job) else there
    return ListenPage(
        drive.tag, drive.name, there, f"{there}/listen", back, drive.belts.joined, belts,
        asked.belt if asked.belt in belts else belts[0] if belts else "0",
        bool(asked.belt or found), _STATES,
        asked.state if asked.state in _STATES else _STATES[0], bands, "mm" if system == "si" else "in", asked.span,
        asked.job if _is_mark(asked.job) else "", asked.step, str(new_id()), gate.door_of(at.request).alone,
        asked.by or at.person.name,
        tuple((f"{there}/heard/{each.id}", _line(each)) for each in reversed(found)))


def _heard(at: Visit, tag: str, reading_id: UUID, *, fresh: bool = False) -> HeardPage:
    make_up = at.book.drive_by_tag(tag)
    reading = at.book.reading(reading_id)
    if reading.drive_id != make_up.drive_id or reading.kind != "frequency":
        raise Unknown(f"no heard reading of that mark at {make_up.drive.tag}")
    names = [name for name in plucking.clips_of(reading) if at.book.has_file(name)]
    span = reading.values.get("span")
    said = None
    if names:
        heard = plucking.hear_belt(at.book, tag, at.book.file(names[0]), belt=int(reading.values["belt"]) or None,
                                   state=reading.state, at=reading.taken_at,
                                   span=None if span is None else float(span))
        said = told(at, _as_noted(at, heard, reading))
    gone = reading.extra.get(kept_clips.DELETED, "")
    there = drive_at(make_up.drive.tag)
    belt, joined = int(reading.values["belt"]), make_up.drive.belts.joined
    following = belt + 1 if not joined and belt < (make_up.drive.belts.count or _MOST_BELTS) else 0
    asked = {"belt": following or belt, "state": reading.state, **({"job": reading.job_id} if reading.job_id else {})}
    return HeardPage(
        make_up.drive.tag, make_up.drive.name, there, f"{there}/listen?{urlencode(asked)}",
        f"Next: belt {following}" if following else "Listen again",
        f"/jobs/{reading.job_id}" if reading.job_id else there, reading.job_id is not None, _line(reading),
        f"{reading.state}, {reading.taken_at:%Y-%m-%d %H:%M} UTC, by {reading.by}", said,
        f"/files/{names[0]}" if names else "", f"{make_up.drive.tag}-{reading.taken_at:%Y%m%d-%H%M}.{names[0][65:]}"
        if names else "", f"Deleted by {reading.by}: {reading.reason}" if gone else "",
        bool(names) and gate.role_of(at.request) in (roles.PLAN, roles.KEEP), f"{there}/heard/{reading.id}/delete",
        gate.door_of(at.request).alone, at.person.name, fresh)


def _as_noted(at: Visit, heard: plucking.BeltHeard, reading: Reading) -> plucking.BeltHeard:
    """The picture of now with the meaning of the reading as it was noted."""
    return replace(heard, plucked=plucked(record_of(at.book, heard.make_up.drive.tag), reading))


def _line(reading: Reading) -> str:
    belt = reading.values["belt"]
    note = plucking.note_words(float(reading.values["frequency"]))
    return f"{f'Belt {belt}' if belt else 'Band'}, {note}, {reading.taken_at:%Y-%m-%d}"


def _number(text: str) -> int | None:
    if not text.strip():
        return None
    if not text.strip().isdecimal() or len(text.strip()) > 3:
        raise InputError(f"{text.strip()[:20]!r} is no belt: count from the motor side")
    return int(text)


def _span(text: str, at: Visit) -> float | None:
    field = next(each for each in record.kind_named("frequency").fields if each.name == "span")
    return parse(with_unit(field, text, at.person.system), "length") if text.strip() else None


def _is_mark(text: str) -> bool:
    try:
        return bool(UUID(text))
    except ValueError:
        return False
