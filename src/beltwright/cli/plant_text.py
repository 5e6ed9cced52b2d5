"""The plant at a glance on the screen: each drive's build in a word and a shape, what to set it to, what to do."""

from __future__ import annotations

from collections.abc import Sequence

from beltwright.bench.figure import Figure
from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, Over, length, table, wrapped
from beltwright.desk.prepare import Line
from beltwright.paper.sheet import ANSWERS
from beltwright.units import SHOWN, System, sign

# columns from which the note of the span finds room; drives named under what needs a hand first
_ROOMY = 94
_MOST = 30
_LEGEND = ("danger", "falls short", "note", "good", "not judged")


def plant_lines(lines: Sequence[Line], plant: str, system: System, width: int, signs: Signs) -> list[str]:
    """The lines of the plant summary."""
    if not lines:
        return [f"{plant}: no drives yet. Start with: beltwright template"]
    force, far, note = (sign(SHOWN[system][kind].unit) for kind in ("force", "length", "frequency"))
    keys = ("deflection", "force_run_in", "frequency_run_in")[:3 if width >= _ROOMY else 2]
    columns = [Column("tag"), Column("drive", least=14), Column("built"), Column("belts"),
               Column(f"press in\n{far}", "number"), Column(f"with\n{force}", "number"),
               Column(f"note\n{note}", "number")][:4 + len(keys)]
    rows: list[Sequence[str] | Over] = []
    place = None
    for line in lines:
        drive = line.make_up.drive
        if drive.place != place:
            place = drive.place
            rows.append(Over(place or "place not said"))
        rows.append((drive.tag, drive.name, signs.marked(ANSWERS[line.answer]), belts(line),
                     *(bare(line.card.figures.get(key), system) for key in keys)))
    shown = table(columns, rows, width=width, signs=signs)
    many = f"{len(lines)} drives" if len(lines) > 1 else "1 drive"
    legend = [f"{signs.marks[word]} {word} {_how_many(lines, word)}" for word in _LEGEND if _how_many(lines, word)]
    foot = wrapped("Belts run in: press the middle of the span in that far with that force on each belt, or each rib "
                   "of joined belts (J). An empty place: read more first, the card says what.", width)
    return [*wrapped_parts((plant, many, *legend), width), "", *shown, *foot, *_hands(lines, system, width, signs)]


def wrapped_parts(parts: Sequence[str], width: int) -> list[str]:
    """Words that belong together stay together, with room between."""
    lines = [parts[0]]
    for part in parts[1:]:
        if length(lines[-1]) + 3 + length(part) <= width:
            lines[-1] += f"   {part}"
        else:
            lines.append(part)
    return lines


def _how_many(lines: Sequence[Line], word: str) -> int:
    return sum(ANSWERS[line.answer] == word for line in lines)


def _hands(lines: Sequence[Line], system: System, width: int, signs: Signs) -> list[str]:
    """What needs a hand first: danger, then readings that cannot be, then what falls short, then what to read."""
    urgent: dict[tuple[int, str, str, str], list[str]] = {}
    for line in lines:
        tag = line.make_up.drive.tag
        for verdict in line.card.verdicts:
            if verdict.answer in ("danger", "short"):
                key = 0 if verdict.answer == "danger" else 2, tag, ANSWERS[verdict.answer], verdict.do
                urgent.setdefault(key, []).append(f"{verdict.title}: {verdict.statement.text(system)}.")
        for clash in line.card.clashes:
            if clash.weight == "wrong":
                words = clash.statement.text(system)
                urgent.setdefault((1, tag, "wrong", clash.do.text(system)), []).append(f"{_capital(words)}.")
        if line.card.gaps and "force_run_in" not in line.card.figures:
            urgent.setdefault((3, tag, "not judged", ""), []).append(f"Read first: {line.card.gaps[0].words}.")
    if not urgent:
        return []
    shown = ["", "What needs a hand first", signs.light * width]
    order = sorted(urgent.items(), key=lambda entry: entry[0][0])
    for (_, tag, answer, do), said in order[:_MOST]:
        shown += wrapped(f"{tag}  {' '.join(said)}", width, first=f"{signs.marks[answer]} ")
        if do:
            shown += wrapped(f"{_capital(do)}.", width, first="  → " if signs.box == "☐" else "  > ")
    more = len(order) - _MOST
    return [*shown, f"and {more} more: name a place to see its drives alone"] if more > 0 else shown


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def belts(line: Line) -> str:
    """The set on the drive in a few signs: `3 × B112`."""
    set_of, known = line.make_up.drive.belts, line.card.known
    name = known.marking.text if known.marking else set_of.section or ""
    count = f"{set_of.count} × " if set_of.count and name else ""
    return f"{count}{name}{' J' if set_of.joined else ''}"


def bare(figure: Figure | None, system: System) -> str:
    """A figure without its unit, which stands in the heading."""
    if figure is None:
        return ""
    return figure.text(system).removesuffix(sign(SHOWN[system][figure.kind].unit)).strip()
