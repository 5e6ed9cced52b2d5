"""Facts noted on a phone, handed in together: repeatable, each answered by itself, in the order they were noted.

A phone without signal keeps what was noted (readings, steps of jobs) with an id and a time of its own and hands it in
later, perhaps twice, perhaps at the same time as another phone. A handful is one step of the book: when it breaks
anywhere nothing of it is kept and nothing was acknowledged. The gates are asked in the order in which the facts were
noted. What is refused is answered with its reason and stays on the phone, to be mended. Knows no network.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final, Literal, cast, get_args
from uuid import UUID

from beltwright.desk import jobs, record, waited
from beltwright.desk.face import Book
from beltwright.desk.plucking import BeltHeard
from beltwright.errors import BeltwrightError, BookError, Cell, InputError, Refused, SheetError, Unknown
from beltwright.plant.job import Event, EventKind
from beltwright.plant.reading import Reading
from beltwright.units import MINUTE, System

# what became of a fact: kept now; in the book already; refused, with the reason; to be sent again later
Became = Literal["kept", "known", "refused", "later"]

MOST_FACTS: Final = 200
LONGEST_TEXT: Final = 2000
MOST_VALUES: Final = 40
# a phone's clock this far from the book's is said, and its times are put right by it
CLOCK_OFF: Final = timedelta(minutes=2)
# before there were phones with these pages: a clock that has lost its time begins at 1970
_EARLIEST: Final = datetime(2025, 1, 1, tzinfo=UTC)
_KINDS: Final = ("reading", "event", "clip")
_SYSTEMS: Final[tuple[System, ...]] = get_args(System)
_NOTABLE: Final[tuple[EventKind, ...]] = ("done", "skipped", "undone", "centre moved", "closed", "abandoned")
_HasFile = Callable[[str], bool]
_Heard = BeltHeard | BeltwrightError


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact as a phone hands it in: its own id, what it is, when and by whom it was noted, and its content."""

    id: UUID
    kind: str
    at: datetime
    by: str
    content: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Handful:
    """Facts in the order noted; what could not be read as a fact stands in its place with its answer."""

    sent_at: datetime
    facts: tuple[Fact | Answer, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of a fact, and where it was refused, why."""

    id: str
    became: Became
    reason: str = ""
    cells: tuple[Cell, ...] = ()
    accepted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers in the order of the facts; `clock`: what is wrong with the phone's clock, `ahead` by how much."""

    facts: tuple[Answer, ...]
    clock: str
    ahead: timedelta


def understood(sent: object) -> Handful:
    """A handful from what was sent; `InputError` when it is none. A fact that is none is answered by itself."""
    if not isinstance(sent, dict) or not isinstance(sent.get("facts"), list):
        raise InputError("notes are handed in as an object with sent_at and a list of facts")
    if len(sent["facts"]) > MOST_FACTS:
        raise InputError(f"{len(sent['facts'])} notes at once: at most {MOST_FACTS}, send the others after them")
    return Handful(_moment(sent.get("sent_at"), "sent_at"), tuple(_fact(each) for each in sent["facts"]))


def hand_in(book: Book, handful: Handful, *, now: datetime, only_by: str | None = None,
            has_file: _HasFile = lambda _name: False, read_file: waited.ReadFile | None = None) -> Answers:
    """Keep what can be kept, in order; the answers stand for what is on the disk when this returns.

    only_by:  who is logged in: what others noted on the same phone waits for them; None where nobody logs in
    has_file: whether a photo or clip of that name has been received; read_file: gives it, so that clips can be heard
    errors:   `BookError` when the book cannot be written: nothing of the handful was kept
    """
    ahead = handful.sent_at - now
    off = ahead if abs(ahead) > CLOCK_OFF else timedelta(0)
    answers: list[Answer] = []
    held_up: set[str] = set()
    heard = _hear(book, handful, off, now, only_by, has_file, read_file)
    with book.writing():
        for fact in handful.facts:
            if isinstance(fact, Answer):
                answers.append(fact)
            elif only_by is not None and fact.by != only_by:
                answers.append(Answer(str(fact.id), "later", f"noted by {fact.by}, who has to log in on this phone to "
                                                             "send it"))
            elif fact.by in held_up:
                answers.append(Answer(str(fact.id), "later", "waits for the note before it"))
            else:
                answers.append(_take(book, fact, off, now, has_file, heard.get(fact.id)))
                if answers[-1].became == "later":
                    held_up.add(fact.by)
    return Answers(tuple(answers), clock_words(off), off)


def clock_words(ahead: timedelta) -> str:
    """What is said about a phone's clock.

    >>> clock_words(timedelta(hours=1))
    "this phone's clock is 60 min ahead of the book's: its notes were put right by that; set the clock"
    >>> clock_words(timedelta(0))
    ''
    """
    if not ahead:
        return ""
    way = "ahead of" if ahead > timedelta(0) else "behind"
    minutes = round(abs(ahead).total_seconds() / MINUTE)
    return f"this phone's clock is {minutes} min {way} the book's: its notes were put right by that; set the clock"


def _hear(book: Book, handful: Handful, off: timedelta, now: datetime, only_by: str | None, has_file: _HasFile,
          read_file: waited.ReadFile | None) -> dict[UUID, _Heard]:
    """What the clips of a handful say, by the ids of their facts: heard before the book is held for writing."""
    if read_file is None:
        return {}
    return {fact.id: waited.hear(book, fact.content, _put_right(fact.at, off, now), read_file) for fact in handful.facts
            if isinstance(fact, Fact) and fact.kind == "clip" and only_by in (None, fact.by)
            and all(has_file(name) for name in _listed(fact.content.get("files")))
            and _reading(book, fact.id) is None}


def _put_right(at: datetime, off: timedelta, now: datetime) -> datetime:
    """A time by a phone's clock as the book's clock would have it; nothing was noted later than now."""
    try:
        return min(at - off, now)
    except OverflowError:   # a year that no calendar has
        return _EARLIEST - CLOCK_OFF


def _listed(sent: object) -> list[str]:
    return [each for each in sent if isinstance(each, str)] if isinstance(sent, list) else []


def _take(book: Book, fact: Fact, off: timedelta, now: datetime, has_file: _HasFile, heard: _Heard | None) -> Answer:
    at = _put_right(fact.at, off, now)
    said = {} if at == fact.at else {"phone_said": fact.at.isoformat()}
    try:
        with book.writing():
            if fact.kind == "reading":
                return _take_reading(book, fact, at, said, has_file)
            if fact.kind == "clip":
                return _take_clip(book, fact, at, said, has_file, heard)
            return _take_event(book, fact, at)
    except Unknown as problem:
        return Answer(str(fact.id), "refused", str(problem))
    except BookError:
        raise
    except SheetError as problem:
        return Answer(str(fact.id), "refused", str(problem), problem.cells, problem.accepted)
    except BeltwrightError as problem:
        return Answer(str(fact.id), "refused", str(problem), accepted=problem.accepted)


def _take_reading(book: Book, fact: Fact, at: datetime, said: Mapping[str, str], has_file: _HasFile) -> Answer:
    content = fact.content
    values = _texts(content.get("values"), "values")
    files = _names(content.get("files", []))
    job_id = _id(content["job"], "job") if content.get("job") else None
    before = _reading(book, fact.id)
    if before is not None:
        kept = record.kind_named(_text(content, "kind_of")).name, fact.by, job_id, record.state_named(
            _text(content, "state")), {name: text.strip() for name, text in values.items() if text.strip()}
        if kept != (before.kind, before.by, before.job_id, before.state, dict(before.typed)):
            raise Refused("another reading has this mark already: note it anew")
        return Answer(str(fact.id), "known")
    missing = [name for name in files if not has_file(name)]
    if missing:
        return Answer(str(fact.id), "later", "its photo or clip has not come over yet")
    _must_be_believed(fact, at)
    extra = {**said, **({"files": " ".join(files)} if files else {})}
    record.note(book, _text(content, "tag"), _text(content, "kind_of"), values, state=_text(content, "state"),
                by=fact.by, at=at, system=_system(content), job_id=job_id, words=_text(content, "words", ""),
                reading_id=fact.id, extra=extra)
    return Answer(str(fact.id), "kept")


def _take_clip(book: Book, fact: Fact, at: datetime, said: Mapping[str, str], has_file: _HasFile,
               heard: _Heard | None) -> Answer:
    job_id = _id(fact.content["job"], "job") if fact.content.get("job") else None
    before = _reading(book, fact.id)
    if before is not None:
        if (before.kind, before.by) != ("frequency", fact.by):
            raise Refused("another reading has this mark already: record it anew")
        return Answer(str(fact.id), "known")
    clip = waited.understood(fact.content)
    if not has_file(clip.file):
        return Answer(str(fact.id), "later", "its clip has not come over yet")
    if heard is None:
        raise InputError("clips are not heard here: enter the note as a reading")
    waited.take(book, heard, fact.content, fact.id, fact.by, at, said, job_id)
    return Answer(str(fact.id), "kept")


def _take_event(book: Book, fact: Fact, at: datetime) -> Answer:
    content = fact.content
    job_id = _id(content.get("job"), "job")
    what, step = _text(content, "what"), _text(content, "step", "")
    if what not in _NOTABLE:
        raise InputError(f"no such event of a job {what!r}: {', '.join(_NOTABLE)}", accepted=_NOTABLE)
    before = next((event for event in book.events(job_id) if event.id == fact.id), None)
    if before is not None:
        if (before.kind, before.step, before.by) != (what, step, fact.by):
            raise Refused("another step has this mark already: do it anew")
        return Answer(str(fact.id), "known")
    _must_be_believed(fact, at)
    jobs.add(book, Event(fact.id, job_id, what, step, fact.by.strip(), at,
                         _text(content, "reason", "").strip(), _names(content.get("confirmed", []))))
    return Answer(str(fact.id), "kept")


def _must_be_believed(fact: Fact, at: datetime) -> None:
    # put right by the clock of now, it may still be wrong: the clock lost its time and was set before the note was sent
    if at < _EARLIEST:
        raise InputError(f"the phone's clock said {fact.at:%Y-%m-%d %H:%M} when this was noted, which cannot be: set "
                         "the clock, and note it anew")


def _reading(book: Book, reading_id: UUID) -> Reading | None:
    try:
        return book.reading(reading_id)
    except Unknown:
        return None


# --- what was sent ----------------------------------------------------------------------------------------------------

def _fact(sent: object) -> Fact | Answer:
    mark = str(sent.get("id", ""))[:64] if isinstance(sent, dict) else ""
    try:
        if not isinstance(sent, dict):
            raise InputError("a note is an object with id, kind, at and by")
        kind = _text(sent, "kind")
        if kind not in _KINDS:
            raise InputError(f"no kind of note {kind!r}: {', '.join(_KINDS)}", accepted=_KINDS)
        by = " ".join(_text(sent, "by", "").split())
        if not by:
            raise InputError("a name is needed: everything is noted by somebody")
        return Fact(_id(sent.get("id"), "id"), kind, _moment(sent.get("at"), "at"), by, sent)
    except InputError as problem:
        return Answer(mark, "refused", str(problem), accepted=problem.accepted)


def _id(sent: object, name: str) -> UUID:
    try:
        return UUID(sent if isinstance(sent, str) else "")
    except ValueError:
        raise InputError(f"{name}: a mark like 0197d0c2-... is needed") from None


def _moment(sent: object, name: str) -> datetime:
    try:
        when = datetime.fromisoformat(sent if isinstance(sent, str) else "")
    except ValueError:
        raise InputError(f"{name}: a time like 2026-11-25T14:30:00Z is needed") from None
    if when.tzinfo is None:
        raise InputError(f"{name}: the time needs its zone, such as Z")
    try:
        return when.astimezone(UTC)
    except OverflowError:
        raise InputError(f"{name}: no such year") from None


def _text(sent: Mapping[str, Any], name: str, usual: str | None = None) -> str:
    found = sent.get(name, usual)
    if not isinstance(found, str):
        raise InputError(f"{name} is needed, as text")
    if len(found) > LONGEST_TEXT:
        raise InputError(f"{name}: at most {LONGEST_TEXT} signs")
    if not _writable(found):
        raise InputError(f"{name}: there are signs in it that cannot be kept")
    return found


def _writable(text: str) -> bool:
    """Whether a text can stand in a book: no half of a pair of surrogates, which JSON can carry, and no NUL."""
    return "\x00" not in text and not any("\ud800" <= sign <= "\udfff" for sign in text)


def _texts(sent: object, name: str) -> dict[str, str]:
    if not isinstance(sent, dict) or len(sent) > MOST_VALUES:
        raise InputError(f"{name} are needed, by name")
    if not all(_writable(key) for key in sent):
        raise InputError(f"{name}: there are signs in a name that cannot be kept")
    return {key: _text(sent, key) for key in sent}


def _names(sent: object) -> tuple[str, ...]:
    if not isinstance(sent, list) or len(sent) > MOST_VALUES or not all(
            isinstance(each, str) and len(each) <= LONGEST_TEXT and _writable(each) for each in sent):
        raise InputError("a list of words is needed")
    return tuple(sent)


def _system(sent: Mapping[str, Any]) -> System | None:
    found = sent.get("units")
    if found is not None and found not in _SYSTEMS:
        raise InputError(f"units: {' or '.join(_SYSTEMS)}", accepted=_SYSTEMS)
    return cast("System | None", found)

