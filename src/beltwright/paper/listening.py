"""The picture of a clip: its wave with the plucks found, its spectrum with the partials, the notes that are right.

Plain SVG with presentation attributes only, no script, no style sheet and nothing fetched, so that it may stand in a
page with a strict policy and take the page's colours; every mark also stands as words in the title of its element.
"""

from __future__ import annotations

from html import escape
from importlib.resources import as_file, files
from typing import Any, Final

import numpy as np

from beltwright.desk.listen import Listened
from beltwright.paper.traced import HIGH, TICKS, Traced, across, trace
from beltwright.units import show

WIDE, NARROW = 720, 400         # across a sheet or a desk; a phone, where words must not shrink with the drawing
HEIGHT = 390
_EDGE = 16
_WAVE: Final = (26, 146)        # top and bottom of the wave
_LINES: Final = (222, 336)      # top and bottom of the spectrum
_SMALLEST: Final = 3.0          # a band is never drawn thinner
# dots an inch of a PNG: 720 points wide become 1440
_SHARP: Final = 144.0

Band = tuple[float, float]


def picture(listened: Listened, right: Band | None = None, *, sentence: str = "", width: int = WIDE) -> str:
    """The clip and what was heard in it, as an SVG document.

    listened: what `desk.listen.listen` made of the clip
    right:    the notes that are right for this belt [Hz], where they are known
    sentence: what it comes to, instead of what the ear says
    width:    `WIDE`: a document of its own, dark on white; `NARROW`: part of a page, in its colours
    """
    said = sentence or listened.sentence
    room = width - 2 * _EDGE
    traced = trace(listened, room)
    alone = width == WIDE
    ground = f'<rect width="{width}" height="{HEIGHT}" fill="#fff"/>' if alone else ""
    colour = 'color="#1b1f23" ' if alone else ""
    return "\n".join([
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {HEIGHT}" {colour}role="img" class="heard" '
        'font-family="B612, sans-serif" font-size="15" fill="currentColor">', f"<title>{escape(said)}</title>", ground,
        # said anew, since a page draws the outline of whatever stands in an SVG
        '<g fill="currentColor" stroke="none">', *_wave(traced, room), *_spectrum(traced, listened, right, room),
        "</g></svg>"])


def as_png(svg: str) -> bytes:
    """A picture of its own as a PNG."""
    import typst

    page = (f'#set page(width: {WIDE}pt, height: {HEIGHT}pt, margin: 0pt)\n'
            f'#image("picture.svg", width: {WIDE}pt)').encode()
    set_in: Any = typst.compile   # takes files by name too, which its types do not say
    with as_file(files("beltwright.paper") / "fonts") as fonts:
        return bytes(set_in({"main.typ": page, "picture.svg": svg.encode()}, format="png", ppi=_SHARP,
                            font_paths=[str(fonts)], ignore_system_fonts=True))


def _wave(traced: Traced, room: int) -> list[str]:
    top, bottom = _WAVE
    middle, half = (top + bottom) / 2, (bottom - top) / 2
    x = _EDGE + np.arange(traced.high.size)
    outline = [f"{a:.0f},{middle - half * b:.1f}" for a, b in zip(x, traced.high, strict=True)]
    outline += [f"{a:.0f},{middle - half * b:.1f}" for a, b in zip(x[::-1], traced.low[::-1], strict=True)]
    out = [f'<polygon points="{" ".join(outline)}" opacity="0.55"/>', _axis(bottom, room)]
    for second in range(int(traced.seconds) + 1):
        at = _EDGE + second / traced.seconds * room
        if at < room - 20:
            out.append(f'<text x="{at:.0f}" y="{bottom + 19}">{second} s</text>')
    for number, share in enumerate(traced.plucks, start=1):
        at = _EDGE + share * room
        out.append(f'<g><title>pluck {number} at {share * traced.seconds:.2f} s</title>'
                   f'<path d="M{at:.1f} {top}V{bottom}" stroke="currentColor" stroke-width="2"/>'
                   f'<text x="{at:.1f}" y="{top - 8}" text-anchor="middle" font-weight="bold">{number}</text></g>')
    if not traced.plucks:
        out.append(f'<text x="{_EDGE + room / 2}" y="{top - 8}" text-anchor="middle">no pluck found</text>')
    return out


def _spectrum(traced: Traced, listened: Listened, right: Band | None, room: int) -> list[str]:
    top, bottom = _LINES
    out = []
    if listened.band is not None:
        out.append(_band(listened.band, "expected", top, bottom, 'opacity="0.08"', room))
    if right is not None:
        out.append(_band(right, "right", top, bottom, 'fill="#2e7d32" opacity="0.35"', room))
    points = " ".join(f"{_EDGE + at},{bottom - level * (bottom - top):.1f}" for at, level in enumerate(traced.level))
    out += [f'<polyline points="{points}" fill="none" stroke="currentColor" stroke-width="1.5"/>', _axis(bottom, room)]
    out += [f'<text x="{_EDGE + across(f) * room:.0f}" y="{bottom + 19}" '
            f'text-anchor="{"end" if f == HIGH else "middle"}">{f}{" Hz" if f == HIGH else ""}</text>' for f in TICKS]
    if right is not None:
        left, end = (_EDGE + across(f) * room for f in right)
        out.append(f'<text x="{(left + end) / 2:.0f}" y="{bottom + 42}" text-anchor="middle" font-weight="bold">right: '
                   f'{_short(right)}</text>')
    return out + _partials(traced, top, bottom, room)


def _partials(traced: Traced, top: int, bottom: int, room: int) -> list[str]:
    out, last = [], -99.0
    for number, note in traced.partials:
        x = _EDGE + across(note) * room
        named = number == 1 or x - last > 22
        words = f'<text x="{x:.1f}" y="{top - 8}" text-anchor="middle"' + (
            f' font-weight="bold">{show(note, "frequency", "si")}</text>' if number == 1 else f">{number}</text>")
        if named:
            last = x + (18 if number == 1 else 0)
        wide = 2 if number == 1 else 1
        out.append(f'<g><title>partial {number} at {show(note, "frequency", "si")}</title>'
                   f'<path d="M{x:.1f} {top}V{bottom}" stroke="currentColor" stroke-width="{wide}" '
                   f'stroke-dasharray="4 4"/>{words if named else ""}</g>')
    return out


def _band(band: Band, name: str, top: int, bottom: int, look: str, room: int) -> str:
    left, end = (_EDGE + across(f) * room for f in band)
    return (f'<g><title>{name}: {_short(band)}</title><rect x="{left:.1f}" y="{top}" '
            f'width="{max(end - left, _SMALLEST):.1f}" height="{bottom - top}" {look}/></g>')


def _short(band: Band) -> str:
    return f"{show(band[0], 'frequency', 'si')} to {show(band[1], 'frequency', 'si')}"


def _axis(y: int, room: int) -> str:
    return f'<path d="M{_EDGE} {y}H{_EDGE + room}" stroke="currentColor" fill="none"/>'
