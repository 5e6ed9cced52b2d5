"""The service factor: how much more than its plate power a drive must be able to carry.

The table is the trade's usual one: driven machines in groups, two classes of driver, three bands of hours. Its hours
leave gaps (6 to 7, 11 to 15); a band is read across the gap the way Mott words it, from memory, and is never
interpolated. Finding the row that fits what a person wrote is no business of this module. Imports only
`limits` of `mechanics` and knows no record.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final, cast

import numpy as np

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import first_refused
from beltwright.tables import Trust, load
from beltwright.units import show

_BANDS: Final = ("intermittent", "normal", "continuous")


@dataclass(frozen=True, slots=True)
class ServiceFactor:
    """A service factor with where it comes from.

    value:   allowance [-], scalar or array as the hours were
    group:   the group of the table the machine stands in
    printed: whether the hours lie in a printed band; elsewhere the band was read across a gap
    trust:   of the row, or `memory` when any hours lie in a gap
    """

    value: Numbers
    machine: str
    group: str
    driver_class: str
    printed: Mask
    sources: tuple[str, ...]
    trust: Trust


@dataclass(frozen=True, slots=True)
class _Row:
    factors: tuple[float, float, float]
    trust: Trust
    source: str


def driven_machines() -> tuple[str, ...]:
    """The driven machines of the service-factor table, lightest duty first.

    rows of the table, in its order

    returns: names of driven machines, as `service_factor` takes them [-]

    Source: rma-service

    >>> driven_machines()[2], driven_machines()[-1]
    ('centrifugal pumps', 'any machine that can choke')
    """
    return tuple(_machines())


def driver_classes() -> tuple[tuple[str, str], ...]:
    """What belongs to each class of driver.

    rows of the table, in its order

    returns: pairs of class and driver, such as `high torque` and `line shaft` [-]

    Source: rma-service

    >>> driver_classes()[-2]
    ('high torque', 'line shaft')
    """
    return tuple((cast(str, row["driver_class"]), cast(str, row["driver"])) for row in load("service_drivers").rows)


def hours_in_a_day(hours_a_day: Numbers) -> Mask:
    """Whether hours of running can be looked up: more than none, and no more than all day.

    0 < h <= 24

    hours_a_day: running share of a day, 1 all day [-], scalar or array
    returns:     true where the table answers [-], shape of the input

    Source: rma-service

    >>> bool(hours_in_a_day(0.5)), bool(hours_in_a_day(0.0))
    (True, False)
    """
    return (np.asarray(hours_a_day) > 0.0) & (np.asarray(hours_a_day) <= 1.0)


def service_factor(machine: str, driver_class: str, hours_a_day: Numbers) -> ServiceFactor:
    """The service factor of a driven machine, by what drives it and how long it runs.

    K_s = table(group of the machine, class of driver, band of hours)

    machine:      a row of `driven_machines` [-]
    driver_class: `normal torque` or `high torque`, as in `driver_classes` [-]
    hours_a_day:  running share of a day, 1 all day [-], scalar or array
    returns:      the factor with its group, sources and trust [-], shape of the hours

    Bands as printed: 3 to 5, 8 to 10, 16 to 24 hours a day. Between them, and below 3, the reading is Mott's from
    memory: under 6, 6 to 15, over 15. The factors of crushers, mills, hoists and rubber machinery and the 2.0 for
    machines that can choke are from memory.
    Errors: `NotKnown` for a machine or class that is no row; `OutOfRange` for hours outside a day.
    Source: rma-service, the trade's usual table

    >>> service_factor("bucket elevators", "normal torque", 12 / 24).value
    np.float64(1.3)
    """
    group = _machines().get(machine)
    if group is None:
        raise NotKnown(f"{machine!r} is no row of the service-factor table: name the driven machine as one of its "
                       f"rows, or give the service factor itself")
    row = _factors().get((group.name, driver_class))
    if row is None:
        known = " or ".join(dict.fromkeys(name for _, name in _factors()))
        raise NotKnown(f"{driver_class!r} is no class of driver: {known} is accepted")
    good = hours_in_a_day(hours_a_day)
    if not np.all(good):
        (first,) = first_refused(good, hours_a_day)
        raise OutOfRange(f"running {show(first, 'hours a day', 'si', digits=1)}: more than 0 and at most 24 hours a "
                         f"day is accepted")
    hours = _hours()
    value = np.where(hours_a_day > hours.continuous, row.factors[2],
                     np.where(hours_a_day >= hours.normal, row.factors[1], row.factors[0]))[()]
    printed = hours.printed(hours_a_day)
    trust: Trust = row.trust if group.trust == row.trust and np.all(printed) else "memory"
    sources = dict.fromkeys((group.source, row.source) if np.all(printed) else (group.source, row.source, "mott"))
    return ServiceFactor(value, machine, group.name, driver_class, printed, tuple(sources), trust)


@dataclass(frozen=True, slots=True)
class _Group:
    name: str
    trust: Trust
    source: str


@dataclass(frozen=True, slots=True)
class _Hours:
    """Where the bands begin, as read across the gaps, and where they are printed."""

    normal: float
    continuous: float
    bands: tuple[tuple[float, float], ...]

    def printed(self, hours_a_day: Numbers) -> Mask:
        inside: Mask = np.False_
        for low, high in self.bands:
            inside = inside | ((hours_a_day >= low) & (hours_a_day <= high))
        return inside


@cache
def _hours() -> _Hours:
    rows = {cast(str, row["band"]): row for row in load("service_hours").rows}
    printed = tuple((cast(float, rows[band]["printed_from"]), cast(float, rows[band]["printed_to"])) for band in _BANDS)
    return _Hours(cast(float, rows["normal"]["from"]), cast(float, rows["continuous"]["from"]), printed)


@cache
def _machines() -> dict[str, _Group]:
    return {cast(str, row["machine"]): _Group(cast(str, row["group"]), cast(Trust, row["trust"]),
                                              cast(str, row["source"]))
            for row in load("service_machines").rows}


@cache
def _factors() -> dict[tuple[str, str], _Row]:
    rows = {}
    for row in load("service_factors").rows:
        factors = cast("tuple[float, float, float]", tuple(row[band] for band in _BANDS))
        rows[cast(str, row["group"]), cast(str, row["driver_class"])] = _Row(
            factors, cast(Trust, row["trust"]), cast(str, row["source"]))
    return rows
