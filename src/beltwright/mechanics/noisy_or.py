"""Chances of several causes at once from the signs they bring: a two-layer noisy-OR network with leak, solved exactly.

A sign is missing only if every cause that is there fails to bring it and nothing else does:
P(sign absent | causes) = (1 - leak) * product over the causes there of (1 - strength). What was noted of a sign comes
as two likelihoods (virtual evidence): of noting it if the sign is there, and if it is not; (1, 0) is surely there,
(0, 1) surely not, equal ones say nothing. Surely absent signs factorise and cost nothing. For the others causes are
taken one after the other, holding the chance of every pattern of signs explained so far: chances are only added and
multiplied, so nothing cancels. A sign is held from its first cause to its last: the work hangs on how many are held at
once. (Inclusion and exclusion over the signs present would cost less code and lose all digits on rare patterns.)
Must not import other modules of `mechanics`.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.errors import Infeasible, OutOfRange

Array = npt.NDArray[np.float64]
# signs present or in doubt that may be held at once: 2^18 patterns, half a second and 0.1 GB; beyond it is refused
MOST_HELD: Final = 18
# signs held from which it is worth looking whether to take a cause both ways
_MANY_HELD: Final = 6
# numbers in the patterns of one batch of checks: beyond, the batch is split
_BATCH: Final = 1_000_000


class Posterior(NamedTuple):
    """Chance of each cause given what was noted, and the natural logarithm of the chance of noting just that."""

    chance: Array
    log_likelihood: float


class Gains(NamedTuple):
    """What each check would tell: expected information gain, chance of yes, and the causes' chances after yes and no.

    gain: [bit], one a check; likely: one a check; if_present, if_absent: checks along rows, causes along columns
    """

    gain: Array
    likely: Array
    if_present: Array
    if_absent: Array


class _Step(NamedTuple):
    """One cause in its turn: signs that come in, its links to signs held, signs that go out with their places.

    held: how many signs are held in this step
    """

    cause: int
    opened: tuple[int, ...]
    links: tuple[tuple[int, float], ...]
    closed: tuple[tuple[int, int], ...]
    held: int


class _Network(NamedTuple):
    """The network with surely absent signs absorbed.

    off, on: what each cause weighs when absent and when there; rest: what weighs all alike
    both:    causes taken both ways, there and not, side by side; steps: the others in order; free: tied to no sign
    left:    signs that only causes taken both ways can bring
    width:   signs held at once, a cause taken both ways counted as one
    """

    off: Array
    on: Array
    rest: float
    both: tuple[int, ...]
    steps: tuple[_Step, ...]
    free: tuple[int, ...]
    left: tuple[int, ...]
    width: int


def posterior(prior: npt.ArrayLike, strength: npt.ArrayLike, leak: npt.ArrayLike, present: npt.ArrayLike,
              absent: npt.ArrayLike) -> Posterior:
    """Chance of each cause given everything noted, any number of causes at once.

    P(cause | noted) = sum over all sets of causes with it of P(set) P(noted | set), over the same sum of all sets

    prior:    chance of each cause before anything is noted, 0 and 1 allowed [-], array, one a cause
    strength: chance that a cause alone brings a sign [-], array, causes along rows, signs along columns
    leak:     chance that a sign shows with none of the causes there [-], array, one a sign
    present:  likelihood of what was noted of a sign if it is there [-], array, one a sign
    absent:   likelihood of what was noted of a sign if it is not there [-], array, one a sign
    returns:  chance of each cause and log of the chance of what was noted [-], one a cause and scalar

    Causes come independently of each other; signs depend on nothing but causes.
    Errors: `OutOfRange` for numbers that are no chances, and when more than 18 signs must be held at once (ask
    `feasible`); `Infeasible` when what was noted cannot be.
    Source: heckerman1989

    >>> found = posterior([0.5, 0.1], [[0.8], [0.9]], [0.0], present=[1.0], absent=[0.0])
    >>> [round(float(each), 3) for each in found.chance]
    [0.901, 0.207]
    """
    chances, strengths, leaks, there, not_there = _checked(prior, strength, leak, present, absent)
    network = _network(chances, strengths, leaks, there, not_there)
    _not_too_wide(network.width)
    chance, log = _mixed(network, network.on[:, None], strengths, leaks, there, not_there)
    _possible(log)
    return Posterior(chance[:, 0], float(log[0]))


def information_gain(prior: npt.ArrayLike, strength: npt.ArrayLike, leak: npt.ArrayLike, present: npt.ArrayLike,
                     absent: npt.ArrayLike, candidates: Sequence[int]) -> Gains:
    """How much a check whose answer is yes or no is expected to tell about the causes.

    gain = sum over causes of H(cause | noted) - E[H(cause | noted, answer)], H the binary entropy in bits

    prior:      chance of each cause before anything is noted, 0 and 1 allowed [-], array, one a cause
    strength:   chance that a cause alone brings a sign [-], array, causes along rows, signs along columns
    leak:       chance that a sign shows with none of the causes there [-], array, one a sign
    present:    likelihood of what was noted of a sign if it is there [-], array, one a sign
    absent:     likelihood of what was noted of a sign if it is not there [-], array, one a sign
    candidates: which signs may be asked, by place; nothing may be noted of them yet [-], sequence
    returns:    gains [bit], chances of yes, and chances of causes after yes and after no [-]

    Each cause's own gain, added up: what the causes have in common counts with each of them. Never below nought.
    Errors: as `posterior`; `OutOfRange` for a candidate of which something is noted.
    Source: lindley1956

    >>> told = information_gain([0.5, 0.5], [[0.9, 0.0], [0.0, 0.1]], [0.0, 0.0], [1, 1], [1, 1], candidates=[0, 1])
    >>> bool(told.gain[0] > told.gain[1]), [round(float(each), 3) for each in told.likely]
    (True, [0.45, 0.05])
    """
    chances, strengths, leaks, there, not_there = _checked(prior, strength, leak, present, absent)
    asked = np.asarray(candidates, dtype=int)
    if np.any(there[asked] != not_there[asked]):
        raise OutOfRange("a sign of which something is noted cannot be asked again")
    network = _network(chances, strengths, leaks, there, not_there)
    _not_too_wide(network.width)
    now, log = _mixed(network, network.on[:, None], strengths, leaks, there, not_there)
    _possible(log)
    # every check answered no, side by side: its causes weigh less by what they would have brought
    least, logs = [np.empty((len(chances), 0))], [np.empty(0)]
    step = max(1, _BATCH // (len(network.steps) << network.width or 1))
    for at in range(0, len(asked), step):
        some = asked[at:at + step]
        weights = network.on[:, None] * (1.0 - strengths[:, some])
        chance, each = _mixed(network, weights, strengths, leaks, there, not_there)
        least.append(chance)
        logs.append(each)
    if_absent = np.concatenate(least, axis=1).T
    unlikely = np.exp(np.concatenate(logs) - log[0]) * (1.0 - leaks[asked])
    likely = 1.0 - unlikely
    # rounding may leave a chance of yes, or a cause's after it, a hair outside 0 to 1
    likely = np.clip(likely, 0.0, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        if_present = np.where(likely[:, None] > 0.0, (now[:, 0] - unlikely[:, None] * if_absent) / likely[:, None],
                              now[:, 0])
    if_present = np.clip(if_present, 0.0, 1.0)
    after = likely[:, None] * _entropy(if_present) + unlikely[:, None] * _entropy(if_absent)
    gain = np.maximum((_entropy(now[:, 0]) - after).sum(axis=1), 0.0)
    return Gains(gain, likely, if_present, if_absent)


def signs_held(prior: npt.ArrayLike, strength: npt.ArrayLike, present: npt.ArrayLike, absent: npt.ArrayLike) -> int:
    """How many signs must be held at once for the exact answer: the work grows as 2 to that power.

    the most signs between their first cause and their last, causes taken in an order that keeps them few (greedy); a
    cause with many signs is taken both ways, there and not, and counts as one

    prior:    chance of each cause before anything is noted, 0 and 1 allowed [-], array, one a cause
    strength: chance that a cause alone brings a sign [-], array, causes along rows, signs along columns
    present:  likelihood of what was noted of a sign if it is there [-], array, one a sign
    absent:   likelihood of what was noted of a sign if it is not there [-], array, one a sign
    returns:  signs held at once [-], scalar

    Surely absent signs and those of which nothing is noted cost nothing.
    Errors: `OutOfRange` for numbers that are no chances.
    Source: diez2003
    """
    chances, strengths, leaks, there, not_there = _checked(
        prior, strength, np.zeros(np.shape(present)), present, absent)
    return _network(chances, strengths, leaks, there, not_there).width


def feasible(prior: npt.ArrayLike, strength: npt.ArrayLike, present: npt.ArrayLike, absent: npt.ArrayLike) -> bool:
    """Whether the exact answer is within reach: no more than 18 signs held at once.

    signs_held <= 18

    prior:    chance of each cause before anything is noted, 0 and 1 allowed [-], array, one a cause
    strength: chance that a cause alone brings a sign [-], array, causes along rows, signs along columns
    present:  likelihood of what was noted of a sign if it is there [-], array, one a sign
    absent:   likelihood of what was noted of a sign if it is not there [-], array, one a sign
    returns:  true where it is [-], scalar

    Errors: `OutOfRange` for numbers that are no chances.
    Source: diez2003
    """
    return signs_held(prior, strength, present, absent) <= MOST_HELD


def likelihood_ratio(prior: npt.ArrayLike, strength: npt.ArrayLike, leak: npt.ArrayLike, present: npt.ArrayLike,
                     absent: npt.ArrayLike) -> Array:
    """How many times likelier each thing noted is with a cause there than without, the other causes at their priors.

    ratio = P(noted of the sign | cause) / P(noted of the sign | cause absent), each sign taken alone

    prior:    chance of each cause before anything is noted, 0 and 1 allowed [-], array, one a cause
    strength: chance that a cause alone brings a sign [-], array, causes along rows, signs along columns
    leak:     chance that a sign shows with none of the causes there [-], array, one a sign
    present:  likelihood of what was noted of a sign if it is there [-], array, one a sign
    absent:   likelihood of what was noted of a sign if it is not there [-], array, one a sign
    returns:  ratio, above 1 speaks for the cause, below against [-], causes along rows, signs along columns

    Says how a sign speaks by itself; the posterior takes all together, so ratios do not multiply to it.
    Errors: `OutOfRange` for numbers that are no chances; `Infeasible` where nothing but the cause can bring the sign.
    Source: heckerman1989

    >>> likelihood_ratio([0.5], [[0.8]], [0.1], present=[1.0], absent=[0.0]).round(1).tolist()
    [[8.2]]
    """
    chances, strengths, leaks, there, not_there = _checked(prior, strength, leak, present, absent)
    missing = 1.0 - chances[:, None] * strengths
    # the product over all other causes, from both ends, so that a cause that surely brings the sign divides nothing
    one = np.ones((1, missing.shape[1]))
    before = np.concatenate((one, np.cumprod(missing, axis=0)[:-1]))
    after = np.concatenate((np.cumprod(missing[::-1], axis=0)[-2::-1], one))
    without = (1.0 - leaks) * before * after
    having = without * (1.0 - strengths)
    if np.any(there + (not_there - there) * without <= 0.0):
        raise Infeasible("what was noted of a sign cannot be: no other cause and no chance brings it")
    return np.asarray((there + (not_there - there) * having) / (there + (not_there - there) * without))


# --- the exact answer ------------------------------------------------------------------------------------------------

def _checked(prior: npt.ArrayLike, strength: npt.ArrayLike, leak: npt.ArrayLike, present: npt.ArrayLike,
             absent: npt.ArrayLike) -> tuple[Array, Array, Array, Array, Array]:
    """The numbers as arrays that fit each other, every one a chance."""
    named = {"prior": prior, "strength": strength, "leak": leak, "present": present, "absent": absent}
    arrays = {name: np.asarray(values, dtype=float) for name, values in named.items()}
    for name, values in arrays.items():
        if not np.all((values >= 0.0) & (values <= 1.0)):
            raise OutOfRange(f"{name}: a chance lies between 0 and 1")
    causes, signs = arrays["strength"].shape
    shapes = {"prior": (causes,), "leak": (signs,), "present": (signs,), "absent": (signs,)}
    for name, shape in shapes.items():
        if arrays[name].shape != shape:
            raise OutOfRange(f"{name}: {arrays[name].size} numbers where the strengths ask for {shape[0]}")
    return arrays["prior"], arrays["strength"], arrays["leak"], arrays["present"], arrays["absent"]


def _network(prior: Array, strength: Array, leak: Array, present: Array, absent: Array) -> _Network:
    gone = present == 0.0
    silent = present == absent
    held = ~gone & ~silent
    on = prior * np.prod(1.0 - strength[:, gone], axis=1)
    rest = float(np.prod((1.0 - leak[gone]) * absent[gone]) * np.prod(present[silent & ~gone]))
    linked = (strength > 0.0) & (prior > 0.0)[:, None] & held
    # a sign in doubt that no cause can bring weighs all causes alike
    alone = held & ~linked.any(axis=0)
    rest *= float(np.prod(leak[alone] * present[alone] + (1.0 - leak[alone]) * absent[alone]))
    both, steps = _order(linked, strength)
    taken = {step.cause for step in steps} | set(both)
    free = tuple(cause for cause in range(len(prior)) if cause not in taken)
    opened = {sign for step in steps for sign in step.opened}
    left = tuple(sign for sign in np.flatnonzero(linked.any(axis=0)).tolist() if sign not in opened)
    return _Network(1.0 - prior, on, rest, both, steps, free, left,
                    max((step.held for step in steps), default=0) + len(both))


def _order(linked: npt.NDArray[np.bool_], strength: Array) -> tuple[tuple[int, ...], tuple[_Step, ...]]:
    """Which causes to take both ways, and the others in an order that holds few signs at once.

    A cause with many signs ties them all together; taken both ways it ties none, at twice the work.
    """
    signs_of = {int(cause): frozenset(np.flatnonzero(linked[cause]).tolist())
                for cause in np.flatnonzero(linked.any(axis=1))}
    both: list[int] = []
    steps = _steps(signs_of, strength)
    while max((step.held for step in steps), default=0) > _MANY_HELD:
        most = max(signs_of, key=lambda cause: (len(signs_of[cause]), -cause))
        fewer = {cause: signs for cause, signs in signs_of.items() if cause != most}
        then = _steps(fewer, strength)
        if 2 * _work(then) >= _work(steps):
            break
        both.append(most)
        signs_of, steps = fewer, then
    return tuple(both), steps


def _work(steps: Sequence[_Step]) -> int:
    """Patterns gone through in all."""
    return sum((2 + len(step.links)) << step.held for step in steps)


def _steps(signs_of: Mapping[int, frozenset[int]], strength: Array) -> tuple[_Step, ...]:
    """Each time the cause that brings in the fewest signs, those it is near to finish with counted off."""
    to_come = dict(signs_of)
    left = Counter(sign for signs in signs_of.values() for sign in signs)
    held: list[int] = []
    steps: list[_Step] = []
    while to_come:
        now = frozenset(held)

        def cost(cause: int, now: frozenset[int] = now) -> tuple[float, int]:
            return len(to_come[cause] - now) - sum(1.0 / left[sign] for sign in to_come[cause]), cause

        cause = min(to_come, key=cost)
        mine = to_come.pop(cause)
        opened = tuple(sorted(mine - now))
        for sign in opened:
            held.insert(0, sign)
        width = len(held)
        links = tuple((held.index(sign), float(strength[cause, sign])) for sign in sorted(mine))
        closed = []
        for sign in sorted(mine):
            left[sign] -= 1
            if not left[sign]:
                closed.append((held.index(sign), sign))
                held.remove(sign)
        steps.append(_Step(cause, opened, links, tuple(closed), width))
    return tuple(steps)


def _mixed(network: _Network, on: Array, strength: Array, leak: Array, present: Array, absent: Array) -> tuple[
        Array, Array]:
    """Chances of the causes and the log of the whole, for many weightings side by side.

    on: what each cause weighs when it is there, causes along rows, weightings along columns

    Each way of the causes taken both ways is a column of its own, where they are part of the leak.
    """
    columns, both = on.shape[1], np.array(network.both, dtype=int)
    ways = np.array(list(itertools.product((False, True), repeat=len(both))), dtype=bool)
    ways = ways.reshape(1 << len(both), len(both))
    # ways along rows, signs along columns: what the causes of this way leave of each sign's absence
    missing = np.array([np.prod(1.0 - strength[both[way]], axis=0) for way in ways])
    leaks = np.repeat((1.0 - (1.0 - leak) * missing).T, columns, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        log = np.full((len(ways), columns), np.log(network.rest))
        for at, cause in enumerate(both):
            log += np.log(np.where(ways[:, at, None], on[cause], network.off[cause]))
        for sign in network.left:
            log += np.log(present[sign] * leaks[sign] + absent[sign] * (1.0 - leaks[sign])).reshape(log.shape)
        chance, swept = _sweep(network, np.tile(on, len(ways)), leaks, present, absent)
        log += swept.reshape(log.shape)
        most = log.max(axis=0)
        weights = np.exp(log - most)
        whole = weights.sum(axis=0)
        weights /= whole
        # a way that cannot be has no chances of its own
        each = np.where(weights > 0.0, chance.reshape(len(on), *log.shape), 0.0)
        mixed = (each * weights).sum(axis=1)
        for at, cause in enumerate(both):
            mixed[cause] = weights[ways[:, at]].sum(axis=0)
        return mixed, most + np.log(whole)


def _sweep(network: _Network, on: Array, leak: Array, present: Array, absent: Array) -> tuple[Array, Array]:
    """Forward and back over the causes in order: their chances and the log of the whole, column by column.

    on: what each cause weighs when it is there, causes along rows; leak: signs along rows
    """
    off, columns = network.off, on.shape[1]
    patterns, log, chance = np.ones((1, columns)), np.zeros(columns), np.zeros_like(on)
    kept: list[Array] = []
    for step in network.steps:
        for sign in step.opened:
            patterns = np.concatenate((patterns * (1.0 - leak[sign]), patterns * leak[sign]))
        kept.append(patterns)
        explained = patterns.copy()
        for place, strength in step.links:
            halves = explained.reshape(1 << place, 2, -1)
            halves[:, 1] += strength * halves[:, 0]
            halves[:, 0] *= 1.0 - strength
        patterns = off[step.cause] * patterns + on[step.cause] * explained
        for place, sign in step.closed:
            halves = patterns.reshape(1 << place, 2, -1)
            patterns = (absent[sign] * halves[:, 0] + present[sign] * halves[:, 1]).reshape(-1, columns)
        patterns, log = _scaled(patterns, log)
    for cause in network.free:
        log = log + np.log(off[cause] + on[cause])
        chance[cause] = on[cause] / (off[cause] + on[cause])
    to_come = np.ones((1, columns))
    for step, before in zip(reversed(network.steps), reversed(kept), strict=True):
        for place, sign in reversed(step.closed):
            halves = to_come.reshape(1 << place, 1, -1)
            to_come = np.concatenate((absent[sign] * halves, present[sign] * halves), axis=1).reshape(-1, columns)
        explained = to_come.copy()
        for place, strength in step.links:
            halves = explained.reshape(1 << place, 2, -1)
            halves[:, 0] *= 1.0 - strength
            halves[:, 0] += strength * halves[:, 1]
        without = off[step.cause] * np.einsum("pk,pk->k", before, to_come)
        having = on[step.cause] * np.einsum("pk,pk->k", before, explained)
        chance[step.cause] = having / (without + having)
        to_come = off[step.cause] * to_come + on[step.cause] * explained
        for sign in reversed(step.opened):
            half = len(to_come) // 2
            to_come = (1.0 - leak[sign]) * to_come[:half] + leak[sign] * to_come[half:]
        to_come, _ = _scaled(to_come, log)
    return chance, log


def _scaled(patterns: Array, log: Array) -> tuple[Array, Array]:
    """Patterns brought to 1 at most, so that sixty signs underflow nothing, and the log of the factor taken out."""
    most = patterns.max(axis=0)
    return patterns / most, log + np.log(most)


def _entropy(chance: Array) -> Array:
    """Entropy of yes or no [bit]."""
    inside = np.clip(chance, 1e-300, 1.0)
    outside = np.clip(1.0 - chance, 1e-300, 1.0)
    return -(chance * np.log2(inside) + (1.0 - chance) * np.log2(outside))


def _not_too_wide(width: int) -> None:
    if width > MOST_HELD:
        raise OutOfRange(f"{width} signs present or in doubt hang together, {MOST_HELD} are the most for an exact "
                         "answer: leave out those that are least sure")


def _possible(log: Array) -> None:
    if not np.all(np.isfinite(log)):
        raise Infeasible("what was noted cannot all be: no cause and no chance brings it together")
