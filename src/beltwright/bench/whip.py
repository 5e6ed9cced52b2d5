"""Whether the spans of drives swing in step with what shakes them: notes, margins, clear tensions, of many at once.

Of each drive: every span with what it carries, everything that shakes it, the band its belts are set to. Two things
are told apart: what comes by as often as the span swings shakes it across; what makes its tension swing twice as often
feeds a swing along the belt, if it swings it far enough for the damping. Only what is known to shake is judged: shafts
once a turn, the belt up to twice, the pushes that a person entered. Pure; words stand in `whip_chart`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.bench.findings.targets import Targets
from beltwright.mechanics import whip, whip_shaken
from beltwright.mechanics.tension import Band
from beltwright.units import TURN

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# what shakes across, in the order of `Setup.across`; the pushes of either machine, which may feed too, come last
ACROSS: Final = ("driver", "driven", "belt", "belt twice", "driver pushes", "driven pushes")
# what makes the tension swing, in the order of `Setup.along`
ALONG: Final = ("driver pushes", "driven pushes", "driver run-out", "driven run-out")
CALLED: Final[Mapping[str, str]] = {
    "driver": "driver shaft, once a turn", "driven": "driven shaft, once a turn", "belt": "belt, once in its round",
    "belt twice": "belt, twice in its round", "driver pushes": "pushes of the driver machine",
    "driven pushes": "pushes of the driven machine", "driver run-out": "run-out of the driver sheave",
    "driven run-out": "run-out of the driven sheave"}
# the spans of a plain drive
TIGHT, SLACK = 0, 1
# a window narrower than this share of the low end of the band cannot be set by hand (common practice)
SETTABLE: Final = 0.05
JUST_ABOVE: Final = 1.0 + 1e-9
# the margin kept from a swing so strong that the strand goes slack in it
SLACKENS: Final = 0.9


class Setup(NamedTuple):
    """Drives, or one drive altered in several ways: a row each.

    spans, lifts: each span [m] and what its strand carries above the static tension [N], spans along the last axis
    mass, speed:  of the belt [kg/m, m/s]
    across, along: frequencies as in `ACROSS` and `ALONG` [Hz], infinite for none
    swings:       of the tension, by what makes it swing, to either side [N]
    low, high:    the run-in band of static tension [N]
    """

    spans: Array
    lifts: Array
    mass: Array
    speed: Array
    across: Array
    along: Array
    swings: Array
    low: Array
    high: Array


class Margins(NamedTuple):
    """How near each span is to each shaker: a row a drive, then a span, then a shaker, `ACROSS` before `ALONG`.

    notes:  first note of each span [Hz]
    meets:  the note at which the span would be met [Hz]: as often as what shakes across, half as often as what feeds
    margin: the note over that, less one; infinite where nothing shakes
    reach:  the margin within which a swing of the tension feeds the span; nought for what shakes across
    """

    notes: Array
    meets: Array
    margin: Array
    reach: Array


class Nearest(NamedTuple):
    """The nearest of all, a number a drive: which span, which shaker (`ACROSS` before `ALONG`), and its margin."""

    span: npt.NDArray[np.intp]
    shaker: npt.NDArray[np.intp]
    margin: Array


def whippable(targets: Targets) -> bool:
    """Whether enough is known of a drive for its spans' notes."""
    return (targets.set_to is not None and targets.span is not None and targets.mass is not None
            and targets.length is not None and targets.fact("driven_rotation") is not None)


def setup_of(some: Sequence[Targets], runout: tuple[float, float] = (0.0, 0.0)) -> Setup:
    """Drives of which enough is known, as they are.

    runout: swing of the tension by the run-out of driver and driven sheave [N], where a dial was put to them
    """
    made = [_row(each) for each in some]
    columns = np.array(made, dtype=np.float64).reshape(len(made), 12).T
    span, mass, speed, pull, driver, driven, belt, by_driver, by_driven, pulsation, low, high = columns
    pushes = np.column_stack([_pushes(driver, by_driver), _pushes(driven, by_driven)])
    swing = np.asarray(whip_shaken.torque_swing(pulsation, pull))
    read = np.broadcast_to(np.array(runout), (len(made), 2))
    turns = np.column_stack([driver, driven])
    half = 0.5 * pull
    return Setup(np.column_stack([span, span]), np.column_stack([half, -half]), mass, speed,
                 np.column_stack([turns, belt, 2 * belt, pushes]),
                 np.column_stack([pushes, np.where(read > 0.0, turns, np.inf)]),
                 np.column_stack([swing, swing, read]), low, high)


def runs(setup: Setup, tension: Array) -> Mask:
    """Whether every span of a drive at that static tension still pulls when it runs."""
    strands = tension[:, np.newaxis] + setup.lifts
    slack = setup.mass[:, np.newaxis] * np.square(setup.speed[:, np.newaxis])
    return np.asarray(np.all(strands > slack, axis=1))


def notes_at(setup: Setup, tension: Array) -> Array:
    """First note of each span at a static tension at which all of them pull [Hz]."""
    return np.asarray(whip.span_frequency(tension[:, np.newaxis] + setup.lifts, setup.spans,
                                          setup.mass[:, np.newaxis], setup.speed[:, np.newaxis]))


def felt_at(setup: Setup, tension: Array) -> Array:
    """What each span feels of each swing of its tension, as a share: drive, span, then as in `ALONG`."""
    strands = (tension[:, np.newaxis] + setup.lifts)[:, :, np.newaxis]
    # the swing of a strand is shared out over what it carries
    shares = setup.swings[:, np.newaxis, :] / strands
    return np.asarray(whip_shaken.pulsation_felt(shares, strands, setup.mass[:, np.newaxis, np.newaxis],
                                                 setup.speed[:, np.newaxis, np.newaxis]))


def meets(setup: Setup, *tensions: Array) -> tuple[Array, Array]:
    """The note at which each span is met by each shaker [Hz], and the margin within which it is fed.

    What feeds counts if it does at one of the tensions, and as far as it does at any of them.
    """
    rows, spans = setup.spans.shape
    across = np.broadcast_to(setup.across[:, np.newaxis, :], (rows, spans, setup.across.shape[1]))
    if not np.any(setup.swings):   # most drives: nothing is known to swing the tension
        return across, np.zeros_like(across)
    felt = np.max([felt_at(setup, tension) for tension in tensions], axis=0)
    least = whip_shaken.span_damping().least
    feeding = np.asarray(whip_shaken.feeds(felt, least))
    along = np.where(feeding, 0.5 * setup.along[:, np.newaxis, :], np.inf)
    whole = felt < whip_shaken.WHOLE
    # of a span that swings once in two seconds: the region lies about one
    region = whip_shaken.parametric_region(0.5, np.where(whole, felt, 0.0), least)
    reach = np.where(whole, 1.0 / np.asarray(region.low) - 1.0, SLACKENS)
    return np.concatenate([across, along], axis=2), np.concatenate([np.zeros_like(across), reach], axis=2)


def margins_at(setup: Setup, tension: Array) -> Margins:
    """How near each span is to each shaker at a static tension at which all spans pull."""
    notes = notes_at(setup, tension)
    met, reach = meets(setup, tension)
    there = np.isfinite(met)
    margin = np.where(there, whip_shaken.whip_margin(notes[:, :, np.newaxis], np.where(there, met, 1.0)), np.inf)
    return Margins(notes, met, margin, reach)


def nearest(margins: Margins, span: int | None = None) -> Nearest:
    """The nearest shaker of each drive, over all its spans or of one; of what feeds, the edge of its reach counts."""
    over = np.s_[:, :] if span is None else np.s_[:, span:span + 1]
    margin, reach = margins.margin[over], margins.reach[over]
    rows, _, shakers = margin.shape
    at = np.argmin((np.abs(margin) - reach).reshape(rows, -1), axis=1)
    return Nearest(at // shakers, at % shakers, margin.reshape(rows, -1)[np.arange(rows), at])


def clear_tensions(setup: Setup, margin: float) -> Band:
    """The widest part of each drive's band in which every span keeps a margin from every shaker; empty for none.

    What leaves the slack span without pull does not count as clear; at the top of the band both must pull.
    """
    # from where on the slackest span pulls
    pulls = np.max(setup.mass[:, np.newaxis] * np.square(setup.speed[:, np.newaxis]) - setup.lifts, axis=1)
    low = np.minimum(np.maximum(setup.low, pulls * JUST_ABOVE), setup.high)
    met, reach = meets(setup, low, setup.high)
    there = np.isfinite(met)
    axis = np.s_[:, np.newaxis, np.newaxis]
    stretches = whip_shaken.shaken_tensions(
        np.where(there, met, 1.0), np.maximum(margin, reach), setup.spans[:, :, np.newaxis], setup.mass[axis],
        setup.speed[axis], setup.lifts[:, :, np.newaxis])
    rows = len(setup.low)
    starts, ends = (np.where(there, each, np.inf).reshape(rows, -1) for each in stretches)
    return whip_shaken.clear_window(low, setup.high, starts, ends)


def settable(window: Band, low: Array) -> Mask:
    """Whether a window is wide enough to be set by hand."""
    return np.asarray(np.greater_equal(window.high - window.low, SETTABLE * low))


def _pushes(turns: Array, pushes: Array) -> Array:
    return np.where(pushes > 0.0, turns * pushes, np.inf)


def _row(targets: Targets) -> tuple[float, ...]:
    """The numbers of one drive, in the order in which `setup_of` takes them apart."""
    made, drive = targets.set_to, targets.drive
    assert made is not None
    assert targets.span is not None
    assert targets.mass is not None
    assert targets.length is not None
    known = targets.known
    pull = known.value("power") / (known.value("belts") * made.speed)
    return (targets.span, targets.mass, made.speed, pull, known.value("driver_rotation") / TURN,
            known.value("driven_rotation") / TURN, made.speed / targets.length, drive.driver_pulses or 0.0,
            drive.driven_pulses or 0.0, drive.pulsation or 0.0, *made.run_in)
