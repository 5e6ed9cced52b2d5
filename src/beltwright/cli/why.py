"""The command that asks why a drive fails: where the inquiry stands, question by question, its record."""

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
    from beltwright.desk.face import Book
    from beltwright.units import System


@click.command(short_help="Why a drive fails: causes, and what to check next.")
@click.argument("tag")
@click.option("--ask", is_flag=True, help="Go on question by question; each answer is noted.")
@click.option("--locked-out", is_flag=True, help="It is locked out already: hands-on checks cost no lock-out.")
@click.option("--noted", is_flag=True, help="Show all that is known and how, too.")
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE", help="Write its one-page record there.")
@paper_option
@book_option
@by_option
@units_option
@json_option
def why(tag: str, ask: bool, locked_out: bool, noted: bool, pdf: Path | None, paper: str | None, where: str, by: str,
        system: str | None, as_json: bool) -> None:
    """Why the drive TAG fails: causes ranked by what is on record, and the check worth most per minute.

    Answers and verdicts are readings, so they can be noted in one line, too:

        beltwright note FAN-12 answer sign='squeal at start' answer=present

        beltwright note FAN-12 cause cause='grooves worn' verdict=confirmed

        beltwright note FAN-12 'belts failed' count=3 hours='900 h' look='flanks glazed'
    """
    from datetime import UTC, datetime

    from beltwright.cli.why_text import noted_lines, why_lines
    from beltwright.desk import causes
    from beltwright.paper.as_json import printed
    from beltwright.paper.why import why as texts
    from beltwright.paper.why_json import inquiry_content
    from beltwright.plant.identity import now

    with opened(where, write=ask) as book:
        settings = book.settings()
        shown = units(system, settings)
        if ask:
            _ask(book, tag, by, shown, locked_out)
        found = causes.inquiry(book, tag, now=now(), locked_out=locked_out)
    if as_json:
        screen.show(printed(inquiry_content(found)))
        return
    made = texts(found, shown, zone=datetime.now().astimezone().tzinfo or UTC)
    if pdf is not None:
        from beltwright.paper.why_pdf import why_pdf

        write_file(pdf, why_pdf(made, paper=size(paper, inches=shown == "inch"), plant=settings.plant,
                                made_on=now().date()))
        screen.show([f"{pdf}: why {made.tag} fails, as it stands."])
        return
    width, signs = screen.width(), screen.signs()
    lines = why_lines(made, width, signs)
    screen.show([*lines, "", "ALL THAT IS KNOWN", *noted_lines(made, width, signs)] if noted else lines)


def _ask(book: Book, tag: str, by: str, system: System, locked_out: bool) -> None:
    """Question by question until nothing more is worth asking or the person stops."""
    from beltwright.cli.why_text import question_lines
    from beltwright.desk import causes
    from beltwright.paper.why import cause_text, question_text
    from beltwright.plant.identity import now
    from beltwright.plant.trouble import ANSWERS

    answers = dict(zip("ync", ANSWERS, strict=True))
    while True:
        found = causes.inquiry(book, tag, now=now(), locked_out=locked_out)
        leading = "; ".join(f"{one.title} {one.chance}" for one in
                            (cause_text(each, system) for each in found.causes[:3]))
        question = None if found.check is None else question_text(found.check)
        screen.show(["", f"so far: {leading}", "",
                     *question_lines(question, found.stop, screen.width(), screen.signs())])
        if question is None:
            return
        way: str = click.prompt("y it is there, n it is not, c could not tell, q stop here",
                                type=click.Choice([*answers, "q"]), show_choices=False)
        if way == "q":
            return
        causes.answer(book, tag, question.sign, answers[way], by=by, at=now())
