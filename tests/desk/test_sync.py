"""Notes handed in from phones: repeatable, answered one by one, gates in order, two phones on a job, a wrong clock."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.book.opening import create_book
from beltwright.book.store import Store
from beltwright.desk import jobs, sync
from beltwright.desk.survey import hand_in, rows_from
from beltwright.errors import BookFull, InputError
from beltwright.plant.identity import new_id
from beltwright.plant.settings import Settings
from tests.bench.drives import SOUND

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
EARLIER = NOW - timedelta(hours=2)


def reading(values: dict[str, str], *, kind: str = "force", by: str = "Ann", job: UUID | None = None,
            **more: Any) -> dict[str, Any]:
    return {"id": str(new_id()), "kind": "reading", "at": EARLIER.isoformat(), "by": by, "tag": "FAN-1",
            "kind_of": kind, "state": "as found", "values": values, "units": "si",
            "job": str(job) if job else None, **more}


def event(job: UUID, what: str, step: str = "", *, by: str = "Ann", **more: Any) -> dict[str, Any]:
    return {"id": str(new_id()), "kind": "event", "at": EARLIER.isoformat(), "by": by, "job": str(job), "what": what,
            "step": step, **more}


def handed_in(book: Store, facts: list[Any], *, sent_at: datetime = NOW, **more: Any) -> list[str]:
    handful = sync.understood({"sent_at": sent_at.isoformat(), "facts": facts})
    return [answer.became for answer in sync.hand_in(book, handful, now=NOW, **more).facts]


def isolation(job: UUID, by: str) -> list[dict[str, Any]]:
    return [event(job, "done", step, by=by) for step in ("tell", "stop", "lock", "tag", "stored", "try")]


def test_handed_in_twice_is_kept_once(book: Store) -> None:
    facts = [reading({"belt": "1", "force": "15"}), reading({"belt": "2", "force": "16 N"})]
    assert handed_in(book, facts) == ["kept", "kept"]
    assert handed_in(book, [*facts, facts[0]]) == ["known", "known", "known"]
    noted = book.readings(book.drive_by_tag("FAN-1").drive_id)
    assert [str(each.id) for each in noted] == [fact["id"] for fact in facts]
    assert noted[0].taken_at == EARLIER


def test_gates_are_asked_in_the_order_noted(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "re-tension", by="Pat", at=EARLIER).id
    force = reading({"belt": "1", "force": "15"}, job=job)
    early = handed_in(book, [force, *isolation(job, "Ann")])
    assert early == ["refused", *["kept"] * 6]
    assert handed_in(book, [force]) == ["kept"]
    again = sync.hand_in(book, sync.understood({"sent_at": NOW.isoformat(), "facts": [event(
        job, "done", "align")]}), now=NOW).facts[0]
    assert again.became == "kept"
    bolts = sync.hand_in(book, sync.understood({"sent_at": NOW.isoformat(), "facts": [
        reading({"move": "2"}, kind="motor move", job=job), event(job, "done", "bolts")]}), now=NOW).facts
    assert (bolts[0].became, bolts[1].became) == ("kept", "refused")
    assert "Align" in bolts[1].reason


def test_two_phones_on_one_job_merge(book: Store) -> None:
    job = jobs.open_job(book, "FAN-1", "re-tension", by="Pat", at=EARLIER).id
    ann, ben = isolation(job, "Ann"), [event(job, "done", "lock", by="Ben"), event(job, "done", "guard-off", by="Ben")]
    assert handed_in(book, ann) == ["kept"] * 6
    assert handed_in(book, ben) == ["kept", "kept"]
    assert handed_in(book, ann + ben) == ["known"] * 8
    assert jobs.standing(book, job).progress.locks == {"Ann", "Ben"}
    assert handed_in(book, [event(job, "closed", by="Ann")]) == ["refused"]


@pytest.mark.parametrize("wrong", [timedelta(hours=1), -timedelta(days=3), timedelta(days=400)])
def test_a_wrong_clock_is_said_and_put_right(book: Store, wrong: timedelta) -> None:
    fact = reading({"belt": "1", "force": "15"})
    fact["at"] = (EARLIER + wrong).isoformat()
    handful = sync.understood({"sent_at": (NOW + wrong).isoformat(), "facts": [fact]})
    answers = sync.hand_in(book, handful, now=NOW)
    assert answers.facts[0].became == "kept"
    assert "clock" in answers.clock
    kept = book.reading(UUID(fact["id"]))
    assert kept.taken_at == EARLIER
    assert kept.extra["phone_said"] == fact["at"]
    assert handed_in(book, [fact], sent_at=NOW) == ["known"]


def test_a_clock_that_lost_its_time_is_put_right_or_what_it_said_is_refused(book: Store) -> None:
    lost = datetime(1970, 1, 1, 3, tzinfo=UTC)
    first, second = reading({"belt": "1", "force": "15"}), reading({"belt": "2", "force": "15"})
    first["at"] = second["at"] = lost.isoformat()
    assert handed_in(book, [first], sent_at=lost + timedelta(minutes=5)) == ["kept"]
    assert book.reading(UUID(first["id"])).taken_at == NOW - timedelta(minutes=5)
    # the clock was set before the second was sent: when it was noted nobody knows
    handful = sync.understood({"sent_at": NOW.isoformat(), "facts": [first, second]})
    again, refused = sync.hand_in(book, handful, now=NOW).facts
    assert (again.became, refused.became) == ("known", "refused")
    assert "clock said 1970-01-01 03:00" in refused.reason


@pytest.mark.parametrize(("sent_at", "at"), [("0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z"),
                                             ("9999-12-31T23:59:59Z", "0001-01-01T00:00:00Z")])
def test_no_clock_breaks_it(book: Store, sent_at: str, at: str) -> None:
    handful = sync.understood({"sent_at": sent_at, "facts": [{**reading({"belt": "1", "force": "15"}), "at": at}]})
    assert sync.hand_in(book, handful, now=NOW).facts[0].became in ("kept", "refused")


def test_nothing_is_noted_in_the_future(book: Store) -> None:
    fact = reading({"belt": "1", "force": "15"})
    fact["at"] = (NOW + timedelta(hours=5)).isoformat()
    assert handed_in(book, [fact]) == ["kept"]
    assert book.reading(UUID(fact["id"])).taken_at == NOW


def test_what_another_noted_waits_for_them(book: Store) -> None:
    facts = [reading({"belt": "1", "force": "15"}, by="Ann"), reading({"belt": "2", "force": "15"}, by="Ben")]
    assert handed_in(book, facts, only_by="Ann") == ["kept", "later"]
    assert handed_in(book, facts, only_by="Ben") == ["later", "kept"]
    assert handed_in(book, facts, only_by="Ann") == ["known", "later"]


def test_a_photo_has_to_come_before_its_reading(book: Store) -> None:
    fact = reading({"belt": "1", "force": "15"}, files=["ab" * 32 + ".jpg"])
    assert handed_in(book, [fact]) == ["later"]
    assert handed_in(book, [fact, reading({"belt": "2", "force": "15"}, by="Ben")]) == ["later", "kept"]
    assert handed_in(book, [fact], has_file=lambda _: True) == ["kept"]
    assert book.reading(UUID(fact["id"])).extra["files"] == fact["files"][0]


def test_what_is_refused_says_which_value(book: Store) -> None:
    handful = sync.understood({"sent_at": NOW.isoformat(), "facts": [reading({"belt": "1", "force": "1,500"})]})
    answer = sync.hand_in(book, handful, now=NOW).facts[0]
    assert answer.became == "refused"
    assert [(cell.column, cell.typed) for cell in answer.cells] == [("force", "1,500")]


def test_what_is_refused_says_what_would_be_accepted(book: Store) -> None:
    handful = sync.understood({"sent_at": NOW.isoformat(), "facts": [
        reading({"belt": "1", "force": "15"}, kind="fource"), {**reading({}), "kind": "wish"}]})
    answers = sync.hand_in(book, handful, now=NOW).facts
    assert [answer.became for answer in answers] == ["refused", "refused"]
    assert "force" in answers[0].accepted
    assert answers[1].accepted == ("reading", "event", "clip")


def test_another_fact_under_a_known_mark_is_refused(book: Store) -> None:
    fact = reading({"belt": "1", "force": "15"})
    assert handed_in(book, [fact, {**fact, "values": {"belt": "1", "force": "99"}}]) == ["kept", "refused"]


def test_a_full_disk_keeps_nothing_and_acknowledges_nothing(book: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    facts = [reading({"belt": "1", "force": "15"}), reading({"belt": "2", "force": "15"})]
    note, asked = book.note, []

    def full(each: Any) -> bool:
        asked.append(each)
        if len(asked) == 2:
            raise BookFull("no room")
        return note(each)

    monkeypatch.setattr(book, "note", full)
    with pytest.raises(BookFull):
        handed_in(book, facts)
    assert not book.readings(book.drive_by_tag("FAN-1").drive_id)


_ANYTHING = st.recursive(st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
                         lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner,
                                                                                     max_size=4), max_leaves=12)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Any:
    with create_book(tmp_path_factory.mktemp("sync") / "plant.book", Settings("Test plant"), by="Ann") as store:
        hand_in(store, rows_from([SOUND]), by="Ann", at=EARLIER)
        yield store


@settings(max_examples=150)
@given(name=st.sampled_from(["id", "kind", "at", "by", "tag", "kind_of", "state", "values", "units", "job", "words",
                             "files", "what", "step", "confirmed", "reason"]), value=_ANYTHING, as_event=st.booleans())
def test_whatever_comes_is_answered(shared: Store, name: str, value: Any, as_event: bool) -> None:
    fact = event(new_id(), "done", "lock") if as_event else reading({"belt": "1", "force": "15"})
    answers = handed_in(shared, [{**fact, name: value}, value])
    assert set(answers) <= {"kept", "known", "refused", "later"}


def test_half_a_sign_is_refused_before_it_reaches_the_book(shared: Store) -> None:
    half = json.loads('"\\ud800"')
    assert handed_in(shared, [reading({"belt": "1", "force": "15"}, words=half), reading({half: "1"}),
                              {**reading({"belt": "1", "force": "15"}), "by": half},
                              reading({"belt": "1", "force": "15"}, files=[half])]) == ["refused"] * 4


@given(st.data())
def test_a_cut_body_is_no_handful(data: st.DataObject) -> None:
    body = json.dumps({"sent_at": NOW.isoformat(), "facts": [reading({"belt": "1", "force": "15"})]})
    cut = body[:data.draw(st.integers(0, len(body) - 1))]
    with pytest.raises((ValueError, InputError)):
        sync.understood(json.loads(cut))
