"""What gets a span out of step where no tension in the band does: each remedy worked out anew, with what is left then.

Shorter span, idler inside on the slack side, joined or lighter belts. Each is put through the same numbers as the drive
itself: geometry, band, notes, margins. Costs nothing to try here, and saves trying it at the machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from beltwright.bench.figure import Said, say
from beltwright.bench.findings.targets import Pair, Targets
from beltwright.bench.whip import Setup, clear_tensions, settable
from beltwright.errors import BeltwrightError
from beltwright.mechanics import geometry, sections
from beltwright.mechanics.corrections import arc_factor, arc_in_range
from beltwright.mechanics.tension import set_bands, static_tension
from beltwright.mechanics.whip import belt_frequency

Array = npt.NDArray[np.float64]

# a motor is hardly ever moved nearer than this share of its centre distance
CENTRES: Final = np.arange(0.98, 0.595, -0.02)
# where the idler may meet the slack span, as a share of it from the larger sheave: near that sheave it takes least
# wrap from the small one
IDLERS: Final = np.array([1 / 4, 1 / 3, 2 / 5, 1 / 2])
# masses to try, the nearest to the belt's own first
MASSES: Final = np.array([1.0 + sign * step / 100 for step in range(2, 32, 2) for sign in (-1, 1)])


@dataclass(frozen=True, slots=True)
class Help:
    """One remedy: what it is, what it comes to, and the tensions that are clear then; none where it does not help."""

    key: str
    title: str
    said: Said
    window: Pair | None


def helps(targets: Targets, setup: Setup, margin: float) -> tuple[Help, ...]:
    """Every remedy that can be worked out, those that help first.

    setup: the drive as it is, one row; margin: how far from every shaker is clear
    """
    found = [_idler(targets, setup, margin), _shorter(targets, setup, margin), *_other_belts(targets, setup, margin),
             _mass(targets, setup, margin)]
    return tuple(sorted(filter(None, found), key=lambda one: one.window is None))


def altered(targets: Targets, setup: Setup, *, centre: Array | None = None, mass: Array | None = None) -> Setup:
    """The drive at other centre distances or with belts of another mass: geometry and band worked out anew."""
    made, known = targets.set_to, targets.known
    assert made is not None
    assert targets.centre is not None
    driver, driven = known.value("driver_geometry"), known.value("driven_geometry")
    centre, mass = np.broadcast_arrays(targets.centre if centre is None else centre,
                                       setup.mass[0] if mass is None else mass)
    span = np.asarray(geometry.free_span(driver, driven, centre))
    wraps = geometry.wraps(driver, driven, centre)
    tension = static_tension(made.design_power, known.value("belts"), made.speed, mass,
                             arc_factor(np.minimum(wraps.driver, wraps.driven)))
    band = set_bands(tension).run_in
    turns = np.asarray(belt_frequency(made.speed, geometry.belt_length(driver, driven, centre)))
    count = len(span)
    across = np.repeat(setup.across, count, axis=0)
    across[:, 2], across[:, 3] = turns, 2 * turns
    return Setup(np.column_stack([span, span]), np.repeat(setup.lifts, count, axis=0), mass,
                 np.repeat(setup.speed, count), across, np.repeat(setup.along, count, axis=0),
                 np.repeat(setup.swings, count, axis=0), np.asarray(band.low), np.asarray(band.high))


def with_idler(setup: Setup, shares: Array) -> Setup:
    """The drive with an idler in its slack span, at these shares of it; the wrap it takes is left out."""
    count = len(shares)
    tight, slack = setup.spans[0]
    lifts = setup.lifts[0]
    spans = np.column_stack([np.full(count, tight), slack * shares, slack * (1.0 - shares)])
    one = [np.repeat(part, count, axis=0) for part in (setup.mass, setup.speed, setup.across, setup.along, setup.swings,
                                                       setup.low, setup.high)]
    return Setup(spans, np.tile(lifts[[0, 1, 1]], (count, 1)), *one)


def _first(setup: Setup, margin: float) -> tuple[int, Pair] | None:
    """The first of several variants that leaves a tension one can set, and which tensions those are."""
    window = clear_tensions(setup, margin)
    good = settable(window, setup.low)
    if not np.any(good):
        return None
    at = int(np.argmax(good))
    return at, (float(np.asarray(window.low)[at]), float(np.asarray(window.high)[at]))


def _then(window: Pair) -> dict[str, tuple[float, str]]:
    return {"low": (window[0], "force"), "high": (window[1], "force")}


def _idler(targets: Targets, setup: Setup, margin: float) -> Help:
    known = targets.known
    large = "driver" if known.value("driver_geometry") > known.value("driven_geometry") else "driven"
    title = "Idler inside, on the slack side"
    found = _first(with_idler(setup, IDLERS), margin)
    if found is None:
        return Help("idler", title, say("none of the places tried clears both spans: the tight span stays as it is"),
                    None)
    at, window = found
    away = float(IDLERS[at] * setup.spans[0, 1])
    return Help("idler", title, say(
        "{away} along the slack span from the {large} sheave: then {low} to {high} a strand is clear", away=(away,
        "length"), large=large, **_then(window)), window)


def _shorter(targets: Targets, setup: Setup, margin: float) -> Help | None:
    assert targets.centre is not None
    assert targets.length is not None
    title = "Shorter span"
    driver, driven = (targets.known.value(f"{which}_geometry") for which in ("driver", "driven"))
    centres = CENTRES * targets.centre
    # a gap of a tenth of the larger sheave between the rims: nearer, there is no room for a guard or a hand
    apart = 0.5 * (driver + driven) + 0.1 * max(driver, driven)
    centres = centres[centres > apart]
    if len(centres):
        wraps = geometry.wraps(driver, driven, centres)
        centres = centres[np.asarray(arc_in_range(np.minimum(wraps.driver, wraps.driven)))]
    if not len(centres):
        return None
    found = _first(altered(targets, setup, centre=centres), margin)
    if found is None:
        return Help("shorter", title, say("down to a centre distance of {least} none is clear",
                                          least=(float(centres[-1]), "length")), None)
    at, window = found
    less = targets.length - float(geometry.belt_length(driver, driven, centres[at]))
    return Help("shorter", title, say(
        "centre distance {centre} instead of {now}, belts {less} shorter: then {low} to {high} a strand is clear",
        centre=(float(centres[at]), "length"), now=(targets.centre, "length"), less=(less, "length"), **_then(window)),
        window)


def _other_belts(targets: Targets, setup: Setup, margin: float) -> list[Help]:
    """Joined belts, and cogged ones of the same section, by their published masses."""
    section, found = targets.known.section, []
    if section is None:
        return []
    cogged = f"{section.plain}X" if not section.cogged else ""
    for key, title, name, joined in (("joined", "Joined belts", section.name, True),
                                     ("cogged", f"Cogged belts, {cogged}", cogged, targets.joined)):
        if (joined and targets.joined and key == "joined") or not name:
            continue
        try:
            mass = sections.mass_of(name, section.standard, joined)
        except BeltwrightError:   # not made in this section or standard, or no mass is published
            continue
        found.append(_belts_of(targets, setup, margin, key, title, mass))
    return found


def _belts_of(targets: Targets, setup: Setup, margin: float, key: str, title: str, mass: sections.Spread) -> Help:
    hold = "they hold each other, so that none turns over or jumps off alone; " if key == "joined" else ""
    back = "; the common back is not in that mass: weigh the band" if mass.note.startswith("mass of a single") else ""
    found = _first(altered(targets, setup, mass=np.array([mass.value])), margin)
    each = (mass.value, "mass per length")
    if found is None:
        return Help(key, title, say("{hold}at {mass} a strand the spans stay near what shakes them{back}", mass=each,
                                    hold=hold, back=back), None)
    return Help(key, title, say("{hold}at {mass} a strand, {low} to {high} is clear{back}", mass=each, hold=hold,
                                back=back, **_then(found[1])), found[1])


def _mass(targets: Targets, setup: Setup, margin: float) -> Help | None:
    """The other mass that would do, the nearest first: also what to look for when the belts are weighed."""
    own = float(setup.mass[0])
    found = _first(altered(targets, setup, mass=own * MASSES), margin)
    if found is None:
        return None
    at, window = found
    return Help("mass", "Belts of another mass", say(
        "{mass} instead of {own} a strand: then {low} to {high} is clear; if the mass is by table, weigh a belt first",
        mass=(own * float(MASSES[at]), "mass per length"), own=(own, "mass per length"), **_then(window)), window)
