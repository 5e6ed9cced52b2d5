"""What a cure costs and what it saves: hours of work, belts, money; energy that slip wastes, belts that were lost.

Money only where the plant has given its prices, savings only where something is on record; nothing is invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from beltwright.bench.causes.knowledge import Cause
from beltwright.bench.figure import Said, say
from beltwright.bench.findings.finding import Finding
from beltwright.plant.reading import Reading
from beltwright.units import HOUR, YEAR

# below this many belts lost, or years of record, losses a year are chance
_FEWEST: Final = 2
_SHORTEST: Final = 0.5 * YEAR
# a cause that brings slip at least so often may claim what the slip wastes
_BRINGS_SLIP: Final = 0.3


@dataclass(frozen=True, slots=True)
class Prices:
    """What the plant pays, as far as it has said: work [1/s], one belt; and how money is written."""

    work: float | None = None
    belt: float | None = None
    currency: str = ""

    def money(self, amount: float) -> str:
        """An amount as a person reads it.

        >>> Prices(currency="EUR").money(124.4)
        '124 EUR'
        """
        return f"{amount:.0f} {self.currency}".rstrip()


@dataclass(frozen=True, slots=True)
class Losses:
    """What is on record of the drive: belts lost, over how long [s]; the slip finding, if there is one."""

    belts: int
    over: float
    slip: Finding | None

    @property
    def yearly(self) -> float | None:
        """Belts lost in a year; none where the record is too short to say."""
        return self.belts / (self.over / YEAR) if self.belts >= _FEWEST and self.over >= _SHORTEST else None


@dataclass(frozen=True, slots=True)
class Worth:
    """What a cure costs and saves. work: [s]; belts: how many are bought; the lines say the same, money with them."""

    work: float
    belts: int
    costs: tuple[Said, ...]
    saves: tuple[Said, ...]


def losses(failures: Sequence[Reading], findings: Sequence[Finding], since: datetime | None, now: datetime) -> Losses:
    """What was lost, from readings of belts that failed, since the drive is on record."""
    begun = min((each for each in (since, *(reading.taken_at for reading in failures)) if each is not None),
                default=now)
    return Losses(sum(int(reading.values["count"]) for reading in failures), (now - begun).total_seconds(),
                  next((finding for finding in findings if finding.key == "slip"), None))


def worth(cause: Cause, lost: Losses, prices: Prices, belts: int | None) -> Worth:
    """What the cure of a cause costs and saves; `belts`: how many belts the drive has."""
    cure = cause.cure
    bought = (belts or 0) if cure.parts else 0
    return Worth(cure.work, bought, tuple(_costs(cause, prices, bought)), tuple(_saves(cause, lost, prices)))


def _costs(cause: Cause, prices: Prices, bought: int) -> list[Said]:
    cure = cause.cure
    hours = (cure.work / HOUR, "number", 1)
    lines = [say("about {hours} hours of work, lock-out with it", hours=hours) if prices.work is None else
             say("about {hours} hours of work, lock-out with it: {money}", hours=hours,
                 money=prices.money(cure.work * prices.work))]
    if cure.parts and not bought:
        lines.append(say("a matched set of belts"))
    elif cure.parts and prices.belt is None:
        lines.append(say("{count} belts, as one matched set", count=str(bought)))
    elif cure.parts and prices.belt is not None:
        lines.append(say("{count} belts, as one matched set: {money}", count=str(bought),
                         money=prices.money(bought * prices.belt)))
    if cure.parts == "sheave and belts":
        lines.append(say("a sheave, its price not on record"))
    return lines


def _saves(cause: Cause, lost: Losses, prices: Prices) -> list[Said]:
    lines = []
    slips = any(link.sign == "slip as read" and link.strength >= _BRINGS_SLIP for link in cause.links)
    if slips and lost.slip is not None and "energy" in lost.slip.numbers:
        numbers = lost.slip.numbers
        energy = (float(numbers["energy"].value), "energy")
        money = numbers.get("money_a_year")
        lines.append(say("{energy} a year that slip wastes, by the speeds read", energy=energy) if money is None else
                     say("{energy} a year that slip wastes, by the speeds read: {money}", energy=energy,
                         money=prices.money(float(money.value))))
    if lost.yearly is not None:
        belts = (lost.yearly, "number", 1)
        lines.append(say("up to {belts} belts a year, as many as were lost on record", belts=belts)
                     if prices.belt is None else
                     say("up to {belts} belts a year, as many as were lost on record: {money}", belts=belts,
                         money=prices.money(lost.yearly * prices.belt)))
    return lines
