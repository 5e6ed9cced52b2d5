"""Room for the motor to move: slack-off to lay belts in by hand, take-up for what they will stretch.

Both are changes of the centre distance, by each published rule beside the others; they disagree, and the largest is
the safe one. ISO 155 has a rule of its own (sheave, length tolerance, crown and stretch, each a term), whose values
are not at hand, so it is not reckoned here.

Must not import other modules of `mechanics` but `sections`, `lengths` and `limits`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final, NamedTuple, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import InputError, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.lengths import geometry_length, inch_number
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.sections import section as section_of
from beltwright.tables import Trust, load

Names = str | npt.NDArray[np.str_]

_TABLES: Final = {"rma-classical": ("takeup_ip20", "RMA IP-20 table"), "rma-narrow": ("takeup_ip22", "RMA IP-22 table")}
_JOINED: Final = "for single belts: a joined band goes over the rim all at once and needs more"


class Travel(NamedTuple):
    """Slack-off: how much shorter the centre must go; take-up: how much longer. Both from the centre as set [m]."""

    slack_off: Numbers
    take_up: Numbers


@dataclass(frozen=True, slots=True)
class Allowance:
    """Slack-off and take-up by one published rule [m], with its name, source and trust."""

    rule: str
    title: str
    slack_off: Numbers
    take_up: Numbers
    source: str
    trust: Trust
    note: str = ""


@dataclass(frozen=True, slots=True)
class Allowances:
    """Every rule that speaks of a belt, and each that does not with the reason."""

    rules: tuple[Allowance, ...]
    left_out: tuple[tuple[str, str], ...]


class Largest(NamedTuple):
    """The largest slack-off and take-up of all rules [m], and which rule each comes from."""

    slack_off: Numbers
    slack_off_rule: Names
    take_up: Numbers
    take_up_rule: Names


def textbook_travel(length: Numbers) -> Travel:
    """Slack-off and take-up as design textbooks give them.

    C - 0.015 L_d to lay on, C + 0.03 L_d to take up

    length:  datum length, effective length for sections with effective widths [m], scalar or array
    returns: slack-off and take-up [m], shape of `length`

    Errors: `OutOfRange` for a length of zero or less.
    Source: design-textbook

    >>> [round(float(part), 4) for part in textbook_travel(2.0)]
    [0.03, 0.06]
    """
    return _share("textbook", length, 0.0)


def gbt_travel(length: Numbers, section: str, standard: str) -> Travel:
    """Slack-off and take-up by the step of GB/T 13575.1, which also asks room for the belt's width.

    C - (2 b_d + 0.009 L_d) to lay on, C + 0.02 L_d to take up

    length:   datum length [m], scalar or array
    section:  belt section [-]
    standard: rma, din, is or iso [-]
    returns:  slack-off and take-up [m], shape of `length`

    From memory. Sections with effective widths (3V to 8V, 9N to 25N) have no datum width, the rule does not speak of
    them.
    Errors: `OutOfRange` for a length of zero or less; `InputError` for a section without datum width.
    Source: gbt13575

    >>> [round(float(part), 4) for part in gbt_travel(2.0, "B", "iso")]
    [0.046, 0.04]
    """
    width = section_of(section, standard).datum_width
    if width is None:
        raise InputError(f"section {section} has no datum width: the rule of GB/T 13575.1 does not speak of it")
    return _share("gbt13575", length, width)


def rma_travel(number: Numbers, section: str, length: Numbers) -> Travel:
    """Slack-off and take-up of the inch tables, for single belts.

    The row of the table whose range of numbers holds N; classical belts above 390: take-up 0.015 L

    number:  number of the marking [-], scalar or array
    section: belt section of rma, a cogged one as its plain section [-]
    length:  the belt's datum or effective length [m], scalar or array
    returns: slack-off and take-up [m], shape of the broadcast inputs

    From memory.
    Errors: `OutOfRange` for a number the table has no figure for; see `rma_gives` for the mask.
    Source: ip20-1988; ip22 for the narrow sections

    >>> [round(float(part) / 0.0254, 2) for part in rma_travel(112, "B", length=2.89)]
    [1.25, 2.5]
    """
    above_zero("length", length=length)
    given = np.asarray(rma_gives(number, section))
    belt = section_of(section, "rma")
    if not np.all(given):
        first = float(np.asarray(number)[~given].flat[0])
        raise OutOfRange(f"{belt.name}{first:g}: the {_TABLES[belt.system.name][1]} has no slack-off for that belt")
    table = _columns(belt.system.name, belt.plain)
    row = np.searchsorted(table.to, np.rint(number))
    return Travel(table.slack_off[row], table.take_up[row] + table.share[row] * length)


def rma_gives(number: Numbers, section: str) -> Mask:
    """Where the inch tables have a slack-off and take-up for a belt.

    number:  number of the marking [-], scalar or array
    section: belt section of rma, a cogged one as its plain section [-]
    returns: true where they have [-], shape of `number`

    Errors: `InputError` for a section rma does not have.
    Source: ip20-1988; ip22 for the narrow sections

    >>> rma_gives(np.array([112.0, 160.0]), "A").tolist()
    [True, False]
    """
    belt = section_of(section, "rma")
    table = _columns(belt.system.name, belt.plain)
    whole = np.rint(number)
    inside = (whole >= 1) & (whole <= table.to[-1])
    row = np.searchsorted(table.to, np.where(inside, whole, 1.0))
    return inside & np.isfinite(table.slack_off[row])


def allowances(length: Numbers, length_as: str, section: str, standard: str, *, joined: bool = False) -> Allowances:
    """Slack-off and take-up of a belt by every published rule that speaks of it, each by name.

    length:    the belt's length [m], scalar or array
    length_as: which one that is: datum, inside, outside, effective or pitch [-]
    section:   belt section [-]
    standard:  rma, din, is or iso [-]
    joined:    whether the belts are joined in a band [-]
    returns:   the rules, and those left out with the reason [m]

    The inch tables speak of rma belts only. With arrays a rule is left out when it does not speak of every belt.
    Errors: `OutOfRange` for a length of zero or less; `InputError` for an unknown section, standard or length.
    Source: design-textbook; gbt13575, ip20-1988 and ip22 from memory

    >>> [(each.rule, round(float(each.slack_off), 3)) for each in allowances(2.0, "datum", "B", "iso").rules]
    [('textbook', 0.03), ('gbt13575', 0.046)]
    """
    belt = section_of(section, standard)
    known = geometry_length(length, length_as, section, standard)
    rules, left_out = [], []
    for row in load("takeup_rules").rows:
        rule, title = cast(str, row["rule"]), cast(str, row["title"])
        if row["datum_widths"] and belt.datum_width is None:
            left_out.append((title, f"section {belt.name} has no datum width"))
            continue
        travel = _share(rule, known, belt.datum_width or 0.0)
        rules.append(Allowance(rule, title, *travel, cast(str, row["source"]), cast(Trust, row["trust"])))
    if belt.standard != "rma":
        left_out.append(("RMA tables", "they speak of inch belts only"))
        return Allowances(tuple(rules), tuple(left_out))
    name, title = _TABLES[belt.system.name]
    number = inch_number(known, belt.system.length_as, belt.name)
    if np.all(rma_gives(number, belt.name)):
        table = load(name)
        rules.append(Allowance(table.source[0], title, *rma_travel(number, belt.name, known), table.source[0],
                               table.trust, _JOINED if joined else ""))
    else:
        left_out.append((title, "it has no figure for a belt of that length"))
    return Allowances(tuple(rules), tuple(left_out))


def largest(allowances: Sequence[Allowance]) -> Largest:
    """The largest slack-off and the largest take-up of several rules, and which rule each comes from.

    allowances: slack-off and take-up by rule, as `allowances` gives them [m], scalars or arrays
    returns:    the largest of each, and the rules' names [m], shape of the allowances

    Errors: `InputError` when there is no rule to choose from.
    Source: practice

    >>> most = largest(allowances(2.0, "datum", "B", "iso").rules)
    >>> str(most.slack_off_rule), str(most.take_up_rule)
    ('gbt13575', 'textbook')
    """
    if not allowances:
        raise InputError("no rule for slack-off and take-up to choose from")
    names = np.array([each.rule for each in allowances])
    slack_off = np.stack(np.broadcast_arrays(*(each.slack_off for each in allowances)))
    take_up = np.stack(np.broadcast_arrays(*(each.take_up for each in allowances)))
    return Largest(slack_off.max(axis=0), names[slack_off.argmax(axis=0)],
                   take_up.max(axis=0), names[take_up.argmax(axis=0)])


class _Columns(NamedTuple):
    to: npt.NDArray[np.float64]
    slack_off: npt.NDArray[np.float64]
    take_up: npt.NDArray[np.float64]
    share: npt.NDArray[np.float64]


@cache
def _columns(system: str, section: str) -> _Columns:
    # a blank cell is not-a-number in here only: `rma_gives` keeps it from getting out
    rows = load(_TABLES[system][0]).rows

    def column(name: str, blank: float) -> npt.NDArray[np.float64]:
        cells = (row.get(name) for row in rows)
        return np.array([blank if cell is None else cell for cell in cells], dtype=np.float64)

    return _Columns(column("to", np.nan), column(section, np.nan), column("take_up", 0.0),
                    column("take_up_share", 0.0))


def _share(rule: str, length: Numbers, width: float) -> Travel:
    above_zero("length", length=length)
    row = load("takeup_rules").where(rule=rule)[0]
    share, widths, take_up = (cast(float, row[name]) for name in ("slack_off_share", "datum_widths", "take_up_share"))
    return Travel(share * length + widths * width, take_up * length)
