"""A job at a drive: its steps as made for that drive, and the events noted while doing it. Facts are only added."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal
from uuid import UUID

JobKind = Literal["inspect", "re-tension", "re-belt", "change sheave", "align", "lay up", "bring back"]
EventKind = Literal["opened", "done", "skipped", "undone", "paused", "closed", "abandoned"]


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, with this drive's numbers already in the words.

    gate:   what it opens: `isolation` (a part of lock-out), `return` (guard, tools, people, locks), or nothing
    needs:  gates and steps that must be done first, by key
    hands_on: hands come near belts or sheaves: refused until isolation is confirmed
    reads:  kinds of reading it asks for
    """

    key: str
    title: str
    say: tuple[str, ...] = ()
    caution: str = ""
    gate: Literal["", "isolation", "return"] = ""
    hands_on: bool = False
    can_skip: bool = True
    needs: tuple[str, ...] = ()
    reads: tuple[str, ...] = ()
    reopens: tuple[str, ...] = ()
    source: str = "practice"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to a job: who, when, to which step, and why if it was skipped."""

    id: UUID
    job_id: UUID
    kind: EventKind
    step: str
    by: str
    at: datetime
    reason: str = ""
    values: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Job:
    """A job as opened: kind, drive, steps. What has been done of it are its events."""

    id: UUID
    drive_id: UUID
    kind: JobKind
    steps: tuple[Step, ...]
    opened_at: datetime
    opened_by: str
    reason: str = ""
    method: str = ""
