"""A job at a drive: its steps as made for that drive, and the events noted while doing it. Facts are only added."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal
from uuid import UUID

JobKind = Literal["inspect", "re-tension", "re-belt", "change sheave", "align", "lay up", "bring back"]
EventKind = Literal["opened", "done", "skipped", "undone", "centre moved", "closed", "abandoned"]
# isolation: a part of lock-out; return: guard, tools, people, locks; unlock: the return step that ends the isolation
Gate = Literal["", "isolation", "return", "unlock"]


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, with this drive's numbers already in the words.

    phase:    which isolation it belongs to; a job that runs new belts in is isolated twice
    hands_on: hands come near belts or sheaves: refused until that phase's isolation is confirmed
    running:  the drive turns: refused until that phase's return is confirmed
    confirm:  what the person must confirm, one by one, before the step counts as done
    needs:    steps that must be done before, by key
    reopens:  steps that must be done again once this one is done
    reads:    kinds of reading it asks for; state: how such a reading is marked
    """

    key: str
    title: str
    say: tuple[str, ...] = ()
    caution: str = ""
    phase: int = 1
    gate: Gate = ""
    hands_on: bool = False
    running: bool = False
    can_skip: bool = True
    confirm: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    reopens: tuple[str, ...] = ()
    reads: tuple[str, ...] = ()
    state: str = ""
    source: str = "practice"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to a job: who, when, to which step, what was confirmed, and why if it was skipped."""

    id: UUID
    job_id: UUID
    kind: EventKind
    step: str
    by: str
    at: datetime
    reason: str = ""
    confirmed: tuple[str, ...] = ()
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
