"""The command that serves the web app."""

from __future__ import annotations

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option


@click.command(short_help="Serve the book as pages, for a browser.")
@click.option("--host", default="127.0.0.1", show_default=True, metavar="ADDRESS",
              help="Address of this computer to listen on; the one shown reaches this computer alone.")
@click.option("--port", type=int, default=8433, show_default=True, help="Port to listen on; 0 takes a free one.")
@click.option("--address", default="", metavar="URL", help="Where phones reach the pages, for the codes on labels.")
@book_option
def serve(host: str, port: int, address: str, where: str) -> None:
    """Serve the book as pages, for a browser on this computer; stop with Ctrl-C.

    An address that others reach is refused without people who log in and HTTPS.
    """
    from beltwright.web import serving

    at = serving.At(host, port)
    serving.must_be_safe(at, people=False, certificate=False)
    with serving.listening(at) as listener:
        from beltwright.web.app import create_app

        app = create_app(where, address=address)
        screen.show([f"{where} is served at {serving.address_of(listener)}", "Stop with Ctrl-C."])
        serving.serve(app, listener)
