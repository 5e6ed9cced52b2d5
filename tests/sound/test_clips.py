"""The reader of clips: every kind a phone saves, and everything it must refuse, quickly and in plain words."""

from __future__ import annotations

import io
import time
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import soundfile

from beltwright.desk.clips import LONGEST, Sound, decode
from beltwright.desk.listen import listen
from beltwright.errors import InputError
from tests.sound import clips, damage
from tests.sound.strings import RATE
from tests.sound.test_hear import plucked

TONE = 0.3 * np.sin(2 * np.pi * 110 * np.arange(16_000) / 16_000)


def written(sound: np.ndarray, rate: int, kind: str, subtype: str = "PCM_16") -> bytes:
    file = io.BytesIO()
    soundfile.write(file, sound, rate, format=kind, subtype=subtype)
    return file.getvalue()


@pytest.mark.parametrize("kind", sorted(damage.whole()))
def test_every_kind_of_file_is_read(kind: str) -> None:
    sound = decode(damage.whole()[kind])
    assert sound.seconds == pytest.approx(1.0, abs=0.08)
    assert sound.rate >= 16_000
    assert 0.005 < np.std(sound.samples) < 1


@pytest.mark.parametrize("kind", [*sorted(set(clips.CODECS) - {"wav"}), "WAV PCM_16", "WAV PCM_24", "WAV FLOAT",
                                  "WAV PCM_U8", "WAV ULAW", "FLAC PCM_24", "CAF PCM_16", "OGG VORBIS", "video"])
def test_a_belt_is_heard_in_every_kind_of_file_a_phone_saves(kind: str) -> None:
    sound, span = plucked()
    if kind == "video":
        data = filmed(sound)
    elif kind in clips.CODECS:
        data = clips.encode(sound, RATE, kind)
    else:
        container, subtype = kind.split()
        data = written(np.stack([sound, 0.7 * sound], axis=1), RATE, container, subtype)
    said = listen(data)
    assert said.answered, said.sentence
    assert said.sound.seconds == pytest.approx(sound.size / RATE, abs=0.2)
    assert said.heard.frequency == pytest.approx(span.first, rel=0.015)


def test_a_file_on_disk_is_read_like_its_bytes(tmp_path: Path) -> None:
    path = tmp_path / "clip.wav"
    path.write_bytes(written(TONE, 16_000, "WAV"))
    assert np.array_equal(decode(path).samples, decode(path.read_bytes()).samples)
    with pytest.raises(InputError, match=r"missing\.wav cannot be read"):
        decode(tmp_path / "missing.wav")


def test_two_channels_become_one_and_do_not_cancel() -> None:
    both = decode(written(np.stack([TONE, TONE], axis=1), 16_000, "WAV"))
    against = decode(written(np.stack([TONE, -TONE], axis=1), 16_000, "WAV"))
    for sound in (both, against):
        assert np.std(sound.samples) == pytest.approx(np.std(TONE), rel=1e-3)


def three_hours() -> bytes:
    return written(np.zeros(3 * 3600 * 2000), 2000, "WAV", "PCM_U8")


def filmed(sound: np.ndarray | None) -> bytes:
    """A video of a second and more of nothing, with this sound or none."""
    file = io.BytesIO()
    with av.open(file, "w", format="mp4") as out:
        stream = out.add_stream("mpeg4", rate=10)
        stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
        voice: Any = None if sound is None else out.add_stream("aac", rate=RATE, layout="mono")
        for _ in range(10):
            out.mux(stream.encode(av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")))
        out.mux(stream.encode(None))
        if sound is not None:
            for start in range(0, sound.size, 1024):
                chunk = sound[None, start:start + 1024].astype(np.float32)
                frame = av.AudioFrame.from_ndarray(chunk, format="fltp", layout="mono")
                frame.sample_rate, frame.pts = RATE, start
                out.mux(voice.encode(frame))
            out.mux(voice.encode(None))
    return file.getvalue()


PLAYLIST = b"#EXTM3U\n#EXTINF:10,\nfile:///etc/passwd\n"
CONCAT = b"ffconcat version 1.0\nfile /etc/passwd\n"


@pytest.mark.parametrize(("data", "words"), [
    (b"", "empty"),
    (b"not a sound at all", "not a sound clip"),
    (PLAYLIST, "not a sound clip"),
    (CONCAT, "not a sound clip"),
    (b"%PDF-1.7 and so on", "not a sound clip"),
    (damage.whole()["wav"][:9000], "breaks off"),
    (damage.whole()["aac"][: len(damage.whole()["aac"]) // 2], "breaks off"),
    (damage.whole()["opus"][:200], "breaks off|no sound"),
    (damage.whole()["flac"][:300], "damaged|breaks off"),
    (b"RIFF\xff\xff\xff\xffWAVE" + b"\0" * 400, "damaged|no sound"),
    (written(np.zeros(40 * 8000), 8000, "WAV"), "40 s long"),
    (written(np.zeros((8000, 20)), 8000, "WAV"), "20 channels"),
    (written(np.zeros((8000, 8)), 192_000, "FLAC"), "8 channels at 192000 Hz"),
], ids=["empty", "text", "playlist", "concat", "pdf", "cut wav", "cut m4a", "cut webm", "cut flac", "hollow wav",
        "40 s", "20 channels", "8 fast channels"])
def test_what_cannot_be_read_is_refused_in_plain_words(data: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words):
        decode(data)


def test_a_three_hour_clip_is_refused_by_its_header_alone() -> None:
    data = three_hours()
    with pytest.raises(InputError, match="3 h long: record 30 s or less"):
        decode(data)


def test_a_long_compressed_clip_stops_being_read() -> None:
    # ten minutes of silence in Opus: a small file, a long sound
    data = clips.encode(np.zeros(16_000 * 600), 16_000, "opus")
    assert len(data) < 5_000_000
    with pytest.raises(InputError, match="long: record"):
        decode(data)


def test_a_video_without_sound_says_so() -> None:
    with pytest.raises(InputError, match="no sound in it: allow the microphone"):
        decode(filmed(None))


def test_too_large_a_file_is_not_opened() -> None:
    with pytest.raises(InputError, match="too large, 65 MB"):
        decode(bytes(65 * 1024 * 1024))


def test_broken_clips_end_in_a_sound_or_a_reason() -> None:
    """A part of the ten thousand that benchmarks/listening_fuzz.py goes through."""
    outcomes = []
    for number in range(500):
        began = time.monotonic()
        try:
            sound = decode(damage.broken(number))
        except InputError as problem:
            outcomes.append("refused" if str(problem) else "silent")
        else:
            outcomes.append("read")
            assert isinstance(sound, Sound)
            assert sound.seconds <= 1.05 * LONGEST
            assert np.isfinite(sound.samples).all()
        assert time.monotonic() - began < 9
    assert "silent" not in outcomes
    assert outcomes.count("refused") > 100
    assert outcomes.count("read") > 50
