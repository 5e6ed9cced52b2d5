"""The pages of a large plant: a book of 10,000 drives, twenty people at once.

Prints, for the plant's page, a drive's page and a search, the time by which 19 of 20 answers were there, beside a page
of the same framework that shows as many rows and works nothing out; how soon the first page comes after the start; how
much memory the server holds; and what a page weighs on the way. Run: python benchmarks/web_pages.py [drives]
"""

from __future__ import annotations

import asyncio
import gzip
import multiprocessing
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from multiprocessing.process import BaseProcess
from pathlib import Path

import httpx
import uvicorn

from beltwright.book.opening import create_book
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.settings import Settings

AT_ONCE = 20
ROUNDS = 600
SINCE = datetime(2026, 3, 2, tzinfo=UTC)


def drives() -> tuple[Drive, ...]:
    """The drives of the examples."""
    import csv

    from beltwright.desk.survey import read_rows, rows_from
    path = Path(__file__).parents[1] / "examples" / "pellet_mill.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return read_rows(rows_from(list(csv.DictReader(file, delimiter=";")))).drives


def large_plant(path: Path, number: int) -> list[str]:
    """Many sites like that of the examples; the tags."""
    made = []
    known = drives()
    for at in range(number):
        drive = known[at % len(known)]
        tag, site = f"{drive.tag.split('-')[0]}-{at:05d}", at // (40 * len(known)) + 1
        there = f"Site {site} / {drive.place}"
        drive = replace(drive, tag=tag, place=there, typed={**drive.typed, "tag": tag, "place": there})
        made.append(MakeUp(new_id(), new_id(), SINCE, drive, "Ann", SINCE))
    with create_book(path, Settings("Ten thousand"), by="Ann") as book:
        book.add_make_ups(made)
    return [make_up.drive.tag for make_up in made]


def serve_beltwright(path: str, port: int) -> None:
    """As `beltwright serve` does."""
    from beltwright.web.app import create_app
    uvicorn.run(create_app(path), host="127.0.0.1", port=port, log_level="error", access_log=False)


def serve_bare(path: str, port: int) -> None:
    """The framework with one template, as many rows as our page has, nothing worked out."""
    from fastapi import FastAPI
    from fastapi.responses import HTMLResponse
    from jinja2 import Environment
    del path
    rows = [(f"FAN-{at}", "Dryer exhaust fan", "3 × B112", "sound") for at in range(400)]
    page = Environment(autoescape=True).from_string(
        "<!doctype html><title>rows</title><ul>{% for row in rows %}<li><a href='/{{ row[0] }}'><b>{{ row[0] }}</b> "
        "{{ row[1] }} {{ row[2] }} <span>{{ row[3] }}</span></a></li>{% endfor %}</ul>")
    app = FastAPI()

    @app.get("/")
    def shown(many: int = 60) -> HTMLResponse:
        return HTMLResponse(page.render(rows=rows[:many]))

    uvicorn.run(app, host="127.0.0.1", port=port, log_level="error", access_log=False)


async def timed(base: str, paths: Sequence[str]) -> tuple[float, float]:
    """Median and the time by which 19 of 20 answers were there [ms], twenty asking at once without a pause."""
    took: list[float] = []
    waiting = iter(paths)
    limits = httpx.Limits(max_connections=AT_ONCE)
    async with httpx.AsyncClient(base_url=base, limits=limits, timeout=60) as client:

        async def one_after_the_other() -> None:
            for path in waiting:
                began = time.perf_counter()
                answer = await client.get(path)
                took.append((time.perf_counter() - began) * 1e3)
                assert answer.status_code == 200, (path, answer.status_code)

        await asyncio.gather(*(one_after_the_other() for _ in range(AT_ONCE)))
    cuts = statistics.quantiles(took, n=20)
    return statistics.median(took), cuts[18]


async def alone(base: str, path: str, times: int = 60) -> float:
    """The median of answers when nobody else asks [ms]."""
    took = []
    async with httpx.AsyncClient(base_url=base, timeout=60) as client:
        for _ in range(times):
            began = time.perf_counter()
            await client.get(path)
            took.append((time.perf_counter() - began) * 1e3)
    return statistics.median(took)


def first_answer(base: str) -> float:
    """How long until the first page is there [s]."""
    began = time.perf_counter()
    while time.perf_counter() - began < 60:
        try:
            if httpx.get(base, timeout=10).status_code == 200:
                return time.perf_counter() - began
        except httpx.TransportError:
            time.sleep(0.01)
    raise SystemExit("the server never answered")


def until_judged(base: str) -> float:
    """How long until every drive of the plant is judged [s]."""
    began = time.perf_counter()
    while "still to be judged" in httpx.get(base, timeout=10).text:
        time.sleep(0.25)
    return time.perf_counter() - began


def resident(process: BaseProcess) -> float:
    """Memory that a process holds now [MB]."""
    pages = int(Path(f"/proc/{process.pid}/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096 / 1e6


def weight(base: str, path: str) -> str:
    """A page and what it fetches, packed, the first time and after [kB]."""
    import re
    page = httpx.get(base + path)
    fetched = re.findall(r'(?:href|src)="(/static/[^"]+)"', page.text)
    after = len(gzip.compress(page.content, 5))
    first = after + sum(len(gzip.compress(httpx.get(base + address).content, 5)) for address in fetched)
    return f"{first / 1e3:.0f} kB the first time, {after / 1e3:.0f} kB after"


def main() -> None:
    """Print all of it."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    start = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "large.book"
        tags = large_plant(path, number)
        ours = start.Process(target=serve_beltwright, args=(str(path), 8711))
        bare = start.Process(target=serve_bare, args=("", 8712))
        ours.start()
        base, peer = "http://127.0.0.1:8711", "http://127.0.0.1:8712"
        print(f"a book of {number} drives; {AT_ONCE} requests at once")
        print(f"first page after the start   {first_answer(base):6.2f} s")
        print(f"every drive judged after     {until_judged(base):6.1f} s more, in the background")
        bare.start()
        first_answer(peer)
        some = [tags[at * 7919 % len(tags)] for at in range(ROUNDS)]
        asked = {
            "plant": (["/"] * ROUNDS, "/?many=60"),
            "a place": (["/?place=Site+2+%2F+Drying+%2F+Line+1"] * ROUNDS, "/?many=60"),
            "search": ([f"/found?q={words}" for words in ("fan", "spb2500", "pel", "bucket")] * (ROUNDS // 4),
                       "/?many=60"),
            "drive": ([f"/drives/{tag}" for tag in some], "/?many=400"),
        }
        print(f"{'':12}{'alone':>9}{'median':>9}{'19 of 20':>10}{'bare page':>11}   times bare")
        for name, (paths, like) in asked.items():
            asyncio.run(timed(base, paths[:60]))
            single = asyncio.run(alone(base, paths[0]))
            middle, late = asyncio.run(timed(base, paths))
            _, bare_late = asyncio.run(timed(peer, [like] * ROUNDS))
            print(f"{name:12}{single:7.1f}ms{middle:7.0f}ms{late:8.0f}ms{bare_late:9.0f}ms{late / bare_late:10.1f}")
        print(f"memory held by the server    {resident(ours):6.0f} MB")
        for shown in ("/", f"/drives/{tags[5]}"):
            print(f"{shown:29}{weight(base, shown)}")
        for process in (ours, bare):
            process.terminate()
            process.join()


if __name__ == "__main__":
    main()
