"""Findings of a whole plant from its book, beside a plain-Python peer written for the comparison; and of one old drive.

    python benchmarks/findings.py                     10 000 drives, 1 000 000 readings
    python benchmarks/findings.py --drives 1000

The plant is invented: rounds of tension by note on every belt, a straightedge, grooves, speeds, temperatures, words.
Ours opens the book and judges every drive, all topics. The peer gets the same readings from memory and judges tension
alone: for the last round of each drive, tension from the note, its uncertainty and its chance to lie in the band, by
`math`, drive by drive. Printed: time by the clock and on the core, peak memory, milliseconds a drive, and the ratio.
"""

from __future__ import annotations

import argparse
import math
import random
import resource
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

from beltwright.bench.findings.judge import Record, judge
from beltwright.bench.findings.targets import Targets, targets_of_plant
from beltwright.book.opening import create_book, open_book
from beltwright.desk.judge import findings, findings_of_plant
from beltwright.plant.drive import Belts, Drive, MakeUp, Motor, Sheave
from beltwright.plant.identity import new_id
from beltwright.plant.reading import Reading, State, Value
from beltwright.plant.settings import Settings
from beltwright.units import HOUR, INCH, RPM, YEAR

START = datetime(2020, 1, 6, 6, 0, tzinfo=UTC)
NOW = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
BELTS = 4


def drives(count: int) -> list[MakeUp]:
    """`count` drives of section B in stock sizes, four belts each."""
    chance = random.Random(3)
    made = []
    for number in range(count):
        driver, driven = chance.choice((5.4, 5.8, 6.2, 7.0, 7.4, 8.6)), chance.choice((9.4, 11.0, 12.4, 15.4, 18.4))
        drive = Drive(
            f"DRV-{number}", f"fan {number}", motor=Motor(chance.choice((5.5e3, 7.5e3, 11e3, 15e3)), 1460 * RPM),
            driver=Sheave(driver * INCH, "datum", BELTS, "cast iron"),
            driven=Sheave(driven * INCH, "datum", BELTS, "cast iron"),
            belts=Belts(marking=f"B{chance.choice((75, 81, 85, 90, 97, 105, 112, 120))}", count=BELTS),
            service_factor=1.2, hours_a_day=chance.choice((8, 16, 24)) / 24, room=chance.choice((20.0, 30.0)))
        made.append(MakeUp(new_id(), new_id(), START, drive, "Ann", START))
    return made


def readings(make_ups: list[MakeUp], each: int) -> Iterator[Reading]:
    """About `each` readings a drive: rounds of tension with what else is noted on a round."""
    chance = random.Random(5)
    targets = targets_of_plant([make_up.drive for make_up in make_ups])
    rounds = max(1, each // (BELTS + 1))
    step = (NOW - START - timedelta(days=3)) / max(1, rounds - 1)
    for make_up, numbers in zip(make_ups, targets, strict=True):
        assert numbers.set_to is not None
        assert numbers.span is not None
        assert numbers.mass is not None
        right = 1.25 * numbers.set_to.run_in[0] * chance.choice((1,) * 18 + (0.7, 1.6))
        for number in range(rounds):
            at = START + number * step + timedelta(hours=chance.random())

            def note(kind: str, state: State, *, at: datetime = at, drive_id: UUID = make_up.drive_id,
                     **values: Value) -> Reading:
                return Reading(new_id(), drive_id, kind, state, values, {"typed": "as typed"}, at, "Ann")

            state: State = "as left" if number % 5 == 0 else "as found"
            for belt in range(1, BELTS + 1):
                tension = right * (1.1 - 0.04 * (number % 5)) * chance.uniform(0.97, 1.03)
                yield note("frequency", state, belt=belt,
                           frequency=round(math.sqrt(tension / numbers.mass) / (2 * numbers.span), 2))
            kind = number % 8
            if kind == 0:
                yield note("alignment", "as left", face="outer", turned="neither", driver_far=chance.uniform(0, 0.001),
                           driver_near=0.0, driven_near=0.0, driven_far=0.0)
            elif kind == 1:
                yield note("groove", "as found", sheave=chance.choice(("driver", "driven")), groove=1, shine=False,
                           left=0.0009 if chance.random() < 0.03 else 0.0001, right=0.0001)
            elif kind == 2:
                yield note("temperature", "running", where="belt", temperature=chance.uniform(35, 62))
            elif kind == 3:
                yield note("speed", "running", driver_speed=1460 * RPM, driven_speed=1460 * RPM * 0.99 *
                           numbers.known.value("driver_pitch") / numbers.known.value("driven_pitch"))
            else:
                yield note("seen", "running", what=chance.choice(("nothing wrong",) * 19 + ("squeal at start",)))


def peer(records: list[tuple[Targets, list[Reading]]]) -> list[tuple[str, float]]:
    """Tension of the last round by hand: mean strand, its uncertainty, its chance to lie in the band."""
    found = []
    for targets, some in records:
        assert targets.set_to is not None
        assert targets.span is not None
        assert targets.mass is not None
        low, high = targets.set_to.run_in
        last: dict[int, Reading] = {}
        for reading in some:
            if reading.kind == "frequency":
                last[int(reading.values["belt"])] = reading
        worst = 1.0
        for reading in last.values():
            note = float(reading.values["frequency"])
            tension = 4 * targets.mass * (targets.span * note) ** 2
            doubt = tension * math.sqrt((2 * math.hypot(0.1 / 12**0.5, 0.01 * note / 3**0.5) / note) ** 2 +
                                        (2 * targets.span_spread / targets.span) ** 2 +
                                        (targets.mass_spread / targets.mass) ** 2)
            inside = 0.5 * (math.erf((high - tension) / doubt / 2**0.5) - math.erf((low - tension) / doubt / 2**0.5))
            worst = min(worst, inside)
        found.append(("sound" if worst > 0.5 else "mend", worst))
    return found


def plant(count: int, each: int) -> None:
    """The whole plant out of its book."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plant.book"
        make_ups = drives(count)
        with create_book(path, Settings("invented"), by="Ann") as book:
            book.add_make_ups(make_ups)
            noted = book.note_many(readings(make_ups, each))
        with open_book(path) as book:
            clock, core = time.perf_counter(), time.process_time()
            urgencies: dict[str, int] = {}
            for judged in findings_of_plant(book, now=NOW):
                urgencies[judged.findings[0].urgency] = urgencies.get(judged.findings[0].urgency, 0) + 1
            clock, core = time.perf_counter() - clock, time.process_time() - core
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            start = time.process_time()
            for _ in book.readings_of_plant():
                pass
            reading = time.process_time() - start
            few = [(drive_id, list(some)) for (drive_id, some), _ in zip(book.readings_of_plant(), range(1000),
                                                                         strict=False)]
        by_id = {make_up.drive_id: make_up for make_up in make_ups}
        start = time.process_time()
        targets = dict(zip(by_id, targets_of_plant([make_up.drive for make_up in make_ups]), strict=True))
        numbers = time.process_time() - start
        start = time.process_time()
        peer([(targets[drive_id], some) for drive_id, some in few])
        loop = (time.process_time() - start) / len(few)
    ours = core - reading
    print(f"plant of {count} drives, {noted} readings: {clock:.1f} s by the clock, {core:.1f} s cpu, of it "
          f"{reading:.1f} s reading the book; peak {peak:.0f} MiB; {urgencies}")
    print(f"judging alone: {ours / count * 1e3:.3f} ms a drive, all topics, {numbers / count * 1e3:.3f} of it the "
          f"numbers of the drives; peer, tension alone with numbers given: {loop * 1e3:.3f} ms a drive; "
          f"ratio ours to peer {ours / count / loop:.1f}")


def one_drive(years: int = 20) -> None:
    """One drive with weekly readings of every belt for twenty years, from memory."""
    (make_up,) = drives(1)
    weeks = int(years * YEAR / (7 * 24 * HOUR))
    some = list(readings([make_up], weeks * (BELTS + 1)))
    record = Record([make_up], some)
    judge(record, now=NOW)
    times = []
    for _ in range(5):
        start = time.perf_counter()
        judge(record, now=NOW)
        times.append(time.perf_counter() - start)
    with tempfile.TemporaryDirectory() as folder:
        with create_book(Path(folder) / "one.book", Settings("invented"), by="Ann") as book:
            book.add_make_up(make_up)
            book.note_many(some)
        with open_book(Path(folder) / "one.book") as book:
            from_book = []
            for _ in range(5):
                start = time.perf_counter()
                findings(book, make_up.drive.tag, now=NOW)
                from_book.append(time.perf_counter() - start)
    print(f"one drive, {len(some)} readings: {min(times) * 1e3:.1f} ms, out of the book {min(from_book) * 1e3:.1f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description="Findings of a plant, ours beside plain Python.")
    parser.add_argument("--drives", type=int, default=10_000, help="drives of the plant (10000)")
    parser.add_argument("--readings", type=int, default=100, help="readings of each (100)")
    given = parser.parse_args()
    one_drive()
    plant(given.drives, given.readings)


if __name__ == "__main__":
    main()
