"""Walking a job in the terminal: the step to do now is shown, and done, skipped, read or taken back.

Everything goes into the book as it happens, so the walk may stop anywhere and go on here or on another device; before
each step the job is read anew, for two people may be on it.
"""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

import click

from beltwright.cli import screen
from beltwright.cli.asking import ask_values, in_view
from beltwright.cli.job_text import come_back, job_lines, step_lines
from beltwright.cli.reading_text import reading_line
from beltwright.desk import jobs, judge, record
from beltwright.desk.face import Book
from beltwright.desk.jobs import Standing
from beltwright.errors import InputError, Refused
from beltwright.plant.identity import now
from beltwright.plant.job import Step
from beltwright.plant.reading import KINDS
from beltwright.units import System

_WAYS = "d done, s skip, n note a reading, b take one back, l list, q stop here"


def walk_job(book: Book, job_id: UUID, by: str, system: System) -> None:
    """Go through a job until it is closed or the person stops."""
    found = jobs.standing(book, job_id)
    screen.show(job_lines(found, screen.width(), screen.signs(), say_next=False))
    while not found.progress.ended:
        step = found.progress.next
        if step is None:
            if not click.confirm("Every step is done or skipped. Close the job", default=True):
                break
            _tried(lambda: jobs.close(book, job_id, by=by, at=now()))
        elif not _one_step(book, found, step, by, system):
            break
        found = jobs.standing(book, job_id)
    tag = found.make_up.drive.tag
    if not found.progress.ended:
        screen.show([f"stopped here; go on with: beltwright job walk {tag}"])
        return
    screen.show([f"this job is {found.progress.ended}", *come_back(judge.to_come(book, tag, now=now()))])


def _one_step(book: Book, found: Standing, step: Step, by: str, system: System) -> bool:
    number = 1 + [mark.step.key for mark in found.progress.marks].index(step.key)
    screen.show(["", f"Step {number} of {len(found.job.steps)}",
                 *step_lines(step, screen.width(), screen.signs())])
    if found.progress.locks:
        screen.show([f"  locks on: {', '.join(sorted(found.progress.locks))}"])
    way: str = click.prompt(_WAYS, type=click.Choice(list("dsnblq")), default="d", show_choices=False)
    job_id = found.job.id
    match way:
        case "d":
            # not asked where it would be refused anyway
            said = [words for words in step.confirm if click.confirm(f"  {words}", default=False)]
            _tried(lambda: jobs.do(book, job_id, step.key, by=by, at=now(), confirmed=said))
        case "s":
            reason: str = click.prompt("  why is it skipped", default="", show_default=False)
            _tried(lambda: jobs.skip(book, job_id, step.key, by=by, at=now(), reason=reason))
        case "n":
            _note(book, found, step, by, system)
        case "b":
            _take_back(book, found, by)
        case "l":
            screen.show(job_lines(found, screen.width(), screen.signs(), say_next=False))
    return way != "q"


def _note(book: Book, found: Standing, step: Step, by: str, system: System) -> None:
    names = step.reads or tuple(KINDS)
    name: str = names[0] if len(names) == 1 else click.prompt(f"  which reading ({', '.join(names)})",
                                                              default=names[0])
    try:
        kind = record.kind_named(name)
    except InputError as problem:
        screen.show([f"  {problem}"])
        return
    card = found.card()
    state = step.state or ("as found" if kind.hands_on else "running")
    screen.show(in_view(kind, card, system, screen.width()))
    for answers in ask_values(kind, card, system):
        def keep(answers: dict[str, str] = answers) -> None:
            reading = record.note(book, card.drive.tag, kind.name, answers, state=state, by=by, at=now(),
                                  system=system, job_id=found.job.id)
            screen.show([f"  noted: {reading_line(reading, system)}"])

        if not _tried(keep):
            return


def _take_back(book: Book, found: Standing, by: str) -> None:
    name: str = click.prompt("  which step, by number")
    reason: str = click.prompt("  why", default="", show_default=False)
    _tried(lambda: jobs.take_back(book, found.job.id, jobs.step_named(found.job, name), by=by, at=now(), reason=reason))


def _tried(act: Callable[[], object]) -> bool:
    """Do it; a rule that stands against it, or a slip of the keys, is said and nothing is lost."""
    try:
        act()
    except (Refused, InputError) as problem:
        screen.show([f"  not done: {problem}"])
        return False
    return True
