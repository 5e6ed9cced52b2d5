"""What listening costs: memory of its tables alone, processor time by plucks and by step, and a cold command.

`python benchmarks/listening_cost.py [clips]`. Each figure comes from a process of its own on one thread; times are of
the processor, so that what else the machine does counts little.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.sound import clips
from tests.sound.strings import RATE

from beltwright.mechanics.sound import comb, judge, refusal, votes
from beltwright.mechanics.sound.clean import clean
from beltwright.mechanics.sound.hear import attend, decide

ALONE = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
TABLES = """
import tracemalloc
import numpy as np, scipy.fft, scipy.linalg, scipy.ndimage, scipy.signal
from beltwright.mechanics.sound import clean, comb, hear
def resident():
    with open("/proc/self/statm") as file:
        return int(file.read().split()[1]) * 4096
def everything():
    # a ringing of every length there is a table for, then a whole clip
    for seconds in comb.LENGTHS:
        comb.explained(comb.bank(np.ones(int(seconds * clean.SLOW))))
    rng = np.random.default_rng(0)
    t = np.arange(48000) / 16000
    hear(np.where(t > 0.5, np.exp(-3 * (t - 0.5)) * np.sin(250 * t), 0) + 1e-3 * rng.standard_normal(48000), 16000.0)
before = resident()
tracemalloc.start()
everything()
held, peak = tracemalloc.get_traced_memory()
tracemalloc.stop()
print(held / 1e6, peak / 1e6, (resident() - before) / 1e6)
"""


def tables() -> None:
    said = subprocess.run([sys.executable, "-c", TABLES], capture_output=True, text=True, check=True).stdout.split()
    held, peak, grown = map(float, said)
    print(f"tables, all lengths of ringing: {held:.0f} MB held, {peak:.0f} MB at most while working; the process grew "
          f"by {grown:.0f} MB (goal 100 MB)")


def cold() -> None:
    clip = clips.belt_clip((9, 1), coded="wav")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "clip.m4a"
        path.write_bytes(clips.encode(clip.sound, clip.rate, "m4a"))
        line = [sys.executable, "-m", "beltwright", "listen", str(path)]
        walls, works = [], []
        for _ in range(3):
            before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
            subprocess.run(line, capture_output=True, check=False)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            walls.append(time.perf_counter() - began)
            works.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    print(f"cold `beltwright listen`: {min(walls):.2f} s, of them {min(works):.2f} s of the processor; best of 3 (goal "
          "2 s)")


def steps(count: int) -> None:
    for seconds in comb.LENGTHS:
        comb.explained(comb.bank(np.ones(int(seconds * 2000))))
    names = ("ruled out beforehand", "made ready", "votes", "first judge", "close fits, second judge", "answer")
    rows, plucks, lengths = [], [], []
    for number in range(count):
        clip = clips.made("test", number)
        marks = [time.process_time()]
        refusal.beforehand(clip.sound, clip.rate)
        marks.append(time.process_time())
        ready = clean(clip.sound, clip.rate)
        marks.append(time.process_time())
        if not ready.plucks:
            continue
        said = votes.take(ready)
        marks.append(time.process_time())
        judge.shares(*votes.features(said, ready, votes.candidates(said)), 0)
        marks.append(time.process_time())
        heard = attend(clip.sound, clip.rate)
        whole = time.process_time() - marks[-1]
        marks.append(marks[0] + whole)
        last = time.process_time()
        decide(heard, None)  # type: ignore[arg-type]
        rows.append([*np.diff(marks), time.process_time() - last])
        plucks.append(len(ready.plucks))
        lengths.append(clip.sound.size / clip.rate)
    spent, found = np.array(rows) * 1e3, np.array(plucks)
    total = spent.sum(axis=1)
    print(f"\n{len(rows)} clips of the test set, {np.mean(lengths):.1f} s on average, processor ms: median / 95th "
          "percentile / most")
    for name, column in zip((*names, "all"), (*spent.T, total), strict=True):
        print(f"  {name:<26} {np.median(column):6.1f} {np.percentile(column, 95):6.1f} {column.max():6.1f}")
    for onsets in range(1, 7):
        own = total[found == onsets]
        if own.size:
            print(f"  {onsets} onsets: {np.median(own):.0f} ms, most {own.max():.0f} ms of {own.size}")
    three = total * 3 / np.array(lengths)
    print(f"  per 3 s: median {np.median(three):.0f}, 95th percentile {np.percentile(three, 95):.0f}, most "
          f"{three.max():.0f} (goal 150)")


def crowded() -> None:
    """The dearest 3 s there are: six plucks, in noise, coded."""
    rng = np.random.default_rng(4)
    worst = []
    for seed in range(12):
        clip = clips.belt_clip((17, seed), coded="wav")
        one = clip.sound[: int(0.5 * RATE)]
        sound = np.tile(one, 6) + 1e-3 * rng.standard_normal(6 * one.size)
        began = time.process_time()
        heard = attend(sound, RATE)
        worst.append((time.process_time() - began) * 1e3)
        del heard
    print(f"  3 s with half a second six times over: median {np.median(worst):.0f} ms, most {max(worst):.0f} ms")


if __name__ == "__main__":
    if not ALONE.items() <= os.environ.items():
        # one core: the numeric libraries read this when they are loaded
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **ALONE})
    print(f"machine's load beforehand {os.getloadavg()[0]:.1f}")
    tables()
    cold()
    steps(int(sys.argv[1]) if len(sys.argv) > 1 else 150)
    crowded()
