"""A job: opened at a drive, one step a screen, with its gates, its numbers, its readings; at the end its record.

Every step stands on the page, all but one of them hidden, so that a phone which holds the page holds the job. Without
modules each step has an address of its own and a form that posts; the modules show the steps and note into the outbox.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from beltwright.bench import procedure
from beltwright.bench.carried import order_of_work, run_in
from beltwright.bench.procedure import Mark
from beltwright.desk import jobs
from beltwright.desk.jobs import Standing, standing
from beltwright.errors import BeltwrightError, InputError, Refused
from beltwright.paper.record import Part, Record, record
from beltwright.plant.identity import new_id, now
from beltwright.plant.job import Event
from beltwright.plant.reading import KINDS
from beltwright.units import MINUTE
from beltwright.web import gate
from beltwright.web.addresses import drive_at
from beltwright.web.visit import At, Typed, Visit, first_up

router = APIRouter()

_NEW_BELTS: Final = frozenset(("set-new", "left-tension"))
_WITH_NEW: Final = frozenset(("re-belt", "change sheave"))
# parts of the record that set what was found beside what was left
_FOUND_AND_LEFT: Final = ("tension", "alignment")


@dataclass(frozen=True, slots=True)
class Reads:
    """A reading that a step asks for: its form, its title, and how many were noted in this job."""

    href: str
    title: str
    noted: int


@dataclass(frozen=True, slots=True)
class StepView:
    """A step as a screen. `why_not`: what stands in its way now; `before`, `after`: the steps beside it."""

    key: str
    number: int
    title: str
    say: tuple[str, ...]
    caution: str
    gate: str
    state: str
    by: str
    reason: str
    reopened: bool
    confirm: tuple[str, ...]
    can_skip: bool
    can_undo: bool
    reads: tuple[Reads, ...]
    why_not: str
    clock: str
    shown: bool
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class JobPage:
    """A job as it stands."""

    id: str
    tag: str
    name: str
    place: str
    kind: str
    title: str
    opened: str
    drive: str
    card: str
    action: str
    steps: tuple[StepView, ...]
    done: int
    locks: str
    next: str
    ended: str
    can_close: bool
    why_open: str
    ask_name: bool
    by: str
    run_in_low: str
    run_in_high: str
    carry: str
    record: Record | None
    found_and_left: tuple[Part, ...]
    rest: tuple[Part, ...]
    pdf: str
    problem: str = ""


@dataclass(frozen=True, slots=True)
class OpenPage:
    """The jobs of a drive, and opening one."""

    tag: str
    name: str
    drive: str
    action: str
    kinds: tuple[tuple[str, str], ...]
    open: tuple[tuple[str, str], ...]
    earlier: tuple[tuple[str, str], ...]
    ask_name: bool
    by: str
    made: str
    may_open: bool
    problem: str = ""


@dataclass(frozen=True, slots=True)
class JobsPage:
    """Every open job of the plant: address, tag, what, by whom."""

    open: tuple[tuple[str, str, str, str], ...]


@router.get("/jobs", name="jobs")
def open_jobs(at: At) -> HTMLResponse:
    """The jobs that are open."""
    with at.book.looking():
        found = [(f"/jobs/{job.id}", at.book.drive(job.drive_id).drive.tag, procedure.kinds()[job.kind],
                  f"opened {job.opened_at:%Y-%m-%d %H:%M} by {job.opened_by}") for job in at.book.jobs(open_only=True)]
    return at.show("jobs.html", JobsPage(tuple(found)))


@router.get("/drives/{tag}/jobs", name="drive_jobs")
def drive_jobs(at: At, tag: str) -> HTMLResponse:
    """The jobs of a drive."""
    return at.show("open_job.html", _open_page(at, tag))


@router.post("/drives/{tag}/jobs")
def open_job(at: At, tag: str, typed: Typed) -> Response:
    """Open a job and go to it."""
    by = at.signed(typed.get("by", ""))
    try:
        job = jobs.open_job(at.book, tag, typed.get("kind", ""), by=by, at=now(), reason=typed.get("reason", ""),
                            system=at.person.system, job_id=_mark(typed.get("made", "")))
    except (Refused, InputError) as problem:
        page = _open_page(at, tag, first_up(str(problem)))
        return at.show("open_job.html", page, status=409 if isinstance(problem, Refused) else 422)
    answer = RedirectResponse(f"/jobs/{job.id}", 303)
    at.remember(answer, name=by)
    return answer


@router.get("/jobs/{job_id}", name="job")
def job(at: At, job_id: UUID, step: str = "") -> HTMLResponse:
    """A job at one of its steps, the next one unless another is asked for."""
    return at.show("job.html", job_page(at, standing(at.book, job_id), step))


@router.post("/jobs/{job_id}")
async def do(at: At, job_id: UUID, request: Request) -> Response:
    """A step done, skipped or taken back; the job closed or abandoned."""
    form = await request.form(max_files=0, max_fields=gate.MOST_FIELDS)
    typed = {name: text for name, text in form.items() if isinstance(text, str)}
    confirmed = tuple(text for text in form.getlist("confirm") if isinstance(text, str))
    return await run_in_threadpool(_do, at, job_id, typed, confirmed)


def _do(at: Visit, job_id: UUID, typed: Mapping[str, str], confirmed: tuple[str, ...]) -> Response:
    by = at.signed(typed.get("by", ""))
    step, reason, what = typed.get("step", ""), typed.get("reason", ""), typed.get("what", "")
    doing = {"done": lambda: jobs.do(at.book, job_id, step, by=by, at=now(), confirmed=confirmed),
             "skipped": lambda: jobs.skip(at.book, job_id, step, by=by, at=now(), reason=reason),
             "undone": lambda: jobs.take_back(at.book, job_id, step, by=by, at=now(), reason=reason),
             "closed": lambda: jobs.close(at.book, job_id, by=by, at=now()),
             "abandoned": lambda: jobs.abandon(at.book, job_id, by=by, at=now(), reason=reason)}
    try:
        if what not in doing:
            raise InputError("say what is to be noted: done, skipped, undone, closed or abandoned")
        doing[what]()
    except (Refused, InputError) as problem:
        page = job_page(at, standing(at.book, job_id), step, first_up(str(problem)), by)
        return at.show("job.html", page, status=409 if isinstance(problem, Refused) else 422)
    answer = RedirectResponse(f"/jobs/{job_id}", 303)
    at.remember(answer, name=by)
    return answer


def job_page(at: Visit, found: Standing, step: str = "", problem: str = "", by: str = "") -> JobPage:
    """Fill the page."""
    from beltwright.web.phone import along

    one, progress, drive = found.job, found.progress, found.make_up.drive
    keys = [each.key for each in one.steps]
    shown = step if step in keys else progress.next.key if progress.next else ""
    name = by or at.person.name
    low, high = run_in()
    why_open = _stands_against(found, Event(new_id(), one.id, "closed", "", name or "somebody", now()))
    views = tuple(_view(found, mark, number, shown, keys, name) for number, mark in enumerate(progress.marks, 1))
    whole = record(one, found.events, found.readings, found.card(), at.person.system)
    made = whole if progress.ended or not progress.open else None
    both = tuple(_without_empty(part) for part in whole.parts if part.key in _FOUND_AND_LEFT)
    rest = tuple(part for part in whole.parts if part.key not in _FOUND_AND_LEFT) if made else ()
    return JobPage(
        str(one.id), drive.tag, drive.name, drive.place, one.kind, procedure.kinds()[one.kind],
        f"{one.opened_at:%Y-%m-%d %H:%M} by {one.opened_by}", drive_at(drive.tag), drive_at(drive.tag, "card"),
        f"/jobs/{one.id}", views, sum(mark.state != "open" for mark in progress.marks),
        ", ".join(sorted(progress.locks)), progress.next.key if progress.next else "", progress.ended,
        not why_open, first_up(why_open), gate.door_of(at.request).alone, name, f"{low:.0f}", f"{high:.0f}",
        json.dumps({**along(found), "order": order_of_work(one)}), made, both, rest, f"/jobs/{one.id}/record.pdf",
        problem)


def _without_empty(part: Part) -> Part:
    """A table without the columns in which nothing stands: who read no force sees none."""
    kept = [at for at in range(len(part.columns)) if at == 0 or any(line.cells[at] for line in part.lines)]
    return replace(part, columns=tuple(part.columns[at] for at in kept), lines=tuple(
        replace(line, cells=tuple(line.cells[at] for at in kept)) for line in part.lines))


@router.get("/jobs/{job_id}/record.pdf", name="record_pdf")
def printed(at: At, job_id: UUID) -> Response:
    """The record of a job, to be printed."""
    from beltwright.paper.record_pdf import record_pdf

    found = standing(at.book, job_id)
    data = record_pdf(found.job, found.events, found.readings, found.card(), at.person.system)
    return Response(data, media_type="application/pdf")


def _view(found: Standing, mark: Mark, number: int, shown: str, keys: list[str], name: str) -> StepView:
    step, one, tag = mark.step, found.job, found.make_up.drive.tag
    why = "" if mark.state == "done" else _stands_against(found, Event(
        new_id(), one.id, "done", step.key, name or "somebody", now(), confirmed=step.confirm))
    at = number - 1
    return StepView(
        step.key, number, step.title, step.say, step.caution, step.gate, mark.state, ", ".join(mark.by), mark.reason,
        mark.reopened, step.confirm, step.can_skip and mark.state == "open", mark.state != "open" and not step.gate,
        tuple(_reads(found, tag, step.key, kind, step.state) for kind in step.reads), first_up(why),
        _clock(found) if step.key.partition("@")[0] == "run-in" else "", step.key == shown,
        keys[at - 1] if at else "", keys[at + 1] if at + 1 < len(keys) else "")


def _reads(found: Standing, tag: str, key: str, kind: str, state: str) -> Reads:
    age = "new" if found.job.kind in _WITH_NEW and key.partition("@")[0] in _NEW_BELTS else "run-in"
    noted = sum(reading.kind == kind and (not state or reading.state == state) for reading in found.readings)
    asked = f"job={found.job.id}&step={key}&state={state.replace(' ', '%20')}&age={age}"
    return Reads(f"{drive_at(tag, 'readings')}/{kind.replace(' ', '-')}?{asked}", KINDS[kind].title, noted)


def _clock(found: Standing) -> str:
    """When running new belts in may have begun, for whoever has no module that counts: when the locks came off."""
    off = [event.at for event in found.events if event.kind == "done" and event.step == "locks-off"]
    if not off:
        return ""
    low, high = run_in()
    return (f"Locks were off at {off[-1]:%H:%M} UTC. Note when you start it; read again {low / MINUTE:.0f} to "
            f"{high / MINUTE:.0f} minutes later.")


def _stands_against(found: Standing, event: Event) -> str:
    """The rule that stands against an event now, in words; nothing where none does."""
    try:
        procedure.check(found.job, found.events, event)
    except BeltwrightError as problem:
        return str(problem)
    return ""


def _open_page(at: Visit, tag: str, problem: str = "") -> OpenPage:
    with at.book.looking():
        make_up = at.book.drive_by_tag(tag)
        listed = at.book.jobs(make_up.drive_id)
        open_now = {job.id for job in at.book.jobs(make_up.drive_id, open_only=True)}
    titles = procedure.kinds()
    lines = [(job.id in open_now, (f"/jobs/{job.id}", f"{titles[job.kind]}, opened {job.opened_at:%Y-%m-%d} by "
                                                      f"{job.opened_by}")) for job in reversed(listed)]
    return OpenPage(make_up.drive.tag, make_up.drive.name, drive_at(make_up.drive.tag),
                    drive_at(make_up.drive.tag, "jobs"), tuple(titles.items()),
                    tuple(line for is_open, line in lines if is_open),
                    tuple(line for is_open, line in lines if not is_open), gate.door_of(at.request).alone,
                    at.person.name, str(new_id()), gate.role_of(at.request) in ("plan", "keep the book"), problem)


def _mark(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
