"""The invented plant of the examples as a book with readings, jobs aside: for the tests of pages and their pictures."""

from __future__ import annotations

import csv
import math
import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from beltwright.bench.known import complete
from beltwright.book.opening import create_book
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.reading import Reading, State, Value
from beltwright.plant.settings import Settings
from beltwright.units import to_si

EXAMPLES = Path(__file__).parents[2] / "examples" / "pellet_mill.csv"
ENTERED = datetime(2025, 3, 3, 7, 30, tzinfo=UTC)
PLANT = "Northfield pellet mill"
EVERY = timedelta(days=61)


def mill(path: Path, *, until: datetime) -> Path:
    """The plant, with nine visits to FAN-12, two months apart, the last of them a few days before `until`."""
    with create_book(path, Settings(PLANT), by="Ann Berg") as book, EXAMPLES.open(encoding="utf-8", newline="") as file:
        rows = rows_from(list(csv.DictReader(file, delimiter=";")))
        handed = hand_in(book, rows, by="Ann Berg", at=ENTERED)
        assert not handed.understood.problems
        fan = book.drive_by_tag("FAN-12")
        longer = replace(fan.drive, centre=1.0827, typed={**fan.drive.typed, "centre_in": "42 5/8"})
        since = datetime(2026, 6, 20, 9, tzinfo=UTC)
        book.add_make_up(MakeUp(new_id(), fan.drive_id, since, longer, "Jo Lind", since))
        book.note_many(visits(fan, until))
    return path


def visits(fan: MakeUp, until: datetime) -> list[Reading]:
    """Readings as a mechanic would bring them: belts slacken, the more slowly the longer, and are set every fourth
    visit; slip and bearing are read each time, the driver's grooves gauged twice."""
    dice = random.Random(12)
    known = complete(fan.drive)
    ratio = known.value("driver_pitch") / known.value("driven_pitch")
    found = []
    for visit in range(9):
        when = until - timedelta(days=4) - EVERY * (8 - visit)
        visits_since_set = (visit + 2) % 4 + 1
        for belt in (1, 2, 3):
            slack = 1.7 * math.log2(1 + visits_since_set)
            found.append(_note(fan, "as found", when, belt, 26.6 - slack + dice.uniform(-0.3, 0.3)))
            if visits_since_set == 4:
                found.append(_note(fan, "as left", when + timedelta(hours=1), belt, 26.3 + dice.uniform(-0.3, 0.3)))
        driver = to_si(1762 + dice.uniform(-3, 3), "rpm", "rotation")
        slip = 0.006 + 0.003 * visits_since_set + dice.uniform(-0.001, 0.001)
        found.append(_reading(fan, "speed", "running", when, {
            "driver_speed": driver, "driven_speed": driver * ratio * (1 - slip)}))
        found.append(_reading(fan, "temperature", "running", when, {
            "where": "driven bearing", "temperature": round(50 + dice.uniform(-4, 5), 1)}))
        if visit in (1, 5):
            found += [_reading(fan, "groove", "as found", when, {
                "sheave": "driver", "groove": groove, "left": 0.0001 * visit + 0.00005 * groove, "right": 0.0001})
                for groove in (1, 2, 3)]
    found.append(_reading(fan, "seen", "running", when, {"what": "squeal at start"}))
    return found


def _note(fan: MakeUp, state: State, when: datetime, belt: int, frequency: float) -> Reading:
    return _reading(fan, "frequency", state, when, {"belt": belt, "frequency": round(frequency, 1)})


def _reading(fan: MakeUp, kind: str, state: State, when: datetime, values: dict[str, Value]) -> Reading:
    typed = {name: str(value) for name, value in values.items()}
    return Reading(new_id(), fan.drive_id, kind, state, values, typed, when, "Jo Lind")
