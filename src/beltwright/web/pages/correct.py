"""A reading that was accepted, put right: what was noted stands in its boxes, what is changed supersedes it.

Nothing is overwritten: the correction is a new fact with its reason, the old reading stays on record and is shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final
from uuid import UUID

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from beltwright.desk import record
from beltwright.errors import BeltwrightError, InputError, SheetError, Unknown
from beltwright.plant.identity import now
from beltwright.plant.reading import KINDS, Field, Reading
from beltwright.units import System
from beltwright.web import gate
from beltwright.web.addresses import drive_at
from beltwright.web.pages.history import value_text
from beltwright.web.pages.reading import Asked, Box, box_for, with_unit
from beltwright.web.visit import At, Typed, Visit, first_up

router = APIRouter()

# corrections of one reading that a page follows back
_MOST: Final = 20


@dataclass(frozen=True, slots=True)
class Before:
    """What stood there before a correction, and why it was put right."""

    values: str
    by: str
    reason: str


@dataclass(frozen=True, slots=True)
class CorrectPage:
    """A reading as it stands on record, and the form that puts it right. `newer`: where it was put right already."""

    tag: str
    name: str
    drive: str
    title: str
    values: str
    when: str
    state: str
    by: str
    words: str
    before: tuple[Before, ...]
    newer: str
    boxes: tuple[Box, ...]
    action: str
    reason: str
    ask_name: bool
    signed: str
    corrected: bool
    problem: str


@router.get("/readings/{reading_id}", name="correct")
def correct_page(at: At, reading_id: UUID, corrected: str = "") -> HTMLResponse:
    """A reading and how to put it right."""
    return at.show("correct.html", _page(at, at.book.reading(reading_id), {}, corrected=bool(corrected)))


@router.post("/readings/{reading_id}")
def correct(at: At, reading_id: UUID, typed: Typed) -> Response:
    """Put it right: only what was changed is sent on."""
    old = at.book.reading(reading_id)
    by = at.signed(typed.get("by", ""))
    try:
        if newer := _newer(at, old):
            raise InputError(f"this reading was put right already by {newer.by}: correct that one")
        answers = changed(old, typed, at.person.system)
        if not answers:
            raise InputError("nothing was changed")
        made = record.correct(at.book, old.id, answers, reason=typed.get("reason", ""), by=by, at=now(),
                              system=at.person.system)
    except BeltwrightError as problem:
        wrong = {cell.column: cell.problem for cell in problem.cells} if isinstance(problem, SheetError) else {}
        page = _page(at, old, typed, wrong=wrong, problem=first_up(str(problem)))
        return at.show("correct.html", page, status=422 if isinstance(problem, InputError) else 409)
    answer = RedirectResponse(f"/readings/{made.id}?corrected=1", 303)
    at.remember(answer, name=by)
    return answer


def changed(old: Reading, typed: Mapping[str, str], system: System) -> dict[str, str]:
    """What stands in the boxes otherwise than it was noted, each with its unit."""
    return {field.name: with_unit(field, typed[field.name], system) for field in KINDS[old.kind].fields
            if typed.get(field.name, "").strip() not in ("", as_noted(old, field))}


def as_noted(old: Reading, field: Field) -> str:
    """A value as it was typed; of one that came from elsewhere, the exact value."""
    value = old.values.get(field.name)
    if value is None:
        return ""
    return old.typed.get(field.name, "").strip() or record.exact(field, value)


def _page(at: Visit, old: Reading, typed: Mapping[str, str], *, wrong: Mapping[str, str] | None = None,
          problem: str = "", corrected: bool = False) -> CorrectPage:
    system, kind = at.person.system, KINDS[old.kind]
    drive = at.book.drive(old.drive_id).drive
    stands = {field.name: as_noted(old, field) for field in kind.fields}
    asked = Asked(typed={**stands, **{name: text for name, text in typed.items() if text.strip()}}, wrong=wrong or {})
    newer = _newer(at, old)
    return CorrectPage(
        drive.tag, drive.name, drive_at(drive.tag), kind.title, _values(old, system), f"{old.taken_at:%Y-%m-%d %H:%M}",
        old.state, old.by, old.note, tuple(_before(at, old)), f"/readings/{newer.id}" if newer else "",
        tuple(box_for(field, field.name, system, asked) for field in kind.fields), f"/readings/{old.id}",
        typed.get("reason", ""), gate.door_of(at.request).alone, typed.get("by", "") or at.person.name, corrected,
        problem)


def _before(at: Visit, reading: Reading) -> list[Before]:
    """What it supersedes, the last first."""
    found: list[Before] = []
    while reading.supersedes is not None and len(found) < _MOST:
        try:
            old = at.book.reading(reading.supersedes)
        except Unknown:
            break
        found.append(Before(_values(old, at.person.system), old.by, f"{reading.reason} ({reading.by})"))
        reading = old
    return found


def _newer(at: Visit, old: Reading) -> Reading | None:
    """The reading that puts this one right, if there is one."""
    of_its_kind = at.book.readings(old.drive_id, kinds=(old.kind,), superseded=True)
    return next((each for each in of_its_kind if each.supersedes == old.id), None)


def _values(reading: Reading, system: System) -> str:
    parts = [f"{field.name.replace('_', ' ')} {text}" for field in KINDS[reading.kind].fields
             if (text := value_text(field, reading.values.get(field.name), system))]
    return ", ".join(parts)
