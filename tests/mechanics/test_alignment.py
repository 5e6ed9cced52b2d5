"""Alignment from gaps and tilts, against rigid bodies turned by rotation matrices and SciPy's least squares."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares
from scipy.stats import chi2

from beltwright.errors import Infeasible, NotKnown, OutOfRange
from beltwright.mechanics.alignment import (
    AnswerMap,
    Level,
    Line,
    answer_map,
    design_matrix,
    disagreement,
    plain,
    possible,
    solve,
    worst_entry,
)
from beltwright.mechanics.misalignment import entry_angles, misalignment
from tests.mechanics.sheave_bodies import Array, Drive, Sheave, turned_in_space

HALF = np.pi
OUTER, INNER = 1.0, -1.0
GAP, TILT, RIM, WOBBLE, TWIST = 3e-5, 1e-3, 2e-5, 1e-3, 1e-2
# an allowance so wide that only readings count
WIDE = 1000.0
# outer and inner faces on two stands, off the centres, level on two stands: everything can be told
FULL = [Line(OUTER, height=0.03), Line(OUTER, HALF, HALF, 0.02), Line(INNER, height=-0.03), Line(INNER, HALF, HALF)]
LEVELS = [Level(), Level(HALF, HALF)]


def drives(scale: float) -> st.SearchStrategy[Drive]:
    """Drives whose slopes are a few times `scale` at most, and offsets as much of the centre distance."""
    slope, size = st.floats(-scale, scale), st.floats(0.1, 0.6)

    def build(one: float, two: float, gap: float, offset: float, slopes: list[float], rims: list[float],
              incline: float) -> Drive:
        centre = (one + two) / 2 + gap
        return Drive(
            Sheave(one, (0.0, 0.0, offset * centre), (slopes[0], slopes[1]), (slopes[2], slopes[3]), rims[0], rims[1]),
            Sheave(two, (centre, 0.0, 0.0), (slopes[4], slopes[5]), (slopes[6], slopes[7]), rims[2], rims[3]), incline)
    return st.builds(build, size, size, st.floats(0.05, 1.5), slope, st.lists(slope, min_size=8, max_size=8),
                     st.lists(st.floats(0.01, 0.05), min_size=4, max_size=4), st.floats(-1.2, 1.2))


def truth(drive: Drive) -> dict[str, float]:
    """What the words mean, from the bodies alone."""
    driver, driven = drive.driver, drive.driven
    return {
        "offset": driver.centre[2] - driven.centre[2] + drive.centre * driven.slopes[0],
        "angle": driver.slopes[0] - driven.slopes[0], "twist": driver.slopes[1] - driven.slopes[1],
        "driver_wobble": driver.wobble[0], "driver_wobble_across": driver.wobble[1],
        "driven_wobble": driven.wobble[0], "driven_wobble_across": driven.wobble[1],
    }


def map_for(drive: Drive, lines: list[Line], levels: list[Level] | None = None, *, allowed: float = 1.0) -> AnswerMap:
    design = design_matrix(drive.driver.diameter, drive.driven.diameter, drive.centre, drive.incline, lines,
                           levels or [])
    return answer_map(design, GAP, TILT, RIM, allowed * WOBBLE, allowed * TWIST)


def answered(found: AnswerMap, readings: Array) -> dict[str, float]:
    return dict(zip(found.answers, solve(found, readings).tolist(), strict=True))


@settings(max_examples=60)
@given(drives(1e-6), st.lists(st.floats(-1e-6, 1e-6), min_size=4, max_size=4))
def test_every_answer_is_what_the_bodies_say(drive: Drive, slopes: list[float]) -> None:
    found = map_for(drive, FULL, LEVELS, allowed=WIDE)
    readings = drive.readings(FULL, LEVELS, slopes)
    answers, expected = answered(found, readings), truth(drive)
    assert set(answers) >= {"offset", "angle", "twist", "driver_wobble", "driven_wobble"}
    for name, value in answers.items():
        assert value == pytest.approx(expected[name], abs=2e-10), name
    assert disagreement(found, readings) < 1e-6


@settings(max_examples=60)
@given(drives(0.009), st.lists(st.floats(-0.01, 0.01), min_size=4, max_size=4))
def test_half_a_degree_leaves_errors_too_small_to_set_by(drive: Drive, slopes: list[float]) -> None:
    answers = answered(map_for(drive, FULL, LEVELS, allowed=WIDE), drive.readings(FULL, LEVELS, slopes))
    expected = truth(drive)
    assert answers["angle"] == pytest.approx(expected["angle"], abs=3 * 0.009**2)
    assert answers["offset"] == pytest.approx(expected["offset"], abs=3 * 0.009**2 * drive.centre)


@pytest.mark.parametrize("seed", range(6))
def test_best_fit_and_uncertainty_are_scipys(seed: int) -> None:
    """Contradicting readings: the map gives what a non-linear fit of the bodies gives, and its covariance."""
    random = np.random.default_rng(seed)
    sizes, slopes = random.uniform(0.1, 0.5, 2), random.uniform(-1e-5, 1e-5, 9)
    drive = Drive(
        Sheave(sizes[0], (0.0, 0.0, slopes[8]), (slopes[0], slopes[1]), (slopes[2], slopes[3]), 0.02, 0.03),
        Sheave(sizes[1], (0.9, 0.0, 0.0), (slopes[4], slopes[5]), (slopes[6], slopes[7]), 0.025, 0.02),
        random.uniform(0.2, 1.2))
    u = np.array([1e-6] * 16 + [1e-5] * 4 + [1e-6] * 4)
    # drawn off the faces, so that an error cannot make a gap less than nothing
    start = np.array([0.0] * 7 + [0.02, 0.025, 0.03, 0.02] + [0.04, 0.0] * 2 + [-0.04, 0.0] * 2 + [0.0, 0.0])
    size = np.array([1e-6] + [1e-5] * 6 + [1e-6] * 4 + [1e-6, 1e-5] * 4 + [1e-5] * 2)

    def modelled(x: Array, body: Drive) -> Array:
        lines = [body.behind(line, x[11 + 2 * k], x[12 + 2 * k]) for k, line in enumerate(FULL)]
        rims = [body.driver.outer, body.driven.outer, body.driver.inner, body.driven.inner]
        return np.concatenate([*lines, *(body.tilts(level) for level in LEVELS), rims])
    readings = modelled(start, drive) + u * random.standard_normal(24)

    def residuals(steps: Array) -> Array:
        x = start + size * steps
        scaled: Array = (modelled(x, bodies(drive, x)) - readings) / u
        return scaled
    fit = least_squares(residuals, np.zeros_like(start), xtol=1e-14, ftol=1e-14, gtol=1e-14)
    design = design_matrix(sizes[0], sizes[1], 0.9, drive.incline, FULL, LEVELS)
    found = answer_map(design, 1e-6, 1e-5, 1e-6, WOBBLE, TWIST)
    fitted = dict(zip(truth(drive), start + size * fit.x, strict=False))
    # wide differences, because the rims are large against the steps; how both shafts lean together along the line is
    # free, hence the pseudo-inverse
    steps = 10 * np.eye(start.size)
    back = np.linalg.pinv(np.stack([(residuals(step) - residuals(-step)) / 20 for step in steps], axis=1), rcond=1e-6)
    scipys = back @ back.T * np.outer(size, size)
    order = [list(truth(drive)).index(name) for name in found.answers]
    spread = np.sqrt(np.diag(scipys))[order]
    assert [fitted[name] for name in found.answers] == pytest.approx(solve(found, readings), abs=1e-3 * spread.min())
    assert disagreement(found, readings) == pytest.approx(2 * fit.cost, rel=1e-3)
    assert found.covariance / np.outer(spread, spread) == pytest.approx(
        scipys[np.ix_(order, order)] / np.outer(spread, spread), abs=1e-3)


def bodies(drive: Drive, x: Array) -> Drive:
    """The drive that a vector of unknowns describes: offset, angle, twist, wobbles, rims, ..., lean of both shafts."""
    lean_along, lean_across = x[-2], x[-1]
    made = replace(
        drive,
        driver=replace(drive.driver, centre=(0.0, 0.0, x[0]), slopes=(x[1], x[2]), wobble=(x[3], x[4]),
                       outer=x[7], inner=x[9]),
        driven=replace(drive.driven, centre=(drive.centre, 0.0, 0.0), slopes=(0.0, 0.0), wobble=(x[5], x[6]),
                       outer=x[8], inner=x[10]))
    return turned_in_space(made, lean_along, lean_across, (0.0, 0.0, 0.0))


@given(drives(0.0), st.integers(0, 3))
def test_a_perfect_drive_has_nothing_to_mend(drive: Drive, stands: int) -> None:
    lines = FULL[:1 + stands]
    found = map_for(drive, lines, LEVELS)
    readings = drive.readings(lines, LEVELS, [0.0] * len(lines))
    assert solve(found, readings) == pytest.approx(0.0, abs=1e-12)
    assert worst_entry(found, readings).angle == pytest.approx(0.0, abs=1e-12)
    assert disagreement(found, readings) == pytest.approx(0.0, abs=1e-9)


@given(drives(0.004), st.permutations(range(4)), st.booleans())
def test_order_of_readings_does_not_matter(drive: Drive, order: list[int], swap: bool) -> None:
    slopes = [0.001, -0.002, 0.0, 0.003]
    levels = LEVELS[::-1] if swap else LEVELS
    lines = [FULL[k] for k in order]
    as_taken, mixed = map_for(drive, FULL, LEVELS), map_for(drive, lines, levels)
    one = drive.readings(FULL, LEVELS, slopes)
    other = drive.readings(lines, levels, [slopes[k] for k in order])
    assert mixed.answers == as_taken.answers
    assert solve(mixed, other) == pytest.approx(solve(as_taken, one), abs=1e-11)
    assert disagreement(mixed, other) == pytest.approx(disagreement(as_taken, one), abs=1e-6)


@given(drives(0.004), st.floats(1.0, 3.0))
def test_worse_readings_are_never_judged_milder(drive: Drive, worse: float) -> None:
    found = map_for(drive, FULL, LEVELS)
    readings = drive.readings(FULL, LEVELS, [0.0] * 4)
    perfect = np.concatenate([np.zeros(20), readings[20:]])
    scaled = perfect + worse * (readings - perfect)
    # rims stay what they are: only what they differ by could offset the gaps
    same_rims = np.repeat(readings[20::2], 2)
    readings[20:] = scaled[20:] = same_rims
    assert worst_entry(found, scaled).angle >= worst_entry(found, readings).angle * (1 - 1e-9)
    assert disagreement(found, scaled) >= disagreement(found, readings) * (1 - 1e-9)


@given(drives(0.004))
def test_swapping_the_names_of_the_sheaves_changes_no_verdict(drive: Drive) -> None:
    lines = [Line(), Line(OUTER, HALF, HALF)]
    mirrored = replace(drive, driver=drive.driven, driven=drive.driver)
    found = map_for(drive, lines)
    other = answer_map(design_matrix(drive.driven.diameter, drive.driver.diameter, drive.centre, 0.0, lines, []),
                       GAP, TILT, RIM, WOBBLE, TWIST)
    readings = drive.readings(lines, [], [0.0, 0.0])
    assert mirrored.driver is drive.driven
    swapped = readings.copy()
    swapped[0:4], swapped[4:8], swapped[8:10] = readings[3::-1], readings[7:3:-1], readings[9:7:-1]
    assert worst_entry(other, swapped).angle == pytest.approx(worst_entry(found, readings).angle, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(("lines", "levels", "told", "spare"), [
    ([Line()], [], {"offset", "angle"}, 0),
    ([Line(), Line()], [], {"offset", "angle"}, 2),
    ([Line(), Line(OUTER, HALF, HALF)], [], {"offset", "angle", "driver_wobble", "driven_wobble"}, 0),
    ([Line(), Line(OUTER, HALF, 0.0)], [], {"offset", "angle", "driver_wobble"}, 1),
    ([Line(), Line(OUTER, 0.0, HALF)], [], {"offset", "angle", "driven_wobble"}, 1),
    ([Line(), Line(INNER)], [], {"offset", "angle"}, 2),
    ([Line(), Line(OUTER, HALF, HALF), Line(INNER), Line(INNER, HALF, HALF)], [],
     {"offset", "angle", "driver_wobble", "driven_wobble"}, 4),
    ([Line(height=0.02)], [], {"offset", "angle"}, 0),
    ([Line(height=0.02), Line(height=-0.02)], [], {"offset", "angle", "twist"}, 1),
    ([Line()], [Level()], {"offset", "angle", "twist"}, 0),
    ([Line(), Line(OUTER, HALF, HALF)], [Level(), Level(HALF, HALF)],
     {"offset", "angle", "twist", "driver_wobble", "driven_wobble", "driver_wobble_across", "driven_wobble_across"}, 0),
    ([Line(OUTER, k * HALF / 2, k * HALF / 2) for k in range(4)], [],
     {"offset", "angle", "driver_wobble", "driven_wobble", "driver_wobble_across", "driven_wobble_across"}, 2),
])
def test_what_readings_can_tell_and_what_is_to_spare(lines: list[Line], levels: list[Level], told: set[str],
                                                     spare: int) -> None:
    found = answer_map(design_matrix(0.2, 0.4, 0.8, 0.0, lines, levels), GAP, TILT, RIM, WOBBLE, TWIST)
    assert set(found.answers) == told
    assert np.linalg.matrix_rank(found.check) == spare
    assert found.limit == pytest.approx(chi2.isf(0.01, spare) if spare else np.inf)


def test_a_level_on_upright_centres_reads_the_angle_and_not_the_twist() -> None:
    upright = answer_map(design_matrix(0.2, 0.4, 0.8, np.pi / 2, [Line()], [Level()]), GAP, TILT, RIM, WOBBLE, TWIST)
    assert set(upright.answers) == {"offset", "angle"}
    assert np.linalg.matrix_rank(upright.check) == 1


@given(drives(0.004), st.floats(0.0002, 0.01))
def test_a_misread_rim_shifts_the_offset_alone_and_the_inner_faces_show_it(drive: Drive, error: float) -> None:
    lines = [Line(), Line(OUTER, HALF, HALF)]
    found, readings = map_for(drive, lines), drive.readings(lines, [], [0.0, 0.0])
    wrong = readings.copy()
    wrong[8] += error
    shift = solve(found, wrong) - solve(found, readings)
    assert shift == pytest.approx([-error, 0.0, 0.0, 0.0], abs=1e-12)
    both = [Line(), Line(INNER)]
    found, readings = map_for(drive, both), drive.readings(both, [], [0.0, 0.0])
    before, wrong = disagreement(found, readings), readings.copy()
    wrong[8] += 100 * error
    assert disagreement(found, wrong) > before + 100


def test_a_bent_straightedge_is_seen_on_the_inner_faces_only() -> None:
    drive = Drive(Sheave(0.2, (0, 0, 0), (0, 0), (0, 0), 0.02, 0.02),
                  Sheave(0.4, (0.8, 0, 0), (0, 0), (0, 0), 0.02, 0.02))
    x = np.array([-0.1, 0.1, 0.6, 1.0])
    bend = 0.001 * (1 - ((x - 0.45) / 0.55) ** 2)
    outer = [Line(), Line(OUTER, HALF, HALF), Line()]
    found = map_for(drive, outer)
    readings = drive.readings(outer, [], [0.0] * 3)
    readings[:12] += np.tile(bend, 3)
    assert disagreement(found, readings) == pytest.approx(0.0, abs=1e-6)
    both = [Line(), Line(INNER)]
    found, readings = map_for(drive, both), drive.readings(both, [], [0.0] * 2)
    readings[:8] += np.tile(bend, 2)
    assert disagreement(found, readings) > found.limit


@given(drives(0.004), st.floats(1e-4, 2e-3))
def test_a_crooked_sheave_is_not_taken_for_a_crooked_shaft(drive: Drive, wobble: float) -> None:
    straight = replace(drive, driver=replace(drive.driver, wobble=(0.0, 0.0)))
    crooked = replace(drive, driver=replace(drive.driver, wobble=(wobble, 0.0)))
    lines = [Line(), Line(OUTER, HALF, HALF)]
    found = map_for(drive, lines)
    one, other = (solve(found, each.readings(lines, [], [0.0, 0.0])) for each in (straight, crooked))
    assert other - one == pytest.approx([0.0, 0.0, wobble, 0.0], abs=1e-4 * drive.centre)
    single = map_for(drive, lines[:1])
    fooled = [float(solve(single, each.readings(lines[:1], [], [0.0]))[1]) for each in (straight, crooked)]
    assert fooled[1] - fooled[0] == pytest.approx(wobble, rel=0.1)


@given(drives(0.0), st.integers(1, 3))
def test_more_readings_never_leave_more_doubt(drive: Drive, count: int) -> None:
    """But for the step where readings take over from what a sound sheave is allowed."""
    fewer, more = map_for(drive, FULL[:count]), map_for(drive, FULL[:count + 1])
    for name in set(fewer.answers) & set(more.answers):
        before, after = (each.covariance[at, at] for each in (fewer, more) for at in [each.answers.index(name)])
        assert after <= 2 * before


def test_sound_rounded_readings_are_seldom_called_contradictory() -> None:
    """Readings rounded to the step the uncertainty says: false alarms no more often than the chance promised."""
    random = np.random.default_rng(4)
    step, rows = 1e-4, 4000
    lines = [Line(), Line(INNER), Line(OUTER, HALF, HALF), Line(INNER, HALF, HALF)]
    design = design_matrix(0.2, 0.35, 0.8, 0.0, lines, [])
    found = answer_map(design, step / 12**0.5, TILT, step / 12**0.5, WOBBLE, TWIST)
    unknowns = random.uniform(-0.002, 0.002, (rows, design.matrix.shape[-1]))
    unknowns[:, 9:13] = random.uniform(0.02, 0.04, (rows, 4))
    unknowns[:, 13::2] = random.uniform(0.05, 0.06, (rows, 4))
    unknowns[:, [15, 19]] *= -1.0
    readings = np.round(unknowns @ design.matrix.T / step) * step
    assert np.all(possible(found, readings))
    assert np.mean(disagreement(found, readings) > found.limit) < 0.015


def test_many_drives_at_once_are_each_alone() -> None:
    driver, driven, centre = np.array([0.1, 0.2, 0.5]), np.array([0.3, 0.2, 0.15]), np.array([0.5, 0.9, 1.4])
    lines = [Line(height=0.01), Line(OUTER, HALF, HALF)]
    gap = np.array([[1e-5], [2e-5], [4e-5]])
    many = answer_map(design_matrix(driver, driven, centre, 0.1, lines, LEVELS), gap, TILT, RIM, WOBBLE, TWIST)
    readings = np.random.default_rng(1).uniform(0, 0.002, (3, len(many.readings)))
    for k in range(3):
        design = design_matrix(driver[k], driven[k], centre[k], 0.1, lines, LEVELS)
        alone = answer_map(design, gap[k, 0], TILT, RIM, WOBBLE, TWIST)
        assert solve(many, readings)[k] == pytest.approx(solve(alone, readings[k]), rel=1e-9, abs=1e-15)
        assert many.covariance[k] == pytest.approx(alone.covariance, rel=1e-9, abs=1e-18)
        worst = np.asarray(worst_entry(many, readings).angle)
        assert worst[k] == pytest.approx(worst_entry(alone, readings[k]).angle)


def test_a_page_without_a_network_gets_the_same_answers() -> None:
    lines = [Line(), Line(INNER)]
    found = answer_map(design_matrix(0.2, 0.4, 0.8, 0.0, lines, []), GAP, TILT, RIM, WOBBLE, TWIST)
    readings = [0.001, 0.0, 0.0002, 0.0011, 0.0, 0.001, 0.0013, 0.0, 0.02, 0.021, 0.022, 0.02]
    page = json.loads(json.dumps(plain(found)))

    def dot(row: list[float]) -> float:
        return sum(a * b for a, b in zip(row, readings, strict=True))
    assert [dot(row) for row in page["matrix"]] == pytest.approx(solve(found, np.array(readings)))
    assert max(abs(dot(row)) for row in page["entry"]) == pytest.approx(worst_entry(found, np.array(readings)).angle)
    assert sum(dot(row) ** 2 for row in page["check"]) == pytest.approx(disagreement(found, np.array(readings)))


@settings(max_examples=60)
@given(drives(1e-6))
def test_entry_angles_are_those_of_the_belt_in_space(drive: Drive) -> None:
    """Spans drawn in space between the tangent points of the two groove circles, against each groove's plane."""
    expected, pair = truth(drive), (drive.driver, drive.driven)
    found = entry_angles(expected["offset"], expected["angle"], expected["twist"],
                         drive.driver.diameter, drive.driven.diameter, drive.centre)
    lean = np.arcsin((drive.driven.diameter - drive.driver.diameter) / 2 / drive.centre)
    ends = {}
    for side, up in (("upper", 1.0), ("lower", -1.0)):
        points = []
        for sheave in pair:
            flat = sheave.diameter / 2 * np.array([-np.sin(lean), up * np.cos(lean)])
            points.append(np.array([sheave.centre[0] + flat[0], flat[1], sheave.centre[2] + flat @ sheave.slopes]))
        run = (points[1] - points[0]) / np.linalg.norm(points[1] - points[0])
        for name, sheave in zip(("driver", "driven"), pair, strict=True):
            normal = np.array([-sheave.slopes[0], -sheave.slopes[1], 1.0])
            ends[f"{name}_{side}"] = np.arcsin(run @ normal / np.linalg.norm(normal))
    assert np.array(found) == pytest.approx(
        [ends["driver_upper"], ends["driver_lower"], ends["driven_upper"], ends["driven_lower"]], abs=1e-10)


def test_total_misalignment_counts_offset_and_angle_with_their_signs() -> None:
    # the driver turned about its own groove, and turned so that its plane meets the other groove: alike by symmetry
    about_itself = misalignment(0.0, 0.005, 0.0, 0.2, 0.2, 0.8)
    about_the_other = misalignment(-0.005 * 0.8, 0.005, 0.0, 0.2, 0.2, 0.8)
    assert about_itself == pytest.approx(0.005)
    assert about_the_other == pytest.approx(0.005)


@pytest.mark.parametrize("readings", [
    [0.0, 0.0, -0.0001, 0.0, 0.02, 0.02], [0.0, 0.0, float("nan"), 0.0, 0.02, 0.02], [0.0, 0.0, 0.0, 0.02, 0.02]])
def test_impossible_readings_are_refused(readings: list[float]) -> None:
    found = answer_map(design_matrix(0.2, 0.4, 0.8, 0.0, [Line()], []), GAP, TILT, RIM, WOBBLE, TWIST)
    with pytest.raises(OutOfRange):
        solve(found, np.array(readings))


def test_impossible_setups_are_refused() -> None:
    with pytest.raises(NotKnown, match="straightedge"):
        design_matrix(0.2, 0.4, 0.8, 0.0, [], [Level()])
    with pytest.raises(Infeasible, match="overlap"):
        design_matrix(0.2, 0.4, 0.29, 0.0, [Line()], [])
    with pytest.raises(Infeasible, match="beside a rim"):
        design_matrix(0.2, 0.4, 0.8, 0.0, [Line(height=0.1)], [])
    with pytest.raises(OutOfRange, match="gap uncertainty"):
        answer_map(design_matrix(0.2, 0.4, 0.8, 0.0, [Line()], []), 0.0, TILT, RIM, WOBBLE, TWIST)
