"""Why a clip cannot be answered, told before or after listening, and what to do about it. Plain checks, no guessing."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

import numpy as np
from scipy.signal import butter, resample_poly, sosfilt

from beltwright.mechanics.sound.clean import SLOW, Clean, Floats
from beltwright.mechanics.sound.votes import Votes

Reason = Literal["too short", "too long", "low rate", "silent", "overloaded", "low tones cut", "no pluck",
                 "other sounds", "noise", "deep note", "unsure", "outside the band"]

SHORTEST, LONGEST = 0.7, 31.0   # s
SLOWEST: Final = 6000.0         # samples a second
_SILENT: Final = 1e-3           # of full scale
_AGAINST: Final = 5.0           # nats of discord; plucks of one belt that gave no answer stayed below 3.5
# nats from which an answer has to be the surer: 2 of 448 sure belts fell by it, and 2 of 3 bands playing (in 160)
DISCORD: Final = 8.0
SURER: Final = 0.95
_FLAT: Final = 0.10             # share of the loudest tenth of a second that may stand at the stop

ADVICE: Final[Mapping[Reason, str]] = MappingProxyType({
    "too short": "Record 3 to 10 s: a second of quiet, then three plucks a second apart.",
    "too long": "Record 30 s or less; three plucks are enough.",
    "low rate": "Record with the phone's own recorder, not over a telephone call: 16 kHz or more.",
    "silent": "Allow the microphone, uncover it, hold it 10 to 20 cm from the middle of the span and pluck again.",
    "overloaded": "Hold the phone further away, 20 to 40 cm, or pluck more gently.",
    "low tones cut": "Turn noise suppression and echo cancellation off, or use the phone's own recorder.",
    "no pluck": "Pluck the span at its middle with the thumb, three times a second apart, phone 10 to 20 cm away.",
    "other sounds": "Record again with nobody speaking, no radio near and nothing knocked: three plucks, phone 10 to "
                    "20 cm away.",
    "noise": "Hold the phone nearer, 10 cm from the span, pluck harder, or wait for the machines beside it to stop.",
    "deep note": "The note is very low: pluck near a quarter of the span, let each pluck ring out 2 s, five plucks.",
    "unsure": "Pluck again, three to five times a second apart, phone 10 cm from the middle of the span; or pluck the "
              "other span.",
    "outside the band": "Check that this is the drive, the belt and the span meant, and its span and belt mass; then "
                        "pluck again.",
})

SAYS: Final[Mapping[Reason, str]] = MappingProxyType({
    "too short": "the clip is too short",
    "too long": "the clip is too long",
    "low rate": "the clip is sampled too slowly to hold a belt's note",
    "silent": "there is next to no sound in the clip",
    "overloaded": "the recording is overloaded: its loud parts are cut off flat",
    "low tones cut": "the low tones are cut off, as a telephone line or noise suppression does",
    "no pluck": "no pluck was heard",
    "other sounds": "what is heard is not one belt plucked again and again: voices, music or knocks",
    "noise": "the plucks are hardly louder than the noise around",
    "deep note": "the note may lie too low to be told from this clip",
    "unsure": "the plucks do not settle on one note",
    "outside the band": "a clear note was heard, but not where this drive's should lie",
})


def beforehand(samples: Floats, rate: float) -> Reason | None:
    """What rules a clip out before it is listened to."""
    seconds = samples.size / rate
    if seconds < SHORTEST:
        return "too short"
    if seconds > LONGEST:
        return "too long"
    if rate < SLOWEST:
        return "low rate"
    size = np.abs(samples)
    top = float(size.max())
    if top < _SILENT:
        return "silent"
    if flat(samples, rate) > _FLAT:
        return "overloaded"
    if _cut(samples, rate):
        return "low tones cut"
    return None


def flat(samples: Floats, rate: float) -> float:
    """Share of the loudest tenth of a second that stands at the stop, in runs of three samples or more."""
    size = np.abs(samples)
    stop = size >= 0.995 * size.max()
    runs = stop[2:] & stop[1:-1] & stop[:-2]
    if not runs.any():
        return 0.0
    width = max(1, int(rate / 10))
    total = np.concatenate([[0], np.cumsum(runs)])
    return float((total[width:] - total[:-width]).max() / width) if runs.size > width else float(runs.mean())


def _cut(samples: Floats, rate: float) -> bool:
    """Whether nothing is left below 150 Hz while there is sound above: a telephone line."""
    low = sosfilt(butter(6, 150.0, "lowpass", fs=rate, output="sos"), samples)
    high = sosfilt(butter(2, (350.0, min(0.45 * rate, 1800.0)), "bandpass", fs=rate, output="sos"), samples)
    return float(np.mean(low**2)) < 6e-4 * float(np.mean(high**2))


def afterwards(samples: Floats, rate: float, clip: Clean, votes: Votes | None, deepest: float) -> Reason:
    """The likeliest reason why a clip that was listened to gives no answer."""
    if votes is None or not clip.plucks:
        return "no pluck"
    # a low pure tone spends a sixteenth of its time near its peak
    if flat(samples, rate) > 0.08:
        return "overloaded"
    if max(pluck.rise for pluck in clip.plucks) < 1.6:
        return "no pluck"
    if discord(votes) > _AGAINST or _busy(samples, rate):
        return "other sounds"
    if votes.loud.max() < 1.2:
        return "noise"
    if deepest < 12:
        return "deep note"
    return "unsure"


def discord(votes: Votes) -> float:
    """Nats that half of three onsets or more hold against the note that is best for all; 0 for fewer onsets."""
    top = int(np.argmax(votes.total))
    against = -votes.single[:, max(0, top - 2):top + 3].max(axis=1)
    return float(np.median(against)) if against.size >= 3 else 0.0


def _busy(samples: Floats, rate: float) -> bool:
    """Whether sound between 300 and 3000 Hz comes and goes and outweighs the low tones, as in voices and music."""
    fast = rate > SLOW * 4.5
    heard = resample_poly(samples, SLOW * 4, round(rate)) if fast else samples
    fs = SLOW * 4 if fast else rate
    low = sosfilt(butter(4, 200.0, "lowpass", fs=fs, output="sos"), heard)
    high = sosfilt(butter(4, (300.0, min(3000.0, 0.45 * fs)), "bandpass", fs=fs, output="sos"), heard)
    starts = np.arange(0, heard.size, int(fs / 20))
    loud, deep = np.add.reduceat(high**2, starts), np.add.reduceat(low**2, starts)
    present = loud > 0.05 * np.percentile(loud, 98)
    return bool(np.percentile(loud, 90) > 6 * np.percentile(loud, 15) and present.mean() > 0.3
                and (loud[present] > 1.5 * deep[present]).mean() > 0.6)
