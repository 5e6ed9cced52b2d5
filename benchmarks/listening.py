"""How well a plucked span is heard: the goals, measured, beside general pitch estimators in the same run.

`python benchmarks/listening.py [belts] [empties]` runs the proof on the made clips of the test set (seeds that nothing
was tuned or calibrated on), on sampled strings rendered by fluidsynth, and times it. No real belt is in the data.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.sound import clips, sampled
from tests.sound.strings import RATE, Sound

from beltwright.mechanics.sound import Heard, hear
from beltwright.mechanics.sound.hear import Attended, attend, decide

SURE = 0.8
STUDY = 8.0     # Hz: the study's clips begin here; below it is a harder set of its own


@dataclass(frozen=True)
class Judged:
    """One clip of the proof: the truth, and what was heard plain, with a right band, and with a wrong one."""

    clip: clips.Clip
    plain: Heard
    band: Heard
    wrong: Heard
    seconds: float


def off(heard: Heard, truth: float) -> float:
    return abs(heard.frequency / truth - 1) if heard.frequency else 1.0


def belts(count: int) -> list[Judged]:
    out = []
    for number in range(count):
        clip = clips.made("test", number)
        assert clip.truth is not None
        rng = np.random.default_rng((7, number))
        centre = clip.truth * np.exp(rng.uniform(-0.3, 0.3))
        away = clip.truth * np.exp(rng.choice([-1, 1]) * rng.uniform(0.4, 0.9))
        band, beside = ((c / 1.4, c * 1.4) for c in (centre, away))
        began = time.perf_counter()
        heard = attend(clip.sound, clip.rate, band)
        plain = decide(heard, None) if isinstance(heard, Attended) else heard
        seconds = time.perf_counter() - began
        inside = decide(heard, band) if isinstance(heard, Attended) else heard
        out.append(Judged(clip, plain, inside, hear(clip.sound, clip.rate, beside), seconds))
    return out


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
    times = np.array([j.seconds / (j.clip.sound.size / j.clip.rate) * 3 for j in every])
    print(f"\ntime per 3 s clip after decoding: median {np.median(times) * 1e3:.0f} ms, 95th percentile "
          f"{np.percentile(times, 95) * 1e3:.0f} ms (goal 150)")


def said_and_seen(every: list[Judged], none: list[Heard]) -> None:
    print("\nconfidence said against seen (share right within 2 percent, clips without a pluck counted as wrong)")
    for prior in ("plain", "band"):
        pairs = [(getattr(j, prior).confidence, off(getattr(j, prior), j.clip.truth or 1) < 0.02) for j in every]
        pairs += [(h.confidence, False) for h in none] if prior == "plain" else []
        said, seen = np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])
        for low, high in ((0, 0.2), (0.2, 0.5), (0.5, 0.8), (0.8, 0.9), (0.9, 0.97), (0.97, 1.01)):
            k = (said >= low) & (said < high)
            if k.any():
                print(f"  {prior:<6} {low:.2f} to {min(high, 1):.2f}: said {said[k].mean():.3f} "
                      f"seen {seen[k].mean():.3f} ({k.sum()} clips)")


def empties(count: int) -> list[Heard]:
    out, kinds = [], []
    for number in range(count):
        clip = clips.made("test", number, empty=True)
        heard = attend(clip.sound, clip.rate)
        out.append(decide(heard, None) if isinstance(heard, Attended) else heard)
        kinds.append(clip.kind)
    print()
    line("clips without a pluck: answered", float(np.mean([h.refused is None for h in out])), "<= 1 %", count)
    for kind in sorted(set(kinds)):
        own = [h for h, k in zip(out, kinds, strict=True) if k == kind]
        reasons = [h.refused for h in own]
        top = max(set(reasons), key=reasons.count)
        print(f"  {kind:<10} answered {np.mean([r is None for r in reasons]):.3f} of {len(own)}; most said: {top}")
    return out


def strings() -> None:
    if not sampled.ready():
        print("\nsampled strings: fluidsynth and fluid-soundfont-gm are not installed")
        return
    print("\nsampled strings, 27.5 to 123 Hz (nominal pitch good to about 1 percent)")
    for belt_like, goal in ((False, ">= 95 %"), (True, ">= 95 %")):
        errors, sure = [], []
        for place, instrument in enumerate(sampled.INSTRUMENTS):
            own = []
            for number, note in enumerate(sampled.notes(instrument)):
                sound, _ = sampled.clip(note, (11, place, number), belt_like)
                heard = attend(sound, RATE)
                said = decide(heard, None) if isinstance(heard, Attended) else heard
                own.append(off(said, note.frequency))
                sure.append(said.refused is None)
            errors += own
            print(f"    {instrument:<14} {np.mean(np.array(own) < 0.02):.3f}")
        e, s = np.array(errors), np.array(sure)
        title = "made belt-like" if belt_like else "as they are"
        line(f"{title}: within 2 percent", float((e < 0.02).mean()), goal, e.size)
        line("  answered / right of those", float(s.mean()), "", e.size)
        line("", float((e[s] < 0.02).mean()), "", int(s.sum()))


def peers(every: list[Judged], count: int = 60) -> None:
    """General estimators on the same clips, with the same ears for what is a hit, in the same run."""
    print(f"\npeers on the first {count} clips: within 2 percent, ms per 3 s clip, time over ours")
    some = every[:count]
    ours = float(np.mean([j.seconds / (j.clip.sound.size / j.clip.rate) for j in some]))
    print(f"  {'ours':<22} {np.mean([off(j.plain, j.clip.truth or 1) < 0.02 for j in some]):.2f} {ours * 3e3:7.0f} ms")
    for name, estimate in _estimators().items():
        began = time.perf_counter()
        hits = []
        for j in some:
            found = estimate(j.clip.sound, j.clip.rate)
            hits.append(abs(found / (j.clip.truth or 1) - 1) < 0.02)
        spent = (time.perf_counter() - began) / sum(j.clip.sound.size / j.clip.rate for j in some)
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


if __name__ == "__main__":
    sizes = [int(a) for a in sys.argv[1:3]]
    judged = belts(sizes[0] if sizes else 400)
    proof(judged)
    said_and_seen(judged, empties(sizes[1] if len(sizes) > 1 else 250))
    strings()
    peers(judged)
