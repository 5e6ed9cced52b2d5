"""What serving to a plant network takes: people, a certificate, the names the book is reached by.

Loopback needs none of it. Anything else is refused until all is there, or until somebody says in so many words that
the network may read along; what that costs is said when it starts. Behind a reverse proxy the book is reached by
others although it listens to this computer alone: people are needed, and the proxy has the certificate.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Sequence
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
    """How the app is to be made and served; `warnings` are to be shown before it starts.

    proxies: whose word is taken on who asks and over what; nobody else's
    """

    alone: bool
    hosts: tuple[str, ...]
    address: str = ""
    certificate: Path | None = None
    key: Path | None = None
    authority: Path | None = None
    warnings: tuple[str, ...] = ()
    proxies: tuple[str, ...] = ()


def plan(at: At, where: str | Path, *, now: datetime, folder: Path | None = None, plain_http: bool = False,
         address: str = "", proxies: Sequence[str] = ()) -> Plan:
    """How to serve a book there, or `Refused` with everything that is missing and the commands that make it.

    folder:     where the certificates are; beside the book when not given
    plain_http: others on the network may read along
    address:    where phones reach the pages, when that is not the first name of the certificate
    proxies:    addresses of reverse proxies in front, which have the certificate
    """
    if proxies:
        return _behind(_proxies(proxies), at, where, folder=folder, plain_http=plain_http, address=address)
    if at.alone:
        return Plan(True, LOOPBACK, address)
    folder = folder or certificates.beside(where)
    files = Certificates.at(folder)
    missing = _people_missing(where)
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


def _behind(proxies: tuple[str, ...], at: At, where: str | Path, *, folder: Path | None, plain_http: bool,
            address: str) -> Plan:
    missing = _people_missing(where)
    if not address:
        missing.append("the address under which the proxy serves it: --address https://belts.mill.local")
    elif not address.startswith("https://") and not plain_http:
        missing.append(f"HTTPS at the proxy, and so an address that begins with https://, not {address}")
    if missing:
        raise Refused(f"behind a proxy the book is reached by others, and first needs {'; and '.join(missing)}")
    own = Certificates.at(folder or certificates.beside(where)).authority
    return Plan(False, _hosts((), At("", at.port), address), address.rstrip("/"),
                authority=own if own.exists() else None, warnings=LOST if address.startswith("http://") else (),
                proxies=proxies)


def _proxies(given: Sequence[str]) -> tuple[str, ...]:
    for each in given:
        try:
            ipaddress.ip_network(each, strict=False)
        except ValueError:
            raise InputError(f"{each!r} is no address of a proxy: give one like 127.0.0.1 or 10.0.0.0/24") from None
    return tuple(given)


def _people_missing(where: str | Path) -> list[str]:
    with open_book(where) as store:
        keepers = [person for person in BookRegister(store).people()
                   if person.retired_at is None and person.role == KEEPER]
    return [] if keepers else [f"people who log in: beltwright people add NAME --role '{KEEPER}'"]


def _hosts(names: tuple[str, ...], at: At, address: str) -> tuple[str, ...]:
    """The names a request may give; an address that stands for all of this computer's is none of them."""
    given = []
    if address:
        parts = urlsplit(address)
        host = parts.hostname
        if not host or parts.scheme not in ("http", "https"):
            raise InputError(f"{address!r} is no address of a page: give one like https://mill-pc.local:8433")
        if parts.path not in ("", "/") or parts.query:
            raise InputError(f"{address!r}: the pages need a name or a port of their own, and none below another page")
        given.append(host)
    return tuple(dict.fromkeys(name.casefold() for name in (*names, at.host, *given)
                               if name not in ("", "0.0.0.0", "::")))


def _url(scheme: str, name: str, at: At) -> str:
    return f"{scheme}://{f'[{name}]' if ':' in name else name}:{at.port}"
