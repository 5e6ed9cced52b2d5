"""The picture of a clip: its wave with the plucks found, its spectrum with the partials, and the band expected.

Plain SVG, no script and nothing fetched; every mark also stands as words in the title of its element.
"""

from __future__ import annotations

from html import escape
from typing import Final

import numpy as np
import numpy.typing as npt

from beltwright.desk.listen import Listened
from beltwright.mechanics.sound import ratios, seen
from beltwright.mechanics.sound.clean import SLOW
from beltwright.units import show

WIDTH, HEIGHT = 720, 400
_LEFT, _RIGHT = 50, 26
_WAVE: Final = (50, 170)        # top and bottom of the wave
_LINES: Final = (220, 350)      # top and bottom of the spectrum
_LOW, _HIGH = 5.0, 400.0        # Hz shown

_STYLE: Final = ("text{font:13px sans-serif;fill:#222}.small{font-size:11px}.wave{fill:#7a8fa6}"
                 ".axis{stroke:#555;fill:none}.pluck{stroke:#b3411e;stroke-width:1.5}.line{stroke:#24486b;fill:none}.band{fill:#d9e8d0}"
                 ".partial{stroke:#b3411e;stroke-dasharray:3 3}")


def picture(listened: Listened) -> str:
    """The clip and what was heard in it, as an SVG document.

    listened: what `desk.listen.listen` made of the clip
    """
    times, wave, clean = seen(listened.sound.samples, listened.sound.rate)
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img">',
             f"<title>{escape(listened.sentence)}</title>", f"<style>{_STYLE}</style>",
             f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>', *_words(listened.sentence),
             *_wave(times, wave, listened.heard.onsets),
             *_spectrum([pluck.ring for pluck in clean.plucks] or [clean.wave], listened), "</svg>"]
    return "\n".join(parts)


def _words(sentence: str) -> list[str]:
    lines, line = [], ""
    for word in sentence.split():
        if len(line) + len(word) > 95:
            lines.append(line)
            line = ""
        line = f"{line} {word}".strip()
    lines.append(line)
    return [f'<text x="{_LEFT}" y="{18 + 15 * i}">{escape(text)}</text>' for i, text in enumerate(lines[:2])]


def _wave(times: npt.NDArray[np.floating], wave: npt.NDArray[np.floating], onsets: tuple[float, ...]) -> list[str]:
    top, bottom = _WAVE
    middle, half = (top + bottom) / 2, (bottom - top) / 2
    room = WIDTH - _LEFT - _RIGHT
    whole = float(times[-1]) or 1.0
    edges = np.linspace(0, wave.size, min(room, wave.size) + 1).astype(int)[:-1]
    high, low = np.maximum.reduceat(wave, edges), np.minimum.reduceat(wave, edges)
    scale = half / (float(np.abs(wave).max()) or 1.0)
    x = _LEFT + np.arange(edges.size) * room / edges.size
    outline = [f"{a:.1f},{middle - scale * b:.1f}" for a, b in zip(x, high, strict=True)]
    outline += [f"{a:.1f},{middle - scale * b:.1f}" for a, b in zip(x[::-1], low[::-1], strict=True)]
    out = [f'<polygon class="wave" points="{" ".join(outline)}"/>',
           f'<path class="axis" d="M{_LEFT} {bottom}H{WIDTH - _RIGHT}"/>']
    for second in range(int(whole) + 1):
        at = _LEFT + second / whole * room
        out.append(f'<text class="small" x="{at:.0f}" y="{bottom + 14}" text-anchor="middle">{second} s</text>')
    for number, onset in enumerate(onsets, start=1):
        at = _LEFT + onset / whole * room
        out.append(f'<g><title>pluck {number} at {onset:.2f} s</title>'
                   f'<path class="pluck" d="M{at:.1f} {top}V{bottom}"/></g>')
    return out


def _spectrum(rings: list[npt.NDArray[np.floating]], listened: Listened) -> list[str]:
    top, bottom = _LINES
    # the plucks one by one: taken together they would beat against each other
    power = [np.abs(np.fft.rfft(ring * np.linspace(1, 0, ring.size), 1 << 15)) ** 2 for ring in rings]
    spectrum = np.sqrt(np.mean(power, axis=0))
    hertz = np.arange(spectrum.size) * SLOW / (1 << 15)
    wanted = (hertz >= _LOW) & (hertz <= _HIGH)
    level = 20 * np.log10(spectrum[wanted] + 1e-3 * spectrum[wanted].max() + 1e-30)
    level = np.clip((level - level.max()) / 45 + 1, 0, 1)
    at = _across(hertz[wanted])
    columns = np.round(at).astype(int)
    edges = np.flatnonzero(np.diff(columns, prepend=-1))
    points = " ".join(f"{x},{bottom - v * (bottom - top):.1f}"
                      for x, v in zip(columns[edges], np.maximum.reduceat(level, edges), strict=True))
    out = []
    if listened.band is not None:
        left, right = (float(_across(np.clip(f, _LOW, _HIGH))) for f in listened.band)
        words = f"expected: {show(listened.band[0], 'frequency', 'si')} to {show(listened.band[1], 'frequency', 'si')}"
        out.append(f'<g><title>{words}</title><rect class="band" x="{left:.1f}" y="{top}" width="{right - left:.1f}" '
                   f'height="{bottom - top}"/></g>')
    out += [f'<polyline class="line" points="{points}"/>',
            f'<path class="axis" d="M{_LEFT} {bottom}H{WIDTH - _RIGHT}"/>']
    out += [f'<text class="small" x="{float(_across(f)):.0f}" y="{bottom + 14}" text-anchor="middle">{f} Hz</text>'
            for f in (10, 20, 50, 100, 200, 400)]
    return out + _partials(listened, top, bottom)


def _partials(listened: Listened, top: int, bottom: int) -> list[str]:
    heard = listened.heard
    if heard.frequency is None or heard.stiffness is None:
        return []
    out = []
    for n, ratio in enumerate(ratios(np.asarray(heard.stiffness)), start=1):
        f = heard.frequency * float(ratio)
        if not _LOW <= f <= _HIGH:
            break
        x = float(_across(f))
        out.append(f'<g><title>partial {n} at {show(f, "frequency", "si")}</title>'
                   f'<path class="partial" d="M{x:.1f} {top}V{bottom}"/>'
                   + (f'<text class="small" x="{x:.1f}" y="{top - 4}" text-anchor="middle">{n}</text></g>'
                      if n <= 6 else "</g>"))
    return out


def _across(hertz: npt.NDArray[np.floating] | float) -> npt.NDArray[np.floating]:
    share = np.log(np.asarray(hertz) / _LOW) / np.log(_HIGH / _LOW)
    return np.asarray(_LEFT + share * (WIDTH - _LEFT - _RIGHT))
