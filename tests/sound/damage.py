"""Clips broken in many ways: bits flipped, cut, doubled, headers rewritten. For the fuzz of the reader of clips."""

from __future__ import annotations

import io
from functools import cache

import numpy as np
import soundfile

from tests.sound import clips


@cache
def whole() -> dict[str, bytes]:
    """One short good clip of each kind of file."""
    clip = clips.belt_clip((5, 1), coded="wav")
    sound = clip.sound[: clip.rate]
    out = {coded: clips.encode(sound, clip.rate, coded) for coded in ("opus", "aac", "mp3")}
    for kind, subtype in (("WAV", "PCM_16"), ("FLAC", "PCM_16"), ("CAF", "PCM_16"), ("OGG", "VORBIS")):
        file = io.BytesIO()
        soundfile.write(file, sound, clip.rate, format=kind, subtype=subtype)
        out[kind.lower()] = file.getvalue()
    return out


def broken(number: int) -> bytes:
    """Broken clip `number`: always the same."""
    rng = np.random.default_rng((31, number))
    good = list(whole().values())
    data = bytearray(good[number % len(good)])
    for _ in range(int(rng.integers(1, 4))):
        how, size = int(rng.integers(0, 7)), len(data)
        if size < 16:
            break
        at = int(rng.integers(0, min(size, 400) if rng.random() < 0.7 else size))
        if how == 0:
            data[at] ^= 1 << int(rng.integers(0, 8))
        elif how == 1:
            data[at:at + 4] = rng.integers(0, 256, 4, dtype=np.uint8).tobytes()
        elif how == 2:
            del data[at + 4:]
        elif how == 3:
            data[at:at] = data[at:at + int(rng.integers(1, 2000))]
        elif how == 4:
            data[at:at + 4] = bytes([0xFF] * 4) if rng.random() < 0.5 else bytes([0x7F, 0xFF, 0xFF, 0xFF])
        elif how == 5:
            del data[at:at + int(rng.integers(1, 500))]
        else:
            other = good[int(rng.integers(len(good)))]
            data[at:] = other[int(rng.integers(0, len(other))):]
    return bytes(data)
