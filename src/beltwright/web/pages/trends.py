"""How a drive has been: its tension, slip, wear and heat as charts, each beside the table of its numbers.

The charts are drawn on the server (`paper.chart`), so they are there without JavaScript and on paper. What is drawn and
against which limit is the bench's (`findings.history`, `findings.series`); here it becomes shown units and words.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from markupsafe import Markup

from beltwright.bench.findings.found_figures import tension_found
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.history import Held
from beltwright.bench.findings.series import Point, Series
from beltwright.desk.judge import Past
from beltwright.paper.chart import SHAPES, Band, Chart, Foretold, Limit, Mark, chart
from beltwright.paper.frame import Found
from beltwright.units import SHOWN, System, from_si, show, show_band, sign
from beltwright.web.pages.figures import Shown, figure_shown
from beltwright.web.visit import drawn, first_up

# occasions that a table and its chart show, the newest
MOST: Final = 60
_DIGITS: Final[dict[str, dict[System, int]]] = {"length": {"si": 2, "inch": 3}}
_FOR_EVER: Final = timedelta(days=36500)


@dataclass(frozen=True, slots=True)
class Trend:
    """One thing through the years. `asks`: what it is held against; `foretold`: when a limit will be reached."""

    key: str
    title: str
    now: Shown | None
    stands: str
    asks: tuple[str, ...]
    foretold: str
    drawing: Markup
    marks: tuple[tuple[str, str], ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left_out: str


def trends(past: Past, series: Sequence[Series], system: System, *, low: float | None, share: float,
           now: datetime) -> tuple[Trend, ...]:
    """Everything read through the years, tension first.

    low:   the least tension of run-in belts; share: running share of the day, by which running time becomes days
    """
    first = (_tension(past, system, _foretold(past, system, low, share, now), now),) if past.held else ()
    return (*first, *(_series(each, system) for each in series))


def found_on(tension: Tension | None) -> Found | None:
    """The tension as it stands, for the drawing of the drive; none where it was not read, or the motor moved since."""
    if tension is None or tension.strands is None or tension.band is None or tension.moved is not None:
        return None
    words = f"band of {'new' if tension.new else 'run-in'} belts"
    return Found(tension.strands.mean, *tension.band, words=words)


def _tension(past: Past, system: System, told: tuple[Foretold, str] | None, now: datetime) -> Trend:
    held = past.held[-MOST:]
    shown = _in("force", system)
    marks = tuple(Mark(each.strands.at, shown(each.strands.mean), shown(2 * each.strands.mean_spread),
                       each.strands.state, _pointed(each, system)) for each in held)
    changed = tuple((each.since, "other belts") for each in past.sets[1:] if each.since is not None)
    last = held[-1]
    title = "Tension of one strand, mean of the set"
    return Trend(
        "tension", title, figure_shown(tension_found(last), system), _lies(last),
        () if last.band is None else (f"{_age(last)}: {show_band(*last.band, 'force', system)}",),
        "" if told is None else told[1],
        drawn(chart(Chart("chart-tension", title, _said(title, len(held)), sign(SHOWN[system]["force"].unit), marks,
                          _bands(held, now, shown), changed=changed, foretold=told[0] if told else None))),
        _marks(marks), ("Read", "State", "Mean", "Band", "It lay"),
        tuple((f"{each.strands.at:%Y-%m-%d}", each.strands.state,
               _give_or_take(each.strands.mean, each.strands.mean_spread, "force", system, None),
               "" if each.band is None else show_band(*each.band, "force", system), _lies(each))
              for each in reversed(held)), _older(len(past.held)))


def _bands(held: Sequence[Held], now: datetime, shown: Callable[[float], float]) -> tuple[Band, ...]:
    """The band from each occasion to the next; the last holds until now, and as far ahead as is drawn."""
    ends = [each.strands.at for each in held[1:]]
    stretches = zip(held, [*ends, max(now, held[-1].strands.at) + _FOR_EVER], strict=True)
    found: list[Band] = []
    for each, end in stretches:
        if each.band is None:
            continue
        low, high = (shown(value) for value in each.band)
        if found and found[-1].end == each.strands.at and (found[-1].low, found[-1].high) == (low, high):
            found[-1] = Band(found[-1].start, end, low, high)
        else:
            found.append(Band(each.strands.at, end, low, high))
    return tuple(found)


def _foretold(past: Past, system: System, low: float | None, share: float,
              now: datetime) -> tuple[Foretold, str] | None:
    """When tension comes down to the low limit, by the drive's own readings."""
    tension = past.tension
    if tension is None or tension.crossing is None or tension.strands is None or tension.moved is not None:
        return None
    crossing = tension.crossing
    about = _day(now, crossing.expected, share)
    early = _day(now, max(0.0, crossing.not_before), share)
    if low is None or about is None or early is None or crossing.expected <= 0.0:
        return None
    late = _day(now, crossing.not_after, share)
    words = (f"down to {show(low, 'force', system)} about {about:%Y-%m-%d}, not before {early:%Y-%m-%d}"
             f"{'' if late is None else f', at the latest {late:%Y-%m-%d}'}")
    return Foretold(_in("force", system)(low), early, about, late, f"low limit about {about:%Y-%m-%d}"), words


def _day(now: datetime, running: float, share: float) -> datetime | None:
    """The day on which a running time from now on is over; none where there is no end in sight."""
    if share <= 0.0 or running / share > _FOR_EVER.total_seconds():
        return None
    return now + timedelta(seconds=running / share)


def _series(series: Series, system: System) -> Trend:
    shown, digits = _in(series.kind, system), _DIGITS.get(series.kind, {}).get(system)
    points = series.points[-MOST:]
    parts = [_part(point) for point in points]

    def text(value: float) -> str:
        return show(value, series.kind, system, digits=digits)

    def apart(point: Point) -> float:
        return abs(shown(point.value + 2 * point.spread) - shown(point.value))

    marks = tuple(Mark(point.at, shown(point.value), apart(point), point.reading.state,
                       f"{point.at:%Y-%m-%d}: {text(point.value)}{f', {part}' if part else ''}")
                  for point, part in zip(points, parts, strict=True))
    limits = tuple(Limit(shown(limit.value), f"{limit.words} {text(limit.value)}") for limit in series.limits)
    named = any(parts)
    rows = [(f"{point.at:%Y-%m-%d}", *((part,) if named else ()),
             _give_or_take(point.value, point.spread, series.kind, system, digits), point.reading.by)
            for point, part in zip(points, parts, strict=True)]
    return Trend(
        series.key, series.title, figure_shown(series.last, system) if series.last else None,
        _passed(series, points[-1]), tuple(first_up(f"{limit.words} {text(limit.value)}") for limit in series.limits),
        "", drawn(chart(Chart(f"chart-{series.key}", series.title, _said(series.title, len(points)),
                              sign(SHOWN[system][series.kind].unit), marks, limits=limits))),
        _marks(marks), ("Read", *(("Groove",) if named else ()), "Value", "By"),
        tuple(reversed(rows)), _older(len(series.points)))


def _give_or_take(value: float, spread: float, kind: str, system: System, digits: int | None) -> str:
    """A value and twice its standard uncertainty, the unit once: `553 ± 52 N`."""
    text = show(value, kind, system, digits=digits)
    if not spread:
        return text
    shown = SHOWN[system][kind]
    apart = abs(from_si(value + 2 * spread, shown.unit, kind) - from_si(value, shown.unit, kind))
    unit = sign(shown.unit)
    return f"{text.removesuffix(unit).strip()} ± {apart:.{shown.digits if digits is None else digits}f} {unit}"


def _part(point: Point) -> str:
    groove = point.reading.values.get("groove")
    return "" if groove is None else f"groove {groove}"


def _passed(series: Series, last: Point) -> str:
    """On which side of its limits the last value lies, in words."""
    over = [limit for limit in series.limits if last.value > limit.value]
    if not over:
        return "within its limit"
    return "above its limit" if len(over) == len(series.limits) else "above the first of its limits"


def _lies(held: Held) -> str:
    if held.band is None:
        return "no band known"
    low, high = held.band
    return "below" if held.strands.mean < low else "above" if held.strands.mean > high else "in its band"


def _age(held: Held) -> str:
    return "Band for new belts" if held.new else "Band for run-in belts"


def _pointed(held: Held, system: System) -> str:
    found = held.strands
    return f"{found.at:%Y-%m-%d}, {found.state}: {show(found.mean, 'force', system)}, {_lies(held)}"


def _marks(marks: Sequence[Mark]) -> tuple[tuple[str, str], ...]:
    """What the shapes stand for, where there is more than one."""
    there = dict.fromkeys(mark.series for mark in marks)
    return tuple((SHAPES[state], state) for state in SHAPES if state in there) if len(there) > 1 else ()


def _said(title: str, count: int) -> str:
    return f"{title} over time, {count} readings. The numbers stand in the table beside."


def _older(count: int) -> str:
    return f"{count - MOST:,} older" if count > MOST else ""


def _in(kind: str, system: System) -> Callable[[float], float]:
    unit = SHOWN[system][kind].unit
    return lambda value: from_si(value, unit, kind)

