"""The check worth most per minute, and when to stop asking.

A check is worth what its answer is expected to tell of the causes (expected information gain, exact), over the minutes
it costs; one that needs a lock-out costs that too while the drive runs. To act is to cure every cause likelier than
not. While there is something to act on, only checks count whose answer, if it may well come, changes what is done; when
there are none, asking stops. While there is nothing to act on, all count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from beltwright.bench.causes.evidence import Evidence, likelihoods
from beltwright.bench.causes.knowledge import Array, Knowledge, Sign
from beltwright.bench.causes.rates import Rate, priors
from beltwright.mechanics.noisy_or import information_gain, posterior
from beltwright.units import MINUTE

Flags = npt.NDArray[np.bool_]
# a cause likelier than not is acted on
ACT_FROM: Final = 0.5
# an answer rarer than this is not waited for
MAY_COME: Final = 0.02
# gain below which a check tells nothing worth walking for [bit]
LEAST_GAIN: Final = 0.01
# to lock out, tag, try to start and release what is stored [s]: judgement
LOCK_OUT: Final = 10 * MINUTE


@dataclass(frozen=True, slots=True)
class Lead:
    """The likeliest cause not settled yet after an answer, and its chance."""

    cause: str
    chance: float


@dataclass(frozen=True, slots=True)
class Check:
    """A check, what its answer is expected to tell, and what would lead then.

    gain:       expected information gain [bit]; per_minute: over the time it costs, lock-out with it if it needs one
    likely:     chance that the sign is there
    if_present, if_absent: what would lead then; speaks_for: what the sign, if there, would raise most
    changes:    whether an answer that may well come changes what is done
    lock_out:   whether the drive must be locked out for it first
    """

    sign: Sign
    gain: float
    per_minute: float
    likely: float
    if_present: Lead
    if_absent: Lead
    speaks_for: Lead
    changes: bool
    lock_out: bool


@dataclass(frozen=True, slots=True)
class Checks:
    """Checks, the one worth most per minute first; `stop` says why none needs to be made, empty where one does."""

    checks: tuple[Check, ...]
    stop: str

    @property
    def next(self) -> Check | None:
        """The check to make now; none where asking has ended."""
        return None if self.stop else self.checks[0]


def next_check(knowledge: Knowledge, evidence: Sequence[Evidence], rated: Mapping[str, Rate], *,
               decided: Mapping[str, str] | None = None, passed: Sequence[str] = (),
               locked_out: bool = False, belt_at_hand: bool = False) -> Checks:
    """The checks not made yet, worth most per minute first.

    passed: signs that were asked and could not be told; they are not asked again
    locked_out: the drive is isolated already, so that hands-on checks cost no lock-out
    belt_at_hand: a belt that failed is off the drive and can be looked at
    """
    settled = decided or {}
    known = {each.sign for each in evidence} | set(passed)
    names = [name for name in knowledge.signs if name not in known]
    if not names:
        return Checks((), "every question is answered")
    present, absent = likelihoods(knowledge, evidence)
    network = (np.array(priors(knowledge, rated, settled)), knowledge.strength, knowledge.leak, present, absent)
    told = information_gain(*network, [knowledge.place[name] for name in names])
    open_causes = np.array([name not in settled for name in knowledge.causes])
    acts = [_act(chances, open_causes) for chances in (told.if_present, told.if_absent)]
    chance = posterior(*network).chance
    now = _act(chance[None, :], open_causes)[0]
    changes = np.zeros(len(names), dtype=bool)
    for act, likely in zip(acts, (told.likely, 1.0 - told.likely), strict=True):
        changes |= np.any(act != now, axis=1) & (likely >= MAY_COME)
    checks = []
    for at, name in enumerate(names):
        sign, gain = knowledge.signs[name], float(told.gain[at])
        near = sign.hands_on or (sign.group == "dead belt" and not belt_at_hand)
        time = sign.time + (LOCK_OUT if near and not locked_out else 0.0)
        checks.append(Check(sign, gain, gain / (time / MINUTE), float(told.likely[at]),
                            _lead(knowledge, told.if_present[at], open_causes),
                            _lead(knowledge, told.if_absent[at], open_causes),
                            _rises(knowledge, told.if_present[at], chance, open_causes), bool(changes[at]),
                            near and not locked_out))
    checks.sort(key=lambda check: (bool(now.any()) and not check.changes, -check.per_minute))
    return Checks(tuple(checks), _stop(knowledge, now, checks))


def _act(chances: Array, open_causes: Flags) -> Flags:
    """Which causes would be acted on, one row a set of chances."""
    return (chances >= ACT_FROM) & open_causes


def _lead(knowledge: Knowledge, chances: Array, open_causes: Flags) -> Lead:
    at = int(np.argmax(np.where(open_causes, chances, -1.0)))
    return Lead(list(knowledge.causes)[at], float(chances[at]))


def _rises(knowledge: Knowledge, chances: Array, before: Array, open_causes: Flags) -> Lead:
    at = int(np.argmax(np.where(open_causes, chances - before, -1.0)))
    return Lead(list(knowledge.causes)[at], float(chances[at]))


def _stop(knowledge: Knowledge, now: Flags, checks: Sequence[Check]) -> str:
    if any(check.changes for check in checks):
        return ""
    if now.any():
        named = [cause.title.casefold() for cause, act in zip(knowledge.causes.values(), now, strict=True) if act]
        return f"no answer that may well come changes what to do: cure {' and '.join(named)}"
    if max(check.gain for check in checks) >= LEAST_GAIN:
        return ""
    return "no check left tells enough to be worth the walk; no cause is likelier than not"
