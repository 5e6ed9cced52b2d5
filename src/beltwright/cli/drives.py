"""Commands for drives: the empty sheet, handing it in, the plant at a glance, a card, a working, lists to pick from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from beltwright.cli import screen
from beltwright.cli.options import (
    book_option,
    by_option,
    json_option,
    opened,
    paper_option,
    size,
    units,
    units_option,
    write_file,
)

if TYPE_CHECKING:
    from beltwright.units import System


@click.command(short_help="Write an empty sheet to fill in at the machines.")
@click.argument("file", type=click.Path(path_type=Path), default="drives.xlsx")
@click.option("--units", "system", type=click.Choice(("si", "inch")), default="si", show_default=True,
              help="Units in the columns' names; any column may be renamed to the other, _mm to _in.")
def template(file: Path, system: System) -> None:
    """Write an empty sheet, XLSX or CSV by the name of FILE, to fill in at the machines.

    One row a drive; leave empty what could not be read. In XLSX a second page says what each column asks and where
    to read it. What is there already is never written over.
    """
    from beltwright.book.sheets import write_sheet
    from beltwright.desk.survey import template as columns
    from beltwright.errors import InputError

    if file.exists():
        raise InputError(f"{file} exists already: give the sheet another name")
    asked = columns(system)
    write_sheet(file, [name for name, _, _ in asked], [], title="drives",
                notes=[("column", "what is asked", "where to read it"), *asked])
    screen.show([f"{file}: {len(asked)} columns. Fill in one row a drive, then: beltwright survey {file}"])


@click.command(short_help="Hand in a sheet of drives.")
@click.argument("sheet", type=click.Path(path_type=Path))
@click.option("--mend", type=click.Path(path_type=Path),
              help="Where rows that cannot be read go.  [default: beside the sheet, -mend in its name]")
@click.option("--page", metavar="NAME", help="Which page of a workbook, if not the first.")
@book_option
@by_option
def survey(sheet: Path, mend: Path | None, page: str | None, where: str, by: str) -> None:
    """Hand in SHEET, a CSV or XLSX file with one row a drive.

    Good rows go into the book. Rows with a cell that cannot be read go to another file, every bad cell said, to be
    mended and handed in again. Handing in the same sheet twice changes nothing; an empty cell leaves what the book
    knows, a dash takes it back.
    """
    from beltwright.book.sheets import read_sheet
    from beltwright.cli.mend import report, told
    from beltwright.desk.survey import hand_in, rows_from
    from beltwright.plant.identity import now

    with told():
        read = read_sheet(sheet, sheet=page)
        with opened(where, write=True) as book:
            result = hand_in(book, rows_from(read.rows, first=read.first), by=by, at=now())
    for words in read.notes:
        screen.note(words)
    screen.show([_became("entered", result.entered), _became("changed", result.changed),
                 _became("as they were", result.same)])
    report(sheet, read.columns, result.understood.problems, result.understood.to_mend(), mend)


def _became(words: str, tags: tuple[str, ...]) -> str:
    listed = ", ".join(tags[:5]) + (", ..." if len(tags) > 5 else "")
    return f"{len(tags):5} {words}{f': {listed}' if tags else ''}"


@click.command(short_help="Every drive at a glance; what needs a hand first.")
@click.argument("words", nargs=-1)
@book_option
@units_option
@json_option
def plant(words: tuple[str, ...], where: str, system: str | None, as_json: bool) -> None:
    """Every drive at a glance, and what needs a hand first.

    With WORDS, only the drives that have them in tag, name, place or belt marking.
    """
    from beltwright.cli.plant_text import plant_lines
    from beltwright.desk import judge, prepare
    from beltwright.desk.standing import standing
    from beltwright.paper.as_json import printed, summary
    from beltwright.plant.identity import now

    with opened(where) as book, book.looking():
        settings = book.settings()
        lines = prepare.plant(book)
        if words:
            wanted = {make_up.drive_id for make_up in book.search(" ".join(words))}
            lines = [line for line in lines if line.make_up.drive_id in wanted]
        found = {each.make_up.drive_id: each.findings for each in judge.findings_of_plant(book, now=now())}
    standings = {line.make_up.drive_id: standing(line.make_up.drive, found[line.make_up.drive_id]) for line in lines}
    if as_json:
        content = summary(lines)
        for line, each in zip(lines, content, strict=True):
            each["stands"] = standings[line.make_up.drive_id].stands
        screen.show(printed(content))
        return
    screen.show(plant_lines(lines, standings, settings.plant, units(system, settings), screen.width(),
                            screen.signs()))


@click.command(short_help="The card of a drive: on the screen, as PDF or JSON.")
@click.argument("tag")
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE", help="Write the printed card there.")
@paper_option
@click.option("--address", default="", metavar="URL", help="Where the plant's pages are served, for the code.")
@book_option
@units_option
@json_option
def card(tag: str, pdf: Path | None, paper: str | None, address: str, where: str, system: str | None,
         as_json: bool) -> None:
    """The card of the drive TAG: what to press, pluck, draw and allow, and in which order.

    On the screen for a quick look; with --pdf the card to take to the floor, drawing, forms and code included.
    """
    from datetime import date

    from beltwright.desk import prepare

    with opened(where) as book:
        settings = book.settings()
        made = prepare.card(book, tag)
    shown = units(system, settings)
    if as_json:
        from beltwright.paper.as_json import card_content, printed

        screen.show(printed(card_content(made)))
        return
    if pdf is None:
        from beltwright.cli.card_text import card_lines
        from beltwright.paper.sheet import sheet

        screen.show(card_lines(sheet(made, shown, plant=settings.plant), screen.width(), screen.signs()))
        return
    from beltwright.paper.card_pdf import card_pdf

    write_file(pdf, card_pdf(made, shown, paper=size(paper, inches=shown == "inch"), plant=settings.plant,
                             base_url=address, made_on=date.today()))
    screen.show([f"{pdf}: the card of {made.drive.tag}."])


@click.command(short_help="How a figure on a card came about.")
@click.argument("tag")
@click.argument("figure", required=False)
@book_option
@units_option
@json_option
def working(tag: str, figure: str | None, where: str, system: str | None, as_json: bool) -> None:
    """How FIGURE on the card of the drive TAG came about: formula, numbers put in, source, range, trust.

    Without FIGURE: the figures there are.
    """
    from beltwright.cli.working_text import figure_lines, working_lines
    from beltwright.desk import prepare
    from beltwright.paper.as_json import card_content, figure_content, printed

    with opened(where) as book:
        shown = units(system, book.settings())
        if figure is None:
            made = prepare.card(book, tag)
            screen.show(printed(card_content(made)) if as_json else
                        figure_lines(made, shown, screen.width(), screen.signs()))
            return
        found = prepare.working(book, tag, figure)
    screen.show(printed(figure_content(found)) if as_json else
                working_lines(found, tag, shown, screen.width()))


@click.command(short_help="Kinds of driven machine, and their service factors.")
@json_option
def services(as_json: bool) -> None:
    """The kinds of driven machine that a sheet accepts, and their service factors."""
    from beltwright.cli.lists import service_content, service_lines
    from beltwright.paper.as_json import printed

    screen.show(printed(service_content()) if as_json else service_lines(screen.width(), screen.signs()))


@click.command(short_help="Belt sections: sizes, mass, smallest sheave.")
@units_option
@json_option
def sections(system: str | None, as_json: bool) -> None:
    """The belt sections Beltwright knows, by standard: width, height, mass, smallest sheave."""
    from beltwright.cli.lists import section_content, section_lines
    from beltwright.paper.as_json import printed

    screen.show(printed(section_content()) if as_json else
                section_lines("inch" if system == "inch" else "si", screen.width(), screen.signs()))
