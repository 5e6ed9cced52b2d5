"""Whether a drive slips and squeals when it starts, when its machine jams, or when its load steps up; and the tension
that would hold.

A start is worked out three times: as the drive is, and with belts that cannot slip in good and in poor grooves, which
gives the least tension that would hold. Equations and their working stand in `mechanics.run_up`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

import numpy as np

from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.targets import Pair, Targets
from beltwright.bench.start_given import Given, given, missing, not_known
from beltwright.errors import Infeasible, InputError, NotKnown
from beltwright.mechanics.belt_train import Change, Train, held_at, running_state, standing_tension
from beltwright.mechanics.groove_heat import flank_area, groove_warming
from beltwright.mechanics.load_torque import LoadTorque
from beltwright.mechanics.motor_feed import WAYS, Feed, feeds
from beltwright.mechanics.motor_torque import TorqueCurve, plate
from beltwright.mechanics.rosenbrock import State
from beltwright.mechanics.run_up import Course, run_up
from beltwright.mechanics.shaft_load import running_pull
from beltwright.mechanics.starting import start_practice

# a start that takes longer than this is given up: a motor's overload does not wait that long [s]
GIVEN_UP: Final = 60.0
# up to speed: this much of the speed at full load
UP: Final = 0.97
# tight enough that nothing slips [N]
_TIGHT: Final = 1e9
# when a jam or a load step comes, after the drive has run [s]; how long it is watched after a step
_COMES, _WATCHED = 0.2, 10.0
_MOST: Final = 400
# tension over what holds without stretch from which on there is no squeal: a test looks for a start that has one
_QUIET: Final = 1.25
# a motor left with less than this of its speed has been pulled down past its breakdown
_PULLED_DOWN: Final = 0.7

Event = Literal["start", "jam", "load step"]
Outcome = Literal["starts clean", "clean in good grooves", "chirps", "squeals", "does not come up", "holds", "slips",
                  "stalls"]


@dataclass(frozen=True, slots=True)
class Ask:
    """What is to be worked out: a start, a jam, or the load stepping up so many times; and at which tension."""

    event: Event = "start"
    tension: float | None = None
    times: float = 1.5


@dataclass(frozen=True, slots=True)
class Start:
    """What a start comes to.

    slip_time: in all [s]; slips: when they let go and hold again [s]; up_at: when the machine is up to speed [s]
    heat:      of one groove [J]; rise: of its flanks [K]; peak_pull: most on either shaft [N]
    peak_asked: most pull that the belts were asked for, tight less slack [N]; held: what they hold with at rest [N]
    least, least_poor: least static tension that holds throughout, in dry clean grooves and in poor ones [N]
    band:      the drive's own band for its belts as they are now [N]
    unaccounted: work of the motor that is not found again, over all of it
    """

    ask: Ask
    given: Given
    course: Course
    outcome: Outcome
    slips: tuple[Pair, ...]
    slip_time: float
    up_at: float | None
    heat: float
    rise: float
    peak_pull: float
    peak_asked: float
    held: float
    least: float
    least_poor: float
    band: Pair | None
    new: bool
    unaccounted: float

    @property
    def tension(self) -> float:
        """The static tension it was worked out at [N]."""
        return self.given.train.tension

    @property
    def clean(self) -> bool:
        """Whether nothing is to be mended: no slip, or none in good grooves."""
        return self.outcome in ("starts clean", "clean in good grooves", "holds")

    def fits(self, least: float) -> str:
        """Whether a tension lies in the band, in words; empty where the band is not known."""
        if self.band is None:
            return ""
        low, high = self.band
        return "below the band" if least < low else "inside the band" if least <= high else "above the band"


@dataclass(frozen=True, slots=True)
class Otherwise:
    """A way of starting: least tension that holds [N], when it is up to speed [s], whether the band reaches so far."""

    way: str
    least: float
    up_at: float | None
    in_band: bool | None
    own: bool


def start(targets: Targets, tension: Tension | None, ask: Ask | None = None) -> Start:
    """Work a start out.

    errors: `NotKnown` says what to enter or read first; `Infeasible` where no such start can be
    """
    asked = ask or Ask()
    if asked.event == "load step" and not asked.times > 1.0:
        raise InputError(f"a load step to {asked.times:g} times the load: more than 1 is needed")
    found = given(targets, tension, asked.tension)
    if found is None:
        raise NotKnown(why_not(targets))
    wants = targets.set_to
    new = tension is not None and tension.new
    return _worked(found, asked, None if wants is None else wants.new if new else wants.run_in, new)


def given_at_all(targets: Targets, tension: Tension | None, ask: Ask | None = None) -> bool:
    """Whether enough is known of a drive for its start to be worked out."""
    return given(targets, tension, None if ask is None else ask.tension) is not None


def why_not(targets: Targets) -> str:
    """What has to be entered before a start can be worked out, in a sentence."""
    words = [each.words for each in missing(targets.drive)]
    if lacking := not_known(targets):
        words.append(lacking)
    if not words:
        return (f"no tension was read and none can be worked out ({targets.why}): read it, or say which to reckon "
                "with")
    return f"to work out the start of {targets.drive.tag}, enter first: {'; '.join(words)}"


def surely_quiet(found: Given, tension: float) -> bool:
    """Whether a start makes no squeal, by the closed form without stretch and a quarter more.

    The quick answer that spares most drives of a plant the working out. Stretch swings beyond it for tenths of a
    second.
    """
    return tension >= _QUIET * standing_tension(found.train, found.curve, found.load)


def otherwise(targets: Targets, tension: Tension | None) -> tuple[Otherwise, ...]:
    """What each way of starting would ask of the belts, by common practice's times; least tension in poor grooves."""
    # a tension stands in where none is known: what a start asks for does not depend on it
    found = given(targets, tension, None if given_at_all(targets, tension) else 1.0)
    if found is None:
        return ()
    wants = targets.set_to
    band = None if wants is None else wants.new if tension is not None and tension.new else wants.run_in
    field = plate(targets.drive.motor.speed or 0.0).synchronous
    result = []
    for way in WAYS:
        noted = targets.drive.motor.start_time if way == targets.drive.motor.starting else None
        train = found.train._replace(tension=_TIGHT, grip=found.poor_grip)
        course = _course(train, found.curve, feeds(way, field, found.torque, noted),
                         start_practice("torque_build_up"), (Change(0.0, found.load),), (0.0, 0.0, 0.0), GIVEN_UP)
        up_at = _up_at(found, course, Ask())
        result.append(Otherwise(way, course.needed, up_at, None if band is None else course.needed <= band[1],
                                way == targets.drive.motor.starting))
    return tuple(result)


def _worked(found: Given, ask: Ask, band: Pair | None, new: bool) -> Start:
    course = _course_of(found, found.train, ask)
    tight = _course_of(found, found.train._replace(tension=_TIGHT), ask)
    poor = _course_of(found, found.train._replace(tension=_TIGHT, grip=found.poor_grip), ask)
    train = found.train
    ends = [*course.holds, course.time[-1]][:len(course.lets_go)]
    slips = tuple(zip(course.lets_go, ends, strict=True))
    slip_time = sum(end - begin for begin, end in slips)
    heat = course.heat[-1] / train.belts
    up_at = _up_at(found, course, ask)
    least, least_poor = (tight.needed, poor.needed)
    return Start(ask, found, course, _outcome(course, ask, slip_time, up_at, train.tension, least_poor), slips,
                 slip_time, up_at, heat, _rise(found, course), _peak_pull(found, course),
                 max(abs(pull) for pull in course.pull), held_at(train, 0.0), least, least_poor, band, new,
                 _unaccounted(found, course, ask))


def _course_of(found: Given, train: Train, ask: Ask) -> Course:
    build_up = start_practice("torque_build_up")
    if ask.event == "start":
        return _course(train, found.curve, found.feeding, build_up, (Change(0.0, found.load),), (0.0, 0.0, 0.0),
                       GIVEN_UP)
    running = running_state(train, found.curve, found.load)
    if ask.event == "jam":
        brake = (train.driven_inertia * running[1] / start_practice("jam_stop")
                 + train.driven_radius * min(held_at(train, 0.0), max(found.curve.torques) / train.driver_radius))
        then, watched = Change(_COMES, LoadTorque(brake, brake, 0.0), held=True), start_practice("trips")
    else:
        load = found.load
        then = Change(_COMES, LoadTorque(*(ask.times * part for part in load)))
        watched = _WATCHED
    return _course(train, found.curve, (found.feeding[-1],), build_up, (Change(0.0, found.load), then), running,
                   _COMES + watched)


@lru_cache(64)
def _course(train: Train, curve: TorqueCurve, feeding: tuple[Feed, ...], build_up: float, loads: tuple[Change, ...],
            begin: State, longest: float) -> Course:
    return run_up(train, curve, feeding, build_up, loads, begin, longest)


def _up_at(found: Given, course: Course, ask: Ask) -> float | None:
    """When the machine is up to speed; none where it never is, or ran from the first."""
    if ask.event != "start":
        return None
    try:
        wanted = UP * running_state(found.train._replace(tension=_TIGHT), found.curve, found.load)[1]
    except Infeasible:
        return None
    driven, time = np.asarray(course.driven), np.asarray(course.time)
    reached = np.flatnonzero(driven >= wanted)
    if not len(reached):
        return None
    at = int(reached[0])
    return float(np.interp(wanted, driven[at - 1:at + 1], time[at - 1:at + 1]))


def _outcome(course: Course, ask: Ask, slip_time: float, up_at: float | None, tension: float,
             least_poor: float) -> Outcome:
    chirp = start_practice("chirp")
    if ask.event == "start":
        if up_at is None:
            return "does not come up"
        if slip_time > chirp:
            return "squeals"
        if course.lets_go:
            return "chirps"
        return "starts clean" if tension >= least_poor else "clean in good grooves"
    if course.driver[-1] <= _PULLED_DOWN * course.driver[0]:
        return "stalls"
    if course.lets_go and slip_time > chirp:
        return "slips"
    return "chirps" if course.lets_go else "holds"


def _rise(found: Given, course: Course) -> float:
    """How far the flanks of a groove warm."""
    if not course.heat[-1] > 0.0 or found.facts.get("belt_height") is None:
        return 0.0
    time, heat = np.asarray(course.time), np.asarray(course.heat) / found.train.belts
    if len(time) > _MOST:
        even = np.unique(np.concatenate((np.linspace(time[0], time[-1], _MOST // 2),
                                         time[:: max(1, 2 * len(time) // _MOST)])))
        time, heat = even, np.interp(even, time, heat)
    radius = found.train.driver_radius if found.train.slips == "driver" else found.train.driven_radius
    # under a belt that stands, the driver goes round and every part of it is rubbed; a driven sheave that stands is
    # rubbed over its arc of contact alone
    arc = 2.0 * np.pi if found.train.slips == "driver" else found.wrap
    area = float(flank_area(2.0 * radius, found.facts["belt_height"].value, found.half_angle, arc))
    return float(np.max(groove_warming(time, heat, area)))


def _peak_pull(found: Given, course: Course) -> float:
    """The most the belts pull at either shaft."""
    train = found.train
    turned = np.asarray(course.driven) * train.driven_radius
    net = np.maximum(train.tension - train.mass * turned**2, 0.0)
    half = np.minimum(np.abs(course.pull) / (2.0 * train.belts), net)
    return float(np.max(running_pull(net + half, net - half, found.wrap, train.belts).resultant))


def _unaccounted(found: Given, course: Course, ask: Ask) -> float:
    """Work that is not found again: how far the sums may be off."""
    train = found.train

    def stored(at: int) -> float:
        return 0.5 * (train.driver_inertia * course.driver[at]**2 + train.driven_inertia * course.driven[at]**2
                      + train.stiffness * course.stretch[at]**2)

    del ask
    gone = course.taken + course.heat[-1] + course.damped + stored(-1) - stored(0)
    return abs(course.work - gone) / max(abs(course.work), 1e-9)
