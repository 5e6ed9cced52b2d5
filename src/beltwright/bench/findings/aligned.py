"""Alignment as the last occasion's readings tell it, all of them solved together, many drives at once.

Drives whose straightedge was laid the same way (faces, half turns, heights) are one array for mechanics. What was not
read stands in with an uncertainty of its own: rims of unknown thickness are taken alike, the wobble of a sheave that
was not turned is what a sound one is allowed. Says nothing in words: `alignment` does.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache, lru_cache
from typing import Final, cast

import numpy as np

from beltwright.bench.findings.fitted import Fitted
from beltwright.bench.findings.noted import Case, by_kind, in_time, latest
from beltwright.bench.findings.targets import targets_for
from beltwright.bench.known import WHICH
from beltwright.mechanics.alignment import (
    POINTS,
    Level,
    Line,
    answer_map,
    design_matrix,
    disagreement,
    possible,
    solve,
    worst_entry,
)
from beltwright.mechanics.misalignment import face_wobble
from beltwright.mechanics.runout import metric_runout, sheave_limits
from beltwright.mechanics.sheaves import face_width
from beltwright.mechanics.uncertainty import bound_uncertainty, instrument_uncertainty, resolution_uncertainty, shares
from beltwright.plant.drive import Drive
from beltwright.plant.reading import Reading
from beltwright.tables import Trust, load

LIKELIER: Final = 0.5
# how far the rim edges of two sheaves not measured may differ, either way [m]
RIMS_ALIKE: Final = 0.001
TURNED: Final[Mapping[str, tuple[float, float]]] = {
    "neither": (0.0, 0.0), "both": (math.pi, math.pi), "driver": (math.pi, 0.0), "driven": (0.0, math.pi)}


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of misalignment [rad], as printed, and on whose word."""

    angle: float
    words: str
    source: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class Aligned:
    """What the readings say: each answer with its standard uncertainty, the worst entry angle, and whether they agree.

    answers: offset [m], angle, twist, driver_wobble, driven_wobble [rad], those that the readings tell
    worst:   largest angle at which a span enters a groove [rad]
    over_limit, over_target: chance that it is more than acceptable, than the aim
    crooked: chance that a sheave's face wobbles more than a sound one may, by sheave
    turned:  whether a sheave was read on two stands, so that its wobble is told apart
    why_not: what stands in the way, where nothing could be solved
    """

    readings: tuple[Reading, ...]
    answers: Mapping[str, tuple[float, float]]
    worst: tuple[float, float] = (0.0, 0.0)
    over_limit: float = 0.0
    over_target: float = 0.0
    contradicts: bool = False
    crooked: Mapping[str, float] = field(default_factory=dict)
    turned: bool = False
    why_not: str = ""

    @property
    def at(self) -> datetime:
        """When the last of them was taken."""
        return max(reading.taken_at for reading in self.readings)

    @property
    def acceptable(self) -> bool:
        """Whether it is more likely acceptable than not, by readings that agree."""
        return not self.why_not and not self.contradicts and self.over_limit <= LIKELIER

    @property
    def sound(self) -> bool:
        """Whether it more likely meets the aim than not, by readings that agree."""
        return self.acceptable and self.over_target <= LIKELIER


@dataclass(frozen=True, slots=True)
class _Laid:
    """One drive's readings as numbers: geometry, the readings in the order of the design, their uncertainties."""

    case: Case
    readings: tuple[Reading, ...]
    geometry: tuple[float, float, float, float]
    numbers: tuple[float, ...]
    gaps: tuple[float, ...]
    tilts: tuple[float, ...]
    rims: tuple[float, ...]
    wobble: float


_Layout = tuple[tuple[Line, ...], tuple[Level, ...]]


@cache
def limit(name: str) -> Limit:
    """A limit of the table of misalignment: `acceptable` or `target`."""
    row = load("alignment_limits").where(limit=name)[0]
    angle = row["angle"] if isinstance(row["angle"], float) else math.atan(cast(float, row["slope"]))
    return Limit(angle, str(row["words"]), str(row["source"]), cast(Trust, row["trust"]))


def alignments(cases: Sequence[Case]) -> list[Aligned | None]:
    """The alignment of each drive; none where nothing was read since the sheaves were put on."""
    found: list[Aligned | None] = [None] * len(cases)
    layouts: dict[_Layout, list[tuple[int, _Laid]]] = {}
    for at, case in enumerate(cases):
        if "alignment" not in case.noted and "tilt" not in case.noted:
            continue
        readings = _last(case)
        if not readings:
            continue
        laid = _laid(case, readings)
        if isinstance(laid, str):
            found[at] = Aligned(tuple(readings), {}, why_not=laid)
        else:
            layouts.setdefault(laid[0], []).append((at, laid[1]))
    for layout, some in layouts.items():
        for (at, _), aligned in zip(some, _solved(layout, [laid for _, laid in some]), strict=True):
            found[at] = aligned
    return found


def alignment_alone(drive: Drive, readings: Sequence[Reading]) -> Aligned | None:
    """The alignment by these readings and no others, as of one state in one job; none where no line was laid."""
    noted = by_kind(readings)
    if not noted:
        return None
    at = max(reading.taken_at for some in noted.values() for reading in some)
    return alignments([Case(targets_for(drive), Fitted(drive, {}), noted, None, at)])[0]


def _last(case: Case) -> Sequence[Reading]:
    some = [reading for kind in ("alignment", "tilt") for reading in case.of(kind, "driver")
            if not case.fitted.before("driven", reading.taken_at)]
    some.sort(key=in_time)
    return _last_round(latest(some, () if case.fitted.moved_at is None else (case.fitted.moved_at,)))


def _last_round(readings: Sequence[Reading]) -> Sequence[Reading]:
    """What was laid last: laid again in the same way, something was moved in between, and it began anew."""
    laid: dict[tuple[object, ...], Reading] = {}
    for reading in readings:
        way = tuple(reading.values.get(name) for name in ("face", "turned", "height"))
        if (reading.kind, *way) in laid:
            laid = {}
        laid[reading.kind, *way] = reading
    return list(laid.values())


def _laid(case: Case, readings: Sequence[Reading]) -> tuple[_Layout, _Laid] | str:
    """A drive's readings in the order of the design, and how they were laid; words where they cannot be worked."""
    outside = [_outside(case, which) for which in WHICH]
    centre = case.targets.centre if case.targets.centre is not None else case.targets.drive.centre
    driver, driven = outside
    if driver is None or driven is None or centre is None:
        return "both sheaves and the centre distance are needed: enter them"
    if not 0.0 < (driver + driven) / 2 < centre:
        return "over the rims the sheaves as entered would touch: check diameters and centre distance"
    lines = [reading for reading in readings if reading.kind == "alignment"]
    levels = [reading for reading in readings if reading.kind == "tilt"]
    if not lines:
        return "tilt alone tells no offset and no angle: lay a straightedge or string across both sheaves too"
    if any(abs(_number(reading, "height")) >= min(driver, driven) / 2 for reading in lines):
        return "a line that high passes beside a rim: check the height that was noted"
    # the same readings in another order are the same layout
    lines.sort(key=lambda reading: (str(reading.values["face"]), str(reading.values["turned"]),
                                    _number(reading, "height")))
    levels.sort(key=lambda reading: str(reading.values["turned"]))
    faces = sorted({_face(reading) for reading in lines}, reverse=True)
    rims, rim_spread = _rims(case, faces)
    numbers = (*(_number(reading, point) for reading in lines for point in POINTS),
               *(_number(reading, f"{which}_tilt") for reading in levels for which in WHICH), *rims)
    layout = (tuple(Line(_face(reading), *TURNED[str(reading.values["turned"])], _number(reading, "height"))
                    for reading in lines),
              tuple(Level(*TURNED[str(reading.values["turned"])]) for reading in levels))
    wobble = max(wobble_allowed(case, which) or 0.0 for which in WHICH)
    return layout, _Laid(case, tuple(readings), (driver, driven, centre, case.targets.drive.incline or 0.0), numbers,
                         tuple(_gap_spread(reading) for reading in lines),
                         tuple(_tilt_spread(reading) for reading in levels), rim_spread, wobble)


def _solved(layout: _Layout, some: Sequence[_Laid]) -> list[Aligned]:
    driver, driven, centre, incline = np.array([laid.geometry for laid in some]).T
    design = design_matrix(driver, driven, centre, incline, *layout)
    readings = np.array([laid.numbers for laid in some])
    answers = answer_map(design, np.array([laid.gaps for laid in some]), np.array([laid.tilts for laid in some]),
                         np.array([laid.rims for laid in some]), np.array([laid.wobble for laid in some]),
                         limit("acceptable").angle)
    good = np.asarray(possible(answers, readings))
    readings = np.where(good[:, None], readings, 0.0)
    worst = worst_entry(answers, readings)
    far = np.asarray(disagreement(answers, readings)) > answers.limit
    values = solve(answers, readings)
    spreads = np.sqrt(np.diagonal(answers.covariance, axis1=-2, axis2=-1))
    over = [np.asarray(shares(worst.angle, worst.uncertainty, 0.0, limit(name).angle).above).tolist()
            for name in ("acceptable", "target")]
    allowed = np.array([[wobble_allowed(laid.case, which) or np.inf for which in WHICH] for laid in some])
    crooked = {which: np.asarray(shares(np.abs(values[:, at]), np.maximum(spreads[:, at], 1e-9), 0.0,
                                        allowed[:, WHICH.index(which)]).above).tolist()
               for at, name in enumerate(answers.answers) for which in WHICH if name == f"{which}_wobble"}
    turned = any(each != layout[0][0][1:3] for each in (line[1:3] for line in layout[0]))
    found = []
    for at, laid in enumerate(some):
        if not good[at]:
            found.append(Aligned(laid.readings, {}, why_not="a gap below nothing cannot be: read from line to face"))
            continue
        found.append(Aligned(
            laid.readings, dict(zip(answers.answers, zip(values[at].tolist(), spreads[at].tolist(), strict=True),
                                    strict=True)),
            (float(np.asarray(worst.angle)[at]), float(np.asarray(worst.uncertainty)[at])), over[0][at], over[1][at],
            bool(far[at]),
            {which: chances[at] for which, chances in crooked.items()}, turned))
    return found


def _outside(case: Case, which: str) -> float | None:
    """Diameter over the rim; of a sheave whose section is not known, whatever was measured: a chord hardly differs."""
    known = case.targets.fact(f"{which}_outside")
    return known if known is not None else getattr(case.targets.drive, which).diameter


def _rims(case: Case, faces: Sequence[float]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """From face to groove, for each face read, driver and driven: as read, by the width, or taken alike."""
    read = {(which, _face(reading)): reading for which in WHICH for reading in case.of("rim", which)
            if reading.values["sheave"] == which}
    edges = tuple(_edge(case, which) for which in WHICH)
    driver_edge, driven_edge = edges if None not in edges else (0.0, 0.0)
    apart = (driven_edge or 0.0) - (driver_edge or 0.0)
    thick: list[float] = []
    spread: list[float] = []
    for face in faces:
        driver, driven = (read.get((which, face)) for which in WHICH)
        # one not read is taken like the other, or as much thicker as their widths say
        if driver is not None:
            first = _number(driver, "thickness")
        else:
            first = (driver_edge or 0.0) if driven is None else _number(driven, "thickness") - apart
        thick += [first, first + apart if driven is None else _number(driven, "thickness")]
        spread += [_alike() if reading is None else _gap_spread(reading)
                   for reading in (driver, driven)]
    return tuple(thick), tuple(spread)


@cache
def _alike() -> float:
    return float(bound_uncertainty(RIMS_ALIKE))


def _edge(case: Case, which: str) -> float | None:
    """Face to middle of the groove next to it, by the width of the sheave; none where that is not known."""
    sheave, section = getattr(case.targets.drive, which), case.targets.known.section
    if sheave.width is None or sheave.grooves is None or section is None:
        return None
    between = _face_width(sheave.grooves, section.name, section.standard) - _face_width(1, section.name,
                                                                                        section.standard)
    return max(0.0, float(sheave.width - between)) / 2


@lru_cache(1024)
def _face_width(grooves: int, section: str, standard: str) -> float:
    return float(face_width(grooves, section, standard))


@lru_cache(4096)
def _allowed(outside: float, section: str, standard: str) -> float:
    swing = sheave_limits(outside, 1, section, standard)[0].axial if section else metric_runout(outside)
    return float(face_wobble(swing, outside))


def wobble_allowed(case: Case, which: str) -> float | None:
    """Slope of face that a sound sheave of that size may have."""
    outside, section = _outside(case, which), case.targets.known.section
    if outside is None:
        return None
    return _allowed(outside, *(("", "") if section is None else (section.name, section.standard)))


def _gap_spread(reading: Reading) -> float:
    """How well a gap was read: by the finest step noted and half of it for the laying, or as a rule is read."""
    step = reading.values.get("resolution")
    if not isinstance(step, float) or step <= 0.0:
        return _usual("rule at the straightedge")
    return float(np.hypot(resolution_uncertainty(step), bound_uncertainty(step / 2)))


def _tilt_spread(reading: Reading) -> float:
    step = reading.values.get("resolution")
    if not isinstance(step, float) or step <= 0.0:
        return _usual("spirit level with degrees")
    return float(np.hypot(resolution_uncertainty(step), bound_uncertainty(step / 2)))


@cache
def _usual(instrument: str) -> float:
    return float(instrument_uncertainty(instrument, 0.0))


def _face(reading: Reading) -> float:
    return 1.0 if reading.values["face"] == "outer" else -1.0


def _number(reading: Reading, name: str) -> float:
    return float(reading.values.get(name, 0.0))
