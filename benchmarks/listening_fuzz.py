"""Ten thousand broken clips through the reader of clips: no crash, no hang, bounded memory.

`python benchmarks/listening_fuzz.py [count]`
"""

from __future__ import annotations

import resource
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.sound import damage

from beltwright.desk.clips import decode
from beltwright.errors import InputError


def main(count: int) -> None:
    damage.whole()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    outcomes: Counter[str] = Counter()
    slowest, began = 0.0, time.monotonic()
    for number in range(count):
        data = damage.broken(number)
        start = time.monotonic()
        try:
            decode(data)
            outcomes["read"] += 1
        except InputError as problem:
            outcomes[str(problem).split(":")[0]] += 1
        slowest = max(slowest, time.monotonic() - start)
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"{count} broken clips in {time.monotonic() - began:.0f} s; slowest {slowest:.2f} s; peak memory "
          f"{after / 1024:.0f} MB (before {before / 1024:.0f} MB)")
    for words, times in outcomes.most_common(12):
        print(f"  {times:6d}  {words}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
