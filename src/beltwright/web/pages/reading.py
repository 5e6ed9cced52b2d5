"""A reading: a form for each kind, a row for each belt, groove or place, with the band in view; what was noted, judged.

The form works by itself. The modules of the page judge each value while it is typed, by the numbers handed over here
(`bench.carried`), and put what is noted into the phone's outbox instead of posting it.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, cast
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile

from beltwright import units
from beltwright.bench import carried
from beltwright.bench.card import Card, make_card
from beltwright.book.enclosed import PICTURES, name_of
from beltwright.desk import record
from beltwright.desk.clips import decode
from beltwright.errors import BeltwrightError, InputError, SheetError, Unknown
from beltwright.paper.alignment import PAGE, OutOfLine, alignment_drawing
from beltwright.plant.identity import new_id, now
from beltwright.plant.reading import KINDS, Field, Kind, Reading, State
from beltwright.units import SHOWN, System
from beltwright.web import gate
from beltwright.web.addresses import drive_at
from beltwright.web.visit import At, Visit, drawn, first_up

router = APIRouter()

# the row's own names: they say which belt, groove or place a row is, and make no reading by themselves
_FIXED: Final[Mapping[str, tuple[str, ...]]] = {
    "force": ("belt",), "frequency": ("belt",), "belt length": ("belt",), "bow": ("belt",), "belt": ("belt",),
    "groove": ("sheave", "groove"), "ride": ("sheave", "groove"), "temperature": ("where",), "alignment": ("turned",),
    "run-out": ("sheave",),
}
# rows shown while the number of belts or grooves is not known
_USUAL: Final = 4
_MOST: Final = 40
MOST_FILES: Final = 8
LARGEST_FORM_FILE: Final = 24 * 1024 * 1024
_BARE: Final = re.compile(r"[+-]?[\d\s./,-]+")
_ROW: Final = re.compile(r"r(\d{1,3})-(\w+)")


@dataclass(frozen=True, slots=True)
class Box:
    """A box to type or choose in. `factor`, `offset`: typed * factor + offset is SI, for the modules of the page."""

    name: str
    field: str
    label: str
    kind: str
    unit: str
    typed: str
    mode: str
    choices: tuple[str, ...] = ()
    required: bool = False
    problem: str = ""
    factor: str = ""
    offset: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A belt, a groove, a place: what it is, its hidden names, its boxes."""

    label: str
    group: str
    fixed: tuple[tuple[str, str], ...]
    boxes: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class Noted:
    """A reading as noted: its values, and what they are held against."""

    text: str
    held: tuple[tuple[str, str, str, str], ...]


@dataclass(frozen=True, slots=True)
class ReadingPage:
    """The form of a kind of reading at a drive."""

    tag: str
    name: str
    kind: str
    title: str
    layout: str
    hands_on: bool
    action: str
    drive: str
    rows: tuple[Row, ...]
    shared: tuple[Box, ...]
    more: tuple[Box, ...]
    bands: tuple[tuple[str, str, str], ...]
    ages: tuple[tuple[str, str], ...]
    age: str
    states: tuple[str, ...]
    state: str
    job: str
    step: str
    back: str
    ask_name: bool
    by: str
    words: str
    made: str
    carry: str
    noted: tuple[Noted, ...] = ()
    answer: Markup | None = None
    moves: tuple[str, ...] = ()
    problem: str = ""


@dataclass(frozen=True, slots=True)
class KindsPage:
    """The kinds of reading one can note at a drive."""

    tag: str
    name: str
    drive: str
    running: tuple[tuple[str, str], ...]
    hands_on: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """What the address says of a reading: job and step it belongs to, its state, what was typed, what was noted."""

    job: str = ""
    step: str = ""
    state: str = ""
    age: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    wrong: Mapping[str, str] = field(default_factory=dict)
    problem: str = ""


@router.get("/drives/{tag}/readings", name="readings")
def kinds_page(at: At, tag: str) -> HTMLResponse:
    """Which reading to note."""
    drive = at.book.drive_by_tag(tag).drive
    listed = [(kind.hands_on, (drive_at(drive.tag, f"readings/{kind.name.replace(' ', '-')}"), kind.title))
              for kind in KINDS.values()]
    return at.show("readings.html", KindsPage(drive.tag, drive.name, drive_at(drive.tag), tuple(
        each for hands, each in listed if not hands), tuple(each for hands, each in listed if hands)))


@router.get("/drives/{tag}/readings/{kind}", name="reading")
def reading(at: At, tag: str, kind: str, job: str = "", step: str = "", state: str = "", age: str = "",
            noted: str = "") -> HTMLResponse:
    """The form; with `noted`, what was noted a moment ago and how it is judged."""
    page = _page(at, tag, record.kind_named(kind), Asked(job, step, state, age))
    if noted:
        page = _with_noted(at, page, tag, noted)
    return at.show("reading.html", page)


@router.post("/drives/{tag}/readings/{kind}")
async def note(at: At, tag: str, kind: str, request: Request) -> Response:
    """Note what was typed: a reading for each row that says something."""
    form = await request.form(max_files=gate.MOST_FILES, max_fields=gate.MOST_FIELDS)
    typed = {name: text for name, text in form.items() if isinstance(text, str)}
    try:
        enclosed = await _files(form)
    finally:
        await form.close()
    return await run_in_threadpool(_note, at, tag, record.kind_named(kind), typed, enclosed)


async def _files(form: FormData) -> list[bytes]:
    files = [part for _, part in form.multi_items() if isinstance(part, UploadFile) and part.filename]
    if len(files) > MOST_FILES or any((part.size or 0) > LARGEST_FORM_FILE for part in files):
        raise InputError(f"at most {MOST_FILES} photos and clips at once, each at most {LARGEST_FORM_FILE >> 20} MB")
    return [await part.read() for part in files]


def _note(at: Visit, tag: str, kind: Kind, typed: Mapping[str, str], files: Sequence[bytes]) -> Response:
    asked = Asked(typed.get("job", ""), typed.get("step", ""), typed.get("state", ""), typed.get("age", ""), typed)
    by = at.signed(typed.get("by", ""))
    try:
        noted = _noted(at, tag, kind, typed, files, by)
    except BeltwrightError as problem:
        wrong = {cell.column: cell.problem for cell in problem.cells} if isinstance(problem, SheetError) else {}
        page = _page(at, tag, kind, replace(asked, wrong=wrong, problem=first_up(str(problem))))
        return at.show("reading.html", page, status=409 if not isinstance(problem, InputError) else 422)
    there = "&".join(f"{name}={text.replace(' ', '%20')}" for name, text in (
        ("job", asked.job), ("step", asked.step), ("state", asked.state), ("age", asked.age),
        ("noted", ",".join(str(each.id) for each in noted))) if text and text.replace("-", "").isprintable())
    answer = RedirectResponse(f"{drive_at(tag, 'readings')}/{kind.name.replace(' ', '-')}?{there}", 303)
    at.remember(answer, name=by)
    return answer


def _noted(at: Visit, tag: str, kind: Kind, typed: Mapping[str, str], files: Sequence[bytes], by: str) -> list[Reading]:
    rows = entries(kind, typed, at.person.system)
    if not rows:
        raise InputError("nothing was filled in")
    job_id = _mark(typed["job"]) if typed.get("job") else None
    names = _enclose(at, files)
    moment, noted, wrong = now(), [], []
    with at.book.writing():
        for row, answers in rows:
            try:
                noted.append(record.note(
                    at.book, tag, kind.name, answers, state=typed.get("state") or usual_state(kind), by=by, at=moment,
                    system=at.person.system, job_id=job_id, words=typed.get("words", ""),
                    reading_id=_same_form_same_id(typed.get("made", ""), row, answers),
                    extra={"files": " ".join(names)} if names else None))
            except SheetError as problem:
                wrong += [replace(cell, column=f"r{row}-{cell.column}") for cell in problem.cells]
        if wrong:
            raise SheetError("put right what is marked; nothing was noted yet", wrong)
    return noted


def entries(kind: Kind, typed: Mapping[str, str], system: System) -> list[tuple[int, dict[str, str]]]:
    """The readings of a form: for each row that says something its values, with those that stand for all rows."""
    names = {each.name: each for each in kind.fields}
    shared = {name: text for name, text in typed.items() if name in names and text.strip()}
    rows: dict[int, dict[str, str]] = {}
    for name, text in typed.items():
        if (found := _ROW.fullmatch(name)) and found[2] in names and text.strip():
            rows.setdefault(int(found[1]), {})[found[2]] = text
    own = set(_FIXED.get(kind.name, ()))
    return [(row, {name: with_unit(names[name], text, system) for name, text in {**shared, **values}.items()})
            for row, values in sorted(rows.items()) if values.keys() - own]


def with_unit(asked: Field, text: str, system: System) -> str:
    """What was typed with the unit that stood beside the box, so that it can be read for ever.

    >>> with_unit(KINDS["force"].fields[1], "42", "si"), with_unit(KINDS["force"].fields[1], "9 lbf", "si")
    ('42 N', '9 lbf')
    """
    unit = SHOWN[system][asked.kind].unit if asked.kind in units.KINDS else ""
    return f"{text.strip()} {unit}" if unit and _BARE.fullmatch(text.strip()) else text.strip()


def usual_state(kind: Kind) -> State:
    """How a reading of that kind is marked unless somebody says otherwise."""
    return "as found" if kind.hands_on else "running"


def _same_form_same_id(made: str, row: int, answers: Mapping[str, str]) -> UUID:
    """A form sent twice by a second press is one reading (UUIDv8, RFC 9562)."""
    content = repr((made or str(new_id()), row, sorted(answers.items())))
    digest = bytearray(hashlib.sha256(content.encode()).digest()[:16])
    digest[6], digest[8] = digest[6] & 0x0F | 0x80, digest[8] & 0x3F | 0x80
    return UUID(bytes=bytes(digest))


def _enclose(at: Visit, files: Sequence[bytes]) -> list[str]:
    names = []
    for data in files:
        name = name_of(data)
        if name.rpartition(".")[2] not in PICTURES:
            decode(data)
        at.book.keep_file(name, data)
        names.append(name)
    return names


def _mark(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise InputError("the job of this reading cannot be understood: open it from the job") from None


# --- the page ---------------------------------------------------------------------------------------------------------

def _page(at: Visit, tag: str, kind: Kind, asked: Asked) -> ReadingPage:
    drive = at.book.drive_by_tag(tag).drive
    card, system = make_card(drive), at.person.system
    found = carried.rules(card, kind.name)
    straight = carried.straight(card) if kind.name == "alignment" else None
    fixed = (*_FIXED.get(kind.name, ()), *(("what",) if kind.name == "seen" else ()))
    in_rows = {each.name for each in kind.fields if each.required} if fixed else set()
    if kind.name in ("belt", "run-out"):
        in_rows = {each.name for each in kind.fields}
    if kind.name == "alignment":
        in_rows -= {"face"}
    if kind.name == "seen":
        in_rows = {"what"}
    others = [each for each in kind.fields if each.name not in in_rows]
    carry = {"rules": [_rule(rule, system) for rule in found], "system": system,
             "straight": carried.carry(straight) if straight else None,
             "length": {"unit": SHOWN[system]["length"].unit,
                        "factor": units.KINDS["length"][SHOWN[system]["length"].unit][0],
                        "digits": 1 if system == "si" else 3}}
    back = f"/jobs/{asked.job}" + (f"?step={asked.step}" if asked.step else "") if asked.job else drive_at(drive.tag)
    return ReadingPage(
        drive.tag, drive.name, kind.name, kind.title, _layout(kind), kind.hands_on,
        f"{drive_at(drive.tag, 'readings')}/{kind.name.replace(' ', '-')}", drive_at(drive.tag),
        rows(kind, card, system, asked),
        tuple(box_for(each, each.name, system, asked) for each in others if each.required),
        tuple(box_for(each, each.name, system, asked) for each in others if not each.required),
        _bands(kind, card, found, system), (("run-in", "run-in belts"), ("new", "new belts")) if any(
            rule.age for rule in found) else (), asked.age if asked.age in ("run-in", "new") else "run-in",
        record.STATES, asked.state if asked.state in record.STATES else usual_state(kind), asked.job, asked.step, back,
        gate.door_of(at.request).alone, asked.typed.get("by", "") or at.person.name, asked.typed.get("words", ""),
        asked.typed.get("made", "") or str(new_id()), json.dumps(carry), problem=asked.problem)


def _layout(kind: Kind) -> str:
    return {"alignment": "alignment", "groove": "grooves", "ride": "grooves", "seen": "chips"}.get(kind.name, "rows")


def rows(kind: Kind, card: Card, system: System, asked: Asked) -> tuple[Row, ...]:
    """A row for each belt, groove or place of this drive."""
    drive = card.drive
    belts = min(drive.belts.count or _USUAL, _MOST)
    own = [each for each in kind.fields if each.required or kind.name in ("belt", "run-out")]
    made: list[tuple[str, str, dict[str, str]]] = []
    match kind.name:
        case "force" | "frequency" if drive.belts.joined:
            made = [("Whole band", "", {"belt": "0"})]
        case "force" | "frequency" | "belt length" | "bow" | "belt":
            made = [(f"Belt {number}", "", {"belt": str(number)}) for number in range(1, belts + 1)]
        case "groove" | "ride":
            made = [(f"{number}", which, {"sheave": which, "groove": str(number)}) for which in ("driver", "driven")
                    for number in range(1, min(getattr(drive, which).grooves or belts, _MOST) + 1)]
        case "run-out":
            made = [(f"{first_up(which)} sheave", "", {"sheave": which}) for which in ("driver", "driven")]
        case "temperature":
            made = [(first_up(where), "", {"where": where}) for where in kind.fields[0].choices]
        case "alignment":
            made = [("First reading", "", {"turned": "neither"}), ("After half a turn", "", {"turned": "both"})]
        case "seen":
            return tuple(Row(first_up(what), "", (), (replace(box_for(
                kind.fields[0], f"r{at}-what", system, asked), label=what),)) for at, what in enumerate(
                kind.fields[0].choices))
        case _:
            return (Row("", "", (), tuple(box_for(each, f"r0-{each.name}", system, asked) for each in own)),)
    skip = {"face"} if kind.name == "alignment" else set()
    return tuple(Row(label, group, tuple((f"r{at}-{name}", text) for name, text in fixed.items()), tuple(
        box_for(each, f"r{at}-{each.name}", system, asked) for each in own if each.name not in fixed.keys() | skip))
        for at, (label, group, fixed) in enumerate(made))


def box_for(each: Field, name: str, system: System, asked: Asked) -> Box:
    measured = each.kind in units.KINDS
    unit = SHOWN[system][each.kind].unit if measured else ""
    factor, offset = units.KINDS[each.kind][unit] if measured else (1.0, 0.0)
    mode = "decimal" if measured else "numeric" if each.kind == "count" else "text"
    if measured and each.low is not None and each.low < 0:
        mode = "text"   # the number pads of phones have no minus
    return Box(name, each.name, first_up(each.ask), each.kind, units.sign(unit), asked.typed.get(name, ""), mode,
               each.choices, each.required, asked.wrong.get(name, ""), repr(factor) if measured else "",
               repr(offset) if measured else "")


def _rule(rule: carried.Rule, system: System) -> dict[str, object]:
    return {"field": rule.field, "title": rule.title, "band": rule.band(system), "low": rule.low, "high": rule.high,
            "below": rule.below, "above": rule.above, "per": rule.per, "when": dict(rule.when),
            "without": list(rule.without), "age": rule.age}


_SHOWN_ABOVE: Final[Mapping[str, tuple[str, ...]]] = {
    "force": ("deflection", "deflection_64ths"), "frequency": ("span",), "groove": ("gauge",), "bow": ("span",),
    "alignment": ("alignment_limit", "alignment_target"), "motor move": ("slack_off", "take_up"),
    "speed": ("driven_speed",)}


def _bands(kind: Kind, card: Card, found: Sequence[carried.Rule], system: System) -> tuple[tuple[str, str, str], ...]:
    """What the reading is held against, in view over the form: title, text, age."""
    first = [(card.figures[key].title, card.figures[key].text(system), "") for key in _SHOWN_ABOVE.get(kind.name, ())
             if key in card.figures]
    return tuple(dict.fromkeys([*first, *((rule.title, rule.band(system), rule.age) for rule in found)]))


def _with_noted(at: Visit, page: ReadingPage, tag: str, noted: str) -> ReadingPage:
    """The page with what was noted a moment ago."""
    card = make_card(at.book.drive_by_tag(tag).drive)
    found, shown = carried.rules(card, page.kind), []
    readings = []
    for mark in noted.split(",")[:_MOST]:
        try:
            readings.append(at.book.reading(UUID(mark)))
        except (ValueError, Unknown):
            continue
    for each in readings:
        held = carried.held(found, each.values, cast(carried.Age, page.age))
        shown.append(Noted(_values(each, at.person.system), tuple(
            ("good" if one.verdict == "good" else "short", one.rule.title, one.rule.band(at.person.system), one.words)
            for one in held)))
    answer, moves = _line_up(at, card, [each for each in readings if each.kind == "alignment"])
    return replace(page, noted=tuple(shown), answer=answer, moves=moves)


def _values(reading: Reading, system: System) -> str:
    """The values of a reading as a person reads them."""
    parts = []
    for each in KINDS[reading.kind].fields:
        value = reading.values.get(each.name)
        if value is None:
            continue
        name = each.name.replace("_", " ")
        if isinstance(value, bool):
            parts.append(f"{name} {'yes' if value else 'no'}")
        elif isinstance(value, str) or each.kind == "count":
            parts.append(str(value) if isinstance(value, str) else f"{name} {value}")
        else:
            digits = {"length": 2, "force": 1, "angle": 2}.get(each.kind)
            parts.append(f"{name} {units.show(value, each.kind, system, digits=digits)}")
    return ", ".join(parts)


def _line_up(at: Visit, card: Card, readings: Sequence[Reading]) -> tuple[Markup | None, tuple[str, ...]]:
    straight = carried.straight(card)
    if straight is None or not readings or any("height" in each.values for each in readings):
        return None, ()
    first = readings[0]
    second = readings[1] if len(readings) > 1 and readings[1].values["face"] == first.values["face"] else None
    which = carried.layout(str(first.values["face"]), str(second.values["turned"]) if second else "neither")
    gaps = tuple(float(each.values[name]) for each in (first, *((second,) if second else ()))
                 for name in ("driver_far", "driver_near", "driven_near", "driven_far"))
    line = carried.in_line(straight, which, gaps)
    moves = carried.moves(straight, line, at.person.system)
    words = {"good": "in line", "note": "within what is allowed, beyond what to aim for",
             "short": "out of line, more than is allowed"}[line.verdict]
    svg = alignment_drawing(card, at.person.system, PAGE, out=OutOfLine(line.offset[0], line.angle[0], ()))
    return drawn(svg), (first_up(words) + ".", *moves)
