"""Sampled strings of known pitch from Debian's sound fonts: a check from outside, not our physics.

Bass, guitar, harp and piano, 27.5 to 123 Hz, rendered by fluidsynth with reverb and chorus off. They come as they are,
and belt-like: with decay, roll-off, noise and hum put on. Their nominal pitch is good to about 1 percent.
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
    with tempfile.TemporaryDirectory() as folder:
        midi, wav = Path(folder) / "notes.mid", Path(folder) / "notes.wav"
        midi.write_bytes(_midi(INSTRUMENTS[instrument], chosen))
        subprocess.run(["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.6", "-r", str(RATE), "-T", "wav",
                        "-F", str(wav), str(FONT), str(midi)], check=True, capture_output=True, timeout=120)
        rate, data = wavfile.read(wav)
    assert rate == RATE
    mono = data.astype(float).mean(axis=1) / 32768
    out = []
    for i, note in enumerate(chosen):
        at = int(i * _APART * RATE)
        one = mono[at:at + int((_APART - 0.1) * RATE)]
        loud = np.flatnonzero(np.abs(one) > 0.05 * np.abs(one).max())
        out.append(Note(instrument, 440 * 2 ** ((note - 69) / 12), one[max(0, loud[0] - RATE // 500):]))
    return out


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
    """A one-track file that plays the notes one by one, 480 ticks to the half second."""
    apart, held = int(_APART * 960), int((_APART - 0.2) * 960)
    events = _length(0) + bytes([0xC0, program])
    for i, note in enumerate(chosen):
        events += _length(0 if i == 0 else apart - held) + bytes([0x90, note, 100])
        events += _length(held) + bytes([0x80, note, 0])
    events += _length(apart - held) + b"\xff\x2f\x00"
    return (b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480) + b"MTrk" + struct.pack(">I", len(events)) + events)


def _length(ticks: int) -> bytes:
    out = [ticks & 0x7F]
    while ticks := ticks >> 7:
        out.append(ticks & 0x7F | 0x80)
    return bytes(reversed(out))
