"""What to go and read, in the order of what it unlocks."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from beltwright.bench.card import make_card
from beltwright.bench.gaps import gaps
from beltwright.bench.known import complete
from tests.bench.drives import SOUND, a_drive

# the cell of the sound drive that answers each reading asked for
ANSWERS = {
    "belt_marking": "belt_marking", "belt_section": "belt_marking", "driver_outside": "driver_datum_in",
    "driven_outside": "driven_datum_in", "centre": "centre_in", "belt_count": "belt_count",
    "motor_power": "motor_power_hp", "motor_speed": "motor_speed_rpm", "service": "service",
    "running": "running_h_per_day", "driven_speed": "driven_speed_rpm", "driver_material": "driver_material",
    "driven_overhang": "driven_overhang_mm",
}
OPTIONAL = sorted(set(SOUND) - {"tag", "name"})


def test_a_complete_drive_has_none() -> None:
    assert gaps(complete(a_drive()), rated=True) == ()


def test_the_first_reading_asked_for_unlocks_most() -> None:
    asked = gaps(complete(a_drive(motor_power_hp=None)), rated=True)
    assert asked[0].column == "motor_power"
    assert "deflection force" in asked[0].unlocks


def test_without_a_published_rating_the_belts_own_table_is_asked_for() -> None:
    drive = a_drive(belt_marking="SPB 2800", driver_datum_in=None, driven_datum_in=None, driver_datum_mm="200",
                    driven_datum_mm="280", centre_in=None, centre_mm="1023")
    assert "belt_power" in [gap.column for gap in make_card(drive).gaps]


@settings(deadline=None, max_examples=60)
@given(st.sets(st.sampled_from(OPTIONAL)))
def test_reading_what_is_asked_for_ends_with_nothing_missing(left_out: set[str]) -> None:
    cells: dict[str, str | None] = dict.fromkeys(left_out)
    for _ in range(len(SOUND)):
        asked = gaps(complete(a_drive(**cells)), rated=True)
        asked = tuple(gap for gap in asked if gap.column != "belt_power")
        if not asked:
            break
        before = make_card(a_drive(**cells)).figures.keys()
        for gap in asked:
            for name in (ANSWERS[gap.column], *(("driven_material",) if gap.column == "driver_material" else ()),
                         *(("driven_bearing_span_mm",) if gap.column == "driven_overhang" else ())):
                cells.pop(name, None)
        assert before <= make_card(a_drive(**cells)).figures.keys()
    assert "force_new" in make_card(a_drive(**cells)).figures
