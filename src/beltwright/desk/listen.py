"""Listen: a clip of a plucked span in, its note out, with how far to trust it; or why not, and what to do.

Brings together the reader of clips and the ear of `mechanics.sound`, both loaded when first needed. What the note means
as a tension is worked out elsewhere; here only the band of notes to expect is derived from what is known of the drive.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from beltwright.desk.clips import Sound, decode

if TYPE_CHECKING:
    from beltwright.mechanics.sound import Heard

_PORTION: Final = 8     # clips handed to a process at a time
WIDER: Final = 1.4      # how far a drive may be off its set tension, as a factor on the note, before it is odd


@dataclass(frozen=True)
class Listened:
    """A clip and what was heard in it."""

    sound: Sound
    heard: Heard
    band: tuple[float, float] | None    # [Hz]

    @property
    def answered(self) -> bool:
        """Whether the note may be used."""
        return self.heard.refused is None

    @property
    def sentence(self) -> str:
        """The outcome in one or two sentences a mechanic can act on."""
        from beltwright.units import show
        heard = self.heard
        if heard.refused is None and heard.frequency is not None and heard.uncertainty is not None:
            # a note is read to a tenth and its doubt is never shown as nothing
            doubt = show(max(2 * heard.uncertainty, 0.1), "frequency", "si")
            return (f"{show(heard.frequency, 'frequency', 'si')}, give or take {doubt}, from "
                    f"{_plucks(heard.plucks)}; {min(heard.confidence, 0.99):.0%} sure.")
        said = heard.why[:1].upper() + heard.why[1:]
        if heard.refused == "outside the band" and heard.frequency is not None and self.band is not None:
            from beltwright.units import show_band
            said += (f" (heard {show(heard.frequency, 'frequency', 'si')}, expected "
                     f"{show_band(*self.band, 'frequency', 'si')})")
        return f"Not sure: {said}. {heard.advice}"


def _plucks(count: int) -> str:
    return "1 pluck" if count == 1 else f"{count} plucks"


def expected_band(span: float, mass: tuple[float, float], tension: tuple[float, float]) -> tuple[float, float]:
    """The band of notes [Hz] to expect of a span [m] with a belt of some mass [kg/m] set to some tension [N].

    Wide on purpose, by `WIDER` to both sides: it helps to tell one reading from another, it does not judge the tension.

    >>> low, high = expected_band(0.5, (0.17, 0.19), (150.0, 300.0))
    >>> round(low, 1), round(high, 1)
    (20.1, 58.8)
    """
    from beltwright.mechanics.frequency import frequency_from_tension
    low = frequency_from_tension(tension[0], span, mass[1])
    high = frequency_from_tension(tension[1], span, mass[0])
    return float(low) / WIDER, float(high) * WIDER


def listen(clip: bytes | Path, *, span: float | None = None, mass: tuple[float, float] | None = None,
           tension: tuple[float, float] | None = None, rigidity: float | None = None,
           band: tuple[float, float] | None = None) -> Listened:
    """What a clip says about the note of a plucked span.

    clip:     the recording, as bytes or as a file
    span:     free length of the span [m], where known
    mass:     least and greatest mass per length of what swings: one strand, or a whole joined band [kg/m]
    tension:  least and greatest static tension it should have [N]; with span and mass it gives the band
    rigidity: bending stiffness of one strand by its section [N m2], where known: helps to tell octaves apart
    band:     least and greatest note expected [Hz], instead of one worked out
    errors:   `InputError` for a clip that cannot be read; a clip that can, but says nothing, is no error
    """
    import math

    from beltwright.mechanics.sound import hear
    sound = decode(clip)
    if band is None and span is not None and mass is not None and tension is not None:
        band = expected_band(span, mass, tension)
    stiffening = None
    if rigidity is not None and span is not None and mass is not None:
        # pi^2 EI / (4 m t^4): what stiffness adds to the square of the note
        stiffening = math.pi**2 * rigidity / (4 * math.sqrt(mass[0] * mass[1]) * span**4)
    return Listened(sound, hear(sound.samples, sound.rate, band, stiffening), band)


def rejudge(clips: Iterable[bytes | Path], *, bands: Iterable[tuple[float, float] | None] | None = None,
            workers: int = 1) -> list[Listened | str]:
    """Listen to many clips again, over several processes; a clip that cannot be read gives its reason instead.

    What comes back holds what was heard and no samples: a thousand clips would not fit in memory.

    clips: recordings, as bytes or files; bands: the band of each, or none; workers: processes to use
    """
    work = list(clips)
    expected = [None] * len(work) if bands is None else list(bands)
    if workers <= 1 or len(work) < 2:
        return [_again(pair) for pair in zip(work, expected, strict=True)]
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_one_thread) as pool:
        # few at a time, so that no process is left waiting for another's long last portion
        portion = max(1, min(_PORTION, len(work) // (4 * workers)))
        return list(pool.map(_again, zip(work, expected, strict=True), chunksize=portion))


def _one_thread() -> None:
    """Keep a worker to one core, before its numeric libraries are loaded."""
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"


def _again(pair: tuple[bytes | Path, tuple[float, float] | None]) -> Listened | str:
    from beltwright.errors import InputError
    try:
        listened = listen(pair[0], band=pair[1])
    except InputError as problem:
        return str(problem)
    return replace(listened, sound=replace(listened.sound, samples=listened.sound.samples[:0].copy()))
