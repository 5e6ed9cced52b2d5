"""The command that serves the web app."""

from __future__ import annotations

import gc
from pathlib import Path

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option


@click.command(short_help="Serve the book as pages, for a browser.")
@click.option("--host", default="127.0.0.1", show_default=True, metavar="ADDRESS",
              help="Address of this computer to listen on; the one shown reaches this computer alone.")
@click.option("--port", type=int, default=8433, show_default=True, help="Port to listen on; 0 takes a free one.")
@click.option("--address", default="", metavar="URL", help="Where phones reach the pages, for the codes on labels.")
@click.option("--tls", "folder", type=click.Path(path_type=Path), metavar="FOLDER",
              help="Where the certificate is; beside the book when not given.")
@click.option("--plain-http-others-can-read-along", "plain_http", is_flag=True,
              help="Serve to others without HTTPS.")
@click.option("--proxy", "proxies", multiple=True, metavar="ADDRESS",
              help="A reverse proxy in front: its word is taken on who asks. Needs --address.")
@book_option
def serve(host: str, port: int, address: str, folder: Path | None, plain_http: bool, proxies: tuple[str, ...],
          where: str) -> None:
    """Serve the book as pages, for a browser on this computer; stop with Ctrl-C.

    An address that others reach (0.0.0.0 for all of this computer's) needs people who log in and a certificate:
    see `beltwright people` and `beltwright tls`.
    """
    from beltwright.plant.identity import now
    from beltwright.web import network, serving

    with serving.listening(serving.At(host, port)) as listener:
        at = serving.At(host, listener.getsockname()[1])
        plan = network.plan(at, where, now=now(), folder=folder, plain_http=plain_http, address=address,
                            proxies=proxies)
        # what is loaded now stays: looking through it for what could go would only keep the first page waiting
        gc.disable()
        from beltwright.web.app import create_app

        app = create_app(where, hosts=plan.hosts, address=plan.address, alone=plan.alone, authority=plan.authority)
        gc.freeze()
        gc.enable()
        here = serving.address_of(listener, https=plan.certificate is not None)
        proxy = [f"The proxy finds it at {here}"] if plan.proxies else []
        screen.show([*plan.warnings, f"{where} is served at {here if plan.alone else plan.address}", *proxy,
                     "Stop with Ctrl-C."])
        serving.serve(app, listener, certificate=plan.certificate, key=plan.key, proxies=plan.proxies)
