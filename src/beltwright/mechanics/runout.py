"""How true a sheave has to be: run-out at the rim and at the face, outside diameter, grooves alike, grooves in line.

The inch rule grows from a base by steps per length of diameter, the metric rule is a share of the diameter; the two
are far apart (at 500 mm: 0.38 and 0.50 mm at the rim), so each is given by its own name.

Must not import other modules of `mechanics` but `sections` and `limits`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, cast

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Numbers
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.sections import Row
from beltwright.mechanics.sections import section as section_of
from beltwright.tables import Trust, load

_INCH: Final = "runout_ip"
_METRIC: Final = "runout_is3142"


@dataclass(frozen=True, slots=True)
class SheaveLimits:
    """What one rule allows a sheave [m]; none where the rule does not speak of it.

    radial, axial:     full swing of the dial, over a full turn, at the rim and at the face
    outside:           outside diameter, plus or minus
    groove_difference: between the diameters of any two grooves
    spacing:           groove spacings added up, plus or minus
    """

    rule: str
    radial: float
    axial: float
    outside: float | None
    groove_difference: float | None
    spacing: float | None
    source: str
    trust: Trust
    note: str


def radial_runout(outside: Numbers) -> Numbers:
    """Run-out allowed at the rim by the inch rule: full swing of the dial over one turn.

    0.010 in up to 10 in, 0.0005 in more for each further inch

    outside: outside diameter [m], scalar or array
    returns: full swing of the dial [m], shape of `outside`

    From memory. Errors: `OutOfRange` for a diameter of zero or less.
    Source: ip20-1988; ip22 alike

    >>> round(float(radial_runout(20.0 * 0.0254) / 0.0254), 4)
    0.015
    """
    return _grown("radial", outside)


def axial_runout(outside: Numbers) -> Numbers:
    """Run-out allowed at the face (wobble) by the inch rule: full swing of the dial over one turn.

    0.005 in up to 5 in, 0.001 in more for each further inch

    outside: outside diameter [m], scalar or array
    returns: full swing of the dial [m], shape of `outside`

    From memory. Errors: `OutOfRange` for a diameter of zero or less.
    Source: ip20-1988; ip22 alike

    >>> round(float(axial_runout(20.0 * 0.0254) / 0.0254), 4)
    0.02
    """
    return _grown("axial", outside)


def outside_tolerance(outside: Numbers) -> Numbers:
    """How far a sheave's outside diameter may be off, plus or minus, by the inch rule.

    0.020 in up to 8 in, 0.005 in more for each further inch

    outside: outside diameter [m], scalar or array
    returns: plus or minus [m], shape of `outside`

    From memory. Errors: `OutOfRange` for a diameter of zero or less.
    Source: ip20-1988; ip22 alike

    >>> round(float(outside_tolerance(10.0 * 0.0254) / 0.0254), 4)
    0.03
    """
    return _grown("outside", outside)


def groove_difference(outside: Numbers, grooves: Numbers) -> Numbers:
    """How far any two grooves of a sheave may differ in diameter, by the inch rule.

    to 19.9 in: 0.010 in for 6 grooves or less; from 20 in: 0.015 in for 10 or less; 0.0005 in more for each further

    outside: outside diameter [m], scalar or array
    grooves: number of grooves of the sheave [-], scalar or array
    returns: greatest difference of diameters [m], shape of the broadcast inputs

    From memory. A worn groove counts: the belt in it rides lower and runs slower than its neighbours.
    Errors: `OutOfRange` for a diameter of zero or less, or less than one groove.
    Source: ip20-1988; ip22 alike

    >>> [round(float(groove_difference(size * 0.0254, 8) / 0.0254), 4) for size in (12.0, 24.0)]
    [0.011, 0.015]
    """
    above_zero("length", outside=outside)
    if not np.all((np.asarray(grooves) >= 1) & np.isfinite(grooves)):
        raise OutOfRange("a sheave has one groove or more")
    small, large = load(_INCH).where(item="groove difference")
    is_small = np.asarray(outside) <= _cell(small, "up_to")
    sizes = (np.where(is_small, _cell(small, name), _cell(large, name)) for name in ("limit", "grooves", "per_groove"))
    limit, free, per_groove = sizes
    return limit + per_groove * np.maximum(grooves - free, 0.0)


def metric_runout(diameter: Numbers) -> Numbers:
    """Run-out and wobble allowed by the metric rule: a share of the diameter.

    0.001 d to 500 mm, 0.0015 d to 1500 mm, 0.002 d above

    diameter: diameter of the sheave [m], scalar or array
    returns:  run-out or wobble [m], shape of `diameter`

    Read in a weak reprint, whose middle share is misprinted tenfold and set right by its neighbours. Each share is
    taken of the whole diameter, so the limit jumps at 500 and 1500 mm.
    Errors: `OutOfRange` for a diameter of zero or less.
    Source: is3142

    >>> round(float(metric_runout(0.4)) * 1000, 3), round(float(metric_runout(0.6)) * 1000, 3)
    (0.4, 0.9)
    """
    above_zero("length", diameter=diameter)
    rows = load(_METRIC).rows
    shares = np.array([_cell(row, "share") for row in rows])
    return shares[np.searchsorted([_cell(row, "up_to") for row in rows[:-1]], diameter)] * diameter


def sheave_limits(outside: float, grooves: int, section: str, standard: str) -> tuple[SheaveLimits, ...]:
    """What a sheave is allowed, by every rule at hand; the rule of its own standard first.

    outside:  outside diameter [m], scalar
    grooves:  number of grooves [-], scalar
    section:  belt section the grooves are for [-]
    standard: rma, din, is or iso [-]
    returns:  limits by rule [m]

    No rule of ISO or DIN is at hand: for their sheaves both are given, the metric one first.
    Errors: `OutOfRange` for a diameter of zero or less or less than one groove; `InputError` for an unknown section
    or standard.
    Source: ip20-1988; is3142

    >>> [(each.rule, round(each.radial * 1000, 3)) for each in sheave_limits(0.3, 4, "B", "is")]
    [('IS 3142 rule', 0.3), ('RMA IP-20 and IP-22', 0.277)]
    """
    belt = section_of(section, standard)
    table, metric = load(_INCH), load(_METRIC)
    spacing = table.where(item=f"spacing {'classical' if 'classical' in belt.system.name else 'narrow'}")[0]
    swing = float(metric_runout(outside))
    rules = (
        SheaveLimits("RMA IP-20 and IP-22", float(radial_runout(outside)), float(axial_runout(outside)),
                     float(outside_tolerance(outside)), float(groove_difference(outside, grooves)),
                     _cell(spacing, "limit"), table.source[0], table.trust, table.validity),
        SheaveLimits("IS 3142 rule", swing, swing, None, None, None, metric.source[0], metric.trust, metric.validity),
    )
    return rules if belt.standard == "rma" else rules[::-1]


def _grown(item: str, outside: Numbers) -> Numbers:
    above_zero("length", outside=outside)
    row = load(_INCH).where(item=item)[0]
    further = np.maximum(outside - _cell(row, "up_to"), 0.0)
    return _cell(row, "limit") + _cell(row, "per_further") * further


def _cell(row: Row, name: str) -> float:
    return cast(float, row[name])
