"""US Army TM 5-4310-339-15 and TM 5-3820-233-12/1, and US Navy MO-206: tension by the yield of the span."""

from __future__ import annotations

import pytest

from beltwright.mechanics.deflection import coarse_deflection, force_at_mark, mark_deflection, tension_from_force
from beltwright.mechanics.tension import set_bands
from beltwright.tables import load
from beltwright.units import INCH, parse, to_si
from tests.published.examples import examples

ARMY = examples("army_tm")


def test_a_span_of_100_inches_yields_1_9_16_inches() -> None:
    example = ARMY["TM 5-4310-339-15 p. 5-3"]
    deflection = mark_deflection(example["given"]["span_in"] * INCH)
    assert deflection == pytest.approx(parse(example["printed"]["deflection"], "length"), rel=1e-12)


def test_the_manuals_band_is_the_cards() -> None:
    stated = ARMY["TM 5-4310-339-15 p. 5-3"]["printed"]
    ours = set_bands(100.0)
    assert ours.run_in == pytest.approx((float(stated["run_in_low_percent"]), float(stated["run_in_high_percent"])))
    assert ours.new.high == pytest.approx(float(stated["new_percent"]))
    rows = load("tension_bands").where(by="tm5-4310")
    assert [(row["belts"], row["low"], row["high"]) for row in rows] == [("run-in", 1.0, 1.5), ("new", None, 2.0)]


def test_table_4_3_keeps_the_one_and_a_half_rule_and_reads_as_a_plausible_tension() -> None:
    example = ARMY["TM 5-3820-233-12/1 table 4-3"]
    for deflection, (low, high) in zip(example["given"]["deflection_in"], example["printed"]["force_lbf"], strict=True):
        assert 1.4 <= float(high) / float(low) <= 1.5
        h = to_si(deflection, "in", "length")
        span = h / mark_deflection(1.0)
        tension = tension_from_force(to_si(float(low), "lbf", "force"), span, h, allowance=20.0)
        # back through the band: the table's upper force is at most that of one and a half times the tension
        assert to_si(float(high), "lbf", "force") <= force_at_mark(set_bands(tension).run_in.high, 20.0) * 1.03


def test_the_navys_rule_of_thickness_asks_for_less_than_the_mark_on_all_but_the_thickest_belts() -> None:
    span = 48 * INCH
    for height_in in (0.31, 0.41, 0.53):
        assert coarse_deflection(span, height_in * INCH) == pytest.approx(height_in * INCH, rel=1e-12)
        assert coarse_deflection(span, height_in * INCH) < mark_deflection(span)
    assert coarse_deflection(span, 0.91 * INCH) > mark_deflection(span)
