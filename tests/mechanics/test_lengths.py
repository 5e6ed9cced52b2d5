"""Lengths: markings read or refused, one belt's lengths in each other's terms, and the pair that geometry needs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from beltwright.errors import BeltwrightError, InputError, NotKnown, OutOfRange
from beltwright.mechanics.geometry import belt_length, centre_from_length
from beltwright.mechanics.lengths import (
    convert_length,
    geometry_length,
    inch_number,
    marked_as,
    marked_length,
    marks,
    other_lengths,
    pitch_length,
    read_marking,
)
from beltwright.mechanics.sections import accepted, section, standards_of
from beltwright.mechanics.sheaves import geometry_diameter, outside_diameter, pitch_diameter
from beltwright.mechanics.standard_lengths import length_limits, nearest_lengths, standard_lengths
from beltwright.tables import load
from beltwright.units import INCH

PAIRS = [(name, whose) for name in accepted() for whose in standards_of(name)]
CLASSICAL = [name for name in accepted("din") if section(name, "din").system.name == "din-classical"]
pairs = st.sampled_from(PAIRS)


@pytest.mark.parametrize(("typed", "name", "whose", "mm", "kind"), [
    ("B112", "B", "rma", 2890.52, "datum"),
    (" b-112 ", "B", "rma", 2890.52, "datum"),
    ("AX85", "AX", "rma", 2192.02, "datum"),
    ("5V1250", "5V", "rma", 3175.0, "effective"),
    ("3VX 630", "3VX", "rma", 1600.2, "effective"),
    ("SPB 2500", "SPB", "iso", 2500.0, "datum"),
    ("xpa1180", "XPA", "iso", 1180.0, "datum"),
    ("SPB 2500 La", "SPB", "iso", 2500.0, "outside"),
    ("15N 1250", "15N", "iso", 1250.0, "effective"),
    ("17x2500 Li", "B", "din", 2500.0, "inside"),
    ("17 × 2500", "B", "din", 2500.0, "inside"),
    ("22x3000 Lw", "C", "din", 3000.0, "datum"),
    ("B 2500 Ld", "B", "iso", 2500.0, "datum"),
    ("AX 1250 Li", "AX", "din", 1250.0, "inside"),
])
def test_markings_that_settle_themselves(typed: str, name: str, whose: str, mm: float, kind: str) -> None:
    belt = read_marking(typed)
    assert (belt.section, belt.standard, belt.length_as, belt.count, belt.joined) == (name, whose, kind, None, False)
    assert belt.length * 1000 == pytest.approx(mm, abs=1e-6)


@pytest.mark.parametrize(("typed", "count", "joined"), [
    ("4 x B112", 4, None), ("4xB112", 4, None), ("4×SPB 2500", 4, None), ("12 X 5V1250 joined", 12, True),
    ("3 x 17x2500 Li banded", 3, True), ("2x15N 1250", 2, None), ("B112 joined", None, True),
])
def test_a_count_leaves_open_whether_it_is_a_band(typed: str, count: int | None, joined: bool | None) -> None:
    belt = read_marking(typed)
    assert (belt.count, belt.joined) == (count, joined)


@pytest.mark.parametrize("name", CLASSICAL)
def test_a_metric_number_of_a_classical_section_asks_whose_it_is(name: str) -> None:
    number = max(belt.number for belt in standard_lengths(name, "iso").belts)
    with pytest.raises(InputError, match=f"{name} {number} does not say whose length it is: name") as refused:
        read_marking(f"{name} {number}")
    for whose in standards_of(name):
        assert whose == "rma" or f"{whose} (" in str(refused.value)
    lengths = {whose: read_marking(f"{name} {number}", whose).length_as for whose in standards_of(name)
               if whose != "rma"}
    assert lengths == {whose: {"din": "inside", "is": "inside", "iso": "datum"}[whose] for whose in lengths}


@pytest.mark.parametrize("name", [name for name in CLASSICAL if "rma" in standards_of(name)])
def test_no_number_is_both_an_inch_number_and_a_metric_length(name: str) -> None:
    numbers = np.arange(1.0, 20000.0)
    assert not np.any(marks(numbers, name, "rma") & marks(numbers, name, "iso"))


def test_every_standard_belt_is_marked_with_a_number_its_marking_reads_back() -> None:
    for name, whose in PAIRS:
        try:
            belts = standard_lengths(name, whose).belts
        except NotKnown:
            assert (name, whose) in {(each, "din") for each in CLASSICAL} | {(f"{n}N", "iso") for n in (9, 15, 25)}
            continue
        for each in belts:
            read = read_marking(each.marking, whose)
            assert (read.section, read.standard, read.number) == (name, whose, each.number)
            assert geometry_length(read.length, read.length_as, name, whose) == pytest.approx(each.length, rel=1e-15)


@pytest.mark.parametrize(("typed", "whose", "words"), [
    ("R4-5V1250", None, "cannot read the marking 'R4-5V1250': type it like B112"),
    ("2/BX90", None, "cannot read the marking"),
    ("", None, "cannot read the marking ''"),
    ("B1,250", None, "cannot read the marking"),
    ("AA112", None, "unknown belt section 'AA': use A, AX"),
    ("4L430", None, "unknown belt section '4L'"),
    ("B 2500 Li", None, r"name the standard din \(inside length\) or is \(inside length\)"),
    ("Z 1000", None, r"name the standard din \(inside length\) or iso \(datum length\)"),
    ("SPB 2500", "rma", "section SPB is not a section of rma"),
    ("17x2500", "iso", "a marking by top width is DIN's"),
    ("20x2500", None, "no belt of DIN 2215 is 20 mm wide; known are 10, 13, 17, 22, 32, 40 mm"),
    ("5V1250 Le", None, "a belt of rma carries a number"),
    ("SPB 2500 Le", None, "have no effective length"),
    ("0 x B112", None, "a count of one or more"),
    ("B112", "ansi", "unknown standard 'ansi'"),
])
def test_markings_that_cannot_be_read_say_why(typed: str, whose: str | None, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_marking(typed, whose)


@pytest.mark.parametrize(("typed", "whose", "words"), [
    ("B75", "is", "B 75 under is: B belts run from 550 mm to 10000 mm; for an inch number name the standard rma"),
    ("Z 31", None, "Z belts run from 280 mm"),
    ("A250", None, "A250 is no inch number: A belts of rma run from A16 to A180"),
    ("B 2500", "rma", "B2500 is no inch number: B belts of rma run from B20 to B360"),
    ("B225", None, "between B210 and B240 the rule of the numbers changes"),
    ("5V99999", None, "5V99999 is no inch number"),
    ("SPB 99999", None, "SPB belts run from 800 mm to 10000 mm"),
])
def test_numbers_no_belt_carries_are_out_of_range(typed: str, whose: str | None, words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        read_marking(typed, whose)


@given(st.text(max_size=20) | st.from_regex(r"[0-9]{0,2} ?[x×]? ?[A-Z0-9]{1,4}[ -]?[0-9]{0,6} ?(L[idwae])?",
                                            fullmatch=True))
def test_whatever_is_typed_is_read_or_refused_in_words(typed: str) -> None:
    try:
        belt = read_marking(typed)
    except BeltwrightError:
        return
    assert 0.2 < belt.length < 20.0
    assert (belt.section, belt.standard) in PAIRS


@pytest.mark.parametrize(("name", "whose"), PAIRS)
def test_marked_length_takes_arrays_and_refuses_what_its_mask_does(name: str, whose: str) -> None:
    numbers = np.arange(1.0, 20000.0)
    possible = np.asarray(marks(numbers, name, whose))
    lengths = np.asarray(marked_length(numbers[possible], name, whose))
    assert np.all(np.diff(lengths) > 0)
    for number in numbers[possible][[0, 1, -1]]:
        assert marked_length(float(number), name, whose) == lengths[numbers[possible] == number][0]
    for bad in (0.0, -1.0, float("nan"), float(numbers[possible][0] - 1)):
        assert not marks(bad, name, whose)
        with pytest.raises(OutOfRange, match=name):
            marked_length(np.array([numbers[possible][0], bad]), name, whose)


@pytest.mark.parametrize("name", accepted("rma"))
def test_the_number_a_length_would_carry_is_the_marking_turned_round(name: str) -> None:
    numbers = np.arange(1.0, 6000.0)
    numbers = numbers[np.asarray(marks(numbers, name, "rma"))]
    lengths = marked_length(numbers, name, "rma")
    found = inch_number(lengths, marked_as(name, "rma"), name)
    assert np.asarray(found) == pytest.approx(numbers, abs=1e-9)


def kinds(name: str, whose: str) -> list[str]:
    return list(other_lengths(1.0, section(name, whose).system.length_as, name, whose))


@given(pairs, st.floats(0.4, 5.0), st.sampled_from(["newer", "older"]), st.data())
def test_there_and_back_is_the_same_belt(pair: tuple[str, str], length: float, edition: str,
                                         data: st.DataObject) -> None:
    known, wanted = (data.draw(st.sampled_from(kinds(*pair))) for _ in range(2))
    # RMA gives inside lengths only below the change of its rule
    assume(pair[1] != "rma" or "inside" not in (known, wanted) or length < (4.4 if pair[0][0] in "AB" else 5.0))
    there = convert_length(length, known, wanted, *pair, edition=edition)
    assert convert_length(there, wanted, known, *pair, edition=edition) == pytest.approx(length, rel=1e-14)


@given(pairs, st.floats(0.8, 4.0))
def test_inside_is_shortest_and_outside_longest(pair: tuple[str, str], length: float) -> None:
    system = section(*pair).system
    found = {name: float(each.value) for name, each in other_lengths(length, system.length_as, *pair).items()}
    assert found[system.length_as] == length
    assert max(found.values()) == found["outside"]
    assert min(found.values()) == found.get("inside", found["pitch"])


@pytest.mark.parametrize("edition", ["newer", "older"])
@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize(("small", "ratio", "apart"), [(0.2, 1.0, 1.2), (0.3, 2.5, 1.5), (0.25, 5.0, 3.0)])
def test_pitch_length_with_pitch_diameters_puts_the_centre_where_the_geometry_pair_does(
        pair: tuple[str, str], small: float, ratio: float, apart: float, edition: str) -> None:
    # two lines at one distance from each other all round: by geometry, whatever the standard
    system = section(*pair).system
    driver, driven = (geometry_diameter(size, system.diameter_as, *pair) for size in (small, small * ratio))
    centre = apart * small * (1 + ratio) / 2
    length = belt_length(driver, driven, centre)
    driver, driven = (pitch_diameter(size, system.diameter_as, *pair, edition=edition)
                      for size in (small, small * ratio))
    on_pitch = pitch_length(length, system.length_as, *pair, edition=edition)
    assert centre_from_length(driver, driven, on_pitch) == pytest.approx(centre, rel=1e-9)


def test_pitch_diameters_with_a_datum_length_are_a_mistake_of_half_an_inch() -> None:
    length = read_marking("B112").length
    datum = [float(geometry_diameter(size * INCH, "datum", "B", "rma")) for size in (7.4, 11.0)]
    pitch = [float(pitch_diameter(size * INCH, "datum", "B", "rma")) for size in (7.4, 11.0)]
    right, wrong = (float(centre_from_length(sizes[0], sizes[1], length)) / INCH for sizes in (datum, pitch))
    assert right == pytest.approx(42.4, abs=0.05)
    assert right - wrong == pytest.approx(0.55, abs=0.01)


@pytest.mark.parametrize(("name", "whose", "agrees"), [
    ("SPZ", "iso", 1.0), ("SPA", "iso", 1.0), ("SPB", "iso", 1.0), ("SPC", "iso", 1.0),
    ("A", "din", 3.0), ("C", "din", 3.0), ("B", "din", 7.1),
])
def test_published_outside_lengths_lie_where_the_rim_is(name: str, whose: str, agrees: float) -> None:
    rim = float(outside_diameter(0.4, "datum", name, whose)) - 0.4
    step = float(convert_length(2.5, "datum", "outside", name, whose)) - 2.5
    assert abs(step - np.pi * rim) * 1000 < agrees


def test_rma_gives_no_inside_length_from_the_change_of_its_rule_on() -> None:
    assert "inside" in other_lengths(210 * INCH, "inside", "B", "rma")
    assert "inside" not in other_lengths(float(marked_length(240, "B", "rma")), "datum", "B", "rma")
    with pytest.raises(OutOfRange, match=r"inside length of a B belt .* given only up to"):
        convert_length(7.0, "datum", "inside", "B", "rma")
    with pytest.raises(OutOfRange, match=r"inside length of a B belt .* given only up to"):
        geometry_length(np.array([5.0, 6.2]), "inside", "B", "rma")


@pytest.mark.parametrize(("asked", "words"), [
    (lambda: geometry_length(2.5, "effective", "B", "rma"), "have no effective length: give datum or"),
    (lambda: geometry_length(2.5, "datum", "5V", "rma"), "have no datum length"),
    (lambda: geometry_length(2.5, "nominal", "B", "din"), "say datum, inside, outside, effective or pitch"),
    (lambda: pitch_length(2.5, "datum", "B", "rma", edition="1988"), "say newer or older"),
])
def test_a_length_the_standard_does_not_have_is_refused(asked: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        asked()  # type: ignore[operator]


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_a_length_of_nothing_is_refused(bad: float) -> None:
    for kind in ("datum", "inside", "outside", "pitch"):
        with pytest.raises(OutOfRange, match="length of "):
            geometry_length(np.array([2.0, bad]), kind, "B", "iso")


@given(st.sampled_from([pair for pair in PAIRS if pair[0] not in ("9N", "15N", "25N")
                        and (pair[1] != "din" or pair[0] not in CLASSICAL)]), st.floats(0.5, 20.0))
def test_the_nearest_standard_belts_hold_the_length_between_them(pair: tuple[str, str], length: float) -> None:
    kind = section(*pair).system.length_as
    below, above = nearest_lengths(length, kind, *pair)
    belts = standard_lengths(*pair).belts
    if below is None:
        assert above == belts[0]
    elif above is None:
        assert below == belts[-1]
    else:
        assert below.length - 0.001 <= length <= above.length + 0.001
        assert belts.index(above) - belts.index(below) in (0, 1)


def test_a_standard_length_is_its_own_neighbour() -> None:
    for name, whose in (("B", "rma"), ("5V", "rma"), ("SPB", "iso"), ("C", "is")):
        for belt in standard_lengths(name, whose).belts:
            kind = section(name, whose).system.length_as
            assert nearest_lengths(belt.length, kind, name, whose) == (belt, belt)


def test_tolerance_of_metric_narrow_belts_is_about_one_percent() -> None:
    for name in ("SPZ", "SPA", "SPB", "SPC"):
        for belt in standard_lengths(name, "iso").belts:
            limits = length_limits(belt.length, "datum", name, "iso")
            assert limits.tolerance is not None
            assert limits.matching is not None
            assert 0.008 < limits.tolerance / belt.length < 0.0125
            assert limits.matching < limits.tolerance
            assert limits.trust == "memory"


def test_limits_never_shrink_with_length() -> None:
    for table, columns in (("lengths_ip20", ("tolerance", "matching")), ("length_limits_ip22", ("matching",)),
                           ("length_limits_iso4184", ("tolerance", "matching"))):
        for column in columns:
            values = list(load(table).column(column))
            assert values == sorted(values)


def test_between_two_standard_lengths_the_tighter_limit_holds() -> None:
    # B65 lies between B60 (0.15 in) and B68 (0.30 in)
    found = length_limits(float(marked_length(65, "B", "rma")), "datum", "B", "rma")
    assert found.matching == pytest.approx(0.15 * INCH)


@pytest.mark.parametrize(("name", "whose", "error"), [
    ("E", "rma", NotKnown), ("B", "din", NotKnown), ("B", "is", NotKnown), ("15N", "iso", NotKnown),
])
def test_limits_nobody_prints_are_not_known(name: str, whose: str, error: type[BeltwrightError]) -> None:
    with pytest.raises(error, match=f"known here for {name} belts"):
        length_limits(5.0, section(name, whose).system.length_as, name, whose)


@pytest.mark.parametrize(("length", "name", "whose"), [(0.5, "A", "rma"), (4.0, "A", "rma"), (0.5, "SPZ", "iso"),
                                                       (13.0, "SPC", "iso"), (20.0, "8V", "rma")])
def test_limits_outside_their_table_are_out_of_range(length: float, name: str, whose: str) -> None:
    with pytest.raises(OutOfRange, match=f"a {name} belt of .*: outside the table of length limits"):
        length_limits(length, section(name, whose).system.length_as, name, whose)
