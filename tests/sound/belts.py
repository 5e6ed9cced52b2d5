"""Clips of a belt of a known drive, at a known tension: for tests of what a note means, on pages and commands."""

from __future__ import annotations

import io

import numpy as np
import soundfile

from beltwright.bench.findings.targets import targets_for
from beltwright.plant.drive import Drive
from tests.sound import strings
from tests.sound.strings import RATE


def clip_at(drive: Drive, tension: float, *, seed: int = 1, plucks: int = 4, stiffness: float = 5e-4,
            noise: float = 3e-4) -> bytes:
    """A WAV of a span of that drive under a tension [N], plucked so many times."""
    numbers = targets_for(drive)
    assert numbers.span is not None
    assert numbers.mass is not None
    return clip_of(strings.Span(numbers.span, numbers.mass, tension, stiffness, 25.0, 0.2, 0.002), seed=seed,
                   plucks=plucks, noise=noise)


def clip_of(span: strings.Span, *, seed: int = 1, plucks: int = 4, noise: float = 3e-4) -> bytes:
    """A WAV of a span, plucked every 1.2 s."""
    rng = np.random.default_rng(seed)
    sound = 1e-9 * rng.standard_normal(int((0.9 + 1.2 * plucks) * RATE))
    for count in range(plucks):
        one = strings.pluck(span, strings.Place(0.3, 0.012, False, 0.45, 0.15), 1.15, rng)
        at = int((0.6 + 1.2 * count) * RATE)
        sound[at:at + one.size] += one
    sound = strings.microphone(sound, 1, 80.0)
    return as_wav(0.4 * sound / np.abs(sound).max() + noise * rng.standard_normal(sound.size))


def silence(seconds: float = 2.0) -> bytes:
    """A WAV with next to nothing in it."""
    return as_wav(np.zeros(int(seconds * RATE)))


def as_wav(sound: strings.Sound) -> bytes:
    """Samples as a WAV file of 16 bits."""
    file = io.BytesIO()
    soundfile.write(file, sound, RATE, format="WAV", subtype="PCM_16")
    return file.getvalue()
