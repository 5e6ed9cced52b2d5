"""Listening at a drive: a clip of one belt in, its tension against the band out, kept as a reading with its clip.

What the drive's record leads to expect helps the ear and never judges it. A clip that is not understood is no reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final
from uuid import UUID

from beltwright.bench.findings.strands import STRETCH
from beltwright.bench.findings.targets import Targets, targets_for
from beltwright.bench.plucked import Plucked, plucked
from beltwright.desk import record
from beltwright.desk.face import Book
from beltwright.desk.judge import record_of
from beltwright.desk.listen import Listened, listen
from beltwright.errors import InputError, Refused
from beltwright.mechanics.uncertainty import instrument_uncertainty
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.reading import Reading, State, Value
from beltwright.units import show

FILES: Final = "files"          # under which a reading names its photos and clips
CLIP_ENDS: Final = ("wav", "flac", "ogg", "webm", "m4a", "mp3", "caf")
_TOLD: Final = 3            # steady tones named one by one
# read by the scale unless it was said otherwise
_BELT: Final = "weighed belt"


@dataclass(frozen=True, slots=True)
class BeltHeard:
    """A clip of one belt of a drive: what was heard, and what it means; nothing where the ear is not sure."""

    make_up: MakeUp
    belt: int
    state: State
    at: datetime
    span: float | None
    listened: Listened
    plucked: Plucked | None

    @property
    def answered(self) -> bool:
        """Whether it is good for a reading."""
        return self.plucked is not None


def hear_belt(book: Book, tag: str, clip: bytes | Path, *, belt: int | None = None, state: str = "as found",
              at: datetime, span: float | None = None, mass: float | None = None) -> BeltHeard:
    """What a clip says of one belt of a drive. Notes nothing.

    belt:   counted from the motor side, 0 for a joined band; may be left out where there is only one or a band
    span:   measured, instead of the drive's own [m]; mass: weighed, instead of the drive's own [kg/m]
    errors: `InputError` for a belt the drive has not, and for a clip that cannot be read; `Unknown`
    """
    with book.looking():
        make_up = book.drive_by_tag(tag)
        known = record_of(book, tag)
    number, stated = belt_of(make_up, belt), record.state_named(state)
    weighed = None if mass is None else (mass, float(instrument_uncertainty(_BELT, mass)))
    listened = listen(clip, band=expected(targets_for(make_up.drive), span=span, mass=weighed))
    meant = None
    if listened.answered:
        values: dict[str, Value] = {"belt": number, **_heard_values(listened), **({} if span is None else {
            "span": span})}
        reading = Reading(new_id(), make_up.drive_id, "frequency", stated, values, {}, at, "", extra=heard_extra(
            listened))
        meant = plucked(known, reading, mass=weighed)
    return BeltHeard(make_up, number, stated, at, span, listened, meant)


def belt_of(make_up: MakeUp, belt: int | None) -> int:
    """Which belt is meant; `InputError` where that cannot be told, or there is no such belt."""
    belts = make_up.drive.belts
    if belts.joined:
        if belt not in (None, 0):
            raise InputError(f"{make_up.drive.tag} has a joined band: it is plucked as one, across its whole width")
        return 0
    if belt is None or belt == 0:
        if belts.count == 1:
            return 1
        raise InputError(f"say which belt was plucked, counted from the motor side: {make_up.drive.tag} has "
                         f"{belts.count or 'several'}")
    if belt < 0 or belt > (belts.count or 40):
        raise InputError(f"there is no belt {belt}: {make_up.drive.tag} has {belts.count or 'at most 40'}")
    return belt


def expected(targets: Targets, *, span: float | None = None,
             mass: tuple[float, float] | None = None) -> tuple[float, float] | None:
    """The band of notes to expect of a drive [Hz], wide on purpose; none where too little is known of it."""
    from beltwright.desk.listen import expected_band

    free, wants = span or targets.span, targets.set_to
    weight, doubt = mass or (targets.mass, targets.mass_spread)
    if free is None or weight is None or wants is None:
        return None
    return expected_band(free, (max(weight - 2 * doubt, 0.5 * weight), weight + 2 * doubt),
                         (wants.run_in[0], wants.new[1]))


def keep(book: Book, heard: BeltHeard, clip: str, *, by: str, words: str = "", job_id: UUID | None = None,
         reading_id: UUID | None = None, extra: Mapping[str, str] | None = None) -> Reading:
    """Note what was heard as a reading with its clip; the clip is in the book already, under that name.

    errors: `Refused` where the ear was not sure; as `record.note`
    """
    if heard.plucked is None:
        raise Refused(heard.listened.sentence)
    typed = {"belt": str(heard.belt), **heard_typed(heard.listened),
             **({} if heard.span is None else {"span": f"{heard.span!r} m"})}
    return record.note(book, heard.make_up.drive.tag, "frequency", typed, state=heard.state, by=by, at=heard.at,
                       job_id=job_id, words=words, reading_id=reading_id,
                       extra={**(extra or {}), FILES: clip, **heard_extra(heard.listened)})


def heard_typed(listened: Listened) -> dict[str, str]:
    """The values of a heard note as they are noted."""
    return {name: f"{value!r} Hz" for name, value in _heard_values(listened).items()}


def heard_extra(listened: Listened) -> dict[str, str]:
    """What is kept with a heard note besides its values: by which method, how sure, of how many plucks, how stiff."""
    heard = listened.heard
    return {"heard by": heard.method, "confidence": f"{heard.confidence:.3f}", "plucks": str(heard.plucks),
            **({} if heard.stiffness is None else {STRETCH: f"{heard.stiffness:.5f}"})}


def _heard_values(listened: Listened) -> dict[str, float]:
    heard = listened.heard
    assert heard.frequency is not None
    assert heard.uncertainty is not None
    return {"frequency": round(heard.frequency, 3), "uncertainty": round(max(heard.uncertainty, 0.001), 3)}


def clips_of(reading: Reading) -> list[str]:
    """The names of the clips a reading has."""
    return [name for name in reading.extra.get(FILES, "").split() if name.rpartition(".")[2] in CLIP_ENDS]


def besides_words(listened: Listened) -> tuple[str, ...]:
    """What else was heard in a clip, in sentences: hum and steady tones taken out, knocks that are no plucks."""
    heard = listened.heard
    tones = list(dict.fromkeys(f"{line.kind} at {note_words(line.frequency)}" for line in heard.besides))
    more = f" and {len(tones) - _TOLD} more" if len(tones) > _TOLD else ""
    knocks = ", ".join(f"{at:.1f} s" for at in heard.knocks)
    return (*((f"Heard besides, and taken out: {', '.join(tones[:_TOLD])}{more}.",) if tones else ()),
            *((f"Something was struck at {knocks}: not counted as a pluck.",) if knocks else ()))


def note_words(frequency: float) -> str:
    """A note as it is shown.

    >>> note_words(25.312)
    '25.3 Hz'
    """
    return show(frequency, "frequency", "si")
