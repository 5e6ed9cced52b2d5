"""A page packed in pieces: its middle once and for good, what stands round it for each answer.

The gzip format is one stream of deflate blocks with a check sum of the whole at its end (RFC 1952). A piece ends at a
byte (a full flush) and refers to nothing before it, so pieces packed apart make one stream when put side by side; the
check sum of the whole follows from those of the pieces. Knows nothing of pages.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

# RFC 1952: no name, no time, made by an unknown system
_HEAD: Final = b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\xff"
# the empty last block
_LAST: Final = b"\x03\x00"
_LEVEL: Final = 6
_LEVEL_ONCE: Final = 1
# the polynomial of the check sum, the first power of x last; one; x
_CRC: Final = 0xEDB88320
_ONE: Final = 1 << 31
_X: Final = 1 << 30


@dataclass(frozen=True, slots=True)
class Piece:
    """A packed piece: its blocks, the check sum and length of what is in it, and x to the power of its bits."""

    blocks: bytes
    crc: int
    length: int
    shift: int


def pack(data: bytes, *, once: bool = False) -> Piece:
    """Pack a piece; `once`: for one answer only, quickly."""
    packing = zlib.compressobj(_LEVEL_ONCE if once else _LEVEL, zlib.DEFLATED, -zlib.MAX_WBITS)
    blocks = packing.compress(data) + packing.flush(zlib.Z_FULL_FLUSH)
    return Piece(blocks, zlib.crc32(data), len(data), _power(8 * len(data)))


def joined(pieces: Iterable[Piece]) -> bytes:
    """The pieces side by side, as one packed file.

    >>> import gzip
    >>> gzip.decompress(joined([pack(b"set to "), pack(b"41 N")]))
    b'set to 41 N'
    """
    crc = length = 0
    blocks = [_HEAD]
    for piece in pieces:
        crc = _times(piece.shift, crc) ^ piece.crc
        length += piece.length
        blocks.append(piece.blocks)
    blocks += (_LAST, crc.to_bytes(4, "little"), (length & 0xFFFFFFFF).to_bytes(4, "little"))
    return b"".join(blocks)


def unpacked(piece: Piece) -> bytes:
    """What is in a piece."""
    return zlib.decompressobj(-zlib.MAX_WBITS).decompress(piece.blocks)


def _times(one: int, other: int) -> int:
    """The product of two polynomials over bits, modulo that of the check sum."""
    product, at = 0, _ONE
    while one:
        if one & at:
            product ^= other
            one ^= at
        at >>= 1
        other = (other >> 1) ^ _CRC if other & 1 else other >> 1
    return product


def _squares() -> list[int]:
    """x to the powers 1, 2, 4, 8 ..."""
    found = [_X]
    for _ in range(40):
        found.append(_times(found[-1], found[-1]))
    return found


_SQUARES: Final = _squares()


def _power(bits: int) -> int:
    """x to a power."""
    found, at = _ONE, 0
    while bits:
        if bits & 1:
            found = _times(_SQUARES[at], found)
        bits >>= 1
        at += 1
    return found
