"""A figure: a number as it reaches a person, with its unit, band, source, trust, uncertainty and working.

Nothing here computes physics. A figure is made on the bench and shown, as it stands, on card, page and terminal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, Literal

from beltwright.tables import TRUST_WORDS, Trust, cite
from beltwright.units import System, show, show_band

# how a number put into a formula came to be known
Origin = Literal["measured", "stated", "published table", "worked out", "assumed", "common practice"]

_RANK: Final[Mapping[Trust, int]] = MappingProxyType(
    {"read": 0, "derived": 1, "reprint": 2, "memory": 3, "practice": 4})


def weakest(*trusts: Trust) -> Trust:
    """The trust of a figure made from several: that of the weakest.

    >>> weakest("read", "memory", "derived")
    'memory'
    """
    return max(trusts, key=lambda trust: _RANK[trust])


@dataclass(frozen=True, slots=True)
class Put:
    """A number put into a formula: its symbol there, what it is, its value (SI) and how it came to be known."""

    symbol: str
    meaning: str
    value: float | str
    kind: str = "number"
    origin: Origin = "worked out"
    digits: int | None = None
    figure: str = ""

    def text(self, system: System) -> str:
        """The value as a person reads it."""
        if isinstance(self.value, str):
            return self.value
        return show(self.value, self.kind, system, digits=self.digits)


@dataclass(frozen=True, slots=True)
class Working:
    """How a figure came about: formula, the numbers put in, sources, trust, validity and remarks."""

    formula: str
    puts: tuple[Put, ...] = ()
    sources: tuple[str, ...] = ("practice",)
    where: str = ""
    trust: Trust = "practice"
    validity: str = ""
    remarks: tuple[str, ...] = ()

    def cited(self) -> tuple[str, ...]:
        """The sources as lines a person can read."""
        return tuple(cite(key) for key in dict.fromkeys(self.sources))

    def trust_words(self) -> str:
        """How far to trust it, in words."""
        return TRUST_WORDS[self.trust]


@dataclass(frozen=True, slots=True)
class Figure:
    """A number for a person. `value` or a band `low` to `high`, SI; `text` is set when it is words, not a number.

    spread: standard uncertainty from the measured inputs [SI], when it was carried through
    """

    key: str
    title: str
    kind: str
    working: Working
    value: float | None = None
    low: float | None = None
    high: float | None = None
    words: str = ""
    digits: Mapping[System, int] = field(default_factory=dict)
    spread: float | None = None

    def text(self, system: System) -> str:
        """As a person reads it: `612 mm`, `41 to 62 N`, or words."""
        digits = self.digits.get(system)
        if self.words:
            return self.words
        if self.low is not None and self.high is not None:
            return show_band(self.low, self.high, self.kind, system, digits=digits)
        assert self.value is not None
        return show(self.value, self.kind, system, digits=digits)

    def spread_text(self, system: System) -> str:
        """The expanded uncertainty (k = 2) of the measured inputs, or nothing."""
        if self.spread is None or self.spread == 0:
            return ""
        kind = "temperature difference" if self.kind == "temperature" else self.kind
        digits = self.digits.get(system)
        text = show(2 * self.spread, kind, system, digits=digits)
        if not any(sign in "123456789" for sign in text):
            text = show(2 * self.spread, kind, system, digits=(digits or 0) + 2)
        return f"± {text}"


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence with numbers in it, to be read in either system of units: `{name}` stands where a number goes."""

    template: str
    puts: Mapping[str, Put] = field(default_factory=dict)

    def text(self, system: System) -> str:
        """The sentence as a person reads it."""
        return self.template.format_map({name: put.text(system) for name, put in self.puts.items()})


def say(template: str, **numbers: tuple[float, str] | tuple[float, str, int] | str) -> Said:
    """A sentence from a template and its numbers, each `(SI value, kind)`, `(SI value, kind, digits)`, or words.

    >>> say("the span is {span}", span=(0.6, "length")).text("si")
    'the span is 600 mm'
    """
    puts = {name: Put(name, name, number) if isinstance(number, str) else
            Put(name, name, number[0], number[1], digits=number[2] if len(number) > 2 else None)
            for name, number in numbers.items()}
    return Said(template, puts)
