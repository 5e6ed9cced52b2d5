"""Set-to numbers of many drives: ours over arrays beside a plain loop with Python's `math`, in the same run.

    python benchmarks/set_to_numbers.py                     a million drives, the loop on 2000 of them
    python benchmarks/set_to_numbers.py --drives 100000

Both work out geometry, rating, tension with its bands, force and note, and shaft pulls of the same invented B drives.
Printed: time, peak memory of the process, how proportional the time is from 10 000 drives up, the ratio to the loop
per drive, and the largest relative difference of the answers. `cpu` is time on the core, untouched by what else runs.
"""

from __future__ import annotations

import argparse
import math
import resource
import time
from bisect import bisect_right
from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

from beltwright.mechanics.geometry import belt_length
from beltwright.mechanics.setting import SetToNumbers, set_to_numbers
from beltwright.tables import load
from beltwright.units import INCH, RPM

Columns = tuple[npt.NDArray[Any], ...]
SECTION = "B"


def invented(count: int) -> Columns:
    """`count` B drives inside every table: datum and pitch diameters, length, speed, load, belts, mass, stiffness."""
    rng = np.random.default_rng(11)
    driver = rng.uniform(5.4, 9.0, count) * INCH
    driven = driver * rng.uniform(1.0, 3.0, count)
    centre = (driver + driven) * rng.uniform(0.8, 1.6, count)
    length = np.clip(belt_length(driver, driven, centre), 36.8 * INCH, 300 * INCH)
    return (driver, driven, driver + 0.35 * INCH, driven + 0.35 * INCH, length, rng.uniform(870, 1760, count) * RPM,
            rng.uniform(2e3, 40e3, count), rng.uniform(1.0, 1.5, count), rng.integers(1, 9, count).astype(float),
            np.full(count, 0.17), np.full(count, 20.0), rng.random(count) < 0.1)


def plain_loop() -> Callable[..., tuple[float, ...]]:
    """One drive by hand with `math`, written apart from the package; the tables are read beforehand."""
    row: Any = load("ip20_coefficients").where(section=SECTION)[0]
    starts, factors = load("ip20_ratio_factors").column("from_ratio"), load("ip20_ratio_factors").column("factor")
    lengths: Any = [(r["length"], r["factor"]) for r in load("length_factors").where(section=SECTION)]
    whole_lengths = [length for length, _ in lengths]

    def one(driver: float, driven: float, driver_pitch: float, driven_pitch: float, length: float, rotation: float,
            power: float, service_factor: float, belts: float, mass: float, allowance: float,
            lone: bool) -> tuple[float, ...]:
        difference = (driven - driver) / 2
        centre = (length - math.pi / 2 * (driver + driven)) / 2
        for _ in range(100):
            lean = math.asin(difference / centre)
            over = (2 * centre * math.cos(lean) + math.pi / 2 * (driver + driven) + 2 * lean * difference - length)
            step = over / (2 * math.cos(lean))
            centre -= step
            if abs(step) < 1e-13 * centre:
                break
        lean = math.asin(difference / centre)
        driver_wrap, driven_wrap = math.pi - 2 * lean, math.pi + 2 * lean
        least = min(driver_wrap, driven_wrap)
        span = math.sqrt(centre**2 - difference**2)
        speed = rotation * driver_pitch / 2
        ratio = max(driver_pitch, driven_pitch) / min(driver_pitch, driven_pitch)
        arc = 1.25 * (1 - 5 ** (-least / math.pi))
        asked = power * service_factor
        pull = asked / speed / belts
        own = mass * speed**2
        tension = (2.5 / arc - 1) / 2 * pull + own
        stiff = allowance * span / length if lone else allowance
        ends = (tension, 1.5 * tension, 1.5 * tension, 2 * tension)
        forces = [(end + stiff) / 16 for end in ends]
        notes = [math.sqrt(end / mass) / (2 * span) for end in ends]
        tight_over_slack = 5 ** (least / math.pi)
        slack = pull / (tight_over_slack - 1)
        along = belts * (2 * slack + pull) * math.sin(driver_wrap / 2)
        across = belts * pull * math.cos(driver_wrap / 2)
        pulls = [2 * belts * end * math.sin(least / 2) for end in ends]
        small, fast = min(driver_pitch, driven_pitch), rotation * max(1.0, driver_pitch / driven_pitch)
        gain = factors[bisect_right(starts, ratio) - 1]
        d, r = small / row["diameter_base"], fast / row["rotation_base"]
        rated = (d * r * (row["k1"] - row["k2"] / d - row["k3"] * (d * r) ** 2 - row["k4"] * math.log10(d * r))
                 + row["k2"] * r * (1 - 1 / gain)) * row["power_base"]
        place = min(max(bisect_right(whole_lengths, length), 1), len(lengths) - 1)
        (short, low), (long, high) = lengths[place - 1], lengths[place]
        by_length = low + (high - low) * (length - short) / (long - short)
        each = rated * arc * by_length
        return (centre, span, driver_wrap, driven_wrap, speed, ratio, arc, asked, pull, own, tension, span / 64, *ends,
                *forces, *notes, along, across, math.hypot(along, across), math.atan2(across, along), *pulls, rated,
                by_length, each, asked / each, math.ceil(asked / each * (1 - 1e-9)), each * belts / power)

    return one


def leaves(tree: Any) -> list[npt.NDArray[np.float64]]:
    return [leaf for branch in tree for leaf in leaves(branch)] if isinstance(tree, tuple) else [tree]


def timed(drives: Columns, repeats: int) -> tuple[float, float]:
    """Best time of a few runs, by the clock and on the core [s]."""
    by_clock, on_core = math.inf, math.inf
    for _ in range(repeats):
        clock, core = time.perf_counter(), time.process_time()
        set_to_numbers(SECTION, "rma", *drives)
        by_clock, on_core = min(by_clock, time.perf_counter() - clock), min(on_core, time.process_time() - core)
    return by_clock, on_core


def main() -> None:
    parser = argparse.ArgumentParser(description="Set-to numbers of many drives, ours beside a plain loop.")
    parser.add_argument("--drives", type=int, default=1_000_000, help="drives for ours (1000000)")
    parser.add_argument("--sample", type=int, default=2_000, help="drives for the loop (2000)")
    given = parser.parse_args()
    drives = invented(given.drives)
    few = min(given.drives, 10_000)

    fewer = tuple(column[:few].copy() for column in drives)
    timed(fewer, repeats=3)
    few_clock, few_core = timed(fewer, repeats=50)
    clock, core = timed(drives, repeats=5)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024

    sample = tuple(column[:given.sample] for column in drives)
    one = plain_loop()
    rows = list(zip(*(column.tolist() for column in sample), strict=True))
    start = time.process_time()
    answers = [one(*row) for row in rows]
    loop = (time.process_time() - start) / len(rows)
    ours: SetToNumbers = set_to_numbers(SECTION, "rma", *sample)
    # an angle of zero has no relative difference: a drive of ratio one pulls straight along the centres
    apart = max(float(np.max(np.abs(a - b) / np.maximum(np.abs(b), 1e-9)))
                for a, b in zip(leaves(ours), np.array(answers).T, strict=True))

    times = given.drives / few
    print(f"set-to numbers, {given.drives} drives: {clock:.2f} s by the clock, {core:.2f} s cpu, peak {peak:.0f} MiB")
    print(f"from {few} to {given.drives} drives: {clock / few_clock / times:.2f} times proportional by the clock, "
          f"{core / few_core / times:.2f} cpu")
    print(f"plain loop: {loop * 1e6:.1f} us a drive, ours {core / given.drives * 1e6:.2f} us: "
          f"{loop * given.drives / core:.0f} times as fast")
    print(f"largest relative difference of {len(leaves(ours))} figures on {len(rows)} drives: {apart:.1e}")


if __name__ == "__main__":
    main()
