"""A clip in, a judged frequency out: the one call the rest of Beltwright makes into this package."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from beltwright.mechanics.sound import comb, judge, refusal, votes
from beltwright.mechanics.sound.clean import SLOW, Clean, Floats, Line, clean
from beltwright.mechanics.sound.refine import Fitted, refine

METHOD: Final = "sound 2"       # changes whenever the same clip may be judged differently
_SAME: Final = 0.03
_MERGED: Final = 0.012          # two fits this close are one reading
_CLOSE: Final = 4               # candidates fitted closely
_DOUBTED: Final = 0.79          # as sure as what gives no answer can be
# a loud onset of which the string explains less than this is a knock: met by none of 648 plucks of the tuning set, and
# by a third of the knocks and clangs
_KNOCK: Final = 0.3
_LOUD: Final = 1.0              # log of the energy over the floor


@dataclass(frozen=True, slots=True)
class Rival:
    """Another reading the clip allows, and its share of the probability."""

    frequency: float
    share: float


@dataclass(frozen=True)
class Heard:
    """What a clip says about the first note of a span."""

    frequency: float | None             # first mode [Hz]; None where nothing could be read at all
    uncertainty: float | None           # standard uncertainty [Hz]
    confidence: float                   # probability that the frequency is right within 2 percent
    plucks: int                         # how many were heard; knocks do not count
    besides: tuple[Line, ...]           # hum and steady tones heard and taken out
    rivals: tuple[Rival, ...]
    refused: refusal.Reason | None      # why the frequency must not be used; None where it may
    advice: str                         # what to do, one or two sentences; empty where nothing need be done
    stiffness: float | None = None      # B of the string that fits
    stands: bool = True                 # the same reading without the expected band
    onsets: tuple[float, ...] = ()      # [s] where plucks were found
    knocks: tuple[float, ...] = ()      # [s] where something else was struck, told only beside a sure reading
    method: str = METHOD

    @property
    def why(self) -> str:
        """The reason for a refusal, in words; empty where there is none."""
        return refusal.SAYS[self.refused] if self.refused else ""


def hear(samples: Floats, rate: float, band: tuple[float, float] | None = None,
         stiffening: float | None = None) -> Heard:
    """The first note of a plucked span, how far it can be trusted, and what else was heard.

    The damped stiff string, periodicity and the spectrum each vote; a judge calibrated on made clips weighs them. A
    band helps to choose between readings, but a reading that does not stand without it is never trusted.

    samples: one channel of the clip, -1 to 1 [-], array
    rate: samples a second [Hz]
    band: least and greatest frequency expected [Hz], or none
    stiffening: pi^2 EI / (4 m t^4) of the span: what stiffness adds to f1^2 [Hz2], or none where it is not known
    returns: the reading with its uncertainty [Hz] and confidence; a refusal says why and what to do

    Calibrated on made sounds only: no real belt is in the data. 6 to 130 Hz.
    Source: practice

    >>> hear(np.zeros(16000), 16000.0).refused
    'silent'
    """
    heard = attend(np.asarray(samples, float), rate, band, stiffening)
    return decide(heard, band) if isinstance(heard, Attended) else heard


@dataclass(frozen=True)
class Attended:
    """A clip listened to and not yet decided on."""

    samples: Floats
    rate: float
    clean: Clean
    votes: votes.Votes
    fits: tuple[Fitted, ...]    # the few readings fitted closely, apart from one another
    rows: Floats                # what the second judge looks at
    whole: Floats
    plain: Floats               # probability of each, and last of none, without a band


def attend(samples: Floats, rate: float, band: tuple[float, float] | None = None,
           stiffening: float | None = None) -> Attended | Heard:
    """Listen; a refusal where the clip cannot be listened to. A band only adds readings to look at closely."""
    early = refusal.beforehand(samples, rate)
    if early is not None:
        return Heard(None, None, 0.0, 0, (), (), early, refusal.ADVICE[early])
    # from here on loudness says nothing: one size for all, so that it does not even show in rounding
    ready = clean(samples / np.max(np.abs(samples)), rate)
    if not ready.plucks:
        return Heard(None, None, 0.0, 0, ready.lines, (), "no pluck", refusal.ADVICE["no pluck"])
    said = votes.take(ready, None if stiffening is None else _section(stiffening))
    found = votes.candidates(said)
    rows, whole = votes.features(said, ready, found)
    share = judge.shares(rows, whole, 0)
    fits, places = _closely(said, found, share, band)
    close, outline = _second(fits, places, share, whole)
    return Attended(samples, rate, ready, said, tuple(fits), close, outline, judge.shares(close, outline, 1))


def _closely(said: votes.Votes, found: list[int], share: Floats,
             band: tuple[float, float] | None) -> tuple[list[Fitted], list[list[int]]]:
    """Fit the likeliest candidates; those that run to the same note become one, the best fit standing for it."""
    order = [int(i) for i in np.argsort(-share[:-1])]
    wanted = [i for i in order[:_CLOSE] if share[i] > 0.004] or order[:1]
    if band is not None:
        inside = [i for i in order if band[0] <= comb.FIRST[found[i]] <= band[1]]
        wanted += [i for i in inside[:1] if i not in wanted]
    fits: list[Fitted] = []
    places: list[list[int]] = []
    for i in wanted:
        k = found[i]
        start = float(comb.FIRST[k])
        fit = refine(said.banks, start, float(comb.STIFF[int(said.stiff[k])]),
                     float(comb.QUALITY[int(said.quality[k])]))
        if abs(fit.frequency / start - 1) > 2 * _SAME:
            fit = replace(fit, frequency=start, spread=0.02 * start, evidence=0.0)
        same = [n for n, other in enumerate(fits) if abs(fit.frequency / other.frequency - 1) < _MERGED]
        if same:
            places[same[0]].append(i)
            if fit.evidence > fits[same[0]].evidence:
                fits[same[0]] = fit
        else:
            fits.append(fit)
            places.append([i])
    return fits, places


def _second(fits: list[Fitted], places: list[list[int]], share: Floats,
            whole: Floats) -> tuple[Floats, Floats]:
    """What the second judge looks at: each close fit beside the others, and the clip."""
    mass = np.array([share[own].sum() for own in places])
    evidence = np.array([fit.evidence for fit in fits])
    note = np.log([fit.frequency for fit in fits])
    rows = []
    for i, fit in enumerate(fits):
        others = np.delete(evidence, i)
        near = np.delete(np.abs(note - note[i]), i) < 0.1
        over = fit.evidence - (others.max() if others.size else 0.0)
        over_near = fit.evidence - others[near].max() if near.any() else 300.0
        rows.append([np.log(mass[i] + 1e-5), mass[i], _soft(over), _soft(over_near), float(near.any()),
                     _soft(fit.evidence - evidence.max()), fit.share, np.log(fit.frequency / 30),
                     np.sqrt(fit.stiffness) * 5, np.log(fit.quality / 20), fit.fall,
                     np.log(fit.scatter + 1e-3),
                     note[i] - note[int(np.argmax(mass))], note[i] - note[int(np.argmax(evidence))],
                     float(len(places[i]))])
    best = int(np.argmax(mass))
    outline = np.array([np.log(share[-1] + 1e-5), np.log(mass.max()), fits[best].share, max(fit.share for fit in fits),
                        np.log(fits[best].scatter + 1e-3), np.log(fits[best].frequency / 30), *whole[:10]])
    return np.array(rows), outline


def _soft(nats: float) -> float:
    return float(np.sign(nats) * np.log1p(abs(nats) / 5))


def decide(heard: Attended, band: tuple[float, float] | None) -> Heard:
    """The reading of a clip listened to, by what is expected of it."""
    plain, note = heard.plain, np.array([fit.frequency for fit in heard.fits])
    alone = int(np.argmax(plain[:-1]))
    # where each onset has a note of its own it is music, or a round of knocks: the common note has to be the surer
    needed = refusal.SURER if refusal.discord(heard.votes) > refusal.DISCORD else judge.SURE
    outside = band is not None and not band[0] <= note[alone] <= band[1] and (
        judge.confidence(float(plain[alone]), "none") >= needed)
    weighed = plain
    if band is not None and not outside:
        weighed = judge.within(plain, (note >= band[0]) & (note <= band[1]))
    best = int(np.argmax(weighed[:-1]))
    fitted = heard.fits[best]
    stands = best == alone
    trust = judge.confidence(float(weighed[best]), "none" if band is None or outside else "band")
    if not stands:
        # the band chose what the sound alone does not say: never sure
        trust = min(trust, float(plain[best]), 0.5)
    if trust < needed:
        trust = min(trust, _DOUBTED)
    reason: refusal.Reason | None = None
    if outside:
        reason = "outside the band"
    elif trust < judge.SURE:
        reason = refusal.afterwards(heard.samples, heard.rate, heard.clean, heard.votes, fitted.frequency)
    others = sorted((Rival(float(f), float(p)) for i, (f, p) in enumerate(zip(note, weighed[:-1], strict=True))
                     if i != best and p > 0.02), key=lambda r: -r.share)
    knocks = _knocks(heard, fitted) if trust >= judge.SURE else ()
    plucks = tuple(pluck.start for pluck in heard.clean.plucks if pluck.start not in knocks)
    return Heard(fitted.frequency, fitted.spread, trust, len(plucks), heard.clean.lines, tuple(others),
                 reason, refusal.ADVICE[reason] if reason else "", fitted.stiffness, stands, plucks, knocks)


def _knocks(heard: Attended, fitted: Fitted) -> tuple[float, ...]:
    """Where something was struck that is not the string: loud onsets it explains little of."""
    return tuple(pluck.start for pluck, share, loud in zip(heard.clean.plucks, fitted.shares, heard.votes.loud,
                                                           strict=True) if share < _KNOCK and loud > _LOUD)


def _section(stiffening: float) -> Floats:
    """What the section says of B at every first mode, in nats: B / (1 + B) = S / f1^2, good to a factor of two."""
    expected = stiffening / comb.FIRST**2
    expected = np.log(np.maximum(expected / np.maximum(1 - expected, 1e-3), 2e-4))
    off = (np.log(np.maximum(comb.STIFF, 2e-4))[None, :] - expected[:, None]) / 0.7
    return np.maximum(-0.5 * off**2, -4.0)


def seen(samples: Floats, rate: float) -> tuple[Floats, Floats, Clean]:
    """What a picture of a clip shows.

    samples: one channel of the clip, -1 to 1 [-], array
    rate: samples a second [Hz]
    returns: times [s], the wave with hum taken out [-], and the clean clip
    Source: practice

    >>> times, wave, clean = seen(np.sin(np.arange(16000.0)), 16000.0)
    >>> len(times) == len(wave) == 2000
    True
    """
    ready = clean(np.asarray(samples, float), rate)
    return np.arange(ready.wave.size) / SLOW, ready.wave, ready
