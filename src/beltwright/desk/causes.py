"""Asking why a drive fails: how its inquiry stands, answering a question, settling a cause, noting belts that failed.

Everything noted is a reading, added and never changed; how the inquiry stands is worked out anew from what is on
record. A wrong answer is answered again, or corrected like any reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from beltwright.bench.causes.cures import Prices
from beltwright.bench.causes.inquiry import Inquiry, inquire
from beltwright.bench.causes.rates import Counts, counted, together
from beltwright.desk.face import Book
from beltwright.desk.judge import choices, record_of
from beltwright.desk.prices import PRICE_OF_A_BELT, PRICE_OF_WORK, amount_of
from beltwright.desk.record import note
from beltwright.errors import InputError
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings
from beltwright.units import HOUR, System


def inquiry(book: Book, tag: str, *, now: datetime, locked_out: bool = False) -> Inquiry:
    """How the inquiry into the drive with that tag stands: causes ranked, the next check, what is due.

    locked_out: the drive is isolated already, so that a hands-on check costs no lock-out
    """
    with book.looking():
        record, settings = record_of(book, tag), book.settings()
        others = cases_of_others(book, record.make_ups[-1].drive_id)
    return inquire(record, now=now, choices=choices(settings), prices=prices(settings), plant=others,
                   locked_out=locked_out)


def answer(book: Book, tag: str, sign: str, answer: str, *, by: str, at: datetime, words: str = "",
           reading_id: UUID | None = None) -> Reading:
    """Note the answer to a question: present, absent or could not tell. The last answer to a question counts."""
    return note(book, tag, "answer", {"sign": sign, "answer": answer}, state="as found", by=by, at=at, words=words,
                reading_id=reading_id)


def decide(book: Book, tag: str, cause: str, verdict: str, *, by: str, at: datetime, proof: str = "", words: str = "",
           reading_id: UUID | None = None) -> Reading:
    """Note that a cause is confirmed, ruled out or cured; or, with no cause, that the inquiry is closed.

    “Cured” ends the inquiry and asks for its proof; “closed” ends it without.
    Errors: `InputError` for a verdict without its cause, or a cure without its proof.
    """
    wanted = verdict.strip().casefold()
    if wanted != "closed" and not cause.strip():
        raise InputError(f"say which cause is {verdict.strip() or 'meant'}")
    if wanted == "cured" and not proof.strip():
        raise InputError("say what proves the cure: the reading taken after it, or what was seen")
    return note(book, tag, "cause", {"cause": cause, "verdict": verdict, "proof": proof},
                state="as left" if wanted == "cured" else "as found", by=by, at=at, words=words, reading_id=reading_id)


def failed(book: Book, tag: str, answers: Mapping[str, str], *, by: str, at: datetime, system: System | None = None,
           words: str = "", reading_id: UUID | None = None) -> Reading:
    """Note belts that failed, as typed: how many, after how many hours, how the worst looks, what was to blame."""
    return note(book, tag, "belts failed", answers, state="as found", by=by, at=at, system=system, words=words,
                reading_id=reading_id)


def cases_of_others(book: Book, drive_id: UUID) -> Counts:
    """The cases of the plant's other drives."""
    return together(counted(readings) for each, readings in book.cases_of_plant() if each != drive_id)


def prices(settings: Settings) -> Prices:
    """What the plant pays, as far as it has said."""
    work, belt = amount_of(settings, PRICE_OF_WORK), amount_of(settings, PRICE_OF_A_BELT)
    return Prices(None if work is None else work / HOUR, belt, settings.currency)
