"""The plant at a glance, kept in memory: every drive in a line, what is judged of it, and how to find it.

Judging ten thousand drives takes longer than anybody waits for a page. So each make-up is judged once, in a thread of
its own, and again only when another is fitted; a page shows what is judged by then and says how many are to come. The
book is asked for its mark first, so that a page of a plant where nothing changed costs no question about drives.
"""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final
from uuid import UUID

from beltwright.bench.card import Card, make_card
from beltwright.bench.figure import Said, say
from beltwright.bench.verdicts import ORDER, Answer, overall
from beltwright.book.store import Store
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import loose

# how long a page waits for what is still being judged [s]
PATIENCE: Final = 0.4
# between two drives, so that pages go first [s]
_BREATH: Final = 0.0005
# drives fetched from the book at a time, while others are being judged
_AT_A_TIME: Final = 200
_CALM: Final[frozenset[Answer]] = frozenset(("good", "not judged", "note"))


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a drive needs a hand: what, the statement, and what to do."""

    answer: Answer
    title: str
    said: Said
    do: str = ""


@dataclass(frozen=True, slots=True)
class Glance:
    """A drive in a line. `answer` is None while it has not been judged; `to_read`: readings that are missing."""

    drive_id: UUID
    make_up_id: UUID
    tag: str
    name: str
    place: str
    belts: str
    sought: str
    answer: Answer | None = None
    reasons: tuple[Reason, ...] = ()
    to_read: int = 0

    @property
    def needs_a_hand(self) -> bool:
        """Whether somebody should go there for it."""
        return any(reason.answer not in _CALM for reason in self.reasons)


@dataclass(frozen=True, slots=True)
class Overview:
    """Every drive in order of place and tag; by answer, how many; how many are still to be judged."""

    drives: tuple[Glance, ...]
    counts: Mapping[Answer, int]
    to_come: int

    def first_hands(self) -> tuple[Glance, ...]:
        """The drives that need a hand, the gravest first."""
        return tuple(sorted((glance for glance in self.drives if glance.needs_a_hand), key=_gravest))

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


class Glances:
    """The plant at a glance, in step with a book."""

    def __init__(self, book: Store) -> None:
        self._book = book
        self._turn = threading.Lock()
        self._mark = ""
        self._known: dict[UUID, Glance] = {}
        self._waiting: list[UUID] = []
        self._overview: Overview | None = None
        self._settled = threading.Event()
        self._work: threading.Thread | None = None
        self._closed = False

    def look(self) -> Overview:
        """The plant now, as far as it is judged within a moment."""
        self.keep_up()
        self._settled.wait(PATIENCE)
        with self._turn:
            if self._overview is None:
                drives = tuple(sorted(self._known.values(), key=lambda glance: glance.place))
                judged = Counter(glance.answer for glance in drives if glance.answer is not None)
                self._overview = Overview(drives, judged, len(drives) - judged.total())
            return self._overview

    def keep_up(self) -> None:
        """See whether the book has changed; what is new is judged by the thread."""
        mark = self._book.mark()
        with self._turn:
            if mark == self._mark or self._closed:
                return
            now = self._book.fitted_now()
            for gone in self._known.keys() - now.keys():
                del self._known[gone]
            self._waiting = [drive_id for drive_id, make_up_id in now.items()
                             if (known := self._known.get(drive_id)) is None or known.make_up_id != make_up_id]
            self._mark = mark
            if not self._waiting:
                return
            self._settled.clear()
            if self._work is None:
                self._work = threading.Thread(target=self._judge_all, name="glances", daemon=True)
                self._work.start()

    def close(self) -> None:
        """Judge no more."""
        self._closed = True
        if self._work is not None:
            self._work.join()

    def _judge_all(self) -> None:
        """First every drive unjudged, so that the list is whole; then each judged."""
        try:
            while not self._closed:
                with self._turn:
                    waiting, self._waiting = self._waiting, []
                    if not waiting:
                        self._work = None
                        return
                self._take(waiting)
        finally:
            self._settled.set()

    def _take(self, waiting: list[UUID]) -> None:
        if len(waiting) > _AT_A_TIME:
            wanted = set(waiting)
            for make_up in self._book.drives():
                if make_up.drive_id in wanted:
                    self._keep([unjudged(make_up)])
        for start in range(0, len(waiting), _AT_A_TIME):
            if self._closed:
                return
            with self._book.looking():
                some = [self._book.drive(drive_id) for drive_id in waiting[start:start + _AT_A_TIME]]
            for make_up in some:
                self._keep([glance(make_up)])
                time.sleep(_BREATH)

    def _keep(self, glances: Iterable[Glance]) -> None:
        with self._turn:
            self._known.update((found.drive_id, found) for found in glances)
            self._overview = None


def glance(make_up: MakeUp) -> Glance:
    """A drive in a line, judged."""
    card = make_card(make_up.drive)
    found = reasons(card)
    answer = min((overall(card.verdicts), *(reason.answer for reason in found)), key=ORDER.index)
    return replace(unjudged(make_up), answer=answer, reasons=found, to_read=len(card.gaps))


def unjudged(make_up: MakeUp) -> Glance:
    """A drive in a line, before it is judged."""
    drive = make_up.drive
    marking = drive.belts.marking or drive.belts.section or ""
    belts = f"{drive.belts.count} × {marking}" if drive.belts.count and marking else marking
    sought = "\n".join((drive.tag, drive.name, drive.place, marking, loose(drive.tag), loose(marking))).casefold()
    return Glance(make_up.drive_id, make_up.id, drive.tag, drive.name, drive.place, belts, sought)


def reasons(card: Card) -> tuple[Reason, ...]:
    """What is wrong or worth a note, the gravest first; readings that disagree count like what falls short."""
    found = [Reason(verdict.answer, verdict.title, verdict.statement, verdict.do)
             for verdict in card.verdicts if verdict.answer not in ("good", "not judged")]
    found += [Reason("short" if clash.weight == "wrong" else "note", "Readings disagree", clash.statement,
                     clash.do.text("si")) for clash in card.clashes]
    if card.gaps and not found and overall(card.verdicts) == "not judged":
        found.append(Reason("not judged", "Not known yet", say("read next: {words}", words=card.gaps[0].words)))
    return tuple(sorted(found, key=lambda reason: ORDER.index(reason.answer)))


def _gravest(found: Glance) -> tuple[int, str]:
    return min(ORDER.index(reason.answer) for reason in found.reasons), found.place


def _nearness(found: Glance, whole: str) -> tuple[bool, bool]:
    tag = loose(found.tag)
    return tag != whole, not tag.startswith(whole)
