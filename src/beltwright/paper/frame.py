"""What stands round the drawing of a drive: how it is seen, what was found, what the sheaves are, scale and bar.

Works on a canvas of `svg`; knows where its own words go and nothing of the geometry drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from beltwright.bench.card import Card
from beltwright.bench.known import WHICH
from beltwright.paper.svg import Canvas, Point, width, wrapped
from beltwright.plant.drive import Sheave
from beltwright.units import INCH, System, from_si, show

# a metre in the unit of the paper, mm
PAPER_METRE: Final = from_si(1.0, "mm", "length")
# below this width the words about the sheaves stand one under the other
NARROW: Final = 150.0


@dataclass(frozen=True, slots=True)
class Look:
    """What the drawing is made for.

    width:  of the whole drawing [mm of paper, or units of the viewBox]; height: of it, at most
    text:   size of the words, the same
    font:   the face, empty for the page's own; bar: print the bar that shows whether paper is at its true size
    """

    width: float
    height: float
    text: float
    font: str = ""
    bar: bool = False


PAPER: Final = Look(186.0, 84.0, 2.9, "B612", bar=True)
PAGE: Final = Look(100.0, 92.0, 3.2)


@dataclass(frozen=True, slots=True)
class Found:
    """A tension as found, against its band, all in SI of one kind (`force` or `frequency`)."""

    value: float
    low: float
    high: float
    kind: str = "force"
    words: str = "run-in band"


def sheave_words(card: Card, which: str, system: System) -> str:
    """A sheave in a few words: its diameter, which diameter that is, its grooves."""
    sheave: Sheave = getattr(card.drive, which)
    known = card.known
    parts = []
    digits = 0 if system == "si" else 2
    if sheave.diameter is not None and sheave.diameter_as is not None:
        parts.append(f"{show(sheave.diameter, 'length', system, digits=digits)} {sheave.diameter_as}")
    elif f"{which}_geometry" in known and known.section is not None:
        taken = known.section.system.diameter_as
        parts.append(f"{show(known.value(f'{which}_geometry'), 'length', system, digits=digits)} {taken}")
    if sheave.grooves is not None:
        parts.append(f"{sheave.grooves} groove{'s' if sheave.grooves != 1 else ''}")
    turn = known.facts.get(f"{which}_rotation")
    if turn is not None:
        parts.append(show(turn.value, "rotation", system))
    return ", ".join(parts)


def strip_heights(look: Look, found: Found | None) -> tuple[float, float]:
    """What the words above and below the drive itself take."""
    narrow = look.width < NARROW
    return ((2.0 + (2.8 if found is not None else 0.0)) * look.text,
            (2.2 + 1.4 * (2 if narrow else 1)) * look.text)


def above(canvas: Canvas, card: Card, incline: float, system: System, look: Look, found: Found | None,
          corner: Point) -> None:
    """How the drive is seen, and what was found."""
    left, top = corner
    canvas.words((left, top + 0.8 * look.text), _seen(card, incline, short=look.width < NARROW), "seen", anchor="start")
    if found is not None:
        _gauge(canvas, found, system, (left + 1.0, top + 3.4 * look.text), look.width * 0.36, look.width)


def below(canvas: Canvas, card: Card, per_metre: float, known: bool, system: System, look: Look,
          corner: Point) -> None:
    """What the sheaves are, the scale and its bar. per_metre: what a metre of the drive is drawn as [mm]."""
    left, line = corner[0], corner[1] + 0.7 * look.text
    for which in WHICH:
        words = f"{which}: {sheave_words(card, which, system) or 'to be read'}"
        if look.width < NARROW:
            canvas.words((left, line), words, "sheave", anchor="start")
            line += 1.4 * look.text
        else:
            start = which == "driver"
            canvas.words((left if start else left + look.width, line), words, "sheave",
                         anchor="start" if start else "end")
    if look.width >= NARROW:
        line += 1.4 * look.text
    _bar(canvas, per_metre, known, system, look, (left + 0.2, line + 0.3 * look.text))


def _seen(card: Card, incline: float, short: bool) -> str:
    seen = "seen from above, shafts vertical" if card.drive.shafts == "vertical" else "seen from outside"
    parts = [seen, "driver drawn on the left" if math.cos(incline) > 0.1 and not short else ""]
    if abs(incline) > math.radians(0.5):
        slope = math.degrees(incline)
        parts.append(f"{'rises' if slope > 0 else 'falls'} {abs(slope):.0f}° to the driven shaft")
    return "; ".join(part for part in parts if part)


def _bar(canvas: Canvas, per_metre: float, known: bool, system: System, look: Look, at: Point) -> None:
    """The scale: a bar of true length on paper, or of a round length of the drive on a screen."""
    scale = f"scale 1 : {PAPER_METRE / per_metre:g}" if known else "an example, not to scale"
    x, y = at
    if look.bar:
        long = PAPER_METRE * (0.1 if system == "si" else 4 * INCH)
        steps, name = (10, "100 mm") if system == "si" else (4, "4 in")
        words = f"{scale}; bar {name} if printed at 100 %"
    else:
        whole = _round_length(look.width * 0.35 / per_metre)
        long, steps = whole * per_metre, 1
        words = f"{show(whole, 'length', system, digits=0 if system == 'si' else 1)} of the drive, to scale"
    if not look.bar and not known:
        canvas.words(at, scale, "scale", anchor="start")
        return
    for step in range(steps):
        a, b = x + step * long / steps, x + (step + 1) * long / steps
        canvas.line([(a, y), (b, y), (b, y + 1.3), (a, y + 1.3)], "check-bar", closed=True,
                    fill="1" if step % 2 == 0 else "")
    canvas.words((x + long + 2, y + 0.6), words, "scale", anchor="start")


def _round_length(wanted: float) -> float:
    """The largest round length not over the one wanted."""
    power = 10.0 ** math.floor(math.log10(wanted))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= wanted)


def _gauge(canvas: Canvas, found: Found, system: System, at: Point, long: float, wide: float) -> None:
    """A tension as found on a scale with its band, and in words beside it, on as many lines as they need."""
    x, y = at
    top = max(found.high * 1.35, found.value * 1.1)
    place = {name: x + long * value / top for name, value in (("low", found.low), ("high", found.high),
                                                              ("value", found.value))}
    canvas.line([(x, y), (x + long, y)], "gauge", weight="medium")
    canvas.line([(place["low"], y - 1.6), (place["high"], y - 1.6), (place["high"], y + 1.6), (place["low"], y + 1.6)],
                "band", weight="medium", closed=True, fill="0.18")
    canvas.line([(place["value"], y - 3.2), (place["value"], y + 2.2)], "found", weight="thick")
    canvas.head((place["value"], y - 1.2), (0, 1), 2.6, "found")
    for at_end in ("low", "high"):
        canvas.words((place[at_end], y + 3.0), show(getattr(found, at_end), found.kind, system), "band",
                     size=0.85 * canvas.text_size, anchor="end" if at_end == "low" else "start")
    where = "below" if found.value < found.low else "above" if found.value > found.high else "inside"
    words = f"found {show(found.value, found.kind, system)}, {where} the {found.words}"
    room = wide - long - 4.0
    lines = wrapped(words, canvas.text_size, room) if width(words, canvas.text_size) > room else [words]
    for at_line, line in enumerate(lines):
        canvas.words((x + long + 2, y + (at_line - (len(lines) - 1) / 2) * 1.25 * canvas.text_size), line, "found",
                     anchor="start")
