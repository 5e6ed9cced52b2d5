"""Alignment of two sheaves from gaps at their rims: what straightedge, string and level can tell, and how surely.

Rigid bodies, small angles. Axes: x along the line of centres from the driver's shaft to the driven one, y across it
(upwards), z along the shafts, outward: away from the motor, towards whoever lays the straightedge on the outer faces.

What is unknown, and how much of it readings can give:

- A straightedge or string is any line through space: its place and slope are two unknowns of each laying, worth
  nothing to anybody. One laying has four gaps, so it gives two numbers: **offset** (how far the driver's groove stands
  out of the driven sheave's plane) and **angle** between the sheaves along the line.
- A sheave that sits crooked on its shaft has a face that **wobbles**. Gaps on one stand cannot tell wobble from a
  crooked shaft. Half a turn changes the sign of the wobble and leaves the shaft alone: two layings give offset, angle
  and the wobble of both sheaves along the line (not across it: that takes a quarter turn more). No half turn: the
  wobble of a sound sheave stays in the uncertainty.
- Wobble moves groove and face alike round the shaft; the belt sees its mean, so offset, angle and twist are those of
  the planes of rotation.
- The gaps are taken at the faces, the belt runs in the grooves: the thickness from face to groove of each sheave goes
  in as a reading of its own. An error in it shifts the offset and nothing else; half a turn does not show it, the
  inner faces do.
- **Twist** (one shaft higher at its end than the other) does not show in a line along the centres. A level on both
  faces gives it, or lines above and below the centres. A single line off the centres mixes twist into the offset.
- Contradictions show only where there are more readings than unknowns. The outer faces on two stands have none to
  spare, outer and inner faces on one stand have two, on two stands four. A straightedge bent the same way each time
  it is laid on the outer faces is not seen there; laid on the inner faces too, it is.

The answers are a fixed matrix times the readings (`answer_map`), so a page can work them out where there is no network.
NumPy and its neighbours in `mechanics` only; no record.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from beltwright.errors import Infeasible, NotKnown, OutOfRange
from beltwright.mechanics import Mask, Numbers
from beltwright.mechanics.agreement import chi_square_limit
from beltwright.mechanics.geometry import feasible_centre
from beltwright.mechanics.limits import above_zero
from beltwright.mechanics.misalignment import entry_angles
from beltwright.units import show

Array = npt.NDArray[np.float64]

POINTS: Final = ("driver_far", "driver_near", "driven_near", "driven_far")
UNKNOWNS: Final = ("offset", "angle", "twist", "driver_wobble", "driver_wobble_across",
                   "driven_wobble", "driven_wobble_across", "lean_along", "lean_across")
ENTRIES: Final = ("driver_upper", "driver_lower", "driven_upper", "driven_lower")
# sound readings are called contradictory once in a hundred drives
CONTRADICTION: Final = 0.01
_OFFSET, _ANGLE, _TWIST = 0, 1, 2
_WOBBLE: Final = {"driver": 3, "driven": 5}
_LEAN: Final = 7
_RIMS: Final = len(UNKNOWNS)
_TINY: Final = 1e-8


class Line(NamedTuple):
    """One laying of a straightedge or string: its face, the stand of each sheave, its height over the line of centres.

    face: 1 outer, -1 inner; driver_turn, driven_turn: since the first reading [rad]; height: [m]
    """

    face: float = 1.0
    driver_turn: float = 0.0
    driven_turn: float = 0.0
    height: float = 0.0


class Level(NamedTuple):
    """One reading of a level on both outer faces, and how far each sheave was turned since the first [rad]."""

    driver_turn: float = 0.0
    driven_turn: float = 0.0


class Design(NamedTuple):
    """readings = matrix @ unknowns: the names of both, and the geometry it was made for.

    matrix: shape (..., readings, unknowns); lines, levels: how many of each; driver, driven, centre: [m]
    """

    matrix: Array
    readings: tuple[str, ...]
    unknowns: tuple[str, ...]
    lines: int
    levels: int
    driver: Array
    driven: Array
    centre: Array


class AnswerMap(NamedTuple):
    """answers = matrix @ readings, entry angles = entry @ readings, disagreement = |check @ readings|².

    answers: names; twist and wobbles only where the readings can tell them; covariance: of the answers
    entry_uncertainty: standard uncertainty of each entry angle [rad]
    limit:   what the disagreement may reach, without end where no reading is to spare
    """

    readings: tuple[str, ...]
    answers: tuple[str, ...]
    matrix: Array
    covariance: Array
    entry: Array
    entry_uncertainty: Array
    check: Array
    limit: Array
    gaps: int


class Worst(NamedTuple):
    """The largest entry angle and its standard uncertainty [rad]."""

    angle: Numbers
    uncertainty: Numbers


def design_matrix(driver: Numbers, driven: Numbers, centre: Numbers, incline: Numbers, lines: Sequence[Line],
                  levels: Sequence[Level]) -> Design:
    """How each gap, tilt and rim thickness hangs on the unknowns: the design matrix of the least squares.

    gap = ±(a + b x - z) - e with z = offset + angle x' + twist y + wobble on the driver, wobble alone on the driven;
    tilt = slope of the face in the vertical; + on the outer face, - on the inner; x' = ±√(r² - y²)

    driver:  diameter of the driver over the rim, where the gaps are read [m], scalar or array of drives
    driven:  diameter of the driven sheave over the rim [m], scalar or array of drives
    centre:  distance between the shafts [m], scalar or array of drives
    incline: line of centres from driver to driven, above the horizontal [rad], scalar or array of drives
    lines:   layings of straightedge or string, in the order of the readings [-]
    levels:  readings of a level on both faces, in the order of the readings [-]
    returns: the matrix [-, m or 1/m as the reading and the unknown have it], with the names of rows and columns

    Readings in order: four gaps of each line (`POINTS`), two tilts of each level, the rim thickness of driver and
    driven for each face read, outer first. Unknowns: `UNKNOWNS`, the rims, then place and slope of each line.
    Small angles: an angle of one degree leaves an error of 2 parts in 10000 of a rim's radius.
    Errors: `NotKnown` without a line, `Infeasible` where sheaves overlap or a line passes beside a rim.
    Source: statics

    >>> design_matrix(0.2, 0.4, 0.8, 0.0, [Line()], []).matrix.shape
    (6, 13)
    """
    if not lines:
        raise NotKnown("No gaps at the rims: lay a straightedge or string across both sheaves first.")
    first, second, apart, slope = (np.asarray(side, dtype=np.float64) for side in
                                   np.broadcast_arrays(driver, driven, centre, incline))
    if not np.all(feasible_centre(first, second, apart)):
        raise Infeasible("The sheaves overlap or have no size: over the rims they must stand clear of each other.")
    faces = sorted({line.face for line in lines}, reverse=True)
    rims = [(sheave, face) for face in faces for sheave in ("driver", "driven")]
    columns = _RIMS + len(rims) + 2 * len(lines)
    matrix = np.zeros((*first.shape, 4 * len(lines) + 2 * len(levels) + len(rims), columns))
    radii = {"driver": first / 2, "driven": second / 2}
    for k, line in enumerate(lines):
        _refuse_height(line.height, radii)
        for point, name in enumerate(POINTS):
            sheave = name.split("_")[0]
            turn = line.driver_turn if sheave == "driver" else line.driven_turn
            half_chord = np.sqrt(radii[sheave] ** 2 - line.height**2)
            along = half_chord * (1.0 if name in ("driver_near", "driven_far") else -1.0)
            row = matrix[..., 4 * k + point, :]
            row[..., _RIMS + rims.index((sheave, line.face))] = -1.0
            row[..., columns - 2 * (len(lines) - k)] = line.face
            row[..., columns - 2 * (len(lines) - k) + 1] = line.face * (along + (apart if sheave == "driven" else 0.0))
            _put_face(row, sheave, turn, -line.face, along, np.full_like(along, line.height))
    for k, level in enumerate(levels):
        for j, (sheave, turn) in enumerate((("driver", level.driver_turn), ("driven", level.driven_turn))):
            row = matrix[..., 4 * len(lines) + 2 * k + j, :]
            up_along, up_across = _circle(np.pi / 2 - slope)
            row[..., _LEAN], row[..., _LEAN + 1] = up_along, up_across
            _put_face(row, sheave, turn, 1.0, up_along, up_across)
            row[..., _OFFSET] = 0.0
    for j in range(len(rims)):
        matrix[..., matrix.shape[-2] - len(rims) + j, _RIMS + j] = 1.0
    named = [f"{sheave} rim, {'outer' if face > 0 else 'inner'}" for sheave, face in rims]
    readings = (*(f"line {k + 1}, {name}" for k in range(len(lines)) for name in POINTS),
                *(f"level {k + 1}, {sheave}" for k in range(len(levels)) for sheave in ("driver", "driven")), *named)
    unknowns = (*UNKNOWNS, *named, *(f"line {k + 1}, {what}" for k in range(len(lines)) for what in ("place", "slope")))
    return Design(matrix, readings, unknowns, len(lines), len(levels), first, second, apart)


def _put_face(row: Array, sheave: str, turn: float, sign: float, along: Array, across: Array) -> None:
    """Write how far the plane of a sheave stands out at a point (along, across) from its shaft, times `sign`."""
    if sheave == "driver":
        row[..., _OFFSET], row[..., _ANGLE], row[..., _TWIST] = sign, sign * along, sign * across
    wobble, (cos, sin) = _WOBBLE[sheave], _circle(turn)
    row[..., wobble] = sign * (along * cos + across * sin)
    row[..., wobble + 1] = sign * (across * cos - along * sin)


def _circle(angle: npt.ArrayLike) -> tuple[Array, Array]:
    """Cosine and sine, exact nothing at quarter turns: rounding must not pass for something that was read."""
    turn = np.asarray(angle, dtype=np.float64)
    return np.cos(turn).round(12), np.sin(turn).round(12)


def _refuse_height(height: float, radii: dict[str, Array]) -> None:
    smallest = float(min(np.min(radius) for radius in radii.values()))
    if not abs(height) < smallest:
        raise Infeasible(f"A line {show(abs(height), 'length', 'si')} off the centres passes beside a rim: it must lie "
                         f"within {show(smallest, 'length', 'si')}, the smaller sheave's radius.")


def answer_map(design: Design, gap_uncertainty: Numbers, tilt_uncertainty: Numbers, rim_uncertainty: Numbers,
               wobble_allowance: Numbers, twist_allowance: Numbers) -> AnswerMap:
    """The fixed matrix that turns readings into answers, with uncertainties and the test for contradictions.

    x = (AᵀWA)⁺AᵀW y, W = 1/u²; answers are the entries of x that the readings determine

    design:           from `design_matrix` [-]
    gap_uncertainty:  standard uncertainty of a gap [m], one number or one per line
    tilt_uncertainty: standard uncertainty of a tilt [rad], one number or one per level
    rim_uncertainty:  standard uncertainty of a rim thickness [m], one number or one per rim reading
    wobble_allowance: face wobble a sound sheave may have, as a slope [rad]
    twist_allowance:  twist to reckon with where nothing reads it, either way [rad]
    returns:          the map: answers in m and rad, disagreement [-]

    Arrays of drives: the shape of the design's geometry comes first, then lines, levels or rims. An allowance is taken
    only where the readings do not tell the wobble or the twist better themselves: a wobble of unknown stand has a
    component along the line of u = allowance/√2, a twist within the allowance u = allowance/√3.
    Errors: `OutOfRange` for an uncertainty of zero or less.
    Source: gum, 4.3 and 5.1

    >>> design = design_matrix(0.2, 0.4, 0.8, 0.0, [Line(), Line(1.0, np.pi, np.pi)], [])
    >>> answer_map(design, 1e-4, 1e-3, 1e-4, 1e-3, 1e-2).answers
    ('offset', 'angle', 'driver_wobble', 'driven_wobble')
    """
    above_zero("length", gap_uncertainty=gap_uncertainty, rim_uncertainty=rim_uncertainty)
    above_zero("angle", tilt_uncertainty=tilt_uncertainty, wobble_allowance=wobble_allowance,
               twist_allowance=twist_allowance)
    A, shape = design.matrix, design.driver.shape
    rows, rims = A.shape[-2], A.shape[-2] - 4 * design.lines - 2 * design.levels
    u = np.concatenate([np.repeat(np.broadcast_to(gap_uncertainty, (*shape, design.lines)), 4, axis=-1),
                        np.repeat(np.broadcast_to(tilt_uncertainty, (*shape, design.levels)), 2, axis=-1),
                        np.broadcast_to(rim_uncertainty, (*shape, rims))], axis=-1)
    whitened = A / u[..., None]
    fit = _least_squares(whitened)
    read = np.ones(A.shape[-1], dtype=np.bool_)
    for columns, sound in ((range(_WOBBLE["driver"], _LEAN), wobble_allowance / np.sqrt(2.0)),
                           ((_TWIST,), twist_allowance / np.sqrt(3.0))):
        felt = [j for j in columns if np.any(A[..., j] != 0.0)]
        # what an allowance alone says is no answer; what it helps the readings to say is one
        read[felt] = fit.told[felt]
        extra = np.zeros((*shape, len(felt), A.shape[-1]))
        for k, j in enumerate(felt):
            extra[..., k, j] = np.where(read[j] & (fit.spread[..., j] <= sound), 0.0, 1.0 / sound)
        if np.any(extra != 0.0):
            whitened = np.concatenate([whitened, extra], axis=-2)
            fit = _least_squares(whitened)
    known = [j for j in range(_LEAN) if fit.told[j] and read[j]]
    solve = fit.solve[..., known, :]
    covariance = solve @ np.swapaxes(solve, -1, -2)
    entry = _entry_rows(design)[..., known]
    weight = 1.0 / u[..., None, :]
    matrix = solve[..., :rows] * weight
    spare = np.sum(np.any(whitened != 0.0, axis=-1), axis=-1) - fit.rank
    limits = [chi_square_limit(count, CONTRADICTION) if count else np.inf for count in range(int(np.max(spare)) + 1)]
    return AnswerMap(design.readings, tuple(UNKNOWNS[j] for j in known), matrix, covariance, entry @ matrix,
                     np.sqrt(np.sum((entry @ covariance) * entry, axis=-1)), fit.left[..., :rows] * weight,
                     np.asarray(limits)[spare], 4 * design.lines)


class _Fit(NamedTuple):
    """solve: pseudo-inverse; left: rows no unknowns explain; spread: uncertainty of each unknown where it is told."""

    solve: Array
    left: Array
    spread: Array
    told: npt.NDArray[np.bool_]
    rank: int


def _least_squares(whitened: Array) -> _Fit:
    """Weighted least squares by singular values; an unknown is told when its unit vector lies in the row space."""
    size = np.sqrt(np.sum(whitened**2, axis=-2, keepdims=True))
    size[size == 0.0] = 1.0
    U, s, Vt = np.linalg.svd(whitened / size)
    ranks = np.sum(s > _TINY * s[..., :1], axis=-1)
    rank = int(np.max(ranks))
    assert np.all(ranks == rank), "drives of one layout have one rank"
    V, Ut = np.swapaxes(Vt[..., :rank, :], -1, -2), np.swapaxes(U, -1, -2)
    solve = (V / s[..., None, :rank]) @ Ut[..., :rank, :] / np.swapaxes(size, -1, -2)
    told = np.all(np.sum(V**2, axis=-1) > 1.0 - _TINY, axis=tuple(range(whitened.ndim - 2)))
    return _Fit(solve, Ut[..., rank:, :], np.sqrt(np.sum(solve**2, axis=-1)), told, rank)


def _entry_rows(design: Design) -> Array:
    """Entry angles as rows over the unknowns up to the last wobble, which does not count: the belt sees its mean."""
    rows = np.zeros((*design.driver.shape, len(ENTRIES), _LEAN))
    for j in (_OFFSET, _ANGLE, _TWIST):
        offset, angle, twist = (1.0 if j == k else 0.0 for k in (_OFFSET, _ANGLE, _TWIST))
        for k, value in enumerate(entry_angles(offset, angle, twist, design.driver, design.driven, design.centre)):
            rows[..., k, j] = value
    return rows


def possible(answers: AnswerMap, readings: Array) -> Mask:
    """Whether readings can be gaps, tilts and rims at all: all finite, no gap below nothing.

    answers:  from `answer_map` [-]
    readings: in the order of `answers.readings` [m, rad], last axis
    returns:  true where the readings may be worked on [-]

    Source: statics

    >>> design = design_matrix(0.2, 0.4, 0.8, 0.0, [Line()], [])
    >>> bool(possible(answer_map(design, 1e-4, 1e-3, 1e-4, 1e-3, 1e-2), np.array([0, 0, -1e-3, 0, 0.02, 0.02])))
    False
    """
    return np.all(np.isfinite(readings), axis=-1) & np.all(np.asarray(readings)[..., :answers.gaps] >= 0.0, axis=-1)


def solve(answers: AnswerMap, readings: Array) -> Array:
    """The answers that fit the readings best.

    x = M y

    answers:  from `answer_map` [-]
    readings: in the order of `answers.readings` [m, rad], last axis
    returns:  in the order of `answers.answers`: offset [m], slopes [rad], last axis

    Errors: `OutOfRange` for readings that are no numbers and for a gap below nothing (ask `possible` first).
    Source: gum, 5.1

    >>> design = design_matrix(0.2, 0.4, 0.8, 0.0, [Line()], [])
    >>> found = answer_map(design, 1e-4, 1e-3, 1e-4, 1e-3, 1e-2)
    >>> offset, angle = solve(found, np.array([0.003, 0.003, 0.0, 0.0, 0.02, 0.02]))
    >>> round(float(offset), 6), abs(round(float(angle), 6))
    (-0.003, 0.0)
    """
    return _through(answers.matrix, answers, readings)


def worst_entry(answers: AnswerMap, readings: Array) -> Worst:
    """Total misalignment from readings, with its uncertainty: the largest entry angle.

    max |E y|

    answers:  from `answer_map` [-]
    readings: in the order of `answers.readings` [m, rad], last axis
    returns:  the angle and its standard uncertainty [rad]

    Twist counts only where it was read; `answers.answers` says.
    Errors: as `solve`.
    Source: gum, 5.1

    >>> found = answer_map(design_matrix(0.2, 0.2, 0.8, 0.0, [Line()], []), 1e-4, 1e-3, 1e-4, 1e-3, 1e-2)
    >>> round(float(worst_entry(found, np.array([0.004, 0.004, 0.0, 0.0, 0.02, 0.02])).angle), 6)
    0.005
    """
    entries = np.abs(_through(answers.entry, answers, readings))
    spread = np.broadcast_to(answers.entry_uncertainty, entries.shape)
    at = np.argmax(entries, axis=-1, keepdims=True)
    return Worst(*(np.take_along_axis(each, at, axis=-1)[..., 0] for each in (entries, spread)))


def disagreement(answers: AnswerMap, readings: Array) -> Numbers:
    """How far the readings contradict each other: compare with `answers.limit`.

    χ² = Σ (residual/u)²

    answers:  from `answer_map` [-]
    readings: in the order of `answers.readings` [m, rad], last axis
    returns:  weighted sum of squared residuals [-], zero where no reading is to spare

    Errors: as `solve`.
    Source: gum, 5.1

    >>> found = answer_map(design_matrix(0.2, 0.2, 0.8, 0.0, [Line(), Line()], []), 1e-4, 1e-3, 1e-4, 1e-3, 1e-2)
    >>> y = np.array([0.001, 0.0, 0.0, 0.001, 0.004, 0.0, 0.0, 0.001, 0.02, 0.02])
    >>> bool(disagreement(found, y) > found.limit)
    True
    """
    return np.sum(_through(answers.check, answers, readings) ** 2, axis=-1)


def _through(matrix: Array, answers: AnswerMap, readings: Array) -> Array:
    y = np.asarray(readings, dtype=np.float64)
    if y.shape[-1] != len(answers.readings):
        raise OutOfRange(f"{y.shape[-1]} readings where {len(answers.readings)} belong: {'; '.join(answers.readings)}.")
    if not np.all(possible(answers, y)):
        raise OutOfRange("A gap is below nothing or a reading is no number: a rim cannot stand through the line; "
                         "read every gap from the line to the face, zero or more.")
    return (matrix @ y[..., None])[..., 0]


def plain(answers: AnswerMap) -> dict[str, object]:
    """The map as plain lists and words, for a page that works without a network.

    answers: from `answer_map`, of one drive [-]
    returns: names, matrices, uncertainties and the limit (None without end) as lists and numbers [m, rad]

    Source: statics

    >>> design = design_matrix(0.2, 0.4, 0.8, 0.0, [Line()], [])
    >>> plain(answer_map(design, 1e-4, 1e-3, 1e-4, 1e-3, 1e-2))["answers"]
    ['offset', 'angle']
    """
    limit = float(answers.limit)
    return {
        "readings": list(answers.readings), "answers": list(answers.answers), "entries": list(ENTRIES),
        "matrix": answers.matrix.tolist(), "covariance": answers.covariance.tolist(),
        "entry": answers.entry.tolist(), "entry_uncertainty": answers.entry_uncertainty.tolist(),
        "check": answers.check.tolist(), "limit": limit if np.isfinite(limit) else None, "gaps": answers.gaps,
    }
