"""The book itself: the plant's choices, taking it out, bringing facts in, a backup, and what Beltwright is."""

from __future__ import annotations

import io
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from beltwright import __version__, units
from beltwright.bench.card import METHOD
from beltwright.book.opening import back_up
from beltwright.book.sheets import sheet_bytes
from beltwright.book.transfer import export, take_in
from beltwright.desk.columns import by_header
from beltwright.desk.prices import PRICE_OF_A_BELT, PRICE_OF_WORK, with_price
from beltwright.desk.survey import cells_of
from beltwright.errors import BeltwrightError, InputError, UnitError
from beltwright.paper.sheet import DEFERENCE, GUARD_LINE
from beltwright.plant.identity import now
from beltwright.tables import TRUST_WORDS, cite, sources
from beltwright.web.gate import MOST_FIELDS, MOST_FILES
from beltwright.web.person import SYSTEMS
from beltwright.web.visit import At, Typed, first_up

router = APIRouter()

_KINDS: Final = {"csv": "text/csv; charset=utf-8",
                 "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}
_PRICE: Final = "price of energy"
# boxes of the form and the names of what they hold among the plant's choices
_PAID: Final = {"work": PRICE_OF_WORK, "belt": PRICE_OF_A_BELT}


@dataclass(frozen=True, slots=True)
class BookPage:
    """The book: where it is, what was chosen, what was typed and could not be read, what became of an import."""

    where: str
    drives: str
    can_write: bool
    can_back_up: bool
    plant: str
    system: str
    systems: tuple[tuple[str, str], ...]
    price: str
    work: str
    belt: str
    currency: str
    by: str
    problems: tuple[tuple[str, str], ...]
    message: str
    came_in: str
    version: str
    method: str
    cautions: tuple[str, ...]
    trust: tuple[str, ...]
    sources: tuple[str, ...]

    def problem(self, name: str) -> str:
        """What is wrong with the box of that name."""
        return dict(self.problems).get(name, "")


@router.get("/book", name="book")
def book(at: At) -> HTMLResponse:
    """The book's page."""
    return at.show("book.html", book_page(at))


@router.post("/book/settings", name="settings", response_model=None)
def choose(at: At, typed: Typed) -> Response:
    """Choose anew for the plant; earlier choices stay on record."""
    problems, price = [], None
    by = (at.person.name or typed.get("by", "")).strip()
    for name, words in (("plant", "the plant needs a name"), ("by", "a name is needed: every choice was made by "
                                                              "somebody")):
        if not (by if name == "by" else typed.get(name, "")).strip():
            problems.append((name, first_up(words)))
    if text := typed.get("price", "").strip():
        try:
            price = units.parse(text, _PRICE, default="1/kWh")
        except UnitError as error:
            problems.append(("price", first_up(str(error))))
    chosen = at.settings
    for name, kept in _PAID.items():
        try:
            chosen = with_price(chosen, kept, typed[name]) if name in typed else chosen
        except UnitError as error:
            problems.append((name, first_up(str(error))))
    if problems:
        page = replace(book_page(at), plant=typed.get("plant", ""), price=typed.get("price", ""),
                       work=typed.get("work", ""), belt=typed.get("belt", ""),
                       currency=typed.get("currency", ""), system=typed.get("system", ""), by=typed.get("by", ""),
                       problems=tuple(problems))
        return at.show("book.html", page, status=422)
    system: units.System = "inch" if typed.get("system") == "inch" else "si"
    at.book.change_settings(replace(chosen, plant=typed["plant"].strip(), system=system, energy_price=price,
                                    currency=typed.get("currency", "").strip()), by=by)
    answer = RedirectResponse("/book", 303)
    at.remember(answer, name=by)
    return answer


@router.post("/book/import", name="import_book", response_model=None)
async def bring_in(request: Request, at: At) -> Response:
    """Take the lines of an export in."""
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as form:
        file = form.get("file")
        data = await file.read() if isinstance(file, UploadFile) else b""
    return await run_in_threadpool(_bring_in, at, data)


def _bring_in(at: At, data: bytes) -> Response:
    try:
        if not data:
            raise InputError("choose the file of an export")
        new = take_in(at.book, io.TextIOWrapper(io.BytesIO(data), encoding="utf-8", errors="strict"))
    except UnicodeDecodeError:
        return at.show("book.html", replace(book_page(at), message="This is no export of a book."), status=422)
    except InputError as problem:
        return at.show("book.html", replace(book_page(at), message=f"{first_up(str(problem))}."), status=422)
    words = ", ".join(f"{number} {word}{'s' if number != 1 and not word.endswith('s') else ''}"
                      for word, number in new.items())
    return at.show("book.html", replace(book_page(at), came_in=words or "nothing new"))


@router.get("/book/export.jsonl", name="export")
def take_out(at: At) -> FileResponse:
    """Every fact of the book, a line each."""
    with _new_file(".jsonl") as path, path.open("w", encoding="utf-8") as out:
        export(at.book, out)
    return _to_keep(path, "application/jsonl", f"{_name(at)}.jsonl")


@router.get("/book/backup", name="backup")
def copy(at: At) -> FileResponse:
    """A copy of the book, whole while others go on writing."""
    with _new_file(".book") as path:
        path.unlink()
        back_up(at.book, path)
    return _to_keep(path, "application/vnd.sqlite3", f"{_name(at)}.book")


@router.get("/book/drives.{kind}", name="drives_sheet")
def drives_sheet(at: At, kind: str) -> Response:
    """Every drive as it was typed, a row each: to be mended elsewhere and handed in again."""
    if kind not in _KINDS:
        raise InputError("a sheet is CSV or XLSX")
    rows = [cells_of(make_up.drive) for make_up in at.book.drives()]
    answered = {name for row in rows for name in row}
    data = sheet_bytes(kind, [name for name in by_header() if name in answered], rows, title="drives")
    return Response(data, media_type=_KINDS[kind],
                    headers={"Content-Disposition": f'attachment; filename="drives.{kind}"'})


def book_page(at: At) -> BookPage:
    """Fill the page with what stands."""
    settings = at.settings
    price = "" if settings.energy_price is None else f"{units.from_si(settings.energy_price, '1/kWh', _PRICE):.6g}"
    number = len(at.book.fitted_now())
    return BookPage(
        Path(at.book.where).name if at.book.database.path else at.book.where, f"{number:,}", at.book.write,
        at.book.database.path is not None, settings.plant, settings.system, tuple(SYSTEMS.items()), price,
        settings.defaults.get(PRICE_OF_WORK, ""), settings.defaults.get(PRICE_OF_A_BELT, ""),
        settings.currency, at.person.name, (), "", "", __version__, METHOD, (DEFERENCE, GUARD_LINE),
        tuple(TRUST_WORDS.values()),
        tuple(cite(key) for key in sources() if key not in ("practice", "statics")))


@contextmanager
def _new_file(kind: str) -> Iterator[Path]:
    """A file of its own for an answer; gone again when it could not be made."""
    handle, name = tempfile.mkstemp(kind)
    os.close(handle)
    try:
        yield Path(name)
    except BeltwrightError:
        Path(name).unlink(missing_ok=True)
        raise


def _to_keep(path: Path, kind: str, name: str) -> FileResponse:
    return FileResponse(path, media_type=kind, filename=name, background=BackgroundTask(path.unlink))


def _name(at: At) -> str:
    plain = "".join(sign if sign.isascii() and sign.isalnum() else "-" for sign in at.settings.plant)
    return f"{plain.strip('-') or 'plant'}-{now():%Y-%m-%d}"
