"""Belts that let go: the date at which they come to their low limit, against SciPy's own fit of the same law."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.optimize import brentq, curve_fit

from beltwright.bench.findings.history import tension_now
from beltwright.bench.findings.judge import Record
from beltwright.mechanics.relaxation import SETTLE
from beltwright.plant.reading import Reading
from beltwright.units import DAY
from tests.bench.drives import a_drive
from tests.bench.findings.visits import MONDAY, found, low, make_up, note_of, plucked

DAYS = (0, 2, 8, 25, 60)
SHARES = (1.50, 1.26, 1.18, 1.12, 1.07)
DRIVE = a_drive(running_h_per_day="12")
START = MONDAY - timedelta(days=DAYS[-1])


def rounds(shares: tuple[float, ...] = SHARES) -> list[Reading]:
    return [each for days, share in zip(DAYS, shares, strict=True)
            for each in plucked(share, share, share, state="as left" if not days else "as found", drive=DRIVE,
                                at=START + timedelta(days=days))]


def by_scipy() -> float:
    """Running time since the setting at which the log-time law through the same readings meets the low limit."""
    hours = np.array(DAYS) * DAY / 2    # half of the day running
    tension = np.array(SHARES) * low(DRIVE)

    def law(run: np.ndarray, level: float, rate: float) -> np.ndarray:
        return np.asarray(level - rate * np.log1p(run / SETTLE))
    # a phone hears a note to a tenth of a hertz and a percent; tension goes with its square
    notes = np.array([note_of(float(each), DRIVE) for each in tension])
    doubt = 2 * tension / notes * np.hypot(0.1 / 12**0.5, 0.01 * notes / 3**0.5)
    (level, rate), _ = curve_fit(law, hours, tension, p0=(tension[0], 1.0), sigma=doubt)
    return float(brentq(lambda run: float(law(np.array(run), level, rate)) - low(DRIVE), 1.0, 5e9))


def test_the_date_is_that_of_scipys_fit_in_running_hours() -> None:
    now = MONDAY + timedelta(hours=1)
    tension = tension_now(Record([make_up(DRIVE)], rounds()), now=now)
    assert tension is not None
    assert tension.crossing is not None
    run = DAYS[-1] * DAY / 2
    assert tension.crossing.readings == 5
    assert tension.crossing.expected == pytest.approx(by_scipy() - run, rel=1e-3)
    assert tension.crossing.not_before < tension.crossing.expected < tension.crossing.not_after


def test_the_date_is_said_with_its_band() -> None:
    now = MONDAY + timedelta(hours=1)
    said = found(rounds(), drive=DRIVE, now=now)["tension-running-down"]
    expected = (now + timedelta(seconds=2 * (by_scipy() - DAYS[-1] * DAY / 2))).date()
    words = said.statement.text("si")
    assert abs((date.fromisoformat(words.split("about ")[1][:10]) - expected).days) <= 1
    assert date.fromisoformat(words.split("not before ")[1][:10]) < expected
    assert len(said.readings) == 3


@pytest.mark.parametrize(("shares", "urgency"), [
    (SHARES, "watch"), ((1.50, 1.235, 1.15, 1.08, 1.025), "plan"),
])
def test_the_nearer_the_date_the_more_urgent(shares: tuple[float, ...], urgency: str) -> None:
    assert found(rounds(shares), drive=DRIVE)["tension-running-down"].urgency == urgency


def test_two_readings_foretell_nothing_and_a_new_setting_begins_anew() -> None:
    assert "tension-running-down" not in found(rounds()[:6], drive=DRIVE)
    again = plucked(1.5, 1.5, 1.5, state="as left", drive=DRIVE, at=MONDAY + timedelta(hours=1))
    assert "tension-running-down" not in found([*rounds(), *again], drive=DRIVE)


def test_belts_that_hold_are_not_said_to_run_down() -> None:
    assert "tension-running-down" not in found(rounds((1.3, 1.3, 1.3, 1.3, 1.3)), drive=DRIVE)
