"""Made sounds of plucked belt spans, from the physics of a damped stiff string, for tuning, calibration and test.

Nothing here is a recording: no real belt is in the data. A span is drawn (length, mass, tension, stiffness, damping),
plucked or struck at one place, and heard by a phone close by: each partial sounds as the acceleration of its shape,
seen through the near field of a line of dipoles, then through the microphone's own low cut. Imports nothing of
Beltwright, so that generator and estimator cannot share a mistake.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import butter, lfilter, sosfilt

Sound = npt.NDArray[np.float64]

RATE = 16_000
LOWEST, HIGHEST = 6.0, 120.0


@dataclass(frozen=True)
class Span:
    """A span at rest: what fixes its note. `first` is the first mode with stiffness in it."""

    length: float
    mass: float
    tension: float
    stiffness: float    # B = pi^2 EI / (T L^2)
    quality: float      # Q of the first mode
    fall: float         # Q_n = Q n^-fall
    glide: float        # share by which the note starts high

    @property
    def ideal(self) -> float:
        return float(np.sqrt(self.tension / self.mass) / (2 * self.length))

    @property
    def first(self) -> float:
        return float(self.ideal * np.sqrt(1 + self.stiffness))


def draw_span(rng: np.random.Generator, lowest: float = LOWEST) -> Span:
    """One span out of what plants have: 0.3 to 2.5 m, 0.1 to 0.9 kg/m, 100 to 2000 N, first mode in range."""
    while True:
        span = Span(length=float(np.exp(rng.uniform(np.log(0.3), np.log(2.5)))),
                    mass=float(np.exp(rng.uniform(np.log(0.1), np.log(0.9)))),
                    tension=float(np.exp(rng.uniform(np.log(100), np.log(2000)))),
                    stiffness=float(np.exp(rng.uniform(np.log(2e-4), np.log(0.04)))),
                    quality=float(np.exp(rng.uniform(np.log(8), np.log(40)))),
                    fall=float(rng.uniform(0, 0.6)),
                    glide=float(rng.uniform(0, 0.01)))
        if lowest <= span.first <= HIGHEST:
            return span


@dataclass(frozen=True)
class Place:
    """How the span is set off and where the phone is."""

    at: float           # place of the finger along the span, 0 to 1
    width: float        # breadth of the finger [m]
    struck: bool
    phone_along: float  # 0 to 1
    phone_away: float   # [m]


def draw_place(rng: np.random.Generator) -> Place:
    return Place(at=float(rng.uniform(0.1, 0.5)), width=float(rng.uniform(0.008, 0.025)),
                 struck=bool(rng.random() < 0.3), phone_along=float(rng.uniform(0.2, 0.8)),
                 phone_away=float(rng.uniform(0.05, 0.40)))


def pluck(span: Span, place: Place, seconds: float, rng: np.random.Generator) -> Sound:
    """The sound of one pluck, from the moment of release on."""
    t = np.arange(int(seconds * RATE)) / RATE
    n = np.arange(1, 41)
    frequency = n * span.ideal * np.sqrt(1 + span.stiffness * n**2)
    n = n[frequency < 0.4 * RATE]
    frequency = frequency[: n.size]
    shape = np.sin(n * np.pi * place.at) / np.where(place.struck, n, n**2)
    shape = shape * np.exp(-0.5 * (n * np.pi * place.width / span.length) ** 2)
    x = np.linspace(0, span.length, 400)
    away = x - place.phone_along * span.length
    near = place.phone_away / (away**2 + place.phone_away**2) ** 1.5
    heard = np.sin(np.outer(n, np.pi * x / span.length)) @ near
    level = shape * heard * frequency**2
    level = level * np.exp(0.15 * rng.standard_normal(n.size))
    decay = np.pi * frequency / (span.quality * n ** -span.fall)
    out = np.zeros(t.size)
    slow = 2 * np.pi * span.first / span.quality
    # the swing stretches the span: the note starts `glide` high and settles as the square of the swing dies
    settle = span.glide * (1 - np.exp(-slow * t)) / slow if span.glide else 0.0
    turned = 2 * np.pi * (t + settle)
    phase = rng.uniform(-0.6, 0.6, n.size) + np.pi / 2
    for a, f, d, p in zip(level, frequency, decay, phase, strict=True):
        last = min(t.size, int(12 / d * RATE) + 1)
        out[:last] += a * np.exp(-d * t[:last]) * np.cos(f * turned[:last] + p)
    rise = int(rng.uniform(0.001, 0.004) * RATE)
    out[:rise] *= np.linspace(0, 1, rise)
    return out


def microphone(sound: Sound, order: int, corner: float) -> Sound:
    """The low cut of a phone's microphone."""
    sos = butter(order, corner, "highpass", fs=RATE, output="sos")
    return np.asarray(sosfilt(sos, sound), dtype=np.float64)


def coloured(samples: int, slope: float, rng: np.random.Generator) -> Sound:
    """Noise whose power falls as f^-slope above 20 Hz."""
    white = np.fft.rfft(rng.standard_normal(samples))
    f = np.fft.rfftfreq(samples, 1 / RATE)
    noise = np.fft.irfft(white * np.maximum(f, 20.0) ** (-slope / 2), samples)
    return np.asarray(noise / np.std(noise), dtype=np.float64)


def hum(samples: int, mains: float, rng: np.random.Generator) -> Sound:
    """Twelve harmonics of the mains, off by up to 0.08 percent and wandering a little."""
    t = np.arange(samples) / RATE
    off = 1 + rng.uniform(-0.0008, 0.0008) + rng.uniform(-0.0001, 0.0001) * t
    levels = np.exp(rng.normal(0, 0.8, 12)) / np.arange(1, 13) ** rng.uniform(0.3, 1.2)
    out = sum(a * np.cos(2 * np.pi * k * mains * off * t + rng.uniform(0, 2 * np.pi))
              for k, a in enumerate(levels, start=1))
    return np.asarray(out / np.std(out), dtype=np.float64)


def fan(samples: int, rng: np.random.Generator) -> Sound:
    """One to four steady lines of a machine running elsewhere."""
    t = np.arange(samples) / RATE
    turn = rng.uniform(12, 50)
    orders = rng.choice(np.arange(1, 12), size=int(rng.integers(1, 5)), replace=False)
    out = sum(rng.uniform(0.3, 1) * np.cos(2 * np.pi * k * turn * t + rng.uniform(0, 2 * np.pi)) for k in orders)
    return np.asarray(out / np.std(out), dtype=np.float64)


def clang(rng: np.random.Generator, seconds: float = 0.8) -> Sound:
    """A guard or spanner hit: many partials that belong to no string, mostly high."""
    t = np.arange(int(seconds * RATE)) / RATE
    f = rng.uniform(90, 600) * np.sort(1 + np.abs(rng.normal(0, 2.2, int(rng.integers(4, 12)))))
    out = sum(rng.uniform(0.2, 1) * np.exp(-np.pi * one / rng.uniform(15, 120) * t)
              * np.cos(2 * np.pi * one * t + rng.uniform(0, 2 * np.pi)) for one in f if one < 0.4 * RATE)
    return np.asarray(out, dtype=np.float64)


def knock(rng: np.random.Generator, seconds: float = 0.5) -> Sound:
    """A low knock: the phone or the guard touched, one to three heavily damped tones and a burst."""
    t = np.arange(int(seconds * RATE)) / RATE
    out = sum(rng.uniform(0.3, 1) * np.exp(-np.pi * f / rng.uniform(1.5, 6) * t)
              * np.cos(2 * np.pi * f * t + rng.uniform(0, 2 * np.pi))
              for f in rng.uniform(20, 250, int(rng.integers(1, 4))))
    burst = rng.standard_normal(t.size) * np.exp(-t / rng.uniform(0.003, 0.02))
    return np.asarray(out + rng.uniform(0, 0.5) * burst, dtype=np.float64)


def voice(samples: int, rng: np.random.Generator) -> Sound:
    """Something like speech: syllables of a gliding pitch through moving formants, with pauses and hiss."""
    out = np.zeros(samples)
    base, start = rng.uniform(85, 220), int(rng.uniform(0.05, 0.3) * RATE)
    while start < samples - RATE // 10:
        size = min(int(rng.uniform(0.1, 0.35) * RATE), samples - start)
        t = np.arange(size) / RATE
        pitch = base * np.exp(rng.normal(0, 0.12) + rng.normal(0, 0.5) * (t - t.mean()))
        pulses = np.diff(np.floor(np.cumsum(pitch) / RATE), prepend=0.0)
        syllable = pulses + 0.02 * rng.standard_normal(size)
        for formant, band in ((rng.uniform(300, 800), 80), (rng.uniform(900, 2200), 120), (2700, 200)):
            r = np.exp(-np.pi * band / RATE)
            syllable = lfilter([1.0], [1, -2 * r * np.cos(2 * np.pi * formant / RATE), r * r], syllable)
        out[start:start + size] += syllable * np.hanning(size) * rng.uniform(0.4, 1)
        start += size + int(rng.exponential(0.08) * RATE)
    return out / (np.std(out) + 1e-12)


def tune(samples: int, rng: np.random.Generator) -> Sound:
    """Something like music: chords and a melody of equal-tempered notes with a few harmonics each, and a beat."""
    seconds = samples / RATE
    out = np.zeros(samples)
    beat = rng.uniform(0.18, 0.45)
    for start in np.arange(0.02, seconds - 0.1, beat):
        for _ in range(int(rng.integers(1, 4))):
            note = 55 * 2 ** (rng.integers(0, 36) / 12)
            t = np.arange(min(int(rng.uniform(1, 2.5) * beat * RATE), samples - int(start * RATE))) / RATE
            tone = sum(rng.uniform(0.2, 1) / k * np.cos(2 * np.pi * k * note * t) for k in range(1, 7))
            shape = np.minimum(t / 0.01, 1) * np.exp(-t / rng.uniform(0.15, 1.0))
            out[int(start * RATE):int(start * RATE) + t.size] += tone * shape
    return out / (np.std(out) + 1e-12)


def music_string(first: float, seconds: float, rng: np.random.Generator) -> Sound:
    """A long-ringing, nearly harmonic string with a roll-off of its own, as on an instrument."""
    t = np.arange(int(seconds * RATE)) / RATE
    stiffness = float(np.exp(rng.uniform(np.log(1e-6), np.log(1.5e-3))))
    n = np.arange(1, 41)
    f = n * first * np.sqrt((1 + stiffness * n**2) / (1 + stiffness))
    n, f = n[f < 4000], f[f < 4000]
    level = np.exp(rng.normal(0, 0.5, n.size)) * n ** -rng.uniform(0.2, 2.0)
    level *= np.abs(np.sin(n * np.pi * rng.uniform(0.05, 0.5)))
    level[0] *= np.exp(rng.uniform(-3, 0.5))
    quality, fall = np.exp(rng.uniform(np.log(30), np.log(900))), rng.uniform(0, 0.8)
    decay = np.pi * f / (quality * n**-fall)
    wave = (level[:, None] * np.exp(-decay[:, None] * t) * np.cos(2 * np.pi * f[:, None] * t
            + rng.uniform(0, 2 * np.pi, n.size)[:, None])).sum(axis=0)
    wave[: RATE // 200] *= np.linspace(0, 1, RATE // 200)
    return np.asarray(wave / (np.std(wave) + 1e-12), dtype=np.float64)
