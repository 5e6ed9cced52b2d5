"""Clips of a book judged again: one process beside two, in the same run, and a cold start.

`python benchmarks/listening_rejudge.py [clips]`
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.sound import clips

from beltwright.desk.listen import listen, rejudge

ALONE = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
COLD = """
import sys, time
began = time.perf_counter()
from beltwright.desk.listen import listen
listen(sys.stdin.buffer.read())
print(time.perf_counter() - began)
"""


def main(count: int) -> None:
    some = [clips.belt_clip((9, number), coded="wav") for number in range(20)]
    files = [clips.encode(clip.sound, clip.rate, "aac") for clip in some]
    listen(files[0])
    cold = subprocess.run([sys.executable, "-c", COLD], input=files[0], capture_output=True, check=True)
    print(f"cold: first clip judged {float(cold.stdout):.2f} s after the interpreter (goal 2 s for the command)")
    work = [files[i % len(files)] for i in range(count)]
    lengths = sum(clip.sound.size / clip.rate for clip in some) / len(some)
    print(f"{count} AAC clips, {lengths:.1f} s long on average; machine's load {os.getloadavg()[0]:.1f} beforehand")
    wall: dict[int, list[float]] = {1: [], 2: []}
    for _ in range(2):
        # one, two, one, two: what else the machine does falls on both
        for workers in wall:
            began, before = time.perf_counter(), _work()
            rejudge(work, workers=workers)
            wall[workers].append(time.perf_counter() - began)
            spent = _work() - before
            print(f"on {workers}: {wall[workers][-1]:.1f} s, {wall[workers][-1] / count * 1e3:.0f} ms a clip; "
                  f"of processor time {spent / count * 1e3:.0f} ms a clip")
    print(f"two over one: {min(wall[1]) / min(wall[2]):.2f} times (goal 1.8)")


def _work() -> float:
    """Processor time [s] of this process and its ended children."""
    return sum(os.times()[:4])


if __name__ == "__main__":
    if not ALONE.items() <= os.environ.items():
        # one process means one core: the numeric libraries read this when they are loaded
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **ALONE})
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
