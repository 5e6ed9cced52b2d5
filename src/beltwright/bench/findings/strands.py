"""Static tension of the strands as read: by deflection force or by note, with what each belt's own reading is good for.

Many drives are worked at once: every reading becomes a row, mechanics is asked once. What the belts of a set share
(span, mass, stiffness) is kept apart from what is each belt's own, so that belts can be compared. Judges nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

import numpy as np
import numpy.typing as npt

from beltwright.bench.findings.noted import in_time
from beltwright.bench.findings.targets import Targets
from beltwright.mechanics.deflection import STEEPEST, force_tells, mark_deflection, tension_from_force
from beltwright.mechanics.stiff_ends import spread_with_ends, stretch_tells, tension_with_ends
from beltwright.mechanics.uncertainty import combined, force_spread, instrument_uncertainty
from beltwright.plant.reading import FORCE_GAUGES, Reading

Array = npt.NDArray[np.float64]
# a plunger is what most carry, and the least exact: who has a better gauge says so
_USUAL_GAUGE: Final = FORCE_GAUGES[0]
_GAUGES: Final = {gauge: code for code, gauge in enumerate(FORCE_GAUGES)}
_NO_NUMBER: Final = float("nan")
# under which a heard note keeps the stretch of its partials
STRETCH: Final = "stretch"


@dataclass(frozen=True, slots=True)
class Strands:
    """The set as read on one occasion: belt numbers (0: a joined band), each belt's tension [N] and its uncertainties.

    own:     what is each belt's alone; spread: with what all of them share
    mean:    of the set, with its own and its shared uncertainty
    readings: those that count, one a belt; unusable: those that tell no tension, span or deflection being what it is
    Tension nought: the force was no more than the belt's stiffness gives, it hangs slack.
    """

    at: datetime
    state: str
    job_id: UUID | None
    belts: tuple[int, ...]
    tension: tuple[float, ...]
    own: tuple[float, ...]
    spread: tuple[float, ...]
    mean: float
    mean_own: float
    mean_shared: float
    readings: tuple[Reading, ...]
    unusable: tuple[Reading, ...] = ()

    @property
    def mean_spread(self) -> float:
        """Standard uncertainty of the mean, all in all."""
        return float((self.mean_own**2 + self.mean_shared**2) ** 0.5)

    @property
    def by_note(self) -> bool:
        """Whether it was read by the note of the span."""
        return self.readings[0].kind == "frequency"


Occasion = Sequence[Reading]


# belt, its reading, the row its numbers are in (-1: it tells none), whether that is a row of forces
_Place = tuple[int, Reading, int, bool]
_Rows = list[tuple[float, ...]]


def strands(asked: Sequence[tuple[Targets, Sequence[Occasion]]]) -> list[list[Strands | None]]:
    """The tensions of many drives' occasions at once, in order; none where no reading of an occasion tells any."""
    forces: _Rows = []
    notes: _Rows = []
    places = [_put_down(targets, found, forces, notes) for targets, found in asked]
    numbers = (_of_notes(notes), _of_forces(forces))
    return [[_strands(occasion, numbers) for occasion in found] for found in places]


def _put_down(targets: Targets, found: Sequence[Occasion], forces: _Rows, notes: _Rows) -> list[list[_Place]]:
    """Put a drive's readings down as rows of numbers, the last reading of each belt of each occasion.

    A joined band is one belt, whichever number was typed; belt 0 of belts that are not joined could be any of them.
    """
    joined, count = targets.joined, targets.belts or 0
    span, span_spread, mass, mass_spread = targets.span, targets.span_spread, targets.mass, targets.mass_spread
    allowance, allowance_spread = targets.allowance, targets.allowance_spread
    shared = float(count) if joined else 1.0
    unnamed = count == 1
    places: list[list[_Place]] = []
    for occasion in found:
        last = {0 if joined else int(reading.values["belt"]): reading for reading in occasion}
        these: list[_Place] = []
        for belt in sorted(last):
            reading = last[belt]
            values = reading.values
            is_force = reading.kind == "force"
            own_span = values.get("span")
            free = span if own_span is None else float(own_span)
            row = -1
            if free is None or shared < 1.0 or (belt == 0 and not joined and not unnamed):
                pass
            elif is_force and allowance is not None:
                row = len(forces)
                forces.append((float(values["force"]) / shared, free, span_spread if own_span is None else _NO_NUMBER,
                               float(values.get("deflection", _NO_NUMBER)), allowance, allowance_spread,
                               _GAUGES.get(str(values.get("gauge", _USUAL_GAUGE)), 0), shared))
            elif not is_force and mass is not None:
                row = len(notes)
                notes.append((float(values["frequency"]), float(values.get("uncertainty", 0.0)), free,
                              span_spread if own_span is None else _NO_NUMBER, mass, mass_spread,
                              stretch_of(reading) if reading.extra else 0.0))
            these.append((belt, reading, row, is_force))
        places.append(these)
    return places


_Columns = tuple[list[float], list[float], list[float]]


def _of_forces(rows: _Rows) -> _Columns:
    """Tension, own and shared uncertainty of each; no number where the deflection is past what the rule holds for."""
    if not rows:
        return [], [], []
    force, span, span_spread, deflection, allowance, allowance_spread, gauge, belts = np.array(rows).T
    marked = np.isnan(deflection)
    deflection = np.where(marked, mark_deflection(span), deflection)
    span_spread = np.where(np.isnan(span_spread), instrument_uncertainty("tape over the span", span), span_spread)
    holds = (deflection <= STEEPEST * span) & (deflection > 0.0) & (force > 0.0)
    pressed = np.where(holds, deflection, mark_deflection(span))
    push = np.where(holds, force, 1.0)
    tells = np.asarray(force_tells(push, span, pressed, allowance))
    # a slack belt stands in as one that just tells, its tension put to nought below
    push = np.where(tells, push, 8.0 * allowance * (pressed / span) * (pressed / mark_deflection(span)) ** 2 + 1.0)
    tension = np.where(tells, tension_from_force(push, span, pressed, allowance), 0.0)
    by_gauge = np.stack([instrument_uncertainty(name, force * belts) / belts for name in FORCE_GAUGES])
    spread = force_spread(
        push, span, pressed, allowance, force_uncertainty=by_gauge[gauge.astype(int), np.arange(len(rows))],
        span_uncertainty=span_spread, deflection_uncertainty=instrument_uncertainty("rule at the mark", pressed),
        allowance_uncertainty=allowance_spread).parts
    return _plain(np.where(holds, tension, np.nan), combined([spread["force"], spread["deflection"]]),
                  combined([spread["span"], spread["allowance"]]))


def _of_notes(rows: _Rows) -> _Columns:
    if not rows:
        return [], [], []
    frequency, uncertainty, span, span_spread, mass, mass_spread, stretch = np.array(rows).T
    span_spread = np.where(np.isnan(span_spread), instrument_uncertainty("tape over the span", span), span_spread)
    uncertainty = np.where(uncertainty > 0.0, uncertainty, instrument_uncertainty("phone note", frequency))
    tension = tension_with_ends(frequency, span, mass, stretch)
    spread = spread_with_ends(frequency, span, mass, stretch, frequency_uncertainty=uncertainty,
                              span_uncertainty=span_spread, mass_uncertainty=mass_spread).parts
    return _plain(tension, spread["frequency"], combined([spread["span"], spread["mass"], spread["ends"]]))


def stretch_of(reading: Reading) -> float:
    """How far the partials of a note were heard to stretch; nought where it was not heard or tells nothing."""
    try:
        stretch = float(reading.extra.get(STRETCH, "0"))
    except ValueError:
        return 0.0
    return stretch if bool(stretch_tells(stretch)) else 0.0


def _plain(*columns: object) -> _Columns:
    tension, own, shared = (np.asarray(column, dtype=np.float64).tolist() for column in columns)
    return tension, own, shared


def _strands(occasion: Sequence[_Place], numbers: tuple[_Columns, _Columns]) -> Strands | None:
    told = [place for place in occasion if place[2] >= 0 and not math.isnan(numbers[place[3]][0][place[2]])]
    if not told:
        return None
    count = len(told)
    tension = tuple([numbers[is_force][0][row] for _, _, row, is_force in told])
    own = tuple([numbers[is_force][1][row] for _, _, row, is_force in told])
    shared = [numbers[is_force][2][row] for _, _, row, is_force in told]
    used = tuple([reading for _, reading, _, _ in told])
    last = max(used, key=in_time) if count > 1 else used[0]
    return Strands(
        last.taken_at, last.state, last.job_id, tuple([belt for belt, _, _, _ in told]), tension, own,
        tuple([(a * a + b * b) ** 0.5 for a, b in zip(own, shared, strict=True)]), sum(tension) / count,
        sum([each * each for each in own]) ** 0.5 / count, sum(shared) / count, used,
        () if count == len(occasion) else tuple([place[1] for place in occasion if place not in told]))
