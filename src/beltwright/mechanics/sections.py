"""Belt sections: their sizes, the smallest sheave they may run on, their mass and what their stiffness adds.

A section means nothing without the standard it follows: B under RMA IP-20 is 0.66 in wide and wants 5.4 in, under
DIN 2215 it is 17 mm and wants 125 mm, and the same letter and number name different lengths. So every answer here is
for a section and a standard (`rma`, `din`, `is`, `iso`), never for a letter alone; only mass and stiffness, which are
published by section, are asked without.

Must not import other modules of `mechanics`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final, Literal, cast

from beltwright.errors import InputError, NotKnown
from beltwright.tables import Trust, load

Standard = Literal["rma", "din", "is", "iso"]
DiameterAs = Literal["outside", "datum", "pitch"]
LengthAs = Literal["datum", "inside", "outside", "effective", "pitch"]
Row = Mapping[str, "float | str | None"]

# the sizes of one system are all inch or all metric: one file each
_SIZES: Final = ("sections_inch", "sections_metric")
# inch narrow sections and their metric twins share a groove and a stiffness
_TWINS: Final[Mapping[str, str]] = MappingProxyType({"9N": "3V", "15N": "5V", "25N": "8V"})


@dataclass(frozen=True, slots=True)
class System:
    """A standard as it applies to one family of sections.

    marked_as:   what the number on the belt is: `inch number`, `tenths of an inch`, `inside`, `datum`, `effective`
    length_as, diameter_as: the pair that belongs together in the geometry of a drive
    belts, sheaves: keys of the standards followed
    """

    name: str
    standard: Standard
    title: str
    belts: str
    sheaves: str
    marked_as: str
    length_as: LengthAs
    diameter_as: DiameterAs


@dataclass(frozen=True, slots=True)
class Section:
    """A belt section under one standard. Sizes in m.

    plain:           the section whose grooves it shares: B for BX, SPB for XPB
    datum_width:     width at the datum line, none in a system with effective widths
    smallest:        smallest sheave recommended, and `smallest_as` which diameter of it that is
    source, trust:   of the sizes; `smallest_source`, `smallest_trust` of the smallest sheave
    """

    name: str
    system: System
    plain: str
    width: float
    height: float
    datum_width: float | None
    effective_width: float | None
    smallest: float
    smallest_as: DiameterAs
    source: str
    trust: Trust
    smallest_source: str
    smallest_trust: Trust
    note: str

    @property
    def standard(self) -> Standard:
        """Whose sizes these are."""
        return self.system.standard

    @property
    def cogged(self) -> bool:
        """Notched on the inside: an X in its name."""
        return self.name != self.plain


@dataclass(frozen=True, slots=True)
class Published:
    """One published value: what it is called, SI value, source and trust."""

    name: str
    value: float
    source: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class Spread:
    """A value that several sources give: the one used, the lowest and highest of all, and each by name.

    source, trust: of the value used; note: what it leaves out or was taken over from
    """

    value: float
    low: float
    high: float
    source: str
    trust: Trust
    published: tuple[Published, ...]
    note: str = ""

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of all the sources, each once."""
        return tuple(dict.fromkeys(item.source for item in self.published))


@cache
def systems() -> Mapping[str, System]:
    """Every system of belts: a standard as it applies to one family of sections.

    returns: systems by name [-]

    Source: practice

    >>> systems()["rma-narrow"].length_as
    'effective'
    """
    made = (System(_text(row, "system"), cast(Standard, row["standard"]), _text(row, "title"), _text(row, "belts"),
                   _text(row, "sheaves"), _text(row, "marked_as"), cast(LengthAs, row["length_as"]),
                   cast(DiameterAs, row["diameter_as"])) for row in load("belt_systems").rows)
    return MappingProxyType({system.name: system for system in made})


@cache
def accepted(standard: str | None = None) -> tuple[str, ...]:
    """The sections Beltwright knows, in all or under one standard.

    standard: rma, din, is or iso; none for all [-]
    returns:  names of sections, in the order of the tables [-]

    Errors: `InputError` for an unknown standard.
    Source: practice

    >>> accepted("is")
    ('A', 'B', 'C', 'D', 'E')
    """
    if standard is not None:
        _standard(standard)
    return tuple(dict.fromkeys(name for (name, whose) in _all() if standard in (None, whose)))


@cache
def standards_of(name: str) -> tuple[Standard, ...]:
    """The standards that have a section.

    name:    belt section, in either case [-]
    returns: rma, din, is, iso, those that have it [-]

    Errors: `InputError` for a section no standard here has, with the list of those accepted.
    Source: practice

    >>> standards_of("5V"), standards_of("spb")
    (('rma',), ('din', 'iso'))
    """
    found = tuple(whose for whose in _standards() if (name.strip().upper(), whose) in _all())
    if not found:
        raise InputError(f"unknown belt section {name.strip()!r}: use {_listed(accepted())}")
    return found


@cache
def section(name: str, standard: str) -> Section:
    """A belt section under the standard it follows: sizes, smallest sheave and whose they are.

    name:     belt section, in either case: A to E, AX to CX, Z, 3V, 5VX, SPB, XPB, 15N, ... [-]
    standard: rma, din, is or iso [-]
    returns:  the section [m]

    Errors: `InputError` for an unknown section or standard, or a section the standard does not have; each says what
    is accepted.
    Source: practice

    >>> section("b", "din").smallest, section("B", "din").smallest_as
    (0.125, 'datum')
    >>> section("SPB", "rma")
    Traceback (most recent call last):
    beltwright.errors.InputError: section SPB is not a section of rma: its standards here are din and iso
    """
    whose = _standard(standard)
    known = name.strip().upper()
    places = standards_of(known)
    if whose not in places:
        raise InputError(f"section {known} is not a section of {whose}: "
                         f"its standards here are {_listed(places, 'and')}")
    return _all()[known, whose]


@cache
def mass_of(section: str, standard: str | None = None, joined: bool = False) -> Spread:
    """Mass per length of one strand of a section, with the spread between the sources. A weighed belt overrides it.

    section:  belt section, in either case [-]
    standard: the standard the belt follows: its own figure is used where it prints one; none for the usual [-]
    joined:   whether strands are joined in a band; then per rib, with its share of the back [-]
    returns:  mass of one strand, the lowest, the highest and each source's [kg/m]

    Sources differ by up to a sixth (C: 0.30 and 0.35 kg/m), and a tension read by frequency is wrong in proportion.
    Cogged belts: no standard gives their mass, 0.90 to 0.95 of the plain section is a rule of the trade. Joined bands
    other than narrow inch ones: the single strand's mass, and the note says that the back is missing.
    Errors: `InputError` for an unknown section or standard.
    Source: gbt13575

    >>> mass_of("B").value, mass_of("B").low, mass_of("B").high
    (0.17, 0.166, 0.193)
    """
    known = section.strip().upper()
    standards_of(known)
    whose = None if standard is None else _standard(standard)
    if known != _plain()[known]:
        return _cogged_mass(known, whose, joined)
    rows = load("belt_mass").where(section=known, strand="joined" if joined else "single")
    note = ""
    if joined and not rows:
        rows = load("belt_mass").where(section=known, strand="single")
        note = "mass of a single strand: the common back of the joined band is not in it; weigh the band"
    if not rows:
        raise NotKnown(f"no mass is published for section {known}: weigh a belt and divide by its length")
    own = next((row for row in rows if whose == "is" and row["source"] == "is2494"), rows[0])
    published = tuple(Published(_called(row), cast(float, row["mass"]), _text(row, "source"),
                                cast(Trust, row["trust"])) for row in rows)
    values = [item.value for item in published]
    return Spread(cast(float, own["mass"]), min(values), max(values), _text(own, "source"),
                  cast(Trust, own["trust"]), published, note)


@cache
def stiffness_of(section: str) -> Spread:
    """What one strand's stiffness adds to the tension when it is pressed in by 1/64 of its span, by every rule.

    section: belt section, in either case; a cogged one has the figure of its plain section [-]
    returns: allowance of one strand, the lowest, the highest and each rule's by name [N]

    The metric rule is used where it has the section, else the inch rule; both are from memory. The inch figures of A
    to D are about twice the metric ones. Cogged belts are softer than their plain section.
    Errors: `InputError` for an unknown section.
    Source: gbt13575

    >>> [(rule.name, round(rule.value, 1)) for rule in stiffness_of("B").published]
    [('GB/T 13575.1, dF0', 20.0), ('RMA, Y', 40.0)]
    """
    known = section.strip().upper()
    standards_of(known)
    plain = _plain()[known]
    name = _TWINS.get(plain, plain)
    inch_source = "ip22" if name in _TWINS.values() else "ip20-1988"
    rules = (("metric", "GB/T 13575.1, dF0", "gbt13575"), ("inch", "RMA, Y", inch_source))
    published = tuple(Published(title, cast(float, row[column]), source, "memory")
                      for row in load("stiffness_allowances").where(section=name)
                      for column, title, source in rules if row[column] is not None)
    if not published:
        raise NotKnown(f"no stiffness allowance is published for section {known}")
    values = [item.value for item in published]
    note = "" if known == name else f"figure of section {name}"
    return Spread(values[0], min(values), max(values), published[0].source, "memory", published, note)


def _cogged_mass(known: str, standard: str | None, joined: bool) -> Spread:
    plain = mass_of(_plain()[known], standard, joined)
    share = load("cogged_mass").where(section=known)[0]
    low, high = cast(float, share["low"]), cast(float, share["high"])
    return Spread((low + high) / 2 * plain.value, low * plain.low, high * plain.high, "practice",
                  cast(Trust, share["trust"]), plain.published,
                  f"{low:.2f} to {high:.2f} of section {_plain()[known]}; {plain.note}".removesuffix("; "))


def _called(row: Row) -> str:
    names = {"gbt13575": "GB/T 13575.1", "gbt13575-2": "GB/T 13575.2", "is2494": "IS 2494", "shigley": "Shigley"}
    note = cast("str | None", row["note"])
    return f"{names[_text(row, 'source')]}, {note}" if note else names[_text(row, "source")]


@cache
def _all() -> Mapping[tuple[str, Standard], Section]:
    found: dict[tuple[str, Standard], Section] = {}
    for row in (row for table in _SIZES for row in load(table).rows):
        system = systems()[_text(row, "system")]
        found[_text(row, "section"), system.standard] = Section(
            name=_text(row, "section"), system=system, plain=_text(row, "plain"), width=cast(float, row["width"]),
            height=cast(float, row["height"]), datum_width=cast("float | None", row["datum_width"]),
            effective_width=cast("float | None", row["effective_width"]), smallest=cast(float, row["smallest"]),
            smallest_as=cast(DiameterAs, row["smallest_as"]), source=_text(row, "source"),
            trust=cast(Trust, row["trust"]), smallest_source=_text(row, "smallest_source"),
            smallest_trust=cast(Trust, row["smallest_trust"]), note=cast("str | None", row["note"]) or "")
    return MappingProxyType(found)


@cache
def _plain() -> Mapping[str, str]:
    return MappingProxyType({known.name: known.plain for known in _all().values()})


def _standard(standard: str) -> Standard:
    whose = standard.strip().lower()
    for known in _standards():
        if whose == known:
            return known
    raise InputError(f"unknown standard {standard.strip()!r}: use {_listed(_standards())}")


@cache
def _standards() -> tuple[Standard, ...]:
    return tuple(dict.fromkeys(system.standard for system in systems().values()))


def _listed(names: tuple[str, ...], word: str = "or") -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {word} {names[-1]}"


def _text(row: Row, column: str) -> str:
    return cast(str, row[column])
