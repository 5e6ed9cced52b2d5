"""How far a reading and what is worked out from it can be trusted, by the Guide to the expression of uncertainty.

Every input of a measuring model brings its standard uncertainty (one standard deviation); the model's sensitivity
carries it into the result, and the signed `parts` say which input to measure better. Inputs are taken as independent.
What a set of readings has in common (one span, one mass, one gauge) shifts all of them together: to compare belts of
one set, combine only the parts that are each belt's own. Must not import other modules of `mechanics` but `limits`
and those whose measuring models it carries, `deflection` and `frequency`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Numbers
from beltwright.mechanics.deflection import MARK
from beltwright.mechanics.frequency import tension_from_frequency
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.tables import load

# share of cases -> column of the table of Student's distribution
LEVELS: Final[Mapping[float, str]] = MappingProxyType({
    0.6827: "t_68", 0.90: "t_90", 0.95: "t_95", 0.9545: "t_95_45", 0.99: "t_99", 0.9973: "t_99_73",
})
_STEPS: Final = ("step_N", "step_mm", "step_Hz", "step_rpm", "step_K", "step_deg")
_BOUNDS: Final = ("bound_N", "bound_mm", "bound_Hz", "bound_rpm", "bound_K", "bound_deg")


class Spread(NamedTuple):
    """Standard uncertainty of a result, and by input the signed part c u that it has in it."""

    uncertainty: Numbers
    parts: Mapping[str, Numbers]


class Shares(NamedTuple):
    """How likely the true value lies below the band, inside it, above it; together 1."""

    below: Numbers
    inside: Numbers
    above: Numbers


def resolution_uncertainty(resolution: Numbers) -> Numbers:
    """Standard uncertainty that comes from the finest step an instrument shows.

    u = step / sqrt(12): the true value lies anywhere within half a step either side

    resolution: finest step of the instrument [SI], scalar or array
    returns:    standard uncertainty [SI], shape of `resolution`

    The step alone, not what the instrument reads wrong.
    Errors: `OutOfRange` for a negative step.
    Source: gum, F.2.2.1

    >>> round(float(resolution_uncertainty(0.001)), 6)
    0.000289
    """
    at_least_zero("number", resolution=resolution)
    return resolution / np.sqrt(12.0)


def bound_uncertainty(bound: Numbers) -> Numbers:
    """Standard uncertainty of an error that stays within plus or minus a bound, nothing inside it likelier.

    u = a / sqrt(3)

    bound:   half the width of the band [SI], scalar or array
    returns: standard uncertainty [SI], shape of `bound`

    Errors: `OutOfRange` for a negative bound.
    Source: gum, 4.3.7

    >>> round(float(bound_uncertainty(4.0)), 1)
    2.3
    """
    at_least_zero("number", bound=bound)
    return bound / np.sqrt(3.0)


def repeat_uncertainty(readings: npt.ArrayLike) -> Numbers:
    """Standard uncertainty of the mean of repeated readings, from their own scatter; degrees of freedom: one less.

    u = s / sqrt(n), s the standard deviation with n - 1

    readings: repeated readings of the same thing along the last axis [SI], array
    returns:  standard uncertainty of their mean [SI], shape without the last axis

    What is wrong by the same amount in each reading does not show in the scatter: add it from the instrument.
    Errors: `NotKnown` for fewer than two readings.
    Source: gum, 4.2.3

    >>> round(float(repeat_uncertainty([41.0, 43.0, 42.0])), 3)
    0.577
    """
    values = np.asarray(readings, dtype=float)
    count = values.shape[-1] if values.ndim else 0
    if count < 2:
        raise NotKnown(f"{count} reading(s): a scatter needs at least 2 readings of the same thing")
    return np.std(values, axis=-1, ddof=1) / np.sqrt(count)


def instrument_uncertainty(instrument: str, value: Numbers) -> Numbers:
    """Standard uncertainty of one reading with an uncalibrated instrument, by what such instruments usually do.

    u = sqrt(step^2/12 + (a + b |x|)^2/3)

    instrument: a row of the table `instruments`, such as `spring scale` [-]
    value:      what it read [SI], scalar or array; a temperature counts by its absolute bound only
    returns:    standard uncertainty [SI], shape of `value`

    Common practice, no source. A calibration certificate goes before it.
    Errors: `NotKnown` for an instrument not in the table.
    Source: practice

    >>> round(float(instrument_uncertainty("spring scale", 40.0)), 2)
    1.29
    """
    step, absolute, share = _instrument(instrument)
    return np.hypot(resolution_uncertainty(step), bound_uncertainty(absolute + share * np.abs(value)))


@cache
def _instrument(instrument: str) -> tuple[float, float, float]:
    table = load("instruments")
    rows = table.where(instrument=instrument)
    if not rows:
        known = ", ".join(str(row["instrument"]) for row in table.rows)
        raise NotKnown(f"nothing is known of a {instrument!r}: use one of {known}")
    row = rows[0]
    step, absolute = (sum(cast(float, row[name] or 0.0) for name in names) for names in (_STEPS, _BOUNDS))
    return step, absolute, cast(float, row["bound_share_pct"] or 0.0)


def combined(parts: Sequence[Numbers]) -> Numbers:
    """Standard uncertainty of a result from the parts of its independent inputs.

    u_c = sqrt(sum of (c_i u_i)^2)

    parts:   what each input puts in, signed or not [SI], scalars or arrays that broadcast
    returns: combined standard uncertainty [SI], shape of the broadcast parts

    First order: good while each uncertainty is small beside the value it belongs to (a tenth is).
    Source: gum, eq. 10

    >>> float(combined([3.0, -4.0]))
    5.0
    """
    return np.sqrt(sum(np.square(part) for part in parts))


def effective_degrees(parts: Sequence[Numbers], degrees: Sequence[Numbers]) -> Numbers:
    """Degrees of freedom of a combined uncertainty when some of its parts rest on few readings.

    nu_eff = u_c^4 / sum of (c_i u_i)^4/nu_i   (Welch and Satterthwaite)

    parts:   what each input puts in, signed or not [SI], scalars or arrays that broadcast
    degrees: degrees of freedom of each, one less than its readings, infinite for a bound [-], same order
    returns: effective degrees of freedom [-], infinite where no part rests on readings, shape of the broadcast parts

    Errors: `OutOfRange` for less than one degree of freedom.
    Source: gum, eq. G.2b

    >>> round(float(effective_degrees([3.0, 4.0], [4.0, np.inf])), 1)
    30.9
    """
    if any(np.any(np.asarray(each) < 1.0) for each in degrees):
        raise OutOfRange("degrees of freedom below 1: one reading has no scatter, at least 2 are needed")
    total = np.square(combined(parts)) ** 2
    weighed = sum(np.square(np.square(part)) / each for part, each in zip(parts, degrees, strict=True))
    total, weighed = np.broadcast_arrays(total, weighed)
    return np.divide(total, weighed, out=np.full(total.shape, np.inf), where=weighed > 0.0)[()]


def coverage_factor(degrees: Numbers, level: float = 0.95) -> Numbers:
    """How many standard uncertainties either side hold a stated share of cases.

    k = t_p(nu), nu taken down to the next row of the printed table

    degrees: effective degrees of freedom, infinite where it rests on no few readings [-], scalar or array
    level:   share of cases the band is to hold: 0.6827, 0.90, 0.95, 0.9545, 0.99 or 0.9973 [-], scalar
    returns: coverage factor [-], shape of `degrees`

    Errors: `OutOfRange` for less than one degree of freedom and for a level the table has not.
    Source: gum, table G.2

    >>> float(coverage_factor(np.inf)), float(coverage_factor(4.7))
    (1.96, 2.78)
    """
    if level not in LEVELS:
        raise OutOfRange(f"level of {level:g}: the table of Student's distribution has {', '.join(map(str, LEVELS))}")
    if not np.all(np.asarray(degrees) >= 1.0):
        raise OutOfRange("degrees of freedom below 1: one reading has no scatter, at least 2 are needed")
    rows, factors = _student(LEVELS[level])
    return factors[np.searchsorted(rows, degrees, side="right") - 1]


@cache
def _student(column: str) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    table = load("student_t")
    return np.asarray(table.column("degrees")), np.asarray(table.column(column))


def expanded(uncertainty: Numbers, degrees: Numbers = np.inf, level: float = 0.95) -> Numbers:
    """Half the width of the band, around the result, that holds the true value in a stated share of cases.

    U = k u

    uncertainty: combined standard uncertainty [SI], scalar or array
    degrees:     effective degrees of freedom [-], scalar or array
    level:       share of cases the band is to hold [-], scalar
    returns:     expanded uncertainty [SI], shape of the broadcast inputs

    Errors: as `coverage_factor`; `OutOfRange` for a negative uncertainty.
    Source: gum, eq. G.1d

    >>> round(float(expanded(10.0, degrees=4)), 1)
    27.8
    """
    at_least_zero("number", uncertainty=uncertainty)
    return coverage_factor(degrees, level) * uncertainty


def shares(value: Numbers, uncertainty: Numbers, low: Numbers, high: Numbers) -> Shares:
    """How likely the true value lies below a band, inside it, or above it.

    below = F((low - x)/u), above = F((x - high)/u), inside the rest; F the normal distribution

    value:       the result [SI], scalar or array
    uncertainty: its standard uncertainty [SI], scalar or array
    low:         lower end of the band, minus infinity if it has none [SI], scalar or array
    high:        upper end of the band, infinite if it has none [SI], scalar or array
    returns:     shares below, inside and above [-], each in the shape of the broadcast inputs

    Normal errors, right to 1e-7. If the uncertainty rests on few readings, hand in `expanded(u, degrees)` over
    `coverage_factor` of infinite degrees instead of u: the band is then right at that level.
    Errors: `OutOfRange` for an uncertainty of zero or less (no instrument is without) and a band upside down.
    Source: jcgm101

    >>> [round(float(share), 3) for share in shares(250.0, 20.0, low=230.0, high=345.0)]
    [0.159, 0.841, 0.0]
    """
    above_zero("number", uncertainty=uncertainty)
    if not np.all(np.asarray(low) <= np.asarray(high)):
        raise OutOfRange("the lower end of the band lies above its upper end: give the lower one first")
    below, above = _share_under((low - value) / uncertainty), _share_under((value - high) / uncertainty)
    return Shares(below, np.maximum(1.0 - below - above, 0.0), above)


def _share_under(z: Numbers) -> Numbers:
    """Normal distribution by Abramowitz and Stegun 26.2.17, error below 7.5e-8; SciPy's would take 0.2 s to import."""
    t = 1.0 / (1.0 + 0.2316419 * np.abs(z))
    density = np.exp(-0.5 * np.square(z)) / np.sqrt(2.0 * np.pi)
    tail = density * t * (0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
    return np.where(np.asarray(z) < 0.0, tail, 1.0 - tail)[()]


def force_spread(force: Numbers, span: Numbers, deflection: Numbers, allowance: Numbers, *,
                 force_uncertainty: Numbers, span_uncertainty: Numbers, deflection_uncertainty: Numbers,
                 allowance_uncertainty: Numbers) -> Spread:
    """How well a deflection force tells the static tension.

    T = P t/(4 h) - Y (64 h/t)^2;  dT/dP = t/(4 h), dT/dY = -(64 h/t)^2, and with B = P t/(4 h) + 2 Y (64 h/t)^2,
    dT/dt = B/t, dT/dh = -B/h

    force:                  deflection force on one belt at mid-span [N], scalar or array
    span:                   free span [m], scalar or array
    deflection:             deflection at mid-span [m], scalar or array
    allowance:              stiffness allowance at 1/64 of the span [N], scalar or array
    force_uncertainty:      standard uncertainty of the force [N], scalar or array
    span_uncertainty:       standard uncertainty of the span [m], scalar or array
    deflection_uncertainty: standard uncertainty of the deflection [m], scalar or array
    allowance_uncertainty:  standard uncertainty of the allowance [N], scalar or array
    returns:                standard uncertainty of the tension and each input's part in it [N]

    For `deflection.tension_from_force`; span and deflection read apart, or the deflection read off a mark set from the
    span.
    Errors: `OutOfRange` for a force, deflection or span of zero or less.
    Source: gum, eq. 10

    >>> spread = force_spread(20.0, 0.64, 0.01, 20.0, force_uncertainty=1.0, span_uncertainty=0.003,
    ...                       deflection_uncertainty=0.0004, allowance_uncertainty=6.0)
    >>> round(float(spread.uncertainty), 1)
    22.4
    """
    above_zero("force", force=force)
    above_zero("length", deflection=deflection, span=span)
    share = (deflection / span / MARK) ** 2
    per_part = force * span / (4.0 * deflection) + 2.0 * allowance * share
    return _spread({
        "force": span / (4.0 * deflection) * force_uncertainty,
        "span": per_part * (span_uncertainty / span),
        "deflection": -per_part * (deflection_uncertainty / deflection),
        "allowance": -share * allowance_uncertainty,
    })


def frequency_spread(frequency: Numbers, span: Numbers, mass: Numbers, rigidity: Numbers = 0.0, *,
                     frequency_uncertainty: Numbers, span_uncertainty: Numbers, mass_uncertainty: Numbers,
                     rigidity_uncertainty: Numbers = 0.0) -> Spread:
    """How well the note of a plucked span tells the static tension.

    plain string: T = 4 m t^2 f^2; dT/df = 2 T/f, dT/dt = 2 T/t, dT/dm = T/m
    stiff ends, F = 2 t f sqrt(m), s = sqrt(T), q = sqrt(EI)/t, r = F - s - 2 q, B = 2 s/(1 - r/s):
    dT/df = B F/f, dT/dt = B (F + 2 q + 2 r)/t, dT/dm = B F/(2 m), dT/dEI = -B (q + r)/EI

    frequency:             first note of the still span [Hz], scalar or array
    span:                  free span [m], scalar or array
    mass:                  mass per length of one strand [kg/m], scalar or array
    rigidity:              bending stiffness of one strand, 0 for the plain string [N m2], scalar or array
    frequency_uncertainty: standard uncertainty of the note [Hz], scalar or array
    span_uncertainty:      standard uncertainty of the span [m], scalar or array
    mass_uncertainty:      standard uncertainty of the mass per length [kg/m], scalar or array
    rigidity_uncertainty:  standard uncertainty of the bending stiffness [N m2], scalar or array
    returns:               standard uncertainty of the tension and each input's part in it [N]

    For `frequency.tension_from_frequency`. With the plain string, that short thick spans read high is an error of its
    own, not counted here.
    Errors: `OutOfRange` as `tension_from_frequency`, and for an uncertain stiffness that is taken as zero.
    Source: gum, eq. 10

    >>> spread = frequency_spread(40.0, 0.5, 0.18, frequency_uncertainty=0.4, span_uncertainty=0.003,
    ...                           mass_uncertainty=0.009)
    >>> round(float(spread.uncertainty), 1)
    15.9
    """
    tension = tension_from_frequency(frequency, span, mass, rigidity)
    if np.any((np.asarray(rigidity) == 0.0) & (np.asarray(rigidity_uncertainty) > 0.0)):
        raise OutOfRange("bending stiffness of 0 with an uncertainty: give the stiffness that is uncertain")
    # s + 2 q + k q^2/s = F taken apart; its last term is what the others leave, so k is not needed
    F, s, q = 2.0 * span * frequency * np.sqrt(mass), np.sqrt(tension), np.sqrt(rigidity) / span
    r = F - s - 2.0 * q
    B = 2.0 * s / (1.0 - r / s)
    stiff = np.asarray(rigidity) > 0.0
    per_rigidity = np.divide(rigidity_uncertainty, rigidity, out=np.zeros(np.broadcast_shapes(
        stiff.shape, np.shape(rigidity_uncertainty))), where=stiff)[()]
    return _spread({
        "frequency": B * F * (frequency_uncertainty / frequency),
        "span": B * (F + 2.0 * (q + r)) * (span_uncertainty / span),
        "mass": 0.5 * B * F * (mass_uncertainty / mass),
        "rigidity": -B * (q + r) * per_rigidity,
    })


def _spread(parts: dict[str, Numbers]) -> Spread:
    return Spread(combined(list(parts.values())), MappingProxyType(parts))
