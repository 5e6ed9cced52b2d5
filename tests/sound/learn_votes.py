"""Votes of many made clips, written down once, for `learn_judge`.

`python -m tests.sound.learn_votes 0 tuning 0:2000 0:900 0:300 first.npz` writes what the first judge looks at;
with `1` instead of `0` what the second looks at, after the first has been written. Belts, clips without a pluck and
long-ringing strings, in that order.
"""

from __future__ import annotations

import sys

import numpy as np

from beltwright.mechanics.sound import votes
from beltwright.mechanics.sound.clean import clean
from beltwright.mechanics.sound.comb import FIRST
from beltwright.mechanics.sound.hear import Attended, attend
from tests.sound import clips


def span(text: str) -> range:
    first, last = text.split(":")
    return range(int(first), int(last))


def looked_at(clip: clips.Clip, stage: int) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
    """Rows, outline and notes of the candidates of a clip; none where it is refused beforehand."""
    if stage:
        # a band beside nothing in particular now and then, as in use
        band = None if clip.truth is None else (clip.truth / 1.4, clip.truth * 1.4)
        heard = attend(clip.sound, clip.rate, band if int(clip.sound.size) % 3 == 0 else None)
        if not isinstance(heard, Attended):
            return None
        return heard.rows, heard.whole, np.array([fit.frequency for fit in heard.fits])
    ready = clean(clip.sound, clip.rate)
    if not ready.plucks:
        return None
    said = votes.take(ready)
    found = votes.candidates(said)
    return *votes.features(said, ready, found), FIRST[found]


def main(stage: int, which: clips.Set, belts: str, empties: str, strings: str, out: str) -> None:
    rows, wholes, heard, starts, truths, kinds = [], [], [], [0], [], []
    for what, numbers in (("belt", belts), ("none", empties), ("string", strings)):
        for i in span(numbers):
            clip = (clips.string_clip((clips.SEEDS[which] + 900_000, i)) if what == "string" else
                    clips.made(which, i, empty=what == "none"))
            seen = looked_at(clip, stage)
            if seen is None:
                continue
            rows.append(seen[0])
            wholes.append(seen[1])
            heard.append(seen[2])
            starts.append(starts[-1] + len(seen[2]))
            truths.append(clip.truth or 0.0)
            kinds.append(str((what, clip.kind, clip.plucks, clip.snr, clip.coded, i)))
    np.savez_compressed(out, rows=np.concatenate(rows), wholes=np.array(wholes), heard=np.concatenate(heard),
                        starts=np.array(starts), truths=np.array(truths), kinds=np.array(kinds))


if __name__ == "__main__":
    main(int(sys.argv[1]), *sys.argv[2:7])  # type: ignore[arg-type]
