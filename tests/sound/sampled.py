"""Sampled strings of known pitch from Debian's sound fonts: a check from outside, not our physics.

Bass, guitar, harp and piano, 27.5 to 123 Hz, rendered by fluidsynth with reverb and chorus off. They come as they are,
and belt-like: with decay, roll-off, noise and hum put on. Their nominal pitch is good to about 1 percent. Whole bands
play, too: music in which no belt was plucked.
"""

from __future__ import annotations

import shutil
import struct
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.io import wavfile
from scipy.signal import butter, sosfilt

from tests.sound import strings
from tests.sound.strings import RATE, Sound

FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
# numbers of General MIDI programs, from zero
INSTRUMENTS = {"piano": 0, "nylon guitar": 24, "steel guitar": 25, "jazz guitar": 26, "acoustic bass": 32,
               "finger bass": 33, "pick bass": 34, "fretless bass": 35, "harp": 46}
NOTES = range(21, 48)       # 27.5 to 123.5 Hz
_APART = 3.0                # s


@dataclass(frozen=True)
class Note:
    """One sampled note, alone."""

    instrument: str
    frequency: float
    sound: Sound


def ready() -> bool:
    """Whether fluidsynth and the sound font are installed."""
    return shutil.which("fluidsynth") is not None and FONT.exists()


def notes(instrument: str, every: int = 1) -> list[Note]:
    """The notes of one instrument, rendered."""
    chosen = list(NOTES)[::every]
    mono = _played(_midi(INSTRUMENTS[instrument], chosen))
    out = []
    for i, note in enumerate(chosen):
        at = int(i * _APART * RATE)
        one = mono[at:at + int((_APART - 0.1) * RATE)]
        loud = np.flatnonzero(np.abs(one) > 0.05 * np.abs(one).max())
        out.append(Note(instrument, 440 * 2 ** ((note - 69) / 12), one[max(0, loud[0] - RATE // 500):]))
    return out


def _played(midi: bytes) -> Sound:
    with tempfile.TemporaryDirectory() as folder:
        file, wav = Path(folder) / "notes.mid", Path(folder) / "notes.wav"
        file.write_bytes(midi)
        subprocess.run(["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.6", "-r", str(RATE), "-T", "wav",
                        "-F", str(wav), str(FONT), str(file)], check=True, capture_output=True, timeout=120)
        rate, data = wavfile.read(wav)
    assert rate == RATE
    return np.asarray(data.astype(float).mean(axis=1) / 32768)


def music(seed: int) -> Sound:
    """Three to six seconds of a band: a bass line, chords, a voice or a melody, and mostly drums."""
    rng = np.random.default_rng((83, seed))
    beat, beats, key = int(rng.integers(280, 700)), int(rng.integers(8, 14)), int(rng.integers(0, 12))
    scale = np.array([0, 2, 3, 5, 7, 8, 10] if rng.random() < 0.5 else [0, 2, 4, 5, 7, 9, 11])
    programs = {0: int(rng.choice([32, 33, 34, 35, 38])), 1: int(rng.choice([0, 24, 48, 19])),
                2: int(rng.choice([52, 53, 56, 65, 73, 40]))}
    events = [(0, bytes([0xC0 | channel, program])) for channel, program in programs.items()]

    def sound(channel: int, note: int, start: float, held: float, loud: int) -> None:
        events.append((int(start * beat), bytes([0x90 | channel, note, loud])))
        events.append((int((start + held) * beat), bytes([0x80 | channel, note, 0])))

    drums = rng.random() < 0.7
    for k in range(beats):
        root = int(scale[rng.integers(7)])
        sound(0, 28 + key + root % 12, k, 0.8, 100)
        for third in (0, 2, 4):
            if k % 2 == 0:
                sound(1, 48 + key + int(scale[(root + third) % 7]), k, 1.6, 70)
        for half in (0.0, 0.5):
            if rng.random() < 0.7:
                sound(2, 60 + key + int(scale[rng.integers(7)]), k + half, 0.45, 85)
        if drums:
            sound(9, 36 if k % 2 == 0 else 38, k, 0.2, 110)
            sound(9, 42, k + 0.5, 0.2, 80)
    events.sort(key=lambda event: event[0])
    whole = _played(_file([(at - before, what) for (at, what), (before, _) in
                           zip(events, [(0, b""), *events], strict=False)]))
    start = int(rng.uniform(0, 1) * RATE)
    part = whole[start:start + int(rng.uniform(3, 6) * RATE)]
    return np.asarray(0.5 * part / np.abs(part).max())


def clip(note: Note, seed: tuple[int, ...], belt_like: bool) -> tuple[Sound, int]:
    """One to three plucks of a sampled note as a clip, and how many."""
    rng = np.random.default_rng(seed)
    plucks = int(rng.integers(1, 4))
    gap, lead = rng.uniform(0.7, 1.1), rng.uniform(0.15, 0.5)
    samples = int((lead + plucks * gap + 0.3) * RATE)
    out = np.zeros(samples)
    one = note.sound
    if belt_like:
        quality = rng.uniform(8, 40)
        one = one * np.exp(-np.pi * note.frequency / quality * np.arange(one.size) / RATE)
        one = np.asarray(sosfilt(butter(1, min(6 * note.frequency, 900.0), "lowpass", fs=RATE, output="sos"), one))
    for k in range(plucks):
        at = int((lead + k * gap) * RATE)
        part = one[: samples - at]
        out[at:] *= 0.02
        out[at:at + part.size] += part
    if belt_like:
        around = strings.coloured(samples, rng.uniform(0, 2), rng)
        if rng.random() < 0.7:
            around = around + rng.uniform(0.3, 2) * strings.hum(samples, float(rng.choice([50.0, 60.0])), rng)
        step = RATE // 10
        loud = np.sqrt(np.convolve(out**2, np.ones(step) / step, "valid")[:: step // 4].max())
        out = out + around / np.std(around) * loud * 10 ** (-rng.uniform(8, 35) / 20)
    else:
        out = out + 1e-5 * rng.standard_normal(samples)
    return out / np.abs(out).max() * 0.5, plucks


def _midi(program: int, chosen: list[int]) -> bytes:
    """A file that plays the notes one by one, 480 ticks to the half second."""
    apart, held = int(_APART * 960), int((_APART - 0.2) * 960)
    events = [(0, bytes([0xC0, program]))]
    for i, note in enumerate(chosen):
        events.append((0 if i == 0 else apart - held, bytes([0x90, note, 100])))
        events.append((held, bytes([0x80, note, 0])))
    return _file(events)


def _file(events: list[tuple[int, bytes]]) -> bytes:
    """A one-track file of events, each with the ticks since the one before."""
    track = b"".join(_length(ticks) + what for ticks, what in events) + _length(0) + b"\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480) + b"MTrk" + struct.pack(">I", len(track)) + track


def _length(ticks: int) -> bytes:
    out = [ticks & 0x7F]
    while ticks := ticks >> 7:
        out.append(ticks & 0x7F | 0x80)
    return bytes(reversed(out))
