"""Bad input: each kind refused with its reason, its time and its memory; then ten thousand broken files heard through.

`python benchmarks/listening_fuzz.py [count]`. Times are of the processor on one thread.
"""

from __future__ import annotations

import io
import os
import resource
import sys
import time
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import soundfile
from scipy.signal import butter, resample_poly, sosfilt

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.sound import clips, damage, strings
from tests.sound.strings import RATE, Sound
from tests.sound.test_clips import filmed, three_hours
from tests.sound.test_hear import plucked

from beltwright.desk.listen import listen
from beltwright.errors import InputError

ALONE = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
LONG = 30       # s


def wav(sound: Sound, rate: int = RATE) -> bytes:
    file = io.BytesIO()
    soundfile.write(file, sound, rate, format="WAV", subtype="PCM_16")
    return file.getvalue()


def full(sound: Sound) -> bytes:
    """As the fullest file that is taken: 48 000 samples a second, two channels."""
    fast = 0.2 * resample_poly(sound / np.abs(sound).max(), 3, 1)
    return wav(np.stack([fast, fast], axis=1), 48_000)


def hours_of_opus(hours: int) -> bytes:
    """A small file that goes on for hours: one packet of silence again and again, no length in its head."""
    file = io.BytesIO()
    with av.open(file, "w", format="ogg") as out:
        stream = out.add_stream("libopus", rate=48_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 960), np.float32), format="flt", layout="mono")
        frame.sample_rate = 48_000
        packets = [bytes(p) for p in [*stream.encode(frame), *stream.encode(None)]]
        for k in range(hours * 3600 * 50):
            packet = av.Packet(packets[0])
            packet.stream, packet.time_base, packet.pts, packet.dts = stream, Fraction(1, 48_000), k * 960, k * 960
            out.mux(packet)
    return file.getvalue()


def bad() -> Iterator[tuple[str, bytes, tuple[float, float] | None]]:
    rng = np.random.default_rng(8)
    sound, span = plucked()
    noise = rng.standard_normal(LONG * RATE)
    yield "silence, 30 s", wav(np.zeros(LONG * RATE)), None
    yield "noise, 30 s", full(noise), None
    yield "clipped", wav(np.clip(30 * sound, -1, 1)), None
    yield "speech, 30 s", full(strings.voice(LONG * RATE, rng)), None
    yield "music, 30 s", full(strings.tune(LONG * RATE, rng)), None
    yield "another drive", wav(sound), (2.1 * span.first, 3 * span.first)
    yield "4 kHz telephone", wav(resample_poly(sound, 1, 4), 4000), None
    line = sosfilt(butter(8, (300, 3400), "bandpass", fs=RATE, output="sos"), sound + 1e-3 * noise[: sound.size])
    yield "telephone line", wav(resample_poly(line, 1, 2), 8000), None
    yield "too short", wav(sound[: RATE // 3]), None
    yield "40 s", wav(np.zeros(40 * RATE)), None
    yield "3 hours, WAV", three_hours(), None
    yield "3 hours, Opus", hours_of_opus(3), None
    yield "truncated WAV", wav(sound)[:30_000], None
    yield "truncated M4A", clips.encode(sound, RATE, "m4a")[:8_000], None
    yield "hollow WAV", b"RIFF\xff\xff\xff\xffWAVE" + bytes(10_000_000), None
    yield "WAV, its length left open", wav(sound)[:40] + b"\xff\xff\xff\xff" + wav(sound)[44:], None
    yield "video without sound", filmed(None), None
    yield "64 MB of zeros", bytes(64 * 1024 * 1024), None
    yield "65 MB", bytes(65 * 1024 * 1024), None
    yield "playlist", b"#EXTM3U\n#EXTINF:10,\nfile:///etc/passwd\n", None
    yield "photo", b"\xff\xd8\xff\xe0\x00\x10JFIF" + rng.bytes(100_000), None
    yield "text", b"three plucks, honestly" * 1000, None


def each_refused() -> None:
    print(f"{'bad input':<26} {'s':>6} {'MB':>5}  what is said")
    for name, data, band in bad():
        began = time.process_time()
        try:
            heard = listen(data, band=band)
            said = f"answered: {heard.sentence}" if heard.answered else heard.sentence
        except InputError as problem:
            said = str(problem)
        spent = time.process_time() - began
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{name:<26} {spent:6.3f} {peak:5.0f}  {said[:150]}")


def fuzz(count: int) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    outcomes: Counter[str] = Counter()
    slowest, began = 0.0, time.process_time()
    for number in range(count):
        data = damage.broken(number)
        start = time.process_time()
        try:
            said = listen(data)
            outcomes["heard: " + ("answered" if said.answered else str(said.heard.refused))] += 1
        except InputError as problem:
            outcomes["not read: " + str(problem).split(":")[0]] += 1
        slowest = max(slowest, time.process_time() - start)
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"\n{count} broken clips in {time.process_time() - began:.0f} s; slowest {slowest:.2f} s; peak memory "
          f"{after / 1024:.0f} MB (before {before / 1024:.0f} MB)")
    for words, times in outcomes.most_common(20):
        print(f"  {times:6d}  {words}")


if __name__ == "__main__":
    if not ALONE.items() <= os.environ.items():
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **ALONE})
    damage.whole()
    listen(clips.encode(plucked()[0], RATE, "aac"))
    each_refused()
    fuzz(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
