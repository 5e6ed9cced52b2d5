"""The app put together: a book, the plant at a glance, the pages, what guards them, what they say when they refuse.

Nothing is opened at import. A room of pages joins by its router in `ROOMS`.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Collection
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Final

from anyio.to_thread import current_default_thread_limiter
from fastapi import APIRouter, Depends, FastAPI
from starlette.middleware.gzip import GZipMiddleware

from beltwright.book.opening import open_book
from beltwright.book.register import BookRegister
from beltwright.book.store import Store
from beltwright.errors import BookReadOnly
from beltwright.web import phone, refusals
from beltwright.web.api import face
from beltwright.web.entry import LOOPBACK, Entry
from beltwright.web.gate import Door, gate
from beltwright.web.glances import Glances
from beltwright.web.judging import Apart
from beltwright.web.kept import Kept
from beltwright.web.lately import Lately
from beltwright.web.pages import (
    book,
    calendar,
    card,
    changes,
    choices,
    correct,
    door,
    drive,
    job,
    labels,
    listen,
    me,
    method,
    people,
    plant,
    reading,
    round,
    sheet,
    starting,
    survey,
    trust,
    waiting,
    whip,
    why,
)
from beltwright.web.shelf import Shelf
from beltwright.web.visit import Station, environment

ROOMS: Final[tuple[APIRouter, ...]] = (plant.router, drive.router, card.router, survey.router, sheet.router,
                                       labels.router, reading.router, listen.router, job.router, round.router,
                                       waiting.router, phone.router, book.router, choices.router, door.router,
                                       me.router, people.router, trust.router, calendar.router, method.router,
                                       changes.router,
                                       starting.router, whip.router, why.router, correct.router, *face.ROOMS)
# below this a packed answer is no smaller on the way [bytes]
_WORTH_PACKING: Final = 1400
_PACKED: Final = 5
# threads that fill pages: more of them would only hold more memory, for one runs at a time
_THREADS: Final = 8


def create_app(where: str | Path, *, hosts: Collection[str] = LOOPBACK, address: str = "",
               alone: bool = True, authority: Path | None = None) -> FastAPI:
    """The web app over a book; a book that may not be written is served to be looked at.

    where:   a file, or `postgresql://user@host/plant`
    hosts:   the names under which it is reached
    address: the address people's phones reach, for the codes on labels; empty: codes hold the tag alone
    alone:   served to this computer alone: one person, no log-in
    authority: the certificate that phones are shown how to trust, where the plant made its own
    errors:  `BookError` when the book cannot be opened
    """
    store = _open(where)
    shelf = Shelf()
    kept = Kept()
    apart = Apart(str(where), kept)
    glances = Glances(store, apart)

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        current_default_thread_limiter().total_tokens = _THREADS
        glances.keep_up()
        yield
        apart.stop()
        glances.close()
        apart.stop()
        kept.close()
        store.close()

    app = FastAPI(title="Beltwright", docs_url=None, redoc_url=None, openapi_url=None, lifespan=lifespan,
                  dependencies=[Depends(gate)])
    app.state.door = Door(BookRegister(store), alone, authority)
    app.state.station = Station(store, glances, environment(shelf), shelf, Lately(store), kept, address)
    for room in ROOMS:
        app.include_router(room)
    app.mount("/static", shelf, name="static")
    refusals.speak(app)
    app.add_middleware(GZipMiddleware, minimum_size=_WORTH_PACKING, compresslevel=_PACKED)
    app.add_middleware(Entry, hosts=hosts, alone=alone)
    return app


def _open(where: str | Path) -> Store:
    try:
        return open_book(where, write=True)
    except BookReadOnly:
        return open_book(where)
