"""One drive's whip: its spans' notes over the tension band and over the speed, what shakes them, what is clear.

What a page, a terminal or a file shows of it is put together here. Working of each figure: `whip_figures`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from beltwright.bench import whip
from beltwright.bench.findings.targets import Pair, Targets
from beltwright.bench.whip import ACROSS, ALONG, CALLED, Setup
from beltwright.bench.whip_help import Help, helps
from beltwright.errors import NotKnown
from beltwright.mechanics import whip as spans
from beltwright.mechanics import whip_shaken
from beltwright.mechanics.frequency import frequency_from_tension
from beltwright.mechanics.stretch import usual_rigidity

Array = npt.NDArray[np.float64]
Answer = Literal["near", "borderline", "clear"]
SIDES: Final = ("tight", "slack")
# points of a curve: enough for a smooth line, few enough for a page
POINTS: Final = 49
# the chart reaches this far beyond the bands, as a share of their ends
BEYOND: Final = 0.12
SPEEDS: Final = 161
# multiples that shake less than those that are judged: drawn thin, never judged
_FAINT: Final = ((0, 2.0, "driver shaft, twice a turn"), (1, 2.0, "driven shaft, twice a turn"),
                 (2, 3.0, "belt, three times in its round"), (2, 4.0, "belt, four times in its round"))


@dataclass(frozen=True, slots=True)
class Found:
    """The tension last read: its mean and uncertainty [N], and when it was.

    own: of a tension read by note, the uncertainty without what span and mass bring in: they cancel in the running note
    """

    tension: float
    spread: float
    when: str
    own: float | None = None


@dataclass(frozen=True, slots=True)
class Shaker:
    """Something that shakes: how often [Hz], at which note it meets a span [Hz], whether by feeding, whether judged."""

    key: str
    words: str
    frequency: float
    meets: float
    feeds: bool = False
    judged: bool = True


@dataclass(frozen=True, slots=True)
class Side:
    """One span as it runs: what it carries [N], its notes [Hz], the shaker nearest to it, how near, and the verdict."""

    name: str
    strand: float
    note: float
    spread: float
    second: float
    nearest: Shaker
    margin: float
    answer: Answer


@dataclass(frozen=True, slots=True)
class Tongue:
    """Where a swing of the tension feeds a span: at each tension the notes from which and up to which [N, Hz]."""

    side: str
    shaker: Shaker
    tensions: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Curves:
    """Notes over something: static tension [N] or motor speed [rad/s]; only where both spans pull [Hz]."""

    over: tuple[float, ...]
    tight: tuple[float, ...]
    slack: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Crossing:
    """A motor speed at which a span meets what shakes it [rad/s]."""

    speed: float
    side: str
    words: str


@dataclass(frozen=True, slots=True)
class OverSpeed:
    """A motor of variable speed: notes and shakers over its range, where they meet, and which speeds are near."""

    curves: Curves
    shakers: tuple[Shaker, ...]
    rated: float
    crossings: tuple[Crossing, ...]
    near: tuple[Pair, ...]


@dataclass(frozen=True, slots=True)
class Whip:
    """All of it.

    tension: static tension looked at [N], as read or the middle of the band; found: the reading, where there is one
    window:  clear tensions within the run-in band that can be set by hand; plucked: its notes at rest [Hz]
    passable: tensions at which nothing is near, though not all is clear
    least_swing: swing of a strand's tension from which on it is fed, as a share
    """

    targets: Targets
    tension: float
    found: Found | None
    pull: float
    band: Pair
    new: Pair
    sides: tuple[Side, ...]
    idle: float
    shakers: tuple[Shaker, ...]
    curves: Curves
    tongues: tuple[Tongue, ...]
    window: Pair | None
    plucked: Pair | None
    passable: Pair | None
    helps: tuple[Help, ...]
    speeds: OverSpeed | None
    near: float
    clear: float
    least_swing: float

    @property
    def answer(self) -> Answer:
        """The drive in a word: that of its nearest span."""
        return min((side.answer for side in self.sides), key=("near", "borderline", "clear").index)

    @property
    def caution(self) -> str:
        """What makes the notes a guide only; empty on locked rails or a fixed base."""
        base = self.targets.drive.base
        if base in ("pivoted", "sprung"):
            return (f"The base is {base}: it holds the pull on the shafts and not the tension at rest, so the spans "
                    f"swing somewhat higher than worked out here.")
        return ""

    @property
    def nearest(self) -> Side:
        """The span that is nearest to what shakes it."""
        return min(self.sides, key=lambda side: abs(side.margin))


def whip_of(targets: Targets, found: Found | None = None, runout: tuple[float, float] = (0.0, 0.0)) -> Whip:
    """The whip of one drive.

    found:  its tension as last read, if it was
    runout: full swing of a dial at the rims of driver and driven [m], where it was read
    errors: `NotKnown` says what has to be read first
    """
    setup = setup_for(targets, runout)
    limits = whip_shaken.margin_limits()
    low, high = float(setup.low[0]), float(setup.high[0])
    tension = 0.5 * (low + high) if found is None else found.tension
    if not whip.runs(setup, setup.high)[0]:
        raise NotKnown(f"{targets.drive.tag}: even at the top of its band the slack side carries nothing at full load; "
                       f"see on the card whether the belts are enough")
    if not whip.runs(setup, np.array([tension]))[0]:
        which = "read" if found else "it is to be set to"
        raise NotKnown(f"{targets.drive.tag}: at the tension {which} the slack side carries nothing at full load, "
                       f"so it has no note; set the tension first")
    made = targets.set_to
    assert made is not None
    window = _window(setup, limits.clear)
    shakers = _shakers(targets, setup, tension)
    curves = _curves(setup, min(low, tension), max(made.new[1], tension))
    return Whip(
        targets, tension, found, _pull(setup), (low, high), made.new, _sides(targets, setup, tension, found, shakers),
        float(spans.span_frequency(tension, setup.spans[0, 0], setup.mass[0], setup.speed[0])), shakers, curves,
        _tongues(setup, shakers, curves), window, None if window is None else _plucked(targets, window),
        _window(setup, limits.near), () if window is not None else helps(targets, setup, limits.clear),
        _over_speed(targets, setup, tension, shakers), limits.near, limits.clear,
        float(whip_shaken.least_pulsation(whip_shaken.span_damping().least)))


def setup_for(targets: Targets, runout: tuple[float, float] = (0.0, 0.0)) -> Setup:
    """The numbers of one drive, its run-out as swings of the tension; `NotKnown` says what has to be read first."""
    if not whip.whippable(targets):
        raise NotKnown(f"the spans of {targets.drive.tag} have no note yet: "
                       f"{targets.why or 'the speed of the driven shaft is needed'}")
    assert targets.mass is not None
    assert targets.length is not None
    assert targets.growth is not None
    rigidity = usual_rigidity(targets.mass).middle
    driver, driven = (float(whip_shaken.runout_swing(swing, rigidity, targets.length, targets.growth))
                      for swing in runout)
    return whip.setup_of([targets], (driver, driven))


def _pull(setup: Setup) -> float:
    return float(setup.lifts[0, 0] - setup.lifts[0, 1])


def _window(setup: Setup, margin: float) -> Pair | None:
    found = whip.clear_tensions(setup, margin)
    if not whip.settable(found, setup.low)[0]:
        return None
    return float(np.asarray(found.low)[0]), float(np.asarray(found.high)[0])


def _plucked(targets: Targets, window: Pair) -> Pair:
    """The window as notes of the span at rest: how a mechanic reads it."""
    assert targets.span is not None
    assert targets.mass is not None
    low, high = (float(frequency_from_tension(end, targets.span, targets.mass)) for end in window)
    return low, high


def _shakers(targets: Targets, setup: Setup, tension: float) -> tuple[Shaker, ...]:
    """Everything that shakes this drive; judged ones in the order of `ACROSS` and `ALONG`, then the faint ones."""
    drive = targets.drive
    counts = {"driver": drive.driver_pulses or 0.0, "driven": drive.driven_pulses or 0.0}
    words = {**CALLED, **{f"{which} pushes": f"{which} machine, {count:g} pushes a turn"
                          for which, count in counts.items()}}
    found = [Shaker(key, words[key], float(frequency), float(frequency))
             for key, frequency in zip(ACROSS, setup.across[0], strict=True) if np.isfinite(frequency)]
    met = np.min(whip.meets(setup, setup.low, setup.high, np.array([tension]))[0][0], axis=0)[len(ACROSS):]
    # empty where nothing swings the tension
    for key, frequency, meets in zip(ALONG, setup.along[0], met, strict=False):
        if np.isfinite(meets):
            found.append(Shaker(f"{key} feeding", f"{words[key]}, swinging the tension", float(frequency), float(meets),
                                feeds=True))
    for place, times, what in _FAINT:
        frequency = times * float(setup.across[0, place])
        found.append(Shaker(what, what, frequency, frequency, judged=False))
    return tuple(found)


def _sides(targets: Targets, setup: Setup, tension: float, found: Found | None,
           shakers: tuple[Shaker, ...]) -> tuple[Side, ...]:
    margins = whip.margins_at(setup, np.array([tension]))
    names = (*ACROSS, *(f"{key} feeding" for key in ALONG))
    sides = []
    for place, name in enumerate(SIDES):
        at = int(whip.nearest(margins, place).shaker[0])
        margin, reach = (float(each[0, place, at]) for each in (margins.margin, margins.reach))
        nearest = next(one for one in shakers if one.key == names[at])
        strand = tension + float(setup.lifts[0, place])
        note = float(margins.notes[0, place])
        sides.append(Side(name, strand, note, _spread(targets, tension, strand, found), 2 * note, nearest, margin,
                          _answer(margin, reach)))
    return tuple(sides)


def _answer(margin: float, reach: float) -> Answer:
    """In a word; inside the region of a swing that feeds it a span is near, however wide that is."""
    limits = whip_shaken.margin_limits()
    return "near" if abs(margin) < max(limits.near, reach) else "borderline" if abs(margin) < limits.clear else "clear"


def _spread(targets: Targets, tension: float, strand: float, found: Found | None) -> float:
    """Standard uncertainty of a note: tension as read, span and mass moved in turn [Hz].

    A tension read by note follows span and mass as they are moved: T = 4 m t² f².
    """
    made, span, mass = targets.set_to, targets.span, targets.mass
    assert made is not None
    assert span is not None
    assert mass is not None
    by_note = found is not None and found.own is not None
    longer, heavier = span + targets.span_spread, mass + targets.mass_spread
    follows = (tension * ((longer / span) ** 2 - 1.0), tension * (heavier / mass - 1.0)) if by_note else (0.0, 0.0)
    read = 0.0 if found is None else found.spread if found.own is None else found.own
    moved = ((strand + read, span, mass), (strand + follows[0], longer, mass), (strand + follows[1], span, heavier))
    base = float(spans.span_frequency(strand, span, mass, made.speed))
    return math.hypot(*(float(spans.span_frequency(*each, made.speed)) - base for each in moved
                        if spans.taut(each[0], each[2], made.speed)))


def _curves(setup: Setup, low: float, high: float) -> Curves:
    """Notes over static tension, somewhat beyond what is asked and read."""
    tensions = np.linspace(low * (1 - BEYOND), high * (1 + BEYOND), POINTS)
    many = _many(setup, len(tensions))
    good = whip.runs(many, tensions)
    tensions = tensions[good]
    notes = whip.notes_at(_many(setup, len(tensions)), tensions)
    return Curves(tuple(tensions.tolist()), tuple(notes[:, whip.TIGHT].tolist()), tuple(notes[:, whip.SLACK].tolist()))


def _many(setup: Setup, count: int) -> Setup:
    """One drive as many rows."""
    return Setup(*(np.repeat(part, count, axis=0) for part in setup))


def _tongues(setup: Setup, shakers: tuple[Shaker, ...], curves: Curves) -> tuple[Tongue, ...]:
    tensions = np.array(curves.over)
    felt = whip.felt_at(_many(setup, len(tensions)), tensions)
    least = whip_shaken.span_damping().least
    found = []
    for shaker in shakers:
        if not shaker.feeds:
            continue
        place = ALONG.index(shaker.key.removesuffix(" feeding"))
        for side, name in enumerate(SIDES):
            share = felt[:, side, place]
            fed = np.asarray(whip_shaken.feeds(share, least)) & (share < whip_shaken.WHOLE)
            if not np.any(fed):
                continue
            # of a span that swings once a second: how the region stretches about twice its note
            region = whip_shaken.parametric_region(1.0, share[fed], least)
            found.append(Tongue(name, shaker, tuple(tensions[fed].tolist()),
                                tuple((shaker.frequency / np.asarray(region.high)).tolist()),
                                tuple((shaker.frequency / np.asarray(region.low)).tolist())))
    return tuple(found)


def _over_speed(targets: Targets, setup: Setup, tension: float, shakers: tuple[Shaker, ...]) -> OverSpeed | None:
    """Over the speeds of a variable motor, at that static tension: torque as at its plate up to the plate's speed, its
    power above."""
    motor = targets.drive.motor
    rated = targets.known.value("driver_rotation")
    if motor.lowest_speed is None or motor.highest_speed is None or motor.lowest_speed >= motor.highest_speed:
        return None
    speeds = np.linspace(motor.lowest_speed, motor.highest_speed, SPEEDS)
    times = speeds / rated
    many = _many(setup, len(speeds))
    lifts = many.lifts * np.minimum(1.0, 1.0 / times)[:, np.newaxis]
    scale = times[:, np.newaxis]
    many = many._replace(speed=many.speed * times, lifts=lifts, across=many.across * scale, along=many.along * scale)
    held = np.full(len(speeds), tension)
    good = whip.runs(many, held)
    if np.count_nonzero(good) < 2:   # at one speed there is nothing to draw
        return None
    many, speeds, held = Setup(*(part[good] for part in many)), speeds[good], held[good]
    margins = whip.margins_at(many, held)
    near = np.any(np.abs(margins.margin) < np.maximum(whip_shaken.margin_limits().near, margins.reach), axis=(1, 2))
    notes = margins.notes
    judged = tuple(shaker for shaker in shakers if shaker.judged)
    return OverSpeed(Curves(tuple(speeds.tolist()), tuple(notes[:, 0].tolist()), tuple(notes[:, 1].tolist())),
                     judged, rated, _crossings(speeds, notes, judged, rated), _stretches(speeds, near))


def _crossings(speeds: Array, notes: Array, shakers: tuple[Shaker, ...], rated: float) -> tuple[Crossing, ...]:
    found = []
    for side, name in enumerate(SIDES):
        for shaker in shakers:
            apart = notes[:, side] - shaker.meets * speeds / rated
            for at in np.flatnonzero(apart[:-1] * apart[1:] < 0.0):
                share = apart[at] / (apart[at] - apart[at + 1])
                found.append(Crossing(float(speeds[at] + share * (speeds[at + 1] - speeds[at])), name, shaker.words))
    return tuple(sorted(found, key=lambda crossing: crossing.speed))


def _stretches(speeds: Array, near: npt.NDArray[np.bool_]) -> tuple[Pair, ...]:
    """Runs of speeds that are near something."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], near.astype(int), [0]])))
    return tuple((float(speeds[start]), float(speeds[end - 1])) for start, end in edges.reshape(-1, 2))


def away(margin: float) -> str:
    """How far a note lies from what shakes it, with its sign.

    >>> away(-0.003), away(0.12)
    ('0%', '+12%')
    """
    return "0%" if abs(margin) < 0.005 else f"{margin:+.0%}"
