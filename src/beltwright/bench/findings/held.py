"""Tensions held against what the drive is set to, for many drives at once: band, chances, evenness, decay, stiffness.

What each drive's occasions need is chosen here, the numbers come from mechanics in one call each. Says nothing in
words: `tension`, `relaxing` and `moves` do.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final

import numpy as np

from beltwright.bench.findings.fitted import Fitted
from beltwright.bench.findings.noted import OCCASION, Asked, ByKind, Case, current, in_time, occasions, of_part
from beltwright.bench.findings.strands import Occasion, Strands, strands
from beltwright.bench.findings.targets import Pair
from beltwright.errors import BeltwrightError
from beltwright.mechanics import relaxation, stretch
from beltwright.mechanics.evenness import evenness, uneven
from beltwright.mechanics.uncertainty import instrument_uncertainty, shares
from beltwright.plant.reading import Reading

# a line foretells no further than this many times the running time it was read over
FORETELL: Final = 10.0
_KINDS: Final = ("force", "frequency")


@dataclass(frozen=True, slots=True)
class Chances:
    """How likely a tension lies below its band, inside it, above it."""

    below: float
    inside: float
    above: float


@dataclass(frozen=True, slots=True)
class Apart:
    """How far the belts of a set pull apart: slackest to tightest over the mean, and whether errors explain it."""

    spread: float
    more_than_errors: bool


@dataclass(frozen=True, slots=True)
class Taught:
    """Tension per move of the motor, as the drive's own moves show it [N/m]."""

    slope: float
    uncertainty: float
    moves: int
    known: bool


@dataclass(frozen=True, slots=True)
class Crossing:
    """When tension comes down to the low limit: running time from now [s], infinite for not in sight."""

    not_before: float
    expected: float
    not_after: float
    readings: int


@dataclass(slots=True)
class Tension:
    """A drive's tension as it stands: the set as read last, against the band for belts of that age.

    strands:   none when the last occasion tells no tension; unread: its readings, then
    new:       whether they were new belts then; band: what they are held against; low: of run-in belts
    moved:     the motor was moved since, and nothing read
    """

    strands: Strands | None
    unread: tuple[Reading, ...] = ()
    new: bool = False
    band: Pair | None = None
    moved: datetime | None = None
    chances: tuple[Chances, ...] = ()
    mean_chances: Chances | None = None
    apart: Apart | None = None
    crossing: Crossing | None = None
    taught: Taught | None = None


def tensions(cases: Sequence[Case]) -> list[Tension | None]:
    """The tension of each drive as it stands; none for a drive of whose belts no tension was read."""
    there = [at for at, case in enumerate(cases) if case.asked is not None]
    read = strands([(cases[at].targets, each.occasions) for at in there if (each := cases[at].asked) is not None])
    found: list[Tension | None] = [None] * len(cases)
    decays: list[tuple[Tension, list[tuple[float, Strands]], Case]] = []
    for at, sets in zip(there, read, strict=True):
        case = cases[at]
        each = case.asked
        assert each is not None
        found[at] = tension = _stand(case, each, sets)
        tension.taught = _taught(each, sets)
        if tension.strands is not None and tension.moved is None and len(each.since_set) >= relaxation.READINGS_NEEDED:
            decays.append((tension, _decay(case, each, sets), case))
    held = [each for each in found if each is not None and each.strands is not None]
    _give_chances([each for each in held if each.band is not None])
    _give_evenness(held)
    _give_crossings(decays)
    return found


def asked(noted: ByKind, fitted: Fitted) -> Asked | None:
    """Which occasions of reading tension are to be worked out; none where no tension of these belts was read."""
    readings = _of_both_kinds(noted, fitted)
    if not readings:
        return None
    moves = of_part(noted, fitted, "motor move", "belts")
    found = occasions(readings, [move.taken_at for move in moves])
    now = current(found)
    wanted = [found[now]]
    place = {now: 0}

    def put(at: int) -> int:
        if at not in place:
            place[at] = len(wanted)
            wanted.append(found[at])
        return place[at]

    begun = _last_setting(fitted, found, now)
    enough = now - begun + 1 >= relaxation.READINGS_NEEDED
    since_set = [put(at) for at in range(begun, now + 1)] if enough else []
    return Asked(wanted, 0, since_set, _pairs(found, moves, put) if moves else ())


def trimmed(noted: ByKind, asks: Asked | None) -> ByKind:
    """The notes without the tension readings of years that nothing is asked of: a plant's would fill the memory."""
    if asks is None:
        return noted
    kept = sorted((reading for occasion in asks.occasions for reading in occasion), key=in_time)
    found = dict(noted)
    for kind in _KINDS:
        if kind in noted:
            some = [reading for reading in kept if reading.kind == kind]
            last = noted[kind][-1]
            found[kind] = some if some and some[-1] is last else [*some, last]
    return found


def _of_both_kinds(noted: ByKind, fitted: Fitted) -> Sequence[Reading]:
    forces, notes = (of_part(noted, fitted, kind, "belts") for kind in _KINDS)
    if not forces or not notes:
        return forces or notes
    return sorted([*forces, *notes], key=in_time)


def _last_setting(fitted: Fitted, found: Sequence[Occasion], now: int) -> int:
    """The first of the occasions since the belts were last set: the one as left, or the first after the last move."""
    moved = fitted.moved_at
    begun = now
    while begun > 0 and found[begun][0].state != "as left":
        if moved is not None and found[begun - 1][-1].taken_at < moved:
            break
        begun -= 1
    return begun


def _pairs(found: Sequence[Occasion], moves: Sequence[Reading],
           put: Callable[[int], int]) -> list[tuple[int, float, float, int]]:
    """Pairs of readings with a move between them, on one visit: before, move, its uncertainty, after."""
    pairs: list[tuple[int, float, float, int]] = []
    at = 0
    for before, after in pairwise(range(len(found))):
        left, right = found[before][-1].taken_at, found[after][0].taken_at
        while at < len(moves) and moves[at].taken_at < left:
            at += 1
        between = []
        while at < len(moves) and moves[at].taken_at <= right:
            between.append(float(moves[at].values["move"]))
            at += 1
        if between and sum(between) and right - left <= OCCASION:
            doubt = sum(float(instrument_uncertainty("rule at the slide rail", move)) ** 2 for move in between) ** 0.5
            pairs.append((put(before), sum(between), doubt, put(after)))
    return pairs


def _stand(case: Case, asks: Asked, sets: Sequence[Strands | None]) -> Tension:
    now = sets[asks.now]
    last = max(asks.occasions[asks.now], key=lambda reading: reading.taken_at)
    moved = case.fitted.moved_at
    if moved is not None and moved <= last.taken_at:
        moved = None
    if now is None:
        return Tension(None, tuple(asks.occasions[asks.now]), moved=moved)
    new = case.fitted.new(now.at)
    wants = case.targets.set_to
    return Tension(now, now.unusable, new, None if wants is None else wants.new if new else wants.run_in, moved)


def _give_chances(held: Sequence[Tension]) -> None:
    """Chances of each belt and of the mean, all drives in one call."""
    if not held:
        return
    rows = []
    for each in held:
        now, band = each.strands, each.band
        assert now is not None
        assert band is not None
        rows += [(T, u, *band) for T, u in zip(now.tension, now.spread, strict=True)]
        rows.append((now.mean, now.mean_spread, *band))
    value, spread, low, high = np.array(rows).T
    below, inside, above = (np.asarray(column).tolist() for column in shares(value, spread, low, high))
    at = 0
    for each in held:
        assert each.strands is not None
        end = at + len(each.strands.belts)
        each.chances = tuple(map(Chances, below[at:end], inside[at:end], above[at:end]))
        each.mean_chances = Chances(below[end], inside[end], above[end])
        at = end + 1


def _give_evenness(held: Sequence[Tension]) -> None:
    """How far belts pull apart: all sets of one number of belts in one call."""
    by_count: dict[int, list[Tension]] = {}
    for each in held:
        now = each.strands
        if now is not None and len(now.belts) > 1 and min(now.tension) > 0.0:
            by_count.setdefault(len(now.belts), []).append(each)
    for some in by_count.values():
        T = np.array([each.strands.tension for each in some if each.strands is not None])  # noqa: N806
        u = np.array([each.strands.own for each in some if each.strands is not None])
        spread, beyond = np.asarray(evenness(T, u).spread).tolist(), np.asarray(uneven(T, u)).tolist()
        for each, wide, more in zip(some, spread, beyond, strict=True):
            each.apart = Apart(wide, more)


def _decay(case: Case, asks: Asked, sets: Sequence[Strands | None]) -> list[tuple[float, Strands]]:
    """The sets since the last setting, each with its running hours since then; none where the hours are not known."""
    some = [each for at in asks.since_set if (each := sets[at]) is not None and each.mean > 0.0]
    if not some:
        return []
    first, fitted = some[0], case.fitted
    begin: datetime | None = first.at
    if first.state != "as left":
        begin = fitted.moved_at if fitted.moved_at is not None and fitted.moved_at <= first.at else (
            fitted.since.get("belts"))
    if begin is None:
        return []
    run = fitted.hours(begin) or 0.0
    return [(max(0.0, fitted.ran(begin, each.at) if hours is None else hours - run), each)
            for each in some for hours in (fitted.hours(each.at),)]


def _give_crossings(decays: Sequence[tuple[Tension, list[tuple[float, Strands]], Case]]) -> None:
    """When each drive's tension comes down to its low limit, all drives in one call."""
    fit = [(tension, rows, case) for tension, rows, case in decays
           if len(rows) >= relaxation.READINGS_NEEDED and case.targets.set_to is not None]
    if not fit:
        return
    width = max(len(rows) for _, rows, _ in fit)
    table = np.zeros((3, len(fit), width))
    table[2] = np.inf
    for at, (_, rows, _) in enumerate(fit):
        table[:, at, :len(rows)] = np.array([(run, each.mean, max(each.mean_own, 1e-6 * each.mean))
                                             for run, each in rows]).T
    good = np.asarray(relaxation.enough(table[0], table[2]))
    fit = [each for each, holds in zip(fit, good.tolist(), strict=True) if holds]
    if not fit:
        return
    hours, tension, own = table[:, good]
    line = relaxation.fit(hours, tension, own)
    limits = np.array([case.targets.set_to.run_in[0] for _, _, case in fit if case.targets.set_to is not None])
    now = np.array([_running_now(rows, case) for _, rows, case in fit])
    read_for = np.max(hours, axis=-1)
    shared = np.array([rows[-1][1].mean_shared for _, rows, _ in fit])
    crossing = relaxation.time_to_limit(line, limits, now, np.maximum(now, FORETELL * read_for),
                                        limit_uncertainty=shared)
    for (each, rows, _), begun, least, likely, most in zip(fit, now.tolist(), *(
            np.asarray(time).tolist() for time in crossing), strict=True):
        each.crossing = Crossing(least - begun, likely - begun, most - begun, len(rows))


def _running_now(rows: Sequence[tuple[float, Strands]], case: Case) -> float:
    run, last = rows[-1]
    return run + max(0.0, case.fitted.ran(last.at, case.now))


def _taught(asks: Asked, sets: Sequence[Strands | None]) -> Taught | None:
    """What the drive's own moves say of its stiffness; none where they say nothing."""
    rows = [(before.mean, before.mean_own, move, doubt, after.mean, after.mean_own)
            for start, move, doubt, end in asks.moves
            if (before := sets[start]) is not None and (after := sets[end]) is not None]
    if not rows:
        return None
    before, before_own, move, doubt, after, after_own = np.array(rows).T
    try:
        learned = stretch.learn(before, move, after, before_uncertainty=before_own, move_uncertainty=doubt,
                                after_uncertainty=after_own)
    except BeltwrightError:
        return None
    slope, uncertainty = float(learned.slope), float(learned.uncertainty)
    return Taught(slope, uncertainty, learned.moves, bool(stretch.known(slope, uncertainty)))
