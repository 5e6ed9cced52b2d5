"""How to make a phone trust the plant's own authority, with its fingerprint to compare."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response

from beltwright.errors import Unknown
from beltwright.web import certificates, gate
from beltwright.web.visit import At

router = APIRouter()


@dataclass(frozen=True, slots=True)
class TrustPage:
    """The fingerprint, in lines of eight pairs."""

    fingerprint: tuple[str, ...]


@router.get("/trust")
def trust(at: At) -> HTMLResponse:
    """The page a phone opens before it trusts us."""
    pairs = certificates.fingerprint(_authority(at)).split(":")
    lines = tuple(" ".join(pairs[start:start + _IN_A_LINE]) for start in range(0, len(pairs), _IN_A_LINE))
    return at.show("trust.html", TrustPage(lines))


@router.get("/trust/authority.crt")
def authority(at: At) -> Response:
    """The authority's certificate as phones open it; there is nothing secret in it."""
    return Response(certificates.as_phones_take_it(_authority(at)), media_type="application/x-x509-ca-cert",
                    headers={"Content-Disposition": 'attachment; filename="beltwright-authority.crt"'})


_IN_A_LINE = 8


def _authority(at: At) -> Path:
    found = gate.door_of(at.request).authority
    if found is None:
        raise Unknown("this book is served without an authority of its own: there is nothing to trust")
    return found
