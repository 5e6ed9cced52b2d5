"""A working on the screen: the figure, its formula, what was put in, where it comes from, how far to trust it."""

from __future__ import annotations

from beltwright.bench.card import Card
from beltwright.bench.figure import Figure
from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, length, pad, table, wrapped
from beltwright.units import System


def working_lines(figure: Figure, tag: str, system: System, width: int) -> list[str]:
    """The lines of a working."""
    working = figure.working
    spread = figure.spread_text(system)
    lines = [f"{tag}  {figure.title}", "", f"    {figure.text(system)}{f'   {spread}' if spread else ''}", ""]
    lines += wrapped(working.formula, width, first="formula   ")
    if working.puts:
        lines += ["", *_put_in(figure, system, width)]
    lines.append("")
    for at, source in enumerate(working.cited()):
        lines += wrapped(f"{source}{f', {working.where}' if working.where and at == 0 else ''}", width,
                         first="source    " if at == 0 else "          ")
    lines += wrapped(working.trust_words(), width, first="trust     ")
    if working.validity:
        lines += wrapped(working.validity, width, first="range     ")
    for at, remark in enumerate(working.remarks):
        lines += wrapped(remark, width, first="remark    " if at == 0 else "          ")
    if spread:
        lines += wrapped("what the measured inputs leave open, two standard uncertainties (95 in 100)", width,
                         first="±         ")
    return lines


def _put_in(figure: Figure, system: System, width: int) -> list[str]:
    puts = figure.working.puts
    symbols = max(length(put.symbol) for put in puts)
    values = max((length(put.text(system)) for put in puts if not isinstance(put.value, str)), default=0)
    lines = ["put in"]
    for put in puts:
        value = put.text(system)
        figures = f"    {pad(put.symbol, symbols)}  {pad(value, values, 'right')}   "
        more = f"; working {put.figure}" if put.figure else ""
        lines += wrapped(f"{put.meaning} [{put.origin}{more}]", width, first=figures)
    return lines


def figure_lines(card: Card, system: System, width: int, signs: Signs) -> list[str]:
    """The figures a card has, to pick one."""
    rows = [(key, figure.title, figure.text(system)) for key, figure in card.figures.items()]
    tag = card.drive.tag
    return [*table((Column("figure"), Column("what it is", least=20), Column("value", least=16)),
                   rows, width=width, signs=signs), f"How one came about: beltwright working {tag} {rows[0][0]}"
            if rows else f"Nothing is known of {tag} yet: beltwright card {tag} says what to read."]
