"""A clip on the screen: its wave with the plucks found, its spectrum with the partials, the notes that are right.

Blocks where the screen can show them, plain letters elsewhere; never wider than the screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from beltwright.cli.screen import DRAWN, Signs
from beltwright.cli.table import Column, length, pad, table, wrapped
from beltwright.units import System, from_si, show

if TYPE_CHECKING:
    from beltwright.bench.plucked import Plucked
    from beltwright.desk.kept_clips import Clip, Judged
    from beltwright.desk.listen import Listened
    from beltwright.desk.phone_check import PhoneCheck
    from beltwright.paper.traced import Traced
    from beltwright.plant.reading import Reading

_EDGE = 2       # columns left free at both sides
_WAVE_ROWS, _SPECTRUM_ROWS = 4, 6
_BLOCKS, _LETTERS = " ▁▂▃▄▅▆▇█", " ......##"
# the sign for a verdict against the band: told apart without colour
_SIGN = {"in the band": "good", "slack": "falls short", "tight": "danger", "may be slack": "note",
         "may be tight": "note", "not judged": "not judged"}


def picture_lines(listened: Listened, right: tuple[float, float] | None, width: int, signs: Signs) -> list[str]:
    """The picture of a clip, in so many columns; none of a clip in which there is nothing to see."""
    from beltwright.paper.traced import NOT_READY, TICKS, across, trace

    if listened.heard.refused in NOT_READY:
        return []
    room = width - 2 * _EDGE
    traced = trace(listened, room)
    lines = ["Wave, and the plucks found", *_plucks(traced, room)]
    loud = [max(abs(float(high)), abs(float(low))) for high, low in zip(traced.high, traced.low, strict=True)]
    lines += _bars(loud, _WAVE_ROWS, signs)
    seconds = {round(second / traced.seconds * (room - 1)): f"{second} s" for second in range(int(traced.seconds) + 1)}
    lines += [signs.light * room, _marked(seconds, room), ""]
    lines += ["Spectrum, and the partials of the note", _partials(traced, room),
              *_bars([float(level) for level in traced.level], _SPECTRUM_ROWS, signs), signs.light * room,
              _marked({round(across(f) * (room - 1)): str(f) for f in TICKS[:-1]} | {room - 6: "400 Hz"}, room)]
    if right is not None:
        lines.append(_band(right, "right", "=", room))
    if listened.band is not None:
        lines.append(_band(listened.band, "expected", ".", room))
    return [f"{' ' * _EDGE}{line}".rstrip() for line in lines]


def _bars(levels: Sequence[float], rows: int, signs: Signs) -> list[str]:
    """Levels from 0 to 1 as bars, so many rows high."""
    steps = _BLOCKS if signs is DRAWN else _LETTERS
    filled = [round(level * rows * 8) for level in levels]
    return ["".join(steps[min(max(each - 8 * row, 0), 8)] for each in filled) for row in range(rows - 1, -1, -1)]


def _marked(marks: dict[int, str], room: int) -> str:
    """Words under an axis, each beginning or centred at its column, none over another."""
    line = [" "] * room
    end = -1
    for at, words in sorted(marks.items()):
        start = min(max(at - (len(words) // 2 if at else 0), 0), room - len(words))
        if start > end:
            line[start:start + len(words)] = list(words)
            end = start + len(words)
    return "".join(line)


def _plucks(traced: Traced, room: int) -> list[str]:
    if not traced.plucks:
        return ["(no pluck found)"]
    found = {round(share * (room - 1)): str(number) for number, share in enumerate(traced.plucks, start=1)}
    return [_marked(found, room)]


def _partials(traced: Traced, room: int) -> str:
    from beltwright.paper.traced import across

    marks: dict[int, str] = {}
    for number, note in traced.partials:
        marks.setdefault(round(across(note) * (room - 1)), str(number))
    return _marked(marks, room) if marks else "(no note found)"


def _band(band: tuple[float, float], name: str, fill: str, room: int) -> str:
    from beltwright.paper.traced import across

    left, right = (round(across(f) * (room - 1)) for f in band)
    words = f"{name}, {show(band[0], 'frequency', 'si')} to {show(band[1], 'frequency', 'si')}"
    bar = f"[{fill * max(right - left - 1, 0)}]"
    line = f"{' ' * left}{bar} {words}"
    return line if length(line) <= room else f"{pad('', max(left - len(words) - 1, 0))}{words} {bar}"[:room]


def heard_lines(listened: Listened, width: int, signs: Signs) -> list[str]:
    """What the ear says of a clip, and what else it heard."""
    from beltwright.desk.plucking import besides_words

    heard = listened.heard
    sure = "good" if listened.answered else "not judged"
    lines = wrapped(listened.sentence, width, first=f"{signs.marks.get(sure, ' ')} ")
    for words in besides_words(listened):
        lines += wrapped(words, width, first="  ")
    if heard.rivals and not listened.answered:
        words = ", ".join(f"{show(rival.frequency, 'frequency', 'si')} ({rival.share:.0%})" for rival in heard.rivals)
        lines += wrapped(f"It could also be {words}.", width, first="  ")
    return lines


def plucked_lines(meant: Plucked, system: System, width: int, signs: Signs) -> list[str]:
    """What the note means: the tension first, then what it rests on."""
    said = meant.statement().text(system)
    lines = wrapped(f"{said[:1].upper()}{said[1:]}.", width, first=f"{signs.marks[_SIGN[meant.verdict]]} ")
    for each in (*meant.compared(), *meant.beside()):
        text = each.text(system)
        lines += wrapped(f"{text[:1].upper()}{text[1:]}.", width, first="  ")
    return lines


def content(listened: Listened, meant: Plucked | None, tag: str = "", noted: str = "") -> dict[str, Any]:
    """The same for other programs."""
    from beltwright.paper.as_json import named

    heard = listened.heard
    found: dict[str, Any] = {
        "answered": listened.answered, "sentence": listened.sentence, "refused": heard.refused, "do": heard.advice,
        "frequency_hz": heard.frequency, "uncertainty_hz": heard.uncertainty, "confidence": round(heard.confidence, 4),
        "plucks": heard.plucks, "plucks_at_s": [round(onset, 3) for onset in heard.onsets],
        "stands_without_band": heard.stands, "expected_hz": None if listened.band is None else list(listened.band),
        "besides": [{"kind": line.kind, "frequency_hz": line.frequency} for line in heard.besides],
        "knocks_at_s": [round(at, 3) for at in heard.knocks],
        "rivals": [{"frequency_hz": rival.frequency, "share": rival.share} for rival in heard.rivals],
        "seconds": round(listened.sound.seconds, 3), "method": heard.method}
    if meant is not None:
        found |= {"tag": tag, "belt": meant.reading.values["belt"], "verdict": meant.verdict,
                  "statement": meant.statement().text("si"), "compared": [each.text("si") for each in meant.compared()],
                  "beside": [each.text("si") for each in meant.beside()]}
        if meant.tension is not None:
            found |= named("tension", meant.tension, "force") | named("tension_uncertainty", 2 * meant.spread, "force")
            found["parts"] = {words: from_si(2 * part, "N", "force") for words, part in meant.parts}
        if meant.band is not None:
            found |= named("low", meant.band[0], "force") | named("high", meant.band[1], "force")
        if meant.chances is not None:
            found["inside"] = round(meant.chances.inside, 4)
    return found | ({"noted": noted} if noted else {})


def clips_lines(some: Sequence[Clip], width: int, signs: Signs) -> list[str]:
    """The clips of a plant as a table."""
    from beltwright.cli.reading_text import local, mark

    if not some:
        return ["There is no clip in this book."]
    rows = []
    for clip in some:
        reading = clip.reading
        about = ("", "", "", "") if reading is None else (str(reading.values.get("belt", "")), local(reading.taken_at),
                                                          _value(reading), mark(reading))
        where = clip.deleted or ("of no reading" if reading is None else "in the book" if clip.here else
                                 "not in the book")
        rows.append((clip.tag, *about[:3], where, clip.name[:12], about[3]))
    return table((Column("drive"), Column("belt", "number"), Column("taken"), Column("noted as", "number"),
                  Column("clip", least=12), Column("name"), Column("reading")), rows, width=width, signs=signs)


def judged_lines(some: Sequence[Judged], width: int, signs: Signs) -> list[str]:
    """Clips judged again: what would change, and how many would not."""
    from beltwright.cli.reading_text import mark

    changed = [each for each in some if each.became != "the same"]
    lines = [f"Judged again: {len(some)}. The same as before: {len(some) - len(changed)}."]
    if changed:
        rows = [(each.clip.tag, str(each.reading.values.get("belt", "")), _value(each.reading),
                 f"{each.became}: {each.words}", mark(each.reading)) for each in changed]
        lines += ["", *table((Column("drive"), Column("belt", "number"), Column("noted as", "number"),
                              Column("its clip says now", least=24), Column("reading")), rows, width=width,
                             signs=signs)]
    return lines


def _value(reading: Reading) -> str:
    note = reading.values.get("frequency")
    return "" if note is None else show(float(note), "frequency", "si")


def check_lines(names: Sequence[str], check: PhoneCheck, width: int, signs: Signs) -> list[str]:
    """A check of a phone, clip by clip, and the verdict."""
    rows = []
    for name, heard, note in zip(names, check.heard, check.expected, strict=True):
        found = heard.heard.frequency if heard.answered else None
        off = "" if found is None else f"{100 * (found / note - 1):+.1f} %"
        rows.append((name, show(note, "frequency", "si"), "not sure" if found is None else show(
            found, "frequency", "si"), off))
    lines = table((Column("clip", least=12), Column("should be", "number"), Column("heard", "number"),
                   Column("off by", "number")), rows, width=width, signs=signs)
    sign = signs.marks["good" if check.passed else "falls short"]
    return [*lines, "", *wrapped(check.sentence, width, first=f"{sign} ")]
