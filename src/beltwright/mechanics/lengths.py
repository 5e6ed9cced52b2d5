"""Belt lengths: what a marking says, and the lengths of one belt in each other's terms, by the standard followed.

A belt has several lengths and its marking names one of them, which one depends on the standard: RMA classical numbers
give the datum length in inches after an addition that changes at 240, 3V to 8V numbers tenths of an inch of effective
(outside) length, DIN 2215 and IS 2494 inside lengths with different steps to the datum length, ISO datum lengths.
Nothing here goes over from one standard to another; where a marking does not settle its standard, it is asked for.

The geometry of a drive needs a length and diameters that belong together: `geometry_length` here and
`sheaves.geometry_diameter`. The pitch length with pitch diameters gives the same centre; any other pair does not.

Must not import other modules of `mechanics` but `sections`, `length_steps` and `limits`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, cast

import numpy as np

from beltwright.errors import InputError, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.length_steps import Step, inch_rules, steps_of
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.sections import LengthAs, Section, Standard, accepted, standards_of
from beltwright.mechanics.sections import section as section_of
from beltwright.tables import Trust, load
from beltwright.units import INCH, KINDS, show

LENGTHS: Final[tuple[LengthAs, ...]] = ("datum", "pitch", "effective", "outside", "inside")
MILLIMETRE: Final = KINDS["length"]["mm"][0]

# a section and its number, with or without a count before and the kind of length behind: `4 x B112`, `SPB 2500 Ld`
_LETTERS: Final = re.compile(r"^(\d{0,2}[A-Z]{1,3})[ -]?(\d{2,5})(?: ?(LI|LD|LW|LA|LE))?$")
# DIN names a section by its top width in mm: `17x2500 Li`
_WIDTHS: Final = re.compile(r"^(\d{2}) ?X ?(\d{3,5})(?: ?(LI|LD|LW|LA))?$")
_COUNT: Final = re.compile(r"^(\d{1,2}) ?X ?(?=\d{0,2}[A-Z]|\d{2} ?X)")
_SUFFIX: Final[Mapping[str, LengthAs]] = MappingProxyType({
    "LI": "inside", "LD": "datum", "LW": "datum", "LA": "outside", "LE": "effective"})
_FORMS: Final = "B112, 5V1250, SPB 2500, 17x2500 Li or 4 x B112"

_MARKED_AS: Final[Mapping[str, LengthAs]] = MappingProxyType({
    "inch number": "datum", "tenths of an inch": "effective", "inside": "inside", "datum": "datum",
    "effective": "effective"})


@dataclass(frozen=True, slots=True)
class Length:
    """One length of a belt, SI, with its source and trust."""

    value: Numbers
    source: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class Marking:
    """What a belt's marking says.

    text:              as read, spaces put in order
    length, length_as: the length it names [m], and which of the belt's lengths that is
    count:             belts or ribs, where the marking carries a count (`4 x B112`)
    joined:            true when it says so; none when a count leaves it open: a joined band, or that many belts
    """

    text: str
    section: str
    standard: Standard
    number: int
    length: float
    length_as: LengthAs
    count: int | None
    joined: bool | None


def read_marking(marking: str, standard: str | None = None) -> Marking:
    """What the marking on a belt says: section, standard and length.

    `B112` section and inch number, `5V1250` section and tenths of an inch, `SPB 2500` section and datum length in mm,
    `17x2500 Li` top width and inside length in mm, `4 x B112` four of them, `4 x B112 joined` a band of four ribs

    marking:  as printed on the belt [-]
    standard: rma, din, is or iso, where it is known; none where the marking must say it [-]
    returns:  the marking, its length [m]

    Small numbers of A to E and AX to CX are inch numbers (A16 to A180), SPx and XPx are ISO, 3V to 8V inch. A metric
    number of a classical section (B 2500) may be the inside length of DIN or of IS or the datum length of ISO, which
    differ by up to 43 mm on that belt: refused until the standard is named, or the marking ends in Ld.
    Errors: `InputError` for a marking that cannot be read or does not settle its standard, with what is accepted;
    `OutOfRange` for a number no belt of the section carries.
    Source: practice

    >>> read_marking("B112").standard, read_marking("spb2500").standard, read_marking("4 x 3VX630").count
    ('rma', 'iso', 4)
    >>> read_marking("SPB 2500").length, read_marking("17x2500 Li").section
    (2.5, 'B')
    """
    text = " ".join(marking.replace("×", "x").split())
    rest = text.upper()
    joined = rest.endswith((" JOINED", " BANDED"))
    rest = rest.rsplit(" ", 1)[0] if joined else rest
    count = None
    if found := _COUNT.match(rest):
        count, rest = int(found[1]), rest[found.end():]
    section, digits, suffix = _parts(rest, text)
    number = int(digits)
    if _WIDTHS.match(rest):
        if standard not in (None, "din"):
            raise InputError(f"{text}: a marking by top width is DIN's, not {standard}'s")
        whose: Standard = "din"
    else:
        whose = section_of(section, standard or _settled(section, number, suffix)).standard
    belt = section_of(section, whose)
    if suffix is not None and whose == "rma":
        raise InputError(f"{text}: a belt of rma carries a number, not a length with {suffix.capitalize()}")
    length = float(marked_length(number, section, whose))
    length_as = _SUFFIX[suffix] if suffix else marked_as(section, whose)
    _step(belt, length_as, "newer")
    if count == 0:
        raise InputError(f"{text}: a count of one or more is needed")
    return Marking(text, section, whose, number, length, length_as, count,
                   True if joined else False if count is None else None)


def marked_length(number: Numbers, section: str, standard: str) -> Numbers:
    """The length a marking's number stands for, as `marked_as` says.

    RMA classical: L_d = N + 1.3 in (A), N + 1.8 (B), N + 2.9 (C), N + 3.3 (D), N + 4.5 (E); from 240 up: B + 0.3,
    C + 0.9, D + 0.8, E + 1.0; RMA narrow: L_e = N/10 in; DIN and IS: L_i = N mm; ISO: L_d = N mm (9N to 25N: L_e)

    number:   number of the marking, without the section [-], scalar or array
    section:  belt section, a cogged one as its plain section [-]
    standard: rma, din, is or iso [-]
    returns:  datum, effective or inside length [m], shape of `number`

    The additions follow from the printed datum lengths; those of E are from memory. Between 210 and 240 of RMA B, C, D
    and E nothing is published.
    Errors: `OutOfRange` for a number no belt of the section carries; see `marks` for the mask.
    Source: mh31, table 8; ip22, iso4184 and is2494 for the others

    >>> (marked_length(np.array([112, 240]), "B", "rma") / 0.0254).round(1).tolist()
    [113.8, 240.3]
    """
    belt = section_of(section, standard)
    accepted = marks(number, section, standard)
    if not np.all(accepted):
        raise OutOfRange(_no_number(float(np.asarray(number)[~np.asarray(accepted)].flat[0]), belt))
    if belt.standard != "rma":
        return number * MILLIMETRE
    rows = inch_rules(belt.plain)
    adds = np.array([row["add"] for row in rows])
    return number * INCH / rows[0]["divisor"] + adds[np.searchsorted([row["from"] for row in rows[1:]], number,
                                                                     side="right")]


def marks(number: Numbers, section: str, standard: str) -> Mask:
    """Where a number is one that a belt of the section can carry under a standard.

    number:   number of the marking, without the section [-], scalar or array
    section:  belt section, a cogged one as its plain section [-]
    standard: rma, din, is or iso [-]
    returns:  true where it can [-], shape of `number`

    Wide bounds, by common practice; between 210 and 240 the RMA rule of B, C, D and E is not published.
    Errors: `InputError` for an unknown section or standard.
    Source: practice

    >>> marks(np.array([112.0, 225.0, 2500.0]), "B", "rma").tolist()
    [True, False, False]
    """
    belt = section_of(section, standard)
    if belt.standard == "rma":
        ranges = [(row["from"], row["to"]) for row in inch_rules(belt.plain)]
    else:
        row = load("length_markings_metric").where(section=belt.plain)[0]
        ranges = [(cast(float, row["from"]) / MILLIMETRE, cast(float, row["to"]) / MILLIMETRE)]
    values = np.asarray(number)
    return np.logical_or.reduce([(values >= low) & (values <= high) for low, high in ranges])


def marked_as(section: str, standard: str) -> LengthAs:
    """Which length the number of a marking gives.

    section:  belt section [-]
    standard: rma, din, is or iso [-]
    returns:  datum, effective or inside [-]

    Errors: `InputError` for an unknown section or standard.
    Source: ip20-1988

    >>> marked_as("B", "rma"), marked_as("B", "din"), marked_as("5V", "rma")
    ('datum', 'inside', 'effective')
    """
    return _MARKED_AS[section_of(section, standard).system.marked_as]


def inch_number(length: Numbers, length_as: str, section: str) -> Numbers:
    """The number an inch belt of a given length would carry: to find its row in a table, not to mark it.

    The inverse of `marked_length`; between the numbers 210 and 240 the smaller addition's branch is carried on

    length:    the length known [m], scalar or array
    length_as: which one that is: datum, inside, outside, effective or pitch [-]
    section:   belt section of rma [-]
    returns:   number, not rounded [-], shape of `length`

    Errors: `OutOfRange` for a length of zero or less; `InputError` for a section rma does not have.
    Source: mh31, table 8

    >>> round(float(inch_number(113.8 * 0.0254, "datum", "B")), 6)
    112.0
    """
    belt = section_of(section, "rma")
    rows = inch_rules(belt.plain)
    known = geometry_length(length, length_as, section, "rma")
    changes = [(row["from"] - 0.5) * INCH + row["add"] for row in rows[1:]]
    adds = np.array([row["add"] for row in rows])[np.searchsorted(changes, known)]
    return (known - adds) / INCH * rows[0]["divisor"]


def geometry_length(length: Numbers, length_as: str, section: str, standard: str, *,
                    edition: str = "newer") -> Numbers:
    """The length that goes with `sheaves.geometry_diameter`: for centre distance, wrap and span.

    The datum length of RMA classical, ISO, DIN and IS belts; the effective length of 3V to 8V and 9N to 25N

    length:    the length known [m], scalar or array
    length_as: which one that is: datum, inside, outside, effective or pitch [-]
    section:   belt section [-]
    standard:  rma, din, is or iso [-]
    edition:   newer or older, where the inch standards lay the pitch line [-]
    returns:   the length for geometry [m], shape of `length`

    Errors: `OutOfRange` for a length of zero or less, or beyond where the standard gives the step; `InputError` for an
    unknown section or standard, or a length the standard does not have.
    Source: ip20-1988

    >>> [round(float(geometry_length(2.5, "inside", "B", whose)), 3) for whose in ("din", "is")]
    [2.54, 2.543]
    """
    belt = section_of(section, standard)
    known = _step(belt, _length_as(length_as), edition)
    above_zero("length", length=length)
    _refuse_beyond(belt, known, length, known.limit + known.step, length_as)
    return length - known.step


def convert_length(length: Numbers, length_as: str, wanted: str, section: str, standard: str, *,
                   edition: str = "newer") -> Numbers:
    """A belt's length in another's terms, within one standard.

    L_i = L_d - step, L_o = L_d + step, by the standard's own steps

    length:    the length known [m], scalar or array
    length_as: which one that is: datum, inside, outside, effective or pitch [-]
    wanted:    which one is wanted [-]
    section:   belt section [-]
    standard:  rma, din, is or iso [-]
    edition:   newer or older, where the inch standards lay the pitch line [-]
    returns:   the length wanted [m], shape of `length`

    Where a standard gives no outside length, the belt's top is taken flush with the rim: L_o = L_d + pi (d_o - d_d),
    which agrees with the published steps within 3 mm (B of DIN: 7 mm).
    Errors: as `geometry_length`.
    Source: din2215; iso4184 and is2494 from memory; statics for the outside lengths not published

    >>> round(float(convert_length(2.5, "datum", "outside", "SPB", "iso")), 3)
    2.522
    """
    belt = section_of(section, standard)
    base = geometry_length(length, length_as, section, standard, edition=edition)
    to = _step(belt, _length_as(wanted), edition)
    _refuse_beyond(belt, to, base, to.limit, wanted)
    return base + to.step


def pitch_length(length: Numbers, length_as: str, section: str, standard: str, *, edition: str = "newer") -> Numbers:
    """Length of a belt on the pitch line: with pitch diameters, and only with them, it gives the true centre.

    L_p = L_d + pi (d_p - d_d); RMA narrow: L_p = L_e - pi 2a

    length:    the length known [m], scalar or array
    length_as: which one that is: datum, inside, outside, effective or pitch [-]
    section:   belt section [-]
    standard:  rma, din, is or iso [-]
    edition:   newer or older, where the inch standards lay the pitch line [-]
    returns:   pitch length [m], shape of `length`

    A line drawn at one distance outside another, all round, is longer by 2 pi times that distance. For geometry
    `geometry_length` is the one the standards print.
    Errors: as `geometry_length`.
    Source: statics

    >>> round(float(pitch_length(113.8 * 0.0254, "datum", "B", "rma") / 0.0254), 2)
    114.9
    """
    return convert_length(length, length_as, "pitch", section, standard, edition=edition)


def other_lengths(length: Numbers, length_as: str, section: str, standard: str, *,
                  edition: str = "newer") -> Mapping[LengthAs, Length]:
    """Every length of a belt its standard lets one say, with source and trust of each step.

    length:    the length known [m], scalar or array
    length_as: which one that is: datum, inside, outside, effective or pitch [-]
    section:   belt section [-]
    standard:  rma, din, is or iso [-]
    edition:   newer or older, where the inch standards lay the pitch line [-]
    returns:   lengths by what they are called [m]

    Errors: as `geometry_length`.
    Source: din2215; iso4184 and is2494 from memory

    >>> {name: round(found.value * 1000) for name, found in other_lengths(2.5, "datum", "SPA", "iso").items()}
    {'datum': 2500, 'pitch': 2500, 'outside': 2518, 'inside': 2455}
    """
    belt = section_of(section, standard)
    base = geometry_length(length, length_as, section, standard, edition=edition)
    steps = ((name, steps_of(belt.name, belt.standard, edition).get(name)) for name in LENGTHS)
    return MappingProxyType({name: Length(base + step.step, step.source, step.trust) for name, step in steps
                             if step is not None and np.all(np.asarray(base) <= step.limit)})


def _step(belt: Section, length_as: LengthAs, edition: str) -> Step:
    found = steps_of(belt.name, belt.standard, edition)
    if length_as not in found:
        raise InputError(f"{belt.name} belts of {belt.standard} have no {length_as} length: give "
                         f"{' or '.join(found)} length")
    return found[length_as]


def _refuse_beyond(belt: Section, step: Step, length: Numbers, limit: float, called: str) -> None:
    if np.any(np.asarray(length) > limit + MILLIMETRE):
        value = float(np.max(np.asarray(length)))
        raise OutOfRange(f"{called} length of a {belt.name} belt at {show(value, 'length', 'inch')}: given only up to "
                         f"{show(limit, 'length', 'inch')} ({step.source})")


def _no_number(number: float, belt: Section) -> str:
    if belt.standard != "rma":
        row = load("length_markings_metric").where(section=belt.plain)[0]
        low, high = (show(cast(float, row[name]), "length", "si") for name in ("from", "to"))
        inch = "; for an inch number name the standard rma" if "rma" in standards_of(belt.name) else ""
        return f"{belt.name} {number:g} under {belt.standard}: {belt.name} belts run from {low} to {high}{inch}"
    rules = inch_rules(belt.plain)
    if rules[0]["to"] < number < rules[-1]["from"]:
        return (f"{belt.name}{number:g}: between {belt.name}{rules[0]['to']:g} and {belt.name}{rules[-1]['from']:g} "
                "the rule of the numbers changes and none is published: give the length itself")
    return (f"{belt.name}{number:g} is no inch number: {belt.name} belts of rma run from "
            f"{belt.name}{rules[0]['from']:g} to {belt.name}{rules[-1]['to']:g}")


def _length_as(length_as: str) -> LengthAs:
    for known in LENGTHS:
        if length_as == known:
            return known
    raise InputError(f"unknown length {length_as!r}: say datum, inside, outside, effective or pitch")


def _parts(rest: str, text: str) -> tuple[str, str, str | None]:
    # section, digits and kind of length of a marking without its count
    if found := _WIDTHS.match(rest):
        widths = {f"{section_of(name, 'din').width / MILLIMETRE:.0f}": name for name in accepted("din")
                  if not section_of(name, "din").cogged and section_of(name, "din").system.name == "din-classical"}
        if found[1] not in widths:
            raise InputError(f"{text}: no belt of DIN 2215 is {found[1]} mm wide; known are {', '.join(widths)} mm")
        return widths[found[1]], found[2], found[3]
    if found := _LETTERS.match(rest):
        standards_of(found[1])
        return found[1], found[2], found[3]
    raise InputError(f"cannot read the marking {text!r}: type it like {_FORMS}")


def _settled(section: str, number: int, suffix: str | None) -> Standard:
    # whose marking it is, where it says so itself
    places = standards_of(section)
    if len(places) == 1:
        return places[0]
    if suffix in ("LD", "LW") or (section_of(section, "iso").system.name != "iso-classical"):
        return "iso"
    metric = [place for place in places if place != "rma" and not (suffix == "LI" and place == "iso")]
    if suffix is None and not marks(number, section, "iso"):
        return places[0]
    if len(metric) == 1:
        return metric[0]
    choices = [f"{place} ({_SUFFIX[suffix] if suffix else marked_as(section, place)} length)" for place in metric]
    raise InputError(f"{section} {number}{' ' + suffix.capitalize() if suffix else ''} does not say whose length it "
                     f"is: name the standard {', '.join(choices[:-1])} or {choices[-1]}")
