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
    spent = {}
    for workers in (1, 2):
        began = time.perf_counter()
        rejudge(work, workers=workers)
        spent[workers] = time.perf_counter() - began
        print(f"{count} clips on {workers}: {spent[workers]:.1f} s, {spent[workers] / count * 1e3:.0f} ms a clip")
    print(f"two over one: {spent[1] / spent[2]:.2f} times (goal 1.8)")


if __name__ == "__main__":
    if not ALONE.items() <= os.environ.items():
        # one process means one core: the numeric libraries read this when they are loaded
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **ALONE})
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
