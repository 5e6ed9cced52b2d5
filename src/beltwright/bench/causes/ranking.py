"""Causes in order of their chance, with what speaks for and against each, in words.

The chances are exact over all causes at once (`mechanics.noisy_or`). How a sign speaks is said one sign at a time: how
many times likelier it is with the cause than without, the other causes at the chances they have now. Those numbers are
there to explain the order; they do not multiply to it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from beltwright.bench.causes.cures import Losses, Prices, Worth, worth
from beltwright.bench.causes.evidence import Evidence, likelihoods
from beltwright.bench.causes.knowledge import Array, Cause, Knowledge
from beltwright.bench.causes.rates import Rate, priors
from beltwright.mechanics.noisy_or import likelihood_ratio, posterior

# from which chance on a word is used
_CHANCE_FROM: Final = ((0.95, "all but certain"), (0.6, "likely"), (0.25, "possible"), (0.05, "less likely"))
# from how many times likelier on a word is used; the same below one for speaking against
_SPEAKS_FROM: Final = ((10.0, "very strongly"), (3.0, "strongly"), (1.5, "clearly"), (1.1, "a little"))


@dataclass(frozen=True, slots=True)
class Speaks:
    """One piece of evidence and how it speaks for or against a cause.

    times: how many times likelier with the cause than without; below 1 it speaks against
    why:   why the sign goes with the cause, in the words of the trade
    """

    evidence: Evidence
    times: float
    why: str

    @property
    def words(self) -> str:
        """How strongly: `very strongly`, `strongly`, `clearly`, `a little`."""
        much = self.times if self.times >= 1.0 else 1.0 / max(self.times, 1e-9)
        return next((word for least, word in _SPEAKS_FROM if much >= least), "hardly")


@dataclass(frozen=True, slots=True)
class Ranked:
    """A cause, how likely it has a part, its base rate, and what speaks for and against it, strongest first.

    decided: confirmed or ruled out in this inquiry, else empty
    """

    cause: Cause
    chance: float
    rate: Rate
    signs_for: tuple[Speaks, ...]
    signs_against: tuple[Speaks, ...]
    decided: str
    worth: Worth

    @property
    def chance_words(self) -> str:
        """The chance in a word."""
        return chance_words(self.chance)


def chance_words(chance: float) -> str:
    """A chance in a word.

    >>> chance_words(0.97), chance_words(0.3), chance_words(0.01)
    ('all but certain', 'possible', 'unlikely')
    """
    return next((word for least, word in _CHANCE_FROM if chance >= least), "unlikely")


def ranked(knowledge: Knowledge, evidence: Sequence[Evidence], rated: Mapping[str, Rate], *,
           decided: Mapping[str, str] | None = None, lost: Losses | None = None, prices: Prices | None = None,
           belts: int | None = None) -> tuple[Ranked, ...]:
    """Every cause with its chance given the evidence, the likeliest first.

    decided: causes confirmed or ruled out in this inquiry; lost, prices, belts: for what the cures are worth
    Errors: `OutOfRange` when more than 18 signs present or in doubt hang together (about 25 at once).
    """
    settled = decided or {}
    present, absent = likelihoods(knowledge, evidence)
    before = np.array(priors(knowledge, rated, settled))
    chance = posterior(before, knowledge.strength, knowledge.leak, present, absent).chance
    times = likelihood_ratio(chance, knowledge.strength, knowledge.leak, present, absent)
    made = [_one(knowledge, cause, float(chance[row]), times[row], evidence, rated[cause.name],
                 settled.get(cause.name, ""), worth(cause, lost or Losses(0, 0.0, None), prices or Prices(), belts))
            for row, cause in enumerate(knowledge.causes.values())]
    return tuple(sorted(made, key=lambda each: -each.chance))


def _one(knowledge: Knowledge, cause: Cause, chance: float, times: Array, evidence: Sequence[Evidence], rate: Rate,
         decided: str, brings: Worth) -> Ranked:
    why = {link.sign: link.why for link in cause.links}
    speaking = [Speaks(each, float(times[knowledge.place[each.sign]]), why[each.sign]) for each in evidence
                if each.sign in why]
    least = _SPEAKS_FROM[-1][0]
    return Ranked(cause, chance, rate,
                  tuple(sorted((each for each in speaking if each.times >= least), key=lambda each: -each.times)),
                  tuple(sorted((each for each in speaking if each.times * least <= 1.0),
                               key=lambda each: each.times)), decided, brings)
