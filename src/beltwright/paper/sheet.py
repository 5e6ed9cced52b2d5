"""A card as texts in order: what a printed card, a terminal and a page lay out, each in its own way.

Everything is text here, already in the units the person reads; a template computes and rounds nothing. A figure that
is not known stays as an empty cell, to be written on, with what has to be read first. Imports no layout, no font, no
PDF.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Final, Literal
from urllib.parse import quote

from beltwright.bench.card import METHOD, Card
from beltwright.bench.gaps import FIGURES, Gap
from beltwright.bench.procedure import steps_for
from beltwright.bench.verdicts import Answer, Verdict, overall
from beltwright.plant.job import JobKind, Step
from beltwright.tables import Trust, sources
from beltwright.units import System

Kind = Literal["figures", "steps", "notes", "form"]

# the mark beside a figure that no print stands behind, and what the legend says of it
MARKS: Final[Mapping[Trust, str]] = MappingProxyType({"memory": "†", "practice": "‡"})
LEGEND: Final[Mapping[str, str]] = MappingProxyType({
    "†": "from memory, not verified: check it against your own papers before you lean on it",
    "‡": "common practice, no published source",
})
ANSWERS: Final[Mapping[Answer, str]] = MappingProxyType({
    "danger": "danger", "short": "falls short", "note": "note", "good": "good", "not judged": "not judged"})
DEFERENCE: Final = (
    "This card advises. The site's own procedures, local law and licensed or competent people decide; where they ask "
    "for more, or the machine's and belts' own papers say otherwise, those go first.")
GUARD_LINE: Final = (
    "Watch a running drive from outside its guard. Nothing on this card is a reason to open the guard of a drive that "
    "turns.")
# the four points of the straightedge, lettered on the form as on the drawing of the alignment
GAPS: Final = (("A", "driver, far rim"), ("B", "driver, near rim"), ("C", "driven, near rim"), ("D", "driven, far rim"))
# belts or grooves a form has room for; wider drives take a second sheet
FORM_MOST: Final = 12


@dataclass(frozen=True, slots=True)
class Cell:
    """One value as text: with its spread, its trust mark, the key of its figure, and the same in the other units."""

    text: str = ""
    spread: str = ""
    mark: str = ""
    figure: str = ""
    also: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a section.

    cells:      as many as the section has columns, one where it has none
    read_first: what has to be read before the empty cells can be filled
    lines:      what to do, in the order to be said; caution: what hurts
    answer:     for what is judged: danger, falls short, note, good, not judged, wrong, doubtful
    """

    label: str
    cells: tuple[Cell, ...] = ()
    read_first: str = ""
    lines: tuple[str, ...] = ()
    caution: str = ""
    answer: str = ""

    @property
    def cell(self) -> Cell:
        """The first cell: the only one where a section has no columns."""
        return self.cells[0] if self.cells else Cell()


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the card. kind: figures (rows of values), steps (to do), notes (to read), form (to fill in)."""

    key: str
    title: str
    kind: Kind
    rows: tuple[Row, ...]
    columns: tuple[str, ...] = ()
    lead: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A card as texts: head, sections in order, and the small print."""

    tag: str
    name: str
    place: str
    plant: str
    made_on: str
    address: str
    overall: str
    about: str
    note: str
    sections: tuple[Section, ...]
    deference: tuple[str, ...]
    method: str
    sources: tuple[str, ...]
    legend: tuple[tuple[str, str], ...]

    def section(self, key: str) -> Section | None:
        """The section of that key, if this card has it."""
        return next((section for section in self.sections if section.key == key), None)


def sheet(card: Card, system: System, *, plant: str = "", base_url: str = "", made_on: date | None = None,
          kind: JobKind = "re-belt") -> Sheet:
    """Lay a card out as texts.

    system:   the units the person reads
    base_url: where the plant's pages are served, for the code on the card; without it the code holds the tag
    kind:     the job whose isolation, cautions and way back are printed
    """
    drive = card.drive
    steps = steps_for(kind, card.words(system))
    parts = (_danger(card, system), _isolation(steps), _store(card, system, steps), _set_to(card, system),
             _tension(card, system), _limits(card, system), _sheaves(card, system), _disagree(card, system),
             _read_next(card), _verdicts(card, system), _times(card, system), _drive(card, system),
             _loads(card, system), _form_belts(card, system), _form_gaps(card, system), _form_grooves(card, system),
             _form_speeds(card), _way_back(steps), _cautions(steps))
    sections = tuple(part for part in parts if part.rows)
    used = {cell.mark for part in sections for row in part.rows for cell in row.cells}
    return Sheet(
        drive.tag, drive.name, drive.place, plant, made_on.isoformat() if made_on else "",
        address(drive.tag, base_url), ANSWERS[overall(card.verdicts)], _about(card, system), drive.note, sections,
        (DEFERENCE, GUARD_LINE), f"Beltwright method {METHOD}", _sources(card),
        tuple((mark, words) for mark, words in LEGEND.items() if mark in used))


def address(tag: str, base_url: str) -> str:
    """What the code on a card or a label holds: the address of the drive's page, or its tag alone.

    >>> address("FAN-12", "https://belts.example/")
    'https://belts.example/d/FAN-12'
    """
    return f"{base_url.rstrip('/')}/d/{quote(tag, safe='', errors='replace')}" if base_url.strip() else tag


def cell(card: Card, key: str, system: System) -> Cell:
    """A figure of the card as a cell; an empty one when it is not known."""
    figure = card.figures.get(key)
    if figure is None:
        return Cell(figure=key)
    other: System = "inch" if system == "si" else "si"
    also = figure.text(other)
    text = figure.text(system)
    mark = MARKS.get(figure.working.trust, "")
    return Cell(text, figure.spread_text(system), mark, key, "" if also == text else also)


def _row(card: Card, label: str, system: System, *keys: str, unlocks: str = "") -> Row:
    cells = tuple(cell(card, key, system) for key in keys)
    missing = any(not each.text for each in cells)
    return Row(label, cells, read_first(card, unlocks) if missing and unlocks else "")


def read_first(card: Card, unlocks: str) -> str:
    """What has to be read before a group of figures (`gaps.FIGURES`) is known: by the numbers in “Go and read”."""
    assert unlocks in FIGURES, unlocks
    last = next((at for at, gap in enumerate(card.gaps, start=1) if unlocks in gap.unlocks), 0)
    if not last:
        return card.worked.why.get("set_to") or card.worked.why.get("shape") or "not known"
    first = card.gaps[last - 1]
    if last == 1:
        return first.words
    return f"readings 1 to {last} of “Go and read”"


def _danger(card: Card, system: System) -> Section:
    grave = [verdict for verdict in card.verdicts if verdict.answer == "danger"]
    rows = tuple(_verdict_row(verdict, system) for verdict in grave)
    return Section("danger", "Danger: do not run it", "notes", rows)


def _isolation(steps: tuple[Step, ...]) -> Section:
    first = [step for step in steps if step.gate == "isolation" and step.phase == 1]
    return Section("isolation", "First: isolate it", "steps", _step_rows(first),
                   lead="No hand near belts or sheaves before every line is ticked.")


def _way_back(steps: tuple[Step, ...]) -> Section:
    back = [step for step in steps if step.gate in ("return", "unlock") and step.phase == 1]
    return Section("return", "Last: guard on, tools out, people clear, locks off", "steps", _step_rows(back))


def _step_rows(steps: Iterable[Step]) -> tuple[Row, ...]:
    return tuple(Row(step.title, lines=step.say, caution=step.caution) for step in steps)


def _cautions(steps: tuple[Step, ...]) -> Section:
    said: dict[str, Step] = {}
    for step in steps:
        if step.caution and step.gate != "isolation":
            said.setdefault(step.caution, step)
    rows = tuple(Row(step.title, lines=(words,)) for words, step in said.items())
    return Section("cautions", "Cautions", "notes", rows)


def _store(card: Card, system: System, steps: tuple[Step, ...]) -> Section:
    belts = Row("Belts", (Cell(card.store()),),
                "" if card.store() else read_first(card, "set to draw from the store"))
    gauge = _row(card, "Groove gauge", system, "gauge", unlocks="groove gauge")
    tools = next((step.say[-1] for step in steps if step.key == "draw" and step.say), "")
    return Section("store", "Draw from the store", "figures",
                   (belts, gauge, *((Row("Tools", (Cell(tools),)),) if tools else ())))


def _set_to(card: Card, system: System) -> Section:
    press = _row(card, "Press the span in, mid-span, by", system, "deflection", unlocks="deflection")
    rule = _row(card, "the same on an inch rule", system, "deflection_64ths", unlocks="deflection")
    rows = [press, rule,
            _row(card, "Span, tangent to tangent", system, "span", unlocks="span"),
            _row(card, "Centre distance now", system, "centre", unlocks="span"),
            *((_row(card, "Centre distance, new belts", system, "centre_new"),)
              if "centre_new" in card.figures else ()),
            _row(card, "Slack-off, to lay belts in", system, "slack_off", unlocks="slack-off"),
            _row(card, "Take-up, to tighten", system, "take_up", unlocks="take-up")]
    return Section("set_to", "Set to", "figures", tuple(rows), lead=_doubt(card))


def _tension(card: Card, system: System) -> Section:
    joined = card.drive.belts.joined
    each = "Force at the mark, each rib" if joined else "Force at the mark, each belt"
    rows = [_row(card, each, system, "force_run_in", "force_new", unlocks="deflection force")]
    if joined:
        rows.insert(0, _row(card, "Force at the mark, whole band", system, "force_run_in_band", "force_new_band",
                            unlocks="deflection force"))
    rows += [_row(card, "Note of the plucked span", system, "frequency_run_in", "frequency_new",
                  unlocks="span frequency"),
             _row(card, "Static tension, one strand", system, "tension_run_in", "tension_new",
                  unlocks="static tension")]
    return Section("tension", "Tension", "figures", tuple(rows), ("run-in belts", "new belts"), _doubt(card))


def _doubt(card: Card) -> str:
    wrong = any(clash.weight == "wrong" for clash in card.clashes)
    return "Readings disagree: see “Does not add up” before these numbers are used." if wrong else ""


def _limits(card: Card, system: System) -> Section:
    over = _row(card, "Misalignment, at most", system, "alignment_limit", unlocks="alignment over the centre")
    aim = _row(card, "Misalignment, aim for", system, "alignment_target", unlocks="alignment over the centre")
    wear = _row(card, "Dish of a groove flank, at most", system, "groove_wear")
    return Section("limits", "Limits", "figures", (over, aim, wear))


def _sheaves(card: Card, system: System) -> Section:
    def pair(label: str, name: str, unlocks: str = "") -> Row:
        return _row(card, label, system, f"{name}_driver", f"{name}_driven", unlocks=unlocks)

    rows = [pair("Run-out, radial, full swing", "runout_radial"), pair("Run-out, axial, full swing", "runout_axial"),
            pair("Rim speed", "rim_speed"), pair("Rim speed allowed", "rim_limit", "rim speed against limit"),
            pair("Wrap", "wrap", "wrap")]
    return Section("sheaves", "Sheaves", "figures", tuple(row for row in rows if row.read_first or row.cell.text or
                                                         row.cells[1].text), ("driver", "driven"))


def _disagree(card: Card, system: System) -> Section:
    from beltwright.desk.columns import COLUMNS
    asked = {column.name: column.ask for column in COLUMNS}
    rows = [Row(asked.get(clash.columns[0], clash.key) if clash.columns else clash.key,
                (Cell(clash.statement.text(system)),),
                lines=(f"Likely: {clash.likely.text(system)}.", f"Do: {clash.do.text(system)}."), answer=clash.weight)
            for clash in card.clashes]
    rows += [Row(asked.get(column, column), (Cell(why),), answer="not used") for column, why in card.known.unusable]
    return Section("disagree", "Does not add up", "notes", tuple(rows))


def _read_next(card: Card) -> Section:
    return Section("read_next", "Go and read", "notes", tuple(
        Row(gap.words, (Cell(""),), lines=(f"Gives {', '.join(gap.unlocks)}.", *_together(gap))) for gap in card.gaps),
        lead="In this order: most worth first." if len(card.gaps) > 1 else "")


def _together(gap: Gap) -> tuple[str, ...]:
    return (f"Only together with {' and '.join(gap.together_with)}.",) if gap.together_with else ()


def _verdicts(card: Card, system: System) -> Section:
    return Section("verdicts", "How it is built", "notes",
                   tuple(_verdict_row(verdict, system) for verdict in card.verdicts))


def _verdict_row(verdict: Verdict, system: System) -> Row:
    return Row(verdict.title, (Cell(verdict.statement.text(system), mark=MARKS.get(verdict.trust, "")),),
               lines=(f"Do: {verdict.do}.",) if verdict.do else (), answer=ANSWERS[verdict.answer])


def _times(card: Card, system: System) -> Section:
    return Section("times", "Come back", "figures", tuple(
        Row(figure.title, (cell(card, key, system),)) for key, figure in card.figures.items()
        if key.startswith("recheck_")))


_DRIVE: Final = ("ratio", "driven_speed", "belt_speed", "service_factor", "design_power", "power_per_belt",
                 "power_by_textbook", "belts_required", "service_factor_reached", "static_tension", "smallest_sheave",
                 "smallest_on_motor")
_LOADS: Final = ("pull_run_in", "pull_new", "pull_running", "bearing_load_driver", "bearing_load_driven",
                 "bearing_life_driver", "bearing_life_driven", "belt_life")


def _drive(card: Card, system: System) -> Section:
    return Section("drive", "The drive", "figures", tuple(_titled(card, _DRIVE, system)))


def _loads(card: Card, system: System) -> Section:
    return Section("loads", "What it loads", "figures", tuple(_titled(card, _LOADS, system)))


def _titled(card: Card, keys: Iterable[str], system: System) -> Iterator[Row]:
    for key in keys:
        if key in card.figures:
            yield Row(card.figures[key].title, (cell(card, key, system),))


def _form_belts(card: Card, system: System) -> Section:
    belts = card.drive.belts
    count = min(belts.count or 4, FORM_MOST)
    names = ("whole band",) if belts.joined else tuple(f"belt {at}" for at in range(1, count + 1))
    bands = [f"{title} {cell(card, key, system).text}" for title, key in (("run-in", "force_run_in"), (
        "new", "force_new")) if key in card.figures]
    return Section("form_belts", "Tension, belt by belt", "form", _blank(names, 4),
                   ("force, as found", "note, as found", "force, as left", "note, as left"),
                   f"At the mark: {'; '.join(bands)}. Counted from the motor side." if bands
                   else "Counted from the motor side.")


def _form_gaps(card: Card, system: System) -> Section:
    limit, aim = (cell(card, key, system).text for key in ("alignment_limit", "alignment_target"))
    return Section("form_gaps", "Alignment, gaps at the straightedge", "form",
                   _blank((f"{letter}  {words}" for letter, words in GAPS), 4),
                   ("as found", "half a turn on", "as left", "half a turn on"),
                   f"At most {limit} over this centre; aim for {aim}." if limit else "")


def _form_grooves(card: Card, system: System) -> Section:
    drive = card.drive
    count = min(FORM_MOST, max(sheave.grooves or drive.belts.count or 4 for sheave in (drive.driver, drive.driven)))
    return Section("form_grooves", "Groove wear, worse flank", "form", _blank(("driver", "driven"), count),
                   tuple(str(at) for at in range(1, count + 1)),
                   f"Dish at most {cell(card, 'groove_wear', system).text}.")


def _form_speeds(card: Card) -> Section:
    del card
    return Section("form_speeds", "Speeds and motor", "form",
                   _blank(("driver speed", "driven speed", "motor moved by"), 2),
                   ("as found", "as left"))


def _blank(labels: Iterable[str], cells: int) -> tuple[Row, ...]:
    return tuple(Row(label, (Cell(),) * cells) for label in labels)


def _about(card: Card, system: System) -> str:
    """The drive in one line: motor, belts, shafts."""
    from beltwright.units import show
    drive, known = card.drive, card.known
    parts = []
    if drive.motor.power is not None:
        parts.append(show(drive.motor.power, "power", system, digits=1 if drive.motor.power < 1e5 else 0))
    if drive.motor.speed is not None:
        parts.append(show(drive.motor.speed, "rotation", system))
    if drive.belts.count is not None:
        belt = known.marking.text if known.marking else drive.belts.section or "belts"
        parts.append(f"{drive.belts.count} × {belt}{' joined' if drive.belts.joined else ''}")
    if drive.shafts:
        parts.append(f"{drive.shafts} shafts")
    return " · ".join(parts)


def _sources(card: Card) -> tuple[str, ...]:
    """The published works behind the figures, in short, in order of first use; the working gives them whole."""
    keys = dict.fromkeys(key for figure in card.figures.values() for key in figure.working.sources)
    return tuple(dict.fromkeys(_short(key) for key in keys if key not in ("practice", "statics")))


def _short(key: str) -> str:
    entry = sources()[key]
    return f"{entry.get('author') or entry['title'].split(',')[0]} {entry.get('year', '')}".strip()
