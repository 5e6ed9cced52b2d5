"""The V-belt installation checklist: half a degree, or a tenth of an inch per foot of centre distance."""

from __future__ import annotations

import numpy as np

from beltwright.mechanics.misalignment import misalignment, offset_at
from beltwright.tables import load
from beltwright.units import FOOT, INCH
from tests.published.examples import examples, expected

RULE = examples("alignment_checklist")["half a degree"]


def test_half_a_degree_is_the_printed_tenth_of_an_inch_per_foot() -> None:
    angle, centre = np.radians(RULE["given"]["angle_deg"]), RULE["given"]["centre_ft"] * FOOT
    assert float(offset_at(angle, centre)) / INCH == expected(RULE, "offset_in")


def test_the_table_holds_both_forms_and_the_target_is_the_tighter() -> None:
    acceptable, target = (load("alignment_limits").where(limit=name)[0] for name in ("acceptable", "target"))
    assert isinstance(acceptable["slope"], float)
    assert isinstance(acceptable["angle"], float)
    assert isinstance(target["slope"], float)
    assert acceptable["slope"] * FOOT / INCH == expected(RULE, "offset_in")
    # a drive whose grooves stand apart by the printed step over each foot is within the printed angle, and only just
    offset = acceptable["slope"] * FOOT
    found = float(misalignment(offset, 0.0, 0.0, 0.2, 0.2, FOOT))
    assert 0.9 * acceptable["angle"] < found <= acceptable["angle"]
    assert target["slope"] < np.tan(acceptable["angle"])
