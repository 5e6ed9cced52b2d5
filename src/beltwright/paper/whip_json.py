"""Whip as JSON for other programs, of the command line and the web alike: the unit in every name."""

from __future__ import annotations

from typing import Any

from beltwright.bench.whip_chart import Whip
from beltwright.bench.whip_figures import whip_figures
from beltwright.desk.whip import Screened
from beltwright.paper.as_json import figure_content, named


def whip_content(made: Whip) -> dict[str, Any]:
    """One drive for other programs: the numbers, the chart's points, the working of each figure."""
    def band(ends: tuple[float, float] | None, kind: str) -> dict[str, Any] | None:
        return None if ends is None else {**named("low", ends[0], kind), **named("high", ends[1], kind)}

    curves = made.curves
    content: dict[str, Any] = {
        "tag": made.targets.drive.tag, "answer": made.answer, **named("tension", made.tension, "force"),
        "read": None if made.found is None else made.found.when, "run_in_band": band(made.band, "force"),
        "sides": [{"side": side.name, **named("strand", side.strand, "force"), **named("note", side.note, "frequency"),
                   **named("uncertainty", 2 * side.spread, "frequency"), **named("second", side.second, "frequency"),
                   "from": side.nearest.key, **named("away", side.margin, "share"), "answer": side.answer}
                  for side in made.sides],
        "shakers": [{"key": shaker.key, "what": shaker.words, **named("shakes", shaker.frequency, "frequency"),
                     **named("meets", shaker.meets, "frequency"), "feeds": shaker.feeds, "judged": shaker.judged}
                    for shaker in made.shakers],
        "clear": band(made.window, "force"), "clear_plucked": band(made.plucked, "frequency"),
        "not_near": band(made.passable, "force"),
        "helps": [{"key": one.key, "what": one.title, "said": one.said.text("si"), "clear": band(one.window, "force")}
                  for one in made.helps],
        "chart": [{**named("tension", tension, "force"), **named("tight", tight, "frequency"),
                   **named("slack", slack, "frequency")}
                  for tension, tight, slack in zip(curves.over, curves.tight, curves.slack, strict=True)],
        "figures": {figure.key: figure_content(figure) for figure in whip_figures(made)},
    }
    if made.speeds is not None:
        content["speeds"] = {
            "meets": [{**named("motor", each.speed, "rotation"), "side": each.side, "what": each.words}
                      for each in made.speeds.crossings],
            "near": [band(stretch, "rotation") for stretch in made.speeds.near]}
    return content


def screened_content(each: Screened) -> dict[str, Any]:
    """A drive of a screened plant for other programs."""
    content: dict[str, Any] = {"tag": each.drive.tag, "stands": each.stands}
    if each.stands == "not known":
        return content | {"why": each.why}
    window = {**named("low", each.low, "force"), **named("high", each.high, "force")} if each.high > each.low else None
    return content | {"side": each.side, "from": each.by, **named("away", each.margin, "share"), "not_near": window}
