"""What the book says, asked again only when somebody has written to it: the plant's choices, and of a drive the word of
its facts.

The book's mark is cheap to ask for and is another after every write, by whomsoever; while it is the same, so is what
was read before. What follows from a drive's facts and the plant's choices is the same while its word is.
"""

from __future__ import annotations

import hashlib
import threading

from beltwright.book.store import Store
from beltwright.plant.identity import loose
from beltwright.plant.settings import Settings


class Lately:
    """What was read since the book was last written to."""

    def __init__(self, book: Store) -> None:
        self._book = book
        self._turn = threading.Lock()
        self._mark = ""
        self._settings: Settings | None = None
        self._words: dict[str, str] = {}

    def mark(self) -> str:
        """The book's mark now; what was read under another is forgotten."""
        mark = self._book.mark()
        with self._turn:
            if mark != self._mark:
                self._mark, self._settings, self._words = mark, None, {}
        return mark

    def settings(self) -> Settings:
        """The choices of the plant as they stand."""
        mark = self.mark()
        found = self._settings
        if found is None:
            found = self._book.settings()
            with self._turn:
                if mark == self._mark:   # else somebody wrote meanwhile: right for now, and asked again
                    self._settings = found
        return found

    def word(self, tag: str) -> str:
        """Another word whenever a fact of this drive, or a choice of the plant, is another; nothing without a drive."""
        mark, key = self.mark(), loose(tag)
        if (known := self._words.get(key)) is not None:
            return known
        found = word(self._book, tag, self.settings())
        with self._turn:
            if mark == self._mark:
                self._words[key] = found
        return found


def word(book: Store, tag: str, settings: Settings) -> str:
    """The word of a drive's facts and the plant's choices, read now."""
    facts = book.facts_of(tag)
    return "" if facts is None else f"{facts[0].hex} {facts[1].hex} {facts[2]} {chosen(settings)}"


def chosen(settings: Settings) -> str:
    """The word of the plant's choices."""
    return hashlib.blake2s(repr(settings).encode(), digest_size=8).hexdigest()
