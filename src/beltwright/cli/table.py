"""Tables for the terminal, set like printed ones: a heavy rule above and below, a light one under the headings.

Numbers stand under each other by their decimal point, bands by the word between their ends; text wraps in its column;
a screen too narrow for the table gets one block a row. Knows text only.
"""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from beltwright.cli.screen import Signs

Align = Literal["left", "right", "number"]
_GAP: Final = "  "


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading (lines broken at newlines), how its cells stand, and how narrow its text may be wrapped.

    least: 0 for a column that never wraps
    """

    heading: str
    align: Align = "left"
    least: int = 0


@dataclass(frozen=True, slots=True)
class Over:
    """A line over the rows that follow: what they have in common."""

    words: str


Line = Sequence[str] | Over


def table(columns: Sequence[Column], rows: Iterable[Line], *, width: int, signs: Signs) -> list[str]:
    """The lines of a table."""
    body = list(rows)
    cells = [[clean(text) for text in row] for row in body if not isinstance(row, Over)]
    kept = [place for place, column in enumerate(columns) if any(row[place] for row in cells) or column.heading]
    texts = [_aligned(columns[place].align, [row[place] for row in cells]) for place in kept]
    shown = [columns[place] for place in kept]
    widths = _widths(shown, texts, width)
    if widths is None:
        return _blocks(shown, body, [[row[place] for place in kept] for row in cells], width, signs)
    total = sum(widths) + len(_GAP) * (len(widths) - 1)
    lines = [signs.heavy * total, *_headings(shown, widths), signs.light * total]
    at = 0
    for row in body:
        if isinstance(row, Over):
            lines += ["", row.words] if at else [row.words]
            continue
        lines += _set([column[at] for column in texts], shown, widths)
        at += 1
    return [*lines, signs.heavy * total]


def wrapped(text: str, width: int, *, first: str = "", rest: str | None = None) -> list[str]:
    """Text in lines of at most `width`, with what stands before the first and the later ones."""
    later = " " * length(first) if rest is None else rest
    return textwrap.wrap(clean(text), max(width, 20), initial_indent=first, subsequent_indent=later,
                         break_long_words=True, break_on_hyphens=False) or ([first.rstrip()] if first.strip() else [])


def length(text: str) -> int:
    """Columns a text fills on a screen: wide letters take two, accents none.

    >>> length("Förderband"), length("風扇")
    (10, 4)
    """
    return sum(0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
               for sign in text)


def clean(text: str) -> str:
    """Text as one line: what came from elsewhere moves no cursor and sets no colour.

    >>> clean("tag\\x1b[31m\\n2")
    'tag [31m 2'
    """
    return " ".join("".join(" " if unicodedata.category(sign) in ("Cc", "Cf") else sign for sign in text).split())


def pad(text: str, width: int, align: Align = "left") -> str:
    """Text filled up to a width."""
    room = " " * max(0, width - length(text))
    return text + room if align == "left" else room + text


def _aligned(align: Align, cells: list[str]) -> list[str]:
    if align != "number":
        return cells
    bands = [cell.partition(" to ") for cell in cells]
    if any(between for _, between, _ in bands):
        lows = _by_point([low if between else "" for low, between, _ in bands])
        highs = _by_point([high for _, _, high in bands])
        return [f"{low}{between}{high}" if between else cell
                for low, high, (_, between, _), cell in zip(lows, highs, bands, cells, strict=True)]
    return _by_point(cells)


def _by_point(cells: list[str]) -> list[str]:
    """Numbers with their points under each other; words are left as they are."""
    split = [cell.partition(".") if _is_number(cell) else None for cell in cells]
    before = max((length(parts[0]) for parts in split if parts), default=0)
    after = max((length(parts[1] + parts[2]) for parts in split if parts), default=0)
    return [cell if parts is None else pad(parts[0], before, "right") + pad(parts[1] + parts[2], after)
            for cell, parts in zip(cells, split, strict=True)]


def _is_number(cell: str) -> bool:
    return cell.lstrip("+-−").replace(".", "", 1).isdigit()


def _widths(columns: Sequence[Column], texts: Sequence[Sequence[str]], width: int) -> list[int] | None:
    """Each column's width, text columns narrowed in turn until the table fits; None when it cannot."""
    # a heading over text that wraps may wrap as well
    heads = [max(map(length, column.heading.split() if column.least else column.heading.split("\n")), default=0)
             for column in columns]
    natural = [max(*map(length, column.heading.split("\n")), *map(length, cells), 0)
               for column, cells in zip(columns, texts, strict=True)]
    least = [min(most, max(column.least, head)) if column.least else most
             for column, head, most in zip(columns, heads, natural, strict=True)]
    room = width - len(_GAP) * (len(columns) - 1)
    while sum(natural) > room:
        widest = max(range(len(natural)), key=lambda place: (natural[place] > least[place], natural[place]))
        if natural[widest] <= least[widest]:
            return None
        natural[widest] -= 1
    return natural


def _headings(columns: Sequence[Column], widths: Sequence[int]) -> list[str]:
    split = [[line for part in column.heading.split("\n")
              for line in (textwrap.wrap(part, wide, break_on_hyphens=False) or [""])]
             for column, wide in zip(columns, widths, strict=True)]
    deep = max(map(len, split))
    split = [[""] * (deep - len(lines)) + lines for lines in split]
    return [_GAP.join(pad(lines[at], wide, "left" if column.align == "left" else "right")
                      for lines, wide, column in zip(split, widths, columns, strict=True)).rstrip()
            for at in range(deep)]


def _set(cells: Sequence[str], columns: Sequence[Column], widths: Sequence[int]) -> list[str]:
    parts = [[cell] if length(cell) <= wide else textwrap.wrap(cell, wide, break_on_hyphens=False)
             for cell, wide in zip(cells, widths, strict=True)]
    deep = max(map(len, parts))
    return [_GAP.join(pad(part[at] if at < len(part) else "", wide, column.align)
                      for part, wide, column in zip(parts, widths, columns, strict=True)).rstrip()
            for at in range(deep)]


def _blocks(columns: Sequence[Column], body: Sequence[Line], cells: Sequence[Sequence[str]], width: int,
            signs: Signs) -> list[str]:
    """One block a row, for a screen too narrow for the table."""
    heads = [" ".join(column.heading.split()) for column in columns]
    lines = [signs.heavy * width]
    at = 0
    for row in body:
        if isinstance(row, Over):
            lines.append(row.words)
            continue
        for head, cell in zip(heads, cells[at], strict=True):
            if cell:
                lines += wrapped(cell, width, first=f"{head}: " if head else "", rest="    ")
        lines.append(signs.light * width)
        at += 1
    lines[-1] = signs.heavy * width
    return lines
