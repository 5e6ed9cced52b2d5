"""Re-check intervals: what is printed, and when each falls due on a drive run hour by hour."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics.recheck import again, once, recheck, rechecks
from beltwright.tables import cite
from beltwright.units import DAY, HOUR, MINUTE

times = st.floats(0.0, 1e7)


def test_printed_intervals() -> None:
    run_in, first_shift, first_days = (recheck(name) for name in ("run-in", "first shift", "first days"))
    assert (run_in.low, run_in.high) == pytest.approx((15 * MINUTE, 20 * MINUTE))
    assert (first_shift.low, first_shift.source, first_shift.trust) == (8 * HOUR, "mil1164", "read")
    assert (first_days.low, first_days.high) == (24 * HOUR, 48 * HOUR)
    weekly = recheck("weekly look")
    assert (weekly.low, weekly.clock, weekly.repeats, weekly.action) == (7 * DAY, "calendar", True, "look")
    assert recheck("day of operation").low == DAY


def test_every_interval_is_whole_and_says_who_says_so() -> None:
    for each in rechecks():
        assert cite(each.source)
        assert 0.0 <= each.low <= each.high
        assert each.action in ("set", "read", "look")
        # what comes round goes by the calendar, what new belts need goes by running time
        assert (each.clock == "calendar") == each.repeats
        assert (each.belts == "new") == (not each.repeats)
    assert len({each.name for each in rechecks()}) == len(rechecks())
    assert np.isinf(recheck("seat").high)


def test_one_name_not_in_the_table_lists_the_others() -> None:
    with pytest.raises(NotKnown, match="first shift"):
        recheck("whenever")


@given(st.lists(st.integers(0, 100), max_size=6), st.integers(1, 60), st.integers(0, 60))
def test_a_recheck_is_due_exactly_while_its_time_has_come_and_nobody_read(
        read_at: list[int], low: int, width: int) -> None:
    """A drive run hour by hour, its readings played back, against a flag kept by hand."""
    done = False
    last = 0
    for hour in range(101):
        standing = once(hour * HOUR, last * HOUR, low * HOUR, (low + width) * HOUR)
        assert bool(standing.due) == (hour >= low and not done)
        assert bool(standing.overdue) == (hour > low + width and not done)
        if hour in read_at:
            last = hour
            done = done or hour >= low


@given(times, times, st.floats(0.0, 1e6))
def test_more_running_never_makes_a_recheck_less_due(hours: float, more: float, low: float) -> None:
    now, later = again(hours, low, 2 * low), again(hours + more, low, 2 * low)
    assert bool(now.due) <= bool(later.due)
    assert bool(now.overdue) <= bool(later.overdue)
    assert bool(now.overdue) <= bool(now.due)


def test_drives_side_by_side() -> None:
    standing = once(np.array([10.0, 30.0, 60.0, 60.0]) * HOUR, np.array([0.0, 8.0, 8.0, 30.0]) * HOUR,
                    24 * HOUR, 48 * HOUR)
    assert list(np.asarray(standing.due)) == [False, True, True, False]
    assert list(np.asarray(standing.overdue)) == [False, False, True, False]


def test_times_before_the_beginning_are_refused() -> None:
    with pytest.raises(OutOfRange, match="hours"):
        once(-1.0, 0.0, HOUR, DAY)
    with pytest.raises(OutOfRange, match="since"):
        again(-1.0, HOUR, DAY)
