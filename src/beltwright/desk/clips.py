"""A recording from a phone as plain numbers: what it is, whether it may be opened at all, and its samples.

A clip comes from anywhere, so nothing in it is trusted: its kind is told by its first bytes, only that kind's reader is
opened (never a playlist or anything that could reach for other files), and size, length, channels, rate and time are
bounded. Whatever is wrong ends as an `InputError` a mechanic can act on. The readers are loaded when first needed.
"""

from __future__ import annotations

import io
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from beltwright.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Samples = npt.NDArray[np.float64]

LONGEST: Final = 30.0               # s
LARGEST: Final = 64 * 1024 * 1024   # bytes: 30 s of two channels at 192 kHz and 24 bits, with room
SLOWEST, FASTEST = 2_000, 384_000   # samples a second a header may claim
MOST_CHANNELS: Final = 8
_FULLEST: Final = 2 * 192_000       # samples a second of all channels together: a small file can hold much silence
_PATIENCE: Final = 8.0              # s a reader may take
_ROOM: Final = 1.02                 # a 30 s recording is rarely 30.000 s

ACCEPTED: Final = "WAV, FLAC, M4A, MP4, WebM, Ogg, MP3, 3GP or CAF, 1 to 30 s long"


@dataclass(frozen=True, slots=True)
class Sound:
    """The samples of a clip, one channel, -1 to 1, with their rate [Hz] and what the file was."""

    samples: Samples
    rate: float
    kind: str

    @property
    def seconds(self) -> float:
        return len(self.samples) / self.rate


def decode(clip: bytes | Path) -> Sound:
    """The sound of a recorded clip, from its bytes or its file.

    errors: `InputError` for what is no sound file, has no sound in it, is too large or too long, or is damaged

    >>> decode(b"hello")
    Traceback (most recent call last):
    beltwright.errors.InputError: this is not a sound clip: WAV, FLAC, M4A, MP4, WebM, Ogg, MP3, 3GP or CAF, 1 to 30 s \
long is accepted
    """
    data = clip if isinstance(clip, bytes) else _read(clip)
    if len(data) > LARGEST:
        raise InputError(f"the clip is too large, {len(data) >> 20} MB: record {LONGEST:.0f} s or less")
    kind = kind_of(data)
    if kind in ("wav", "flac"):
        _whole(data, kind)
        return _by_soundfile(data, kind)
    return _by_av(data, kind)


def kind_of(data: bytes) -> str:
    """What a clip is by its first bytes: the name of the reader it needs; `InputError` if it is none of those taken."""
    head = data[:16]
    if head[:4] in (b"RIFF", b"RF64") and head[8:12] == b"WAVE":
        return "wav"
    for start, kind in ((b"fLaC", "flac"), (b"OggS", "ogg"), (b"\x1a\x45\xdf\xa3", "matroska"), (b"caff", "caf"),
                        (b"ID3", "mp3"), (b"#!AMR", "amr")):
        if head.startswith(start):
            return kind
    if head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
        return "mov"
    if len(head) > 2 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0:
        return "aac" if head[1] & 0xF6 == 0xF0 else "mp3"
    raise InputError(f"this is not a sound clip: {ACCEPTED} is accepted" if data else "the clip is empty: record again")


def _read(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(LARGEST + 1)
    except OSError as problem:
        raise InputError(f"the clip {path.name} cannot be read: {problem.strerror or problem}") from None


def _whole(data: bytes, kind: str) -> None:
    """Refuse a WAV that says it is longer than it is, unless its length was left open, as while recording."""
    said = int.from_bytes(data[4:8], "little")
    if kind == "wav" and data[:4] == b"RIFF" and said not in (0, 0xFFFFFFFF) and said + 8 > len(data) + 1:
        raise InputError("the clip breaks off before its end: send it again or record again")


def _bounded(rate: float, channels: int, seconds: float | None) -> None:
    if not SLOWEST <= rate <= FASTEST or not 1 <= channels <= MOST_CHANNELS or rate * channels > _FULLEST:
        raise InputError(f"the clip has {channels} channels at {rate:.0f} Hz: one or two at 8 to 192 kHz are accepted")
    if seconds is not None and seconds > LONGEST * _ROOM:
        raise InputError(f"the clip is {_long(seconds)} long: record {LONGEST:.0f} s or less, three plucks are enough")


def _long(seconds: float) -> str:
    from beltwright.units import HOUR, MINUTE
    if seconds < 2 * MINUTE:
        return f"{seconds:.0f} s"
    return f"{seconds / MINUTE:.0f} min" if seconds < 2 * HOUR else f"{seconds / HOUR:.0f} h"


def _by_soundfile(data: bytes, kind: str) -> Sound:
    try:
        import soundfile
    except (ImportError, OSError):
        raise InputError("clips cannot be read here: install Beltwright with its sound readers, "
                         "beltwright[sound]") from None
    try:
        with soundfile.SoundFile(io.BytesIO(data)) as file:
            _bounded(file.samplerate, file.channels, file.frames / max(file.samplerate, 1))
            samples = file.read(int(LONGEST * _ROOM * file.samplerate) + 1, dtype="float64", always_2d=True)
            return _sound(samples.T, float(file.samplerate), kind)
    except (soundfile.SoundFileError, RuntimeError, ValueError, TypeError, AssertionError, OverflowError):
        raise InputError("the clip is damaged: send it again or record again") from None


def _by_av(data: bytes, kind: str) -> Sound:
    try:
        import av
        import av.logging
    except ImportError:
        raise InputError("clips of this kind cannot be read here: install Beltwright with its sound readers, "
                         "beltwright[sound]") from None
    av.logging.set_level(None)
    try:
        # MemoryError: a header that asks for more than there is
        with av.open(io.BytesIO(data), format=kind, options={"enable_drefs": "0"}, metadata_errors="ignore") as file:
            if not file.streams.audio:
                raise InputError("the video has no sound in it: allow the microphone and record again")
            stream = file.streams.audio[0]
            length = _length(file, stream)
            if stream.rate and stream.channels:
                _bounded(stream.rate, stream.channels, length)
            sound = _drained(file, stream, kind)
    except (av.FFmpegError, ValueError, MemoryError, OverflowError, EOFError, IndexError, ZeroDivisionError,
            UnicodeError, NotImplementedError, TypeError, RuntimeError, AttributeError):
        raise InputError("the clip is damaged or breaks off: send it again or record again") from None
    if length is not None and sound.seconds < 0.9 * length - 0.3:
        raise InputError("the clip breaks off before its end: send it again or record again")
    return sound


def _length(file: Any, stream: Any) -> float | None:
    """The length [s] a file says it has, where it says one."""
    if stream.duration and stream.time_base:
        return float(stream.duration * stream.time_base)
    return file.duration / 1e6 if file.duration and file.duration > 0 else None    # libav counts microseconds


def _drained(file: Any, stream: Any, kind: str) -> Sound:
    """All frames of an open file's sound, bounded in samples and time."""
    import numpy as np
    pieces: list[Samples] = []
    count, rate, began = 0, 0, time.monotonic()
    resampler = None
    for frame in file.decode(stream):
        if not rate:
            import av
            rate = frame.sample_rate
            _bounded(rate, frame.layout.nb_channels, None)
            resampler = av.AudioResampler(format="fltp", layout=frame.layout, rate=rate)
        assert resampler is not None
        for piece in resampler.resample(frame):
            pieces.append(piece.to_ndarray().astype(np.float64))
            count += pieces[-1].shape[1]
        _bounded(rate, 1, count / rate)
        if time.monotonic() - began > _PATIENCE:
            raise InputError("the clip takes too long to read: record again, 30 s or less")
    if not pieces or len({piece.shape[0] for piece in pieces}) != 1:
        raise InputError("there is no sound in the clip: allow the microphone and record again")
    return _sound(np.concatenate(pieces, axis=1), float(rate), kind)


def _sound(channels: Samples, rate: float, kind: str) -> Sound:
    """One channel: the mean of all, or the louder where they would cancel each other."""
    import numpy as np
    if not channels.size:
        raise InputError("there is no sound in the clip: allow the microphone and record again")
    if not np.isfinite(channels).all():
        raise InputError("the clip is damaged: send it again or record again")
    channels = np.clip(channels, -2.0, 2.0)
    mean = channels.mean(axis=0)
    power = (channels**2).mean(axis=1)
    if (mean**2).mean() < 0.2 * power.max():
        mean = channels[int(np.argmax(power))]
    return Sound(np.ascontiguousarray(mean), rate, kind)
