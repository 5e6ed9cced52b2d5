"""What serving to a plant network takes: people, a certificate, the names the book is reached by.

Loopback needs none of it. Anything else is refused until all is there, or until somebody says in so many words that
the network may read along; what that costs is said when it starts.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from urllib.parse import urlsplit

from beltwright.book.opening import open_book
from beltwright.book.register import BookRegister
from beltwright.desk.people import KEEPER
from beltwright.errors import InputError, Refused
from beltwright.web import certificates
from beltwright.web.certificates import Certificates
from beltwright.web.entry import LOOPBACK
from beltwright.web.serving import At

LOST: tuple[str, ...] = (
    "Served over plain HTTP. What that costs:",
    "- passwords, sessions and readings can be read and changed by whoever is on the network;",
    "- pages do not work without signal, and the microphone cannot be used.",
    "beltwright tls makes a certificate.",
)


@dataclass(frozen=True, slots=True)
class Plan:
    """How the app is to be made and served; `warnings` are to be shown before it starts."""

    alone: bool
    hosts: tuple[str, ...]
    address: str = ""
    certificate: Path | None = None
    key: Path | None = None
    authority: Path | None = None
    warnings: tuple[str, ...] = ()


def plan(at: At, where: str | Path, *, now: datetime, folder: Path | None = None, plain_http: bool = False,
         address: str = "") -> Plan:
    """How to serve a book there, or `Refused` with everything that is missing and the commands that make it.

    folder:     where the certificates are; beside the book when not given
    plain_http: others on the network may read along
    address:    where phones reach the pages, when that is not the first name of the certificate
    """
    if at.alone:
        return Plan(True, LOOPBACK, address)
    folder = folder or certificates.beside(where)
    files = Certificates.at(folder)
    with open_book(where) as store:
        keepers = [person for person in BookRegister(store).people()
                   if person.retired_at is None and person.role == KEEPER]
    missing = []
    if not keepers:
        missing.append(f"people who log in: beltwright people add NAME --role '{KEEPER}'")
    if not files.are_there() and not plain_http:
        missing.append("a certificate for HTTPS: beltwright tls")
    if missing:
        raise Refused(f"{at.host} is reached by others, and first needs {'; and '.join(missing)}. Without --host the "
                      "book is served to this computer alone")
    if plain_http:
        names = certificates.own_names()
        return Plan(False, _hosts(names, at, address), address or _url("http", names[0], at), warnings=LOST)
    fresh = certificates.keep_fresh(folder, at=now)
    names, until = certificates.names_of(files.server), certificates.runs_out(files.server)
    if until <= now:
        raise Refused(f"the certificate in {folder} ran out on {until:%Y-%m-%d}: run beltwright tls")
    warnings = () if until - now > certificates.RENEWED_BEFORE else (
        f"The certificate runs out on {until:%Y-%m-%d}, and its authority's key is not in {folder}: renew it.",)
    if fresh and fresh.new_server:
        warnings = (f"The certificate was renewed and counts until {until:%Y-%m-%d}.",)
    return Plan(False, _hosts(names, at, address), address or _url("https", names[0], at), files.server,
                files.server_key, files.authority if files.authority.exists() else None, warnings)


def _hosts(names: tuple[str, ...], at: At, address: str) -> tuple[str, ...]:
    """The names a request may give; an address that stands for all of this computer's is none of them."""
    given = []
    if address:
        host = urlsplit(address).hostname
        if not host or urlsplit(address).scheme not in ("http", "https"):
            raise InputError(f"{address!r} is no address of a page: give one like https://mill-pc.local:8433")
        given.append(host)
    return tuple(dict.fromkeys(name.casefold() for name in (*names, at.host, *given) if name not in ("0.0.0.0", "::")))


def _url(scheme: str, name: str, at: At) -> str:
    return f"{scheme}://{f'[{name}]' if ':' in name else name}:{at.port}"
