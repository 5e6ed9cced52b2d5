"""Whip: one drive's chart and a plant screened, beside plain Python written for the comparison, in the same run.

    python benchmarks/whip.py                     a plant of 10 000 drives out of its book, the loop on 500 of them
    python benchmarks/whip.py --drives 1000

Ours works out the drive from what was read at the machine, then both notes over the tensions, what shakes them, the
clear window or, where there is none, every remedy. The peer gets span, mass, speed and band ready and does the notes
and the window alone, by `math`: the same points for the chart, a search in steps for the window; ours is timed at that
job alone, too. The largest difference of the notes, and of windows beyond the peer's step, is printed. `cpu` is time on
the core, untouched by what else runs.
"""

from __future__ import annotations

import argparse
import math
import random
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from beltwright.bench import whip
from beltwright.bench.findings.targets import Targets, targets_for, targets_of_plant
from beltwright.bench.whip_chart import Whip, setup_for, whip_of
from beltwright.bench.whip_figures import whip_figures
from beltwright.book.opening import create_book, open_book
from beltwright.desk.whip import screen, screened
from beltwright.mechanics.whip_shaken import margin_limits
from beltwright.paper.whip_drawing import tension_chart
from beltwright.plant.drive import Belts, Drive, MakeUp, Motor, Sheave
from beltwright.plant.identity import new_id, now
from beltwright.plant.settings import Settings
from beltwright.units import INCH, RPM, TURN

# steps of the peer's search through the band
STEPS = 60


def drives(count: int) -> list[Drive]:
    """Invented drives of section B in stock sizes, some with pushes and a variable speed."""
    dice = random.Random(7)
    found = []
    for number in range(count):
        driver, driven = dice.choice((5.4, 5.8, 6.2, 7.0, 7.4, 8.6)), dice.choice((9.4, 11.0, 12.4, 15.4, 18.4))
        variable = number % 5 == 0
        found.append(Drive(
            f"DRV-{number}", f"fan {number}",
            motor=Motor(dice.choice((5.5e3, 7.5e3, 11e3, 15e3)), dice.choice((960, 1460, 1750)) * RPM,
                        lowest_speed=600 * RPM if variable else None, highest_speed=1750 * RPM if variable else None),
            driver=Sheave(driver * INCH, "datum", 4, "cast iron"),
            driven=Sheave(driven * INCH, "datum", 4, "cast iron"),
            belts=Belts(marking=f"B{dice.choice((75, 81, 85, 90, 97, 105, 112, 120))}", count=4), service_factor=1.2,
            driven_pulses=float(dice.choice((2, 3, 6))) if number % 3 == 0 else None,
            pulsation=0.3 if number % 6 == 0 else None))
    return found


def peer(targets: Targets) -> Callable[[], tuple[list[tuple[float, float]], tuple[float, float]]]:
    """Notes at the points of the chart, and the widest clear run of the band, by hand; numbers given."""
    made, known = targets.set_to, targets.known
    assert made is not None
    assert targets.span is not None
    assert targets.mass is not None
    assert targets.length is not None
    span, mass, speed, (low, high) = targets.span, targets.mass, made.speed, made.run_in
    pull = known.value("power") / known.value("belts") / speed
    turns = [known.value("driver_rotation") / TURN, known.value("driven_rotation") / TURN]
    shakers = [*turns, speed / targets.length, 2 * speed / targets.length]
    if targets.drive.driven_pulses:
        shakers.append(turns[1] * targets.drive.driven_pulses)
    clear = margin_limits().clear

    def note(tension: float) -> tuple[float, float]:
        both = []
        for lift in (pull / 2, -pull / 2):
            wave = math.sqrt((tension + lift) / mass)
            both.append((wave * wave - speed * speed) / (2 * span * wave))
        return both[0], both[1]

    def work() -> tuple[list[tuple[float, float]], tuple[float, float]]:
        start, end = low * 0.88, made.new[1] * 1.12
        points = [start + (end - start) * step / 48 for step in range(49)]
        curve = [note(tension) for tension in points if (tension - pull / 2) > mass * speed * speed]
        best, begun = (low, low), None
        for step in range(STEPS + 1):
            tension = low + (high - low) * step / STEPS
            if all(abs(each / shaker - 1) >= clear for each in note(tension) for shaker in shakers):
                begun = tension if begun is None else begun
                if tension - begun > best[1] - best[0]:
                    best = (begun, tension)
            else:
                begun = None
        return curve, best
    return work


def same_job(targets: Targets) -> Callable[[], object]:
    """What the peer does, by ours: notes at as many points, and the window."""
    setup = setup_for(targets)
    made = targets.set_to
    assert made is not None
    many = whip.Setup(*(np.repeat(part, 49, axis=0) for part in setup))
    points = np.linspace(made.run_in[0] * 0.9, made.new[1] * 1.12, 49)
    return lambda: (whip.notes_at(many, points), whip.clear_tensions(setup, margin_limits().clear))


def timed(work: Callable[[], object], times: int) -> float:
    """Best of several, on the core [s]."""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def charts(some: list[Drive]) -> None:
    """One drive after the other: all of it, from the record to the drawing."""
    def one(drive: Drive) -> Whip:
        made = whip_of(targets_for(drive))
        whip_figures(made)
        tension_chart(made, "si")
        return made

    one(some[0])
    ours = [timed(lambda drive=drive: one(drive), 3) for drive in some]  # type: ignore[misc]
    theirs = [timed(peer(targets_for(drive)), 3) for drive in some]
    apart, missed = 0.0, 0
    for drive in some:
        made, (curve, best) = one(drive), peer(targets_for(drive))()
        ours_curve = list(zip(made.curves.tight, made.curves.slack, strict=True))
        apart = max(apart, max(abs(a / b - 1) for mine, hand in zip(ours_curve, curve, strict=True)
                               for a, b in zip(mine, hand, strict=True)))
        step = (made.band[1] - made.band[0]) / STEPS
        if made.window is not None and not any(shaker.feeds for shaker in made.shakers):
            missed += not abs((made.window[1] - made.window[0]) - (best[1] - best[0])) <= 2.1 * step
    ours.sort()
    alike = sorted(timed(same_job(targets_for(drive)), 3) for drive in some)
    hand = sorted(theirs)[len(theirs) // 2]
    print(f"chart of one drive, with figures, remedies and drawing, {len(some)} drives: cpu median "
          f"{ours[len(ours) // 2] * 1e3:.1f} ms, slowest {ours[-1] * 1e3:.1f} ms; notes and window alone: "
          f"{alike[len(alike) // 2] * 1e3:.2f} ms, peer {hand * 1e3:.2f} ms, ratio "
          f"{alike[len(alike) // 2] / hand:.1f}; notes differ by {apart:.1e} at most, windows beyond the "
          f"peer's step in {missed}")


def plant(made: list[Drive], few: int) -> None:
    """The plant out of its book."""
    with tempfile.TemporaryDirectory() as folder:
        path, at = Path(folder) / "plant.book", now()
        with create_book(path, Settings("invented"), by="Ann") as book:
            book.add_make_ups([MakeUp(new_id(), new_id(), at, drive, "Ann", at) for drive in made])
        with open_book(path) as book:
            clock, core = time.perf_counter(), time.process_time()
            found = screen(book)
            clock, core = time.perf_counter() - clock, time.process_time() - core
    tally: dict[str, int] = {}
    for each in found:
        tally[each.stands] = tally.get(each.stands, 0) + 1
    alone = timed(lambda: list(screened(made)), 1)
    numbers = timed(lambda: targets_of_plant(made), 1)
    loop = sum(timed(peer(targets_for(drive)), 1) for drive in made[:few]) / len(made[:few])
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"plant of {len(made)} drives screened out of its book: {clock:.2f} s by the clock, {core:.2f} s cpu; peak "
          f"{peak:.0f} MiB; {tally}")
    print(f"screening alone {alone / len(made) * 1e6:.0f} us a drive, of it {numbers / len(made) * 1e6:.0f} us the "
          f"drive's own numbers; peer with those given {loop * 1e6:.0f} us: ratio ours to peer "
          f"{(alone - numbers) / len(made) / loop:.2f}")


def main() -> None:
    parser = argparse.ArgumentParser(description="Whip of a drive and of a plant, ours beside plain Python.")
    parser.add_argument("--drives", type=int, default=10_000, help="drives of the plant (10000)")
    parser.add_argument("--few", type=int, default=60, help="drives charted one by one (60)")
    given = parser.parse_args()
    made = drives(given.drives)
    charts(made[:given.few])
    plant(made, min(500, given.drives))


if __name__ == "__main__":
    main()
