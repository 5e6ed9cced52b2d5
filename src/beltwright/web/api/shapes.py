"""What goes in and comes out of the JSON face. Values typed by people stay text with its unit, as on the pages."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Annotated, Any, Final, Literal
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from beltwright.errors import Cell

AT: Final = "/api/v1"

# text with no sign that a database could not keep; anything longer than a note is not one
Text = Annotated[str, Field(max_length=4000, pattern=r"^[^\x00]*$")]
Word = Annotated[str, Field(max_length=200, pattern=r"^[^\x00]*$")]
# a number needs its unit in the name, text may carry it itself: {"force_n": 41.5}, {"force": "9.3 lbf"}
Typed = bool | int | float | Word
Values = Annotated[dict[Word, Typed], Field(max_length=80)]


class Given(BaseModel):
    """What is handed in; a field that is not known is refused, never passed over."""

    model_config = ConfigDict(extra="forbid")


class Shown(BaseModel):
    """What is handed out; later versions may say more."""

    model_config = ConfigDict(extra="allow")


class BadCell(Shown):
    """One value that cannot be read: where it stands, what was typed, what is wrong and what is accepted."""

    row: int
    column: str
    typed: str
    problem: str
    accepted: list[str]


class Problem(Shown):
    """Every refusal, whatever its status. `accepted`: what would be taken, where it is one of several words."""

    problem: str
    accepted: list[str]
    cells: list[BadCell]


REFUSALS: Final[dict[int | str, dict[str, Any]]] = {
    status: {"model": Problem, "description": words} for status, words in (
        (400, "The body is not JSON."), (401, "Nobody: log in, or send a token."), (403, "The role is not enough."),
        (404, "No such drive, reading or job."), (409, "A rule of the trade stands in the way."),
        (413, "More than is taken at once."), (422, "Something cannot be read; `cells` says what."),
        (503, "The book cannot be used now; try again."))}


def cells(found: Iterable[Cell]) -> list[dict[str, Any]]:
    """Cells that cannot be read, as every refusal has them."""
    return [{"row": cell.row, "column": cell.column, "typed": cell.typed, "problem": cell.problem,
             "accepted": list(cell.accepted)} for cell in found]


class Me(Shown):
    """In whose name the call was made, and what it may."""

    name: str
    role: str
    alone: bool


class Asked(Shown):
    """One value of a kind of reading."""

    name: str
    ask: str
    kind: str
    required: bool
    choices: list[str]
    units: list[str]


class Kind(Shown):
    """A kind of reading."""

    name: str
    title: str
    hands_on: bool
    fields: list[Asked]


class Kinds(Shown):
    """What can be noted, done and asked."""

    readings: list[Kind]
    states: list[str]
    jobs: dict[str, str]
    columns: dict[str, str]


class InLine(Shown):
    """A drive in a line. `stands`: how, in a word, null while it is still being judged."""

    tag: str
    name: str
    place: str
    belts: str
    stands: str | None
    reasons: list[str]


class Plant(Shown):
    """The plant at a glance."""

    plant: str
    method: str
    drives: int
    to_come: int
    stands: dict[str, int]
    first_hands: list[InLine]


class Drives(Shown):
    """Drives in order of place and tag. `next`: what to hand in as `after` for those that follow."""

    drives: list[InLine]
    next: int | None


class Drive(Shown):
    """A drive as it is now: what was typed of it, by column."""

    id: UUID
    tag: str
    name: str
    place: str
    since: datetime
    by: str
    cells: dict[str, str]


class Entered(Shown):
    """What became of a drive handed in."""

    tag: str
    became: Literal["entered", "changed", "same"]


class Card(Shown):
    """The card of a drive; figures by key, each with its unit in the name of its value."""

    tag: str
    name: str
    place: str
    figures: dict[str, dict[str, Any]]
    store: str
    built: list[dict[str, Any]]
    disagree: list[dict[str, Any]]
    read_next: list[dict[str, Any]]


class Figure(Shown):
    """A figure with its working."""

    title: str
    working: dict[str, Any]


class Finding(Shown):
    """One thing found."""

    key: str
    urgency: str
    title: str
    statement: str
    do: list[str]
    numbers: dict[str, float]


class Findings(Shown):
    """What the readings of a drive say, most urgent first."""

    tag: str
    urgency: str
    findings: list[Finding]


class Reading(Shown):
    """A reading as it is kept."""

    id: UUID
    tag: str
    kind: str
    state: str
    taken_at: datetime
    by: str
    values: dict[str, bool | int | float | str]
    typed: dict[str, str]
    note: str
    job: UUID | None
    supersedes: UUID | None
    reason: str


class Readings(Shown):
    """Readings of a drive, the latest last."""

    tag: str
    readings: list[Reading]


class NewReading(Given):
    """A reading to note. `id`: made where it is noted, so that noting it twice is noting it once."""

    kind: Word
    state: Word = "as found"
    values: Values
    taken_at: AwareDatetime | None = None
    note: Text = ""
    job: UUID | None = None
    id: UUID | None = None
    by: Word | None = None


class Correction(Given):
    """New values for some of a reading, and why."""

    values: Values
    reason: Text
    by: Word | None = None


class Step(Shown):
    """A step of a job and how it stands."""

    key: str
    title: str
    state: str
    by: list[str]
    reason: str
    say: list[str]
    caution: str
    confirm: list[str]


class Job(Shown):
    """A job as it stands."""

    id: UUID
    tag: str
    kind: str
    reason: str
    opened_at: datetime
    opened_by: str
    ended: str
    locks: list[str]
    next: str | None
    steps: list[Step]
    readings: list[UUID]


class JobInLine(Shown):
    """A job in the list."""

    id: UUID
    tag: str
    kind: str
    opened_at: datetime
    opened_by: str


class Jobs(Shown):
    """Jobs of the plant or of a drive, earliest first."""

    jobs: list[JobInLine]


class NewJob(Given):
    """A job to open. `id` as with a reading."""

    kind: Word
    reason: Text = ""
    id: UUID | None = None
    by: Word | None = None


class NewEvent(Given):
    """What happened to a job."""

    kind: Literal["done", "skipped", "undone", "centre moved", "closed", "abandoned"]
    step: Word = ""
    confirmed: Annotated[list[Word], Field(max_length=40)] = []
    reason: Text = ""
    id: UUID | None = None
    at: AwareDatetime | None = None
    by: Word | None = None


class NewFact(BaseModel):
    """A reading, an event of a job or a clip, noted where there was no signal. `id`: a UUIDv7 made when it was noted.

    A reading says tag, kind_of, state and values as typed (`{"force": "9.3 lbf"}`), and may say job, units, words and
    files; an event says job, what and step, and may say confirmed and reason. A clip of a plucked span says tag, belt,
    state and its one file, and may say span and job: it is heard when it comes, and becomes a reading or is refused.
    """

    model_config = ConfigDict(extra="allow")

    id: UUID
    kind: Literal["reading", "event", "clip"]
    at: AwareDatetime
    by: Word
    tag: Word = ""
    kind_of: Word = ""
    state: Word = ""
    values: Annotated[dict[Word, Word], Field(max_length=40)] = {}
    units: Literal["si", "inch"] | None = None
    job: UUID | None = None
    words: Annotated[str, Field(max_length=2000, pattern=r"^[^\x00]*$")] = ""
    files: Annotated[list[Word], Field(max_length=40)] = []
    belt: Word = ""
    span: Word = ""
    what: Word = ""
    step: Word = ""
    confirmed: Annotated[list[Word], Field(max_length=40)] = []
    reason: Word = ""


class Handful(BaseModel):
    """Facts in the order in which they were noted. `sent_at`: what the clock of the phone says now."""

    model_config = ConfigDict(extra="allow")

    sent_at: AwareDatetime
    facts: Annotated[list[NewFact], Field(max_length=200)]


class Answer(Shown):
    """What became of a fact: `known` is as good as `kept`; `refused` says why; `later` is to be sent again."""

    id: str
    became: Literal["kept", "known", "refused", "later"]
    reason: str
    accepted: list[str]
    cells: list[BadCell]


class Answers(Shown):
    """The answers in the order of the facts, and what is wrong with the clock they were noted by."""

    now: datetime
    method: str
    pages: str
    clock: str
    clock_ahead_s: float
    facts: list[Answer]


class Kept(Shown):
    """A photo or clip that is in the book."""

    name: str
    became: Literal["kept", "known"]


class Stop(Shown):
    """A drive of a round; `looked_at`: when today, if it was."""

    tag: str
    name: str
    place: str
    looked_at: str


class Round(Shown):
    """The drives in walking order, and the pages a phone takes along."""

    now: datetime
    stops: list[Stop]
    pages: list[str]


class Along(Shown):
    """What a phone takes along of a job: its steps with their order of work, its events and readings, its pages."""

    id: UUID
    tag: str
    kind: str
    ended: str
    steps: list[dict[str, Any]]
    events: list[dict[str, Any]]
    readings: list[UUID]
    pages: list[str]


# --- bodies that are read piece by piece, and so are described by hand ------------------------------------------------

BYTES: Final[dict[str, Any]] = {"requestBody": {"required": True, "content": {
    "application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}}


def body_of(shape: type[BaseModel]) -> dict[str, Any]:
    """A body of that shape, for the description of a call."""
    return {"requestBody": {"required": True, "content": {"application/json": {
        "schema": {"$ref": f"#/components/schemas/{shape.__name__}"}}}}}


def named_apart() -> dict[str, Any]:
    """The shapes that `body_of` names."""
    whole = Handful.model_json_schema(ref_template="#/components/schemas/{model}")
    return {**whole.pop("$defs"), Handful.__name__: whole}
