"""Why a drive fails: the next question with three answers, causes ranked, what speaks for them, cures and their proof.

The form works by itself. The module of the page puts answers into the phone's outbox, and without signal goes on along
the questions worked out ahead (`bench.causes.ahead`), so that it needs no arithmetic of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from beltwright.bench.causes.ahead import ahead
from beltwright.desk import causes
from beltwright.errors import InputError, SheetError
from beltwright.paper.why import JUDGEMENT, WhyText, why
from beltwright.paper.why_json import ahead_content
from beltwright.plant.identity import new_id, now
from beltwright.plant.reading import Reading
from beltwright.plant.trouble import ANSWERS
from beltwright.web import gate
from beltwright.web.addresses import drive_at
from beltwright.web.visit import At, Typed, Visit, first_up

router = APIRouter()

# answers worked out ahead: so many questions a phone can go on by itself
DEPTH: Final = 3
# questions to choose from besides the next
_OTHERS: Final = 12
_WORDS: Final = dict(zip(ANSWERS, ("Yes, it is there", "No, it is not", "Could not tell"), strict=True))


@dataclass(frozen=True, slots=True)
class WhyPage:
    """Where the inquiry stands, and what can be answered."""

    made: WhyText
    others: int
    drive: str
    action: str
    ahead: str
    pdf: str
    failed: str
    readings: str
    answers: Mapping[str, str]
    locked_out: bool
    mark: str
    judgement: str
    ask_name: bool
    by: str
    problem: str = ""


@router.get("/drives/{tag}/why", name="why")
def why_page(at: At, tag: str, locked_out: str = "") -> HTMLResponse:
    """The page as it stands now."""
    return at.show("why.html", _page(at, tag, bool(locked_out)))


@router.post("/drives/{tag}/why")
def note(at: At, tag: str, typed: Typed) -> Response:
    """An answer, or what became of a cause, noted."""
    by = at.signed(typed.get("by", ""))
    try:
        _note(at, tag, typed, by)
    except (InputError, SheetError) as problem:
        words = "; ".join(cell.problem for cell in problem.cells) if isinstance(problem, SheetError) else str(problem)
        return at.show("why.html", _page(at, tag, bool(typed.get("locked_out")), first_up(words), by), status=422)
    answer = RedirectResponse(drive_at(tag, "why") + ("?locked_out=1" if typed.get("locked_out") else ""), 303)
    at.remember(answer, name=by)
    return answer


def _note(at: Visit, tag: str, typed: Mapping[str, str], by: str) -> Reading:
    try:
        made = UUID(typed.get("made", "")) if typed.get("made") else None
    except ValueError:
        raise InputError("the mark of this answer cannot be read: load the page anew") from None
    noting: dict[str, Callable[[], Reading]] = {
        "answer": lambda: causes.answer(at.book, tag, typed.get("sign", ""), typed.get("answer", ""), by=by, at=now(),
                                        reading_id=made),
        "cause": lambda: causes.decide(at.book, tag, typed.get("cause", ""), typed.get("verdict", ""), by=by, at=now(),
                                       proof=typed.get("proof", ""), reading_id=made)}
    if typed.get("kind") not in noting:
        raise InputError(f"say what is noted: {' or '.join(noting)}")
    return noting[typed["kind"]]()


@router.get("/drives/{tag}/why/ahead", name="why_ahead")
def questions_ahead(at: At, tag: str) -> JSONResponse:
    """The next few questions with the ranking after each answer, for a phone that goes on without signal."""
    found = causes.inquiry(at.book, tag, now=now())
    content: list[dict[str, Any]] = ahead_content(ahead(found, depth=DEPTH), at.person.system)
    return JSONResponse(content)


@router.get("/drives/{tag}/why.pdf", name="why_pdf")
def printed(at: At, tag: str) -> Response:
    """The one-page record of the inquiry."""
    from beltwright.paper.why_pdf import why_pdf

    moment = now()
    made = why(causes.inquiry(at.book, tag, now=moment), at.person.system)
    data = why_pdf(made, paper="us-letter" if at.person.system == "inch" else "a4", plant=at.settings.plant,
                   made_on=moment.date())
    return Response(data, media_type="application/pdf")


def _page(at: Visit, tag: str, locked_out: bool, problem: str = "", by: str = "") -> WhyPage:
    made = why(causes.inquiry(at.book, tag, now=now(), locked_out=locked_out), at.person.system)
    return WhyPage(made, _OTHERS, drive_at(made.tag), drive_at(made.tag, "why"), drive_at(made.tag, "why/ahead"),
                   drive_at(made.tag, "why.pdf"), drive_at(made.tag, "readings/belts-failed"),
                   drive_at(made.tag, "readings"), _WORDS, locked_out, str(new_id()), JUDGEMENT,
                   gate.door_of(at.request).alone, by or at.person.name, problem)
