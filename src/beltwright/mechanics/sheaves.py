"""Sheaves: grooves by diameter range, and the three diameters a sheave has.

The outside diameter is what a tape finds. The datum diameter is the wheel's name on a list and goes with datum
lengths in the geometry of a drive. The pitch diameter is where the belt runs at its speed: power and speed are
reckoned on it. How the three lie depends on the standard, and on its edition:

    RMA IP-20 (1988)   outside = datum + 2h_d, pitch = outside; before 1988 pitch = what is now called datum
    RMA IP-22          no datum diameter; pitch = outside - 2a, with 2a = 0 in newer editions and up to 0.2 in in older
    ISO, DIN, IS       outside = datum + 2b, pitch = datum; b is not the same in ISO 4183 and in IS 2494

Geometry needs a pair that belongs together: `geometry_diameter` here and `lengths.geometry_length`. Datum diameters
with a datum length, outside diameters with an effective length. A pitch diameter with a datum length is a mistake: it
puts the centre of an IP-20 B drive 0.55 in (14 mm) too near.

Must not import other modules of `mechanics` but `sections`, `grooves` and `limits`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final, Literal, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import InputError, NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.grooves import Groove, grooves_of
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.sections import DiameterAs
from beltwright.mechanics.sections import section as section_of
from beltwright.tables import Trust, load
from beltwright.units import from_si, show

Edition = Literal["newer", "older"]

# finer than any sheave is turned or measured: what a limit of a printed range may be missed by, in rounding only
ROUNDING: Final = 1e-6
# larger than any V-belt sheave: beyond it a number is a slip of the keyboard
LARGEST: Final = 10.0


@dataclass(frozen=True, slots=True)
class Gauge:
    """The groove gauge to take along: section, angle [rad] and the range of sheaves it is for, in words."""

    section: str
    angle: float
    text: str


@dataclass(frozen=True, slots=True)
class StandardDiameters:
    """Diameters sheaves are made in, smallest first [m], which diameter that is, where from and how far to trust it."""

    diameters: tuple[float, ...]
    diameter_as: DiameterAs
    source: str
    trust: Trust


def outside_diameter(diameter: Numbers, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
                     combination: bool = False) -> Numbers:
    """Outside diameter of a sheave, over the rim, from whichever diameter is known.

    RMA IP-20: d_o = d_d + 2h_d; ISO, DIN, IS: d_o = d_d + 2b; RMA IP-22: d_o = d_p + 2a

    diameter:    the diameter known [m], scalar or array
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section the grooves are for [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether the grooves are A/B combination grooves [-]
    returns:     outside diameter [m], shape of `diameter`

    Grooves as the standard draws them; a rim turned down or a deeper groove is not seen.
    Errors: `OutOfRange` for a diameter no sheave of the section has; `InputError` for an unknown section, standard,
    edition or a diameter the standard does not have.
    Source: mh31, table 9; iso4183 for the metric sections

    >>> round(float(outside_diameter(0.180, "datum", "B", "iso")), 4)
    0.187
    """
    return _convert(diameter, diameter_as, "outside", section, standard, edition, combination)


def datum_diameter(diameter: Numbers, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
                   combination: bool = False) -> Numbers:
    """Datum diameter of a sheave from whichever diameter is known.

    RMA IP-20: d_d = d_o - 2h_d; ISO, DIN, IS: d_d = d_o - 2b

    diameter:    the diameter known [m], scalar or array
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section the grooves are for [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether the grooves are A/B combination grooves [-]
    returns:     datum diameter [m], shape of `diameter`

    Narrow sections with effective widths (3V, 5V, 8V, 9N, 15N, 25N) have no datum diameter.
    Errors: as `outside_diameter`.
    Source: mh31, table 9; iso4183 for the metric sections

    >>> round(float(datum_diameter(0.187, "outside", "B", "iso")), 4)
    0.18
    """
    return _convert(diameter, diameter_as, "datum", section, standard, edition, combination)


def pitch_diameter(diameter: Numbers, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
                   combination: bool = False) -> Numbers:
    """Pitch diameter of a sheave, for power and speed, from whichever diameter is known. Not for geometry.

    RMA IP-20 (1988): d_p = d_o; older: d_p = d_o - 2h_d; RMA IP-22: d_p = d_o - 2a; ISO, DIN, IS: d_p = d_d

    diameter:    the diameter known [m], scalar or array
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section the grooves are for [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether the grooves are A/B combination grooves [-]
    returns:     pitch diameter [m], shape of `diameter`

    IP-20 of 1988 lays the pitch line at the rim, earlier editions at the datum line; E grooves exist in the earlier
    ones only. IP-22: 2a is 0 in newer editions, 0.05, 0.10 and 0.20 in in older ones for 3V, 5V and 8V (from memory);
    the speed ratio of a drive changes by less than 2 percent.
    Errors: as `outside_diameter`.
    Source: mh31, table 9; ip22 for the narrow sections

    >>> round(float(pitch_diameter(5.4 * 0.0254, "datum", "B", "rma") / 0.0254), 2)
    5.75
    >>> round(float(pitch_diameter(8.0 * 0.0254, "outside", "5V", "rma", edition="older") / 0.0254), 2)
    7.9
    """
    return _convert(diameter, diameter_as, "pitch", section, standard, edition, combination)


def geometry_diameter(diameter: Numbers, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
                      combination: bool = False) -> Numbers:
    """The diameter that goes with `lengths.geometry_length`: for belt length, centre distance, wrap and span.

    Datum diameters with datum lengths (RMA classical, ISO, DIN, IS); outside diameters with effective lengths (3V to
    8V, 9N to 25N)

    diameter:    the diameter known [m], scalar or array
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section the grooves are for [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether the grooves are A/B combination grooves [-]
    returns:     the diameter for geometry [m], shape of `diameter`

    Errors: as `outside_diameter`.
    Source: ip20-1988

    >>> round(float(geometry_diameter(5.75 * 0.0254, "outside", "B", "rma") / 0.0254), 2)
    5.4
    >>> geometry_diameter(0.2, "outside", "5V", "rma")
    0.2
    """
    wanted = section_of(section, standard).system.diameter_as
    return _convert(diameter, diameter_as, wanted, section, standard, edition, combination)


def convertible(diameter: Numbers, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
                combination: bool = False) -> Mask:
    """Where a diameter is one a sheave of the section can have: what the conversions here accept.

    2 h_g < d_o < 10 m

    diameter:    the diameter known [m], scalar or array
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section the grooves are for [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether the grooves are A/B combination grooves [-]
    returns:     true where it can be [-], shape of `diameter`

    Sheaves below the smallest recommended are accepted: see `meets_smallest`.
    Source: practice

    >>> convertible(np.array([0.2, 125.0, np.nan]), "outside", "B", "iso").tolist()
    [True, False, False]
    """
    grooves = grooves_of(section, standard, combination)
    known = _diameter_as(diameter_as)
    over_rim = diameter + _less(grooves[0], known, _edition(edition))
    return (over_rim > 2 * grooves[0].depth) & (over_rim < LARGEST)


def meets_smallest(diameter: Numbers, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
                   combination: bool = False) -> Mask:
    """Where a sheave is at least the smallest recommended for its section.

    d >= d_min, both taken as the diameter the standard states its smallest in

    diameter:    the diameter known [m], scalar or array
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section that runs on it [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether the grooves are A/B combination grooves [-]
    returns:     true where it is large enough [-], shape of `diameter`

    Errors: as `outside_diameter`.
    Source: mh31, table 9; din-normen and is2494 for the metric sections; ip22 from memory

    >>> meets_smallest(0.125, "datum", "B", "din"), meets_smallest(0.125, "datum", "B", "rma")
    (True, False)
    """
    belt = section_of(section, standard)
    smallest, smallest_as = belt.smallest, belt.smallest_as
    if combination:
        grooves_of(section, standard, combination)
        smallest = cast(float, load("smallest_combination").where(section=belt.name)[0]["smallest"])
        smallest_as = "datum"
    return _convert(diameter, diameter_as, smallest_as, section, standard, edition, combination) >= smallest - ROUNDING


def groove_angle(diameter: Numbers, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
                 combination: bool = False) -> Numbers:
    """Angle of the groove, flank to flank, for sheaves of any diameter: small sheaves have the narrower angle.

    The row of the standard's table whose range of diameters holds d

    diameter:    the diameter known [m], scalar or array
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section the grooves are for [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether the grooves are A/B combination grooves [-]
    returns:     groove angle; half of it is `half_angle` elsewhere [rad], shape of `diameter`

    Errors: as `outside_diameter`.
    Source: mh31, table 9; ip22 and iso4183 from memory

    >>> np.degrees(groove_angle(np.array([0.18, 0.20]), "datum", "SPB", "iso")).round(1).tolist()
    [34.0, 38.0]
    """
    grooves = grooves_of(section, standard, combination)
    which = _which(grooves, diameter, diameter_as, edition)
    return np.array([each.angle for each in grooves])[which]


def groove(diameter: float, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
           combination: bool = False) -> Groove:
    """The groove a sheave has: angle, widths, depth, spacing, edge and measuring rod, by its diameter.

    The row of the standard's table whose range of diameters holds d

    diameter:    the diameter known, one sheave [m], scalar
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section the groove is for [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether it is an A/B combination groove [-]
    returns:     the groove [m], angles [rad]

    ISO, DIN, IS: the top width follows from datum width, rim height and angle, w_d + 2 b tan(angle/2).
    Errors: as `outside_diameter`.
    Source: mh31, table 9; ip22 and iso4183 from memory

    >>> round(groove(0.1, "datum", "A", "iso").top_width * 1000, 2)
    12.68
    """
    grooves = grooves_of(section, standard, combination)
    return grooves[int(np.asarray(_which(grooves, diameter, diameter_as, edition)).item())]


def groove_gauge(diameter: float, diameter_as: str, section: str, standard: str, *, edition: str = "newer",
                 combination: bool = False) -> Gauge:
    """The groove gauge to take to a sheave: by section, angle and range of diameters.

    diameter:    the diameter known, one sheave [m], scalar
    diameter_as: which one that is: outside, datum or pitch [-]
    section:     belt section the groove is for [-]
    standard:    rma, din, is or iso [-]
    edition:     newer or older, where the inch standards lay the pitch diameter [-]
    combination: whether it is an A/B combination groove [-]
    returns:     the gauge, with its angle [rad]

    A gauge of the wrong range shows wear that is not there, or hides what is.
    Errors: as `outside_diameter`.
    Source: bloch, p. 313

    >>> groove_gauge(0.1, "datum", "B", "rma").text
    'B groove gauge, 34°, for sheaves up to 7 in datum diameter'
    """
    found = groove(diameter, diameter_as, section, standard, edition=edition, combination=combination)
    unit = "in" if found.standard == "rma" else "mm"
    limits = [f"{word} {from_si(limit, unit, 'length'):.5g}"
              for word, limit in (("over", found.above), ("up to", found.up_to)) if limit is not None]
    name = "A/B combination" if combination else found.section
    text = (f"{name} groove gauge, {from_si(found.angle, 'deg', 'angle'):.3g}°, for sheaves {' '.join(limits)} {unit} "
            f"{found.diameter_as} diameter")
    return Gauge(found.section, found.angle, text)


def face_width(grooves: Numbers, section: str, standard: str, *, combination: bool = False) -> Numbers:
    """Width of a sheave's face over all its grooves.

    B = S_g (N_g - 1) + 2 S_e

    grooves:     number of grooves [-], scalar or array
    section:     belt section the grooves are for [-]
    standard:    rma, din, is or iso [-]
    combination: whether the grooves are A/B combination grooves [-]
    returns:     face width [m], shape of `grooves`

    Nominal spacing and edge; 9N to 25N: the least edge. Sheaves with wider spacing are made.
    Errors: `OutOfRange` for less than one groove; `InputError` for an unknown section or standard.
    Source: mh31, p. 2577

    >>> round(float(face_width(4, "B", "rma") / 0.0254), 2)
    3.25
    """
    if not np.all((np.asarray(grooves) >= 1) & np.isfinite(grooves)):
        raise OutOfRange(f"a sheave of {_first(np.asarray(grooves) >= 1, grooves):g} grooves: one or more is needed")
    drawn = grooves_of(section, standard, combination)[0]
    return drawn.spacing * (grooves - 1) + 2 * drawn.edge


@cache
def standard_diameters(section: str, standard: str) -> StandardDiameters:
    """Diameters sheaves of a section are made in.

    section:  belt section, in either case; a cogged one has the sheaves of its plain section [-]
    standard: rma, din, is or iso [-]
    returns:  diameters, smallest first [m]

    Inch: common stock sizes, no standard fixes them, and some are below the smallest recommended. All from memory.
    Errors: `NotKnown` where no series is known (E inch; 9N, 15N, 25N); `InputError` for an unknown section.
    Source: iso4183

    >>> [round(d * 1000) for d in standard_diameters("SPZ", "iso").diameters[:4]]
    [63, 67, 71, 75]
    """
    belt = section_of(section, standard)
    table = load("sheave_diameters_inch" if belt.standard == "rma" else "sheave_diameters_metric")
    rows = table.where(section=belt.plain)
    if not rows:
        raise NotKnown(f"no series of sheave diameters is known here for section {belt.name} under {belt.standard}")
    diameter_as = _diameter_as(cast(str, rows[0].get("diameter_as", "datum")))
    return StandardDiameters(tuple(cast(float, row["diameter"]) for row in rows), diameter_as, table.source[0],
                             table.trust)


def _less(drawn: Groove, diameter_as: DiameterAs, edition: Edition) -> float:
    # how much smaller a diameter is than the outside diameter
    if diameter_as == "outside":
        return 0.0
    if diameter_as == "pitch":
        return drawn.outside_less_pitch if edition == "newer" else drawn.outside_less_pitch_older
    if drawn.outside_less_datum is None:
        raise InputError(f"section {drawn.section} has no datum diameter: give the outside or the pitch diameter")
    return drawn.outside_less_datum


def _which(grooves: tuple[Groove, ...], diameter: Numbers, diameter_as: str, edition: str) -> npt.NDArray[np.intp]:
    # the range of the table each diameter falls in; its limits are taken over to the diameter that is known
    known, issue = _diameter_as(diameter_as), _edition(edition)
    _refuse(grooves[0], diameter, known, issue)
    limits = [cast(float, each.up_to) + _less(each, each.diameter_as, issue) - _less(each, known, issue) + ROUNDING
              for each in grooves[:-1]]
    return np.searchsorted(limits, diameter)


def _convert(diameter: Numbers, diameter_as: str, wanted: DiameterAs, section: str, standard: str, edition: str,
             combination: bool) -> Numbers:
    grooves = grooves_of(section, standard, combination)
    known, issue = _diameter_as(diameter_as), _edition(edition)
    steps = [_less(each, known, issue) - _less(each, wanted, issue) for each in grooves]
    if max(steps) == min(steps):
        _refuse(grooves[0], diameter, known, issue)
        return diameter + steps[0]
    return diameter + np.array(steps)[_which(grooves, diameter, diameter_as, edition)]


def _refuse(drawn: Groove, diameter: Numbers, known: DiameterAs, edition: Edition) -> None:
    above_zero("length", diameter=diameter)
    least = 2 * drawn.depth - _less(drawn, known, edition)
    possible = (np.asarray(diameter) > least) & (np.asarray(diameter) < LARGEST)
    if not np.all(possible):
        value = _first(possible, diameter)
        raise OutOfRange(f"{known} diameter of {show(value, 'length', 'si')} ({show(value, 'length', 'inch')}): a "
                         f"sheave with {drawn.section} grooves is larger than {show(least, 'length', 'si')} and "
                         f"smaller than {show(LARGEST, 'length', 'si')}")


def _first(possible: Mask, values: Numbers) -> float:
    return float(np.asarray(values)[~np.asarray(possible)].flat[0])


def _diameter_as(diameter_as: str) -> DiameterAs:
    for known in ("outside", "datum", "pitch"):
        if diameter_as == known:
            return known
    raise InputError(f"unknown diameter {diameter_as!r}: say outside, datum or pitch")


def _edition(edition: str) -> Edition:
    for known in ("newer", "older"):
        if edition == known:
            return known
    raise InputError(f"unknown edition {edition!r}: say newer or older")
