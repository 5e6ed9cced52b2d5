"""A drive: what it must be set to, what is wrong with it and why, how it has been, what is fitted and since when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool

from beltwright.bench.card import Card, make_card
from beltwright.bench.figure import Said
from beltwright.bench.findings.coming import Coming, coming
from beltwright.bench.findings.finding import Finding
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.noted import Choices
from beltwright.bench.findings.series import series_of
from beltwright.bench.findings.sets import BeltSet
from beltwright.desk.columns import COLUMNS, by_header
from beltwright.desk.judge import Past, choices, past_of, record_of
from beltwright.desk.standing import standing
from beltwright.paper.drawing import PAGE, drawing
from beltwright.paper.sheet import ANSWERS, MARKS, sheet
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import loose, now
from beltwright.tables import cite
from beltwright.units import System, show
from beltwright.web.addresses import drive_at, slug
from beltwright.web.glances import judged_with
from beltwright.web.kept import Key, Middle, middle
from beltwright.web.lately import word
from beltwright.web.pages.figures import Part, parts
from beltwright.web.pages.history import History, histories
from beltwright.web.pages.trends import Trend, found_on, trends
from beltwright.web.visit import At, Visit, drawn, first_up

router = APIRouter()

_GRAVE: Final = ("danger", "stop and mend")
_NUMBERS: Final = ("set_to", "tension")
_MORE: Final = ("limits", "sheaves", "times", "drive", "loads")
_ASKED: Final = {column.name: column.ask for column in COLUMNS}


@dataclass(frozen=True, slots=True)
class Notice:
    """Something judged or found, or readings that disagree: what, why, how sure, what to do, on whose word."""

    answer: str
    title: str
    said: str
    mark: str = ""
    sure: str = ""
    likely: str = ""
    do: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    source: str = ""
    when: str = ""
    href: str = ""
    each: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    explained_by: tuple[str, ...] = ()
    explains: tuple[str, ...] = ()


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
    belts_on: str
    now: bool


@dataclass(frozen=True, slots=True)
class FollowUp:
    """Something to come back for: when, what, and where it is done."""

    when: str
    words: str
    why: str
    href: str


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
    stands: str
    about: str
    note: str
    drawing: Markup
    numbers: tuple[Part, ...]
    more: tuple[Part, ...]
    grave: tuple[Notice, ...]
    notices: tuple[Notice, ...]
    built: tuple[Notice, ...]
    in_order: tuple[Notice, ...]
    to_read: tuple[ToRead, ...]
    follow_ups: tuple[FollowUp, ...]
    trends: tuple[Trend, ...]
    history: tuple[History, ...]
    fitted: tuple[Fitted, ...]
    actions: tuple[Action, ...]
    deference: tuple[str, ...]
    legend: tuple[tuple[str, str], ...]
    method: str
    reckoned: str


@router.get("/drives/{tag}", name="drive", response_class=HTMLResponse)
async def drive(at: At, tag: str) -> Response:
    """A drive's page."""
    if at.station.at_hand and (made := _kept(at, tag, at.station.lately.word(tag))):
        return at.show_kept(made)
    return await run_in_threadpool(_drive, at, tag)


def _kept(at: Visit, tag: str, made_of: str) -> Middle | None:
    return at.station.kept.get(key(tag, at.person.system), made_of, now()) if made_of else None


def _drive(at: Visit, tag: str) -> Response:
    """The page filled anew, and kept for the next."""
    with at.book.looking():
        record, settings = record_of(at.book, tag), at.book.settings()
        made_of = word(at.book, tag, settings)
    if made := _kept(at, tag, made_of):
        return at.show_kept(made)
    system, chosen = at.person.system, choices(settings)
    _, found, until = next(judged_with([record], chosen))
    page = filled(record, found, system, chosen)
    made = middle(at.text("drive.html", page), page.tag)
    at.station.kept.put(key(tag, system), made_of, until, made)
    return at.show_kept(made)


def key(tag: str, system: System) -> Key:
    """Where the page of the drive with this tag is kept."""
    return "drive", loose(tag), system


def filled(record: Record, found: Sequence[Finding], system: System, chosen: Choices) -> DrivePage:
    """The page of a drive as it stands now."""
    moment = now()
    return drive_page(make_card(record.make_ups[-1].drive), record, found, system,
                      coming=coming(record, now=moment, choices=chosen), now=moment)


def drive_page(card: Card, record: Record, findings: Sequence[Finding], system: System, *,
               coming: Sequence[Coming], now: datetime) -> DrivePage:
    """Fill the page."""
    made = sheet(card, system)
    built = _verdicts(card, system)
    titles = {finding.key: finding.title for finding in findings}
    notices = [*_clashes(card, system), *(_found(finding, titles, system) for finding in findings)]
    place = f"/?{urlencode({'place': made.place})}" if made.place else ""
    past = past_of(record, now=now)
    return DrivePage(
        tag=made.tag, name=made.name, place=made.place, place_href=place,
        stands=standing(card.drive, findings, card).stands, about=made.about, note=made.note,
        drawing=drawn(drawing(card, system, PAGE, found=found_on(past.tension))),
        numbers=parts((made.section(key) for key in _NUMBERS), card, system),
        more=parts((made.section(key) for key in _MORE), card, system),
        grave=tuple(one for one in (*built, *notices) if one.answer in _GRAVE),
        notices=tuple(one for one in notices if one.answer not in (*_GRAVE, "sound")),
        built=tuple(one for one in built if one.answer not in (*_GRAVE, "good")),
        in_order=tuple(one for one in (*notices, *built) if one.answer in ("good", "sound")),
        to_read=_to_read(card), follow_ups=follow_ups(made.tag, record, coming),
        trends=_trends(card, record, past, system, now), history=histories(record.readings, system),
        fitted=fitted(record.make_ups, past.sets, system), actions=actions(made.tag), deference=made.deference,
        legend=made.legend, method=made.method, reckoned=f"{now:%Y-%m-%d %H:%M}")


def _trends(card: Card, record: Record, past: Past, system: System, now: datetime) -> tuple[Trend, ...]:
    band = card.figures.get("tension_run_in")
    share = card.drive.hours_a_day
    return trends(past, series_of(record), system, low=band.low if band else None,
                  share=1.0 if share is None else share, now=now)


def follow_ups(tag: str, record: Record, coming: Sequence[Coming]) -> tuple[FollowUp, ...]:
    """Jobs begun and not ended, and the re-checks to come."""
    begun = [FollowUp(f"since {job.opened_at:%Y-%m-%d}", f"Go on with the job “{job.kind}”", job.reason,
                      f"/jobs/{job.id}") for job, events in record.jobs
             if not any(event.kind in ("closed", "abandoned") for event in events)]
    return (*begun, *(FollowUp(each.days, each.title, each.recheck.words, drive_at(tag, "readings"))
                      for each in coming))


def actions(tag: str) -> tuple[Action, ...]:
    """What can be done with a drive from its page."""
    return (Action(drive_at(tag, "readings"), "Note a reading", "gauge"),
            Action(f"/round/{slug(tag)}", "Look at it", "watch"), Action(drive_at(tag, "jobs"), "Job", "job"),
            Action(drive_at(tag, "why"), "Why it fails", "ask"), Action(drive_at(tag, "card"), "Job card", "card"),
            Action(drive_at(tag, "label"), "Label", "label"), Action(f"/survey?{_of(tag)}", "Put in more", "enter"))


def fitted(versions: Sequence[MakeUp], sets: Sequence[BeltSet], system: System) -> tuple[Fitted, ...]:
    """What the drive was through the years, the newest first, each with what differs from the one before."""
    found = []
    for at, make_up in enumerate(versions):
        drive = make_up.drive
        marking = drive.belts.marking or drive.belts.section or "belts"
        belts = f"{drive.belts.count} × {marking}" if drive.belts.count else marking
        before = versions[at - 1].drive.typed if at else None
        last = at == len(versions) - 1
        found.append(Fitted(f"{make_up.since:%Y-%m-%d}", " ".join(filter(None, (belts, drive.belts.make))),
                            _sheaves(drive.typed), _changed(before, drive.typed), make_up.by,
                            _belts_since(sets[-1], system) if last and sets else "", last))
    return tuple(reversed(found))


def _belts_since(belts: BeltSet, system: System) -> str:
    """Since when the belts on the drive are on it, and how long they ran."""
    if belts.since is None:
        return "since when these belts run is not noted"
    ran = "" if belts.ran is None else f", ran {show(belts.ran, 'time', system)}{' at most' if belts.assumed else ''}"
    return f"belts on since {belts.since:%Y-%m-%d}{ran}"


def _found(finding: Finding, titles: Mapping[str, str], system: System) -> Notice:
    """A finding with all that makes it believable."""
    sure = "" if finding.sure is None else finding.sure_words
    return Notice(
        finding.urgency, finding.title, first_up(finding.statement.text(system)), MARKS.get(finding.trust, ""),
        f"{sure}: {finding.why_sure}" if sure and finding.why_sure else sure,
        do=tuple((line.text(system) if isinstance(line, Said) else line).rstrip(".") for line in finding.do),
        also=finding.check_too, source=cite(finding.source),
        when=f"{finding.at:%Y-%m-%d}" if finding.at is not None else "",
        each=tuple(each.text(system) for each in finding.each), beside=finding.beside(system),
        explained_by=tuple(titles[key] for key in finding.explained_by if key in titles),
        explains=tuple(titles[key] for key in finding.explains if key in titles))


def _clashes(card: Card, system: System) -> list[Notice]:
    tag = card.drive.tag
    found = [Notice(clash.weight, f"Readings disagree: {', '.join(_ASKED.get(name, name) for name in clash.columns)}",
                    first_up(clash.statement.text(system)), likely=first_up(clash.likely.text(system)),
                    do=(first_up(clash.do.text(system)),), href=_survey_at(tag, clash.columns[0]))
             for clash in card.clashes]
    return found + [Notice("not used", first_up(_ASKED.get(column, column)), first_up(why),
                           href=_survey_at(tag, column)) for column, why in card.known.unusable]


def _verdicts(card: Card, system: System) -> list[Notice]:
    return [Notice(ANSWERS[verdict.answer], verdict.title, first_up(verdict.statement.text(system)),
                   MARKS.get(verdict.trust, ""), do=(first_up(verdict.do),) if verdict.do else (),
                   source=cite(verdict.source)) for verdict in card.verdicts]


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
