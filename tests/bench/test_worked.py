"""The numbers of a drive carry the uncertainty of what was measured, held against the `uncertainties` package."""

from __future__ import annotations

import math

import pytest
from uncertainties import ufloat, umath

from beltwright.bench.known import complete
from beltwright.bench.worked import Worked, spread, value, work_out
from tests.bench.drives import a_drive, demo_drives


def worked(**cells: str | None) -> Worked:
    return work_out(complete(a_drive(**cells)))


def test_uncertainty_of_span_wrap_and_note_as_the_guide_propagates_it() -> None:
    work = worked()
    known = work.known
    d, D, C = (ufloat(known.value(name), known.facts[name].spread) for name in
               ("driver_geometry", "driven_geometry", "centre_read"))
    span = umath.sqrt(C**2 - ((D - d) / 2) ** 2)
    wrap = math.pi - 2 * umath.asin((D - d) / (2 * C))
    assert work.shape is not None
    assert value(work.shape.span) == pytest.approx(span.n, rel=1e-12)
    assert spread(work.shape.span) == pytest.approx(span.s, rel=1e-3)
    assert spread(work.shape.driver_wrap) == pytest.approx(wrap.s, rel=1e-2)


def test_the_note_is_as_uncertain_as_the_mass_makes_it() -> None:
    work = worked(belt_mass_kg_per_m="0.18")
    loose = worked()
    assert work.set_to is not None
    assert loose.set_to is not None
    mass = loose.known.facts["mass"]
    # f goes with sqrt(T/m) and T has a part m v2: df/f = (1/2) (1 - m v2/T) dm/m, and a little from the span
    share = mass.value * value(loose.set_to.speed) ** 2 / value(loose.set_to.tension)
    assert spread(loose.set_to.frequencies.run_in.low) / value(loose.set_to.frequencies.run_in.low) == pytest.approx(
        0.5 * (1 - share) * mass.spread / mass.value, rel=0.15)
    assert spread(work.set_to.frequencies.run_in.low) < 0.5 * spread(loose.set_to.frequencies.run_in.low)


@pytest.mark.parametrize(("left_out", "says"), [
    ("motor_power_hp", "the motor's power"), ("belt_count", "the number of belts"),
    ("motor_speed_rpm", "the motor's speed"),
    ("service", "the service factor"), ("driver_datum_in", "sheaves and centre"),
])
def test_what_stands_in_the_way_is_said(left_out: str, says: str) -> None:
    work = worked(**{left_out: None, "driven_speed_rpm": None})
    assert work.set_to is None
    assert says in work.why["set_to"]


def test_own_table_power_is_used_as_it_is() -> None:
    work = worked(belt_power_kw="5")
    assert work.adequacy is not None
    assert value(work.adequacy.belt_power) == 5000.0
    assert work.rated_by == "own table"


def test_every_demo_drive_with_enough_readings_gets_its_set_to_numbers() -> None:
    missing = {drive.tag for drive in demo_drives() if work_out(complete(drive)).set_to is None}
    assert missing == {"MIX-01"}
