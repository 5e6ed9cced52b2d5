"""The plant at a glance, kept in memory: every drive in a line, how it stands and why, and how to find it.

Judging ten thousand drives takes longer than anybody waits for a page. So each drive is judged once, in a thread of
its own, and again only when something was fitted or noted, or the day is another; a page shows what is judged by then
and says how many are to come. The book is asked for its mark first, so that a page of a plant where nothing changed
costs no question about drives.
"""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import Final
from uuid import UUID

from beltwright.bench.findings.finding import Finding
from beltwright.bench.findings.judge import Record, judge_many
from beltwright.book.store import Store
from beltwright.desk.judge import choices
from beltwright.desk.standing import ORDER, Reason, Standing, Stands, standing
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import loose, now

# how long a page waits for a plant that is being judged for the first time [s]
PATIENCE: Final = 0.4
# between two drives, so that pages go first [s]
_BREATH: Final = 0.0005
# drives judged together
_TOGETHER: Final = 64
# looking for what is new takes this share of the thread's time at most
_SHARE: Final = 0.1


@dataclass(frozen=True, slots=True)
class Glance:
    """A drive in a line."""

    drive_id: UUID
    tag: str
    name: str
    place: str
    belts: str
    sought: str
    stands: Stands | None = None
    reasons: tuple[Reason, ...] = ()
    needs_a_hand: bool = False


@dataclass(frozen=True, eq=False)
class Overview:
    """The drives in order of place and tag; by how they stand, how many; how many are still to be judged.

    The same plant is the same object, which is how a filled page is known to be still right.
    """

    drives: tuple[Glance, ...]
    counts: Mapping[Stands, int]
    to_come: int

    @cached_property
    def tags(self) -> Mapping[str, str]:
        """Each tag, by the same as people remember it."""
        return {loose(glance.tag): glance.tag for glance in self.drives}

    def first_hands(self) -> tuple[Glance, ...]:
        """The drives that need a hand, the most urgent first."""
        return tuple(sorted((glance for glance in self.drives if glance.needs_a_hand), key=_urgency))

    def seek(self, text: str) -> tuple[Glance, ...]:
        """The drives with every word of the text in tag, name, place or belt marking; the tag itself comes first."""
        words, whole = text.casefold().split(), loose(text)
        found = [glance for glance in self.drives if all(word in glance.sought for word in words)
                 or (whole and whole in glance.sought)]
        return tuple(sorted(found, key=lambda glance: _nearness(glance, whole)))

    def at(self, place: str) -> tuple[Glance, ...]:
        """The drives at a place or below it: `Drying` holds `Drying / Line 1`."""
        return tuple(glance for glance in self.drives
                     if glance.place == place or glance.place.startswith(f"{place} /"))

    def places(self) -> tuple[tuple[str, tuple[Glance, ...]], ...]:
        """The drives by place."""
        return tuple((place, tuple(some)) for place, some in groupby(self.drives, lambda glance: glance.place))


# what a glance was made of: make-up, facts on record, day and choices of the plant; other ones make another glance
_Made = tuple[UUID, int, str]


class Glances:
    """The plant at a glance, in step with a book."""

    def __init__(self, book: Store) -> None:
        self._book = book
        self._turn = threading.Lock()
        self._seen = ""
        self._known: dict[UUID, tuple[_Made, Glance]] = {}
        self._to_come = 0
        self._overview: Overview | None = None
        self._settled = threading.Event()
        self._work: threading.Thread | None = None
        self._closed = threading.Event()

    def look(self) -> Overview:
        """The plant now, as far as it is judged; a plant that is judged for the first time is waited for a moment."""
        self.keep_up()
        if self._to_come:
            self._settled.wait(PATIENCE)
        with self._turn:
            if self._overview is None:
                drives = tuple(sorted((glance for _, glance in self._known.values()), key=_in_order))
                counts = Counter(glance.stands for glance in drives if glance.stands is not None)
                self._overview = Overview(drives, counts, self._to_come)
            return self._overview

    def keep_up(self) -> None:
        """See whether the book or the day has changed; what is new is judged by the thread."""
        mark = f"{self._book.mark()} {now():%Y-%m-%d}"
        with self._turn:
            if mark == self._seen or self._closed.is_set():
                return
            first, self._seen = not self._seen, mark
            if first:
                self._to_come = len(self._book.fitted_now())
            self._settled.clear()
            if self._work is None:
                self._work = threading.Thread(target=self._keep_judging, name="glances", daemon=True)
                self._work.start()

    def judge_again(self, drive_id: UUID) -> None:
        """Judge one drive now: who noted something sees what follows from it on the next page."""
        made = (self._book.drive(drive_id).id, -1, "")   # the thread will look at it again, and find the same
        for _, _, make_up, found in self._judged([(drive_id, made)]):
            self._keep(drive_id, made, make_up, found)

    def close(self) -> None:
        """Judge no more."""
        self._closed.set()
        if self._work is not None:
            self._work.join()

    # the thread

    def _keep_judging(self) -> None:
        judged_by = ""
        while not self._closed.is_set():
            with self._turn:
                if judged_by == self._seen:
                    self._work = None
                    self._settled.set()
                    return
                judged_by = self._seen
            began = time.monotonic()
            stale = self._stale()
            searched = time.monotonic() - began
            for drive_id, made, make_up, found in self._judged(stale):
                if self._closed.is_set():
                    return
                self._keep(drive_id, made, make_up, found)
                time.sleep(_BREATH)
            with self._turn:
                self._to_come = 0
                self._overview = None
                self._settled.set()
            self._closed.wait(searched / _SHARE)

    def _stale(self) -> list[tuple[UUID, _Made]]:
        """The drives to be judged, those never judged first; drives gone from the book are forgotten."""
        kind = self._kind()
        with self._book.looking():
            fitted, noted = self._book.fitted_now(), self._book.noted_now()
        with self._turn:
            for gone in self._known.keys() - fitted.keys():
                del self._known[gone]
                self._overview = None
            wanted = [(drive_id, (make_up_id, noted.get(drive_id, 0), kind)) for drive_id, make_up_id in fitted.items()]
            stale = [(drive_id, made) for drive_id, made in wanted
                     if drive_id not in self._known or self._known[drive_id][0] != made]
            self._to_come = sum(drive_id not in self._known for drive_id, _ in stale)
        return sorted(stale, key=lambda pair: pair[0] in self._known)

    def _judged(self, stale: Sequence[tuple[UUID, _Made]]) -> Iterator[
            tuple[UUID, _Made, MakeUp, tuple[Finding, ...]]]:
        chosen = choices(self._book.settings())
        for start in range(0, len(stale), _TOGETHER):
            some = stale[start:start + _TOGETHER]
            records = [self._record(drive_id) for drive_id, _ in some]
            for (drive_id, made), (make_up, found) in zip(
                    some, judge_many(records, now=now(), choices=chosen), strict=True):
                yield drive_id, made, make_up, found

    def _kind(self) -> str:
        """The day and the plant's choices, by which findings are made."""
        return f"{now():%Y-%m-%d} {hash(repr(choices(self._book.settings())))}"

    def _record(self, drive_id: UUID) -> Record:
        with self._book.looking():
            return Record(self._book.make_ups(drive_id), self._book.readings(drive_id),
                          [(job, self._book.events(job.id)) for job in self._book.jobs(drive_id)])

    def _keep(self, drive_id: UUID, made: _Made, make_up: MakeUp, found: Sequence[Finding]) -> None:
        stands = standing(make_up.drive, found)
        with self._turn:
            if drive_id not in self._known and self._to_come:
                self._to_come -= 1
            self._known[drive_id] = made, glance(make_up, stands)
            self._overview = None


def glance(make_up: MakeUp, stands: Standing | None = None) -> Glance:
    """A drive in a line; without how it stands while it is not judged."""
    drive = make_up.drive
    marking = drive.belts.marking or drive.belts.section or ""
    belts = f"{drive.belts.count} × {marking}" if drive.belts.count and marking else marking
    sought = "\n".join((drive.tag, drive.name, drive.place, marking, loose(drive.tag), loose(marking))).casefold()
    line = (make_up.drive_id, drive.tag, drive.name, drive.place, belts, sought)
    return Glance(*line, stands.stands, stands.reasons, stands.needs_a_hand) if stands else Glance(*line)


def _urgency(found: Glance) -> tuple[int, str]:
    return ORDER.index(found.stands) if found.stands else len(ORDER), found.place


def _in_order(found: Glance) -> tuple[str, list[tuple[int, str]]]:
    """By place, then by tag as people sort: FAN-2 before FAN-10."""
    digits = "".join(sign if sign.isdigit() else " " for sign in found.tag).split()
    letters = "".join(" " if sign.isdigit() else sign for sign in found.tag.casefold()).split(" ")
    return found.place, [(0, letters[0]), *((int(number), "") for number in digits), (0, found.tag)]


def _nearness(found: Glance, whole: str) -> tuple[bool, bool]:
    tag = loose(found.tag)
    return tag != whole, not tag.startswith(whole)
