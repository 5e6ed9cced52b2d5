"""The whole book as lines of JSON, and back: kept beside a backup, moved from a file to a server, read elsewhere.

One fact a line, SI values under the names of the records, in the order in which they were recorded; a first line says
what it is, a last one how many facts there are, so that a file cut short is seen. Taking lines in adds what is not
there and changes nothing else: twice is as good as once. All or none is kept.
"""

from __future__ import annotations

import json
from base64 import b64decode, b64encode
from binascii import Error as NoBase64
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final, TextIO

from beltwright.book import rows
from beltwright.book.choices import Chosen
from beltwright.book.opening import VERSION
from beltwright.book.store import Store
from beltwright.errors import BookNewer, InputError, Refused
from beltwright.plant.drive import MakeUp
from beltwright.plant.job import Event, Job
from beltwright.plant.reading import Reading

_FORMAT: Final = "beltwright book"
_UNITS: Final = "SI: m, kg, s, N, W, rad, rad/s, Hz; temperatures in degrees Celsius"


@dataclass(frozen=True, slots=True)
class File:
    """A photo or clip as a line holds it."""

    name: str
    base64: str


# the word for a fact -> its record; in the order in which they must be taken in
_FACTS: Final[Mapping[str, type[Any]]] = {
    "settings": Chosen, "make-up": MakeUp, "job": Job, "photo or clip": File, "reading": Reading, "event": Event}


def export(store: Store, out: TextIO) -> int:
    """Write every fact of the book, as of one moment; how many."""
    written = 0

    def put(word: str, **content: Any) -> None:
        out.write(rows.text_of({"fact": word, **content}) + "\n")

    put(_FORMAT, version=VERSION, units=_UNITS)
    with store.looking():
        for word, records in _every_fact(store):
            for record in records:
                put(word, **rows.to_json(record))
                written += 1
    put("end", facts=written)
    return written


def take_in(store: Store, lines: Iterable[str]) -> Counter[str]:
    """Add what is not in the book yet, into an empty book or the one it came from; how many of each were new.

    errors: `InputError` names the line; `BookNewer`; `Refused` for another plant's book that holds drives
    """
    new: Counter[str] = Counter()
    facts = _read(lines)
    first = next(facts, None)
    if first is None or first[1] != _FORMAT:
        raise InputError("this is no export of a book: its first line would say so")
    if first[2].get("version", 0) > VERSION:
        raise BookNewer("this export was written by a later version of Beltwright: update this one")
    with store.writing():
        add = _adders(store)
        for word, some in groupby(_until_the_end(facts), lambda fact: fact[1]):
            new[word] += add[word](_record(*fact) for fact in some)
    return +new


def _every_fact(store: Store) -> Iterator[tuple[str, Iterable[Any]]]:
    yield "settings", store.choices_recorded()
    yield "make-up", store.make_ups_recorded()
    yield "job", store.jobs()
    yield "photo or clip", (File(name, b64encode(store.file(name)).decode()) for name in store.file_names())
    yield "reading", (reading for _, some in store.readings_of_plant(superseded=True) for reading in some)
    yield "event", store.events_recorded()


def _adders(store: Store) -> dict[str, Callable[[Iterator[Any]], int]]:
    return {
        "settings": lambda chosen: _add_choices(store, list(chosen)),
        "make-up": store.add_make_ups,
        "job": lambda jobs: sum(map(store.open_job, jobs)),
        "photo or clip": lambda files: sum(store.keep_file(file.name, _bytes(file)) for file in files),
        "reading": store.note_many,
        "event": lambda events: sum(map(store.add_event, events)),
    }


def _add_choices(store: Store, chosen: list[Chosen]) -> int:
    ours = {choice.id for choice in store.choices_recorded()}
    if ours.isdisjoint(choice.id for choice in chosen) and (store.drives() or store.jobs()):
        raise Refused(f"{store.where} is another plant's book and holds drives: take the export into an empty book")
    return sum(map(store.add_choice, chosen))


def _bytes(file: File) -> bytes:
    try:
        return b64decode(file.base64, validate=True)
    except NoBase64:
        raise InputError(f"the photo or clip {file.name[:80]} was changed on the way") from None


def _read(lines: Iterable[str]) -> Iterator[tuple[int, str, dict[str, Any]]]:
    for number, line in enumerate(lines, 1):
        try:
            fact = json.loads(line)
            yield number, fact.pop("fact"), fact
        except (ValueError, AttributeError, TypeError, KeyError):
            raise InputError(f"line {number} of the export is no fact: {line[:60].strip()!r}") from None


def _until_the_end(facts: Iterator[tuple[int, str, dict[str, Any]]]) -> Iterator[tuple[int, str, dict[str, Any]]]:
    for count, (number, word, content) in enumerate(facts):
        if word == "end":
            if content.get("facts") != count:
                raise InputError(f"the export has {count} facts where {content.get('facts')} were written: it is not "
                                 "whole")
            return
        if word not in _FACTS:
            raise InputError(f"line {number} of the export: unknown kind of fact {word!r}")
        yield number, word, content
    raise InputError("the export was cut short: its last line is missing")


def _record(number: int, word: str, content: dict[str, Any]) -> Any:
    try:
        return rows.from_json(_FACTS[word], content)
    except rows.Misfit as problem:
        raise InputError(f"line {number} of the export: {problem}") from None
