"""The side view is exact: read back from the SVG and held against geometry worked out another way."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from beltwright.bench.card import Card, make_card
from beltwright.paper.drawing import PAGE, PAPER, Found, drawing
from beltwright.plant.drive import Belts, Drive, Rotation, Sheave
from beltwright.units import INCH, to_si
from tests.paper.demo import Drawn, Point, apart, cards

# coordinates are printed to a ten-thousandth of a millimetre
FINE = 3e-4
SHOWN = [tag for tag, card in cards().items() if card.worked.shape is not None]


@st.composite
def drives(draw: st.DrawFn) -> Drive:
    driver, driven = (draw(st.floats(0.14, 1.2)) for _ in range(2))
    centre = draw(st.floats(1.02, 5.0)) * (driver + driven) / 2 + 0.02
    rotation: Rotation = draw(st.sampled_from(["clockwise", "anticlockwise"]))
    return Drive("T-1", "test", driver=Sheave(driver, "outside", 2), driven=Sheave(driven, "outside", 2),
                 belts=Belts(section="5V", count=2), centre=centre, rotation=rotation,
                 incline=math.radians(draw(st.floats(-180, 180))))


class Belt:
    """The path of the belt as drawn: its four tangent points, the radii and flags of its two arcs."""

    def __init__(self, drawn: Drawn) -> None:
        (path,) = (element.attrib["d"] for element in drawn.all("belt-line"))
        number = r"(-?[\d.]+)"
        arc = rf"A{number} {number} 0 ([01]) ([01]) {number} {number}"
        found = re.fullmatch(rf"M{number} {number}L{number} {number}{arc}L{number} {number}{arc}Z", path)
        assert found, path
        g = [float(part) for part in found.groups()]
        self.points: list[Point] = [(g[0], g[1]), (g[2], g[3]), (g[8], g[9]), (g[10], g[11])]
        self.radii = (g[12], g[4])
        assert g[4] == g[5]
        assert g[12] == g[13]
        assert (g[16], g[17]) == self.points[0], "the path does not close where it began"
        self.large = (bool(g[14]), bool(g[6]))
        self.sweeps = (g[15], g[7])

    def arc(self, which: int, middle: Point) -> float:
        """How far round a sheave the path goes, by its end points, the side it sweeps and nothing else [rad]."""
        start, end = ((self.points[3], self.points[0]), (self.points[1], self.points[2]))[which]
        a, b = (math.atan2(point[1] - middle[1], point[0] - middle[0]) for point in (start, end))
        return (b - a if self.sweeps[which] else a - b) % (2 * math.pi)


def off(point: Point, a: Point, b: Point) -> float:
    """How far a point lies from the line through two others."""
    return abs((b[0] - a[0]) * (a[1] - point[1]) - (a[0] - point[0]) * (b[1] - a[1])) / apart(a, b)


def hull_length(circles: list[tuple[Point, float]]) -> float:
    """The length of a band round two discs, from points round them."""
    round_ = np.linspace(0, 2 * math.pi, 40_000, endpoint=False)
    points = np.concatenate([np.column_stack((x + r * np.cos(round_), y + r * np.sin(round_)))
                             for (x, y), r in circles])
    return float(ConvexHull(points).area)  # of a flat hull, SciPy's area is its outline


def check_belt(drawn: Drawn) -> None:
    belt, circles = Belt(drawn), drawn.circles("pitch-line")
    assert len(circles) == 2
    for which, (points, radius) in enumerate(zip(((0, 3), (1, 2)), belt.radii, strict=True)):
        middle, drawn_radius = circles[which]
        assert radius == pytest.approx(drawn_radius, abs=FINE)
        for at in points:
            assert apart(belt.points[at], middle) == pytest.approx(radius, abs=FINE), "off the pitch line"
    for a, b in ((0, 1), (2, 3)):
        (ax, ay), (bx, by) = belt.points[a], belt.points[b]
        for point, which in ((belt.points[a], 0 if a == 0 else 1), (belt.points[b], 1 if b == 1 else 0)):
            (x, y), radius = circles[which]
            square = ((point[0] - x) * (bx - ax) + (point[1] - y) * (by - ay)) / (apart((ax, ay), (bx, by)) * radius)
            assert abs(square) < 1e-3, "the span does not touch, it cuts"
    length = sum(apart(belt.points[a], belt.points[b]) for a, b in ((0, 1), (2, 3)))
    for which in (0, 1):
        swept = belt.arc(which, circles[which][0])
        assert belt.large[which] == (swept > math.pi) or abs(swept - math.pi) < 1e-3
        length += belt.radii[which] * swept
    assert length == pytest.approx(hull_length(circles), rel=2e-6)


@given(drives())
def test_belt_lies_taut_round_both_sheaves(drive: Drive) -> None:
    check_belt(Drawn(drawing(make_card(drive), "si")))


@pytest.mark.parametrize("tag", SHOWN)
def test_every_demo_drive_is_drawn_to_the_scale_it_says(tag: str) -> None:
    card = cards()[tag]
    drawn = Drawn(drawing(card, "si"))
    check_belt(drawn)
    per_metre = 1000 / drawn.scale()
    (first, second), rims = drawn.circles("pitch-line"), drawn.circles("rim")
    known = card.known
    assert apart(first[0], second[0]) == pytest.approx(known.value("centre") * per_metre, abs=FINE)
    for which, pitch, rim in (("driver", first, rims[0]), ("driven", second, rims[1])):
        assert 2 * pitch[1] == pytest.approx(known.value(f"{which}_geometry") * per_metre, abs=FINE)
        assert 2 * rim[1] == pytest.approx(known.value(f"{which}_outside") * per_metre, abs=FINE)
    span = card.figures["span"].value
    assert span is not None
    belt = Belt(drawn)
    assert apart(belt.points[0], belt.points[1]) == pytest.approx(span * per_metre, abs=FINE)


@given(drives())
def test_line_of_centres_has_the_incline(drive: Drive) -> None:
    (a, _), (b, _) = Drawn(drawing(make_card(drive), "si")).circles("rim")
    drawn = math.atan2(a[1] - b[1], b[0] - a[0])  # SVG counts y downwards
    assert math.remainder(drawn - (drive.incline or 0.0), 2 * math.pi) == pytest.approx(0, abs=1e-5)


@given(drives())
def test_driver_pulls_the_tight_side_and_the_arrow_turns_that_way(drive: Drive) -> None:
    drawn = Drawn(drawing(make_card(drive), "si"))
    (driver, _), (driven, _) = drawn.circles("rim")
    for arrow, middle in zip(drawn.lines("rotation")[::2], (driver, driven), strict=True):
        (ax, ay), (bx, by) = arrow[0], arrow[-1]
        turn = (ax - middle[0]) * (by - middle[1]) - (ay - middle[1]) * (bx - middle[0])
        assert (turn > 0) == (drive.rotation == "clockwise")  # y downwards: clockwise is plus
    # a belt's point on a span moves with the driver's rim there: away from the driver where the span is slack
    # the middle of the words: they are turned round it, their base line lies about a third of their size below
    labels = {element.text: (float(element.attrib["x"]), float(element.attrib["y"]) - 0.35 * float(
        element.attrib["font-size"])) for element in drawn.all("side")}
    assume(set(labels) == {"slack side", "tight side"})
    belt = Belt(drawn)
    for name, label in labels.items():
        (start, end), _ = sorted((((belt.points[0], belt.points[1])), ((belt.points[3], belt.points[2]))),
                                 key=lambda span: off(label, *span))
        # the rim under the span's end at the driver, turning as the drive does
        away = (end[0] - start[0]) * (start[1] - driver[1]) - (end[1] - start[1]) * (start[0] - driver[0])
        moves_away = (away < 0) == (drive.rotation == "clockwise")
        assert moves_away == (name == "slack side")


@given(drives())
def test_pressed_on_the_upper_span_from_outside(drive: Drive) -> None:
    assume(abs(math.cos(drive.incline or 0.0)) > 0.01)
    drawn = Drawn(drawing(make_card(drive), "si"))
    belt, (tail, tip) = Belt(drawn), drawn.lines("press")[0]
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in ((belt.points[0], belt.points[1]),
                                                                   (belt.points[2], belt.points[3]))]
    upper = min(middles, key=lambda middle: middle[1])
    assert apart(tip, upper) < min(apart(tail, upper), apart(tip, max(middles, key=lambda middle: middle[1])))


@pytest.mark.parametrize("tag", SHOWN)
def test_deflection_and_room_to_move_are_to_scale(tag: str) -> None:
    card = cards()[tag]
    drawn = Drawn(drawing(card, "inch"))
    per_metre = 1000 / drawn.scale()
    ((a, low, b),) = drawn.lines("pressed")
    deep = off(low, a, b)
    wanted = card.figures["deflection"].value
    assert wanted is not None
    assert deep == pytest.approx(wanted * per_metre, abs=1e-3)
    moves = [line for line in drawn.lines("move") if len(line) == 2]
    if card.drive.base == "fixed":
        assert not moves, "a motor that cannot be moved has no arrows to say where"
        return
    arrows = [line for line in moves if line[0] == moves[0][0]]
    lengths = [apart(*line) for line in arrows]
    for key, length in zip(("take_up", "slack_off"), lengths, strict=True):
        room = card.figures[key].value
        assert room is not None
        assert length == pytest.approx(room * per_metre, abs=FINE)
    driver, driven = (middle for middle, _ in drawn.circles("rim"))
    towards = [(line[1][0] - line[0][0]) * (driven[0] - driver[0]) + (line[1][1] - line[0][1]) * (driven[1] - driver[1])
               for line in arrows]
    assert towards[0] < 0 < towards[1], "take-up leads away from the driven shaft, slack-off towards it"


@pytest.mark.parametrize(("system", "long"), [("si", 100.0), ("inch", 4 * INCH * 1000)])
def test_check_bar_has_its_true_length_on_paper(system: str, long: float) -> None:
    svg = drawing(cards()["FAN-12"], "si" if system == "si" else "inch")
    drawn = Drawn(svg)
    xs = [x for line in drawn.lines("check-bar") for x, _ in line]
    _, _, wide, high = drawn.box()
    assert max(xs) - min(xs) == pytest.approx(long, abs=FINE)
    assert drawn.root.attrib["width"] == f"{wide:g}mm"
    assert float(drawn.root.attrib["height"].removesuffix("mm")) == high


@pytest.mark.parametrize("look", [PAPER, PAGE])
@pytest.mark.parametrize("tag", list(cards()))
def test_nothing_reaches_over_the_edge(tag: str, look: object) -> None:
    chosen = PAPER if look is PAPER else PAGE
    drawn = Drawn(drawing(cards()[tag], "si", chosen))
    x, y, wide, high = drawn.box()
    assert wide == chosen.width
    assert high <= chosen.height
    for (cx, cy), radius in drawn.circles("rim"):
        assert x <= cx - radius < cx + radius <= x + wide
        assert y <= cy - radius < cy + radius <= y + high
    for kind in ("pressed", "press", "move", "rotation", "check-bar", "extension", "centre", "span"):
        for points in drawn.lines(kind):
            for px, py in points:
                assert x <= px <= x + wide, kind
                assert y <= py <= y + high, kind


def test_words_stay_legible_on_a_phone() -> None:
    drawn = Drawn(drawing(cards()["FAN-12"], "si", PAGE, found=Found(31, 26, 38)))
    pixels = 360 / drawn.box()[2]
    sizes = [float(element.attrib["font-size"]) * pixels for element in drawn.root.iter() if "font-size" in
             element.attrib]
    assert min(sizes) >= 9.5
    assert sum(size >= 11.4 for size in sizes) >= len(sizes) - 2


def test_drawing_obeys_a_strict_page_and_tells_nothing_by_colour() -> None:
    svg = drawing(cards()["FAN-12"], "si", PAGE, found=Found(22, 26, 38))
    drawn = Drawn(svg)
    for element in drawn.root.iter():
        assert element.tag.removeprefix("{http://www.w3.org/2000/svg}") in {"svg", "title", "desc", "path", "circle",
                                                                            "text"}
        for name in element.attrib:
            assert name != "style"
            assert not name.startswith("on")
            assert "href" not in name
        for name in ("fill", "stroke"):
            assert element.get(name, "none") in {"none", "currentColor"}
    assert drawn.words("found") == ["found 22 N, below the run-in band"]


def test_named_and_described_for_those_who_cannot_see_it() -> None:
    root = Drawn(drawing(cards()["FAN-12"], "si")).root
    title, desc = (root.find(f"{{http://www.w3.org/2000/svg}}{name}") for name in ("title", "desc"))
    assert title is not None
    assert desc is not None
    assert root.attrib["aria-labelledby"].split() == [title.attrib["id"], desc.attrib["id"]]
    assert title.text == "Side view of FAN-12"
    for words in ("16.8 mm", "1076 mm", "53 mm", "87 mm", "slack side is above"):
        assert words in (desc.text or "")


def test_drive_not_known_says_that_it_is_not_to_scale() -> None:
    drawn = Drawn(drawing(cards()["MIX-01"], "si"))
    assert drawn.words("scale")[0].startswith("an example, not to scale")
    assert any("________" in words for words in drawn.words("press"))
    assert drawn.words("side") == [], "without rotation no side is called tight"
    assert "seen from above" in drawn.words("seen")[0]


HOSTILE = '<script>alert(1)</script> & "quoted" ]]> \x00\x1b\u202e'


def test_hostile_words_stay_words() -> None:
    card = cards()["FAN-12"]
    drive = card.drive
    hostile = Drive(HOSTILE, HOSTILE, HOSTILE, drive.motor, drive.driver, drive.driven, drive.belts, drive.centre,
                    service=drive.service, hours_a_day=drive.hours_a_day)
    made: Card = make_card(hostile)
    for look in (PAPER, PAGE):
        drawn = Drawn(drawing(made, "si", look))
        assert not drawn.root.findall(".//{http://www.w3.org/2000/svg}script")
        assert "\x00" not in "".join(drawn.root.itertext())


def test_gauge_places_what_was_found() -> None:
    low, high, value = (to_si(number, "N", "force") for number in (26.0, 38.0, 50.0))
    drawn = Drawn(drawing(cards()["FAN-12"], "si", PAGE, found=Found(value, low, high)))
    ((x0, _), (x1, _)), band = drawn.lines("gauge")[0], drawn.lines("band")[0]
    pointer = drawn.lines("found")[0][0][0]
    zero_to = (band[0][0] - x0) / low
    assert (band[1][0] - x0) / high == pytest.approx(zero_to, rel=1e-4)
    assert (pointer - x0) / value == pytest.approx(zero_to, rel=1e-4)
    assert x0 < pointer <= x1
    assert drawn.words("found") == ["found 50 N, above the run-in band"]
