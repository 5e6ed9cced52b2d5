"""How well a plucked span is heard: the goals, measured, beside general pitch estimators in the same run.

`python benchmarks/listening.py [belts] [empties] [peers] [processes]` runs the proof on the made clips of the test set
(seeds that nothing was tuned or calibrated on), on sampled strings rendered by fluidsynth, and times it by the time one
thread works, since a machine may be busy. No real belt is in the data.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.sound import clips, sampled
from tests.sound.strings import RATE, Sound

from beltwright.mechanics.sound import Heard, clean, comb, hear
from beltwright.mechanics.sound.hear import Attended, attend, decide

SURE = 0.8
STUDY = 8.0     # Hz: the study's clips begin here; below it is a harder set of its own


@dataclass(frozen=True)
class Judged:
    """One clip of the proof: the truth, and what was heard plain, with a right band, and with a wrong one."""

    clip: clips.Clip        # without its samples
    length: float           # s
    plain: Heard
    band: Heard
    wrong: Heard
    seconds: float


def off(heard: Heard, truth: float) -> float:
    return abs(heard.frequency / truth - 1) if heard.frequency else 1.0


def belt(number: int) -> Judged:
    clip = clips.made("test", number)
    assert clip.truth is not None
    rng = np.random.default_rng((7, number))
    centre = clip.truth * np.exp(rng.uniform(-0.3, 0.3))
    away = clip.truth * np.exp(rng.choice([-1, 1]) * rng.uniform(0.4, 0.9))
    band, beside = ((c / 1.4, c * 1.4) for c in (centre, away))
    began = time.process_time()
    heard = attend(clip.sound, clip.rate, band)
    plain = decide(heard, None) if isinstance(heard, Attended) else heard
    seconds = time.process_time() - began
    inside = decide(heard, band) if isinstance(heard, Attended) else heard
    return Judged(replace(clip, sound=clip.sound[:0]), clip.sound.size / clip.rate, plain, inside,
                  hear(clip.sound, clip.rate, beside), seconds)


def empty(number: int) -> tuple[str, Heard]:
    clip = clips.made("test", number, empty=True)
    return clip.kind, hear(clip.sound, clip.rate)


def string(instrument: str, belt_like: bool) -> list[tuple[float, bool]]:
    """How far off each note of an instrument was read, and whether it was answered."""
    place, out = list(sampled.INSTRUMENTS).index(instrument), []
    for number, note in enumerate(sampled.notes(instrument)):
        sound, _ = sampled.clip(note, (11, place, number), belt_like)
        said = hear(sound, RATE)
        out.append((off(said, note.frequency), said.refused is None))
    return out


def warmed() -> None:
    """Tables made beforehand, so that no clip pays for them."""
    for seconds in comb.LENGTHS:
        comb.explained(comb.bank(np.ones(int(seconds * clean.SLOW))))
    warm = clips.made("tuning", 0)
    hear(warm.sound, warm.rate)


def line(name: str, value: float, goal: str, count: int) -> None:
    print(f"{name:<66} {value:8.2%}   goal {goal:<8} of {count}")


def proof(every: list[Judged]) -> None:
    for title, low in ((f"made belts from {STUDY:.0f} to 120 Hz", STUDY), ("made belts from 6 to 120 Hz", 0.0)):
        chosen = [j for j in every if (j.clip.truth or 0) >= low]
        print(f"\n{title}: {len(chosen)} clips")
        for prior, goal in (("plain", ">= 90 %"), ("band", ">= 95 %")):
            errors = np.array([off(getattr(j, prior), j.clip.truth or 1) for j in chosen])
            sure = np.array([getattr(j, prior).refused is None for j in chosen])
            line(f"{prior}: within 2 percent", float((errors < 0.02).mean()), goal, len(chosen))
            line(f"{prior}: answered at confidence {SURE}", float(sure.mean()), ">= 85 %", len(chosen))
            line(f"{prior}: right of those answered", float((errors[sure] < 0.02).mean()), ">= 98.5 %", int(sure.sum()))
            line(f"{prior}: off by more than 5 percent of those", float((errors[sure] > 0.05).mean()), "<= 0.5 %",
                 int(sure.sum()))
        wrong = np.array([j.wrong.refused is None and off(j.wrong, j.clip.truth or 1) > 0.02 for j in chosen])
        line("truth outside the band: answered wrongly", float(wrong.mean()), "<= 5 %", len(chosen))
        good = [j for j in chosen if j.clip.good]
        errors = np.array([off(j.plain, j.clip.truth or 1) for j in good])
        line("good captures: within 2 percent", float((errors < 0.02).mean()), ">= 98 %", len(good))
        line("good captures: median error", float(np.median(errors)), "<= 0.25 %", len(good))
        right = [j for j in chosen if j.plain.refused is None and off(j.plain, j.clip.truth or 1) < 0.05]
        z = np.array([abs(j.plain.frequency - j.clip.truth) / j.plain.uncertainty for j in right
                      if j.plain.frequency and j.plain.uncertainty and j.clip.truth])
        line("answered: truth within one / two standard uncertainties", float((z < 1).mean()), "68 %", len(right))
        line("", float((z < 2).mean()), "95 %", len(right))
    print("\nshare within 2 percent, by plucks and by note (plain / band / answered)")
    groups: list[tuple[str, Callable[[clips.Clip], bool]]] = [
        *((f"{n} plucks", lambda c, n=n: c.plucks == n) for n in range(1, 6)),
        *((f"{a} to {b} Hz", lambda c, a=a, b=b: a <= (c.truth or 0) < b)
          for a, b in ((6, 8), (8, 12), (12, 30), (30, 60), (60, 121))),
        *((kind, lambda c, kind=kind: c.coded == kind) for kind in ("wav", "opus", "aac")),
        *((kind, lambda c, kind=kind: c.kind == kind) for kind in ("plain", "hum", "knocked", "overload"))]
    for name, test in groups:
        some = [j for j in every if test(j.clip)]
        if some:
            print(f"  {name:<14} n {len(some):4d}  "
                  + " / ".join(f"{np.mean([off(getattr(j, p), j.clip.truth or 1) < 0.02 for j in some]):.3f}"
                               for p in ("plain", "band"))
                  + f" / {np.mean([j.plain.refused is None for j in some]):.3f}")
    spent = np.array([j.seconds for j in every]) * 1e3
    print("\nprocessor time of one thread after decoding (goal 150 ms for 3 s)")
    for name, times in (("a clip", spent), ("per 3 s", spent * np.array([3 / j.length for j in every]))):
        print(f"  {name:<8} median {np.median(times):.0f} ms, 95th percentile {np.percentile(times, 95):.0f} ms, "
              f"most {times.max():.0f} ms")


BINS = ((0, 0.2), (0.2, 0.5), (0.5, 0.8), (0.8, 0.9), (0.9, 0.97), (0.97, 1.01))


def said_and_seen(every: list[Judged], none: list[Heard]) -> None:
    print("\nconfidence said against seen (share right within 2 percent, clips without a pluck counted as wrong)")
    pairs = {prior: [(getattr(j, prior).confidence, off(getattr(j, prior), j.clip.truth or 1) < 0.02) for j in every]
             for prior in ("plain", "band")}
    table("no band", pairs["plain"] + [(h.confidence, False) for h in none])
    table("no band, belts only", pairs["plain"])
    table("band x1.4", pairs["band"])
    groups: list[tuple[str, Callable[[clips.Clip], bool]]] = [
        *((kind, lambda c, kind=kind: c.kind == kind) for kind in ("plain", "hum", "knocked", "overload")),
        *((kind, lambda c, kind=kind: c.coded == kind) for kind in ("wav", "opus", "aac")),
        ("one pluck", lambda c: c.plucks == 1), ("two", lambda c: c.plucks == 2), ("more", lambda c: c.plucks > 2),
        ("under 12 Hz", lambda c: (c.truth or 0) < 12), ("over 12 Hz", lambda c: (c.truth or 0) >= 12)]
    print("  by kind, no band: mean said / seen under 0.8, then from 0.8 on")
    for name, test in groups:
        own = [pair for pair, j in zip(pairs["plain"], every, strict=True) if test(j.clip)]
        parts = [[pair for pair in own if (pair[0] >= SURE) == sure] for sure in (False, True)]
        print(f"    {name:<12} " + "   ".join(
            f"{np.mean([p[0] for p in part]):.3f} / {np.mean([p[1] for p in part]):.3f} ({len(part)})" if part else
            "none" for part in parts))


def table(name: str, pairs: list[tuple[float, bool]]) -> None:
    said, seen = np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])
    for low, high in BINS:
        k = (said >= low) & (said < high)
        if k.any():
            print(f"  {name:<20} {low:.2f} to {min(high, 1):.2f}: said {said[k].mean():.3f} "
                  f"seen {seen[k].mean():.3f} ({k.sum()} clips)")


def empties(every: list[tuple[str, Heard]]) -> None:
    print()
    line("clips without a pluck: answered", float(np.mean([h.refused is None for _, h in every])), "<= 1 %", len(every))
    for kind in sorted({kind for kind, _ in every}):
        reasons = [h.refused for k, h in every if k == kind]
        top = max(set(reasons), key=reasons.count)
        print(f"  {kind:<10} answered {np.mean([r is None for r in reasons]):.3f} of {len(reasons)}; most said: {top} "
              f"({reasons.count(top)})")


def damped(number: int, least: float, most: float) -> tuple[float, bool]:
    """How far off a clip is read whose Q lies outside what the judges met, and whether it is answered."""
    quality = float(np.exp(np.random.default_rng((13, number)).uniform(np.log(least), np.log(most))))
    clip = clips.belt_clip((clips.SEEDS["test"] + 700_000, number), quality=quality)
    said = hear(clip.sound, clip.rate)
    return off(said, clip.truth or 1), said.refused is None


def extremes(pool: Executor, count: int) -> None:
    print("\nbelts damped otherwise than any the judges were taught (Q of the first mode 8 to 40)")
    for name, least, most in (("very damped, Q 4 to 8", 4.0, 8.0), ("hardly damped, Q 40 to 100", 40.0, 100.0),
                              ("undamped, Q 100 to 400", 100.0, 400.0)):
        found = list(pool.map(damped, range(count), [least] * count, [most] * count, chunksize=4))
        e, s = np.array([f[0] for f in found]), np.array([f[1] for f in found])
        line(f"{name}: within 2 percent", float((e < 0.02).mean()), "none", count)
        line("  answered / right of those", float(s.mean()), "", count)
        line("", float((e[s] < 0.02).mean()), "", int(s.sum()))


def band_playing(number: int) -> bool:
    return hear(sampled.music(number), RATE).refused is None


def strings(pool: Executor) -> None:
    if not sampled.ready():
        print("\nsampled strings: fluidsynth and fluid-soundfont-gm are not installed")
        return
    print("\nsampled strings, 27.5 to 123 Hz (nominal pitch good to about 1 percent)")
    for belt_like in (False, True):
        found = list(pool.map(string, sampled.INSTRUMENTS, [belt_like] * len(sampled.INSTRUMENTS)))
        for instrument, own in zip(sampled.INSTRUMENTS, found, strict=True):
            print(f"    {instrument:<14} {np.mean([error < 0.02 for error, _ in own]):.3f}")
        e, s = (np.array([note[i] for own in found for note in own]) for i in (0, 1))
        title = "made belt-like" if belt_like else "as they are"
        line(f"{title}: within 2 percent", float((e < 0.02).mean()), ">= 95 %", e.size)
        line("  answered / right of those", float(s.mean()), "", e.size)
        line("", float((e[s] < 0.02).mean()), "", int(s.sum()))
    answered = list(pool.map(band_playing, range(100)))
    line("a band of sampled instruments playing: answered", float(np.mean(answered)), "<= 1 %", len(answered))


def peers(every: list[Judged], count: int = 60) -> None:
    """General estimators on the same clips, with the same ears for what is a hit, in the same run."""
    print(f"\npeers on the first {count} clips: within 2 percent, processor ms per 3 s clip, time over ours")
    some = every[:count]
    again = [clips.made("test", number) for number in range(len(some))]
    whole = sum(j.length for j in some)
    ours = sum(j.seconds for j in some) / whole
    print(f"  {'ours':<22} {np.mean([off(j.plain, j.clip.truth or 1) < 0.02 for j in some]):.2f} {ours * 3e3:7.0f} ms")
    for name, estimate in _estimators().items():
        estimate(again[0].sound, again[0].rate)
        began = time.process_time()
        hits = [abs(estimate(clip.sound, clip.rate) / (clip.truth or 1) - 1) < 0.02 for clip in again]
        spent = (time.process_time() - began) / whole
        print(f"  {name:<22} {np.mean(hits):.2f} {spent * 3e3:7.0f} ms   {spent / ours:5.2f}")


def _estimators() -> dict[str, Callable[[Sound, int], float]]:
    found: dict[str, Callable[[Sound, int], float]] = {}

    def peak(sound: Sound, rate: int) -> float:
        spectrum = np.abs(np.fft.rfft(sound * np.hanning(sound.size), 1 << 18))
        hertz = np.arange(spectrum.size) * rate / (1 << 18)
        spectrum[(hertz < 6) | (hertz > 135)] = 0
        return float(hertz[int(np.argmax(spectrum))])

    found["FFT peak"] = peak
    try:
        import librosa
        import parselmouth
    except ImportError:
        print("  librosa and Praat are not installed: uv pip install --group listening")
        return found

    def slow(sound: Sound, rate: int) -> Sound:
        return np.asarray(librosa.resample(sound, orig_sr=rate, target_sr=2000), dtype=np.float64)

    def yin(sound: Sound, rate: int) -> float:
        return float(np.median(librosa.yin(slow(sound, rate), fmin=6, fmax=135, sr=2000, frame_length=1024)))

    def pyin(sound: Sound, rate: int) -> float:
        pitch, _, _ = librosa.pyin(slow(sound, rate), fmin=6, fmax=135, sr=2000, frame_length=1024,
                                      max_transition_rate=10)
        return float(np.nanmedian(pitch)) if np.isfinite(pitch).any() else 0.0

    def praat(sound: Sound, rate: int) -> float:
        pitch = parselmouth.Sound(slow(sound, rate), 2000).to_pitch_ac(pitch_floor=6, pitch_ceiling=135)
        heard = pitch.selected_array["frequency"]
        return float(np.median(heard[heard > 0])) if (heard > 0).any() else 0.0

    found |= {"YIN": yin, "pYIN": pyin, "autocorrelation": praat}
    return found


def main(sizes: list[int]) -> None:
    belts, none, beside, processes = (*sizes, *(400, 250, 60, 1)[len(sizes):])
    print(f"machine's load beforehand {os.getloadavg()[0]:.1f}")
    with ProcessPoolExecutor(processes, initializer=warmed) as pool:
        judged = list(pool.map(belt, range(belts), chunksize=4))
        proof(judged)
        silent = list(pool.map(empty, range(none), chunksize=4))
        empties(silent)
        said_and_seen(judged, [h for _, h in silent])
        strings(pool)
        extremes(pool, max(20, belts // 10))
    peers(judged, beside)


if __name__ == "__main__":
    ALONE = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"), "1")
    if not ALONE.items() <= os.environ.items():
        # one core: the numeric libraries read this when they are loaded
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **ALONE})
    main([int(a) for a in sys.argv[1:5]])
