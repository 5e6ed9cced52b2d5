"""Survey: a drive entered step by step from what can be read at the machine, worked out and cross-checked as it goes.

What was answered so far travels in the address from screen to screen, as it was typed: nothing is kept on the way, so
a reload, the browser's way back and an hour in between cost nothing, and the last screen alone writes to the book.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from beltwright.bench.card import Card, make_card
from beltwright.desk.columns import Column, by_header, header, understand
from beltwright.desk.survey import NOTHING, Row, drive_from, hand_in
from beltwright.errors import Cell, SheetError, UnitError, Unknown
from beltwright.plant.drive import STANDARDS
from beltwright.plant.identity import now
from beltwright.units import System, sign
from beltwright.web.addresses import drive_at
from beltwright.web.pages.figures import Shown, figure_shown
from beltwright.web.pages.sketches import sketch_of
from beltwright.web.pages.steps import BY_KEY, COLUMN, LAST, STEPS, Step, columns_of, step_of
from beltwright.web.visit import At, Typed, first_up

router = APIRouter()

LOOK: Final = "look"
# carried along beside the answers: the drive being added to
OF: Final = "of"
_SO_FAR: Final = ("deflection", "force_run_in", "frequency_run_in", "span", "centre", "ratio", "driven_speed",
                  "belt_speed", "belts_required", "service_factor_reached")
_FEW: Final = 4


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the answers offered."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Question:
    """A box to fill in. kind: number, count, text, date, tiles or list; problem: why what was typed cannot be read.

    sketch: of where to read it, by name
    """

    name: str
    words: str
    look: str
    kind: str
    typed: str
    unit: str
    choices: tuple[Choice, ...]
    problem: str
    needed: bool
    sketch: str


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Answers that do not fit each other, and the screen where they can be put right."""

    said: str
    likely: str
    do: str
    href: str
    grave: bool


@dataclass(frozen=True, slots=True)
class SoFar:
    """What follows from the answers so far."""

    figures: tuple[Shown, ...]
    disagreements: tuple[Disagreement, ...]
    next: str
    gives: str


@dataclass(frozen=True, slots=True)
class Stage:
    """A step in the row of steps."""

    title: str
    href: str
    state: str


@dataclass(frozen=True, slots=True)
class SurveyPage:
    """One screen of a survey."""

    title: str
    key: str
    where: str
    number: str
    action: str
    carried: tuple[tuple[str, str], ...]
    asks: tuple[Question, ...]
    more: tuple[Question, ...]
    open_more: bool
    stages: tuple[Stage, ...]
    so_far: SoFar
    back: str
    of: str
    known: str
    known_href: str
    problems: str


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer as it was typed, for looking over."""

    words: str
    text: str


@dataclass(frozen=True, slots=True)
class Answered:
    """The answers of a step."""

    title: str
    href: str
    answers: tuple[Answer, ...]


@dataclass(frozen=True, slots=True)
class LookPage:
    """The last screen: all answers, what follows from them, and who enters them."""

    title: str
    carried: tuple[tuple[str, str], ...]
    steps: tuple[Answered, ...]
    stages: tuple[Stage, ...]
    so_far: SoFar
    note: Question
    by: str
    by_problem: str
    back: str
    of: str
    problems: tuple[str, ...]
    button: str


@router.get("/survey", name="survey", response_model=None)
def start(at: At, drive: str = "", ask: str = "") -> Response:
    """Begin with a new drive, or go on with one of the book, at the screen where something is asked."""
    if not drive:
        return at.show("survey.html", survey_page(STEPS[0], {}, at.person.system))
    known = at.book.drive_by_tag(drive).drive
    step = step_of(ask) if ask else STEPS[1]
    return RedirectResponse(_address(step.key, {**known.typed, "tag": known.tag, "name": known.name,
                                                OF: known.tag}), 303)


@router.get("/survey/so-far", name="so_far")
def so_far_alone(at: At) -> HTMLResponse:
    """What follows from the answers so far, as a part of the page: while one types."""
    return at.show("_so_far.html", so_far(_cells(at.request.query_params), at.person.system))


@router.get("/survey/look", name="look")
def look(at: At) -> HTMLResponse:
    """Look all answers over."""
    cells = _cells(at.request.query_params)
    return at.show("look.html", look_page(cells, at.person.system, at.person.name))


@router.get("/survey/{key}", name="survey_step", response_model=None)
def step(at: At, key: str) -> Response:
    """A screen; what was typed into it is looked at when the person goes on."""
    if key not in BY_KEY:
        raise Unknown("there is no such step in a survey")
    cells, asked = _cells(at.request.query_params), BY_KEY[key]
    if "go" not in at.request.query_params:
        return at.show("survey.html", survey_page(asked, cells, at.person.system, known=_known(at, cells)))
    wrong = problems(asked, cells)
    if wrong:
        page = survey_page(asked, cells, at.person.system, wrong=wrong, known=_known(at, cells))
        return at.show("survey.html", page, status=422)
    return RedirectResponse(_address(_after(asked), cells), 303)


@router.post("/survey", name="enter", response_model=None)
def enter(at: At, typed: Typed) -> Response:
    """Put the drive into the book."""
    cells, by = _cells(typed), at.signed(typed.get("by", ""))
    if not by:
        page = look_page(cells, at.person.system, by, by_problem="a name is needed: every entry was made by somebody")
        return at.show("look.html", page, status=422)
    handed = hand_in(at.book, [Row(1, _to_hand_in(at, cells))], by=by, at=now())
    if handed.understood.problems:
        page = look_page(cells, at.person.system, by, wrong=handed.understood.problems)
        return at.show("look.html", page, status=422)
    answer = RedirectResponse(drive_at(cells.get(OF) or cells["tag"]), 303)
    at.remember(answer, name=by)
    return answer


def survey_page(step: Step, cells: Mapping[str, str], system: System, *, wrong: Mapping[str, str] | None = None,
                known: str = "") -> SurveyPage:
    """Fill a screen."""
    wrong = wrong or {}
    questions = {column.name: question(column, cells, system, wrong) for column in columns_of(step)}
    at = STEPS.index(step)
    more = tuple(questions[name] for name in step.more)
    return SurveyPage(
        title=step.title, key=step.key, where=step.where, number=f"{at + 1} of {len(STEPS) + 1}",
        action=f"/survey/{step.key}", carried=tuple(
            (name, text) for name, text in cells.items()
            if _column(name) not in step.names or (name == "tag" and OF in cells)),
        asks=tuple(questions[name] for name in step.asks if not (name == "tag" and OF in cells)), more=more,
        open_more=not step.asks or any(asked.typed or asked.problem for asked in more), stages=_stages(cells, step.key),
        so_far=so_far(cells, system), back=_address(STEPS[at - 1].key, cells) if at else "", of=cells.get(OF, ""),
        known=known, known_href=drive_at(known) if known else "",
        problems="" if not wrong else "One answer cannot be read." if len(wrong) == 1
        else f"{len(wrong)} answers cannot be read.")


def look_page(cells: Mapping[str, str], system: System, by: str, *, by_problem: str = "",
              wrong: tuple[Cell, ...] = ()) -> LookPage:
    """Fill the last screen."""
    steps = []
    for step in STEPS:
        answers = tuple(Answer(first_up(COLUMN[_column(name)].ask), _with_unit(name, text))
                        for name, text in cells.items() if _column(name) in step.names and text)
        if answers:
            steps.append(Answered(step.title, _address(step.key, cells), answers))
    return LookPage(
        title=f"Look {cells.get('tag', 'it')} over", carried=tuple((name, text) for name, text in cells.items()
                                                                 if name not in LAST),
        steps=tuple(steps), stages=_stages(cells, LOOK), so_far=so_far(cells, system),
        note=question(COLUMN[LAST[0]], cells, system, {}), by=by, by_problem=by_problem,
        back=_address(STEPS[-1].key, cells), of=cells.get(OF, ""),
        problems=tuple(f"{first_up(_asked(cell.column))}: {cell.problem}" for cell in wrong),
        button=f"Add to {cells[OF]}" if cells.get(OF) else f"Enter {cells.get('tag', '')}")


def question(column: Column, cells: Mapping[str, str], system: System, wrong: Mapping[str, str]) -> Question:
    """A box: under the name, and so with the unit, in which it was answered before."""
    name = next((name for name in cells if _column(name) == column.name), header(column, system))
    typed = cells.get(name, "")
    _, unit = by_header()[name]
    choices = _choices(column, typed)
    kind = {"text": "text", "date": "date", "count": "count"}.get(column.kind, "number")
    if choices:
        kind = "tiles" if len(choices) <= _FEW + 1 else "list"
    return Question(name, first_up(column.ask), first_up(column.look), kind, typed, sign(unit or ""), choices,
                    wrong.get(name, ""), column.name in ("tag", "name"), sketch_of(column.name))


def problems(step: Step, cells: Mapping[str, str]) -> dict[str, str]:
    """What cannot be read on a screen, by the name of its box."""
    wrong: dict[str, str] = {}
    answered: dict[str, str] = {}
    for name, text in cells.items():
        column, unit = by_header().get(name, (None, None))
        if column is None or column.name not in step.names:
            continue
        if not text:
            continue
        try:
            understand(column, text, unit)
        except UnitError as error:
            wrong[name] = first_up(str(error))
        if column.path in answered:
            wrong[name] = f"Answered already: {_asked(answered[column.path])}. Fill one of them."
        answered[column.path] = name
    if step is STEPS[0]:
        for needed in ("tag", "name"):
            if not cells.get(needed):
                wrong[needed] = f"Every drive needs a {needed}."
    return wrong


def so_far(cells: Mapping[str, str], system: System) -> SoFar:
    """What follows from the answers so far; nothing while one of them cannot be read."""
    asked = {name: text for name, text in cells.items() if name in by_header() and text}
    try:
        card = make_card(drive_from({**asked, "tag": asked.get("tag", "x"), "name": asked.get("name", "x")}))
    except SheetError:
        return SoFar((), (), "", "")
    gap = next(iter(card.gaps), None)
    return SoFar(tuple(figure_shown(card.figures[key], system) for key in _SO_FAR if key in card.figures),
                 _disagreements(card, cells, system), gap.words if gap else "",
                 ", ".join(gap.unlocks[:_FEW]) if gap else "")


def _disagreements(card: Card, cells: Mapping[str, str], system: System) -> tuple[Disagreement, ...]:
    found = [Disagreement(first_up(clash.statement.text(system)), first_up(clash.likely.text(system)),
                          first_up(clash.do.text(system)), _address(step_of(clash.columns[0]).key, cells),
                          clash.weight == "wrong") for clash in card.clashes]
    found += [Disagreement(f"{first_up(_asked(column))}: {why}", "", "", _address(step_of(column).key, cells), True)
              for column, why in card.known.unusable]
    return tuple(found)


def _choices(column: Column, typed: str) -> tuple[Choice, ...]:
    if column.kind == "yes or no":
        words: tuple[str, ...] = ("yes", "no")
    elif column.kind == "machine":
        from beltwright.mechanics.service import driven_machines

        words = tuple(driven_machines())
    else:
        words = column.choices
    if not words:
        return ()
    offered = [Choice("", "not read", not typed), *(
        Choice(word, word.upper() if word in STANDARDS else word, word == typed) for word in words)]
    if typed and not any(choice.chosen for choice in offered):
        offered.append(Choice(typed, typed, chosen=True))
    return tuple(offered)


def _stages(cells: Mapping[str, str], here: str) -> tuple[Stage, ...]:
    answered = {_column(name) for name, text in cells.items() if text}
    stages = [Stage(step.title, _address(step.key, cells),
                    "here" if step.key == here else "answered" if answered & set(step.names) else "open")
              for step in STEPS]
    return (*stages, Stage("Look it over", _address(LOOK, cells), "here" if here == LOOK else "open"))


def _cells(given: Mapping[str, str]) -> dict[str, str]:
    """The answers among what came with a request, in the order of the questions, and the drive they add to."""
    answers = {name: text.strip() for name, text in given.items()
               if (name in by_header() or name == OF) and text.strip()}
    order = {name: at for at, name in enumerate(by_header())}
    return dict(sorted(answers.items(), key=lambda pair: order.get(pair[0], -1)))


def _to_hand_in(at: At, cells: Mapping[str, str]) -> dict[str, str]:
    """The answers as a row of a sheet; what the book knew of the drive and was taken out on the way becomes a dash."""
    row = {name: text for name, text in cells.items() if name != OF}
    if cells.get(OF):
        row["tag"] = cells[OF]
        kept = {by_header()[name][0].path for name in row}
        before = at.book.drive_by_tag(cells[OF]).drive.typed
        row |= {name: NOTHING for name in before
                if name in by_header() and by_header()[name][0].path not in kept}
    return row


def _known(at: At, cells: Mapping[str, str]) -> str:
    """The tag of a drive of the book that a new one would be added to."""
    if not cells.get("tag") or cells.get(OF):
        return ""
    return next((make_up.drive.tag for make_up in at.book.drives_called([cells["tag"]])), "")


def _after(step: Step) -> str:
    at = STEPS.index(step)
    return STEPS[at + 1].key if at + 1 < len(STEPS) else LOOK


def _address(key: str, cells: Mapping[str, str]) -> str:
    words = urlencode({name: text for name, text in cells.items() if text})
    return f"/survey/{key}?{words}" if words else f"/survey/{key}"


def _column(name: str) -> str:
    column, _ = by_header().get(name, (None, None))
    return name if column is None else column.name


def _asked(name: str) -> str:
    found = COLUMN.get(_column(name))
    return name if found is None else found.ask


def _with_unit(name: str, text: str) -> str:
    _, unit = by_header().get(name, (None, None))
    return text if not unit or not text.strip()[-1:].isdigit() else f"{text} {sign(unit)}"
