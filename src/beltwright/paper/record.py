"""A job as done, as texts: who, when, each step, values against limits, isolation and guard; fit for an audit.

Made from the facts alone (job, events, readings) and the card of the drive as it was fitted then; what was corrected
later stays and says so. Imports no layout and no PDF.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Final
from uuid import UUID

from beltwright.bench.card import Card
from beltwright.bench.figure import Figure
from beltwright.bench.findings.aligned import Aligned, alignment_alone, limit
from beltwright.bench.procedure import Progress, kinds, progress
from beltwright.plant.job import Event, Job, Step
from beltwright.plant.reading import KINDS, Field, Reading
from beltwright.units import System, show

# what is read belt by belt and stands in a table of its own
_BY_BELT: Final = ("force", "frequency")
_PART: Final = "part"
_PLAIN: Final = ("count", "choice", "text", "yes or no")


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a table: its cells in order of the columns."""

    cells: tuple[str, ...]
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the record: title, columns, lines, and what stands over them."""

    key: str
    title: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]
    lead: str = ""


@dataclass(frozen=True, slots=True)
class Record:
    """A job as texts. `ended`: closed, abandoned or empty while it is open."""

    tag: str
    name: str
    place: str
    kind: str
    reason: str
    opened: str
    ended: str
    end: str
    took: str
    people: tuple[str, ...]
    zone: str
    method: str
    number: str
    parts: tuple[Part, ...]

    def part(self, key: str) -> Part | None:
        """The part of that key, if this record has it."""
        return next((part for part in self.parts if part.key == key), None)


def record(job: Job, events: Sequence[Event], readings: Sequence[Reading], card: Card, system: System, *,
           zone: tzinfo = UTC) -> Record:
    """Lay a job out as texts.

    events:   in the order recorded; readings: those noted in this job, superseded ones too
    card:     of the drive as it was fitted when the job was opened
    zone:     the clock that people of the plant read
    """
    now = progress(job, events)
    last = next((event for event in reversed(events) if event.kind in ("closed", "abandoned")), None)
    drive = card.drive
    people = dict.fromkeys([job.opened_by, *(event.by for event in events), *(reading.by for reading in readings)])
    replaced = {reading.supersedes for reading in readings if reading.supersedes is not None}
    standing = [reading for reading in readings if reading.id not in replaced]
    parts = (_gates(job, events, now, zone), _steps(events, now, zone), _tension(standing, card, system),
             _alignment(standing, card, system), _parts_used(standing, zone), _others(standing, card, system, zone),
             _corrected(readings, replaced, system, zone), _log(job, events, zone))
    return Record(
        drive.tag, drive.name, drive.place, kinds()[job.kind], job.reason,
        f"{_when(job.opened_at, zone)} by {job.opened_by}", now.ended,
        f"{_when(last.at, zone)} by {last.by}{f': {last.reason}' if last.reason else ''}" if last else "",
        _took(job.opened_at, last.at) if last else "", tuple(people), _zone(job.opened_at, zone),
        f"Beltwright method {job.method}" if job.method else "", str(job.id),
        tuple(part for part in parts if part.lines))


def _when(at: datetime, zone: tzinfo) -> str:
    return at.astimezone(zone).strftime("%Y-%m-%d %H:%M")


def _zone(at: datetime, zone: tzinfo) -> str:
    return f"times in {at.astimezone(zone).tzname() or 'UTC'}"


def _took(start: datetime, end: datetime) -> str:
    seconds = (end - start).total_seconds()
    return show(seconds, "time", "si", digits=1) if seconds >= 0 else "not known: the clock went back"


def _gates(job: Job, events: Sequence[Event], now: Progress, zone: tzinfo) -> Part:
    """Isolation, guard and locks: every confirmation by every person, in the order of the steps."""
    lines = []
    for step in job.steps:
        if not step.gate:
            continue
        said = [event for event in events if event.step == step.key and event.kind == "done"]
        title = _title(step)
        lines += [Line((title, event.by, _when(event.at, zone), _confirmed(event))) for event in said]
        if now.mark(step.key).state == "open":
            lines.append(Line((title, "", "", "not confirmed"), "open"))
    return Part("gates", "Isolation, guard and locks", ("step", "confirmed by", "when", "and said"), tuple(lines))


def _title(step: Step) -> str:
    return step.title if step.phase == 1 else f"{step.title}, second isolation"


def _confirmed(event: Event) -> str:
    return ", ".join(event.confirmed)


def _noted(event: Event) -> str:
    return ", ".join(f"{name} {value}" for name, value in event.values.items())


def _steps(events: Sequence[Event], now: Progress, zone: tzinfo) -> Part:
    """Every step of the job: done, skipped with its reason, or open."""
    lines = []
    for at, mark in enumerate(now.marks, start=1):
        last = next((event for event in reversed(events) if event.step == mark.step.key
                     and event.kind in ("done", "skipped")), None)
        reason = mark.reason or (_confirmed(last) if last is not None and mark.state == "done" else "")
        when = _when(last.at, zone) if last is not None and mark.state != "open" else ""
        lines.append(Line((str(at), _title(mark.step), mark.state, ", ".join(mark.by) if mark.state != "open" else "",
                           when, reason), "" if mark.state == "done" else mark.state))
    return Part("steps", "Steps", ("", "step", "", "by", "when", "reason, or what was confirmed"), tuple(lines))


def _tension(readings: Sequence[Reading], card: Card, system: System) -> Part:
    """Force and note of every belt, as found and as left, and where each lies against the bands."""
    belts = sorted({int(reading.values["belt"]) for reading in readings if reading.kind in _BY_BELT})
    lines = []
    for belt in belts:
        cells = [f"belt {belt}" if belt else "whole band"]
        for kind in _BY_BELT:
            for state in ("as found", "as left"):
                last = next((reading for reading in reversed(readings) if reading.kind == kind and
                             reading.state == state and reading.values["belt"] == belt), None)
                cells.append(_against_bands(last, card, system) if last is not None else "")
        lines.append(Line(tuple(cells)))
    return Part("tension", "Tension, belt by belt",
                ("", "force as found", "force as left", "note as found", "note as left"), tuple(lines),
                _bands(card, system))


def _bands(card: Card, system: System) -> str:
    named = [(title, key) for key, title in (("force_run_in", "run-in"), ("force_new", "new"), (
        "frequency_run_in", "run-in"), ("frequency_new", "new")) if key in card.figures]
    texts = [f"{title} {card.figures[key].text(system)}" for title, key in named]
    depth = card.figures.get("deflection")
    at = f" at {depth.text(system)}" if depth is not None else ""
    return f"Bands{at}: {'; '.join(texts)}." if texts else "No band is known for this drive."


def _against_bands(reading: Reading, card: Card, system: System) -> str:
    """A reading with its place against the bands; without one when it was taken at another deflection or span."""
    number = float(reading.values[reading.kind])
    text = _shown(number, reading.kind, system)
    other = [f"{name} {_shown(float(reading.values[name]), 'length', system)}" for name in ("deflection", "span")
             if name in reading.values]
    if other:
        return f"{text} ({', '.join(other)})"
    whole = "_band" if reading.kind == "force" and not reading.values["belt"] else ""
    run_in, new = (card.figures.get(f"{reading.kind}_{state}{whole}") for state in ("run_in", "new"))
    if run_in is None or new is None:
        return text
    return f"{text}, {_place(number, run_in, new)}"


def _place(number: float, run_in: Figure, new: Figure) -> str:
    """Where a value lies against two bands that adjoin."""
    assert run_in.low is not None
    assert run_in.high is not None
    assert new.high is not None
    if number < run_in.low:
        return "below"
    if number <= run_in.high:
        return "in run-in band"
    return "in new band" if number <= new.high else "above"


def _alignment(readings: Sequence[Reading], card: Card, system: System) -> Part:
    """Alignment as found and as left, each solved from its own readings, against what is acceptable and the aim."""
    lines = []
    rims = [reading for reading in readings if reading.kind == "rim"]
    for state in ("as found", "as left"):
        laid = [reading for reading in readings if reading.kind in ("alignment", "tilt") and reading.state == state]
        aligned = alignment_alone(card.drive, [*laid, *rims]) if laid else None
        if aligned is None:
            continue
        answers = {name: _give_or_take(*aligned.answers[name], "length" if name == "offset" else "angle", system)
                   for name in ("offset", "angle", "twist") if name in aligned.answers}
        lines.append(Line((state, answers.get("offset", ""), answers.get("angle", ""), answers.get("twist", "not read"),
                           "" if aligned.why_not else _give_or_take(*aligned.worst, "angle", system),
                           _in_line(aligned)), "" if aligned.sound else "out"))
    return Part("alignment", "Alignment", ("", "offset", "angle", "twist", "out of line by", ""), tuple(lines),
                f"Acceptable: {limit('acceptable').words}. Aim: {limit('target').words}.")


def _give_or_take(value: float, doubt: float, kind: str, system: System) -> str:
    return f"{_shown(abs(value), kind, system)} ± {_shown(2 * doubt, kind, system)}"


def _in_line(aligned: Aligned) -> str:
    if aligned.why_not:
        return aligned.why_not
    if aligned.contradicts:
        return "the readings contradict each other"
    if aligned.sound:
        return "within both"
    return "acceptable, beyond the aim" if aligned.acceptable else "beyond what is acceptable"


def _parts_used(readings: Sequence[Reading], zone: tzinfo) -> Part:
    lines = [Line((str(reading.values["part"]), str(reading.values["what"]), str(reading.values.get("count", "")),
                   reading.note, reading.by, _when(reading.taken_at, zone)))
             for reading in readings if reading.kind == _PART]
    return Part("used", "Parts used", ("part", "what is printed on it", "number", "", "by", "when"), tuple(lines))


def _others(readings: Sequence[Reading], card: Card, system: System, zone: tzinfo) -> Part:
    lines = [Line((KINDS[reading.kind].title, reading.state, _values(reading, system), _limit(reading, card, system),
                   reading.by, _when(reading.taken_at, zone)))
             for reading in readings if reading.kind not in (*_BY_BELT, _PART)]
    return Part("readings", "Other readings", ("reading", "state", "values", "against", "by", "when"), tuple(lines))


def _limit(reading: Reading, card: Card, system: System) -> str:
    """The limit a reading is held against, and on which side of it the reading lies."""
    if reading.kind == "groove" and "groove_wear" in card.figures:
        worst = max(float(reading.values[flank]) for flank in ("left", "right"))
        return _side("dish", worst, card.figures["groove_wear"], system)
    if reading.kind == "run-out":
        keys = [(name, f"runout_{name}_{reading.values['sheave']}") for name in ("radial", "axial")
                if name in reading.values]
        return "; ".join(_side(name, float(reading.values[name]), card.figures[key], system) for name, key in keys
                         if key in card.figures)
    return ""


def _side(name: str, number: float, limit: Figure, system: System) -> str:
    assert limit.value is not None
    return f"{name} {'over' if number > limit.value else 'within'} {limit.text(system)}"


def _values(reading: Reading, system: System) -> str:
    fields = {field.name: field for field in KINDS[reading.kind].fields}
    return ", ".join(f"{name.replace('_', ' ')} {_text(value, fields.get(name), system)}"
                     for name, value in reading.values.items()) + (f"; {reading.note}" if reading.note else "")


def _text(value: float | str | bool, field: Field | None, system: System) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field is None or field.kind in _PLAIN or isinstance(value, str):
        return f"{value:g}" if isinstance(value, float) else str(value)
    return _shown(float(value), field.kind, system)


def _shown(value: float, kind: str, system: System) -> str:
    """A reading with the digits a reading has: small lengths and small forces to a finer step."""
    digits = {"length": (2 if abs(value) < 0.02 else 1) + (1 if system == "inch" else 0), "angle": 2,
              "force": 1}.get(kind)
    return show(value, kind, system, digits=digits)


def _corrected(readings: Sequence[Reading], replaced: set[UUID], system: System, zone: tzinfo) -> Part:
    """Readings that were corrected: what stood first, and why it no longer counts."""
    by = {reading.supersedes: reading for reading in readings if reading.supersedes is not None}
    lines = [Line((KINDS[old.kind].title, _values(old, system), f"{old.by}, {_when(old.taken_at, zone)}",
                   f"{by[old.id].by}: {by[old.id].reason}"))
             for old in readings if old.id in replaced]
    return Part("corrected", "Corrected since", ("reading", "first noted as", "by", "corrected by, why"), tuple(lines))


def _log(job: Job, events: Iterable[Event], zone: tzinfo) -> Part:
    titles = {step.key: _title(step) for step in job.steps}
    lines = [Line((_when(job.opened_at, zone), job.opened_by, "opened", job.reason))]
    lines += [Line((_when(event.at, zone), event.by,
                    f"{event.kind}: {titles[event.step]}" if event.step in titles else event.kind,
                    "; ".join(part for part in (event.reason, _confirmed(event), _noted(event)) if part)))
              for event in events if event.kind != "opened"]
    return Part("log", "Everything noted, in the order recorded", ("when", "who", "what", "why, or what was confirmed"),
                tuple(lines))
