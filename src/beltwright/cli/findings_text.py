"""Findings as text: one drive's in full, a plant's in a table, what is due."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from beltwright.bench.findings.finding import URGENCIES, Finding, worst
from beltwright.cli.reading_text import MARK
from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, Over, length, pad, table, wrapped
from beltwright.desk.judge import Judged
from beltwright.paper.as_json import coming_content, finding_content
from beltwright.plant.drive import Drive
from beltwright.tables import TRUST_WORDS, cite
from beltwright.units import System

# findings that are a matter of time, not of what is wrong
_DUE: Final = ("due-", "laid-up", "job-open", "tension-running-down", "tension-unread", "alignment-unread")
_A_MONTH: Final = timedelta(days=31)
# readings named by their marks; more are counted
_MARKS: Final = 4


def is_due(finding: Finding) -> bool:
    """Whether a finding is a matter of time: something to be read, set again, finished or brought back."""
    return finding.key.startswith(_DUE)


def findings_lines(drive: Drive, found: Sequence[Finding], system: System, width: int, signs: Signs) -> list[str]:
    """The findings of one drive, most urgent first."""
    urgency = signs.marked(worst(found))
    name = f"{drive.tag}  {drive.name}"
    lines = [signs.heavy * width, pad(name, width - length(urgency) - 1) + " " + urgency, signs.heavy * width]
    titles = {finding.key: finding.title for finding in found}
    for at, finding in enumerate(found):
        lines += ([""] if at else []) + _finding(finding, titles, system, width, signs)
    return [*lines, signs.heavy * width]


def _finding(finding: Finding, titles: dict[str, str], system: System, width: int, signs: Signs) -> list[str]:
    sure = f" ({finding.sure_words})" if finding.sure is not None else ""
    urgency = f"{signs.marks[finding.urgency]} {finding.urgency.upper()}  "
    lines = wrapped(f"{finding.title}{sure}", width, first=urgency, rest="  ")
    words = finding.statement.text(system)
    lines += wrapped(f"{words[:1].upper()}{words[1:]}{'' if words.endswith('.') else '.'}", width, first="  ")
    if finding.each:
        lines += wrapped(f"Belt by belt: {'; '.join(each.text(system) for each in finding.each)}.", width, first="  ",
                         rest="    ")
    if beside := finding.beside(system):
        lines += wrapped(f"Also: {'; '.join(beside)}.", width, first="  ", rest="    ")
    if finding.why_sure:
        lines += wrapped(f"Sure how: {finding.why_sure}", width, first="  ", rest="    ")
    for number, action in enumerate(finding.actions(system), start=1):
        lines += wrapped(action, width, first=f"  {number}. ")
    if finding.check_too:
        lines += wrapped(f"Check too: {'; '.join(finding.check_too)}.", width, first="  ", rest="    ")
    for head, keys in (("Explained by", finding.explained_by), ("Explains", finding.explains)):
        if named_ones := [titles.get(key, key) for key in keys]:
            lines += wrapped(f"{head}: {'; '.join(named_ones)}.", width, first="  ", rest="    ")
    lines += wrapped(_word(finding), width, first="  ", rest="    ")
    return lines


def _word(finding: Finding) -> str:
    """On whose word, and from which readings."""
    source = TRUST_WORDS["practice"] if finding.source == "practice" else (
        f"{cite(finding.source)}{'' if finding.trust in ('read', 'practice') else f' ({TRUST_WORDS[finding.trust]})'}")
    marks = [each.hex[-MARK:] for each in finding.readings[-_MARKS:]]
    more = len(finding.readings) - len(marks)
    behind = f" Readings: {', '.join(marks)}{f' and {more} earlier' if more else ''}." if marks else ""
    return f"Source: {source.rstrip('.')}.{behind}"


def plant_findings_lines(judged: Sequence[Judged], system: System, width: int, signs: Signs) -> list[str]:
    """Every drive that needs a hand, most urgent first; the sound ones counted."""
    hurried = sorted((each for each in judged if each.urgency != "sound"),
                     key=lambda each: URGENCIES.index(each.urgency))
    rows: list[Sequence[str] | Over] = []
    urgency = ""
    for each in hurried:
        if each.urgency != urgency:
            urgency = each.urgency
            rows.append(Over(signs.marked(urgency).upper()))
        first, drive = each.findings[0], each.make_up.drive
        words = first.statement.text(system)
        more = len(each.findings) - 1
        rows.append((drive.tag, drive.name, f"{first.title}: {words}{f' (and {more} more)' if more else ''}"))
    sound = len(judged) - len(hurried)
    lines = table((Column("tag"), Column("drive", least=12), Column("what needs a hand", least=24)), rows, width=width,
                  signs=signs) if rows else []
    return [*lines, f"{sound} of {len(judged)} drives sound. One in full: beltwright findings TAG"]


def due_lines(judged: Sequence[Judged], system: System, width: int, signs: Signs) -> list[str]:
    """What is due, most urgent first."""
    coming = sorted(((finding, each.make_up.drive) for each in judged for finding in each.findings if is_due(finding)),
                    key=lambda pair: URGENCIES.index(pair[0].urgency))
    if not coming:
        return ["Nothing is due."]
    rows = [(signs.marked(finding.urgency), drive.tag, f"{finding.title}: {finding.statement.text(system)}")
            for finding, drive in coming]
    return table((Column("when"), Column("tag"), Column("what is due", least=24)), rows, width=width, signs=signs)


def coming_lines(judged: Sequence[Judged], now: datetime, width: int, signs: Signs) -> list[str]:
    """What comes up within a month, the soonest first; what lies further off is counted."""
    ahead = sorted(((each, judged_one.make_up.drive) for judged_one in judged for each in judged_one.coming[:1]),
                   key=lambda pair: (pair[0].first, pair[1].tag))
    soon = [(each, drive) for each, drive in ahead if each.first - now <= _A_MONTH]
    later = len(ahead) - len(soon)
    lines: list[str] = []
    if soon:
        rows = [(each.days, drive.tag, f"{each.title}: {each.recheck.words}") for each, drive in soon]
        lines = ["", "COMING UP", *table((Column("when"), Column("tag"), Column("what", least=24)), rows, width=width,
                                         signs=signs)]
    return [*lines, *([f"{later} more drives are due later on."] if later else [])]


def due_content(judged: Judged) -> dict[str, Any]:
    """What is due and what is to come at a drive, for other programs; empty where nothing is."""
    now = tuple(filter(is_due, judged.findings))
    if not now and not judged.coming:
        return {}
    content = findings_content(judged.make_up.drive.tag, now)
    return content | {"coming": [coming_content(each) for each in judged.coming]}


def findings_content(tag: str, found: Sequence[Finding]) -> dict[str, Any]:
    """The findings of a drive for other programs."""
    return {"tag": tag, "urgency": worst(found), "findings": [finding_content(finding) for finding in found]}
