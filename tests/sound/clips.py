"""Whole clips: plucks, noise, hum, fans, knocks and clangs put together, then really coded as a phone codes them.

Three sets with seeds of their own, so that nothing tuned or calibrated has seen the test: `TUNING`, `CALIBRATION` and
`TEST`. The same number always makes the same clip (but for the codec's own version).
"""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from typing import Any, Literal

import av
import numpy as np
from scipy.signal import resample_poly

from tests.sound import strings
from tests.sound.strings import RATE, Sound

Set = Literal["tuning", "calibration", "test"]
SEEDS: dict[Set, int] = {"tuning": 41_001, "calibration": 52_002, "test": 63_003}

# what a made clip is coded as: container, codec, bits a second, samples a second
CODECS = {"wav": None, "opus": ("webm", "libopus", 48_000, 48_000), "aac": ("mp4", "aac", 96_000, 48_000),
          "mp3": ("mp3", "mp3", 96_000, 48_000), "ogg opus": ("ogg", "libopus", 32_000, 48_000),
          "m4a": ("ipod", "aac", 64_000, 44_100), "lossless m4a": ("ipod", "alac", 0, 48_000),
          "mov": ("mov", "aac", 96_000, 48_000), "3gp": ("3gp", "aac", 48_000, 16_000),
          "telephone 3gp": ("3gp", "libopencore_amrnb", 12_200, 8_000)}
NO_PLUCK = ("noise", "hum", "clangs", "knocks", "voice", "tune", "fan")


@dataclass(frozen=True)
class Clip:
    """A made clip and the truth about it; `span` is None where nothing was plucked."""

    sound: Sound
    rate: int
    span: strings.Span | None
    plucks: int
    snr: float
    kind: str
    coded: str
    mains: float

    @property
    def truth(self) -> float | None:
        return None if self.span is None else self.span.first

    @property
    def good(self) -> bool:
        return self.span is not None and self.plucks >= 2 and self.snr >= 10 and self.span.first >= 12


def belt_clip(seed: tuple[int, int], coded: str | None = None, quality: float | None = None) -> Clip:
    """One to five plucks of one span, with all that stands around a drive; `quality` instead of the Q drawn."""
    rng = np.random.default_rng(seed)
    span = strings.draw_span(rng)
    span = span if quality is None else replace(span, quality=quality)
    plucks = int(rng.integers(1, 6))
    gap = rng.uniform(0.5, 1.1)
    lead, tail = rng.uniform(0.15, 0.8), rng.uniform(0.5, 1.2)
    samples = int((lead + (plucks - 1) * gap + tail + 0.3) * RATE)
    place = strings.draw_place(rng)
    sound = np.zeros(samples)
    start = lead
    for _ in range(plucks):
        here = strings.Place(at=float(np.clip(place.at + rng.normal(0, 0.03), 0.05, 0.5)), width=place.width,
                             struck=place.struck, phone_along=place.phone_along, phone_away=place.phone_away)
        one = strings.pluck(span, here, min(3.0, samples / RATE - start), rng) * np.exp(rng.normal(0, 0.25))
        at = int(start * RATE)
        one = one[: samples - at]
        # a new pluck stops what still rings
        sound[at:] *= 0.05
        sound[at:at + one.size] += one
        start += gap * rng.uniform(0.85, 1.15)
        if start > samples / RATE - 0.3:
            break
    if rng.random() < 0.2:
        second = strings.draw_span(rng)
        other = strings.pluck(second, place, samples / RATE - lead, rng)
        other *= rng.uniform(0.03, 0.15) * np.max(np.abs(sound)) / np.max(np.abs(other))
        sound[samples - other.size:] += other
    order, corner = int(rng.integers(1, 3)), float(rng.uniform(60, 100))
    snr = float(rng.uniform(3, 35))
    kind, mains = "plain", float(rng.choice([50.0, 60.0]))
    loud = _loudest(strings.microphone(sound, order, corner))
    around = strings.coloured(samples, rng.uniform(0, 2), rng)
    if rng.random() < 0.7:
        kind = "hum"
        around = around / np.std(around) + rng.uniform(0.3, 2) * strings.hum(samples, mains, rng)
    if rng.random() < 0.25:
        around = around / np.std(around) + rng.uniform(0.2, 1) * strings.fan(samples, rng)
    around = strings.microphone(around, order, corner)
    sound = strings.microphone(sound, order, corner) + around / np.std(around) * loud * 10 ** (-snr / 20)
    if rng.random() < 0.12:
        hit = strings.clang(rng) if rng.random() < 0.5 else strings.knock(rng)
        sound = _drop(sound, hit * loud * rng.uniform(0.3, 1.2) / (np.std(hit[: RATE // 10]) + 1e-12), rng)
        kind = "knocked"
    return _finish(sound, rng, span, plucks, snr, kind, mains, coded)


def empty_clip(seed: tuple[int, int], kind: str | None = None, coded: str | None = None) -> Clip:
    """A clip in which no belt was plucked."""
    rng = np.random.default_rng(seed)
    kind = kind or str(rng.choice(NO_PLUCK))
    seconds = rng.uniform(1.5, 5)
    samples = int(seconds * RATE)
    mains = float(rng.choice([50.0, 60.0]))
    around = strings.coloured(samples, rng.uniform(0, 2), rng)
    if kind == "hum" or rng.random() < 0.4:
        around = around + rng.uniform(0.3, 3) * strings.hum(samples, mains, rng)
    if kind == "fan":
        around = around + rng.uniform(0.5, 3) * strings.fan(samples, rng)
    sound, loud = around / np.std(around), float(10 ** (rng.uniform(3, 30) / 20))
    if kind in ("clangs", "knocks"):
        same = rng.random() < 0.5
        make = strings.clang if kind == "clangs" else strings.knock
        seed_of_hit = int(rng.integers(1 << 30))
        for _ in range(int(rng.integers(1, 6))):
            hit = make(np.random.default_rng(seed_of_hit) if same else rng)
            sound = _drop(sound, hit * loud * rng.uniform(0.6, 1.2) / (np.std(hit[: RATE // 10]) + 1e-12), rng)
    elif kind == "voice":
        sound = sound + loud * strings.voice(samples, rng)
    elif kind == "tune":
        sound = sound + loud * strings.tune(samples, rng)
    sound = strings.microphone(sound, int(rng.integers(1, 3)), float(rng.uniform(60, 100)))
    return _finish(sound, rng, None, 0, float("nan"), kind, mains, coded)


def string_clip(seed: tuple[int, int], coded: str | None = None) -> Clip:
    """One to four notes of a nearly harmonic, long-ringing string, bare or with decay, noise and hum put on."""
    rng = np.random.default_rng(seed)
    first, plucks = float(np.exp(rng.uniform(np.log(26), np.log(125)))), int(rng.integers(1, 5))
    gap, lead = rng.uniform(0.6, 1.2), rng.uniform(0.05, 0.5)
    samples = int((lead + plucks * gap + 0.4) * RATE)
    sound = np.zeros(samples)
    imposed = rng.uniform(0.1, 0.6) if rng.random() < 0.5 else 1e9
    for k in range(plucks):
        at = int((lead + k * gap) * RATE)
        one = strings.music_string(first, (samples - at) / RATE, np.random.default_rng((*seed, 7)))
        sound[at:] *= 0.03
        sound[at:at + one.size] += one * np.exp(-np.arange(one.size) / RATE / imposed)
    snr, mains = float(rng.uniform(10, 50)), float(rng.choice([50.0, 60.0]))
    around = strings.coloured(samples, rng.uniform(0, 2), rng)
    if rng.random() < 0.4:
        around = around + rng.uniform(0.3, 2) * strings.hum(samples, mains, rng)
    sound = sound + around / np.std(around) * _loudest(sound) * 10 ** (-snr / 20)
    span = strings.Span(1.0, 0.1, 0.4 * first**2, 0.0, 100.0, 0.0, 0.0)
    return _finish(sound, rng, span, plucks, snr, "string", mains, coded)


def made(which: Set, number: int, *, empty: bool = False) -> Clip:
    """Clip `number` of a set: a belt, or, with `empty`, no pluck in it."""
    seed = (SEEDS[which] + (500_000 if empty else 0), number)
    return empty_clip(seed) if empty else belt_clip(seed)


def _loudest(sound: Sound) -> float:
    """Level of the loudest tenth of a second."""
    step = RATE // 10
    power = np.convolve(sound**2, np.ones(step) / step, "valid")[:: step // 4]
    return float(np.sqrt(power.max()))


def _drop(sound: Sound, hit: Sound, rng: np.random.Generator) -> Sound:
    out = sound.copy()
    at = int(rng.integers(0, max(1, sound.size - hit.size)))
    out[at:at + hit.size] += hit[: out.size - at]
    return out


def _finish(sound: Sound, rng: np.random.Generator, span: strings.Span | None, plucks: int, snr: float, kind: str,
            mains: float, coded: str | None) -> Clip:
    peak = np.max(np.abs(sound))
    sound = sound / peak * 10 ** (-rng.uniform(1, 30) / 20)
    if rng.random() < 0.06:
        sound, kind = np.clip(sound / np.max(np.abs(sound)) * rng.uniform(1.1, 1.6), -1, 1), "overload"
    chosen = coded or str(rng.choice(["wav", "opus", "aac"], p=[0.4, 0.3, 0.3]))
    if chosen == "wav":
        heard, rate = np.round(sound * 32767) / 32767, RATE
    else:
        heard, rate = decode(encode(sound, RATE, chosen))
    return Clip(heard, rate, span, plucks, snr, kind, chosen, mains)


def encode(sound: Sound, rate: int, coded: str) -> bytes:
    """The clip as a phone would save it."""
    settings = CODECS[coded]
    assert settings is not None
    container, codec, bits, fast = settings
    full = resample_poly(sound, fast // 100, rate // 100) if rate != fast else sound
    file = io.BytesIO()
    with av.open(file, "w", format=container) as out:
        stream: Any = out.add_stream(codec, rate=fast, layout="mono")
        if bits:
            stream.bit_rate = bits
        pcm = np.clip(full, -1, 1).astype(np.float32)
        frame = av.AudioFrame.from_ndarray(pcm[None, :], format="fltp", layout="mono")
        frame.sample_rate = fast
        fifo = av.AudioFifo()
        fifo.write(frame)
        size = stream.codec_context.frame_size or 960
        resampler = av.AudioResampler(format=stream.codec_context.format, layout="mono", rate=fast)
        while (chunk := fifo.read(size, partial=True)) is not None:
            for piece in resampler.resample(chunk):
                out.mux(stream.encode(piece))
        out.mux(stream.encode(None))
    return file.getvalue()


def decode(data: bytes) -> tuple[Sound, int]:
    """What a plain decoder makes of it, mono."""
    with av.open(io.BytesIO(data), "r") as file:
        pieces = [frame.to_ndarray() for frame in file.decode(audio=0)]
        rate = file.streams.audio[0].rate
    joined = np.concatenate(pieces, axis=-1).astype(np.float64)
    scale = 32768.0 if pieces[0].dtype == np.int16 else 1.0
    return joined.mean(axis=0) / scale, int(rate)
