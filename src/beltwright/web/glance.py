"""A drive in a line, and the plant as a list of them: how each stands and why, and how to find one.

The lists are made anew whenever something changes and are never changed; keeping them in step with a book is the matter
of `glances`.
"""

from __future__ import annotations

import itertools
from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from sys import intern
from uuid import UUID

from beltwright.bench.figure import Said
from beltwright.desk.standing import ORDER, Standing, Stands
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import loose
from beltwright.units import System


@dataclass(frozen=True, slots=True)
class Words:
    """A statement as it reads in either system of units; no more than that, for ten thousand drives have many."""

    si: str
    inch: str

    def text(self, system: System) -> str:
        """It, in these units."""
        return self.inch if system == "inch" else self.si


@dataclass(frozen=True, slots=True)
class Why:
    """Why a drive stands as it does, and what to do first."""

    title: str
    said: Words
    do: Words


@dataclass(frozen=True, slots=True)
class Glance:
    """A drive in a line. `key` is its tag as people remember it, `order` its place among the others."""

    drive_id: UUID
    tag: str
    name: str
    place: str
    belts: str
    sought: str
    key: str
    order: tuple[str, tuple[tuple[int, str], ...]]
    stands: Stands | None = None
    reasons: tuple[Why, ...] = ()
    needs_a_hand: bool = False


@dataclass(frozen=True, eq=False)
class Overview:
    """The drives in order of place and tag; by how they stand, how many; how many are still to be judged.

    The same plant is the same object, which is how a filled page is known to be still right.
    """

    drives: tuple[Glance, ...]
    counts: Mapping[Stands, int]
    to_come: int
    serial: int = 0

    @cached_property
    def tags(self) -> Mapping[str, str]:
        """Each tag, by the same as people remember it."""
        return {glance.key: glance.tag for glance in self.drives}

    @cached_property
    def _sought(self) -> tuple[str, list[int]]:
        """What is sought of all drives as one text, and where that of each begins in it."""
        starts = list(itertools.accumulate((len(glance.sought) + 1 for glance in self.drives), initial=0))
        return "\0".join(glance.sought for glance in self.drives), starts

    def first_hands(self) -> tuple[Glance, ...]:
        """The drives that need a hand, the most urgent first."""
        return tuple(sorted((glance for glance in self.drives if glance.needs_a_hand), key=_urgency))

    def seek(self, text: str) -> tuple[Glance, ...]:
        """The drives with every word of the text in tag, name, place or belt marking; the tag itself comes first."""
        words, whole = text.casefold().split(), loose(text)
        found = self._with(max(words, key=len, default=""))
        if len(words) > 1 or "\0" in text:
            found = [glance for glance in found if all(word in glance.sought for word in words)]
        if whole and [whole] != words:
            found += [glance for glance in self._with(whole) if not all(word in glance.sought for word in words)]
        return tuple(sorted(found, key=lambda glance: (glance.key != whole, not glance.key.startswith(whole),
                                                       glance.order)))

    def _with(self, word: str) -> list[Glance]:
        """The drives in whose sought text the word stands: one pass over the text of all, however many drives."""
        whole, starts = self._sought
        found, at = [], 0
        while (hit := whole.find(word, at)) >= 0:
            number = bisect_right(starts, hit) - 1
            if number >= len(self.drives):
                break
            found.append(self.drives[number])
            at = starts[number + 1]
        return found

    def at(self, place: str) -> tuple[Glance, ...]:
        """The drives at a place or below it: `Drying` holds `Drying / Line 1`."""
        below = f"{place} /"
        return (self.drives[bisect_left(self._places, place):bisect_right(self._places, place)]
                + self.drives[bisect_left(self._places, below):bisect_left(self._places, f"{place} 0")])

    @cached_property
    def _places(self) -> list[str]:
        """The place of each drive: they are in its order, and 0 is the sign after the stroke."""
        return [glance.place for glance in self.drives]

    def places(self) -> tuple[tuple[str, tuple[Glance, ...]], ...]:
        """The drives by place."""
        return tuple((place, tuple(some)) for place, some in groupby(self.drives, lambda glance: glance.place))


def glance(make_up: MakeUp, stands: Standing | None = None) -> Glance:
    """A drive in a line; without how it stands while it is not judged."""
    drive = make_up.drive
    marking = drive.belts.marking or drive.belts.section or ""
    belts = f"{drive.belts.count} × {marking}" if drive.belts.count and marking else marking
    sought = "\n".join((drive.tag, drive.name, drive.place, marking, loose(drive.tag), loose(marking))).casefold()
    line = (make_up.drive_id, drive.tag, drive.name, intern(drive.place), intern(belts), sought, loose(drive.tag),
            (intern(drive.place), _as_people_sort(drive.tag)))
    if stands is None:
        return Glance(*line)
    return Glance(*line, stands.stands, tuple(Why(intern(reason.title), _words(reason.said), _words(reason.do))
                                              for reason in stands.reasons), stands.needs_a_hand)


def _words(said: Said) -> Words:
    return Words(intern(said.text("si")), intern(said.text("inch")))


def _urgency(found: Glance) -> tuple[int, str]:
    return ORDER.index(found.stands) if found.stands else len(ORDER), found.place


def _as_people_sort(tag: str) -> tuple[tuple[int, str], ...]:
    """FAN-2 before FAN-10."""
    digits = "".join(sign if sign.isdigit() else " " for sign in tag).split()
    letters = "".join(" " if sign.isdigit() else sign for sign in tag.casefold()).split(" ")
    return (0, intern(letters[0])), *((int(number), "") for number in digits), (0, tag)
