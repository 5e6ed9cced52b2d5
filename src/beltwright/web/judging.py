"""A whole plant judged, and its drives' pages filled, in a process of its own, so that the server goes on answering.

The server starts it (`Apart`), says which drives, and takes what comes: first all of them listed, then each judged,
then each one's page in the plant's units. It lives as long as that takes and gives way to whatever else the computer
does. What goes between the two is of our own making and never leaves this computer.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from typing import IO, Any, Final
from uuid import UUID

from beltwright.book.opening import open_book
from beltwright.book.store import Store
from beltwright.desk.judge import choices
from beltwright.web.glance import glance
from beltwright.web.glances import TOGETHER, Judged, Made, judged, judged_with, record_at
from beltwright.web.kept import Kept, middle
from beltwright.web.lately import word

# how far it gives way to others
_NICE: Final = 10
_LISTED_AT_ONCE: Final = 500
# what reading from a process says that was ended, or a pipe that was closed
_CUT_OFF: Final = (OSError, EOFError, ValueError, pickle.UnpicklingError)
_BEGINNING: Final = datetime.min.replace(tzinfo=UTC)


class Apart:
    """Judges many drives in a process of its own, and keeps the pages that it fills."""

    def __init__(self, where: str, kept: Kept) -> None:
        self._where = where
        self._kept = kept
        self._work: subprocess.Popen[bytes] | None = None
        self._taking: threading.Thread | None = None

    def __call__(self, stale: Sequence[tuple[UUID, Made]]) -> Iterator[Sequence[Judged]]:
        """These drives, listed, then judged; their pages are kept as they come, long after."""
        self.stop()
        try:
            work = subprocess.Popen([sys.executable, "-m", "beltwright.web.judging"], stdin=subprocess.PIPE,
                                    stdout=subprocess.PIPE)
        except OSError:   # no room for another process: the server does it
            return
        self._work = work
        assert work.stdin is not None
        assert work.stdout is not None
        with suppress(*_CUT_OFF):
            pickle.dump((self._where, list(stale)), work.stdin)
            work.stdin.close()
            while some := pickle.load(work.stdout):
                yield some
            self._taking = threading.Thread(target=self._take, args=(work.stdout,), name="pages", daemon=True)
            self._taking.start()

    def stop(self) -> None:
        """Judge no more."""
        if (work := self._work) is not None:
            work.kill()
            work.wait()
            if self._taking is not None:
                self._taking.join()
            for pipe in (work.stdin, work.stdout):
                with suppress(OSError):
                    if pipe is not None:
                        pipe.close()
        self._work = self._taking = None

    def _take(self, pages: IO[bytes]) -> None:
        with suppress(*_CUT_OFF):
            while page := pickle.load(pages):
                self._kept.put(*page)


def main() -> None:
    """The process: what to do comes in, what was done goes out."""
    os.nice(_NICE)
    out = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())   # whatever a library says is no page
    where, stale = pickle.load(sys.stdin.buffer)

    def hand_over(made: Any) -> None:
        pickle.dump(made, out, protocol=pickle.HIGHEST_PROTOCOL)
        out.flush()

    with suppress(BrokenPipeError), open_book(where) as book:
        for some in _listed(book, stale):
            hand_over(some)
        for some in _all_judged(book, stale):
            hand_over(some)
        hand_over(None)
        for page in _pages(book, [drive_id for drive_id, _ in stale]):
            hand_over(page)
        hand_over(None)


def _listed(book: Store, stale: Sequence[tuple[UUID, Made]]) -> Iterator[list[Judged]]:
    """Those never judged before, as they are called and where they are: a plant is a list of its drives at once."""
    wanted = dict(stale)
    lines = [Judged((wanted[make_up.drive_id][0], -1, ""), _BEGINNING, glance(make_up))
             for make_up in book.drives() if make_up.drive_id in wanted]
    for start in range(0, len(lines), _LISTED_AT_ONCE):
        yield lines[start:start + _LISTED_AT_ONCE]


def _all_judged(book: Store, stale: Sequence[tuple[UUID, Made]]) -> Iterator[list[Judged]]:
    chosen = choices(book.settings())
    for start in range(0, len(stale), TOGETHER):
        some = stale[start:start + TOGETHER]
        records = [record_at(book, drive_id) for drive_id, _ in some]
        yield [judged(made, *each) for (_, made), each in zip(some, judged_with(records, chosen), strict=True)]


def _pages(book: Store, drive_ids: Sequence[UUID]) -> Iterator[tuple[Any, ...]]:
    """Each drive's page as `Kept.put` takes it."""
    from beltwright.web.pages.drive import filled, key
    from beltwright.web.shelf import Shelf
    from beltwright.web.visit import environment, nobody

    templates = environment(Shelf())
    settings = book.settings()
    frame, template, chosen = nobody(settings.system), templates.get_template("drive.html"), choices(settings)
    for start in range(0, len(drive_ids), TOGETHER):
        some = []
        for drive_id in drive_ids[start:start + TOGETHER]:
            with book.looking():
                record = record_at(book, drive_id)
                some.append((record, word(book, record.make_ups[-1].drive.tag, settings)))
        for (record, made_of), (_, found, until) in zip(some, judged_with([one for one, _ in some], chosen),
                                                        strict=True):
            page = filled(record, found, settings.system, chosen)
            yield key(page.tag, settings.system), made_of, until, middle(
                template.render(page=page, frame=frame), page.tag)


if __name__ == "__main__":
    main()
