"""Filled pages kept packed, so that a page of an unchanged drive or plant costs no more than finding it.

Kept is the middle of a page (`main` and what is in it), which is the same for everybody who reads in the same units:
no name, no role, no form that changes something, nothing of a person's own. What stands round it is put on for each
answer. Every page is kept with the word of what it was made from; whoever asks says the word as it is now, and gets
nothing when it is another. Nothing here is a fact: all of it lies in a file without a name that is gone with the
server.
"""

from __future__ import annotations

import os
import re
import tempfile
import threading
import weakref
from collections.abc import Hashable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from beltwright.web.packed import Piece, pack

# what the file may grow to before it is begun anew: the pages of 10,000 drives and as many again [bytes]
MOST: Final = 384 * 1024 * 1024
# on the disk, where the usual place is often in memory
_PLACE: Final = "/var/tmp"
_MAIN: Final = re.compile(r"<main\b.*</main>", re.DOTALL)
FOR_EVER: Final = datetime.max.replace(tzinfo=UTC)
# where pages look for a middle: in whose words, and what of
Key = tuple[Hashable, ...]


@dataclass(frozen=True, slots=True)
class Middle:
    """The middle of a page, packed, and what the frame round it must know: its title and its modules."""

    title: str
    modules: tuple[str, ...]
    piece: Piece


def middle(text: str, title: str, modules: tuple[str, ...] = ()) -> Middle:
    """The middle of a whole page, cut out and packed."""
    return Middle(title, modules, pack(parted(text)[1].encode()))


def parted(text: str) -> tuple[str, str, str]:
    """What stands before the middle of a page, the middle, and what stands after it."""
    found = _MAIN.search(text)
    if found is None:
        raise ValueError("a page without its main part")
    return text[:found.start()], found[0], text[found.end():]


@dataclass(slots=True)
class _Place:
    """Where a middle lies in the file, and for how long it is right."""

    made_of: str
    until: datetime
    title: str
    modules: tuple[str, ...]
    at: int
    size: int
    crc: int
    length: int
    shift: int


class Kept:
    """Middles of pages by key, in a file of this server's own."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._turn = threading.Lock()
        self._places: dict[Key, _Place] = {}
        self._end = 0
        self._file, name = tempfile.mkstemp(prefix="beltwright-", dir=_PLACE if os.access(_PLACE, os.W_OK) else None)
        os.unlink(name)
        self._close = weakref.finalize(self, os.close, self._file)

    def close(self) -> None:
        """Let go of the file."""
        with self._turn:
            self._places.clear()
            self._close()

    def get(self, key: Key, made_of: str, moment: datetime) -> Middle | None:
        """The middle kept under the key, if it was made from the same and is right at this moment."""
        with self._turn:
            place = self._places.get(key)
            if place is None:
                return None
            if place.made_of != made_of or moment >= place.until:
                del self._places[key]
                return None
            blocks = os.pread(self._file, place.size, place.at)
        return Middle(place.title, place.modules, Piece(blocks, place.crc, place.length, place.shift))

    def put(self, key: Key, made_of: str, until: datetime, made: Middle) -> None:
        """Keep a middle, made from what the word says, until a moment; a disk without room keeps none."""
        piece = made.piece
        with self._turn:
            if not self._close.alive or len(piece.blocks) > self._most:
                return
            if self._end + len(piece.blocks) > self._most:
                self._places.clear()
                self._end = 0
            try:
                if os.pwrite(self._file, piece.blocks, self._end) < len(piece.blocks):
                    return
            except OSError:
                return
            self._places[key] = _Place(made_of, until, made.title, made.modules, self._end, len(piece.blocks),
                                       piece.crc, piece.length, piece.shift)
            self._end += len(piece.blocks)
