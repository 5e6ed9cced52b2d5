"""Train the judge on votes written by `learn_votes`.

`python -m tests.sound.learn_judge 0 tuning.npz --calibration calibration.npz --write`

Small networks of tanh units score each candidate and the answer "none of them"; a softmax over both is the
probability, which the calibration set then turns into a confidence. Plain NumPy, fixed seeds. `--write` puts the
weights and the table where `mechanics.sound.judge` reads them.
"""

from __future__ import annotations

import ast
import sys
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from beltwright.mechanics.sound import judge

Array = npt.NDArray[np.float64]
HIDDEN, HIDDEN_NONE = 24, 10
TOLERANCE = {0: 0.03, 1: 0.02}     # a grid candidate this close is right: the fit may still move it
SOUND = Path(judge.__file__).parent


def say(text: str) -> None:
    sys.stdout.write(text + "\n")


def load(path: str, stage: int = 1) -> dict[str, Any]:
    d = dict(np.load(path))
    d["owner"] = np.repeat(np.arange(d["truths"].size), np.diff(d["starts"]))
    off = np.abs(d["heard"] / np.where(d["truths"] > 0, d["truths"], 1e9)[d["owner"]] - 1)
    d["right"] = off < TOLERANCE[stage]
    d["off"] = off
    return d


def score(weights: dict[str, Array], rows: Array, wholes: Array, owner: npt.NDArray[np.int64]) -> tuple[Array, ...]:
    x = (np.concatenate([rows, wholes[owner]], axis=1) - weights["mean"]) / weights["spread"]
    x = np.clip(x, -5, 5)
    w = x[:, rows.shape[1]:]
    starts = np.flatnonzero(np.diff(owner, prepend=-1))
    z = w[starts]
    hidden = np.tanh(x @ weights["a"] + weights["b"])
    none = np.tanh(z @ weights["c"] + weights["d"])
    return x, z, hidden, none, hidden @ weights["e"], none @ weights["f"] + weights["g"][0]


def shares(candidate: Array, none: Array, owner: npt.NDArray[np.int64]) -> tuple[Array, Array]:
    top = np.maximum.reduceat(candidate, np.flatnonzero(np.diff(owner, prepend=-1)))
    top = np.maximum(top, none)
    up, up_none = np.exp(candidate - top[owner]), np.exp(none - top)
    total = np.add.reduceat(up, np.flatnonzero(np.diff(owner, prepend=-1))) + up_none
    return up / total[owner], up_none / total


def judged(weights: dict[str, Array], d: dict[str, Any]) -> tuple[Array, Array]:
    """Probability of every candidate of every clip, and of none of them."""
    *_, candidate, none = score(weights, d["rows"], d["wholes"], d["owner"])
    return shares(candidate, none, d["owner"])


def train(d: dict[str, Any], rounds: int = 60, seed: int = 1, ridge: float = 2e-3) -> dict[str, Array]:
    rng = np.random.default_rng(seed)
    both = np.concatenate([d["rows"], d["wholes"][d["owner"]]], axis=1)
    weights = {"mean": both.mean(0), "spread": both.std(0) + 1e-3,
               "a": rng.normal(0, 0.15, (both.shape[1], HIDDEN)), "b": np.zeros(HIDDEN),
               "c": rng.normal(0, 0.2, (d["wholes"].shape[1], HIDDEN_NONE)), "d": np.zeros(HIDDEN_NONE),
               "e": rng.normal(0, 0.2, HIDDEN), "f": rng.normal(0, 0.2, HIDDEN_NONE), "g": np.zeros(1)}
    free = ["a", "b", "c", "d", "e", "f", "g"]
    m, v, step = {k: np.zeros_like(weights[k]) for k in free}, {k: np.zeros_like(weights[k]) for k in free}, 0
    clips = d["truths"].size
    starts = d["starts"]
    for epoch in range(rounds):
        order = rng.permutation(clips)
        rate = 4e-3 * 0.5 * (1 + np.cos(np.pi * epoch / rounds)) + 1e-5
        for batch in np.array_split(order, max(1, clips // 64)):
            index = np.concatenate([np.arange(starts[b], starts[b + 1]) for b in batch])
            owner = np.repeat(np.arange(batch.size), starts[batch + 1] - starts[batch])
            x, z, hidden, none, candidate, empty = score(weights, d["rows"][index], d["wholes"][batch], owner)
            p, p_none = shares(candidate, empty, owner)
            right = d["right"][index] * p
            mass = np.bincount(owner, right, batch.size)
            known = np.bincount(owner, d["right"][index], batch.size) > 0
            # gradient of -log(mass of the right answer): p - (posterior among the right ones)
            slope = (p - np.where(known[owner], right / (mass[owner] + 1e-12), 0.0)) / batch.size
            slope_none = (p_none - np.where(known, 0.0, 1.0)) / batch.size
            gradient = {"e": hidden.T @ slope, "f": none.T @ slope_none, "g": np.array([slope_none.sum()])}
            back = np.outer(slope, weights["e"]) * (1 - hidden**2)
            back_none = np.outer(slope_none, weights["f"]) * (1 - none**2)
            gradient |= {"a": x.T @ back, "b": back.sum(0), "c": z.T @ back_none, "d": back_none.sum(0)}
            step += 1
            for k in free:
                g = gradient[k] + ridge * weights[k]
                m[k] = 0.9 * m[k] + 0.1 * g
                v[k] = 0.999 * v[k] + 0.001 * g * g
                weights[k] = weights[k] - rate * (m[k] / (1 - 0.9**step)) / (np.sqrt(v[k] / (1 - 0.999**step)) + 1e-8)
    return weights


def report(sets: list[dict[str, Array]], d: dict[str, Any], title: str) -> None:
    p = np.mean([judged(w, d)[0] for w in sets], axis=0)
    what = np.array([str(k).split("'")[1] for k in d["kinds"]])
    best = np.array([a + np.argmax(p[a:b]) for a, b in zip(d["starts"][:-1], d["starts"][1:], strict=True)])
    right, said, off = d["right"][best], p[best], d["off"][best]
    reach = np.bincount(d["owner"], d["right"], d["truths"].size) > 0
    for kind in ("belt", "string"):
        k = what == kind
        sure = k & (said >= 0.8)
        say(f"{title} {kind}: n {k.sum()} recall {reach[k].mean():.3f} right {right[k].mean():.3f} "
            f"answered {sure.sum() / k.sum():.3f} right of those {right[sure].mean():.4f} "
            f"off>5% {(off[sure] > .05).mean():.4f}")
    k = what == "none"
    say(f"{title} none: answered {(said[k] >= 0.8).mean():.4f}")
    kinds = [ast.literal_eval(str(x).replace("nan", "0")) for x in d["kinds"]]
    b = what == "belt"
    plucks, snr = np.array([x[2] for x in kinds]), np.array([x[3] for x in kinds])
    for name, sel in [(f"plucks {i}", plucks == i) for i in range(1, 6)] + [
            ("f<12", d["truths"] < 12), ("f 12-30", (d["truths"] >= 12) & (d["truths"] < 30)),
            ("f 30-60", (d["truths"] >= 30) & (d["truths"] < 60)), ("f>60", d["truths"] >= 60), ("snr<10", snr < 10),
            ("snr10-20", (snr >= 10) & (snr < 20)), ("snr>20", snr >= 20),
            ("good", (plucks >= 2) & (snr >= 10) & (d["truths"] >= 12))]:
        s = sel & b
        say(f"   {name}: {s.sum()} recall {reach[s].mean():.3f} right {right[s].mean():.3f} "
            f"sure {(said[s] >= .8).mean():.3f}")


def merged(paths: list[str], stage: int) -> dict[str, Any]:
    """Several files of votes as one."""
    parts = [load(path, stage) for path in paths]
    out = {key: np.concatenate([part[key] for part in parts]) for key in parts[0] if key not in ("starts", "owner")}
    out["starts"] = np.concatenate([[0], np.cumsum(np.concatenate([np.diff(part["starts"]) for part in parts]))])
    out["owner"] = np.repeat(np.arange(out["truths"].size), np.diff(out["starts"]))
    return out


def write(sets: list[dict[str, Array]], stage: int) -> None:
    """Put a stage's judges beside those of the other stage."""
    stored: dict[str, Any] = {}
    if (SOUND / "judge.npz").exists():
        with np.load(SOUND / "judge.npz") as old:
            stored = {key: old[key] for key in old.files if key[0] in "01" and key[0] != str(stage)}
    stored |= {f"{stage}{key}{i}": value.astype(np.float32)
               for i, one in enumerate(sets) for key, value in one.items()}
    np.savez_compressed(SOUND / "judge.npz", **stored)


def calibrate(sets: list[dict[str, Array]], d: dict[str, Any]) -> None:
    """Said against seen, with and without a band, on clips the judges have not met; isotonic, then a few knots."""
    from scipy.optimize import isotonic_regression
    p = np.mean([np.append(a, b) for a, b in
                 (judged(w, d) for w in sets)], axis=0)
    p, none = p[: d["owner"].size], p[d["owner"].size:]
    rng = np.random.default_rng(9)
    rows = ["# title: How often a reading was right, by the share the judges gave it",
            "# source: tests/sound/learn_judge.py on the made clips of the calibration set",
            f"# clips: {d['truths'].size}, of which {int((d['truths'] == 0).sum())} without a pluck",
            "prior,said,seen,clips"]
    for prior in ("none", "band"):
        said, right = [], []
        for _ in range(1 if prior == "none" else 3):
            for i in range(d["truths"].size):
                own = slice(d["starts"][i], d["starts"][i + 1])
                q, heard, off = np.append(p[own], none[i]), d["heard"][own], d["off"][own]
                if prior == "band":
                    centre = d["truths"][i] or np.exp(rng.uniform(np.log(7), np.log(120)))
                    centre *= np.exp(rng.uniform(-0.3, 0.3))
                    alone = int(np.argmax(q[:-1]))
                    q = judge.within(q, (heard > centre / 1.4) & (heard < centre * 1.4))
                    best = int(np.argmax(q[:-1]))
                    if best != alone:
                        continue
                best = int(np.argmax(q[:-1]))
                said.append(q[best])
                right.append(off[best] < TOLERANCE[1])
        order = np.argsort(said)
        x, y = np.array(said)[order], np.array(right, float)[order]
        fitted = isotonic_regression(y).x
        pieces = np.array_split(np.arange(x.size), min(24, max(8, x.size // 60)))
        knots = [(0.0, 0.0, 0)] + [(float(x[k].mean()), float(fitted[k].mean()), k.size) for k in pieces]
        knots.append((1.0, float(min(0.999, fitted[pieces[-1]].max())), 0))
        rows += [f"{prior},{a:.5f},{min(b, 0.999):.4f},{n}" for a, b, n in knots]
    (SOUND / "calibration.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    stage, cut = int(sys.argv[1]), sys.argv.index("--calibration")
    learned = merged(sys.argv[2:cut], stage)
    unseen = merged([a for a in sys.argv[cut + 1:] if not a.startswith("--")], stage)
    judges = [train(learned, seed=s) for s in range(3)]
    report(judges, learned, "learned")
    report(judges, unseen, "calibration")
    if "--write" in sys.argv:
        write(judges, stage)
        if stage:
            calibrate(judges, unseen)
