"""Check a phone: clips of a span under a known tension against the notes they should hold, and a plain verdict.

The method of listening is proven on made sounds only. A plant that wants to rely on a phone hangs a known weight on a
piece of belt, or sets a drive by a force gauge, records it, and lets this judge: docs/method/sound.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Final

from beltwright.desk.listen import Listened, listen
from beltwright.errors import InputError

LEAST: Final = 5            # clips that a verdict needs
CLOSE: Final = 0.02         # share of the note the method promises
_ANSWERED: Final = 0.6


@dataclass(frozen=True)
class Known:
    """A clip and the tension [N] its span was under."""

    clip: bytes | Path
    tension: float


@dataclass(frozen=True)
class PhoneCheck:
    """What came of a check: every clip with the note it should hold [Hz], and the verdict."""

    heard: tuple[Listened, ...]
    expected: tuple[float, ...]
    doubt: float            # standard uncertainty of the expected notes, as a share
    bias: float | None      # median of heard over expected, less one
    worst: float | None
    passed: bool
    sentence: str


def check_phone(known: Sequence[Known], *, span: float, mass: float, span_doubt: float, mass_doubt: float,
                tension_doubt: float, rigidity: float = 0.0) -> PhoneCheck:
    """Judge a phone by clips of a span under known tension.

    known:         the clips with their tension [N]: a hung weight times the local fall, or a force gauge
    span:          length that swings [m]; span_doubt: its standard uncertainty [m]
    mass:          mass per length [kg/m]; mass_doubt: its standard uncertainty [kg/m]
    tension_doubt: standard uncertainty of the tension, as a share
    rigidity:      bending stiffness of the belt [N m2], where known
    errors:        `InputError` for too few clips, or one that cannot be read
    """
    from beltwright.mechanics.frequency import frequency_from_tension
    if len(known) < LEAST:
        raise InputError(f"{len(known)} clips are too few to judge a phone: record {LEAST} or more")
    heard = tuple(listen(one.clip) for one in known)
    expected = tuple(float(frequency_from_tension(one.tension, span, mass, rigidity)) for one in known)
    # f = sqrt(T / m) / (2 t): halves of the shares of tension and mass, the whole share of the span
    doubt = math.hypot(tension_doubt / 2, mass_doubt / mass / 2, span_doubt / span)
    ratios = [listened.heard.frequency / note - 1 for listened, note in zip(heard, expected, strict=True)
              if listened.answered and listened.heard.frequency is not None]
    bias = median(ratios) if ratios else None
    worst = max(ratios, key=abs) if ratios else None
    passed, sentence = _verdict(len(known), ratios, doubt, bias, worst)
    return PhoneCheck(heard, expected, doubt, bias, worst, passed, sentence)


def _verdict(count: int, ratios: list[float], doubt: float, bias: float | None,
             worst: float | None) -> tuple[bool, str]:
    answered = len(ratios)
    if bias is None or worst is None or answered < _ANSWERED * count:
        return False, (f"Not proven: only {answered} of {count} clips gave a note. Hold the phone nearer, switch its "
                       "noise suppression off, and record again.")
    limit = CLOSE + 2 * doubt
    if abs(worst) > limit:
        return False, (f"Not passed: one clip is off by {worst:+.1%} where {limit:.1%} is allowed; the middle of all "
                       f"is {bias:+.1%}. Check span, mass and tension; if they hold, do not rely on this phone.")
    return True, (f"Passed: {answered} of {count} clips gave a note, all within {abs(worst):.1%} of what they should "
                  f"be ({limit:.1%} allowed); the middle is {bias:+.1%}.")
