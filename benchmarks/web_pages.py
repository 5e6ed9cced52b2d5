"""The pages of a large plant: a book of 10,000 drives and about 1,000,000 readings, twenty people at once.

    python benchmarks/web_pages.py [drives] [a book made by large_book, to be copied]

For each page: the time by which 19 of 20 answers were there, twenty asking at once without a pause (every one another
drive, place or word); the same when they ask at random, a hundred in a second; and one asking alone. Beside each, in
the same run, a page of the same framework that shows as many rows and works nothing out, or, for a reading, notes one
row in a file on the same terms. Then how soon the first page comes after `beltwright serve`, how much memory the server
holds, and what a page weighs on the way. The one who asks shares the processors with the server.
"""

from __future__ import annotations

import asyncio
import gzip
import itertools
import multiprocessing
import random
import re
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote, urlencode

import httpx
import uvicorn

from beltwright.plant.identity import new_id
from large_book import large_book

OURS, BARE = 8711, 8712
AT_ONCE = 20
ROUNDS = 800
A_SECOND = 100
SECONDS = 5
# the pages of drives are waited for so long [s]
LONGEST = 1500


@dataclass(frozen=True, slots=True)
class Asked:
    """A request: its address; what is posted, if anything; and further lines of its head."""

    path: str
    body: str = ""
    head: str = ""

    def sent(self, port: int) -> bytes:
        """As a browser sends it."""
        lines = [f"{'POST' if self.body else 'GET'} {self.path} HTTP/1.1", f"Host: 127.0.0.1:{port}",
                 "Accept-Encoding: gzip", "Sec-Fetch-Site: same-origin", *filter(None, [self.head])]
        if self.body:
            lines += ["Content-Type: application/x-www-form-urlencoded", f"Content-Length: {len(self.body)}"]
        return ("\r\n".join(lines) + "\r\n\r\n" + self.body).encode()


class Line:
    """One kept connection. A client of few lines, so that what is measured is the server."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._ends: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(self, asked: Asked) -> float:
        """How long the whole answer took [ms]."""
        if self._ends is None:
            self._ends = await asyncio.open_connection("127.0.0.1", self._port)
        reader, writer = self._ends
        began = time.perf_counter()
        writer.write(asked.sent(self._port))
        head = (await reader.readuntil(b"\r\n\r\n")).lower()
        if found := re.search(rb"content-length: (\d+)", head):
            await reader.readexactly(int(found[1]))
        else:
            while size := int(await reader.readline(), 16):
                await reader.readexactly(size + 2)
            await reader.readline()
        took = (time.perf_counter() - began) * 1e3
        if head[9:12] != (b"303" if asked.body else b"200"):
            raise SystemExit(f"{asked.path}: {head.decode(errors='replace')}")
        return took

    def close(self) -> None:
        if self._ends is not None:
            self._ends[1].close()


async def without_a_pause(port: int, asked: Sequence[Asked]) -> tuple[list[float], float]:
    """Twenty, each asking as soon as it is answered: times [ms], and answers in a second."""
    took: list[float] = []
    waiting = iter(asked)

    async def one() -> None:
        line = Line(port)
        took.extend([await line.ask(each) for each in waiting])
        line.close()

    began = time.perf_counter()
    await asyncio.gather(*(one() for _ in range(AT_ONCE)))
    return took, len(took) / (time.perf_counter() - began)


async def at_random(port: int, asked: Iterator[Asked]) -> list[float]:
    """A hundred in a second, whether or not the earlier ones are answered: times [ms]."""
    chance = random.Random(7)
    idle: list[Line] = []
    took: list[float] = []

    async def one(each: Asked) -> None:
        line = idle.pop() if idle else Line(port)
        took.append(await line.ask(each))
        idle.append(line)

    under_way = []
    due = time.perf_counter()
    for each in itertools.islice(asked, A_SECOND * SECONDS):
        due += chance.expovariate(A_SECOND)
        await asyncio.sleep(max(0.0, due - time.perf_counter()))
        under_way.append(asyncio.create_task(one(each)))
    await asyncio.gather(*under_way)
    for line in idle:
        line.close()
    return took


async def alone(port: int, asked: Sequence[Asked]) -> list[float]:
    """One asking alone: times [ms]."""
    line = Line(port)
    took = [await line.ask(each) for each in asked]
    line.close()
    return took


def late(took: Sequence[float]) -> float:
    """The time by which 19 of 20 were there."""
    return statistics.quantiles(took, n=20)[18]


# --- the peer ---------------------------------------------------------------------------------------------------------

def serve_bare(folder: str, port: int) -> None:
    """The framework with one template, as many rows as our page has, nothing worked out; and a row put into a file."""
    from fastapi import FastAPI, Form
    from fastapi.responses import HTMLResponse, RedirectResponse
    from jinja2 import Environment
    from starlette.middleware.gzip import GZipMiddleware

    rows = [(f"FAN-{at}", "Dryer exhaust fan", "3 × B112", "sound") for at in range(400)]
    page = Environment(autoescape=True).from_string(
        "<!doctype html><title>rows</title><ul>{% for row in rows %}<li><a href='/{{ row[0] }}'><b>{{ row[0] }}</b> "
        "{{ row[1] }} {{ row[2] }} <span>{{ row[3] }}</span></a></li>{% endfor %}</ul>")
    app = FastAPI()
    app.add_middleware(GZipMiddleware)
    notes = sqlite3.connect(Path(folder) / "notes.db", isolation_level=None, check_same_thread=False)
    notes.execute("PRAGMA journal_mode = WAL")
    notes.execute("PRAGMA synchronous = FULL")
    notes.execute("CREATE TABLE notes (tag TEXT, force TEXT, by TEXT)")

    @app.get("/")
    def shown(many: int = 60) -> HTMLResponse:
        return HTMLResponse(page.render(rows=rows[:many]))

    @app.post("/note/{tag}")
    def note(tag: str, force: str = Form(), by: str = Form()) -> RedirectResponse:
        notes.execute("INSERT INTO notes VALUES (?, ?, ?)", (tag, force, by))
        return RedirectResponse("/", 303)

    uvicorn.run(app, host="127.0.0.1", port=port, log_level="error", access_log=False)


# --- what is asked ----------------------------------------------------------------------------------------------------

def what_is_asked(tags: Sequence[str], places: Sequence[str]) -> dict[str, tuple[Iterator[Asked], Asked, float]]:
    """By page: requests without end, the bare page beside it, and the goal [ms]."""
    chance = random.Random(11)
    mixed, whole = chance.sample(list(tags), len(tags)), itertools.cycle([Asked("/")])
    few, many = Asked("/?many=60"), Asked("/?many=400")
    words = [tag[:cut] for tag in mixed[:4000] for cut in (6, 7, 8)]
    cookie, token = form_of(tags[0])
    return {
        "plant": (whole, few, 50),
        "a place": ((Asked(f"/?place={quote(place)}") for place in itertools.cycle(places)), few, 50),
        "search": ((Asked(f"/found?q={quote(word)}") for word in itertools.cycle(words)), few, 30),
        "drive": ((Asked(f"/drives/{tag}") for tag in itertools.cycle(mixed)), many, 50),
        "drive, anew": ((Asked(f"/drives/{tag}", head="Cookie: units=inch") for tag in itertools.cycle(mixed)), many,
                        50),
        "reading post": ((Asked(f"/drives/{tag}/readings/force", head=f"Cookie: {cookie}", body=urlencode({
            "form_token": token, "made": str(new_id()), "by": "Ann", "state": "as found", "r0-belt": "1",
            "r0-force": "42", "span": "500"})) for tag in itertools.cycle(mixed)), Asked(
                f"/note/{tags[0]}", body="force=42&by=Ann"), 50),
    }


def form_of(tag: str) -> tuple[str, str]:
    """The cookie and the token of a form of ours."""
    answer = httpx.get(f"http://127.0.0.1:{OURS}/drives/{tag}/readings/force")
    found = re.search(r'name="form_token" value="([^"]+)"', answer.text)
    assert found is not None
    return "; ".join(f"{name}={value}" for name, value in answer.cookies.items()), found[1]


def measure(tags: Sequence[str], places: Sequence[str]) -> None:
    """The table of pages."""
    print(f"{'':14}{'alone':>8}{'20 at once: 19 of 20':>22}{'bare':>9}{'ratio':>7}{'a second':>10}"
          f"{'100 a second: 19 of 20':>24}{'bare':>9}   goal")
    for name, (asked, like, goal) in what_is_asked(tags, places).items():
        bare = itertools.cycle([like])
        once = ROUNDS // 4 if name == "drive, anew" else ROUNDS
        asyncio.run(alone(OURS, take(asked, 20)))
        single = statistics.median(asyncio.run(alone(OURS, take(asked, 40))))
        took, rate = asyncio.run(without_a_pause(OURS, take(asked, once)))
        beside, _ = asyncio.run(without_a_pause(BARE, take(bare, ROUNDS)))
        free = asyncio.run(at_random(OURS, asked)) if name != "drive, anew" else []
        free_bare = asyncio.run(at_random(BARE, bare))
        open_loop = f"{late(free):21.1f} ms{late(free_bare):6.1f} ms" if free else f"{'':33}"
        print(f"{name:14}{single:5.1f} ms{late(took):19.1f} ms{late(beside):6.1f} ms{late(took) / late(beside):7.2f}"
              f"{rate:10.0f}{open_loop}   {goal} ms", flush=True)


def take(asked: Iterator[Asked], number: int) -> list[Asked]:
    return list(itertools.islice(asked, number))


# --- the server -------------------------------------------------------------------------------------------------------

def first_answer(port: int) -> float:
    """How long until the first page is there [s]."""
    began = time.perf_counter()
    while time.perf_counter() - began < 60:
        try:
            if httpx.get(f"http://127.0.0.1:{port}/", timeout=20).status_code == 200:
                return time.perf_counter() - began
        except httpx.TransportError:
            time.sleep(0.005)
    raise SystemExit("the server never answered")


def processor_time(pid: int) -> float:
    """Processor time that a process has used [s]."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / 100


def resident(pid: int) -> float:
    """Memory that a process holds now [MB]."""
    return int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1]) * 4096 / 1e6


def beside(pid: int) -> int:
    """The process that judges for the server, while it does; 0 after."""
    for child in Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split() + [
            child for task in Path(f"/proc/{pid}/task").iterdir()
            for child in (task / "children").read_text(encoding="ascii").split()]:
        if ") Z " not in Path(f"/proc/{child}/stat").read_text(encoding="ascii"):
            return int(child)
    return 0


def wait_until_judged(pid: int) -> None:
    """Say how long it takes until every drive is judged, and until every page is kept."""
    began = time.perf_counter()
    while "still to be judged" in httpx.get(f"http://127.0.0.1:{OURS}/", timeout=20).text:
        time.sleep(0.25)
    print(f"every drive judged after {time.perf_counter() - began:.0f} s more, in a process of its own "
          f"({resident(beside(pid)):.0f} MB)", flush=True)
    used = 0.0
    while (child := beside(pid)) and time.perf_counter() - began < LONGEST:
        used = processor_time(child)
        time.sleep(0.5)
    print(f"{'not ' if child else ''}every drive's page kept after {time.perf_counter() - began:.0f} s "
          f"({used:.0f} s of processor time)", flush=True)


def weight(path: str) -> str:
    """A page and what it fetches, packed, the first time and after [kB]."""
    base = f"http://127.0.0.1:{OURS}"
    page = httpx.get(base + path)
    fetched = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', page.text))
    seen: set[str] = set()
    first = after = int(page.headers.get("content-length", 0)) or len(gzip.compress(page.content, 5))
    while fetched:   # modules fetch modules
        address = fetched.pop()
        seen.add(address)
        answer = httpx.get(base + address)
        first += len(gzip.compress(answer.content, 5))
        if ".js" in address:
            fetched |= {f"/static/{name}" for name in re.findall(r'from "\./([\w.-]+)"', answer.text)} - seen
    return f"{first / 1e3:.0f} kB the first time, {after / 1e3:.0f} kB after"


def main() -> None:
    """Print all of it."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "large.book"
        if len(sys.argv) > 2:
            shutil.copyfile(sys.argv[2], path)
        else:
            large_book(path, number)
        rows = sqlite3.connect(path)
        tags = [row[0] for row in rows.execute("SELECT tag FROM drives ORDER BY tag")]
        noted = rows.execute("SELECT count(*) FROM readings").fetchone()[0]
        rows.close()
        print(f"a book of {len(tags)} drives and {noted} readings")
        began = time.perf_counter()
        ours = subprocess.Popen([sys.executable, "-m", "beltwright", "serve", "--book", str(path), "--port", str(OURS)],
                                stdout=subprocess.DEVNULL)
        first_answer(OURS)
        print(f"first page after the start: {time.perf_counter() - began:.2f} s, of that "
              f"{processor_time(ours.pid):.2f} s of processor time", flush=True)
        bare = multiprocessing.get_context("spawn").Process(target=serve_bare, args=(place, BARE))
        began = time.perf_counter()
        bare.start()
        first_answer(BARE)
        print(f"first page of the bare framework: {time.perf_counter() - began:.2f} s, of that "
              f"{processor_time(bare.pid or 0):.2f} s of processor time")
        wait_until_judged(ours.pid)
        page = httpx.get(f"http://127.0.0.1:{OURS}/").text
        places = list(dict.fromkeys(re.findall(r'href="/\?place=([^"&]+)"', page)))
        measure(tags, [httpx.QueryParams(f"p={place}")["p"] for place in places])
        print(f"memory held by the server: {resident(ours.pid):.0f} MB; by the bare one {resident(bare.pid or 0):.0f}")
        for shown in ("/", f"/drives/{tags[5]}", f"/drives/{tags[5]}/readings/force"):
            print(f"{shown:40}{weight(shown)}")
        for process in (ours, bare):
            process.terminate()
        ours.wait()
        bare.join()


if __name__ == "__main__":
    main()
