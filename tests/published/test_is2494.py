"""IS 2494 (1974) and IS 3142, as reprinted: sections, weights, pulley rims and inside lengths."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from beltwright.mechanics.grooves import grooves_of
from beltwright.mechanics.lengths import geometry_length
from beltwright.mechanics.runout import metric_runout
from beltwright.mechanics.sections import mass_of, section
from beltwright.mechanics.sheaves import datum_diameter, outside_diameter
from beltwright.mechanics.standard_lengths import standard_lengths
from beltwright.units import from_si
from tests.published import printed
from tests.published.examples import examples, expected

BELTS = examples("is2494")
RUNOUT = examples("is3142_runout")
# the print divides nothing; 9.81 m/s2 is what was used to get its kg/m
GRAVITY = 9.81
SIZES = {"width_mm": "width", "height_mm": "height", "smallest_mm": "smallest", "datum_width_mm": "datum_width"}
PRINTED_LENGTHS = Path(__file__).with_name("is2494_lengths.csv").read_text(encoding="utf-8").split()[-53:]


@pytest.mark.parametrize("example", BELTS.values(), ids=list(BELTS))
def test_sizes_as_printed(example: dict[str, Any]) -> None:
    belt = section(example["given"]["section"], "is")
    for figure, field in SIZES.items():
        if figure in example["printed"]:
            assert from_si(getattr(belt, field), "mm", "length") == expected(example, figure)
    assert belt.smallest_as == "datum"


@pytest.mark.parametrize("example", BELTS.values(), ids=list(BELTS))
def test_rims_and_grooves_as_printed(example: dict[str, Any]) -> None:
    for groove in grooves_of(example["given"]["section"], "is"):
        assert groove.outside_less_datum is not None
        rim = groove.outside_less_datum / 2
        assert from_si(rim, "mm", "length") == expected(example, "rim_mm")
        assert from_si(groove.depth - rim, "mm", "length") == expected(example, "depth_below_mm")
        assert from_si(groove.spacing, "mm", "length") == expected(example, "spacing_mm")
        assert from_si(groove.edge, "mm", "length") == expected(example, "edge_mm")


@pytest.mark.parametrize("name", [name for name in BELTS if "weight_N_per_m" in BELTS[name]["printed"]])
def test_the_printed_weight_is_the_mass_used_for_is_belts(name: str) -> None:
    weight = float(BELTS[name]["printed"]["weight_N_per_m"])
    assert mass_of(name, "is").value == pytest.approx(weight / GRAVITY, abs=0.0006)
    assert mass_of(name, "is").source == "is2494"
    assert mass_of(name).low <= mass_of(name, "is").value <= mass_of(name).high


def test_inside_lengths_as_printed() -> None:
    # the print does not say which section is made in which length, so together they must hold all of them
    made = {belt.number for name in "ABCDE" for belt in standard_lengths(name, "is").belts}
    assert made == {int(text) for text in PRINTED_LENGTHS}


@pytest.mark.parametrize(("name", "step"), [("A", 36), ("B", 43), ("C", 56), ("D", 79), ("E", 92)])
def test_pitch_length_is_inside_length_and_the_section_step(name: str, step: int) -> None:
    found = geometry_length(np.array([2.667, 5.334]), "inside", name, "is")
    assert np.round(found * 1000, 6).tolist() == [2667 + step, 5334 + step]


@pytest.mark.parametrize("name", ["A", "B", "C"])
def test_a_tape_round_the_rim_tells_another_datum_diameter_than_iso(name: str) -> None:
    # the rim is higher over the datum line in IS 2494: a sheave read by its rim is 1 to 2 mm smaller under it
    by_is = datum_diameter(0.4, "outside", name, "is")
    by_iso = datum_diameter(0.4, "outside", name, "iso")
    assert 0.001 < by_iso - by_is < 0.002
    assert outside_diameter(by_is, "datum", name, "is") == pytest.approx(0.4, rel=1e-15)


@pytest.mark.parametrize("example", RUNOUT.values(), ids=list(RUNOUT))
def test_run_out_is_the_printed_share_of_the_diameter(example: dict[str, Any]) -> None:
    diameter = example["given"]["diameter_mm"] / 1000
    share = float(metric_runout(diameter)) / diameter
    assert share == expected(example, "share")
    if wrong := example.get("misprint", {}).get("share"):
        assert wrong["reason"]
        assert share != printed(wrong["printed"])
