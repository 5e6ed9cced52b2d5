"""Centre distance from belt length: ours for a million drives beside a loop of SciPy's `brentq`, in the same run.

    python benchmarks/centre_distance.py            the loop on every tenth drive, ours on all of them
    python benchmarks/centre_distance.py --full     the loop on every drive too
    python benchmarks/centre_distance.py --drives 100000

Both solve the same drives: ratios 1 to 15, from sheaves that all but touch to long spans. Printed: time per drive,
the ratio, and the largest relative difference of the answers. `elementwise.find_root`, SciPy's own way with arrays,
stands beside them as the harder peer.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq, elementwise

from beltwright.mechanics.geometry import belt_length, centre_from_length

Drives = tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.float64]]
TOLERANCE = 1e-12


def invented(count: int) -> Drives:
    """Driver, driven and belt length of `count` drives that can exist, in metres."""
    rng = np.random.default_rng(20)
    driver = rng.uniform(0.06, 0.6, count)
    driven = driver * np.exp(rng.uniform(0.0, math.log(15.0), count))
    centre = (driver + driven) / 2 * (1 + 10 ** rng.uniform(-6.0, 1.0, count))
    return driver, driven, np.asarray(belt_length(driver, driven, centre))


def too_long(centre: float, driver: float, driven: float, length: float) -> float:
    lean = math.asin((driven - driver) / (2 * centre))
    return 2 * centre * math.cos(lean) + math.pi / 2 * (driver + driven) + lean * (driven - driver) - length


def looped(driver: npt.NDArray[np.float64], driven: npt.NDArray[np.float64],
           length: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    # plain floats from lists: quicker for the loop than taking elements out of arrays
    return np.array([brentq(too_long, (small + large) / 2, belt / 2, (small, large, belt), TOLERANCE, TOLERANCE)
                     for small, large, belt in zip(driver.tolist(), driven.tolist(), length.tolist(), strict=True)])


def in_arrays(driver: npt.NDArray[np.float64], driven: npt.NDArray[np.float64],
              length: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    def excess(centre: npt.NDArray[np.float64], small: npt.NDArray[np.float64], large: npt.NDArray[np.float64],
               belt: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        lean = np.arcsin((large - small) / (2 * centre))
        return 2 * centre * np.cos(lean) + np.pi / 2 * (small + large) + lean * (large - small) - belt

    found = elementwise.find_root(excess, ((driver + driven) / 2, length / 2), args=(driver, driven, length),
                                  tolerances={"xrtol": TOLERANCE})
    return np.asarray(found.x)


def timed(solve: Callable[..., object], drives: Drives, repeats: int) -> tuple[float, npt.NDArray[np.float64]]:
    """Best time of a few runs, per drive [s], and the answers."""
    best, answers = math.inf, np.empty(0)
    for _ in range(repeats):
        start = time.perf_counter()
        answers = np.asarray(solve(*drives))
        best = min(best, time.perf_counter() - start)
    return best / answers.size, answers


def main() -> None:
    parser = argparse.ArgumentParser(description="Centre distance from belt length, ours beside SciPy.")
    parser.add_argument("--drives", type=int, default=1_000_000, help="drives for ours (1000000)")
    parser.add_argument("--full", action="store_true", help="loop over every drive, not every tenth")
    given = parser.parse_args()
    drives = invented(given.drives)
    sample: Drives = drives if given.full else (drives[0][::10], drives[1][::10], drives[2][::10])

    ours, centres = timed(centre_from_length, drives, repeats=5)
    loop, by_loop = timed(looped, sample, repeats=1)
    arrays, by_arrays = timed(in_arrays, sample, repeats=1)
    mine = centres if given.full else centres[::10]

    print(f"{'':32}{'drives':>10}{'per drive':>12}{'ours is':>14}{'differs by':>12}")
    print(f"{'centre_from_length':32}{centres.size:>10}{ours * 1e9:>9.0f} ns")
    for name, taken, answers in (("SciPy brentq, a loop", loop, by_loop),
                                 ("SciPy elementwise.find_root", arrays, by_arrays)):
        apart = float(np.max(np.abs(answers / mine - 1)))
        print(f"{name:32}{answers.size:>10}{taken * 1e9:>9.0f} ns{taken / ours:>6.0f} x faster{apart:>12.1e}")


if __name__ == "__main__":
    main()
