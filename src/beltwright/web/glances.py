"""The plant at a glance, kept in memory and in step with a book.

Judging ten thousand drives takes longer than anybody waits for a page. So each drive is judged once, in a thread of
its own (a whole plant in a process of its own, `judging`), and again only when something was fitted or noted, or time
has brought something; a page shows what is judged by then and says how many are to come. What this server writes itself
is known at once: until a drive is judged again, no page shows how it stood before. What others write is found by asking
the book for its mark, so that a page of a plant where nothing changed costs no question about drives.
"""

from __future__ import annotations

import itertools
import threading
import time
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Final
from uuid import UUID

from beltwright.bench.findings.finding import Finding
from beltwright.bench.findings.judge import Record, judge_many
from beltwright.bench.findings.noted import Choices
from beltwright.book.store import Store
from beltwright.desk.judge import choices
from beltwright.desk.standing import standing
from beltwright.errors import Unknown
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import now
from beltwright.web.glance import Glance, Overview, glance

# how long a page waits for a few drives that are being judged [s]
PATIENCE: Final = 0.4
# how long the thread gathers what is written to, while nobody looks [s]
_GATHER: Final = 1.0
# then it judges so many drives, and rests so many times as long as that took
_AT_ONCE: Final = 4
_REST: Final = 8.0
# so many are a few; more are judged in a process of their own
FEW: Final = 256
# between two drives, so that pages go first [s]
_BREATH: Final = 0.0005
# drives judged together
TOGETHER: Final = 64
# looking for what is new takes this share of the thread's time at most
_SHARE: Final = 0.1
# while a plant is being judged the list of it is made anew so often at most [s]
_NOW_AND_THEN: Final = 1.0
# what time changes within the day is looked at again after this
SOON: Final = timedelta(minutes=10)
_NEVER: Final = datetime.max.replace(tzinfo=UTC)

# what a glance was made of: make-up, facts on record, day and choices of the plant; other ones make another glance
Made = tuple[UUID, int, str]


@dataclass(frozen=True, slots=True)
class Judged:
    """A drive judged: from what, until when that is right, and its line."""

    made: Made
    until: datetime
    glance: Glance


# judges many drives elsewhere, and hands them over as they are judged; first, it may, as they are listed
Elsewhere = Callable[[Sequence[tuple[UUID, Made]]], Iterator[Sequence[Judged]]]


class Glances:
    """The plant at a glance, in step with a book."""

    def __init__(self, book: Store, elsewhere: Elsewhere | None = None) -> None:
        self._book = book
        self._elsewhere = elsewhere
        self._turn = threading.Lock()
        self._seen = ""
        self._asked = 0
        self._known: dict[UUID, Judged] = {}
        self._touched: dict[UUID, int] = {}
        self._left = 0
        self._next = _NEVER
        self._overview: Overview | None = None
        self._out_of_date = True
        self._made_at = 0.0
        self._serial = itertools.count(1)
        self._settled = threading.Event()
        self._wake = threading.Event()
        self._hurry = threading.Event()
        self._closed = threading.Event()
        self._work: threading.Thread | None = None
        book.tell(self.touch)

    def look(self) -> Overview:
        """The plant now, as far as it is judged; a few drives that are being judged are waited for a moment."""
        self.keep_up()
        if 0 < self._to_come() <= FEW:
            self._hurry.set()
            self._settled.wait(PATIENCE)
        with self._turn:
            made_now = self._overview
            if made_now is None or (self._out_of_date and (
                    self._left <= FEW or time.monotonic() - self._made_at > _NOW_AND_THEN)):
                made_now = self._overview = self._list()
            return made_now

    def at_hand(self) -> Overview | None:
        """The plant now, where that takes no waiting: nothing while a drive is being judged."""
        self.keep_up()
        with self._turn:
            return None if self._out_of_date or self._to_come() else self._overview

    def keep_up(self) -> None:
        """See whether the book or the day has changed; what is new is judged by the thread."""
        moment = now()
        mark = f"{self._book.mark()} {moment:%Y-%m-%d}"
        with self._turn:
            if self._closed.is_set() or (mark == self._seen and moment < self._next):
                return
            first, self._seen, self._next = not self._seen, mark, _NEVER
            if first:
                self._left = len(self._book.fitted_now())
                self._settled.clear()
            self._go_on()

    def touch(self, drive_ids: Collection[UUID]) -> None:
        """A fact of these drives was just written: nobody is shown any more how they stood before."""
        with self._turn:
            if self._closed.is_set():
                return
            for drive_id in drive_ids:
                self._touched[drive_id] = self._touched.get(drive_id, 0) + 1
                if (judged := self._known.get(drive_id)) is not None:
                    line = replace(judged.glance, stands=None, reasons=(), needs_a_hand=False)
                    self._known[drive_id] = replace(judged, glance=line)
            self._out_of_date = True
            self._settled.clear()
            self._wake.set()
            self._go_on()

    def judge_again(self, drive_id: UUID) -> None:
        """Judge one drive now."""
        self.touch([drive_id])
        self._judge_touched()

    def close(self) -> None:
        """Judge no more."""
        self._closed.set()
        self._wake.set()
        self._hurry.set()
        if self._work is not None:
            self._work.join()

    def _to_come(self) -> int:
        return self._left + len(self._touched)

    def _list(self) -> Overview:
        drives = tuple(sorted((judged.glance for judged in self._known.values()), key=lambda one: one.order))
        counts = Counter(one.stands for one in drives if one.stands is not None)
        self._out_of_date, self._made_at = False, time.monotonic()
        return Overview(drives, counts, self._to_come(), next(self._serial))

    def _go_on(self) -> None:
        self._asked += 1
        if self._work is None:
            self._work = threading.Thread(target=self._keep_judging, name="glances", daemon=True)
            self._work.start()

    # the thread

    def _keep_judging(self) -> None:
        done = 0
        while not self._closed.is_set():
            with self._turn:
                if done == self._asked:
                    self._work = None
                    return
                done = self._asked
            self._judge_few_by_few()
            began = time.monotonic()
            stale = self._stale()
            searched = time.monotonic() - began
            for some in self._in_batches(stale):
                if self._closed.is_set():
                    return
                self._keep(some)
                self._judge_touched()
            with self._turn:
                self._left = 0
                self._next = min((judged.until for judged in self._known.values()), default=_NEVER)
                self._out_of_date = True
                self._settle()
            self._rest(searched / _SHARE)

    def _rest(self, seconds: float) -> None:
        """Search no more for a while; what was touched meanwhile is judged all the same."""
        until = time.monotonic() + seconds
        while not self._closed.is_set() and (left := until - time.monotonic()) > 0:
            if self._wake.wait(left):
                self._wake.clear()
                if not self._closed.is_set():
                    self._hurry.wait(_GATHER)
                self._judge_few_by_few()

    def _judge_few_by_few(self) -> None:
        """What was touched, a few drives at a time with a rest after each: whoever notes one reading after the other is
        not held up by what is said of the ones before. Somebody who waits for it gets all at once."""
        while self._touched and not self._closed.is_set():
            began, hurried = time.monotonic(), self._hurry.is_set()
            self._hurry.clear()
            self._judge_touched(None if hurried else _AT_ONCE)
            self._hurry.wait(_REST * (time.monotonic() - began))

    def _settle(self) -> None:
        if not self._to_come():
            self._settled.set()

    def _stale(self) -> list[tuple[UUID, Made]]:
        """The drives to be judged, those never judged first; drives gone from the book are forgotten."""
        moment, kind = now(), self._kind()
        with self._book.looking():
            fitted, noted = self._book.fitted_now(), self._book.noted_now()
        with self._turn:
            for gone in self._known.keys() - fitted.keys():
                del self._known[gone]
                self._out_of_date = True
            stale = []
            for drive_id, make_up_id in fitted.items():
                made, known = (make_up_id, noted.get(drive_id, 0), kind), self._known.get(drive_id)
                if known is None or known.made != made or known.until <= moment:
                    stale.append((drive_id, made))
            self._left = len(stale)
        return sorted(stale, key=lambda pair: pair[0] in self._known)

    def _in_batches(self, stale: Sequence[tuple[UUID, Made]]) -> Iterator[Sequence[Judged]]:
        rest = stale
        if self._elsewhere is not None and len(stale) > FEW:
            yield from self._elsewhere(stale)
            with self._turn:   # whatever came to nothing there is judged here
                rest = [(drive_id, made) for drive_id, made in stale
                        if drive_id not in self._known or self._known[drive_id].glance.stands is None]
        chosen = choices(self._book.settings())
        for start in range(0, len(rest), TOGETHER):
            some = rest[start:start + TOGETHER]
            records = [record_at(self._book, drive_id) for drive_id, _ in some]
            for (_, made), each in zip(some, judged_with(records, chosen), strict=True):
                yield [judged(made, *each)]
                time.sleep(_BREATH)

    def _judge_touched(self, most: int | None = None) -> None:
        with self._turn:
            touched = dict(itertools.islice(self._touched.items(), most))
        if not touched:
            return
        kind, chosen = self._kind(), choices(self._book.settings())
        records, facts = [], []
        for drive_id in touched:
            with suppress(Unknown), self._book.looking():   # gone since
                record = record_at(self._book, drive_id)
                if found := self._book.facts_of(record.make_ups[-1].drive.tag):
                    records.append(record)
                    facts.append((record.make_ups[-1].id, found[2], kind))
        self._keep([judged(made, *each) for made, each in zip(facts, judged_with(records, chosen), strict=True)],
                   touched=True)
        with self._turn:
            for drive_id, times in touched.items():
                if self._touched.get(drive_id) == times:
                    del self._touched[drive_id]
            self._out_of_date = True
            self._settle()

    def _kind(self) -> str:
        """The day and the plant's choices, by which findings are made."""
        return f"{now():%Y-%m-%d} {hash(repr(choices(self._book.settings())))}"

    def _keep(self, some: Sequence[Judged], *, touched: bool = False) -> None:
        """touched: these are judged because they were written to, and are not among those that are left."""
        with self._turn:
            for each in some:
                drive_id = each.glance.drive_id
                known = self._known.get(drive_id)
                if each.glance.stands is not None and not touched:
                    self._left = max(0, self._left - 1)
                # what was judged elsewhere may be from before a note that was judged here, or is about to be
                if not touched and (drive_id in self._touched or (known is not None and known.made[1] > each.made[1])):
                    continue
                self._known[drive_id] = each
                if each.glance.stands is not None:
                    self._next = min(self._next, each.until)
            self._out_of_date = True


def record_at(book: Store, drive_id: UUID) -> Record:
    """What is on record of a drive."""
    with book.looking():
        return Record(book.make_ups(drive_id), book.readings(drive_id),
                      [(job, book.events(job.id)) for job in book.jobs(drive_id)])


def judged_with(records: Sequence[Record], chosen: Choices) -> Iterator[tuple[MakeUp, tuple[Finding, ...], datetime]]:
    """Each drive with its findings now, and the moment until which they hold.

    Findings follow time one way: what is found now and at the end of the day is found all day. Hours that run on in a
    statement make it no other one.
    """
    moment = now()
    midnight = moment.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
    later = judge_many(records, now=midnight - timedelta(microseconds=1), choices=chosen)
    for record, (make_up, found), (_, then) in zip(records, judge_many(records, now=moment, choices=chosen), later,
                                                   strict=True):
        ahead = make_up.since > moment or any(reading.taken_at > moment for reading in record.readings[-1:])
        yield make_up, found, moment + SOON if ahead or _held(found) != _held(then) else midnight


def _held(found: Sequence[Finding]) -> list[Finding]:
    """Findings without the running time that stands in them."""
    return [replace(one, statement=replace(one.statement, puts={
        name: put for name, put in one.statement.puts.items() if put.kind != "time"})) for one in found]


def judged(made: Made, make_up: MakeUp, found: Sequence[Finding], until: datetime) -> Judged:
    """The line of a drive with these findings."""
    return Judged(made, until, glance(make_up, standing(make_up.drive, found)))
