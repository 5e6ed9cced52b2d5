"""A drive's past as text: tension as found and as left through the years, its sets of belts, what was learned of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from beltwright.cli.reading_text import local
from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, table, wrapped
from beltwright.paper.as_json import named
from beltwright.units import System, show, show_band

if TYPE_CHECKING:
    from beltwright.bench.findings.held import Taught, Tension
    from beltwright.bench.findings.history import Held
    from beltwright.bench.findings.sets import BeltSet
    from beltwright.desk.judge import Past

_NOT_KNOWN = "not known"


def past_lines(past: Past, system: System, width: int, signs: Signs) -> list[str]:
    """Three tables: tension, sets of belts, what was learned."""
    lines: list[str] = []
    for title, part in (("TENSION OF ONE STRAND, MEAN OF THE SET", _tension(past.held, system, width, signs)),
                        ("SETS OF BELTS", _sets(past.sets, system, width, signs)),
                        ("LEARNED FROM ITS OWN READINGS", _learned(past.tension, system, width))):
        lines += ["", title, *part] if part else []
    return lines


def _tension(held: Sequence[Held], system: System, width: int, signs: Signs) -> list[str]:
    rows = [(local(each.strands.at), each.strands.state, show(each.strands.mean, "force", system),
             f"± {show(2 * each.strands.mean_spread, 'force', system)}",
             "" if each.band is None else f"{show_band(*each.band, 'force', system)}, {_age(each)}", side(each))
            for each in held]
    columns = (Column("read"), Column("state"), Column("mean", "number"), Column("", "number"), Column("band"),
               Column(""))
    return table(columns, rows, width=width, signs=signs) if rows else []


def _age(held: Held) -> str:
    return "new" if held.new else "run-in"


def side(held: Held) -> str:
    """On which side of its band the set lay."""
    if held.band is None:
        return ""
    low, high = held.band
    return "below" if held.strands.mean < low else "above" if held.strands.mean > high else "in its band"


def _sets(sets: Sequence[BeltSet], system: System, width: int, signs: Signs) -> list[str]:
    rows = [(each.text(), _NOT_KNOWN if each.since is None else f"{each.since:%Y-%m-%d}",
             "on now" if each.until is None else f"{each.until:%Y-%m-%d}", ran(each, system), each.why)
            for each in sets]
    columns = (Column("belts", least=12), Column("put on"), Column("taken off"), Column("ran", "number"),
               Column("taken off for", least=12))
    return table(columns, rows, width=width, signs=signs)


def ran(each: BeltSet, system: System) -> str:
    """How long a set ran, in words: the running hours to its failure once it is off."""
    if each.ran is None:
        return _NOT_KNOWN
    return show(each.ran, "time", system) + (" at most" if each.assumed else "")


def _learned(tension: Tension | None, system: System, width: int) -> list[str]:
    lines: list[str] = []
    if tension is not None and tension.taught is not None:
        lines += wrapped(_stiffness(tension.taught, system), width)
    if tension is not None and tension.crossing is not None:
        lines += wrapped(_runs_down(tension, system), width)
    return lines


def _stiffness(taught: Taught, system: System) -> str:
    moves = f"{taught.moves} move{'s' if taught.moves != 1 else ''} of the motor"
    return (f"Tension of one strand follows the motor by {show(taught.slope, 'stiffness', system)} ± "
            f"{show(2 * taught.uncertainty, 'stiffness', system)}, as {moves} showed"
            f"{'' if taught.known else '; not sure enough yet to go by'}.")


def _runs_down(tension: Tension, system: System) -> str:
    crossing = tension.crossing
    assert crossing is not None
    first, about, last = (show(max(0.0, time), "time", system) if time != float("inf") else ""
                          for time in (crossing.not_before, crossing.expected, crossing.not_after))
    if not about:
        least = f": not within {first} of running" if first else ""
        return f"By {crossing.readings} readings its low limit is not in sight{least}."
    return (f"By {crossing.readings} readings the tension comes down to its low limit after about {about} more of "
            f"running: not before {first}{f', not after {last}' if last else '; how late cannot be told'}.")


def past_content(past: Past) -> dict[str, Any]:
    """The past for other programs."""
    def band(held: Held) -> dict[str, Any]:
        if held.band is None:
            return {}
        return named("low", held.band[0], "force") | named("high", held.band[1], "force") | {"stands": side(held)}

    content: dict[str, Any] = {
        "tension": [{"at": each.strands.at.isoformat(), "state": each.strands.state, "belts": list(each.strands.belts),
                     **named("mean", each.strands.mean, "force"),
                     **named("uncertainty", 2 * each.strands.mean_spread, "force"), "new_belts": each.new, **band(each)}
                    for each in past.held],
        "sets": [{"belts": each.text(), "since": None if each.since is None else each.since.isoformat(),
                  "until": None if each.until is None else each.until.isoformat(),
                  **({} if each.ran is None else named("ran", each.ran, "time")), "all_day_assumed": each.assumed,
                  "why": each.why} for each in past.sets],
    }
    learned: dict[str, Any] = {}
    if past.tension is not None and past.tension.taught is not None:
        taught = past.tension.taught
        learned["stiffness"] = (named("value", taught.slope, "stiffness")
                                | named("uncertainty", 2 * taught.uncertainty, "stiffness")
                                | {"moves": taught.moves, "known": taught.known})
    if past.tension is not None and past.tension.crossing is not None:
        crossing = past.tension.crossing
        learned["runs_down"] = {"readings": crossing.readings} | {
            key: value for name in ("not_before", "expected", "not_after")
            if (time := getattr(crossing, name)) != float("inf") for key, value in named(name, time, "time").items()}
    return content | {"learned": learned}
