"""The clips of a plant: which readings have one, handed out, judged again by a better ear, deleted with who and why.

Deleting a clip is a correction of its reading that changes no value: the reading stays, what was heard stays, the sound
is gone, and the record says who did it, when and why. Judging again changes nothing until somebody says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final, Literal, Protocol

from beltwright.bench.card import METHOD
from beltwright.bench.findings.targets import targets_for
from beltwright.desk.face import Book
from beltwright.desk.listen import Listened, rejudge
from beltwright.desk.plucking import CLIP_ENDS, FILES, clips_of, expected, heard_extra, heard_typed
from beltwright.errors import InputError, Unknown
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.reading import Reading

DELETED: Final = "clip deleted"      # under which a reading names the clips it had
Became = Literal["the same", "another note", "another doubt", "not sure any more", "cannot be read", "no clip"]
# notes closer than this are one note written twice
_SAME: Final = 5e-4
_DOUBT: Final = 0.1     # of the uncertainty
# clips held in memory at once [bytes]
_AT_ONCE: Final = 192 * 1024 * 1024
Band = tuple[float, float]


class ClipBook(Book, Protocol):
    """A book that keeps photos and clips."""

    def has_file(self, name: str) -> bool:
        """Whether a clip of that name is here, whole."""
        ...

    def file(self, name: str) -> bytes:
        """A clip; `Unknown` when it is not here."""
        ...

    def file_names(self) -> list[str]:
        """The name of every photo and clip."""
        ...

    def drop_file(self, name: str) -> bool:
        """Delete a clip; True when it was here."""
        ...


@dataclass(frozen=True, slots=True)
class Clip:
    """A clip with the reading that has it; deleted ones are listed with the words of who did it.

    A clip that waited on a phone and was not understood has no reading, nor a tag.
    """

    name: str
    tag: str
    reading: Reading | None
    here: bool
    deleted: str = ""


@dataclass(frozen=True, slots=True)
class Judged:
    """A clip judged again: what it was noted as, what it says now."""

    clip: Clip
    reading: Reading
    became: Became
    now: Listened | str | None

    @property
    def words(self) -> str:
        """What the clip says now, in words."""
        if self.now is None:
            return "its clip is not in the book"
        return self.now if isinstance(self.now, str) else self.now.sentence


def clips(book: ClipBook, tag: str | None = None) -> list[Clip]:
    """The clips of a drive or of the plant, drive by drive, in order of time."""
    found: list[Clip] = []
    with book.looking():
        drives = [book.drive_by_tag(tag)] if tag else book.drives()
        here = set(book.file_names())
        for make_up in drives:
            found += _of_drive(make_up, book.readings(make_up.drive_id), here)
        if tag is None:
            named = {clip.name for clip in found}
            found += [Clip(name, "", None, True) for name in sorted(here - named)
                      if name.rpartition(".")[2] in CLIP_ENDS and not _named_before(book, name)]
    return found


def _named_before(book: ClipBook, name: str) -> bool:
    """Whether a reading that was corrected since names a clip: then it is not one of no reading."""
    return any(name in clips_of(reading) for _, some in book.readings_of_plant(superseded=True) for reading in some)


def _of_drive(make_up: MakeUp, readings: Sequence[Reading], here: set[str]) -> list[Clip]:
    tag = make_up.drive.tag
    found = [Clip(name, tag, reading, name in here) for reading in readings for name in clips_of(reading)]
    return found + [Clip(name, tag, reading, False, f"deleted by {reading.by}: {reading.reason}")
                    for reading in readings for name in reading.extra.get(DELETED, "").split()]


def find_clip(book: ClipBook, name: str) -> Clip:
    """The clip of that name, or of a name that begins so; `Unknown` where there is none or more than one."""
    wanted = name.strip().casefold()
    found = [clip for clip in clips(book) if len(wanted) >= 4 and clip.name.startswith(wanted)]
    if len({clip.name for clip in found}) != 1:
        raise Unknown(f"{'more than one' if found else 'no'} clip {name.strip()[:80]!r} in this book: beltwright clips "
                      "list shows their marks")
    return found[0]


def delete_clip(book: ClipBook, name: str, *, by: str, why: str, at: datetime) -> list[Reading]:
    """Delete a clip: every reading that has it says so from now on, and keeps its values. Returns those readings.

    errors: `InputError` without a name or a reason; `Unknown` for a clip there is none of
    """
    if not by.strip() or not why.strip():
        raise InputError("say who deletes the clip, and why")
    with book.writing():
        holding = [clip.reading for clip in clips(book) if clip.name == name and clip.reading and not clip.deleted]
        if not holding and not book.has_file(name):
            raise Unknown(f"no clip {name[:80]!r} in this book")
        without = [_without(reading, name, by.strip(), why.strip(), at) for reading in holding]
        for reading in without:
            book.note(reading)
        book.drop_file(name)
    return without


def _without(reading: Reading, name: str, by: str, why: str, at: datetime) -> Reading:
    left = " ".join(each for each in reading.extra.get(FILES, "").split() if each != name)
    extra = {key: text for key, text in reading.extra.items() if key != FILES}
    extra |= {DELETED: f"{extra.get(DELETED, '')} {name}".strip(), "corrected_at": at.isoformat(),
              **({FILES: left} if left else {})}
    return replace(reading, id=new_id(), by=by, supersedes=reading.id, reason=why, extra=extra)


def judge_again(book: ClipBook, tag: str | None = None, *, workers: int = 1) -> list[Judged]:
    """Every clip of a note judged by the ear as it is now, over several processes. Changes nothing."""
    some = [(clip, clip.reading) for clip in clips(book, tag) if clip.reading is not None
            and clip.reading.kind == "frequency" and not clip.deleted]
    known: dict[object, Band | None] = {}
    judged: list[Judged] = []
    batch: list[tuple[Clip, Reading, bytes, Band | None]] = []
    for clip, reading in some:
        if not clip.here:
            judged.append(Judged(clip, reading, *_compared(reading, None)))
            continue
        made = book.make_up_at(reading.drive_id, reading.taken_at)
        own_span = reading.values.get("span")
        key = (made.id, own_span)
        if key not in known:
            known[key] = expected(targets_for(made.drive), span=None if own_span is None else float(own_span))
        batch.append((clip, reading, book.file(clip.name), known[key]))
        if sum(len(data) for _, _, data, _ in batch) > _AT_ONCE:
            judged += _again(batch, workers)
            batch = []
    return judged + _again(batch, workers)


def _again(batch: Sequence[tuple[Clip, Reading, bytes, Band | None]], workers: int) -> list[Judged]:
    heard = rejudge([data for _, _, data, _ in batch], bands=[band for *_, band in batch], workers=workers)
    return [Judged(clip, reading, *_compared(reading, now)) for (clip, reading, _, _), now in zip(batch, heard,
                                                                                                   strict=True)]


def _compared(reading: Reading, now: Listened | str | None) -> tuple[Became, Listened | str | None]:
    if now is None:
        return "no clip", None
    if isinstance(now, str):
        return "cannot be read", now
    if not now.answered:
        return "not sure any more", now
    values, heard = reading.values, now.heard
    assert heard.frequency is not None
    assert heard.uncertainty is not None
    if abs(heard.frequency / float(values["frequency"]) - 1.0) > _SAME:
        return "another note", now
    before = float(values.get("uncertainty", 0.0))
    other = abs(heard.uncertainty - before) > max(_DOUBT * before, 0.002)
    return "another doubt" if other else "the same", now


def take_over(book: ClipBook, judged: Sequence[Judged], *, by: str, at: datetime, reason: str = "") -> list[Reading]:
    """Put right the readings whose clip now says another note, or says it more or less surely; the old ones stay.

    A clip the ear is no longer sure of changes nothing by itself: somebody noted that reading, and decides.
    """
    if not by.strip():
        raise InputError("a name is needed: every correction is somebody's")
    made = [_corrected(each.reading, each.now, by.strip(), at, reason) for each in judged
            if each.became in ("another note", "another doubt") and isinstance(each.now, Listened)]
    with book.writing():
        for reading in made:
            book.note(reading)
    return made


def _corrected(old: Reading, now: Listened, by: str, at: datetime, reason: str) -> Reading:
    typed = heard_typed(now)
    values: Mapping[str, float] = {name: float(text.removesuffix(" Hz")) for name, text in typed.items()}
    was = old.extra.get("heard by", "typed in")
    said = reason.strip() or f"its clip judged again: {now.heard.method}, before {was}"
    return replace(old, id=new_id(), by=by, supersedes=old.id, reason=said, values={**old.values, **values},
                   typed={**old.typed, **typed}, method=METHOD,
                   extra={**old.extra, **heard_extra(now), "corrected_at": at.isoformat()})
