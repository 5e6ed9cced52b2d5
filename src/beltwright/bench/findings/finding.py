"""A finding: what readings say of a drive, against which limit, how surely, what to do and on whose word.

Holds and orders findings; judges nothing. Imports `figure` for sentences with numbers in them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Literal, TypedDict, get_args
from uuid import UUID

from beltwright.bench.figure import Put, Said
from beltwright.plant.reading import Reading
from beltwright.tables import Trust
from beltwright.units import System

Urgency = Literal["stop and mend", "mend at next stop", "plan", "watch", "sound"]
URGENCIES: Final[tuple[Urgency, ...]] = get_args(Urgency)
_PLACE: Final[Mapping[Urgency, int]] = {urgency: place for place, urgency in enumerate(URGENCIES)}

Sureness = Literal["sure", "likely", "maybe", "not sure"]
# numbers beside the statement that it says in other words already
_SAID: Final = ("chance", "money_a_year")
# from which share on a word is used
_SURE_FROM: Final[tuple[tuple[float, Sureness], ...]] = ((0.95, "sure"), (0.75, "likely"), (0.4, "maybe"))


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found.

    key:       stable name: `tension-slack`, `seen-cracked`, `grooves-worn-driver`
    sure:      share of cases in which the statement is true, as the readings let expect; None: not to be said
    why_sure:  what went into that share besides the readings, such as the trade's base rates
    do:        what to do, in order; check_too: what else to look at
    readings:  those behind it; at: when the last of them was taken
    explains, explained_by: keys of findings of the same drive that this one is the cause of, or that are its cause
    also:      numbers that are not in the statement, by name
    each:      belt by belt, where the belts were read one by one
    """

    key: str
    urgency: Urgency
    title: str
    statement: Said
    sure: float | None = None
    why_sure: str = ""
    do: tuple[Said | str, ...] = ()
    check_too: tuple[str, ...] = ()
    source: str = "practice"
    trust: Trust = "practice"
    readings: tuple[UUID, ...] = ()
    at: datetime | None = None
    explains: tuple[str, ...] = ()
    explained_by: tuple[str, ...] = ()
    also: Mapping[str, Put] = field(default_factory=dict)
    each: tuple[Said, ...] = ()

    @property
    def numbers(self) -> dict[str, Put]:
        """Values and limits by name, as numbers (SI) with their kind."""
        return {name: put for name, put in {**self.statement.puts, **self.also}.items()
                if not isinstance(put.value, str)}

    @property
    def sure_words(self) -> Sureness:
        """How sure, in a word."""
        return sureness(self.sure)

    @property
    def joined(self) -> tuple[str, ...]:
        """The findings it belongs together with."""
        return (*self.explained_by, *self.explains)

    def beside(self, system: System) -> tuple[str, ...]:
        """What else the readings come to, besides the statement: a name and its number."""
        return tuple(f"{put.meaning} {put.text(system)}" for name, put in self.also.items() if name not in _SAID)

    def actions(self, system: System) -> tuple[str, ...]:
        """What to do, as a person reads it."""
        return tuple(sentence(each, system) for each in self.do)


def sureness(share: float | None) -> Sureness:
    """A share as a word.

    >>> sureness(0.97), sureness(0.5), sureness(None)
    ('sure', 'maybe', 'not sure')
    """
    if share is None:
        return "not sure"
    return next((word for least, word in _SURE_FROM if share >= least), "not sure")


def sentence(said: Said | str, system: System) -> str:
    """A sentence as a person reads it."""
    return said if isinstance(said, str) else said.text(system)


def graver(first: Urgency, second: Urgency) -> Urgency:
    """The more urgent of two.

    >>> graver("watch", "plan")
    'plan'
    """
    return min(first, second, key=_PLACE.__getitem__)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Most urgent first; of equals, causes before what they explain, then the surer, then by key."""
    return tuple(sorted(findings, key=lambda found: (
        _PLACE[found.urgency], bool(found.explained_by), -len(found.explains), -(found.sure or 0.0), found.key)))


def worst(findings: Sequence[Finding]) -> Urgency:
    """The urgency of a drive: that of its most urgent finding."""
    return min((found.urgency for found in findings), key=_PLACE.__getitem__, default="sound")


class Behind(TypedDict):
    """The readings behind a finding and when the last of them was taken, as fields of it."""

    readings: tuple[UUID, ...]
    at: datetime | None


def behind(readings: Iterable[Reading]) -> Behind:
    """The readings behind a finding, to be handed to it with `**`."""
    listed = list(readings)
    return {"readings": tuple(reading.id for reading in listed),
            "at": max((reading.taken_at for reading in listed), default=None)}
