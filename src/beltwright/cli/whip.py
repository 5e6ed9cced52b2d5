"""The command for whip: one drive's spans and what shakes them, or the plant screened."""

from __future__ import annotations

from pathlib import Path

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, json_option, opened, units, units_option, write_file


@click.command(short_help="Whether a span swings in step with what shakes it.")
@click.argument("tag", required=False)
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE",
              help="Write the chart over tension there, as a drawing.")
@click.option("--all", "everything", is_flag=True, help="Without TAG: also the drives of which nothing is near.")
@book_option
@units_option
@json_option
def whip(tag: str | None, svg: Path | None, everything: bool, where: str, system: str | None, as_json: bool) -> None:
    """Whether a running span of the drive TAG swings in step with what shakes it, and which tension is clear of it.

    Tight and slack side under load, at the tension as last read. Without TAG:
    every drive of the plant, set to the middle of its band.
    """
    from beltwright.cli import whip_text
    from beltwright.desk import whip as desk
    from beltwright.errors import InputError
    from beltwright.paper import whip_json
    from beltwright.paper.as_json import printed
    from beltwright.plant.identity import now

    with opened(where) as book:
        shown = units(system, book.settings())
        if tag is None:
            if svg is not None:
                raise InputError("a chart is of one drive: name its tag")
            found = desk.screen(book)
            screen.show(printed([whip_json.screened_content(each) for each in found]) if as_json else
                        whip_text.plant_lines(found, everything, shown, screen.width(), screen.signs()))
            return
        made = desk.whip_now(book, tag, now=now())
    if svg is not None:
        from beltwright.paper.whip_drawing import PAPER, tension_chart

        write_file(svg, tension_chart(made, shown, PAPER).encode())
    if as_json:
        screen.show(printed(whip_json.whip_content(made)))
        return
    screen.show(whip_text.whip_lines(made, shown, screen.width(), screen.signs()))
    if svg is not None:
        screen.show([f"{svg}: the chart over tension."])
