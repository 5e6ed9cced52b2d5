"""The set-to numbers of a drive, composed: geometry, tension and its bands, force and note to read it by, shaft pulls,
and whether the belts are enough.

One engine for a card and for a plant: `set_to`, `published_rating` and `adequacy` take one drive's numbers or arrays;
`set_to_numbers` runs all three over arrays of any length in blocks that stay in the processor's cache. Nothing is
computed here that has no function of its own in `geometry`, `tension`, `deflection`, ...; this module only says what
follows from what. Must not import records; the top of `mechanics`, so nothing of `mechanics` imports it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.adequacy import (
    belts_required,
    belts_to_fit,
    corrected_power,
    design_power,
    service_factor_reached,
)
from beltwright.mechanics.corrections import (
    arc_factor,
    arc_in_range,
    has_length_factor,
    length_factor,
    length_in_range,
)
from beltwright.mechanics.deflection import force_bands, lone_belt_allowance, mark_deflection
from beltwright.mechanics.frequency import frequency_bands
from beltwright.mechanics.friction import centrifugal_tension, net_tensions, ratio_at_arc
from beltwright.mechanics.geometry import (
    belt_speed,
    centre_from_length,
    driven_rotation,
    feasible,
    free_span,
    speed_ratio,
    wraps,
)
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.rating import (
    Method,
    power_ip20,
    power_ip22,
    rated_ip20,
    rated_ip22,
    rating_method,
)
from beltwright.mechanics.shaft_load import ShaftPull, running_pull, static_pull
from beltwright.mechanics.tension import Band, SetBands, effective_pull, set_bands, static_tension

# drives worked together: the arrays of one block stay in the processor's cache (measured: flat from here to 65536)
_BLOCK: Final = 16384
_POWER: Final = {"ip20": power_ip20, "ip22": power_ip22}
_RATED: Final = {"ip20": rated_ip20, "ip22": rated_ip22}


class SetTo(NamedTuple):
    """What a drive is set to, each a number or an array.

    centre, span, driver_wrap, driven_wrap: with the belt just taut on its sheaves [m, m, rad, rad]
    speed, ratio: belt speed [m/s]; speed ratio, one or more [-]
    arc_factor:   of the sheave with less wrap [-]
    design_power, pull, centrifugal: power with the service factor [W]; what one belt pulls for it, and what running
                  takes of its tension [N]
    tension:      static tension of one strand [N]
    deflection:   how far to press the span in [m]
    tensions, forces, frequencies: one band three ways, per belt: at rest in the strand [N], at the mark [N], plucked
                  [Hz]; run-in and new
    running:      pull on the driver's shaft under the design power [N]; the driven's is the same, turned about
    shaft_pulls:  pull on either shaft at rest at the ends of the bands [N]
    """

    centre: Numbers
    span: Numbers
    driver_wrap: Numbers
    driven_wrap: Numbers
    speed: Numbers
    ratio: Numbers
    arc_factor: Numbers
    design_power: Numbers
    pull: Numbers
    centrifugal: Numbers
    tension: Numbers
    deflection: Numbers
    tensions: SetBands
    forces: SetBands
    frequencies: SetBands
    running: ShaftPull
    shaft_pulls: SetBands


class Adequacy(NamedTuple):
    """Whether the belts are enough, each a number or an array.

    rated_power:   what one belt carries at half a turn and the reference length [W]
    length_factor: one where none is known [-]
    belt_power:    what one belt carries on this drive [W]
    required, to_fit: belts needed, with the fraction and rounded up [-]
    service_factor_reached: with the belts that are on [-]
    """

    rated_power: Numbers
    length_factor: Numbers
    belt_power: Numbers
    required: Numbers
    to_fit: Numbers
    service_factor_reached: Numbers


class SetToNumbers(NamedTuple):
    """All the numbers of many drives: what to set them to, and whether their belts are enough."""

    set_to: SetTo
    adequacy: Adequacy


def set_to(driver: Numbers, driven: Numbers, driver_pitch: Numbers, driven_pitch: Numbers, length: Numbers,
           rotation: Numbers, power: Numbers, service_factor: Numbers, belts: Numbers, mass: Numbers,
           allowance: Numbers, lone: Mask, rigidity: Numbers = 0.0) -> SetTo:
    """Everything a drive is set to that needs no power rating: geometry, tension, how to read it, pull on the shafts.

    C, t, theta from d, D, L; v = omega d_p/2; P_d = P K_s; T = 1/2 (2.5/K - 1) P_d/(N v) + m v^2; bands, P, f of T

    driver, driven: sheave diameters on the line of the belt's length, datum with datum, outside with effective [m],
                    scalar or array
    driver_pitch, driven_pitch: pitch diameters, for the speeds [m], scalar or array
    length:         belt length on that line; from a measured centre distance by `geometry.belt_length` first [m],
                    scalar or array
    rotation:       angular speed of the driver [rad/s], scalar or array
    power:          power carried [W], scalar or array
    service_factor: allowance for machine, driver and hours [-], scalar or array
    belts:          number of belts on the drive [-], scalar or array
    mass:           mass per length of one strand, in a joined band with its share of the back [kg/m], scalar or array
    allowance:      stiffness allowance Y of one strand, sheaves held [N], scalar or array
    lone:           whether all belts are pressed at once: a single belt, or one joined band; the whole length then
                    shares the stretch, as published for the single belt [-], scalar or array
    rigidity:       bending stiffness EI of one strand; 0 for the plain string [N m2], scalar or array
    returns:        the set-to numbers, bands per belt [SI], each in the broadcast shape

    Fixed centres, belts of one length, steady speed. Force on a joined band: times its belts.
    Errors: `Infeasible` and `OutOfRange` from the functions it is made of, for the first drive that fails; arrays ask
    `settable` first.
    Source: gbt13575

    >>> drive = set_to(0.15, 0.45, 0.16, 0.46, 2.4, 152.0, 7500.0, 1.3, 3, 0.17, 20.0, lone=False)
    >>> round(float(drive.tension)), [round(float(end), 1) for end in drive.forces.run_in]
    (247, [16.7, 24.4])
    """
    centre = centre_from_length(driver, driven, length)
    wrap = wraps(driver, driven, centre)
    span = free_span(driver, driven, centre)
    speed = belt_speed(driver_pitch, rotation)
    least_wrap = np.minimum(wrap.driver, wrap.driven)
    factor = arc_factor(least_wrap)
    asked = design_power(power, service_factor)
    tension = static_tension(asked, belts, speed, mass, factor)
    tensions = set_bands(tension)
    shared = np.where(lone, lone_belt_allowance(allowance, span, length), allowance)
    pull = effective_pull(asked, speed) / belts
    net = net_tensions(pull, ratio_at_arc(least_wrap))
    return SetTo(
        centre=centre, span=span, driver_wrap=wrap.driver, driven_wrap=wrap.driven, speed=speed,
        ratio=speed_ratio(driver_pitch, driven_pitch), arc_factor=factor, design_power=asked, pull=pull,
        centrifugal=centrifugal_tension(mass, speed), tension=tension, deflection=mark_deflection(span),
        tensions=tensions, forces=force_bands(tensions, shared),
        frequencies=frequency_bands(tensions, span, mass, rigidity),
        running=running_pull(net.tight, net.slack, wrap.driver, belts),
        shaft_pulls=SetBands(*(Band(*(static_pull(end, least_wrap, belts) for end in band)) for band in tensions)))


def settable(driver: Numbers, driven: Numbers, length: Numbers) -> Mask:
    """Where `set_to` has an answer as far as geometry goes: a belt that fits, and an arc of contact in the tables.

    feasible, and 83 degrees or more on the sheave with less wrap

    driver, driven: sheave diameters on the line of the belt's length [m], scalar or array
    length:         belt length on that line [m], scalar or array
    returns:        true where there is a drive [-], shape of the broadcast inputs

    Source: statics

    >>> [bool(good) for good in settable(0.15, 0.45, np.array([1.0, 2.4]))]
    [False, True]
    """
    fits = np.asarray(feasible(driver, driven, length))
    # a drive that exists stands in where none does, so that the arc can be asked for all
    sound = [np.where(fits, values, stand_in) for values, stand_in in ((driver, 1.0), (driven, 1.0), (length, 6.0))]
    arcs = wraps(sound[0], sound[1], centre_from_length(*sound))
    return fits & arc_in_range(np.minimum(arcs.driver, arcs.driven))


def published_rating(section: str, standard: str, driver_pitch: Numbers, driven_pitch: Numbers,
                     rotation: Numbers) -> Numbers:
    """What one belt carries by the published equation of its section, ratio included, at half a turn of contact.

    H(small sheave's pitch diameter, faster shaft, ratio) by IP-20 or IP-22

    section:      belt section: A, B, ..., 3V, ... [-]
    standard:     whose lengths and grooves the belt follows: rma, din, is, iso [-]
    driver_pitch, driven_pitch: pitch diameters [m], scalar or array
    rotation:     angular speed of the driver [rad/s], scalar or array
    returns:      rated power of one belt [W], shape of the broadcast inputs

    Errors: `NotKnown` where no rating is published; `OutOfRange` outside the equation (arrays: ask `ratable` first).
    Source: ip20-1988; ip22 for narrow sections, from memory

    >>> from beltwright.units import INCH, RPM
    >>> round(float(published_rating("B", "rma", 6.2 * INCH, 6.2 * INCH, 1750 * RPM)))
    5249
    """
    return _POWER[rating_method(section, standard)](section, *_small_and_fast(driver_pitch, driven_pitch, rotation))


def ratable(section: str, standard: str, driver_pitch: Numbers, driven_pitch: Numbers, rotation: Numbers,
            length: Numbers) -> Mask:
    """Where `published_rating` and the length factor of the section both answer.

    inside the rating equation and inside the table of lengths

    section:      belt section: A, B, ..., 3V, ... [-]
    standard:     whose lengths and grooves the belt follows: rma, din, is, iso [-]
    driver_pitch, driven_pitch: pitch diameters [m], scalar or array
    rotation:     angular speed of the driver [rad/s], scalar or array
    length:       datum length [m], scalar or array; any for sections without length factors
    returns:      true where the belt can be rated [-], shape of the broadcast inputs

    Errors: `NotKnown` where no rating is published.
    Source: ip20-1988

    >>> [bool(good) for good in ratable("B", "rma", 0.16, 0.46, np.array([152.0, 900.0]), 2.4)]
    [True, False]
    """
    method: Method = rating_method(section, standard)
    rated = _RATED[method](section, *_small_and_fast(driver_pitch, driven_pitch, rotation))
    return rated & length_in_range(section, length) if has_length_factor(section) else rated & np.isfinite(length)


def known_length_factor(section: str, length: Numbers) -> Numbers:
    """The length factor where one is known for the section, else one: the working then says that it is left out.

    K_L, or 1

    section: belt section: A, B, ..., 3V, ... [-]
    length:  datum length [m], scalar or array
    returns: length correction [-], shape of `length`

    Errors: `OutOfRange` outside the section's standard lengths.
    Source: ip20-1988, table of length factors from memory

    >>> round(float(known_length_factor("B", 2.4)), 3), float(known_length_factor("5V", 2.4))
    (1.008, 1.0)
    """
    return length_factor(section, length) if has_length_factor(section) else np.ones_like(length)


def adequacy(rated_power: Numbers, arc_factor: Numbers, length_factor: Numbers, power: Numbers,
             service_factor: Numbers, belts: Numbers) -> Adequacy:
    """Whether the belts are enough, from what one belt is rated at: by a published equation or the belt's own table.

    H_a = H K_theta K_L, N = P K_s/H_a, K_s reached = N_fitted H_a/P

    rated_power:    power one belt carries at half a turn of contact and the reference length [W], scalar or array
    arc_factor:     arc-of-contact correction [-], scalar or array
    length_factor:  length correction; one where none is known [-], scalar or array
    power:          power carried [W], scalar or array
    service_factor: allowance for machine, driver and hours [-], scalar or array
    belts:          number of belts on the drive [-], scalar or array
    returns:        belts needed and service factor reached [SI], each in the broadcast shape

    Errors: `OutOfRange` for values of zero or less.
    Source: shigley, ch. 17

    >>> enough = adequacy(4000.0, 0.95, 1.0, 7500.0, 1.3, 3)
    >>> float(enough.to_fit), round(enough.service_factor_reached, 2)
    (3.0, 1.52)
    """
    belt_power = corrected_power(rated_power, arc_factor, length_factor)
    asked = design_power(power, service_factor)
    return Adequacy(rated_power=rated_power, length_factor=length_factor, belt_power=belt_power,
                    required=belts_required(asked, belt_power), to_fit=belts_to_fit(asked, belt_power),
                    service_factor_reached=service_factor_reached(power, belt_power, belts))


def set_to_numbers(section: str, standard: str, driver: Numbers, driven: Numbers, driver_pitch: Numbers,
                   driven_pitch: Numbers, length: Numbers, rotation: Numbers, power: Numbers, service_factor: Numbers,
                   belts: Numbers, mass: Numbers, allowance: Numbers, lone: Mask,
                   rigidity: Numbers = 0.0) -> SetToNumbers:
    """All the numbers of many drives of one section: `set_to`, `published_rating` and `adequacy` over arrays.

    block by block, each drive exactly as alone

    section:        belt section: A, B, ..., 3V, ... [-]
    standard:       whose lengths and grooves the belts follow: rma, din, is, iso [-]
    driver, driven: sheave diameters on the line of the belt's length [m], scalar or array
    driver_pitch, driven_pitch: pitch diameters [m], scalar or array
    length:         belt length on that line [m], scalar or array
    rotation:       angular speed of the driver [rad/s], scalar or array
    power:          power carried [W], scalar or array
    service_factor: allowance for machine, driver and hours [-], scalar or array
    belts:          number of belts on the drive [-], scalar or array
    mass:           mass per length of one strand [kg/m], scalar or array
    allowance:      stiffness allowance Y of one strand, sheaves held [N], scalar or array
    lone:           whether all belts are pressed at once: a single belt, or one joined band [-], scalar or array
    rigidity:       bending stiffness EI of one strand; 0 for the plain string [N m2], scalar or array
    returns:        set-to numbers and adequacy [SI], each in the broadcast shape

    Errors: as `set_to` and `published_rating`, for the first drive that fails; ask `settable` and `ratable` first.
    Source: gbt13575

    >>> many = set_to_numbers("B", "rma", 0.15, np.array([0.15, 0.45]), 0.16, np.array([0.16, 0.46]), 2.4, 152.0,
    ...                       7500.0, 1.3, 3, 0.17, 20.0, lone=False)
    >>> [round(float(tension)) for tension in many.set_to.tension], many.adequacy.to_fit
    ([226, 247], array([3., 2.]))
    """
    given = np.broadcast_arrays(driver, driven, driver_pitch, driven_pitch, length, rotation, power, service_factor,
                                belts, mass, allowance, lone, rigidity)
    shape, drives = given[0].shape, given[0].size
    above_zero("number", drives=np.float64(drives))
    columns = [np.ascontiguousarray(values).reshape(drives) for values in given]
    # rows of one array, not an array each: the machine hands out one large piece of memory more quickly
    results: list[npt.NDArray[np.float64]] = []
    block: Any = None
    for start in range(0, drives, _BLOCK):
        part = slice(start, start + _BLOCK)
        block = _block(section, standard, *(column[part] for column in columns))
        leaves = _leaves(block)
        results = results or list(np.empty((len(leaves), drives)))
        for whole, leaf in zip(results, leaves, strict=True):
            whole[part] = leaf
    made: SetToNumbers = _regrown(block, iter([whole.reshape(shape)[()] for whole in results]))
    return made


def _block(section: str, standard: str, *columns: npt.NDArray[Any]) -> SetToNumbers:
    driver, driven, driver_pitch, driven_pitch, length, rotation, power, service_factor, belts = columns[:9]
    numbers = set_to(driver, driven, driver_pitch, driven_pitch, length, rotation, power, service_factor, belts,
                     *columns[9:])
    rated = published_rating(section, standard, driver_pitch, driven_pitch, rotation)
    factor = known_length_factor(section, length)
    return SetToNumbers(numbers, adequacy(rated, numbers.arc_factor, factor, power, service_factor, belts))


def _small_and_fast(driver_pitch: Numbers, driven_pitch: Numbers, rotation: Numbers) -> tuple[Numbers, ...]:
    """Pitch diameter of the small sheave, speed of the faster shaft, ratio."""
    fastest = np.maximum(rotation, driven_rotation(driver_pitch, driven_pitch, rotation))
    return np.minimum(driver_pitch, driven_pitch), fastest, speed_ratio(driver_pitch, driven_pitch)


def _leaves(tree: Any) -> list[Any]:
    """The arrays of a nest of named tuples, in order."""
    return [leaf for branch in tree for leaf in _leaves(branch)] if isinstance(tree, tuple) else [tree]


def _regrown(like: Any, leaves: Iterable[Any]) -> Any:
    """The same nest with other arrays."""
    return type(like)(*(_regrown(branch, leaves) for branch in like)) if isinstance(like, tuple) else next(leaves)  # type: ignore[call-overload]
