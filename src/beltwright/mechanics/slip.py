"""Slip from measured speeds, and what it costs: power, energy and money.

A loaded V-belt always runs a little behind its ratio (elastic creep); a slack one slips besides. Efficiency is a
torque part (bending, wedging in and out of the grooves) times a speed part (1 - slip); a tachometer sees the speed
part only. The expected ratio needs pitch diameters: half a percent wrong in a diameter is half a percent of slip, so
`slip_since` compares a drive with itself where it can. Must not import other modules of `mechanics` but `limits` and
`uncertainty`.
"""

from __future__ import annotations

from functools import cache
from types import MappingProxyType
from typing import Final, cast

import numpy as np

from beltwright.errors import OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero
from beltwright.mechanics.uncertainty import Spread, combined
from beltwright.tables import load
from beltwright.units import YEAR, show

# how many standard uncertainties a driven sheave may seem to run ahead before the readings are doubted
_DOUBT: Final = 2.0


def measured_slip(driver_rotation: Numbers, driven_rotation: Numbers, driver: Numbers, driven: Numbers) -> Numbers:
    """How far the driven sheave lags behind what the pitch diameters ask of it.

    s = 1 - w2 D / (w1 d)

    driver_rotation: measured speed of the driver shaft [rad/s], scalar or array
    driven_rotation: measured speed of the driven shaft, at the same load [rad/s], scalar or array
    driver:          pitch diameter of the driver [m], scalar or array
    driven:          pitch diameter of the driven sheave [m], scalar or array
    returns:         slip, creep included; below zero says that a figure is wrong [-], shape of the broadcast inputs

    Both speeds read within the same minute: a motor's speed follows its load.
    Errors: `OutOfRange` for speeds or diameters of zero or less.
    Source: dealmeida1995

    >>> round(float(measured_slip(152.4, 60.0, driver=0.2, driven=0.5)), 4)
    0.0157
    """
    above_zero("rotation", driver_rotation=driver_rotation, driven_rotation=driven_rotation)
    above_zero("length", driver=driver, driven=driven)
    return 1.0 - driven_rotation * driven / (driver_rotation * driver)


def slip_spread(driver_rotation: Numbers, driven_rotation: Numbers, driver: Numbers, driven: Numbers, *,
                driver_rotation_uncertainty: Numbers, driven_rotation_uncertainty: Numbers,
                driver_uncertainty: Numbers, driven_uncertainty: Numbers) -> Spread:
    """How well two speeds and two diameters tell the slip.

    ds = (1 - s) (dw1/w1 - dw2/w2 + dd/d - dD/D)

    driver_rotation:             measured speed of the driver shaft [rad/s], scalar or array
    driven_rotation:             measured speed of the driven shaft [rad/s], scalar or array
    driver:                      pitch diameter of the driver [m], scalar or array
    driven:                      pitch diameter of the driven sheave [m], scalar or array
    driver_rotation_uncertainty: standard uncertainty of the driver's speed [rad/s], scalar or array
    driven_rotation_uncertainty: standard uncertainty of the driven's speed [rad/s], scalar or array
    driver_uncertainty:          standard uncertainty of the driver's pitch diameter [m], scalar or array
    driven_uncertainty:          standard uncertainty of the driven's pitch diameter [m], scalar or array
    returns:                     standard uncertainty of the slip and each input's part in it [-]

    Errors: `OutOfRange` for speeds or diameters of zero or less.
    Source: gum, eq. 12

    >>> spread = slip_spread(152.4, 60.0, 0.2, 0.5, driver_rotation_uncertainty=0.1, driven_rotation_uncertainty=0.1,
    ...                      driver_uncertainty=0.0005, driven_uncertainty=0.0005)
    >>> round(float(spread.uncertainty), 4)
    0.0032
    """
    kept = 1.0 - measured_slip(driver_rotation, driven_rotation, driver, driven)
    parts = {
        "driver_rotation": kept / driver_rotation * driver_rotation_uncertainty,
        "driven_rotation": -kept / driven_rotation * driven_rotation_uncertainty,
        "driver": kept / driver * driver_uncertainty,
        "driven": -kept / driven * driven_uncertainty,
    }
    return Spread(combined(list(parts.values())), MappingProxyType(parts))


def slip_since(driver_rotation: Numbers, driven_rotation: Numbers, driver_rotation_then: Numbers,
               driven_rotation_then: Numbers) -> Numbers:
    """How much further the driven sheave lags than it did when the belts were last set: diameters cancel.

    s = 1 - (w2/w1) / (w2/w1 then)

    driver_rotation:      measured speed of the driver shaft [rad/s], scalar or array
    driven_rotation:      measured speed of the driven shaft [rad/s], scalar or array
    driver_rotation_then: speed of the driver shaft as left, run in and loaded [rad/s], scalar or array
    driven_rotation_then: speed of the driven shaft as left [rad/s], scalar or array
    returns:              slip beyond that of then [-], shape of the broadcast inputs

    Belts that sink in worn grooves change the ratio too.
    Errors: `OutOfRange` for speeds of zero or less.
    Source: statics

    >>> round(float(slip_since(152.4, 59.0, 152.4, 60.0)), 4)
    0.0167
    """
    above_zero("rotation", driver_rotation=driver_rotation, driven_rotation=driven_rotation,
               driver_rotation_then=driver_rotation_then, driven_rotation_then=driven_rotation_then)
    return 1.0 - driven_rotation * driver_rotation_then / (driver_rotation * driven_rotation_then)


def believable(slip: Numbers, slip_uncertainty: Numbers) -> Mask:
    """Whether a measured slip can be true: no driven sheave runs ahead of its belt.

    -2 u <= s < 1

    slip:             slip measured [-], scalar or array
    slip_uncertainty: its standard uncertainty [-], scalar or array
    returns:          false where a speed, a diameter or the belt's section must be wrong [-], shape of the inputs

    Source: statics

    >>> bool(believable(-0.01, 0.003)), bool(believable(-0.005, 0.003))
    (False, True)
    """
    return (np.asarray(slip) >= -_DOUBT * np.asarray(slip_uncertainty)) & (np.asarray(slip) < 1.0)


def normal_creep(slip: Numbers) -> Mask:
    """Whether the slip is no more than sound belts show at full load.

    s <= 2 %

    slip:    slip measured [-], scalar or array
    returns: true where it is normal [-], shape of `slip`

    From memory, not verified; at full load 0.5 to 2 percent, less at part load.
    Source: practice

    >>> bool(normal_creep(0.015))
    True
    """
    return np.asarray(slip) <= _limit("normal", "high_pct")


def needs_setting(slip: Numbers) -> Mask:
    """Whether the slip is so large that the belts have to be set again.

    s > 3 %

    slip:    slip measured [-], scalar or array
    returns: true where they have to [-], shape of `slip`

    From memory, not verified. Between normal creep and this: watch.
    Source: practice

    >>> bool(needs_setting(0.031)), bool(needs_setting(0.03))
    (True, False)
    """
    return np.asarray(slip) > _limit("retension", "low_pct")


@cache
def _limit(name: str, column: str) -> float:
    return cast(float, load("slip_limits").where(name=name)[0][column])


def belt_efficiency(torque_part: Numbers, slip: Numbers) -> Numbers:
    """Efficiency of the belts: what comes through in torque times what comes through in speed.

    eta = eta_T (1 - s)

    torque_part: torque delivered over torque ideally delivered [-], scalar or array
    slip:        slip, creep included [-], scalar or array
    returns:     efficiency [-], shape of the broadcast inputs

    Errors: `OutOfRange` for a torque part outside 0 to 1 or a slip outside 0 to 1.
    Source: dealmeida1995

    >>> round(belt_efficiency(0.97, 0.015), 4)
    0.9554
    """
    _share(torque_part=torque_part, slip=slip)
    return torque_part * (1.0 - slip)


def power_lost(power: Numbers, efficiency: Numbers) -> Numbers:
    """The power the belts turn into heat.

    P_L = P (1 - eta)

    power:      power put into the belts [W], scalar or array
    efficiency: efficiency of the belts; for the loss to slip alone, 1 less the slip [-], scalar or array
    returns:    power lost [W], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative power or an efficiency outside 0 to 1.
    Source: statics

    >>> round(power_lost(15e3, 1 - 0.04))
    600
    """
    at_least_zero("power", power=power)
    _share(efficiency=efficiency)
    return power * (1.0 - efficiency)


def yearly_energy(power: Numbers, load_share: Numbers, efficiency: Numbers, running_share: Numbers) -> Numbers:
    """The energy a motor takes in a year.

    E = P (load share) / eta * year (running share), the year of 8760 h

    power:         rated power of the motor, at its shaft [W], scalar or array
    load_share:    power really asked of it over its rated power [-], scalar or array
    efficiency:    efficiency of the motor; 1 where `power` was measured at its supply [-], scalar or array
    running_share: share of the year it runs [-], scalar or array
    returns:       energy in a year [J], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative power or load, an efficiency of zero, shares outside 0 to 1.
    Source: doe-tip5

    >>> from beltwright.units import from_si
    >>> round(from_si(yearly_energy(15e3, 0.8, 0.92, 0.5), "kWh", "energy"))
    57130
    """
    at_least_zero("power", power=power)
    at_least_zero("number", load_share=load_share)
    above_zero("number", efficiency=efficiency)
    _share(efficiency=efficiency, running_share=running_share)
    return power * load_share / efficiency * YEAR * running_share


def energy_saved(energy: Numbers, efficiency_before: Numbers, efficiency_after: Numbers) -> Numbers:
    """The energy saved in a year by belts of better efficiency, the same power reaching the machine.

    dE = E (1 - eta_before / eta_after)

    energy:            energy used in a year as found [J], scalar or array
    efficiency_before: efficiency of the belts as found [-], scalar or array
    efficiency_after:  efficiency of the belts as left [-], scalar or array
    returns:           energy saved in a year, below zero for worse belts [J], shape of the broadcast inputs

    The tip sheet's formula, from memory; its worked example is in the tests.
    Fans and centrifugal pumps: less slip makes them run faster and take more power; see `power_at_speed`.
    Errors: `OutOfRange` for a negative energy or efficiencies outside 0 to 1.
    Source: doe-tip5

    >>> from beltwright.units import from_si, to_si
    >>> round(from_si(energy_saved(to_si(527_000, "kWh", "energy"), 0.93, 0.98), "kWh", "energy"))
    26888
    """
    at_least_zero("energy", energy=energy)
    above_zero("number", efficiency_before=efficiency_before, efficiency_after=efficiency_after)
    _share(efficiency_before=efficiency_before, efficiency_after=efficiency_after)
    return energy * (1.0 - efficiency_before / efficiency_after)


def money(energy: Numbers, price: Numbers) -> Numbers:
    """What energy costs, in the currency of the price.

    energy times price

    energy:  energy [J], scalar or array
    price:   price of energy [1/J], scalar or array
    returns: money [-], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative price.
    Source: doe-tip5

    >>> from beltwright.units import to_si
    >>> round(money(to_si(26_888, "kWh", "energy"), to_si(0.05, "1/kWh", "price of energy")), 2)
    1344.4
    """
    at_least_zero("price of energy", price=price)
    return energy * price


def power_at_speed(power: Numbers, slip_before: Numbers, slip_after: Numbers) -> Numbers:
    """The power a fan or centrifugal pump takes once its belts slip less: it runs faster, and power goes with the cube.

    P_after = P ((1 - s_after)/(1 - s_before))^3

    power:       power the machine takes as found [W], scalar or array
    slip_before: slip as found [-], scalar or array
    slip_after:  slip as left [-], scalar or array
    returns:     power the machine takes as left, system unchanged [W], shape of the broadcast inputs

    Only what is saved at equal flow is saved: set the flow back by sheave or damper, or count this power too.
    Fixed system curve without static head; the tip sheet names the effect, the cube law is from memory.
    Errors: `OutOfRange` for a negative power or slips outside 0 to 1.
    Source: doe-tip5

    >>> round(power_at_speed(15e3, 0.06, 0.01))
    17523
    """
    at_least_zero("power", power=power)
    _share(slip_before=slip_before, slip_after=slip_after)
    if np.any(np.asarray(slip_before) >= 1.0):
        raise OutOfRange("slip before of 100%: a machine that stood still says nothing about its power when it runs")
    return power * ((1.0 - slip_after) / (1.0 - slip_before)) ** 3


def _share(**quantities: Numbers) -> None:
    for name, values in quantities.items():
        inside = (np.asarray(values) >= 0.0) & (np.asarray(values) <= 1.0)
        if not np.all(inside):
            first = float(np.asarray(values)[~inside].flat[0])
            raise OutOfRange(f"{name.replace('_', ' ')} of {show(first, 'share', 'si')}: 0% to 100% is possible")
