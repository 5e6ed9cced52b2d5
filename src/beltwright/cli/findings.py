"""Commands for judgement: the findings of a drive or of the plant, and what is due."""

from __future__ import annotations

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, json_option, opened, units, units_option


@click.command(short_help="What the readings say, most urgent first.")
@click.argument("tag", required=False)
@book_option
@units_option
@json_option
def findings(tag: str | None, where: str, system: str | None, as_json: bool) -> None:
    """What the readings of the drive TAG say: the number against its limit, how sure, what to do, on whose word.

    Without TAG: every drive of the plant that needs a hand, most urgent first.
    """
    from beltwright.cli.findings_text import findings_content, findings_lines, plant_findings_lines
    from beltwright.desk import judge
    from beltwright.paper.as_json import printed
    from beltwright.plant.identity import now

    with opened(where) as book:
        shown = units(system, book.settings())
        if tag is None:
            judged = list(judge.findings_of_plant(book, now=now()))
            screen.show(printed([findings_content(each.make_up.drive.tag, each.findings) for each in judged])
                        if as_json else plant_findings_lines(judged, shown, screen.width(), screen.signs()))
            return
        drive = book.drive_by_tag(tag).drive
        found = judge.findings(book, tag, now=now())
    screen.show(printed(findings_content(drive.tag, found)) if as_json else
                findings_lines(drive, found, shown, screen.width(), screen.signs()))


@click.command(short_help="What is due: readings, returns, open jobs.")
@book_option
@units_option
@json_option
def due(where: str, system: str | None, as_json: bool) -> None:
    """What is due in the plant: belts to be read or set again, jobs left open, drives laid up; most urgent first.

    Then what comes up within a month, the soonest first.
    """
    from beltwright.cli.findings_text import coming_lines, due_content, due_lines
    from beltwright.desk import judge
    from beltwright.paper.as_json import printed
    from beltwright.plant.identity import now

    with opened(where) as book:
        shown = units(system, book.settings())
        moment = now()
        judged = list(judge.due_of_plant(book, now=moment))
    if as_json:
        screen.show(printed([content for each in judged if (content := due_content(each))]))
        return
    width, signs = screen.width(), screen.signs()
    screen.show([*due_lines(judged, shown, width, signs), *coming_lines(judged, moment, width, signs)])
