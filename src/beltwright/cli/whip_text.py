"""Whip as text: a drive's spans, what shakes them, the clear tension or what helps; a plant's drives, nearest first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from beltwright.bench.whip_chart import Answer, Side, Whip, away
from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, Over, length, pad, table, wrapped
from beltwright.desk.whip import WORDS, Screened
from beltwright.paper.whip_drawing import letters
from beltwright.units import System, show, show_band

# the shape before a word, as the findings have it
_SHAPES: Final[dict[Answer, str]] = {"near": "watch", "borderline": "plan", "clear": "sound"}


def whip_lines(made: Whip, system: System, width: int, signs: Signs) -> list[str]:
    """One drive in full: the answer first."""
    drive = made.targets.drive
    answer = f"{signs.marks[_SHAPES[made.answer]]} {made.answer.upper()}"
    name = f"{drive.tag}  {drive.name}"
    lines = [signs.heavy * width, pad(name, width - length(answer) - 1) + " " + answer, signs.heavy * width]
    lines += [*_looked_at(made, system, width), ""]
    rows = [(side.name, show(side.strand, "force", system), _note(side, system), away(side.margin),
             side.nearest.words, side.answer) for side in made.sides]
    lines += table((Column("side"), Column("carries", "right"), Column("swings", "right"), Column("away", "right"),
                    Column("from", least=18), Column("")), rows, width=width, signs=signs)
    lines += ["", *_what_to_do(made, system, width), "", *_shakers(made, system, width, signs)]
    if made.speeds is not None:
        lines += ["", *_speeds(made, system, width, signs)]
    return [*lines, "", *wrapped(f"Away: minus where the span is the slower. Nearer than {made.near:.0%} a span is "
                                 f"expected to whip if pushed, from {made.clear:.0%} on it is clear (common practice). "
                                 f"How the notes are worked out: docs/method/whip.md.", width)]


def _looked_at(made: Whip, system: System, width: int) -> list[str]:
    tension = show(made.tension, "force", system)
    where = f"as read ({made.found.when})" if made.found is not None else "the middle of its band, none was read"
    band = show_band(*made.band, "force", system)
    return wrapped(f"Static tension {tension} a strand, {where}; run-in band {band}. At full load, each belt pulls "
                   f"{show(made.pull, 'force', system)}. {made.caution}", width)


def _note(side: Side, system: System) -> str:
    return f"{show(side.note, 'frequency', system)} ± {show(2 * side.spread, 'frequency', system)}"


def _shakers(made: Whip, system: System, width: int, signs: Signs) -> list[str]:
    named_by = letters(made)
    rows: list[Sequence[str] | Over] = [
        (named_by[shaker.key], shaker.words, show(shaker.meets, "frequency", system),
         "feeds" if shaker.feeds else "" if shaker.judged else "faint, not judged") for shaker in made.shakers]
    return table((Column(""), Column("what shakes", least=24), Column("at", "number"), Column("")), rows, width=width,
                 signs=signs)


def _what_to_do(made: Whip, system: System, width: int) -> list[str]:
    if made.window is not None and made.plucked is not None:
        return wrapped(f"CLEAR TENSION: {show_band(*made.window, 'force', system)} a strand, that is "
                       f"{show_band(*made.plucked, 'frequency', system)} when plucked at rest.", width, rest="  ")
    lines = wrapped(f"The band has no clear stretch wide enough to set{_passable(made, system)}.", width, rest="  ")
    for title, some in (("IF IT WHIPS, WHAT HELPS", [one for one in made.helps if one.window is not None]),
                        ("WHAT DOES NOT", [one for one in made.helps if one.window is None])):
        if some:
            lines += ["", title]
        for one in some:
            lines += wrapped(f"{one.title}: {one.said.text(system)}.", width, first="  - ")
    return lines


def _passable(made: Whip, system: System) -> str:
    if made.passable is None:
        return "; nor one where nothing is near"
    return f"; at {show_band(*made.passable, 'force', system)} a strand nothing is near"


def _speeds(made: Whip, system: System, width: int, signs: Signs) -> list[str]:
    over = made.speeds
    assert over is not None
    rows = [(show(crossing.speed, "rotation", system), f"{crossing.side} side", crossing.words)
            for crossing in over.crossings]
    lines = ["MOTOR OF VARIABLE SPEED"]
    if rows:
        lines += table((Column("motor at", "number"), Column("meets"), Column("", least=24)), rows, width=width,
                       signs=signs)
    near = "; ".join(show_band(*stretch, "rotation", system) for stretch in over.near)
    return lines + wrapped(f"Near something from {near}." if near else "Not near anything at any speed of its range.",
                           width, rest="  ")


def plant_lines(found: Sequence[Screened], everything: bool, system: System, width: int, signs: Signs) -> list[str]:
    """The drives of a plant, those first that no tension helps; what is not near is counted unless asked for."""
    rows: list[Sequence[str] | Over] = []
    stands = ""
    for each in found:
        if each.stands == "clear" and not everything:
            continue
        if each.stands != stands:
            stands = each.stands
            rows.append(Over(WORDS[each.stands].upper()))
        if each.stands == "not known":
            rows.append((each.drive.tag, each.drive.name, "", "", each.why, ""))
        else:
            rows.append((each.drive.tag, each.drive.name, each.side, away(each.margin), each.by,
                         _not_near(each, system)))
    clear = sum(each.stands == "clear" for each in found)
    columns = (Column("tag"), Column("drive", least=12), Column("side"), Column("away", "right"),
               Column("from", least=12), Column("not near", least=10))
    return [*(table(columns, rows, width=width, signs=signs) if rows else ()),
            f"{clear} of {len(found)} drives not near anything. One in full: beltwright whip TAG"]


def _not_near(each: Screened, system: System) -> str:
    return show_band(each.low, each.high, "force", system) if each.high > each.low else "nowhere"
