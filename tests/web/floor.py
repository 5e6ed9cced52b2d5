"""A served book with a real browser at it, for the tests of the shop floor: phone-sized, offline when asked to be."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from beltwright.book.opening import create_book
from beltwright.book.store import Store
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.identity import now
from beltwright.plant.settings import Settings
from beltwright.web.app import create_app
from tests.bench.drives import SOUND

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
_CHROMIUM = "/usr/bin/chromium"
_FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
          "--disable-component-update", "--disable-sync"]


@dataclass(frozen=True, slots=True)
class Served:
    """A book, the address it is served at, and the server's own hold of the book."""

    book: Path
    address: str
    store: Store


def make_book(folder: Path) -> Path:
    """A book with two drives in it."""
    path = folder / "plant.book"
    with create_book(path, Settings("Pellet mill"), by="Kit") as store:
        hand_in(store, rows_from([{**SOUND, "place": "Pelleting / Line 1"},
                                  {**SOUND, "tag": "FAN-2", "name": "return fan", "place": "Pelleting / Line 2"}]),
                by="Kit", at=now())
    return path


@contextmanager
def served(path: Path, port: int = 0) -> Iterator[Served]:
    """The app over a book, at a port of this computer."""
    with socket.socket() as door:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        door.bind(("127.0.0.1", port))
        at = door.getsockname()[1]
    app = create_app(path)
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=at, log_level="error",
                                           lifespan="on"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    try:
        yield Served(path, f"http://localhost:{at}", app.state.station.book)
    finally:
        server.should_exit = True
        thread.join(10)


@contextmanager
def chromium() -> Iterator[Browser]:
    """Debian's browser, without a screen."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=_CHROMIUM, args=_FLAGS)
        try:
            yield browser
        finally:
            browser.close()


def phone(browser: Browser, address: str, *, modules: bool = True, dark: bool = False,
          size: dict[str, int] | None = None) -> BrowserContext:
    """A phone of its own: nothing shared with others."""
    width = size or PHONE
    return browser.new_context(base_url=address, viewport={"width": width["width"], "height": width["height"]},
                               java_script_enabled=modules, color_scheme="dark" if dark else "light")


def until(page: Page, script: str, given: Any = None, *, patience: float = 30.0) -> None:
    """Wait until a question to the page, which may take its time to answer, is answered with yes."""
    end = time.monotonic() + patience
    while not page.evaluate(script, given):
        assert time.monotonic() < end, script
        page.wait_for_timeout(50)


def holds(page: Page, address: str) -> None:
    """Wait until the phone has taken a page along and its worker answers for it."""
    until(page, """async (address) => Boolean(navigator.serviceWorker.controller
        && await (await caches.open("pages")).match(address))""", address)


def waits(page: Page) -> int:
    """How many notes wait on the phone."""
    found: int = page.evaluate("""() => new Promise((resolve, reject) => {
        const asking = indexedDB.open("beltwright");
        asking.onerror = () => reject(asking.error);
        asking.onsuccess = () => {
            asking.result.transaction("notes").objectStore("notes").getAll().onsuccess = (event) => {
                asking.result.close();
                resolve(event.target.result.filter((note) => note.state !== "kept").length);
            };
        };
    })""")
    return found
