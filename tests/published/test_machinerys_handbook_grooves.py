"""Machinery's Handbook, 31st ed., table 9 (ANSI/RMA IP-20, 1988): grooves of classical sheaves."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from beltwright.mechanics.grooves import Groove, grooves_of
from beltwright.mechanics.sections import section
from beltwright.mechanics.sheaves import face_width, groove, meets_smallest, outside_diameter, pitch_diameter
from beltwright.tables import load
from beltwright.units import INCH, from_si
from tests.published import printed


def rows(name: str) -> list[dict[str, str]]:
    lines = Path(__file__).with_name(f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(lines[1:]))


GROOVES = rows("machinerys_handbook_grooves")
SMALLEST = rows("machinerys_handbook_smallest")
LARGE = 40.0 * INCH


def of(row: dict[str, str]) -> Groove:
    """The groove of a sheave at the upper limit of a row."""
    size = float(row["limit_in"]) * INCH if row["limit_in"] else LARGE
    return groove(size, "datum", row["section"], "rma")


@pytest.mark.parametrize("row", GROOVES, ids=lambda row: f"{row['section']}{row['angle_deg']}")
@pytest.mark.parametrize(("field", "column"), [
    ("top_width", "top_width_in"), ("top_width_tolerance", "top_width_tolerance_in"), ("datum_width", "datum_width_in"),
    ("depth", "depth_in"), ("outside_less_datum", "outside_less_datum_in"), ("rod_over_rim", "rod_over_rim_in"),
    ("rod", "rod_in"), ("spacing", "spacing_in"), ("edge", "edge_in"),
])
def test_every_size_as_printed(row: dict[str, str], field: str, column: str) -> None:
    assert from_si(getattr(of(row), field), "in", "length") == printed(row[column])


@pytest.mark.parametrize("row", GROOVES, ids=lambda row: f"{row['section']}{row['angle_deg']}")
def test_the_angle_holds_up_to_the_limit_and_changes_beyond(row: dict[str, str]) -> None:
    assert from_si(of(row).angle, "deg", "angle") == printed(row["angle_deg"])
    if row["limit_in"]:
        beyond = groove((float(row["limit_in"]) + 0.01) * INCH, "datum", row["section"], "rma")
        assert beyond.angle > of(row).angle


@pytest.mark.parametrize("row", GROOVES, ids=lambda row: f"{row['section']}{row['angle_deg']}")
def test_the_datum_width_lies_where_the_flanks_say(row: dict[str, str]) -> None:
    # the print agrees with itself: b_d = b_g - 2h_d tan(angle/2) within the last digit printed
    found = of(row)
    assert found.outside_less_datum is not None
    by_flanks = found.top_width - found.outside_less_datum * math.tan(found.angle / 2)
    assert found.datum_width == pytest.approx(by_flanks, abs=0.0006 * INCH)


@pytest.mark.parametrize("row", GROOVES, ids=lambda row: f"{row['section']}{row['angle_deg']}")
def test_the_rod_stands_over_the_rim_as_geometry_has_it(row: dict[str, str]) -> None:
    # a rod between the flanks; the least height printed is that of the widest groove allowed
    half = math.radians(float(row["angle_deg"])) / 2
    rod, top, wider = (float(row[name]) for name in ("rod_in", "top_width_in", "top_width_tolerance_in"))
    nominal = rod / 2 / math.sin(half) + rod / 2 - top / 2 / math.tan(half)
    assert nominal - wider / 2 / math.tan(half) - 0.005 < float(row["rod_over_rim_in"]) < nominal


@pytest.mark.parametrize("row", SMALLEST, ids=lambda row: str(row["section"]))
def test_smallest_sheaves(row: dict[str, str]) -> None:
    belt = section(row["section"], "rma")
    assert belt.smallest_as == "datum"
    assert belt.smallest_trust == "read"
    assert from_si(belt.smallest, "in", "length") == printed(row["datum_in"])
    sizes = np.array([-0.1, 0.0, 0.1]) + float(row["datum_in"])
    met = np.asarray(meets_smallest(sizes * INCH, "datum", row["section"], "rma"))
    assert met.tolist() == [False, True, True]
    if row["combination_in"]:
        sizes = np.array([-0.1, 0.0]) + float(row["combination_in"])
        met = np.asarray(meets_smallest(sizes * INCH, "datum", row["section"], "rma", combination=True))
        assert met.tolist() == [False, True]


@pytest.mark.parametrize("row", GROOVES, ids=lambda row: f"{row['section']}{row['angle_deg']}")
def test_the_pitch_line_is_at_the_rim_in_this_edition(row: dict[str, str]) -> None:
    size = float(row["limit_in"]) * INCH if row["limit_in"] else LARGE
    outside = outside_diameter(size, "datum", row["section"], "rma")
    assert pitch_diameter(size, "datum", row["section"], "rma") == outside
    assert from_si(float(outside - size), "in", "length") == printed(row["outside_less_datum_in"])
    assert pitch_diameter(size, "datum", row["section"], "rma", edition="older") == size


@pytest.mark.parametrize("row", GROOVES, ids=lambda row: f"{row['section']}{row['angle_deg']}")
def test_face_width_is_spacings_and_two_edges(row: dict[str, str]) -> None:
    spacing, edge = float(row["spacing_in"]), float(row["edge_in"])
    widths = face_width(np.array([1.0, 2.0, 5.0]), row["section"], "rma") / INCH
    assert widths == pytest.approx([2 * edge, spacing + 2 * edge, 4 * spacing + 2 * edge], abs=1e-9)


@pytest.mark.parametrize(("belt", "datum_width", "pitch"), [("A", 0.418, "0.37"), ("B", 0.510, "-0.01")])
def test_the_combination_cells_are_placed_where_the_flanks_put_them(belt: str, datum_width: float, pitch: str) -> None:
    # the print runs 0.634, 0.602, 0.333, 0.334 together; only one placing agrees with the flanks. For B the flanks
    # want 0.510 in at the datum line where 0.508 in is printed.
    for found in grooves_of(belt, "rma", True):
        assert found.outside_less_datum is not None
        by_flanks = (found.top_width / INCH - datum_width) / math.tan(found.angle / 2)
        assert found.outside_less_datum / INCH == pytest.approx(by_flanks, abs=0.001)
        assert from_si(found.outside_less_pitch, "in", "length") == printed(pitch)
        assert found.trust == "derived"


def test_an_a_belt_runs_at_nearly_the_same_pitch_line_in_either_groove() -> None:
    # 2h_d less 2a_p: 0.25 in in an A groove, 0.26 and 0.23 in in a combination groove; 0.35 and 0.34 in for B
    for belt in "AB":
        standard = grooves_of(belt, "rma")[0]
        for found in grooves_of(belt, "rma", True):
            assert found.outside_less_datum is not None
            assert standard.outside_less_datum == pytest.approx(
                found.outside_less_datum - found.outside_less_pitch, abs=0.02 * INCH)


def test_e_grooves_of_older_editions_agree_with_themselves() -> None:
    # from memory, but both angles put the datum line at one width
    widths = []
    for found in grooves_of("E", "rma"):
        assert found.trust == "memory"
        assert found.outside_less_datum is not None
        widths.append(found.top_width - found.outside_less_datum * math.tan(found.angle / 2))
    assert widths[0] == pytest.approx(widths[1], abs=0.0006 * INCH)
    assert section("E", "rma").datum_width == pytest.approx(widths[0], abs=0.0006 * INCH)


def test_no_row_of_the_table_is_left_untested() -> None:
    tested = {(row["section"], float(row["angle_deg"])) for row in GROOVES}
    held = {(row["section"], round(from_si(float(str(row["angle"])), "deg", "angle"), 6))
            for row in load("grooves_ip20").where(kind="standard") if row["trust"] == "read"}
    assert held == tested
