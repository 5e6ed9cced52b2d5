"""Commands for jobs: open one, see how it stands, do, skip or take back its steps, walk it, close or abandon it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, by_option, json_option, opened, units, units_option

if TYPE_CHECKING:
    from beltwright.bench.procedure import Progress
    from beltwright.plant.job import Job


@click.group(short_help="Do a job in the right order.")
def job() -> None:
    """Do a job in the right order: isolation first, guard back on last.

    JOB is the tag of the drive whose job is open, or the mark that `job list` shows. STEP is the number or the name
    that `job show` shows.
    """


@job.command("open", short_help="Open a job at a drive.")
@click.argument("tag")
@click.argument("kind")
@click.option("--reason", default="", metavar="TEXT", help="What it is for.")
@book_option
@by_option
@units_option
def open_job(tag: str, kind: str, reason: str, where: str, by: str, system: str | None) -> None:
    """Open a job of some KIND at the drive TAG, with the drive's own numbers in its steps.

    Kinds: inspect, re-tension, re-belt, change sheave, align, lay up, bring back. One job is open at a drive at a time.
    """
    from beltwright.desk import jobs
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        shown = units(system, book.settings())
        found = jobs.open_job(book, tag, kind, by=by, at=now(), reason=reason, system=shown)
        tag = book.drive(found.drive_id).drive.tag
    screen.show([f"{found.kind} at {tag} is open, {len(found.steps)} steps. See it: beltwright job show {tag}. "
                 f"Do it: beltwright job walk {tag}"])


@job.command("list", short_help="Jobs that are open.")
@click.option("--all", "everything", is_flag=True, help="Also those that are closed or abandoned.")
@book_option
@json_option
def list_jobs(everything: bool, where: str, as_json: bool) -> None:
    """Jobs that are open in the plant."""
    from beltwright.cli.job_text import list_lines
    from beltwright.desk.jobs import standing
    from beltwright.paper.as_json import job_content, printed

    with opened(where) as book, book.looking():
        tags = {make_up.drive_id: make_up.drive.tag for make_up in book.drives()}
        found = [standing(book, each.id) for each in book.jobs(open_only=not everything)]
    screen.show(printed([job_content(each) for each in found]) if as_json else
                list_lines(found, tags, screen.width(), screen.signs()))


@job.command("show", short_help="How a job stands, step by step.")
@click.argument("name", metavar="JOB")
@book_option
@json_option
def show_job(name: str, where: str, as_json: bool) -> None:
    """How JOB stands: every step, done by whom, skipped why, what is next, whose locks are on."""
    from beltwright.cli.job_text import job_lines
    from beltwright.desk.jobs import find_job, standing
    from beltwright.paper.as_json import job_content, printed

    with opened(where) as book:
        found = standing(book, find_job(book, name).id)
    screen.show(printed(job_content(found)) if as_json else job_lines(found, screen.width(), screen.signs()))


@job.command("do", short_help="A step is done.")
@click.argument("name", metavar="JOB")
@click.argument("step")
@click.option("--confirm", multiple=True, metavar="TEXT", help="What the step asks to be confirmed, word for word.")
@book_option
@by_option
def do_step(name: str, step: str, confirm: tuple[str, ...], where: str, by: str) -> None:
    """A STEP of JOB is done, by the person named."""
    from beltwright.desk import jobs
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        found = jobs.find_job(book, name)
        key = jobs.step_named(found, step)
        words = next(each.confirm for each in found.steps if each.key == key)
        said = [word for word in words if any(word.casefold() == each.strip().casefold() for each in confirm)]
        after = jobs.do(book, found.id, key, by=by, at=now(), confirmed=said)
    _went(f"done: {title(found, key)}", after)


@job.command("skip", short_help="A step is left out, with the reason.")
@click.argument("name", metavar="JOB")
@click.argument("step")
@click.option("--reason", required=True, metavar="TEXT", help="Why it is left out.")
@book_option
@by_option
def skip_step(name: str, step: str, reason: str, where: str, by: str) -> None:
    """A STEP of JOB is left out; some cannot be."""
    from beltwright.desk import jobs
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        found = jobs.find_job(book, name)
        key = jobs.step_named(found, step)
        after = jobs.skip(book, found.id, key, by=by, at=now(), reason=reason)
    _went(f"skipped: {title(found, key)}", after)


@job.command("back", short_help="A step noted by mistake is open again.")
@click.argument("name", metavar="JOB")
@click.argument("step")
@click.option("--reason", required=True, metavar="TEXT", help="Why it is taken back.")
@book_option
@by_option
def take_back(name: str, step: str, reason: str, where: str, by: str) -> None:
    """A STEP of JOB that was noted by mistake is open again; the record keeps both."""
    from beltwright.desk import jobs
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        found = jobs.find_job(book, name)
        key = jobs.step_named(found, step)
        after = jobs.take_back(book, found.id, key, by=by, at=now(), reason=reason)
    _went(f"open again: {title(found, key)}", after)


@job.command("moved", short_help="The centre distance was changed.")
@click.argument("name", metavar="JOB")
@click.option("--reason", default="", metavar="TEXT", help="What was moved.")
@book_option
@by_option
def moved(name: str, reason: str, where: str, by: str) -> None:
    """The centre distance was changed in JOB: alignment and hold-down bolts are open again."""
    from beltwright.desk import jobs
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        after = jobs.centre_moved(book, jobs.find_job(book, name).id, by=by, at=now(), reason=reason)
    _went("centre moved: alignment and bolts are open again", after)


@job.command("close", short_help="A job is finished.")
@click.argument("name", metavar="JOB")
@book_option
@by_option
def close_job(name: str, where: str, by: str) -> None:
    """JOB is finished: every step done or skipped, guard, tools, people and locks confirmed."""
    from beltwright.cli.job_text import come_back
    from beltwright.desk import jobs, judge
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        found = jobs.find_job(book, name)
        jobs.close(book, found.id, by=by, at=now())
        tag = book.drive(found.drive_id).drive.tag
        ahead = come_back(judge.to_come(book, tag, now=now()))
    screen.show([f"closed: {found.kind} at {tag}", *ahead])


@job.command("abandon", short_help="A job is given up, with the reason.")
@click.argument("name", metavar="JOB")
@click.option("--reason", required=True, metavar="TEXT", help="Why it is given up.")
@book_option
@by_option
def abandon_job(name: str, reason: str, where: str, by: str) -> None:
    """JOB is given up; not while a lock is on, nor with the guard off."""
    from beltwright.desk import jobs
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        found = jobs.find_job(book, name)
        jobs.abandon(book, found.id, by=by, at=now(), reason=reason)
        tag = book.drive(found.drive_id).drive.tag
    screen.show([f"abandoned: {found.kind} at {tag}"])


@job.command("walk", short_help="Do a job step by step.")
@click.argument("name", metavar="JOB")
@book_option
@by_option
@units_option
def walk(name: str, where: str, by: str, system: str | None) -> None:
    """Do JOB step by step: each step is shown, done, skipped or read; stop at any time and go on later."""
    from beltwright.cli.walking import walk_job
    from beltwright.desk.jobs import find_job

    with opened(where, write=True) as book:
        shown = units(system, book.settings())
        walk_job(book, find_job(book, name).id, by, shown)


def title(job: Job, key: str) -> str:
    """What a step is called."""
    return next(step.title for step in job.steps if step.key == key)


def _went(words: str, after: Progress) -> None:
    screen.show([words, f"next: {after.next.title}" if after.next else "next: close the job"])
