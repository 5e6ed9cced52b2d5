"""The command for starts: will the belts slip and squeal as the motor starts, or when the machine jams."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, json_option, opened, units, units_option, write_file

if TYPE_CHECKING:
    from beltwright.bench.starts import Ask
    from beltwright.units import System


@click.command("run-up", short_help="Will it slip and squeal as it starts?")
@click.argument("tag")
@click.option("--tension", metavar="FORCE", help="Reckon with this static tension of a strand, such as 250 N or "
              "60 lbf; without it, with the one read last.")
@click.option("--jam", is_flag=True, help="The machine jams at full speed.")
@click.option("--load-step", type=float, metavar="TIMES", help="The load grows at full speed to so many times.")
@click.option("--why", metavar="FIGURE", help="How a figure came about.")
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Write the drawing there.")
@book_option
@units_option
@json_option
def run_up(tag: str, tension: str | None, jam: bool, load_step: float | None, why: str | None, svg: Path | None,
           where: str, system: str | None, as_json: bool) -> None:
    """Whether the belts of the drive TAG slip and squeal as it starts.

    Worked out in time from the motor's torque, the starter, the load and the
    inertias: how long they slip, the heat in each groove, the greatest pull on
    the shafts, the least tension that holds, and whether the band reaches so far.
    """
    from beltwright.cli.start_text import start_lines
    from beltwright.cli.working_text import working_lines
    from beltwright.desk import starts
    from beltwright.errors import InputError, NotKnown
    from beltwright.paper.as_json import figure_content, printed
    from beltwright.paper.start_json import start_content
    from beltwright.plant.identity import now

    if jam and load_step is not None:
        raise InputError("--jam and --load-step are two questions: ask one at a time")
    with opened(where) as book:
        shown = units(system, book.settings())
        started = starts.start(book, tag, _ask(tension, jam, load_step, shown), now=now())
    if started.start is None:
        columns = ", ".join(each.column for each in started.to_enter)
        raise NotKnown(f"{started.why_not}{f' (columns {columns})' if columns else ''}")
    if svg is not None:
        from beltwright.paper.start_plot import start_plot

        write_file(svg, start_plot(started.start, shown).encode())
        screen.note(f"drawing: {svg}")
    if why is not None:
        figure = starts.figure(started.start, why)
        screen.show(printed(figure_content(figure)) if as_json else
                    working_lines(figure, started.drive.tag, shown, screen.width()))
        return
    screen.show(printed(start_content(started)) if as_json else
                start_lines(started, shown, screen.width(), screen.signs()))


def _ask(tension: str | None, jam: bool, load_step: float | None, system: System) -> Ask:
    """What is asked for."""
    from beltwright.desk.starts import asked

    return asked("jam" if jam else "start" if load_step is None else "load step", tension or "",
                 "" if load_step is None else f"{load_step:g}", system)
