"""Photos and sound clips kept in a book, each under its own SHA-256: in its backup and its export they are, too.

The same file handed in twice is one file; one that was cut or changed on the way does not have its name and is refused
whole. What a file is, is told by its first bytes, never by its name. Knows no reading: those name the files they have.
"""

from __future__ import annotations

import hashlib
import math
import re
from datetime import datetime
from typing import Final

from beltwright.book.databases import Connection
from beltwright.errors import InputError, Unknown

LARGEST_PHOTO: Final = 12 * 1024 * 1024    # bytes
LARGEST_CLIP: Final = 24 * 1024 * 1024
# a file of some kilobytes can open out to gigabytes in the browser of whoever looks at it; phones take up to 108
MOST_PIXELS: Final = 120_000_000
# kinds by their ends: those whose bytes are a picture, and what browsers record
PICTURES: Final = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp", "heic": "image/heic"}
CLIPS: Final = {"wav": "audio/wav", "flac": "audio/flac", "ogg": "audio/ogg", "webm": "audio/webm", "m4a": "audio/mp4",
                "mp3": "audio/mpeg", "caf": "audio/x-caf"}
# what phones call their own pictures (ISO/IEC 23008-12); no browser but theirs shows one, so it is kept to be fetched
_HEIC: Final = (b"heic", b"heix", b"mif1", b"heim", b"heis")
_NAME: Final = re.compile(rf"([0-9a-f]{{64}})\.({'|'.join((*PICTURES, *CLIPS))})")


def keep(connection: Connection, name: str, data: bytes, at: datetime) -> bool:
    """Keep a file under the name it must have; True when it was new.

    errors: `InputError` for a name or kind not taken, a file too large, or one that is not what its name says
    """
    must_be_good(name, data)
    return connection.do("INSERT INTO enclosed (name, kept_at, data) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
                         name, at, data) == 1


def has(connection: Connection, name: str) -> bool:
    """Whether a file of that name is here, whole."""
    return _NAME.fullmatch(name) is not None and bool(connection.ask("SELECT 1 FROM enclosed WHERE name = ?", name))


def read(connection: Connection, name: str) -> bytes:
    """A file; `Unknown` when it is not here."""
    found = connection.ask("SELECT data FROM enclosed WHERE name = ?", name) if _NAME.fullmatch(name) else []
    if not found:
        raise Unknown(f"no photo or clip {name[:80]!r} in this book")
    return bytes(found[0][0])


def drop(connection: Connection, name: str) -> bool:
    """Delete a file; True when it was here. Who did it and why stands in the readings that had it."""
    return _NAME.fullmatch(name) is not None and connection.do("DELETE FROM enclosed WHERE name = ?", name) == 1


def names(connection: Connection) -> list[str]:
    """The name of every file, in the order in which they were kept."""
    return [row[0] for row in connection.ask("SELECT name FROM enclosed ORDER BY kept_at, name")]


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
    width, height = size_of(data)
    if width * height > MOST_PIXELS:
        raise InputError(f"the photo is {width} by {height} dots: at most {MOST_PIXELS:,} together, take it smaller")


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
    for start, kind in ((b"fLaC", "flac"), (b"OggS", "ogg"), (b"\x1a\x45\xdf\xa3", "webm"), (b"ID3", "mp3"),
                        (b"caff", "caf")):
        if data.startswith(start):
            return kind
    if data[:4] in (b"RIFF", b"RF64") and data[8:12] == b"WAVE":
        return "wav"
    if data[4:8] == b"ftyp":
        brand = data[8:12]
        if brand in _HEIC:
            return "heic"
        if brand[:3] not in (b"hei", b"hev", b"mif", b"msf", b"avi"):
            return "m4a"
    if len(data) > 2 and data[0] == 0xFF and data[1] & 0xE0 == 0xE0:
        return "mp3"
    raise InputError("a photo (JPEG, PNG, WebP, HEIC) or a clip (WAV, FLAC, Ogg, WebM, M4A, MP3, CAF) is taken; this "
                     "neither")


def size_of(data: bytes) -> tuple[int, int]:
    """How wide and high a photo says it is, in dots; nothing for what says no size and so cannot be opened either.

    >>> size_of(b"\\x89PNG\\r\\n\\x1a\\n\\0\\0\\0\\rIHDR\\0\\0\\2\\x80\\0\\0\\1\\xe0")
    (640, 480)
    """
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return int.from_bytes(data[16:20]), int.from_bytes(data[20:24])
    if data.startswith(b"\xff\xd8"):
        return _size_of_jpeg(data)
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return _size_of_webp(data)
    return 0, 0


def _size_of_jpeg(data: bytes) -> tuple[int, int]:
    # ITU-T T.81, B.1.1: segments with their lengths until the one that begins a frame
    place, size = 2, (0, 0)
    while place + 9 <= len(data) and data[place] == 0xFF:
        mark = data[place + 1]
        if mark == 0xDA:   # the picture itself
            break
        if 0xC0 <= mark <= 0xCF and mark not in (0xC4, 0xC8, 0xCC):
            found = int.from_bytes(data[place + 7:place + 9]), int.from_bytes(data[place + 5:place + 7])
            size = max(size, found, key=math.prod)
        bare = mark == 0xFF or 0xD0 <= mark <= 0xD9   # filling, or a mark without a segment
        place += (2 - (mark == 0xFF)) if bare else 2 + int.from_bytes(data[place + 2:place + 4])
    return size


def _size_of_webp(data: bytes) -> tuple[int, int]:
    # RFC 9649: three ways to begin
    match data[12:16]:
        case b"VP8X":
            return int.from_bytes(data[24:27], "little") + 1, int.from_bytes(data[27:30], "little") + 1
        case b"VP8L":
            both = int.from_bytes(data[21:25], "little")
            return (both & 0x3FFF) + 1, (both >> 14 & 0x3FFF) + 1
        case b"VP8 ":
            return (int.from_bytes(data[26:28], "little") & 0x3FFF, int.from_bytes(data[28:30], "little") & 0x3FFF)
    return 0, 0
