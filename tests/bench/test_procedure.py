"""The rules over every job hold for every sequence of steps, held against a plain model that only reads the history."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from beltwright.bench import procedure
from beltwright.errors import InputError, Refused
from beltwright.plant.identity import new_id, now
from beltwright.plant.job import Event, EventKind, Job, JobKind, Step

KINDS = get_args(JobKind)
PEOPLE = ("Ann", "Bo")
ISOLATION = ("stop", "lock", "tag", "stored", "try")
RETURN = ("guard-on", "tools", "people")
MOVES_CENTRE = ("slack-off", "tighten", "set-tension", "set-new", "move-sheaves")


def a_job(kind: JobKind) -> Job:
    return Job(new_id(), new_id(), kind, procedure.steps_for(kind, {}), now(), "Ann")


def an_event(job: Job, kind: EventKind, step: str = "", by: str = "Ann", reason: str = "",
             confirmed: tuple[str, ...] = ()) -> Event:
    return Event(new_id(), job.id, kind, step, by, now(), reason, confirmed)


class Log:
    """The plain model: it knows only the accepted history, as a list, and reads it backwards."""

    def __init__(self) -> None:
        self.seen: list[Event] = []

    def last(self, key: str, by: str | None = None) -> int:
        return max((at for at, event in enumerate(self.seen) if event.kind == "done" and event.step == key
                    and by in (None, event.by)), default=-1)

    def lock_is_on(self, by: str, suffix: str) -> bool:
        return self.last(f"lock{suffix}", by) > self.last(f"locks-off{suffix}", by)

    def anyone_locked(self, suffix: str) -> bool:
        return any(self.lock_is_on(by, suffix) for by in PEOPLE)

    def last_all_off(self, suffix: str) -> int:
        """The last time the last lock of this phase came off."""
        on: set[str] = set()
        off_at = -1
        for at, event in enumerate(self.seen):
            if event.kind == "done" and event.step == f"lock{suffix}":
                on.add(event.by)
            if event.kind == "done" and event.step == f"locks-off{suffix}":
                on.discard(event.by)
                if not on:
                    off_at = at
        return off_at


def suffix_of(step: Step) -> str:
    return f"@{step.phase}" if step.phase > 1 else ""


class Jobs(RuleBasedStateMachine):
    """Two people do, skip, take back and end steps of one job in any order they like."""

    @initialize(kind=st.sampled_from(KINDS))
    def open(self, kind: JobKind) -> None:
        self.job = a_job(kind)
        self.log = Log()

    def try_it(self, event: Event) -> bool:
        try:
            procedure.check(self.job, self.log.seen, event)
        except Refused:
            return False
        self.log.seen.append(event)
        return True

    @property
    def ended(self) -> bool:
        return any(event.kind in ("closed", "abandoned") for event in self.log.seen)

    @precondition(lambda self: not self.ended)
    @rule(pick=st.integers(0, 60), by=st.sampled_from(PEOPLE), confirm=st.booleans())
    def do_any(self, pick: int, by: str, confirm: bool) -> None:
        step = self.job.steps[pick % len(self.job.steps)]
        self.do(step, by, step.confirm if confirm else ())

    @precondition(lambda self: not self.ended)
    @rule(by=st.sampled_from(PEOPLE), times=st.integers(1, 12))
    def go_on(self, by: str, times: int) -> None:
        for _ in range(times):
            step = procedure.progress(self.job, self.log.seen).next
            if step is not None:
                self.do(step, by, step.confirm)

    def do(self, step: Step, by: str, confirmed: tuple[str, ...]) -> None:
        before = Log()
        before.seen = list(self.log.seen)
        if not self.try_it(an_event(self.job, "done", step.key, by, confirmed=confirmed)):
            return
        suffix = suffix_of(step)
        assert set(step.confirm) <= set(confirmed)
        if step.hands_on:
            assert before.lock_is_on(by, suffix), "hands on a drive without an own lock"
            for part in ISOLATION:
                assert before.last(f"{part}{suffix}") > before.last_all_off(suffix), f"hands on before {part}"
        if step.running:
            assert not any(before.anyone_locked(phase) for phase in ("", "@2")), "started with a lock on"
        if step.gate == "unlock":
            assert before.lock_is_on(by, suffix), "a lock taken off by somebody else"
            hands = max((before.last(other.key) for other in self.job.steps
                         if other.hands_on and other.phase == step.phase), default=-1)
            for part in RETURN:
                assert before.last(f"{part}{suffix}") > hands, f"locks off before {part}"
        if step.key == "belts-on":
            assert before.last("new-set") >= 0, "belts on that nobody checked"

    @precondition(lambda self: not self.ended)
    @rule(pick=st.integers(0, 60), by=st.sampled_from((*PEOPLE, " ")), reason=st.sampled_from(("", "  ", "no gauge")))
    def skip(self, pick: int, by: str, reason: str) -> None:
        step = self.job.steps[pick % len(self.job.steps)]
        if self.try_it(an_event(self.job, "skipped", step.key, by, reason)):
            assert reason.strip()
            assert by.strip()
            assert step.gate == ""
            assert step.can_skip

    @precondition(lambda self: not self.ended)
    @rule(pick=st.integers(0, 60), reason=st.sampled_from(("", "wrong drive")))
    def take_back(self, pick: int, reason: str) -> None:
        step = self.job.steps[pick % len(self.job.steps)]
        if self.try_it(an_event(self.job, "undone", step.key, "Ann", reason)):
            assert reason
            assert not step.gate

    @precondition(lambda self: not self.ended)
    @rule()
    def centre_moved(self) -> None:
        assert self.try_it(an_event(self.job, "centre moved"))

    @precondition(lambda self: not self.ended)
    @rule(kind=st.sampled_from(("closed", "abandoned")), reason=st.sampled_from(("", "wrong belts in store")))
    def end(self, kind: EventKind, reason: str) -> None:
        if not self.try_it(an_event(self.job, kind, "", "Ann", reason)):
            return
        log = self.log
        for suffix in ("", "@2"):
            assert not log.anyone_locked(suffix)
            if log.last(f"lock{suffix}") >= 0:
                hands = max((log.last(step.key) for step in self.job.steps if step.hands_on
                             and suffix_of(step) == suffix), default=-1)
                for part in RETURN:
                    assert log.last(f"{part}{suffix}") > hands
        if kind == "abandoned":
            assert reason
            return
        moved = max((at for at, event in enumerate(log.seen) if event.kind == "centre moved"
                     or (event.kind == "done" and event.step.partition("@")[0] in MOVES_CENTRE)), default=-1)
        last_of = {step.key.partition("@")[0]: step.key for step in self.job.steps}
        for key in ("align", "bolts"):
            if key in last_of:
                assert log.last(last_of[key]) > moved, f"closed with {key} not done since the centre was changed"
        for step in self.job.steps:
            assert step.can_skip or log.last(step.key) >= 0, f"closed without {step.key}"

    @precondition(lambda self: self.ended)
    @rule(kind=st.sampled_from(get_args(EventKind)), pick=st.integers(0, 60))
    def too_late(self, kind: EventKind, pick: int) -> None:
        step = self.job.steps[pick % len(self.job.steps)]
        assert not self.try_it(an_event(self.job, kind, step.key, "Ann", "late", step.confirm))

    @invariant()
    def nothing_after_the_end(self) -> None:
        kinds = [event.kind for event in self.log.seen]
        assert not any(kind in ("closed", "abandoned") for kind in kinds[:-1])

    def teardown(self) -> None:
        """Whatever was done, the job can still be finished by following its open steps."""
        if not hasattr(self, "job") or self.ended:
            return
        for _ in range(300):
            now_at = procedure.progress(self.job, self.log.seen)
            step = now_at.next
            if step is None:
                break
            owners = sorted(now_at.locks_of.get(step.phase, ()))
            if step.hands_on and not procedure.isolated(now_at, step.phase):
                for part in ISOLATION:
                    self.do(now_at.mark(f"{part}{suffix_of(step)}").step, "Ann", ())
                owners = ["Ann"]
            if step.running:
                for phase, names in now_at.locks_of.items():
                    for name in names:
                        for part in (*RETURN, "locks-off"):
                            self.do(now_at.mark(f"{part}{f'@{phase}' if phase > 1 else ''}").step, name, ())
            self.do(step, owners[0] if owners else "Ann", step.confirm)
        assert self.try_it(an_event(self.job, "closed")), procedure.progress(self.job, self.log.seen).open


Jobs.TestCase.settings = settings(max_examples=150, stateful_step_count=50, deadline=None)
TestEverySequence = Jobs.TestCase


@pytest.mark.parametrize("kind", KINDS)
def test_a_job_done_in_order_closes(kind: JobKind) -> None:
    job = a_job(kind)
    events: list[Event] = []
    for step in job.steps:
        event = an_event(job, "done", step.key, confirmed=step.confirm)
        procedure.check(job, events, event)
        events.append(event)
    procedure.check(job, events, an_event(job, "closed"))


def test_figures_stand_in_the_words_and_a_missing_one_is_said_to_be_missing() -> None:
    steps = {step.key: step for step in procedure.steps_for("re-tension", {"deflection": "9.6 mm"})}
    assert "press until 9.6 mm" in steps["set-tension"].say[0]
    assert "not known yet" in steps["set-tension"].say[1]


def test_an_unknown_kind_is_refused_with_those_there_are() -> None:
    with pytest.raises(InputError, match="re-belt"):
        procedure.steps_for("polish", {})  # type: ignore[arg-type]


@pytest.mark.parametrize(("until", "key", "says"), [
    ("tell", "guard-off", "hands stay away"),
    ("try", "locks-off", "first do “Guard cleaned and back on”"),
    ("left-bolts", "start", "locks are still on"),
])
def test_a_refusal_says_what_to_do_first(until: str, key: str, says: str) -> None:
    job = a_job("inspect")
    events: list[Event] = []
    for step in job.steps:
        events.append(an_event(job, "done", step.key))
        if step.key == until:
            break
    with pytest.raises(Refused, match=says):
        procedure.check(job, events, an_event(job, "done", key))


def test_hands_need_an_own_lock() -> None:
    job = a_job("inspect")
    events = [an_event(job, "done", key) for key in ISOLATION]
    with pytest.raises(Refused, match="Bo has no lock"):
        procedure.check(job, events, an_event(job, "done", "guard-off", "Bo"))
