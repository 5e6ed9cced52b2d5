"""What was read through the years: each value by the sheaves of its day, its limits, and a working that leads to it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from statistics import fmean

import pytest

from beltwright.bench.figure import Figure, Put
from beltwright.bench.findings.found_figures import tension_found
from beltwright.bench.findings.history import tension_history
from beltwright.bench.findings.judge import Record
from beltwright.bench.findings.series import Series, series_of
from beltwright.bench.known import complete
from beltwright.mechanics.deflection import mark_deflection
from beltwright.plant.drive import Drive
from beltwright.plant.reading import Reading
from tests.bench.drives import a_drive
from tests.bench.findings.visits import FITTED, MONDAY, low, make_up, plucked, reading, targets

YEAR = timedelta(days=365)


def _series(*readings: Reading, drive: Drive | None = None) -> dict[str, Series]:
    return {each.key: each for each in series_of(Record([make_up(drive or a_drive())], readings))}


def _puts(figure: Figure, symbol: str) -> list[Put]:
    return [put for put in figure.working.puts if put.symbol == symbol]


def _number(figure: Figure, symbol: str) -> float:
    (put,) = _puts(figure, symbol)
    return float(put.value)


def test_what_was_not_read_has_no_series() -> None:
    assert _series() == {}
    assert list(_series(reading("temperature", "running", where="belt", temperature=44.0))) == ["heat-belt"]


def test_slip_is_reckoned_by_the_sheaves_of_its_day() -> None:
    old = a_drive()
    assert old.driven.diameter is not None
    new = replace(old, driven=replace(old.driven, diameter=old.driven.diameter * 1.25))
    versions = [make_up(old, since=FITTED), make_up(new, since=MONDAY - timedelta(days=30))]
    ratios = [facts["driver_pitch"].value / facts["driven_pitch"].value for facts in (
        complete(old).facts, complete(new).facts)]
    days = (MONDAY - timedelta(days=60), MONDAY)
    read = [reading("speed", "running", at=day, driver_speed=150.0, driven_speed=150.0 * ratio * 0.99)
            for day, ratio in zip(days, ratios, strict=True)]
    (slip,) = series_of(Record(versions, read))
    assert [point.value for point in slip.points] == pytest.approx([0.01, 0.01], abs=1e-9)
    assert [point.at for point in slip.points] == list(days)
    assert slip.last is not None
    speeds, sizes = [_number(slip.last, symbol) for symbol in ("ω₁", "ω₂")], [_number(slip.last, s) for s in "dD"]
    assert slip.last.value == pytest.approx(1 - speeds[1] * sizes[1] / (speeds[0] * sizes[0]), rel=1e-12)


def test_speeds_of_a_drive_whose_sheaves_are_not_known_tell_no_slip() -> None:
    assert _series(reading("speed", "running", driver_speed=150.0, driven_speed=100.0), drive=Drive("X-1", "fan")) == {}


def test_of_a_groove_the_worse_flank_counts_and_joined_belts_have_half_the_limit() -> None:
    gauged = reading("groove", sheave="driver", groove=2, left=0.0002, right=0.0005)
    wear = _series(gauged)["wear-driver"]
    assert [point.value for point in wear.points] == [0.0005]
    drive = a_drive()
    joined = replace(drive, belts=replace(drive.belts, joined=True))
    (single,), (tight,) = wear.limits, _series(gauged, drive=joined)["wear-driver"].limits
    assert tight.value == pytest.approx(single.value / 2)


def test_each_place_keeps_its_own_heat_and_its_limits_rise() -> None:
    found = _series(*(reading("temperature", "running", where=where, temperature=50.0 + number)
                      for number, where in enumerate(("belt", "driver groove", "driven bearing", "room"))))
    assert {key: series.points[0].value for key, series in found.items()} == {
        "heat-belt": 50.0, "heat-driver-groove": 51.0, "heat-driven-bearing": 52.0, "heat-room": 53.0}
    for series in found.values():
        limits = [limit.value for limit in series.limits]
        assert limits
        assert limits == sorted(limits)


def test_the_working_of_a_plucked_tension_leads_to_it() -> None:
    (held,) = tension_history(Record([make_up(a_drive())], plucked(1.0, 1.1, 1.2)))
    figure = tension_found(held)
    mass, span = _number(figure, "m"), _number(figure, "t")
    mean = fmean(4 * mass * (span * float(put.value)) ** 2 for put in _puts(figure, "f"))
    assert figure.value == pytest.approx(mean, rel=1e-9)
    assert figure.value == pytest.approx(1.1 * low(), rel=1e-9)


def test_the_working_of_a_pressed_tension_leads_to_it() -> None:
    forces = (30.0, 34.0)
    (held,) = tension_history(Record([make_up(a_drive())], [
        reading("force", belt=belt, force=force) for belt, force in enumerate(forces, start=1)]))
    figure = tension_found(held)
    span = targets().span
    assert span is not None
    deep, stiff = _number(figure, "h"), _number(figure, "Y")
    assert deep == pytest.approx(float(mark_deflection(span)))
    assert figure.value == pytest.approx(fmean(force * span / (4 * deep) - stiff * (64 * deep / span) ** 2
                                               for force in forces), rel=1e-9)
