"""Photos and sound clips kept beside a book, in a folder of its name: each a file named by its own SHA-256.

The same file handed in twice is one file; one that was cut or changed on the way does not have its name and is refused
whole. What a file is, is told by its first bytes, never by its name. Knows no reading: those name the files they have.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final

from beltwright.errors import BookError, BookFull, BookReadOnly, InputError, Unknown

LARGEST_PHOTO: Final = 12 * 1024 * 1024    # bytes
LARGEST_CLIP: Final = 24 * 1024 * 1024
# kinds by their ends: those whose bytes are a picture, and what browsers record
PICTURES: Final = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}
CLIPS: Final = {"wav": "audio/wav", "flac": "audio/flac", "ogg": "audio/ogg", "webm": "audio/webm", "m4a": "audio/mp4",
                "mp3": "audio/mpeg"}
_NAME: Final = re.compile(rf"([0-9a-f]{{64}})\.({'|'.join((*PICTURES, *CLIPS))})")


class Enclosed:
    """The folder beside a book; without one (a book on a server) nothing can be enclosed."""

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder

    def has(self, name: str) -> bool:
        """Whether a file of that name is here, whole."""
        return self.folder is not None and _NAME.fullmatch(name) is not None and self._path(name).is_file()

    def keep(self, name: str, data: bytes) -> bool:
        """Keep a file under the name it must have; True when it was new. On return it is on the disk.

        errors: `InputError` for a name or kind not taken, a file too large, or one that is not what its name says;
                `BookError` when it cannot be written
        """
        if self.folder is None:
            raise BookError("this book is on a server and has no folder for photos and clips")
        must_be_good(name, data)
        path = self._path(name)
        if path.is_file():
            return False
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            _write(path, data)
        except OSError as problem:
            if problem.errno in (errno.ENOSPC, errno.EDQUOT):
                raise BookFull(f"{self.folder}: the disk has no room left for photos and clips") from None
            raise BookReadOnly(f"{self.folder}: {problem.strerror}") from None
        return True

    def read(self, name: str) -> bytes:
        """A file; `Unknown` when it is not here."""
        if not self.has(name):
            raise Unknown(f"no photo or clip {name[:80]!r} beside this book")
        return self._path(name).read_bytes()

    def _path(self, name: str) -> Path:
        assert self.folder is not None
        return self.folder / name[:2] / name


def beside(book: Path | None) -> Enclosed:
    """The folder of a book: its name with `.files` behind."""
    return Enclosed(None if book is None else book.with_name(f"{book.name}.files"))


def must_be_good(name: str, data: bytes) -> None:
    """`InputError` unless a file has its SHA-256 as name, is of a kind taken, and not too large."""
    found = _NAME.fullmatch(name)
    if found is None:
        raise InputError(f"a photo or clip is named by its SHA-256 and its kind: {', '.join((*PICTURES, *CLIPS))}")
    most = LARGEST_PHOTO if found[2] in PICTURES else LARGEST_CLIP
    if len(data) > most:
        raise InputError(f"{len(data) >> 20} MB is too large: a photo has at most {LARGEST_PHOTO >> 20} MB, a clip "
                         f"{LARGEST_CLIP >> 20} MB")
    if hashlib.sha256(data).hexdigest() != found[1]:
        raise InputError("the file was cut or changed on the way: send it again")
    if kind_of(data) != found[2]:
        raise InputError(f"the file is not the {found[2]} its name says")


def name_of(data: bytes) -> str:
    """The name a file is kept under."""
    return f"{hashlib.sha256(data).hexdigest()}.{kind_of(data)}"


def kind_of(data: bytes) -> str:
    """What a file is, by its first bytes: the end of its name; `InputError` for what is not taken."""
    if data.startswith(b"\xff\xd8\xff"):
        return "jpg"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "webp"
    for start, kind in ((b"fLaC", "flac"), (b"OggS", "ogg"), (b"\x1a\x45\xdf\xa3", "webm"), (b"ID3", "mp3")):
        if data.startswith(start):
            return kind
    if data[:4] in (b"RIFF", b"RF64") and data[8:12] == b"WAVE":
        return "wav"
    if data[4:8] == b"ftyp" and data[8:11] not in (b"hei", b"mif", b"avi"):
        return "m4a"
    if len(data) > 2 and data[0] == 0xFF and data[1] & 0xE0 == 0xE0:
        return "mp3"
    raise InputError("a photo (JPEG, PNG, WebP) or a clip (WAV, FLAC, Ogg, WebM, M4A, MP3) is taken; this is neither")


def _write(path: Path, data: bytes) -> None:
    """All of it or nothing, on the disk before it has its name."""
    handle, part = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(part).replace(path)
    except BaseException:
        with suppress(OSError):
            Path(part).unlink()
        raise
    directory = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(directory)
    finally:
        os.close(directory)
