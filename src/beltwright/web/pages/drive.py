"""A drive: what it must be set to, what is wrong with it and why, how it has been, what is fitted and since when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from beltwright.bench.card import Card, make_card
from beltwright.bench.verdicts import overall
from beltwright.desk.columns import COLUMNS, by_header
from beltwright.paper.drawing import PAGE, drawing
from beltwright.paper.sheet import ANSWERS, MARKS, sheet
from beltwright.plant.drive import MakeUp
from beltwright.units import System
from beltwright.web.addresses import drive_at
from beltwright.web.pages.figures import Part, parts
from beltwright.web.pages.history import History, histories
from beltwright.web.visit import At, drawn, first_up

router = APIRouter()

# words large enough on the narrowest phone
ON_SCREEN: Final = replace(PAGE, width=80.0, height=84.0, text=3.7)
_NUMBERS: Final = ("set_to", "tension")
_MORE: Final = ("limits", "sheaves", "times", "drive", "loads")
_ASKED: Final = {column.name: column.ask for column in COLUMNS}


@dataclass(frozen=True, slots=True)
class Notice:
    """Something judged, or readings that disagree: what, why, what to do."""

    answer: str
    title: str
    said: str
    likely: str
    do: str
    mark: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class ToRead:
    """A reading that is missing, what it gives, and where it is entered."""

    words: str
    gives: str
    href: str


@dataclass(frozen=True, slots=True)
class Fitted:
    """What was fitted from a day on."""

    since: str
    belts: str
    sheaves: str
    changed: tuple[str, ...]
    by: str
    now: bool


@dataclass(frozen=True, slots=True)
class Action:
    """Where one can go from a drive."""

    href: str
    words: str
    mark: str


@dataclass(frozen=True, slots=True)
class DrivePage:
    """A drive's page."""

    tag: str
    name: str
    place: str
    place_href: str
    answer: str
    about: str
    note: str
    drawing: Markup
    numbers: tuple[Part, ...]
    more: tuple[Part, ...]
    notices: tuple[Notice, ...]
    in_order: tuple[Notice, ...]
    to_read: tuple[ToRead, ...]
    history: tuple[History, ...]
    fitted: tuple[Fitted, ...]
    actions: tuple[Action, ...]
    deference: tuple[str, ...]
    legend: tuple[tuple[str, str], ...]
    method: str


@router.get("/drives/{tag}", name="drive")
def drive(at: At, tag: str) -> HTMLResponse:
    """A drive's page."""
    with at.book.looking():
        make_up = at.book.drive_by_tag(tag)
        card = make_card(make_up.drive)
        history = histories(card, at.book.readings(make_up.drive_id), at.person.system)
        versions = at.book.make_ups(make_up.drive_id)
    return at.show("drive.html", drive_page(card, versions, history, at.person.system))


def drive_page(card: Card, versions: Sequence[MakeUp], history: tuple[History, ...], system: System) -> DrivePage:
    """Fill the page."""
    made = sheet(card, system)
    judged = [*_clashes(card, system), *_verdicts(card, system)]
    return DrivePage(
        tag=made.tag, name=made.name, place=made.place, place_href=f"/?{urlencode({'place': made.place})}" if made.place else "", answer=ANSWERS[overall(card.verdicts)],
        about=made.about, note=made.note, drawing=drawn(drawing(card, system, ON_SCREEN)),
        numbers=parts((made.section(key) for key in _NUMBERS), card, system),
        more=parts((made.section(key) for key in _MORE), card, system),
        notices=tuple(notice for notice in judged if notice.answer != "good"),
        in_order=tuple(notice for notice in judged if notice.answer == "good"),
        to_read=_to_read(card), history=history, fitted=fitted(versions), actions=actions(made.tag),
        deference=made.deference, legend=made.legend, method=made.method)


def actions(tag: str) -> tuple[Action, ...]:
    """What can be done with a drive from its page."""
    return (Action(drive_at(tag, "card"), "Job card", "card"), Action(drive_at(tag, "label"), "Label", "label"),
            Action(f"/survey?{_of(tag)}", "Put in more", "enter"))


def fitted(versions: Sequence[MakeUp]) -> tuple[Fitted, ...]:
    """What the drive was through the years, the newest first, each with what differs from the one before."""
    found = []
    for at, make_up in enumerate(versions):
        drive = make_up.drive
        marking = drive.belts.marking or drive.belts.section or "belts"
        belts = f"{drive.belts.count} × {marking}" if drive.belts.count else marking
        before = versions[at - 1].drive.typed if at else None
        found.append(Fitted(f"{make_up.since:%Y-%m-%d}", " ".join(filter(None, (belts, drive.belts.make))),
                            _sheaves(drive.typed), _changed(before, drive.typed), make_up.by,
                            at == len(versions) - 1))
    return tuple(reversed(found))


def _clashes(card: Card, system: System) -> list[Notice]:
    return [Notice(clash.weight, f"Readings disagree: {', '.join(_ASKED.get(name, name) for name in clash.columns)}",
                   first_up(clash.statement.text(system)), first_up(clash.likely.text(system)),
                   first_up(clash.do.text(system)), "", _survey_at(card.drive.tag, clash.columns[0]))
            for clash in card.clashes] + [
            Notice("not used", first_up(_ASKED.get(column, column)), first_up(why), "", "", "",
                   _survey_at(card.drive.tag, column)) for column, why in card.known.unusable]


def _verdicts(card: Card, system: System) -> list[Notice]:
    return [Notice(ANSWERS[verdict.answer], verdict.title, first_up(verdict.statement.text(system)), "",
                   first_up(verdict.do), MARKS.get(verdict.trust, "")) for verdict in card.verdicts]


def _to_read(card: Card) -> tuple[ToRead, ...]:
    return tuple(ToRead(first_up(gap.words), ", ".join(gap.unlocks), _survey_at(card.drive.tag, gap.column))
                 for gap in card.gaps)


def _survey_at(tag: str, column: str) -> str:
    return f"/survey?{_of(tag)}&{urlencode({'ask': column})}"


def _of(tag: str) -> str:
    return urlencode({"drive": tag})


def _sheaves(typed: Mapping[str, str]) -> str:
    """The sheaves as they were typed: sizes with the words of their column."""
    found = []
    for which in ("driver", "driven"):
        for name, text in typed.items():
            column, unit = by_header().get(name, (None, None))
            if column is not None and column.path == f"{which}.diameter":
                size = f"{text} {unit}" if unit and not text.strip().endswith(unit) else text
                found.append(f"{which} {size} {column.name.removeprefix(f'{which}_')}")
    return ", ".join(found)


def _changed(before: Mapping[str, str] | None, now: Mapping[str, str]) -> tuple[str, ...]:
    """What was typed otherwise than in the make-up before."""
    if before is None:
        return ()
    return tuple(f"{first_up(_asked(name))}: {before.get(name, 'not noted')} → {now.get(name, 'taken back')}"
                 for name in dict.fromkeys([*before, *now]) if before.get(name) != now.get(name))


def _asked(name: str) -> str:
    column, _ = by_header().get(name, (None, None))
    return name if column is None else column.ask
