"""When to come back to a drive: the published re-check intervals, and whether one is due.

Intervals are data (table `recheck`), each with who says so; they disagree, and a plant picks its own from them. New
belts go by running hours, later looks by the calendar. Must not import other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, NamedTuple, cast

import numpy as np

from beltwright.errors import NotKnown
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import at_least_zero
from beltwright.tables import Trust, load

Action = Literal["set", "read", "look"]
Clock = Literal["running", "calendar"]


@dataclass(frozen=True, slots=True)
class Recheck:
    """One published interval.

    belts:     which it is for: `new`, `all` or `critical`
    action:    `set` (read and set again), `read` the tension, or `look` from outside the guard
    low, high: when it falls due and by when it has to be done [s]; infinite where no end is printed
    clock:     whether running time or the calendar counts
    """

    name: str
    belts: str
    action: Action
    low: float
    high: float
    clock: Clock
    repeats: bool
    words: str
    source: str
    trust: Trust


class Standing(NamedTuple):
    """Whether a re-check is to be made, and whether it should have been made already."""

    due: Mask
    overdue: Mask


@cache
def rechecks() -> tuple[Recheck, ...]:
    """The published intervals, those of new belts first.

    table recheck

    returns: intervals, times in them in seconds [s]

    Source: bloch

    >>> [each.name for each in rechecks() if each.action == "set"]
    ['seat', 'run-in', 'day of operation', 'first days']
    """
    return tuple(_recheck(cast("dict[str, float | str | None]", row)) for row in load("recheck").rows)


def _recheck(row: dict[str, float | str | None]) -> Recheck:
    clock: Clock = "running" if row["from_h"] is not None else "calendar"
    low, high = (row["from_h"], row["to_h"]) if clock == "running" else (row["from_d"], row["to_d"])
    return Recheck(str(row["name"]), str(row["belts"]), cast(Action, row["action"]), cast(float, low),
                   np.inf if high is None else cast(float, high), clock, row["repeats"] == "yes",
                   str(row["words"]), str(row["source"]), cast(Trust, row["trust"]))


def recheck(interval: str) -> Recheck:
    """The published interval of that name.

    table recheck

    interval: its name, such as `run-in` [-]
    returns:  the interval, times in it in seconds [s]

    Errors: `NotKnown` for a name the table has not.
    Source: bloch

    >>> from beltwright.units import HOUR
    >>> recheck("first shift").low / HOUR
    8.0
    """
    for each in rechecks():
        if each.name == interval:
            return each
    raise NotKnown(f"no re-check called {interval!r}: use one of {', '.join(each.name for each in rechecks())}")


def once(hours: Numbers, last_read: Numbers, low: Numbers, high: Numbers) -> Standing:
    """Whether a re-check of new belts is due: its time has come, and nobody has read them since it came.

    due: h >= low and last < low; overdue: due and h > high

    hours:     running time now, since the belts were fitted or set [s], scalar or array
    last_read: running time at the last reading of tension, 0 for as left [s], scalar or array
    low:       running time from which it is due [s], scalar or array
    high:      running time by which it has to be done [s], scalar or array
    returns:   due and overdue [-], each in the shape of the broadcast inputs

    A reading made before its time does not count for it: belts had not let go by then. An interval that begins at
    zero is kept by the reading as left.
    Errors: `OutOfRange` for times below zero.
    Source: practice

    >>> from beltwright.units import HOUR
    >>> [bool(each) for each in once(hours=30 * HOUR, last_read=0.0, low=24 * HOUR, high=48 * HOUR)]
    [True, False]
    """
    at_least_zero("time", hours=hours, last_read=last_read, low=low)
    due = (np.asarray(hours) >= low) & (np.asarray(last_read) < low)
    return Standing(due, due & (np.asarray(hours) > high))


def again(since: Numbers, low: Numbers, high: Numbers) -> Standing:
    """Whether a look that comes round is due: so much time has gone by since the last.

    due: t >= low; overdue: t > high

    since:   time since the last look or reading [s], scalar or array
    low:     time from which it is due [s], scalar or array
    high:    time by which it has to be done [s], scalar or array
    returns: due and overdue [-], each in the shape of the broadcast inputs

    Errors: `OutOfRange` for times below zero.
    Source: practice

    >>> from beltwright.units import DAY
    >>> [bool(each) for each in again(8 * DAY, low=7 * DAY, high=7 * DAY)]
    [True, True]
    """
    at_least_zero("time", since=since, low=low)
    due = np.asarray(since) >= low
    return Standing(due, due & (np.asarray(since) > high))
