"""Serving the app: to this computer alone, or to a plant network with people and a certificate.

Loopback needs nothing: whoever sits at the computer has the book anyway. Anything else is reached by others, and by
what listens on the network: what that takes is in `network`.
"""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from beltwright.errors import InputError

if TYPE_CHECKING:
    from fastapi import FastAPI

HERE: Final = "127.0.0.1"
PORT: Final = 8433
# seconds that requests under way get when the server is told to stop
_GRACE: Final = 5


@dataclass(frozen=True, slots=True)
class At:
    """Where to listen: an address of this computer and a port; 0 takes any that is free."""

    host: str = HERE
    port: int = PORT

    @property
    def alone(self) -> bool:
        """Whether only this computer reaches it."""
        if self.host == "localhost":
            return True
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return False


def listening(at: At) -> socket.socket:
    """A socket that listens there; `InputError` when it cannot."""
    if not 0 <= at.port < 1 << 16:
        raise InputError(f"{at.port} is no port: 0 to {(1 << 16) - 1} is accepted")
    family = socket.AF_INET6 if ":" in at.host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((at.host, at.port))
        listener.listen(128)
    except OSError as problem:
        listener.close()
        raise InputError(f"nothing can be served at {at.host}, port {at.port}: {problem.strerror}. Another program may "
                         "be there; choose another port") from None
    listener.set_inheritable(True)
    return listener


def address_of(listener: socket.socket, *, https: bool = False) -> str:
    """The address to type into a browser on this computer."""
    host, port = listener.getsockname()[:2]
    return f"http{'s' if https else ''}://{f'[{host}]' if ':' in host else host}:{port}/"


def serve(app: FastAPI, listener: socket.socket, *, certificate: Path | None = None, key: Path | None = None,
          proxies: Sequence[str] = ()) -> None:
    """Serve until told to stop.

    proxies: whose forwarded headers say who asks and over what; of anybody else they are not looked at
    """
    import uvicorn

    secured: dict[str, Any] = {} if certificate is None else {"ssl_certfile": certificate, "ssl_keyfile": key}
    config = uvicorn.Config(app, log_level="warning", access_log=False, server_header=False,
                            proxy_headers=bool(proxies), forwarded_allow_ips=list(proxies),
                            timeout_graceful_shutdown=_GRACE, **secured)
    uvicorn.Server(config).run(sockets=[listener])
