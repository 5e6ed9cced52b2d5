"""Whip of a drive's spans: what they swing at, what shakes them, which tension is clear, what helps where none is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from fastapi import APIRouter
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from beltwright.bench.figure import Figure
from beltwright.bench.whip_chart import Answer, Whip, away
from beltwright.bench.whip_figures import whip_figures
from beltwright.desk.whip import whip_now
from beltwright.errors import NotKnown
from beltwright.paper.sheet import LEGEND, MARKS
from beltwright.paper.whip_drawing import letters, speed_chart, tension_chart
from beltwright.plant.drive import Drive
from beltwright.plant.identity import now
from beltwright.units import System, show, show_band
from beltwright.web.addresses import drive_at
from beltwright.web.pages.figures import Line, Part, Shown, figure_shown
from beltwright.web.visit import At, drawn, first_up

router = APIRouter()

# the shape beside the answer, and the answer in words
_SAID: Final[dict[Answer, tuple[str, str]]] = {
    "near": ("watch", "Near"), "borderline": ("note", "Borderline"), "clear": ("good", "Clear")}
# every so many points of the curves are written in the table of numbers
_EVERY: Final = 4


@dataclass(frozen=True, slots=True)
class Remedy:
    """Something tried where no tension of the band is clear."""

    title: str
    said: str


@dataclass(frozen=True, slots=True)
class Shakes:
    """A line of the table beside the chart: its letter there, what it is, its figure, or why it has none."""

    letter: str
    words: str
    figure: Shown | None
    text: str
    remark: str


@dataclass(frozen=True, slots=True)
class Speed:
    """A motor speed at which a span meets what shakes it."""

    speed: str
    side: str
    words: str


@dataclass(frozen=True, slots=True)
class Speeds:
    """A motor of variable speed: its chart, where spans are met, and between which speeds something is near."""

    chart: Markup
    meets: tuple[Speed, ...]
    near: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhipPage:
    """The page. why: what has to be read first, where there is nothing else to show."""

    tag: str
    name: str
    drive: str
    survey: str
    why: str
    mark: str
    answer: str
    stands: str
    caution: str
    numbers: tuple[Part, ...]
    chart: Markup
    shakes: tuple[Shakes, ...]
    window: str
    helps: tuple[Remedy, ...]
    helps_not: tuple[Remedy, ...]
    speeds: Speeds | None
    points: tuple[tuple[str, str, str], ...]
    near: str
    clear: str
    legend: tuple[tuple[str, str], ...]


@router.get("/drives/{tag}/whip", name="whip")
def whip(at: At, tag: str) -> HTMLResponse:
    """The page of a drive's whip."""
    drive = at.book.drive_by_tag(tag).drive
    try:
        made = whip_now(at.book, tag, now=now())
    except NotKnown as problem:
        return at.show("whip.html", _unknown(drive, str(problem)))
    return at.show("whip.html", whip_page(made, at.person.system))


def whip_page(made: Whip, system: System) -> WhipPage:
    """Fill the page."""
    drive = made.targets.drive
    figures = {figure.key: figure for figure in whip_figures(made)}
    mark, answer = _SAID[made.answer]
    read = made.found.when if made.found is not None else "mid-band, none was read"
    trusts = {figure.working.trust for figure in figures.values()}
    return WhipPage(
        drive.tag, drive.name, drive_at(drive.tag), _survey(drive.tag), "", mark, answer,
        f"{show(made.tension, 'force', system)}, {read}", made.caution, _parts(made, figures, system),
        drawn(tension_chart(made, system)), _shakes(made, figures, system), _window(made, system),
        _remedies(made, system, works=True), _remedies(made, system, works=False),
        _speeds(made, system), _points(made, system), f"{made.near:.0%}", f"{made.clear:.0%}",
        tuple((sign, LEGEND[sign]) for trust, sign in MARKS.items() if trust in trusts))


def _unknown(drive: Drive, why: str) -> WhipPage:
    return WhipPage(drive.tag, drive.name, drive_at(drive.tag), _survey(drive.tag), first_up(why),
                    "unknown", "Not known yet", "", "", (), Markup(), (), "", (), (), None, (), "", "", ())


def _survey(tag: str) -> str:
    return f"/survey?drive={tag}&ask=driven_pulses"


def _parts(made: Whip, figures: dict[str, Figure], system: System) -> tuple[Part, ...]:
    def pair(label: str, key: str) -> Line:
        return Line(label, tuple(figure_shown(figures[f"whip_{key}_{side.name}"], system) for side in made.sides), "")

    def one(key: str) -> Line:
        return Line(figures[key].title, (figure_shown(figures[key], system),), "")

    columns = tuple(f"{side.name} side" for side in made.sides)
    spans = Part("spans", "Both spans, running at full load", "", columns,
                 (pair("swings as it runs", "note"), pair("away from what is nearest", "margin"),
                  pair("what the strand carries", "strand")))
    keys = [key for key in ("whip_window", "whip_window_plucked") if key in figures]
    clear = Part("clear", "Where it is clear", "", (), tuple(one(key) for key in keys)) if keys else None
    return tuple(part for part in (clear, spans) if part is not None)


def _shakes(made: Whip, figures: dict[str, Figure], system: System) -> tuple[Shakes, ...]:
    named = letters(made)
    nearest: dict[str, list[str]] = {}
    for side in made.sides:
        nearest.setdefault(side.nearest.key, []).append(f"{side.name} side {away(side.margin)}")
    found = []
    for shaker in made.shakers:
        figure = figures.get(f"shakes_{shaker.key.replace(' ', '_').replace('-', '_')}")
        remark = "; ".join(nearest.get(shaker.key, ())) if shaker.judged else "faint, not judged"
        found.append(Shakes(named[shaker.key], first_up(shaker.words), _unbroken(figure, system) if figure else None,
                            show(shaker.meets, "frequency", system), remark))
    return tuple(found)


def _unbroken(figure: Figure, system: System) -> Shown:
    """A figure for a narrow column: number and unit stay on one line."""
    found = figure_shown(figure, system)
    return replace(found, text=found.text.replace(" ", "\u00a0"))


def _window(made: Whip, system: System) -> str:
    if made.window is not None:
        return ""
    none = "The run-in band has no clear stretch wide enough to set"
    if made.passable is None:
        return f"{none}; nor one where nothing is near."
    return f"{none}; at {show_band(*made.passable, 'force', system)} a strand nothing is near."


def _remedies(made: Whip, system: System, *, works: bool) -> tuple[Remedy, ...]:
    return tuple(Remedy(one.title, first_up(one.said.text(system))) for one in made.helps
                 if (one.window is not None) == works)


def _speeds(made: Whip, system: System) -> Speeds | None:
    over = made.speeds
    if over is None:
        return None
    return Speeds(drawn(speed_chart(made, over, system)),
                  tuple(Speed(show(each.speed, "rotation", system).replace(" ", "\u00a0"), each.side, each.words)
                        for each in over.crossings),
                  tuple(show_band(*stretch, "rotation", system) for stretch in over.near))


def _points(made: Whip, system: System) -> tuple[tuple[str, str, str], ...]:
    curves = made.curves
    return tuple((show(tension, "force", system), show(tight, "frequency", system), show(slack, "frequency", system))
                 for tension, tight, slack in list(zip(curves.over, curves.tight, curves.slack, strict=True))[::_EVERY])
