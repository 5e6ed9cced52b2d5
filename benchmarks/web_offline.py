"""A job page that the phone holds, opened without signal on a slow phone: how long until its step is there to be done.

    python benchmarks/web_offline.py [times]

Debian's Chromium at a phone's size, no network, its processor slowed four times, the service worker asleep. Beside it,
in the same run, a bare page that shows as many words and is held by a worker of a few lines. Times from the moment the
page is asked for [ms]: until it is drawn first, until its step stands alone and can be done (for the bare page: until
all is loaded).
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn
from fastapi import FastAPI
from fastapi.responses import HTMLResponse, Response
from playwright.sync_api import BrowserContext, Page, sync_playwright

from beltwright.book.opening import create_book
from beltwright.desk import jobs
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import new_id, now
from beltwright.plant.settings import Settings
from beltwright.web.app import create_app
from large_book import example_drives

SLOWED = 4
OURS, BARE = 8713, 8714
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]
ONE_STEP = "() => document.querySelectorAll('section.step:not([hidden])').length === 1 && performance.now()"
ALL_LOADED = "() => document.readyState === 'complete' && performance.now()"
DRAWN = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime"
WORKER = ("self.addEventListener('install', (event) => event.waitUntil(caches.open('a').then((all) => "
          "all.addAll(['/'])).then(() => self.skipWaiting())));"
          "self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));"
          "self.addEventListener('fetch', (event) => event.respondWith(caches.match(event.request)));")


def a_job(path: Path) -> str:
    """A book with a drive and a job at it; the job's id."""
    drive = example_drives()[0]
    with create_book(path, Settings("Mill"), by="Ann") as book:
        book.add_make_up(MakeUp(new_id(), new_id(), now(), drive, "Ann", now()))
        return str(jobs.open_job(book, drive.tag, "re-belt", by="Pat", at=now()).id)


def bare(words: str) -> FastAPI:
    """A page of so many words, and a worker that holds it."""
    app = FastAPI()

    @app.get("/")
    def page() -> HTMLResponse:
        return HTMLResponse(f"<!doctype html><title>words</title><main><p>{words}</p></main>"
                            "<script>navigator.serviceWorker.register('/sw.js')</script>")

    @app.get("/sw.js")
    def worker() -> Response:
        return Response(WORKER, media_type="text/javascript")

    return app


@contextmanager
def served(app: FastAPI, port: int) -> Iterator[str]:
    """An app at a port of this computer."""
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://localhost:{port}"
    server.should_exit = True
    thread.join(10)


def held(page: Page, address: str) -> None:
    """Wait until the phone holds the page and every file it needs."""
    page.goto(address)
    page.wait_for_function("async (address) => navigator.serviceWorker.controller && "
                           "Boolean(await caches.match(address))", arg=address, timeout=60_000)
    page.reload()
    page.wait_for_load_state("networkidle")


def opened(context: BrowserContext, address: str, ready: str, times: int) -> tuple[float, float]:
    """Medians of when it was drawn first and when it was ready [ms], each in a new page with the worker asleep."""
    drawn, done = [], []
    for _ in range(times):
        page = context.new_page()
        browser = context.new_cdp_session(page)
        browser.send("ServiceWorker.enable")
        browser.send("ServiceWorker.stopAllWorkers")
        browser.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        page.goto(address, wait_until="commit", timeout=60_000)
        done.append(float(page.wait_for_function(ready, polling=5, timeout=60_000).json_value()))
        drawn.append(float(page.wait_for_function(DRAWN, polling=50, timeout=60_000).json_value()))
        page.close()
    return statistics.median(drawn), statistics.median(done)


def main() -> None:
    """Print both, in turns."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    with tempfile.TemporaryDirectory() as place, sync_playwright() as play:
        path = Path(place) / "plant.book"
        job = a_job(path)
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        with served(create_app(path), OURS) as base:
            context = browser.new_context(base_url=base, viewport={"width": 360, "height": 740})
            page = context.new_page()
            held(page, f"/jobs/{job}")
            words = page.inner_text("main") * 4   # the steps that are not shown stand on the page, too
            with served(bare(words), BARE) as peer:
                beside = browser.new_context(base_url=peer, viewport={"width": 360, "height": 740})
                held(beside.new_page(), "/")
                for each in (context, beside):
                    each.set_offline(True)
                opened(context, f"/jobs/{job}", ONE_STEP, 2)
                ours = opened(context, f"/jobs/{job}", ONE_STEP, times)
                theirs = opened(beside, "/", ALL_LOADED, times)
        print(f"{'':12}{'drawn first':>14}{'ready':>12}   processor slowed {SLOWED} times, no network, {times} times")
        print(f"{'job page':12}{ours[0]:11.0f} ms{ours[1]:9.0f} ms   goal 1000 ms")
        print(f"{'bare page':12}{theirs[0]:11.0f} ms{theirs[1]:9.0f} ms   ratio {ours[1] / theirs[1]:.1f}")
        browser.close()


if __name__ == "__main__":
    main()
