"""What all votes together are worth: a probability for each candidate, and for "none of these".

Small networks (weights in `judge.npz`, trained by tests/sound/learn_judge.py on made clips, among them clips in
which nothing was plucked) score each candidate; `calibration.csv` turns the best share into a confidence as often right
as it says. Neither has seen the test set.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from beltwright.mechanics.sound.clean import Floats

Prior = Literal["none", "band"]
SURE: Final = 0.8           # confidence below which no answer is given


@dataclass(frozen=True)
class Network:
    """One trained judge."""

    mean: Floats
    spread: Floats
    a: Floats
    b: Floats
    c: Floats
    d: Floats
    e: Floats
    f: Floats
    g: Floats

    def scores(self, rows: Floats, whole: Floats) -> Floats:
        """Score of each candidate, and last of none."""
        both = np.concatenate([rows, np.broadcast_to(whole, (len(rows), whole.size))], axis=1)
        x = np.clip((both - self.mean) / self.spread, -5, 5)
        none = np.tanh(x[0, rows.shape[1]:] @ self.c + self.d) @ self.f + self.g[0]
        return np.append(np.tanh(x @ self.a + self.b) @ self.e, none)


@cache
def networks(stage: int) -> tuple[Network, ...]:
    """The trained judges of a stage, read once: 0 for the grid's candidates, 1 for the few fitted closely."""
    with (files(__package__) / "judge.npz").open("rb") as file, np.load(file, allow_pickle=False) as stored:
        names = ("mean", "spread", "a", "b", "c", "d", "e", "f", "g")
        count = sum(key.startswith(f"{stage}mean") for key in stored.files)
        return tuple(Network(*(stored[f"{stage}{name}{i}"].astype(float) for name in names)) for i in range(count))


def shares(rows: Floats, whole: Floats, stage: int) -> Floats:
    """Probability of each candidate, and last of none of them; sums to one."""
    out = np.zeros(len(rows) + 1)
    for network in networks(stage):
        score = network.scores(rows, whole)
        score = np.exp(score - score.max())
        out += score / score.sum()
    return out / out.sum()


def within(share: Floats, inside: npt.NDArray[np.bool_], doubt: float = 0.02) -> Floats:
    """The same, once it is said where the answer should lie: candidates outside keep `doubt` of their share."""
    weighed = share * np.append(np.where(inside, 1.0, doubt), 0.3)
    return np.asarray(weighed / weighed.sum())


@cache
def _calibration() -> dict[str, tuple[Floats, Floats]]:
    text = (files(__package__) / "calibration.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    return {prior: (np.array([float(r["said"]) for r in rows if r["prior"] == prior]),
                    np.array([float(r["seen"]) for r in rows if r["prior"] == prior]))
            for prior in {r["prior"] for r in rows}}


def confidence(share: float, prior: Prior) -> float:
    """How often a reading with this share was right when the judge was calibrated."""
    said, seen = _calibration()[prior]
    return float(np.interp(share, said, seen))
