"""Where pages are: a drive's address from its tag, in signs that need no quoting."""

from __future__ import annotations

from beltwright.plant.identity import loose


def slug(tag: str) -> str:
    """A tag as it stands in an address: what is neither letter nor digit becomes a hyphen, and finds the same drive.

    >>> slug("FAN-12"), slug("P/101 a")
    ('FAN-12', 'P-101-a')
    """
    found = "".join(sign if sign.isalnum() else "-" for sign in tag.strip()).strip("-")
    return found or loose(tag)


def drive_at(tag: str, page: str = "") -> str:
    """The address of a drive's page, or of one of the pages below it.

    >>> drive_at("FAN-12"), drive_at("FAN-12", "card")
    ('/drives/FAN-12', '/drives/FAN-12/card')
    """
    return f"/drives/{slug(tag)}/{page}".rstrip("/")
