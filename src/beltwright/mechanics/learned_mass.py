"""What a drive's own readings say of the mass its notes are worked with: force and note of the same belts.

A note gives a tension in proportion to the mass put in, a deflection force does not. Where both were read on the same
belts, visit after visit, and differ the same way, the mass (or the span with it) is what is off: the difference is
weighed against what the table or the scale says. Must not know a reading or a drive.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.limits import above_zero


class Agreement(NamedTuple):
    """Tension by force over tension by note, the mean of many pairs, and its standard uncertainty as a share."""

    ratio: Numbers
    uncertainty: Numbers


class Learned(NamedTuple):
    """The mass a drive's readings lead to, and its standard uncertainty."""

    mass: Numbers
    uncertainty: Numbers


def agreement(by_force: Numbers, by_note: Numbers, *, by_force_uncertainty: Numbers, by_note_uncertainty: Numbers,
              gauge_uncertainty: Numbers) -> Agreement:
    """How the tensions of the same belts compare, read by force and by note.

    r = exp(sum w ln(T_P/T_f) / sum w), w = 1/(u_P^2 + u_f^2); u^2 = max(1/sum w, s^2/n) + u_g^2, s the scatter of ln r

    by_force:             tensions by deflection force [N], array, pairs along the last axis
    by_note:              tensions of the same belts by note, with the mass now used [N], same shape
    by_force_uncertainty: of each, what differs from pair to pair, as a share [-], same shape
    by_note_uncertainty:  of each, note alone, neither mass nor span, as a share [-], same shape
    gauge_uncertainty:    what is off the same way in all forces: gauge and allowance, as a share [-], scalar or array
    returns:              ratio [-] and its standard uncertainty as a share [-], shape without the last axis

    Logarithms, since both errors are shares. A gauge that reads wrong does so every time: more pairs do not mend it.
    Errors: `OutOfRange` for tensions or uncertainties of zero or less.
    Source: gum, 4.2 and 5.2

    >>> found = agreement(np.array([220.0, 215.0, 225.0]), np.array([200.0, 200.0, 200.0]),
    ...                   by_force_uncertainty=np.full(3, 0.03), by_note_uncertainty=np.full(3, 0.005),
    ...                   gauge_uncertainty=0.02)
    >>> round(float(found.ratio), 3), round(float(found.uncertainty), 3)
    (1.1, 0.027)
    """
    above_zero("force", by_force=by_force, by_note=by_note)
    above_zero("number", by_force_uncertainty=by_force_uncertainty, by_note_uncertainty=by_note_uncertainty)
    logs = np.log(np.asarray(by_force) / np.asarray(by_note))
    weight = 1.0 / (np.square(by_force_uncertainty) + np.square(by_note_uncertainty))
    weight = np.broadcast_to(weight, logs.shape)
    total = weight.sum(axis=-1)
    mean = (weight * logs).sum(axis=-1) / total
    count = logs.shape[-1]
    scatter = (np.square(logs - mean[..., np.newaxis])).sum(axis=-1) / max(count - 1, 1) / count
    return Agreement(np.exp(mean), np.sqrt(np.maximum(1.0 / total, scatter) + np.square(gauge_uncertainty)))


def learned_mass(mass: Numbers, mass_uncertainty: Numbers, ratio: Numbers, ratio_uncertainty: Numbers) -> Learned:
    """The mass per length as a drive's own readings lead to it, weighed against what was taken before.

    ln m' = ln m + ln r u_m^2/(u_m^2 + u_r^2), 1/u'^2 = 1/u_m^2 + 1/u_r^2, all as shares

    mass:              mass per length used so far, by table or scale [kg/m], scalar or array
    mass_uncertainty:  its standard uncertainty [kg/m], scalar or array
    ratio:             tension by force over tension by note [-], scalar or array
    ratio_uncertainty: its standard uncertainty as a share [-], scalar or array
    returns:           mass per length and its standard uncertainty [kg/m], shape of the broadcast inputs

    A weighed belt (one percent) is hardly moved, a mass by table much. What is off in the span is in it: good for the
    notes of this drive, not for the belt elsewhere.
    Errors: `OutOfRange` for values of zero or less.
    Source: gum, 4.2; weighed mean

    >>> mass, uncertainty = learned_mass(0.18, 0.015, 1.1, 0.03)
    >>> round(float(mass), 4), round(float(uncertainty), 4)
    (0.1958, 0.0055)
    """
    above_zero("mass per length", mass=mass, mass_uncertainty=mass_uncertainty)
    above_zero("number", ratio=ratio, ratio_uncertainty=ratio_uncertainty)
    before = np.asarray(mass_uncertainty) / mass
    gain = before**2 / (before**2 + np.square(ratio_uncertainty))
    share = before * np.asarray(ratio_uncertainty) / np.hypot(before, ratio_uncertainty)
    learned = mass * np.exp(gain * np.log(ratio))
    return Learned(learned, learned * share)


def apart(ratio: Numbers, uncertainty: Numbers) -> Mask:
    """Whether force and note differ by more than their uncertainty explains.

    |ln r| > 2 u

    ratio:       tension by force over tension by note [-], scalar or array
    uncertainty: standard uncertainty of it as a share, with or without that of the mass [-], scalar or array
    returns:     true where they differ [-], shape of the broadcast inputs

    Errors: `OutOfRange` for a ratio or uncertainty of zero or less.
    Source: gum, annex G

    >>> bool(apart(1.1, 0.03)), bool(apart(1.1, 0.09))
    (True, False)
    """
    above_zero("number", ratio=ratio, uncertainty=uncertainty)
    return np.abs(np.log(ratio)) > 2.0 * np.asarray(uncertainty)
