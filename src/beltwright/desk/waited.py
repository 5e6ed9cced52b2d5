"""Clips that waited in a phone's outbox: each is heard when it comes in, before anything of the handful is written.

A clip the ear is sure of becomes a reading under the id it was noted with; one it is not sure of is refused with what
to do, so that whoever recorded it is told on the phone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from beltwright.desk.face import Book
from beltwright.desk.plucking import CLIP_ENDS, BeltHeard, hear_belt, keep
from beltwright.errors import BeltwrightError, InputError
from beltwright.units import parse

ReadFile = Callable[[str], bytes]
_LONGEST: Final = 200


@dataclass(frozen=True, slots=True)
class WaitedClip:
    """What a phone says of a clip: whose belt, which, and the one file it is."""

    tag: str
    belt: int | None
    state: str
    span: float | None
    file: str


def understood(sent: Mapping[str, Any]) -> WaitedClip:
    """A clip from what was sent; `InputError` says what is missing."""
    texts = {name: sent.get(name, "") for name in ("tag", "belt", "state", "span")}
    if not all(isinstance(text, str) and len(text) <= _LONGEST for text in texts.values()):
        raise InputError("a clip is sent with tag, belt, state and span as texts")
    names = sent.get("files")
    if not isinstance(names, list) or len(names) != 1 or not isinstance(names[0], str) or \
            names[0].rpartition(".")[2] not in CLIP_ENDS:
        raise InputError("a clip is sent with the name of its one file")
    belt = texts["belt"].strip()
    if belt and not (belt.isascii() and belt.isdigit() and len(belt) <= len("40")):
        raise InputError(f"{belt[:20]!r} is no belt: count from the motor side")
    span = texts["span"].strip()
    return WaitedClip(texts["tag"], int(belt) if belt else None, texts["state"],
                      parse(span, "length") if span else None, names[0])


def hear(book: Book, sent: Mapping[str, Any], at: datetime, read_file: ReadFile) -> BeltHeard | BeltwrightError:
    """What a clip says, or why it cannot be heard."""
    try:
        clip = understood(sent)
        return hear_belt(book, clip.tag, read_file(clip.file), belt=clip.belt, state=clip.state, at=at, span=clip.span)
    except BeltwrightError as problem:
        return problem


def take(book: Book, heard: BeltHeard | BeltwrightError, sent: Mapping[str, Any], reading_id: UUID, by: str,
         at: datetime, said: Mapping[str, str], job_id: UUID | None) -> None:
    """Keep what was heard; raises what stood in its way, or what the ear was not sure of."""
    if isinstance(heard, BeltwrightError):
        raise heard
    keep(book, replace(heard, at=at), understood(sent).file, by=by, job_id=job_id, reading_id=reading_id, extra=said)
