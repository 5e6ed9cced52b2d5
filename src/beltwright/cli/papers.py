"""Commands for what is printed besides cards: the record of a job, labels for the guards."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, json_option, opened, paper_option, size, units, units_option, write_file

if TYPE_CHECKING:
    from beltwright.book.store import Store
    from beltwright.plant.job import Job


@click.command(short_help="The record of a job, fit for an audit.")
@click.argument("name", metavar="JOB")
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE", help="Write it there, ready to print.")
@paper_option
@book_option
@units_option
@json_option
def record(name: str, pdf: Path | None, paper: str | None, where: str, system: str | None, as_json: bool) -> None:
    """The record of JOB: who, when, each step, values against limits, isolation and guard.

    JOB is its mark, or the tag of a drive for the last job there.
    """
    from datetime import datetime

    from beltwright.cli.job_text import record_lines
    from beltwright.desk.jobs import standing
    from beltwright.paper.record import record as texts

    zone = datetime.now().astimezone().tzinfo
    assert zone is not None
    with opened(where) as book, book.looking():
        settings = book.settings()
        found = standing(book, last_job(book, name).id)
        readings = [reading for reading in book.readings(found.job.drive_id, superseded=True)
                    if reading.job_id == found.job.id]
    shown = units(system, settings)
    if as_json:
        from beltwright.paper.as_json import printed, record_content

        screen.show(printed(record_content(found, readings)))
        return
    if pdf is None:
        made = texts(found.job, found.events, readings, found.card(), shown, zone=zone)
        screen.show(record_lines(made, screen.width(), screen.signs()))
        return
    from beltwright.paper.record_pdf import record_pdf

    write_file(pdf, record_pdf(found.job, found.events, readings, found.card(), shown,
                               paper=size(paper, inches=shown == "inch"), plant=settings.plant, zone=zone))
    screen.show([f"{pdf}: the record of {found.job.kind} at {found.make_up.drive.tag}."])


@click.command(short_help="Labels with codes, to stick on the guards.")
@click.argument("tags", nargs=-1)
@click.option("--pdf", type=click.Path(path_type=Path), required=True, metavar="FILE", help="Write them there.")
@click.option("--address", default="", metavar="URL",
              help="Where the plant's pages are served; without it the code holds the tag alone.")
@click.option("--used", type=click.IntRange(0, 9), default=0, show_default=True,
              help="Places of the first sheet that are gone already.")
@paper_option
@book_option
def labels(tags: tuple[str, ...], pdf: Path, address: str, used: int, paper: str | None, where: str) -> None:
    """Labels for the drives TAGS, or for every drive of the plant, ten to a sheet."""
    from datetime import date

    from beltwright.paper.labels import labels_pdf

    with opened(where) as book, book.looking():
        settings = book.settings()
        chosen = [make_up.drive for make_up in map(book.drive_by_tag, tags)] or [each.drive for each in book.drives()]
    write_file(pdf, labels_pdf(chosen, base_url=address, paper=size(paper, inches=settings.system == "inch"),
                               plant=settings.plant, used=used, made_on=date.today()))
    screen.show([f"{pdf}: {len(chosen)} labels."])


def last_job(book: Store, name: str) -> Job:
    """The job of that mark or id, or the open one at the drive with that tag, or the last one there."""
    from beltwright.desk.jobs import find_job
    from beltwright.errors import InputError

    try:
        return find_job(book, name)
    except InputError:
        ended = book.jobs(book.drive_by_tag(name).drive_id)
        if not ended:
            raise InputError(f"there was no job at {name} yet") from None
        return ended[-1]
