"""Who and when: the marks every fact carries, made where the fact is noted, so that no network is needed for it."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID


def new_id() -> UUID:
    """A UUIDv7 (RFC 9562): unique, and in order of the time it was made."""
    from uuid6 import uuid7

    return UUID(int=uuid7().int)


def now() -> datetime:
    """The time, in UTC."""
    return datetime.now(UTC)


def loose(text: str) -> str:
    """A tag as people remember it: `FAN-12`, `fan 12` and `fan12` are one.

    >>> loose("FAN-12") == loose("fan12")
    True
    """
    return "".join(sign for sign in text.casefold() if sign.isalnum())
