"""Jobs as text: how one stands, step by step; the open ones of a plant."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from uuid import UUID

from beltwright.bench.findings.coming import Coming
from beltwright.bench.procedure import Mark
from beltwright.cli.reading_text import MARK, local
from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, length, pad, table, wrapped
from beltwright.desk.jobs import Standing
from beltwright.paper.record import Record
from beltwright.plant.job import Step


def job_lines(found: Standing, width: int, signs: Signs, *, say_next: bool = True) -> list[str]:
    """Every step of a job, how it stands; and what the next one asks for."""
    job, progress = found.job, found.progress
    tag = found.make_up.drive.tag
    lines = [f"{tag}  {found.make_up.drive.name}: {job.kind}{f', {job.reason}' if job.reason else ''}",
             f"opened {local(job.opened_at)} by {job.opened_by}, mark {job.id.hex[-MARK:]}", signs.heavy * width]
    following = progress.next
    for number, mark in enumerate(progress.marks, start=1):
        lines += _mark(number, mark, mark.step is following and not progress.ended, width, signs)
    lines.append(signs.heavy * width)
    if progress.locks:
        lines += wrapped(f"locks on: {', '.join(sorted(progress.locks))}", width)
    if progress.ended:
        lines.append(f"this job is {progress.ended}")
    elif following is None:
        lines.append(f"all done: beltwright job close {tag}")
    elif say_next:
        lines += ["", *step_lines(following, width, signs)]
    return lines


def _mark(number: int, mark: Mark, is_next: bool, width: int, signs: Signs) -> list[str]:
    box = {"done": signs.ticked, "skipped": pad(signs.light, length(signs.box))}.get(mark.state, signs.box)
    who = f" ({', '.join(mark.by)})" if mark.by else ""
    why = f": skipped, {mark.reason}" if mark.state == "skipped" else ": open again" if mark.reopened else ""
    arrow = "→" if signs.box == "☐" else ">"
    first = f"{arrow if is_next else ' '} {number:2} {box} "
    return wrapped(f"{mark.step.title}{why}{who}", width, first=first)


def step_lines(step: Step, width: int, signs: Signs) -> list[str]:
    """One step as it is said to the person."""
    lines = [step.title, signs.light * length(step.title)]
    for words in step.say:
        lines += wrapped(words, width, first="  ")
    if step.caution:
        lines += wrapped(step.caution, width, first=f"  {signs.caution} ")
    for words in step.confirm:
        lines += wrapped(f"to be confirmed: {words}", width, first=f"  {signs.box} ")
    return lines


def list_lines(found: Sequence[Standing], tags: Mapping[UUID, str], width: int, signs: Signs) -> list[str]:
    """Jobs as a table."""
    if not found:
        return ["No job is open."]
    rows = []
    for each in found:
        done = sum(mark.state != "open" for mark in each.progress.marks)
        following = each.progress.ended or (each.progress.next.title if each.progress.next else "close it")
        rows.append((tags.get(each.job.drive_id, ""), each.job.kind, local(each.job.opened_at), each.job.opened_by,
                     f"{done} of {len(each.progress.marks)}", following, each.job.id.hex[-MARK:]))
    return table((Column("tag"), Column("job"), Column("opened", least=10), Column("by", least=5),
                  Column("done", "right"), Column("next", least=12), Column("mark")), rows, width=width, signs=signs)


def come_back(ahead: Sequence[Coming]) -> list[str]:
    """When to come back to a drive once its job is closed."""
    return [f"come back {each.days}: {each.title[:1].lower()}{each.title[1:]}, {each.recheck.words}" for each in ahead]


def record_lines(made: Record, width: int, signs: Signs) -> list[str]:
    """The record of a job, part by part."""
    lines = [signs.heavy * width, f"{made.tag}  {made.name}: {made.kind}{f', {made.reason}' if made.reason else ''}"]
    lines += [f"opened {made.opened}", f"{made.ended} {made.end}" if made.ended else "still open"]
    for part in made.parts:
        lines += ["", part.title.upper()]
        if part.lead:
            lines += wrapped(part.lead, width)
        columns = [Column(head, least=8) for head in part.columns]
        rows = [[*line.cells, *[""] * (len(columns) - len(line.cells))] for line in part.lines]
        lines += table(columns, rows, width=width, signs=signs)
    return [*lines, "", f"people: {', '.join(made.people)}   times: {made.zone}   {made.method}".rstrip(),
            f"job {made.number}"]
