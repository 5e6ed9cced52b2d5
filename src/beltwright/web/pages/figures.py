"""Figures as a page shows them: the value, and its working behind it, all of it as text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from beltwright.bench.card import Card
from beltwright.bench.figure import Figure
from beltwright.paper.sheet import MARKS, Cell, Row, Section
from beltwright.units import System


@dataclass(frozen=True, slots=True)
class PutIn:
    """A number put into a formula; `figure` is the key of the figure that it is, where it is one."""

    symbol: str
    meaning: str
    text: str
    origin: str
    figure: str


@dataclass(frozen=True, slots=True)
class Worked:
    """How a figure came about."""

    formula: str
    where: str
    puts: tuple[PutIn, ...]
    sources: tuple[str, ...]
    trust: str
    validity: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """A figure as text. An empty `text`: not known yet."""

    key: str
    title: str
    text: str
    spread: str
    mark: str
    also: str
    worked: Worked | None


@dataclass(frozen=True, slots=True)
class Line:
    """A line of figures: one, or one a column; or what has to be read before they are known."""

    label: str
    shown: tuple[Shown, ...]
    read_first: str


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the page."""

    key: str
    title: str
    lead: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]


def parts(sections: Iterable[Section | None], card: Card, system: System) -> tuple[Part, ...]:
    """The parts of a page from the sections of the card's sheet."""
    return tuple(Part(section.key, section.title, section.lead, section.columns,
                      tuple(_line(row, card, system) for row in section.rows))
                 for section in sections if section is not None)


def shown(cell: Cell, label: str, card: Card, system: System) -> Shown:
    """A cell of the sheet with its figure's working."""
    figure = card.figures.get(cell.figure)
    return Shown(cell.figure, figure.title if figure else label, cell.text, cell.spread, cell.mark, cell.also,
                 worked(figure, system) if figure else None)


def figure_shown(figure: Figure, system: System) -> Shown:
    """A figure by itself."""
    return Shown(figure.key, figure.title, figure.text(system), figure.spread_text(system),
                 MARKS.get(figure.working.trust, ""), "", worked(figure, system))


def worked(figure: Figure, system: System) -> Worked:
    """The working of a figure as texts."""
    working = figure.working
    return Worked(working.formula, working.where,
                  tuple(PutIn(put.symbol, put.meaning, put.text(system), put.origin, put.figure)
                        for put in working.puts),
                  working.cited(), working.trust_words(), working.validity, working.remarks)


def _line(row: Row, card: Card, system: System) -> Line:
    return Line(row.label, tuple(shown(cell, row.label, card, system) for cell in row.cells), row.read_first)
