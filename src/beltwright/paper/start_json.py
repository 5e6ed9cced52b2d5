"""A start as JSON for other programs, of the command line and the web alike: the unit in every name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from beltwright.bench.start_figures import advice, moments, shown_until, start_figures, verdict
from beltwright.paper.as_json import Content, named

if TYPE_CHECKING:
    from beltwright.bench.start_figures import Moment
    from beltwright.bench.starts import Otherwise
    from beltwright.desk.starts import Started

_KINDS = {"time": "short time", "driver": "rotation", "driven": "rotation", "motor": "moment", "load": "moment",
          "pull": "force", "slip": "speed"}


def start_content(started: Started) -> Content:
    """A start with its figures, moments and what it was worked out from; or what to enter first."""
    start = started.start
    if start is None:
        return {"tag": started.drive.tag, "outcome": None, "why_not": started.why_not,
                "enter": [{"column": each.column, "words": each.words} for each in started.to_enter]}
    content: Content = {"tag": started.drive.tag, "event": start.ask.event, "outcome": start.outcome,
                        "statement": verdict(start).text("si"), "do": [line.text("si") for line in advice(start)],
                        "reckoned_with": start.given.tension_from, "caveat": start.given.caveat}
    if start.ask.event == "load step":
        content["times"] = start.ask.times
    for figure in start_figures(start):
        assert figure.value is not None
        content |= named(figure.key.removeprefix("start_"), figure.value, figure.kind)
    if start.band is not None:
        content["band"] = named("low", start.band[0], "force") | named("high", start.band[1], "force") | {
            "belts": "new" if start.new else "run-in", "least": start.fits(start.least),
            "least_poor": start.fits(start.least_poor)}
    content["slips"] = [named("from", begin, "short time") | named("to", end, "short time")
                        for begin, end in start.slips]
    content["moments"] = [_moment(moment) for moment in moments(start, shown_until(start))]
    content["given"] = {name: named("value", fact.value, fact.kind) | {
        "origin": fact.origin, "how": fact.how, "trust": fact.trust} for name, fact in start.given.facts.items()}
    content["otherwise"] = [_otherwise(each) for each in started.otherwise]
    content["unaccounted_share"] = round(start.unaccounted, 9)
    return content


def _moment(moment: Moment) -> Content:
    content: Content = {}
    for name, kind in _KINDS.items():
        content |= named(name, getattr(moment, name), kind)
    return content


def _otherwise(each: Otherwise) -> Content:
    content: Content = {"starting": each.way, "own": each.own, **named("least_poor", each.least, "force"),
                        "in_band": each.in_band}
    return content if each.up_at is None else content | named("up_at", each.up_at, "short time")
