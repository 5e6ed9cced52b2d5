"""Answers as JSON for other programs, of the command line and the web alike: the unit in every name.

Names do not change with the units a person reads: another program gets `_mm`, `_n`, `_kw` whatever the book's choice.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from beltwright.units import SHOWN, from_si, tail

if TYPE_CHECKING:
    from beltwright.bench.card import Card
    from beltwright.bench.figure import Figure, Put
    from beltwright.bench.findings.coming import Coming
    from beltwright.bench.findings.finding import Finding
    from beltwright.desk.jobs import Standing
    from beltwright.desk.prepare import Line
    from beltwright.plant.reading import Reading

Content = dict[str, Any]


def printed(content: Content | list[Any]) -> list[str]:
    """JSON as lines."""
    return [json.dumps(content, ensure_ascii=False, indent=2, allow_nan=False)]


def named(name: str, value: float, kind: str) -> Content:
    """A value under its name with its unit: `{"span_mm": 1076.9}`."""
    unit = SHOWN["si"][kind].unit
    return {f"{name}_{tail(unit)}" if unit else name: round(from_si(value, unit, kind), 6)}


def figure_content(figure: Figure) -> Content:
    """A figure with its working."""
    content = _short(figure)
    working = figure.working
    content["working"] = {
        "formula": working.formula, "put_in": [_put(put) for put in working.puts],
        "sources": list(working.cited()), "where": working.where, "trust": working.trust,
        "validity": working.validity, "remarks": list(working.remarks)}
    return content


def card_content(card: Card) -> Content:
    """A card: figures, what is judged, what does not add up, what to read next."""
    drive = card.drive
    return {
        "tag": drive.tag, "name": drive.name, "place": drive.place,
        "figures": {key: {**_short(figure), "trust": figure.working.trust, "sources": list(figure.working.sources)}
                    for key, figure in card.figures.items()},
        "store": card.store(),
        "built": [{"about": verdict.title, "answer": verdict.answer, "statement": verdict.statement.text("si"),
                   "do": verdict.do, "source": verdict.source, "trust": verdict.trust} for verdict in card.verdicts],
        "disagree": [{"columns": list(clash.columns), "weight": clash.weight, "statement": clash.statement.text("si"),
                      "likely": clash.likely.text("si"), "do": clash.do.text("si")} for clash in card.clashes],
        "read_next": [{"column": gap.column, "words": gap.words, "unlocks": list(gap.unlocks)} for gap in card.gaps],
        "not_used": [{"column": column, "why": why} for column, why in card.known.unusable],
    }


def summary(lines: Sequence[Line]) -> list[Content]:
    """Every drive at a glance."""
    wanted = ("deflection", "force_run_in", "force_new", "frequency_run_in", "frequency_new", "static_tension")
    return [{"tag": line.make_up.drive.tag, "name": line.make_up.drive.name, "place": line.make_up.drive.place,
             "built": line.answer,
             "set_to": {key: _short(line.card.figures[key]) for key in wanted if key in line.card.figures}}
            for line in lines]


def reading_content(reading: Reading, tag: str) -> Content:
    """A reading: its values with their units, and what was typed."""
    from beltwright.plant.reading import KINDS

    values: Content = {}
    for field in KINDS[reading.kind].fields:
        value = reading.values.get(field.name)
        if value is not None:
            plain = isinstance(value, (str, bool)) or field.kind not in SHOWN["si"]
            values |= {field.name: value} if plain else named(field.name, float(value), field.kind)
    return {"id": str(reading.id), "tag": tag, "kind": reading.kind, "state": reading.state,
            "taken_at": reading.taken_at.isoformat(), "by": reading.by, "values": values, "typed": dict(reading.typed),
            "note": reading.note, "job": None if reading.job_id is None else str(reading.job_id),
            "supersedes": None if reading.supersedes is None else str(reading.supersedes), "reason": reading.reason,
            "method": reading.method}


def job_content(found: Standing) -> Content:
    """A job as it stands, step by step."""
    job, progress = found.job, found.progress
    return {
        "id": str(job.id), "tag": found.make_up.drive.tag, "kind": job.kind, "reason": job.reason,
        "opened_at": job.opened_at.isoformat(), "opened_by": job.opened_by, "ended": progress.ended,
        "locks": sorted(progress.locks), "next": progress.next.key if progress.next else None,
        "steps": [{"key": mark.step.key, "title": mark.step.title, "state": mark.state, "by": list(mark.by),
                   "reason": mark.reason, "say": list(mark.step.say), "caution": mark.step.caution,
                   "confirm": list(mark.step.confirm)} for mark in progress.marks],
        "readings": [str(reading.id) for reading in found.readings]}


def record_content(found: Standing, readings: Sequence[Reading]) -> Content:
    """The record of a job: how it stands, everything noted in it in the order recorded, and its readings.

    readings: those noted in the job, superseded ones too
    """
    tag = found.make_up.drive.tag
    return job_content(found) | {
        "method": found.job.method,
        "events": [{"kind": event.kind, "step": event.step, "by": event.by, "at": event.at.isoformat(),
                    "reason": event.reason, "confirmed": list(event.confirmed), "values": dict(event.values)}
                   for event in found.events],
        "readings": [reading_content(each, tag) for each in readings]}


def finding_content(finding: Finding) -> Content:
    """A finding, its numbers with their units."""
    numbers: Content = {}
    for name, put in finding.numbers.items():
        numbers |= named(name, float(put.value), put.kind)
    return {"key": finding.key, "urgency": finding.urgency, "title": finding.title,
            "statement": finding.statement.text("si"), "sure": finding.sure, "sure_words": finding.sure_words,
            "do": list(finding.actions("si")), "check_too": list(finding.check_too), "numbers": numbers,
            "belts": [_belt_content(each.puts) for each in finding.each],
            "source": finding.source, "trust": finding.trust, "readings": [str(each) for each in finding.readings],
            "explained_by": list(finding.explained_by), "explains": list(finding.explains)}


def coming_content(coming: Coming) -> Content:
    """A re-check to come."""
    return {"key": coming.recheck.name, "title": coming.title, "words": coming.recheck.words,
            "first": coming.first.isoformat(), "last": None if coming.last is None else coming.last.isoformat(),
            "source": coming.recheck.source, "trust": coming.recheck.trust}


def _belt_content(puts: Mapping[str, Put]) -> Content:
    """One belt of several: which, and its numbers."""
    content: Content = {}
    for name, put in puts.items():
        content |= {name: put.value} if isinstance(put.value, str) else named(name, put.value, put.kind)
    return content


def _short(figure: Figure) -> Content:
    content: Content = {"title": figure.title}
    if figure.low is not None and figure.high is not None:
        content |= named("low", figure.low, figure.kind) | named("high", figure.high, figure.kind)
    elif figure.value is not None:
        content |= named("value", figure.value, figure.kind)
    if figure.words:
        content["words"] = figure.words
    if figure.spread:
        kind = "temperature difference" if figure.kind == "temperature" else figure.kind
        content |= named("uncertainty", 2 * figure.spread, kind)
    return content


def _put(put: Put) -> Content:
    value = {"value": put.value} if isinstance(put.value, str) else named("value", put.value, put.kind)
    return {"symbol": put.symbol, "meaning": put.meaning, **value, "origin": put.origin}
