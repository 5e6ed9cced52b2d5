"""A start worked out: ours beside SciPy's `solve_ivp` on the same equations, to the same tolerance, in the same run.

    python benchmarks/starting.py               every start once with each of SciPy's methods
    python benchmarks/starting.py --tolerance 1e-6
    python benchmarks/starting.py --quick       the plain method alone

The peer is what one would write first: the rates as a function, moments of slip as events, one call a stretch; plain is
`solve_ivp` as it comes (RK45), stiff methods stand beside it. Printed: processor time, the ratio, and how far each ends
from a start integrated a thousand times as closely (speeds and slip time). The whole answer for a drive (the start, and
two more for the tensions that hold, heat and figures) comes last.
"""

from __future__ import annotations

import argparse
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.bench.drives import a_drive
from tests.mechanics.starts import ByScipy, Start, by_scipy, slip_time, start

from beltwright.bench import starts
from beltwright.bench.findings.targets import targets_for
from beltwright.bench.start_figures import start_figures
from beltwright.paper.start_plot import start_plot

T = TypeVar("T")

# name, start, time it takes: tension, kind of load and inertia chosen so that belts hold, chirp and slip for seconds
CASES = (("holds, fan", start(600.0), 8.0), ("slips 2.7 s, fan", start(300.0), 8.0),
         ("slips long, fan", start(220.0), 12.0), ("holds, conveyor", start(600.0, kind="conveyor"), 28.0),
         ("slips, conveyor", start(260.0, kind="conveyor"), 28.0),
         ("stiff cord, light motor", start(300.0, rigidity=4e5, own=0.03), 8.0))
METHODS = ("RK45", "LSODA", "BDF", "Radau")


def timed(work: Callable[[], T], repeats: int) -> tuple[float, T]:
    """Least processor time of some repeats, and the answer."""
    best, answer = float("inf"), None
    for _ in range(repeats):
        begun = time.process_time()
        answer = work()
        best = min(best, time.process_time() - begun)
    assert answer is not None
    return best, answer


def off(speeds: tuple[float, float], slipped: float, exact: ByScipy) -> str:
    """How far an answer is from the exact one: the worse speed, and slip time."""
    worst = max(abs(one / float(true) - 1.0) for one, true in zip(speeds, exact.state[:2], strict=True))
    return f"{worst:7.0e} {abs(slipped - exact.slip_time) * 1e3:8.2f} ms"


def one(name: str, made: Start, until: float, tolerance: float, methods: tuple[str, ...]) -> list[float]:
    """A start by all; the ratios."""
    # to where ours sees that nothing changes any more, and no further: all work out the same stretch of time
    until = made.run(longest=until, tolerance=tolerance).time[-1]
    exact = by_scipy(made, until, method="Radau", rtol=1e-3 * tolerance, atol_share=1e-3 * tolerance)
    ours, course = timed(lambda: made.run(longest=until, tolerance=tolerance), 5)
    print(f"{name}\n  ours   {ours * 1e3:8.1f} ms  {len(course.time):6} steps            off "
          f"{off((course.driver[-1], course.driven[-1]), slip_time(course), exact)}")
    ratios = []
    for method in methods:
        took, theirs = timed(lambda method=method: by_scipy(  # type: ignore[misc]
            made, until, method=method, rtol=tolerance, atol_share=tolerance), 1)
        ratios.append(took / ours)
        print(f"  {method:6} {took * 1e3:8.1f} ms  {theirs.calls:6} calls  x{took / ours:6.1f}  off "
              f"{off((float(theirs.state[0]), float(theirs.state[1])), theirs.slip_time, exact)}")
    return ratios


def whole(repeats: int = 5) -> None:
    """All that a page says of a start."""
    targets = targets_for(a_drive(motor_design="B", starting="straight on the line", start_load="fan",
                                  driven_inertia_kg_m2="6"))

    def answer(tension: float) -> starts.Start:
        starts._course.cache_clear()
        return starts.start(targets, None, starts.Ask(tension=tension))

    for tension in (400.0, 150.0):
        took, made = timed(lambda tension=tension: answer(tension), repeats)  # type: ignore[misc]
        drawn, _ = timed(lambda made=made: (start_figures(made), start_plot(made, "si")), repeats)  # type: ignore[misc]
        print(f"a drive's start at {tension:.0f} N, with least tensions, heat and pull: {took * 1e3:.1f} ms; "
              f"figures and drawing: {drawn * 1e3:.1f} ms")

    def others() -> tuple[starts.Otherwise, ...]:
        starts._course.cache_clear()
        return starts.otherwise(targets, None)

    took, _ = timed(others, repeats)
    print(f"all four ways of starting: {took * 1e3:.1f} ms")


def main() -> None:
    """Every start, and the least and middle ratio by method."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--tolerance", type=float, default=1e-5)
    parser.add_argument("--quick", action="store_true")
    asked = parser.parse_args()
    methods = METHODS[:1] if asked.quick else METHODS
    # SciPy's own estimate of slopes overflows now and then, harmlessly
    warnings.filterwarnings("ignore", "overflow encountered", RuntimeWarning)
    rows = [one(*case, asked.tolerance, methods) for case in CASES]
    for place, method in enumerate(methods):
        ratios = sorted(row[place] for row in rows)
        middle = ratios[len(ratios) // 2]
        print(f"{method}: ours {ratios[0]:.1f} to {ratios[-1]:.1f} times as fast, middle {middle:.1f}")
    whole()


if __name__ == "__main__":
    main()
