"""Commands for readings: note one, by prompts or in a line, put one right, a drive's history, readings by the sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, by_option, json_option, opened, units, units_option

if TYPE_CHECKING:
    from datetime import datetime

_STATES = ("as found", "as left", "running", "in between")


@click.command(short_help="Note a reading: by prompts, or in one line.")
@click.argument("tag")
@click.argument("kind", required=False)
@click.argument("values", nargs=-1, metavar="[NAME=VALUE]...")
@click.option("--state", type=click.Choice(_STATES),
              help="When it was taken.  [default: as found; running for what is read from outside the guard]")
@click.option("--at", metavar="TIME", help="Day and time, such as 2026-11-25 14:30.  [default: now]")
@click.option("--note", "words", default="", metavar="TEXT", help="Anything else to be kept with it.")
@click.option("--job", metavar="JOB", help="The job it belongs to: its id, or the tag for the one open there.")
@book_option
@by_option
@units_option
def note(tag: str, kind: str | None, values: tuple[str, ...], state: str | None, at: str | None, words: str,
         job: str | None, where: str, by: str, system: str | None) -> None:
    """Note a reading of some KIND at the drive TAG.

    Without values each one is asked for, the band or limit in view:

        beltwright note FAN-12 force

    With values it is one line, every value with its unit (--units gives bare numbers theirs):

        beltwright note FAN-12 force belt=2 force='31 N' --state 'as found'
    """
    from beltwright.cli.asking import ask_kind, ask_values, in_view
    from beltwright.cli.reading_text import reading_line
    from beltwright.desk import jobs, prepare, record
    from beltwright.plant.identity import now

    when = moment(at)
    with opened(where, write=True) as book:
        shown = units(system, book.settings())
        made = prepare.card(book, tag)
        kind_of = record.kind_named(kind) if kind else ask_kind()
        stated = state or ("as found" if kind_of.hands_on else "running")
        job_id = jobs.find_job(book, job).id if job else None
        if values:
            answers, given_in = iter([split(values)]), units(system, book.settings()) if system else None
        else:
            screen.show(in_view(kind_of, made, shown, screen.width()))
            answers, given_in = ask_values(kind_of, made, shown), shown
        for each in answers:
            reading = record.note(book, tag, kind_of.name, each, state=stated, by=by, at=when or now(),
                                  system=given_in, job_id=job_id, words=words)
            screen.show([f"noted: {made.drive.tag}, {reading_line(reading, shown)}"])


@click.command(short_help="Put a reading right; the old one stays on record.")
@click.argument("tag")
@click.argument("reading")
@click.argument("values", nargs=-1, required=True, metavar="NAME=VALUE...")
@click.option("--reason", required=True, metavar="TEXT", help="Why it is put right.")
@book_option
@by_option
@units_option
def correct(tag: str, reading: str, values: tuple[str, ...], reason: str, where: str, by: str,
            system: str | None) -> None:
    """Put READING of the drive TAG right: the values given replace the old ones.

    READING is the mark that `history` shows beside it. The old reading stays on record.
    """
    from beltwright.cli.reading_text import find_reading, reading_line
    from beltwright.desk import record
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        shown = units(system, book.settings())
        make_up = book.drive_by_tag(tag)
        old = find_reading(book.readings(make_up.drive_id, superseded=True), reading, make_up.drive.tag)
        new = record.correct(book, old.id, split(values), reason=reason, by=by, at=now(),
                             system=shown if system else None)
    screen.show([f"was:  {reading_line(old, shown)}", f"now:  {reading_line(new, shown)}"])


@click.command(short_help="What was noted, fitted and done at a drive.")
@click.argument("tag")
@click.option("--kind", multiple=True, metavar="KIND", help="Only readings of this kind; may be given again.")
@click.option("--all", "everything", is_flag=True, help="Also readings that were put right later.")
@book_option
@units_option
@json_option
def history(tag: str, kind: tuple[str, ...], everything: bool, where: str, system: str | None, as_json: bool) -> None:
    """What was noted, fitted and done at the drive TAG, the latest last.

    Then its tension as found and as left, how long each set of belts ran, and what its own readings have taught.
    """
    from beltwright.cli.past_text import past_content, past_lines
    from beltwright.cli.reading_text import history_lines
    from beltwright.desk import judge, record
    from beltwright.paper.as_json import printed, reading_content
    from beltwright.plant.identity import now

    kinds = [record.kind_named(each).name for each in kind] or None
    with opened(where) as book, book.looking():
        shown = units(system, book.settings())
        make_up = book.drive_by_tag(tag)
        tag = make_up.drive.tag
        found = book.readings(make_up.drive_id, kinds=kinds, superseded=everything)
        make_ups = [] if kinds else book.make_ups(make_up.drive_id)
        events = [] if kinds else [(job, event) for job in book.jobs(make_up.drive_id)
                                   for event in book.events(job.id)]
        opened_jobs = [] if kinds else book.jobs(make_up.drive_id)
        past = None if kinds else judge.past(book, tag, now=now())
    if as_json:
        content: dict[str, Any] = {"tag": tag, "readings": [reading_content(each, tag) for each in found]}
        screen.show(printed(content if past is None else content | past_content(past)))
        return
    width, signs = screen.width(), screen.signs()
    screen.show([*history_lines(tag, found, make_ups, opened_jobs, events, shown, width, signs),
                 *(() if past is None else past_lines(past, shown, width, signs))])


@click.group(short_help="Readings by the sheet, in and out.")
def readings() -> None:
    """Readings by the sheet: CSV or XLSX, in and out."""


@readings.command("template", short_help="Write an empty sheet for readings.")
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("kind", nargs=-1, required=True)
@click.option("--units", "system", type=click.Choice(("si", "inch")), default="si", show_default=True,
              help="Units in the columns' names.")
def readings_template(file: Path, kind: tuple[str, ...], system: str) -> None:
    """Write an empty sheet FILE, XLSX or CSV, for readings of these KINDs."""
    from beltwright.book.sheets import write_sheet
    from beltwright.cli.reading_text import sheet_columns
    from beltwright.desk.record import kind_named
    from beltwright.errors import InputError

    if file.exists():
        raise InputError(f"{file} exists already: give the sheet another name")
    asked = sheet_columns([kind_named(each) for each in kind], "inch" if system == "inch" else "si")
    write_sheet(file, [name for name, _, _ in asked], [], title="readings",
                notes=[("column", "what is asked", "what is accepted"), *asked])
    screen.show([f"{file}: {len(asked)} columns. Fill in one row a reading, then: beltwright readings in {file}"])


@readings.command("in", short_help="Hand in a sheet of readings.")
@click.argument("sheet", type=click.Path(path_type=Path))
@click.option("--mend", type=click.Path(path_type=Path),
              help="Where rows that cannot be read go.  [default: beside the sheet, -mend in its name]")
@book_option
@by_option
def readings_in(sheet: Path, mend: Path | None, where: str, by: str) -> None:
    """Hand in SHEET, a CSV or XLSX file with one row a reading; twice is as good as once."""
    from beltwright.book.sheets import read_sheet
    from beltwright.cli.mend import report, told
    from beltwright.desk.record import hand_in
    from beltwright.desk.survey import MEND_COLUMN, rows_from

    with told():
        read = read_sheet(sheet)
        with opened(where, write=True) as book:
            result = hand_in(book, rows_from(read.rows, first=read.first), by=by)
    screen.show([f"{result.noted:5} noted", f"{result.same:5} there already"])
    bad = [{**row.cells, MEND_COLUMN: "; ".join(f"{cell.column}: {cell.problem}" for cell in result.problems
                                                if cell.row == row.number)} for row in result.bad]
    report(sheet, read.columns, result.problems, bad, mend)


@readings.command("out", short_help="Write readings as a sheet.")
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("tags", nargs=-1)
@click.option("--since", metavar="DAY", help="Only from this day on, such as 2026-11-01.")
@book_option
def readings_out(file: Path, tags: tuple[str, ...], since: str | None, where: str) -> None:
    """Write readings of the plant, or of the drives TAGS, as a sheet FILE that can be handed in again."""
    from beltwright.book.sheets import write_sheet
    from beltwright.desk.record import HEAD, as_rows
    from beltwright.plant.reading import KINDS

    start = moment(since)
    with opened(where) as book, book.looking():
        wanted = [book.drive_by_tag(tag) for tag in tags] or book.drives()
        names = {make_up.drive_id: make_up.drive.tag for make_up in wanted}
        found = [reading for drive_id in names for reading in book.readings(drive_id, since=start)]
    rows = as_rows(found, names)
    used = {name for row in rows for name in row}
    fields = dict.fromkeys(field.name for kind in KINDS.values() for field in kind.fields if field.name in used)
    write_sheet(file, [*HEAD, *fields], rows, title="readings")
    screen.show([f"{file}: {len(rows)} readings."])


def split(values: tuple[str, ...]) -> dict[str, str]:
    """`name=value` as typed."""
    from beltwright.errors import InputError

    answers: dict[str, str] = {}
    for each in values:
        name, equals, value = each.partition("=")
        if not equals or not name.strip():
            raise InputError(f"{each!r} is not NAME=VALUE: write it like force='31 N'")
        key = name.strip().casefold().replace("-", "_")
        if key in answers:
            raise InputError(f"{key} is given twice")
        answers[key] = value
    return answers


def moment(text: str | None) -> datetime | None:
    """A day and time as typed here, in this machine's zone unless it says another; None for none."""
    from beltwright.desk.record import moment as understood

    if text is None:
        return None
    when = understood(text)
    naive = not text.strip().endswith("Z") and "+" not in text and text.strip().count("-") < 3
    return when.replace(tzinfo=None).astimezone() if naive else when
