"""Whether the belts hold when the motor starts: the motor's peak of torque against what the set tension can grip.

A squirrel-cage motor thrown on the line gives its locked-rotor torque at once and passes its breakdown torque on the
way up; the belts feel the larger of the two. All of it is taken to go through the belts: what the motor's own rotor
keeps for itself is left out, which errs to the safe side. Soft starters and drives stay below these figures. Must not
import other modules of `mechanics` but `limits`.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple, cast

import numpy as np
import numpy.typing as npt

from beltwright.errors import NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero, at_least_zero, first_refused
from beltwright.tables import cite, load
from beltwright.units import show


class MotorTorques(NamedTuple):
    """Torque over full-load torque: held still, and at its greatest while running."""

    locked_rotor: Numbers
    breakdown: Numbers


class _Rows(NamedTuple):
    power: npt.NDArray[np.float64]
    locked_rotor: npt.NDArray[np.float64]
    breakdown: npt.NDArray[np.float64]


def design_b_torques(power: Numbers, poles: Numbers) -> MotorTorques:
    """The least torques a design B motor gives at rated voltage.

    rows of the table `design_b_torques`, by number of poles; between listed powers in a straight line

    power:   rated power of the motor [W], scalar or array
    poles:   number of poles: 2, 4, 6 or 8 [-], scalar or array
    returns: locked-rotor and breakdown torque over full-load torque [-], shape of the broadcast inputs

    From memory. The values are minima a motor has to reach, so a real one may pull harder at the belts.
    Errors: `OutOfRange` for powers or poles the table does not have; ask `design_b_covers` first.
    Source: nema-mg1-12

    >>> [round(float(share), 2) for share in design_b_torques(7460.0, 4)]
    [1.65, 2.0]
    """
    covered = design_b_covers(power, poles)
    if not np.all(covered):
        _refuse(*first_refused(covered, power, poles))
    at, kind = np.broadcast_arrays(np.asarray(power, dtype=np.float64), poles)
    locked_rotor, breakdown = np.empty(at.shape), np.empty(at.shape)
    for number, rows in _rows().items():
        here = np.equal(kind, number)
        locked_rotor[here] = np.interp(at[here], rows.power, rows.locked_rotor)
        breakdown[here] = np.interp(at[here], rows.power, rows.breakdown)
    return MotorTorques(locked_rotor[()], breakdown[()])


def design_b_covers(power: Numbers, poles: Numbers) -> Mask:
    """Whether the table of design B torques has this motor.

    poles 2, 4, 6 or 8 and power between the first and the last row for that number of poles

    power:   rated power of the motor [W], scalar or array
    poles:   number of poles [-], scalar or array
    returns: true where `design_b_torques` has an answer [-], shape of the broadcast inputs

    Source: nema-mg1-12

    >>> bool(design_b_covers(400e3, 4)), bool(design_b_covers(7500.0, 3))
    (False, False)
    """
    covered: Mask = np.zeros(np.broadcast_shapes(np.shape(power), np.shape(poles)), dtype=bool)
    for number, rows in _rows().items():
        # a power converted to watts and back still counts as the row's own
        inside = (np.greater_equal(power, rows.power[0] * (1 - 1e-9))
                  & np.less_equal(power, rows.power[-1] * (1 + 1e-9)))
        covered = covered | (np.equal(poles, number) & inside)
    return covered


def shaft_torque(power: Numbers, rotation: Numbers) -> Numbers:
    """The torque a shaft turns with; of a motor's rated figures, its full-load torque.

    M = P/ω

    power:    power carried [W], scalar or array
    rotation: angular speed of the shaft [rad/s], scalar or array
    returns:  torque [N m], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative power and a speed of zero or less.
    Source: statics

    >>> shaft_torque(7500.0, 150.0)
    50.0
    """
    at_least_zero("power", power=power)
    above_zero("rotation", rotation=rotation)
    return power / rotation


def peak_torque(torque: Numbers, locked_rotor: Numbers, breakdown: Numbers, voltage: Numbers = 1.0) -> Numbers:
    """The greatest torque a motor thrown on the line gives on its way up to speed.

    Mp = M max(locked rotor, breakdown) (U/U_N)²

    torque:       full-load torque [N m], scalar or array
    locked_rotor: torque held still, over full-load torque [-], scalar or array
    breakdown:    greatest torque running, over full-load torque [-], scalar or array
    voltage:      voltage at the motor over its rated voltage [-], scalar or array
    returns:      peak torque [N m], shape of the broadcast inputs

    Errors: `OutOfRange` for values of zero or less.
    Source: nema-mg1-12

    >>> float(peak_torque(50.0, locked_rotor=1.65, breakdown=2.0, voltage=0.9))
    81.0
    """
    above_zero("moment", torque=torque)
    above_zero("number", locked_rotor=locked_rotor, breakdown=breakdown, voltage=voltage)
    return torque * np.maximum(locked_rotor, breakdown) * np.square(voltage)


def pull_from_torque(torque: Numbers, diameter: Numbers) -> Numbers:
    """The pull of all belts together that a torque asks for at a sheave.

    Fe = 2 M/d

    torque:   torque of the shaft [N m], scalar or array
    diameter: pitch diameter of the sheave on it [m], scalar or array
    returns:  effective pull, tight less slack [N], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative torque and a diameter of zero or less.
    Source: statics

    >>> pull_from_torque(100.0, 0.2)
    1000.0
    """
    at_least_zero("moment", torque=torque)
    above_zero("length", diameter=diameter)
    return 2 * torque / diameter


def held_pull(tension: Numbers, tension_ratio: Numbers, belts: Numbers, centrifugal: Numbers = 0.0) -> Numbers:
    """The greatest pull all belts together can carry, as they are tensioned, before they slip.

    Fe = 2 N (T - Tc) (R - 1)/(R + 1)

    tension:       static tension of one strand as set [N], scalar or array
    tension_ratio: tight over slack, both net, at which the belt slips [-], scalar or array
    belts:         number of belts [-], scalar or array
    centrifugal:   tension from the belt's own mass going round; 0 while the drive still stands [N], scalar or array
    returns:       pull at the point of slip [N], shape of the broadcast inputs

    Fixed centres: what the tight side gains the slack side loses, so their mean stays what was set.
    Errors: `OutOfRange` for a tension no greater than the centrifugal part, a ratio of one or less, no belts.
    Source: statics

    >>> held_pull(300.0, tension_ratio=5.0, belts=4)
    1600.0
    """
    at_least_zero("force", centrifugal=centrifugal)
    above_zero("force", tension_less_the_centrifugal_part=np.subtract(tension, centrifugal))
    above_zero("number", belts=belts, tension_ratio_less_one=np.subtract(tension_ratio, 1))
    return 2 * belts * (tension - centrifugal) * (tension_ratio - 1) / (tension_ratio + 1)


def start_margin(held: Numbers, peak_pull: Numbers) -> Numbers:
    """How many times over the belts hold the start: below 1 they slip and squeal until the motor is past its peak.

    margin = held pull / peak pull

    held:      greatest pull the belts can carry as tensioned [N], scalar or array
    peak_pull: greatest pull the motor asks of them [N], scalar or array
    returns:   margin [-], shape of the broadcast inputs

    Errors: `OutOfRange` for a negative held pull and a peak of zero or less.
    Source: statics

    >>> start_margin(1600.0, 1280.0)
    1.25
    """
    at_least_zero("force", held=held)
    above_zero("force", peak_pull=peak_pull)
    return held / peak_pull


@cache
def start_practice(what: str) -> float:
    """What a start is reckoned with where nobody has measured it.

    a row of the table `start_practice`

    what:    name of the row [-]
    returns: its value [SI]

    Errors: `NotKnown` for a name that is not there.
    Source: practice

    >>> start_practice("star_pause")
    0.05
    """
    rows = load("start_practice").where(what=what)
    if not rows:
        raise NotKnown(f"no common practice for {what}")
    return cast(float, rows[0]["value"])


@cache
def _rows() -> dict[float, _Rows]:
    table = load("design_b_torques")
    poles = np.array(table.column("poles"))
    columns = [np.array(table.column(name)) for name in _Rows._fields]
    return {float(number): _Rows(*(column[poles == number] for column in columns)) for number in np.unique(poles)}


def _refuse(power: float, poles: float) -> None:
    rows = _rows().get(poles)
    if rows is None:
        listed = ", ".join(f"{number:g}" for number in _rows())
        raise OutOfRange(f"A motor of {poles:g} poles: {cite('nema-mg1-12')} has torques for {listed} poles.")
    least, most = (show(float(end), "power", "si") for end in (rows.power[0], rows.power[-1]))
    raise OutOfRange(f"A motor of {show(power, 'power', 'si')} and {poles:g} poles: {cite('nema-mg1-12')} has torques "
                     f"from {least} to {most}.")
