"""The card on the screen: the figures wanted most at the head, then every section of the printed card in order.

What is to be filled in by hand stands on the printed card only.
"""

from __future__ import annotations

from collections.abc import Sequence

from beltwright.cli.screen import Signs
from beltwright.cli.table import length, pad, wrapped
from beltwright.paper.sheet import Cell, Row, Section, Sheet

_GAP = 3
# columns a text beside its label needs
_LEAST = 24


def card_lines(card: Sheet, width: int, signs: Signs) -> list[str]:
    """The lines of a card."""
    lines = [*_head(card, width, signs), *_glance(card, width, signs)]
    forms = [section.title for section in card.sections if section.kind == "form"]
    for section in card.sections:
        if section.kind != "form":
            lines += ["", *_section(section, width, signs)]
    lines += ["", signs.light * width]
    for words in card.deference:
        lines += wrapped(words, width)
    for mark, words in card.legend:
        lines += wrapped(words, width, first=f"{mark} ")
    if forms:
        lines += wrapped(f"The printed card (--pdf FILE) adds the drawing and places to write: {'; '.join(forms)}.",
                         width)
    lines += wrapped(f"How a figure came about: beltwright working {card.tag} FIGURE", width)
    return [*lines, signs.heavy * width]


def _head(card: Sheet, width: int, signs: Signs) -> list[str]:
    name = f"{card.tag}  {card.name}"
    built = f"built: {signs.marked(card.overall)}"
    fits = length(name) + length(built) < width
    lines = [signs.heavy * width, *([pad(name, width - length(built) - 1) + " " + built] if fits else
                                    [*wrapped(name, width), built])]
    about = " · ".join(part for part in (card.place, card.about) if part)
    lines += wrapped(about, width)
    if card.note:
        lines += wrapped(card.note, width, first="Note: ")
    return lines


def _glance(card: Sheet, width: int, signs: Signs) -> list[str]:
    """What a mechanic came for: how far to press, with what force, which note."""
    set_to, tension = card.section("set_to"), card.section("tension")
    press = set_to.rows[0].cell.text if set_to else ""
    if not press or tension is None or not tension.rows[0].cell.text:
        return [signs.heavy * width]
    rule = set_to.rows[1].cell.text if set_to else ""
    rows = [Row(row.label, row.cells) for row in tension.rows[:-1]]
    return [signs.light * width, *wrapped(f"Press each span in at its middle by {press} ({rule}):", width),
            *_columned(rows, tension.columns, width), signs.heavy * width]


def _section(section: Section, width: int, signs: Signs) -> list[str]:
    title = section.title.upper()
    lines = [*wrapped(title, width), signs.light * min(length(title), width)]
    if section.lead:
        lines += wrapped(section.lead, width)
    match section.kind:
        case "steps":
            lines += _steps(section.rows, width, signs)
        case "notes":
            lines += _notes(section.rows, width, signs)
        case _ if section.columns:
            lines += _columned(section.rows, section.columns, width)
        case _:
            lines += _figures(section.rows, width)
    return lines


def _steps(rows: Sequence[Row], width: int, signs: Signs) -> list[str]:
    lines = []
    for row in rows:
        lines += wrapped(f"{row.label}. {' '.join(row.lines)}", width, first=f"{signs.box} ")
        if row.caution:
            lines += wrapped(row.caution, width, first=f"{' ' * length(signs.box)} {signs.caution} ")
    return lines


def _notes(rows: Sequence[Row], width: int, signs: Signs) -> list[str]:
    lines = []
    for number, row in enumerate(rows, start=1):
        mark = signs.marks.get(row.answer) or (f"{number}." if len(rows) > 1 else "")
        first = f"{mark} " if mark else ""
        said = ": ".join(part for part in (row.label, _text(row.cell)) if part)
        words = f"{said}." if said and said[-1] not in ".!?" else said
        under = row.lines
        if not row.cell.text:
            words, under = " ".join((words, *row.lines)), ()
        lines += wrapped(f"{words[:1].upper()}{words[1:]}", width, first=first)
        for more in under:
            lines += wrapped(more, width, first=" " * (length(first) + 2))
    return lines


def _text(cell: Cell) -> str:
    return f"{cell.text}{f' {cell.mark}' if cell.mark and cell.text else ''}"


def _figures(rows: Sequence[Row], width: int) -> list[str]:
    labels = max(length(row.label) for row in rows) + _GAP
    values = max((length(_text(row.cell)) for row in rows if row.cell.spread or row.cell.also), default=0)
    lines = []
    for row in rows:
        text = _text(row.cell)
        if not text and row.read_first:
            text = f"– read first: {row.read_first}"
        for beside in (f"{row.cell.spread}  ({row.cell.also})" if row.cell.spread and row.cell.also else "",
                       row.cell.spread or (f"({row.cell.also})" if row.cell.also else "")):
            line = f"{pad(row.label, labels)}{pad(text, values)}{' ' * _GAP}{beside}"
            if beside and length(line) <= width:
                lines.append(line)
                break
        else:
            lines += _labelled(row.label, text, labels, width)
    return lines


def _labelled(label: str, text: str, labels: int, width: int) -> list[str]:
    """A label and its text side by side; under each other where there is no room."""
    if labels + _LEAST <= width:
        return wrapped(text, width, first=pad(label, labels))
    return [*wrapped(label, width), *wrapped(text, width, first="    ")]


def _columned(rows: Sequence[Row], columns: Sequence[str], width: int) -> list[str]:
    labels = max(length(row.label) for row in rows) + _GAP
    texts = [[_text(cell) or ("–" if row.read_first else "") for cell in row.cells] for row in rows]
    wide = [max(length(head), *(length(row[at]) for row in texts)) + _GAP for at, head in enumerate(columns)]
    if labels + sum(wide) - _GAP > width:
        return _stacked(rows, texts, columns, width)
    lines = [" " * labels + "".join(pad(head, room) for head, room in zip(columns, wide, strict=True))]
    for row, cells in zip(rows, texts, strict=True):
        lines.append(pad(row.label, labels) + "".join(pad(cell, room) for cell, room in zip(cells, wide, strict=True)))
        lines += _read_first(row, width)
    return [line.rstrip() for line in lines]


def _stacked(rows: Sequence[Row], texts: Sequence[Sequence[str]], columns: Sequence[str], width: int) -> list[str]:
    """The same on a narrow screen: each value on a line of its own."""
    lines = []
    for row, cells in zip(rows, texts, strict=True):
        lines += wrapped(row.label, width)
        for head, text in zip(columns, cells, strict=True):
            lines += wrapped(text, width, first=f"    {head}  ")
        lines += _read_first(row, width)
    return lines


def _read_first(row: Row, width: int) -> list[str]:
    return wrapped(f"read first: {row.read_first}", width, first="    ") if row.read_first else []
