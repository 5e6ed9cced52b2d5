"""The plant at a glance on the screen: how each drive stands in a word and a shape, what to set it to, what to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from uuid import UUID

from beltwright.bench.figure import Figure
from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, Over, length, table, wrapped
from beltwright.desk.prepare import Line
from beltwright.desk.standing import ORDER, Standing
from beltwright.units import SHOWN, System, sign

# columns from which the note of the span finds room; drives named under what needs a hand first
_ROOMY = 100
_MOST = 30


def plant_lines(lines: Sequence[Line], standings: Mapping[UUID, Standing], plant: str, system: System, width: int,
                signs: Signs) -> list[str]:
    """The lines of the plant summary."""
    if not lines:
        return [f"{plant}: no drives yet. Start with: beltwright template"]
    force, far, note = (sign(SHOWN[system][kind].unit) for kind in ("force", "length", "frequency"))
    keys = ("deflection", "force_run_in", "frequency_run_in")[:3 if width >= _ROOMY else 2]
    columns = [Column("tag"), Column("drive", least=12), Column("stands"), Column("belts"),
               Column(f"press\n{far}", "number"), Column(f"with\n{force}", "number"),
               Column(f"note\n{note}", "number")][:4 + len(keys)]
    rows: list[Sequence[str] | Over] = []
    place = None
    for line in lines:
        drive = line.make_up.drive
        if drive.place != place:
            place = drive.place
            rows.append(Over(place or "place not said"))
        rows.append((drive.tag, drive.name, signs.marked(standings[line.make_up.drive_id].stands), belts(line),
                     *(bare(line.card.figures.get(key), system) for key in keys)))
    shown = table(columns, rows, width=width, signs=signs)
    many = f"{len(lines)} drives" if len(lines) > 1 else "1 drive"
    words = [standing.stands for line in lines if (standing := standings[line.make_up.drive_id])]
    legend = [f"{signs.marks[word]} {word} {words.count(word)}" for word in ORDER if word in words]
    foot = wrapped("Belts run in: press the middle of the span in that far with that force on each belt, or each rib "
                   "of joined belts (J). An empty place: read more first, the card says what.", width)
    return [*wrapped_parts((plant, many, *legend), width), "", *shown, *foot,
            *_hands(lines, standings, system, width, signs)]


def _hands(lines: Sequence[Line], standings: Mapping[UUID, Standing], system: System, width: int,
           signs: Signs) -> list[str]:
    """Why a drive needs a hand before others, and what to do; then what to read where nothing can be judged."""
    found = [(ORDER.index(reason.stands), line.make_up.drive.tag, reason) for line in lines
             for reason in standings[line.make_up.drive_id].reasons
             if reason.stands in ("stop and mend", "mend at next stop", "not judged")]
    urgent: dict[tuple[int, str, str, str], list[str]] = {}
    for order, tag, reason in found:
        key = order, tag, reason.stands, reason.do.text(system)
        words = reason.said.text(system).rstrip(".")
        urgent.setdefault(key, []).append(f"{reason.title}: {words}.")
    if not urgent:
        return []
    shown = ["", "What needs a hand first", signs.light * width]
    order_of = sorted(urgent.items(), key=lambda entry: entry[0][0])
    for (_, tag, stands, do), said in order_of[:_MOST]:
        shown += wrapped(f"{tag}  {' '.join(said)}", width, first=f"{signs.marks[stands]} ")
        if do:
            shown += wrapped(f"{do[:1].upper()}{do[1:].rstrip('.')}.", width,
                             first="  → " if signs.box == "☐" else "  > ")
    more = len(order_of) - _MOST
    return [*shown, f"and {more} more: name a place to see its drives alone"] if more > 0 else shown


def wrapped_parts(parts: Sequence[str], width: int) -> list[str]:
    """Words that belong together stay together, with room between."""
    lines = [parts[0]]
    for part in parts[1:]:
        if length(lines[-1]) + 3 + length(part) <= width:
            lines[-1] += f"   {part}"
        else:
            lines.append(part)
    return lines


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
