"""What a request must be before a page sees it, and what every answer carries.

Whoever serves to this computer alone is still reached by every page of every other site that its browser opens: the
host must be ours, and what changes the book must come from one of our own pages. Bodies are counted while they come
in. The policy on every answer lets no script or style stand in a page. Plain ASGI: this runs on every request.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY: Final = ("default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'")
HEADERS: Final = {
    "Content-Security-Policy": POLICY, "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin", "Permissions-Policy": "camera=(), geolocation=(), microphone=(self)",
}
LOOPBACK: Final = ("127.0.0.1", "localhost", "::1")
# a form or a call; and, where files come in: a sheet, a photo, a clip, a whole book's export [bytes]
MOST_BYTES: Final = 2 * 1024 * 1024
MOST_OF_FILES: Final = 64 * 1024 * 1024
WITH_FILES: Final = re.compile(r"/sheet$|/book/import$|/api/v1/files/|/drives/[^/]+/(?:readings/|listen$)")
# what a program in front says of whoever asked it
_FORWARDED: Final = frozenset(("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip"))
_CHANGES: Final = frozenset(("POST", "PUT", "PATCH", "DELETE"))


class TooLarge(Exception):
    """More came in than is taken."""


class Entry:
    """The door in front of the app."""

    def __init__(self, app: ASGIApp, *, hosts: Collection[str] = LOOPBACK, alone: bool = False) -> None:
        self.app = app
        self.hosts = frozenset(hosts)
        self.alone = alone

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or say why not."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        with_headers = _adding(send)
        most = MOST_OF_FILES if WITH_FILES.match(scope["path"]) else MOST_BYTES
        if (problem := self._problem(scope, Headers(scope=scope), most)) is not None:
            await _said(scope, *problem)(scope, receive, with_headers)
            return
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            started = True
            await with_headers(message)

        try:
            await self.app(scope, _counted(receive, most), watched)
        except TooLarge:
            if not started:
                await _said(scope, 413, _too_much(most))(scope, receive, with_headers)

    def _problem(self, scope: Scope, headers: Headers, most: int) -> tuple[int, str] | None:
        host = _host_in(f"//{headers.get('host', '')}")
        if host not in self.hosts:
            return 403, f"This book is not served under the name {host!r}."
        if self.alone and not _FORWARDED.isdisjoint(headers.keys()):
            return 403, ("This book is served to its own computer alone, and this came through another program: "
                         "beltwright serve --proxy says how others reach it.")
        if scope["method"] in _CHANGES and not _from_our_page(headers):
            return 403, "This came from a page of another site and was not done."
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdecimal()) or int(length[:20]) > most:
            return 413, _too_much(most)
        return None


def _said(scope: Scope, status: int, words: str) -> Response:
    if scope["path"].startswith("/api/"):
        return JSONResponse({"problem": words, "accepted": [], "cells": []}, status)
    return PlainTextResponse(words + "\n", status)


def _host_in(address: str) -> str:
    try:
        parts = urlsplit(address)
        return "" if "@" in parts.netloc or parts.port == 0 else parts.hostname or ""
    except ValueError:   # half an IPv6 address, or a port that is none
        return ""


def _too_much(most: int) -> str:
    return f"That is more than the {most >> 20} MB taken at once."


def _counted(receive: Receive, most: int) -> Receive:
    came = 0

    async def counted() -> Message:
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most:
            raise TooLarge
        return message

    return counted


def _from_our_page(headers: Headers) -> bool:
    """By what the browser says of where the request was made; a program that says nothing is no browser."""
    if (site := headers.get("sec-fetch-site")) is not None and site not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    return origin is None or origin.partition("://")[2] == headers.get("host")


def _adding(send: Send) -> Send:
    async def adding(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            headers.setdefault("Cache-Control", "no-cache")
        await send(message)

    return adding
