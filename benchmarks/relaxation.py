"""Foretelling the next re-tension for a plant: all drives at once beside one SciPy fit per drive.

    python benchmarks/relaxation.py [drives]
"""

from __future__ import annotations

import sys
from time import perf_counter

import numpy as np
from scipy.optimize import curve_fit

from beltwright.mechanics.relaxation import SETTLE, fit, time_to_limit
from beltwright.units import DAY, YEAR


def main(drives: int = 10_000, readings: int = 12) -> None:
    rng = np.random.default_rng(1)
    hours = np.sort(rng.uniform(0.0, 200.0, (drives, readings)) * DAY, axis=1)
    hours[:, 0] = 0.0
    uncertainty = np.full(hours.shape, 5.0)
    tension = 320.0 - 9.0 * np.log1p(hours / SETTLE) + rng.normal(0.0, 5.0, hours.shape)

    start = perf_counter()
    ours = time_to_limit(fit(hours, tension, uncertainty), 220.0, hours[:, -1], 5 * YEAR)
    took = perf_counter() - start

    some = min(drives, 1000)
    start = perf_counter()
    for row in range(some):
        curve_fit(lambda h, a, k: a - k * np.log1p(h / SETTLE), hours[row], tension[row], sigma=uncertainty[row],
                  absolute_sigma=True)
    peer = (perf_counter() - start) * drives / some
    print(f"{drives} drives of {readings} readings: {took * 1e3:.1f} ms with bands; one curve_fit each, without bands: "
          f"{peer * 1e3:.0f} ms (from {some}); ratio {peer / took:.0f}")
    print(f"foretold within five years: {np.mean(np.isfinite(ours.expected)):.0%}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
