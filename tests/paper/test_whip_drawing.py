"""The charts of whip read back: curves, stripes and rays where the numbers put them, every word inside."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.findings.targets import targets_for
from beltwright.bench.whip import whippable
from beltwright.bench.whip_chart import Whip, whip_of
from beltwright.errors import BeltwrightError
from beltwright.paper.svg import width
from beltwright.paper.whip_drawing import PAGE, PAPER, letters, speed_chart, tension_chart, ticks
from beltwright.units import System
from tests.bench.drives import a_drive, demo_drives
from tests.paper.demo import SVG, Drawn

DEMO = [drive for drive in demo_drives() if whippable(targets_for(drive))]


def pump() -> Whip:
    return whip_of(targets_for(a_drive(driven_pulses="2", pulsation_percent="40", motor_lowest_speed_rpm="700",
                                       motor_highest_speed_rpm="1750")))


def scale_of(drawn: Drawn, made: Whip) -> tuple[np.poly1d, np.poly1d]:
    """From tension and note to paper, by the tight side's curve; it must be straight in both."""
    (points,) = drawn.lines("tight")
    x, y = np.array(points).T
    along = np.poly1d(np.polyfit(made.curves.over, x, 1))
    up = np.poly1d(np.polyfit(made.curves.tight, y, 1))
    np.testing.assert_allclose(along(made.curves.over), x, atol=1e-3)
    np.testing.assert_allclose(up(made.curves.tight), y, atol=1e-3)
    return along, up


@pytest.mark.parametrize("drive", DEMO[::4], ids=lambda drive: drive.tag)
def test_curves_stripes_band_and_window_are_to_scale(drive: object) -> None:
    made = whip_of(targets_for(drive))  # type: ignore[arg-type]
    drawn = Drawn(tension_chart(made, "si"))
    along, up = scale_of(drawn, made)
    (slack,) = drawn.lines("slack")
    np.testing.assert_allclose(np.array(slack).T[1], up(made.curves.slack), atol=1e-3)
    (band,) = drawn.lines("band")
    assert sorted({x for x, _ in band}) == pytest.approx([along(end) for end in made.band], abs=1e-3)
    bottoms = sorted(max(y for _, y in stripe) for stripe in drawn.lines("stripe"))
    judged = [shaker for shaker in made.shakers if shaker.judged and not shaker.feeds]
    expected = sorted(up(shaker.meets * (1 - made.near)) for shaker in judged)
    inside = [low for low in expected if low > min(y for _, y in band)]
    assert bottoms == pytest.approx(inside, abs=1e-3)
    clear = drawn.lines("clear")
    assert len(clear) == (made.window is not None)
    if made.window is not None:
        assert sorted({x for x, _ in clear[0]}) == pytest.approx([along(end) for end in made.window], abs=1e-3)


def test_rays_run_through_nought_and_meet_the_curves_where_the_table_says() -> None:
    made = pump()
    assert made.speeds is not None
    drawn = Drawn(speed_chart(made, made.speeds, "si"))
    over = made.speeds.curves.over
    (points,) = drawn.lines("slack")
    x, y = np.array(points).T
    along, up = (np.polyfit(numbers, place, 1) for numbers, place in ((over, x), (made.speeds.curves.slack, y)))
    rays = drawn.lines("shaker")
    assert len(rays) == len(made.speeds.shakers)
    for ray, shaker in zip(rays, made.speeds.shakers, strict=True):
        for place_x, place_y in ray:
            speed, note = (place_x - along[1]) / along[0], (place_y - up[1]) / up[0]
            assert note == pytest.approx(shaker.meets * speed / made.speeds.rated, rel=1e-3)


@pytest.mark.parametrize("system", ["si", "inch"])
@pytest.mark.parametrize("look", [PAGE, PAPER])
def test_every_word_stands_inside_and_says_what_the_shapes_are(system: System, look: object) -> None:
    for made in [pump(), *(whip_of(targets_for(drive)) for drive in DEMO[::5])]:
        charts = [tension_chart(made, system, look)]  # type: ignore[arg-type]
        if made.speeds is not None:
            charts.append(speed_chart(made, made.speeds, system, look))  # type: ignore[arg-type]
        for svg in charts:
            drawn = Drawn(svg)
            _, _, wide, high = drawn.box()
            for text in drawn.root.iter(f"{SVG}text"):
                x, y, size = (float(text.attrib[name]) for name in ("x", "y", "font-size"))
                long = width(text.text or "", size)
                first = {"start": 0.0, "middle": -long / 2, "end": -long}[text.attrib["text-anchor"]]
                assert x + first >= -0.5, text.text
                assert x + first + long <= wide + 0.06 * wide, text.text
                assert 0 <= y <= high
            words = {text.text for text in drawn.root.iter(f"{SVG}text")}
            assert {"tight", "slack", "Hz"} <= words
            assert "fill=\"#" not in svg
            assert 'style="' not in svg
        shown = "".join(drawn.words("letter"))
        assert set(shown) <= set("".join(letters(made).values()))


def test_what_feeds_a_span_is_drawn_as_a_tongue_about_half_of_what_swings() -> None:
    made = pump()
    drawn = Drawn(tension_chart(made, "si"))
    _, up = scale_of(drawn, made)
    assert len(drawn.lines("tongue")) == len(made.tongues) == 2
    for tongue, outline in zip(made.tongues, drawn.lines("tongue"), strict=True):
        heights = [y for _, y in outline]
        assert min(heights) == pytest.approx(up(max(tongue.high)), abs=1e-3)
        assert max(heights) == pytest.approx(up(min(tongue.low)), abs=1e-3)


@settings(max_examples=25, deadline=None)
@given(st.floats(20, 90), st.floats(3, 30), st.floats(300, 2000), st.floats(1, 3), st.floats(0.5, 12))
def test_any_drive_with_a_note_is_drawn(inches: float, power: float, slowest: float, times: float,
                                        pulses: float) -> None:
    drive = a_drive(centre_in=f"{inches:.1f}", motor_power_hp=f"{power:.1f}", driven_speed_rpm=None, belt_section="B",
                    motor_lowest_speed_rpm=f"{slowest:.0f}", motor_highest_speed_rpm=f"{slowest * times:.0f}",
                    driven_pulses=f"{pulses:.2f}", pulsation_percent="60", belt_marking=None)
    try:
        made = whip_of(targets_for(drive))
    except BeltwrightError:
        return
    charts = [tension_chart(made, "si")] + ([speed_chart(made, made.speeds, "inch")] if made.speeds else [])
    for svg in charts:
        assert not re.search(r"nan|inf", svg.split("</desc>")[1])
        Drawn(svg)


@given(st.floats(0.0, 1e4), st.floats(1e-3, 1e4), st.integers(3, 8))
def test_ticks_are_round_inside_and_no_more_than_wanted(low: float, wide: float, wanted: int) -> None:
    found = ticks(low, low + wide, wanted)
    assert len(found) <= wanted + 1
    assert all(low - 1e-6 * (1 + low) <= tick <= (low + wide) * (1 + 1e-6) for tick in found)
    if len(found) > 1:
        step = found[1] - found[0]
        digits = step / 10 ** math.floor(math.log10(step) + 1e-6)
        assert any(digits == pytest.approx(each, rel=1e-3) for each in (1, 2, 2.5, 5, 10))
