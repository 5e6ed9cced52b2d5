"""The figures of a card: each can be followed by hand from its own working, in either system of units."""

from __future__ import annotations

import math
import re

import pytest

from beltwright.bench.card import Card, make_card
from beltwright.bench.figure import Figure
from beltwright.desk.prepare import FIGURE_KEYS
from beltwright.errors import NotKnown
from beltwright.tables import TRUST_WORDS, sources
from tests.bench.drives import a_drive, demo_drives
from tests.published import printed


@pytest.fixture(scope="module")
def card() -> Card:
    return make_card(a_drive(driven_bearing="ball", driven_bearing_rating_n="52700"))


def puts(figure: Figure) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for put in figure.working.puts:
        if isinstance(put.value, float):
            found.setdefault(put.symbol, []).append(put.value)
    return found


def test_span_and_deflection_follow_by_hand(card: Card) -> None:
    span, given = card.figure("span"), puts(card.figure("span"))
    (C,), (d,), (D,) = given["C"], given["d"], given["D"]
    assert span.value == pytest.approx(math.sqrt(C**2 - ((D - d) / 2) ** 2), rel=1e-9)
    assert card.figure("deflection").value == pytest.approx(span.value / 64 if span.value else 0, rel=1e-12)


def test_tension_force_and_note_follow_by_hand_and_agree(card: Card) -> None:
    given = puts(card.figure("static_tension"))
    (K,), (P,), (N,), (v,), (m,) = (given[name] for name in ("K", "P_d", "N", "v", "m"))
    by_hand = 0.5 * (2.5 / K - 1) * P / (N * v) + m * v**2
    assert card.figure("static_tension").value == pytest.approx(by_hand, rel=1e-9)
    for state in ("run_in", "new"):
        tension, force = card.figure(f"tension_{state}"), card.figure(f"force_{state}")
        note, (Y,) = card.figure(f"frequency_{state}"), puts(force)["Y"]
        for end in ("low", "high"):
            T, p, f = (getattr(figure, end) for figure in (tension, force, note))
            assert p == pytest.approx((T + Y) / 16, rel=1e-9)
            assert f == pytest.approx(math.sqrt(T / m) / (2 * (card.figure("span").value or 0)), rel=1e-9)


def test_shigleys_service_factor_reached_is_near_the_printed_one() -> None:
    """Shigley 17-4 rates by an older table, half of IP-20's: here about twice the printed 1.13 x 1.3 is reached."""
    reached = make_card(a_drive()).figure("service_factor_reached").value
    assert reached is not None
    assert 1.8 < reached / (1.13 * 1.3) < 2.6


def test_shigleys_belt_speed_is_as_printed_on_the_datum_line(card: Card) -> None:
    """3390 ft/min printed on 7.4 in; on IP-20's pitch line the rim's 7.75 in run at 7.75/7.4 of it."""
    speed = card.figure("belt_speed").value
    assert speed is not None
    assert speed / 0.3048 * 60 * 7.4 / 7.75 == printed("3390")


@pytest.mark.parametrize("drive", demo_drives(), ids=lambda drive: drive.tag)
def test_every_figure_has_a_source_a_trust_and_reads_in_both_systems(drive: object) -> None:
    made = make_card(drive)  # type: ignore[arg-type]
    for figure in made.figures.values():
        assert set(figure.working.sources) <= set(sources()), figure.key
        assert figure.working.trust in TRUST_WORDS
        for system in ("si", "inch"):
            text = figure.text(system)
            assert text, figure.key
            assert "nan" not in text
            assert "inf" not in text
            for put in figure.working.puts:
                assert put.text(system)
                assert not put.figure or put.figure in made.figures, f"{figure.key} leans on {put.figure}"
        numbers = [number for number in (figure.value, figure.low, figure.high, figure.spread) if number is not None]
        assert all(math.isfinite(number) for number in numbers), figure.key


def test_no_working_speaks_millimetres_to_a_reader_of_inches() -> None:
    """Numbers in workings are values with kinds, so that either system shows its own; words carry none of their own."""
    for drive in demo_drives():
        for key, figure in make_card(drive).figures.items():
            if key.startswith("runout"):
                continue   # its remark quotes a printed range, with the misprint in it
            words = " ".join((figure.working.validity, *figure.working.remarks))
            assert not re.search(r"\d\s?(mm|N|kW|m/s|kg)\b", words), (figure.key, words)


def test_the_running_pull_is_shown_as_a_vector(card: Card) -> None:
    """Along and across the line of centres: together the resultant, and across it the small share that lifts."""
    figure = card.figure("pull_running")
    along, across = puts(figure)[""]
    assert figure.value == pytest.approx(math.hypot(along, across), rel=1e-9)
    # tight and slack sides in the ratio 5 to 1 at half a turn, on a wrap of 175 degrees
    (theta,) = puts(figure)["θ"]
    ratio = 5 ** (theta / math.pi)
    assert across / along == pytest.approx((ratio - 1) / (ratio + 1) / math.tan(theta / 2), rel=1e-9)


def test_the_older_textbook_rating_stands_beside_the_other_and_alone_for_e() -> None:
    """Shigley's table rates a belt about half as high as IP-20 of 1988; section E has only the older one."""
    both = make_card(a_drive())
    older, newer = both.figure("power_by_textbook").value, both.figure("power_per_belt").value
    assert older is not None
    assert newer is not None
    assert 0.4 < older / newer < 0.65
    old_mill = make_card(next(drive for drive in demo_drives() if drive.tag == "PEL-03"))
    assert "power_by_textbook" in old_mill.figures
    assert "power_per_belt" not in old_mill.figures
    assert "power_by_textbook" not in make_card(a_drive(belt_marking="BX112")).figures


def test_a_figure_that_is_not_known_says_why() -> None:
    made = make_card(a_drive(motor_power_hp=None))
    with pytest.raises(NotKnown, match="the motor's power"):
        made.figure("force_new")


def test_every_key_that_is_offered_is_a_figure_of_a_complete_drive(card: Card) -> None:
    assert set(card.figures) >= FIGURE_KEYS


def test_what_to_draw_from_the_store() -> None:
    assert make_card(a_drive()).store() == "1 matched set of 3 belts B112, all new, one make."
    assert make_card(a_drive(belts_joined="yes")).store() == "1 joined band B112, 3 ribs, new."
    assert make_card(a_drive(belt_count="1")).store() == "1 belt B112, new."
    assert make_card(a_drive(belt_marking=None)).store() == ""


def test_a_joined_band_is_pressed_as_a_whole() -> None:
    made = make_card(a_drive(belts_joined="yes"))
    one, whole = made.figure("force_run_in"), made.figure("force_run_in_band")
    assert whole.low == pytest.approx(3 * (one.low or 0), rel=1e-9)
