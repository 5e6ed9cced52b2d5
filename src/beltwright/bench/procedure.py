"""The order of work: the steps of a job, what has been done of it, and the rules that hold whatever the surface.

Steps are data (`steps.toml`); here are the rules, each said once:

- hands-on work only behind the isolation of its phase, confirmed step by step, and by someone whose own lock is on;
- nothing runs while a lock is on, nor before what may not be skipped has been done;
- a lock comes off last, after guard, tools and people, by its owner; hands near the belts again opens those again;
- whatever changes the centre distance opens alignment and hold-down bolts again;
- new belts: one complete matched set, all new, one make, confirmed;
- a step is skipped only with a reason and a name, and some cannot be skipped;
- a job ends only with guard, tools, people and locks confirmed.

Pure: a job and its events in, progress or `Refused` out. Events count in the order in which they were recorded.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, get_args

from beltwright.errors import InputError, Refused
from beltwright.plant.job import Event, Job, JobKind, Step

CENTRE_MOVED: Final = ("align", "bolts")


@dataclass(frozen=True, slots=True)
class Mark:
    """How one step stands: done, skipped or open, by whom, why."""

    step: Step
    state: str
    by: tuple[str, ...] = ()
    reason: str = ""
    reopened: bool = False


@dataclass(frozen=True, slots=True)
class Progress:
    """A job as it stands: each step's mark, whose locks are on, and what may be done next."""

    marks: tuple[Mark, ...]
    locks_of: Mapping[int, frozenset[str]]
    ended: str = ""

    @property
    def locks(self) -> frozenset[str]:
        """The people whose locks are on."""
        return frozenset().union(*self.locks_of.values())

    @property
    def open(self) -> tuple[Step, ...]:
        """Steps neither done nor skipped, in order."""
        return tuple(mark.step for mark in self.marks if mark.state == "open")

    @property
    def next(self) -> Step | None:
        """The step to do now."""
        return self.open[0] if self.open else None

    def mark(self, key: str) -> Mark:
        """How the step of that key stands."""
        return next(mark for mark in self.marks if mark.step.key == key)


@cache
def _book_of_steps() -> Mapping[str, Any]:
    return MappingProxyType(tomllib.loads((files(__package__) / "steps.toml").read_text(encoding="utf-8")))


def kinds() -> Mapping[str, str]:
    """The kinds of job and their titles."""
    return MappingProxyType({kind: words["title"] for kind, words in _book_of_steps()["kinds"].items()})


def steps_for(kind: JobKind, words: Mapping[str, str]) -> tuple[Step, ...]:
    """The steps of a job of that kind, with the drive's own figures (`words`, by figure key) put in.

    A figure that is not known yet is said to be so, in its place. `InputError` for a kind there is none of.
    """
    if kind not in get_args(JobKind):
        raise InputError(f"no job of kind {kind!r}: {', '.join(get_args(JobKind))}", accepted=get_args(JobKind))
    book = _book_of_steps()
    order = tuple(book["kinds"][kind]["steps"])
    return tuple(_step(entry, order, book["step"], words) for entry in order)


def _step(entry: str, order: tuple[str, ...], texts: Mapping[str, Mapping[str, Any]],
          words: Mapping[str, str]) -> Step:
    name, _, phase = entry.partition("@")
    text = dict(texts[name])
    suffix = f"@{phase}" if phase else ""
    for links in ("needs", "reopens"):
        text[links] = tuple(key for name in text.get(links, ()) if (key := f"{name}{suffix}") in order)
    text["say"] = tuple(_put_in(line, words) for line in text.get("say", ()))
    for plural in ("reads", "confirm"):
        text[plural] = tuple(text.get(plural, ()))
    return Step(key=entry, phase=int(phase or 1), **text)


def _put_in(line: str, words: Mapping[str, str]) -> str:
    return re.sub(r"\{(\w+)\}", lambda found: words.get(found[1]) or "(not known yet: see what to read)", line)


def progress(job: Job, events: Iterable[Event]) -> Progress:
    """How a job stands after its events, taken in the order recorded."""
    steps = {step.key: step for step in job.steps}
    done: dict[str, tuple[str, ...]] = {}
    skipped: dict[str, tuple[str, str]] = {}
    reopened: set[str] = set()
    locks: dict[int, set[str]] = {}
    ended = ""

    def open_again(keys: Iterable[str]) -> None:
        for key in keys:
            if key in done:
                del done[key]
                reopened.add(key)

    for event in events:
        step = steps.get(event.step)
        match event.kind:
            case "done" if step is not None:
                if step.gate == "isolation" and not locks.get(step.phase):
                    open_again(_isolation_anew(job, step, done))
                done[step.key] = (*(name for name in done.get(step.key, ()) if name != event.by), event.by)
                skipped.pop(step.key, None)
                reopened.discard(step.key)
                open_again(_opened_by(job, step))
                if _plain(step) == "lock":
                    locks.setdefault(step.phase, set()).add(event.by)
                elif step.gate == "unlock":
                    locks.setdefault(step.phase, set()).discard(event.by)
            case "skipped" if step is not None:
                skipped[step.key] = (event.by, event.reason)
            case "undone" if step is not None:
                done.pop(step.key, None)
                skipped.pop(step.key, None)
            case "centre moved":
                open_again(key for key in steps if key.partition("@")[0] in CENTRE_MOVED)
            case "closed" | "abandoned":
                ended = event.kind
    marks = tuple(_mark(step, done, skipped, reopened, locks) for step in job.steps)
    return Progress(marks, {phase: frozenset(names) for phase, names in locks.items()}, ended)


def _isolation_anew(job: Job, step: Step, done: Mapping[str, tuple[str, ...]]) -> set[str]:
    """Once the last lock of a phase was off, isolating again starts from nothing: every part, and the way back."""
    phase = [other for other in job.steps if other.phase == step.phase and other.gate]
    over = any(other.gate == "unlock" and other.key in done for other in phase)
    return {other.key for other in phase} if over else set()


def _opened_by(job: Job, step: Step) -> set[str]:
    """What must be done again once this step is done: what it names, and, after hands-on work, the way back."""
    again = set(step.reopens)
    if step.hands_on:
        again |= {other.key for other in job.steps if other.gate == "return" and other.phase == step.phase}
    return again


def _mark(step: Step, done: Mapping[str, tuple[str, ...]], skipped: Mapping[str, tuple[str, str]],
          reopened: set[str], locks: Mapping[int, set[str]]) -> Mark:
    if step.key in done and not (step.gate == "unlock" and locks.get(step.phase)):
        return Mark(step, "done", done[step.key])
    if step.key in skipped:
        by, reason = skipped[step.key]
        return Mark(step, "skipped", (by,), reason)
    return Mark(step, "open", done.get(step.key, ()), reopened=step.key in reopened)


def _plain(step: Step) -> str:
    return step.key.partition("@")[0]


def isolated(now: Progress, phase: int) -> bool:
    """Whether every part of the isolation of that phase is confirmed and its locks are on."""
    parts = [mark for mark in now.marks if mark.step.gate == "isolation" and mark.step.phase == phase]
    return bool(now.locks_of.get(phase)) and all(mark.state == "done" for mark in parts)


def may_touch(now: Progress, by: str) -> bool:
    """Whether this person's hands may come near the belts: the drive is isolated and their own lock is on."""
    return any(by in names and isolated(now, phase) for phase, names in now.locks_of.items())


def check(job: Job, events: Iterable[Event], event: Event) -> None:
    """Refuse an event that a rule of the trade stands against; the message says which and what to do first."""
    now = progress(job, events)
    if now.ended:
        raise Refused(f"this job is {now.ended}: open a new one")
    if not event.by.strip():
        raise Refused("a name is needed: every step is done by somebody")
    if event.kind in ("closed", "abandoned"):
        _check_end(now, event)
        return
    if event.kind in ("opened", "centre moved"):
        return
    step = next((step for step in job.steps if step.key == event.step), None)
    if step is None:
        raise Refused(f"this job has no step {event.step!r}")
    match event.kind:
        case "done":
            _check_done(now, step, event)
        case "skipped":
            _check_skip(now, step, event)
        case "undone":
            _check_undone(now, step, event)


def _check_done(now: Progress, step: Step, event: Event) -> None:
    missing = [now.mark(key).step for key in step.needs if now.mark(key).state == "open"]
    if missing:
        raise Refused(f"{step.title}: first do “{missing[0].title}”")
    unsaid = [words for words in step.confirm if words not in event.confirmed]
    if unsaid:
        raise Refused(f"{step.title}: confirm first: {', '.join(unsaid)}", accepted=unsaid)
    if step.gate == "isolation":
        _check_isolation(now, step)
    if step.hands_on:
        _check_hands_on(now, step, event.by)
    if step.running:
        _check_running(now, step)
    if step.gate == "unlock" and event.by not in now.locks_of.get(step.phase, ()):
        raise Refused(f"{step.title}: {event.by} has no lock on this job; each lock is removed by its owner")


def _check_isolation(now: Progress, step: Step) -> None:
    before = [mark.step for mark in now.marks if mark.step.gate == "unlock" and mark.step.phase < step.phase
              and mark.state != "done"]
    if before:
        raise Refused(f"{step.title}: first finish “{before[0].title}” of the isolation before")


def _check_hands_on(now: Progress, step: Step, by: str) -> None:
    if not isolated(now, step.phase):
        parts = [mark.step for mark in now.marks if mark.step.gate == "isolation" and mark.step.phase == step.phase
                 and mark.state != "done"]
        first = f"first do “{parts[0].title}”" if parts else "the locks are off: isolate it again from the stop on"
        raise Refused(f"{step.title}: hands stay away until the drive is isolated; {first}")
    if by not in now.locks_of[step.phase]:
        raise Refused(f"{step.title}: {by} has no lock on the drive; do “Lock out” under that name first")


def _check_running(now: Progress, step: Step) -> None:
    if now.locks:
        raise Refused(f"{step.title}: locks are still on ({', '.join(sorted(now.locks))})")
    for mark in now.marks:
        if mark.step.key == step.key:
            return
        if mark.state == "open" and not mark.step.can_skip:
            raise Refused(f"{step.title}: the drive may not run before “{mark.step.title}” is done")


def _check_skip(now: Progress, step: Step, event: Event) -> None:
    if not step.can_skip:
        raise Refused(f"{step.title}: this step cannot be skipped")
    if not event.reason.strip():
        raise Refused(f"{step.title}: a step is skipped only with a reason")
    if now.mark(step.key).state == "done":
        raise Refused(f"{step.title}: done already")


def _check_undone(now: Progress, step: Step, event: Event) -> None:
    if step.gate:
        raise Refused(f"{step.title}: a step of isolation or return is not taken back; finish the job or abandon it")
    if not event.reason.strip():
        raise Refused(f"{step.title}: say why it is taken back")
    if now.mark(step.key).state == "open":
        raise Refused(f"{step.title}: not done yet")


def _check_end(now: Progress, event: Event) -> None:
    if now.locks:
        raise Refused(f"locks are still on ({', '.join(sorted(now.locks))}): each is removed by its owner first")
    begun = {mark.step.phase for mark in now.marks if _plain(mark.step) == "lock" and mark.state == "done"}
    unsure = [mark.step for mark in now.marks if mark.step.gate in ("return", "unlock") and mark.state == "open"
              and (mark.step.phase in begun or event.kind == "closed")]
    if unsure:
        raise Refused(f"the job does not end before “{unsure[0].title}” is confirmed")
    if event.kind == "abandoned":
        if not event.reason.strip():
            raise Refused("say why the job is abandoned")
        return
    if now.open:
        raise Refused(f"not finished: “{now.open[0].title}” is neither done nor skipped with a reason")
