"""The printed card: pages, sizes, the right numbers on them, words printed as they are, and a code that reads."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from io import BytesIO

import numpy as np
import pytest
import zxingcpp
from pypdf import PdfReader

from beltwright.bench.card import make_card
from beltwright.paper.card_pdf import card_pdf, qr
from beltwright.paper.press import Paper, clean, pages
from beltwright.paper.sheet import sheet
from beltwright.plant.drive import Belts
from beltwright.units import System
from tests.paper.demo import cards, text_of

DAY = date(2026, 11, 25)
BASE = "https://belts.hollowcreek.example"
PAPERS: tuple[Paper, ...] = ("a4", "us-letter")
# as ISO 216 and ANSI/ASME Y14.1 have them, in points
SIZES = {"a4": (210 / 25.4 * 72, 297 / 25.4 * 72), "us-letter": (8.5 * 72, 11 * 72)}


def fonts_of(pdf: bytes) -> set[str]:
    found = set()
    for page in PdfReader(BytesIO(pdf)).pages:
        for font in page["/Resources"].get("/Font", {}).values():  # type: ignore[attr-defined]
            found.add(re.sub(r"^/[A-Z]{6}\+", "", font.get_object()["/BaseFont"]).removesuffix("-Identity-H"))
    return found


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("tag", list(cards()))
def test_at_most_two_pages_of_the_size_asked_for(tag: str, paper: Paper) -> None:
    system: System = "si" if paper == "a4" else "inch"
    pdf = card_pdf(cards()[tag], system, paper=paper, plant="Hollow Creek Pellets", base_url=BASE, made_on=DAY)
    reader = PdfReader(BytesIO(pdf))
    assert len(reader.pages) == pages(pdf) <= 2
    for page in reader.pages:
        assert (page.mediabox.width, page.mediabox.height) == pytest.approx(SIZES[paper], abs=0.1)


@pytest.mark.parametrize("system", ["si", "inch"])
@pytest.mark.parametrize("tag", ["FAN-12", "HML-11", "FAN-31", "SAW-01"])
def test_every_figure_and_word_of_the_sheet_is_printed(tag: str, system: System) -> None:
    made = sheet(cards()[tag], system)
    printed = text_of(card_pdf(cards()[tag], system)).replace(" ", "")
    for section in made.sections:
        assert section.title.replace(" ", "") in printed
        for row in section.rows:
            # what a tile says in its own words: the second value in it
            inside = row.cells and row.cells[0].figure in ("deflection_64ths", "centre_new")
            words = [] if inside else [row.label]
            words += [cell.text for cell in row.cells if cell.text]
            words += list(row.lines) if section.kind in ("steps", "notes") else []
            for text in words:
                assert text.replace(" ", "") in printed, (section.key, text)
    for text in (*made.deference, *made.sources, made.method):
        assert text.replace(" ", "") in printed


def test_set_to_numbers_as_worked_by_hand_stand_on_the_card() -> None:
    # FAN-12: span by Pythagoras from 42 3/8 in and the two diameters, its 64th, at 25.4 mm to the inch
    span = ((42.375 * 25.4) ** 2 - ((11.375 - 7.75) * 25.4 / 2) ** 2) ** 0.5
    printed = text_of(card_pdf(cards()["FAN-12"], "si"))
    assert f"{span:.0f} mm" in printed
    assert f"{span / 64:.1f} mm" in printed
    assert f"{round(span / 25.4)}/64 in" in printed


def test_steps_stand_in_the_order_of_work() -> None:
    printed = text_of(card_pdf(cards()["FAN-12"], "si"))
    order = ["First: isolate it", "Lock out", "Try to start", "Draw from the store", "Set to", "26 to 38 N",
             "Tension, belt by belt", "Last: guard on", "Each lock off"]
    places = [printed.index(words) for words in order]
    assert places == sorted(places)


def test_blanks_of_a_drive_not_known_say_what_to_read() -> None:
    printed = text_of(card_pdf(cards()["MIX-01"], "si"))
    assert "read first: the marking printed on a belt" in printed
    assert "an example, not to scale" in printed
    assert "nan" not in printed.split()


def test_marks_are_printed_with_their_legend() -> None:
    printed = text_of(card_pdf(cards()["FAN-12"], "si"))
    assert re.search(r"26 to 38 N ?†", printed)
    assert "† from memory, not verified" in printed
    assert "‡ common practice, no published source" in printed


def test_only_the_shipped_face_is_used() -> None:
    assert fonts_of(card_pdf(cards()["FAN-12"], "si")) == {"B612-Regular", "B612-Bold"}


def test_same_card_same_bytes() -> None:
    made = [card_pdf(cards()["FAN-12"], "si", made_on=DAY) for _ in range(2)]
    assert made[0] == made[1]


HOSTILE = [
    '#let x = 1; #x $x^2$ *bold* _it_ `raw` \\ "q" <a@b> // [cmd] ~ = - + /t: @ref #import "x"',
    '#{panic("no")} #read("/etc/passwd") #image("card.json") */ /* \' ] ) }',
    "</text><script>alert(1)</script>&amp;&#0;",
    "Gebläse № 3 – Ø 250 “großer” Łódź",
]


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_are_printed_as_they_are(words: str) -> None:
    drive = replace(cards()["FAN-12"].drive, tag="T-1", name=words, place=words, note=words)
    card = make_card(drive)
    pdf = card_pdf(card, "si", plant=words, base_url=BASE)
    assert pages(pdf) == 2
    assert words.replace(" ", "") in text_of(pdf).replace(" ", "")


@pytest.mark.parametrize("words", [
    "W" * 400, "very long name " * 40, "דוד תעשייה ראשי מספר שתיים", "مروحة العادم الرئيسية",
    "\u202eright to left forced", "a\x00b\x1bc\ud800d", "\u200b" * 50, "🌀" * 60, "漢字" * 80])
@pytest.mark.parametrize("paper", PAPERS)
def test_long_and_strange_names_do_not_break_the_page(words: str, paper: Paper) -> None:
    drive = replace(cards()["HML-11"].drive, tag=words[:60], name=words, place=words, note=words)
    pdf = card_pdf(make_card(drive), "inch", paper=paper, plant=words, base_url=BASE)
    assert pages(pdf) == 2
    assert "657 to 981 N" in text_of(pdf)


def test_widest_drive_stays_on_two_pages() -> None:
    drive = cards()["PEL-01"].drive
    wide = replace(drive, belts=replace(drive.belts, count=40), driver=replace(drive.driver, grooves=40),
                   driven=replace(drive.driven, grooves=40, width=0.2), driven_speed=90.0, ratio=5.0,
                   note="many clashes at once")
    card = make_card(wide)
    assert len(card.clashes) >= 3
    for paper in PAPERS:
        assert pages(card_pdf(card, "si", paper=paper)) == 2


def test_empty_drive_gives_a_card_to_fill_in() -> None:
    drive = replace(cards()["MIX-01"].drive, motor=type(cards()["MIX-01"].drive.motor)(),
                    driver=type(cards()["MIX-01"].drive.driver)(), belts=Belts(), name="")
    for paper in PAPERS:
        assert pages(card_pdf(make_card(drive), "si", paper=paper)) == 2


def modules(svg: str) -> np.ndarray[tuple[int, int], np.dtype[np.uint8]]:
    """A code drawn as SVG, as grey values: its path walked line by line."""
    size = max(int(float(part)) for part in re.findall(r'(?:width|height)="([\d.]+)"', svg))
    image = np.full((size, size), 255, np.uint8)
    (path,) = re.findall(r' d="([^"]+)"', svg)
    x, y = 0.0, 0.0
    for letter, numbers in re.findall(r"([Mmh])([^Mmh]*)", path):
        values = [float(number) for number in re.findall(r"-?\d*\.?\d+", numbers)]
        if letter == "M":
            x, y = values
        elif letter == "m":
            x, y = x + values[0], y + values[1]
        else:
            image[int(y), int(x):int(x + values[0])] = 0
            x += values[0]
    return image


@pytest.mark.parametrize("words", [f"{BASE}/d/FAN-12", "FAN-12", f"{BASE}/d/FAN%2012%2FA%3F", "TAG-1"])
def test_code_reads_as_a_phone_reads_it(words: str) -> None:
    image = np.kron(modules(qr(words)), np.ones((4, 4), np.uint8))
    (found,) = zxingcpp.read_barcodes(image)
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    assert found.text == words


def test_code_of_a_tag_with_half_a_sign_is_still_a_code() -> None:
    (found,) = zxingcpp.read_barcodes(np.kron(modules(qr("A\ud800B\x00")), np.ones((4, 4), np.uint8)))
    assert found.text == "A B "


def test_code_has_its_quiet_zone_and_reads_with_a_smudge() -> None:
    words = f"{BASE}/d/FAN-12"
    image = modules(qr(words))
    assert (image[:4] == 255).all()
    assert (image[:, :4] == 255).all()
    image[12:16, 14:19] = 0
    (found,) = zxingcpp.read_barcodes(np.kron(image, np.ones((4, 4), np.uint8)))
    assert found.text == words


def test_texts_are_cleaned_not_changed() -> None:
    assert clean({"a": ["FAN-12", "Łódź, “x”"]}) == {"a": ["FAN-12", "Łódź, “x”"]}
    assert clean("a\x00b\ud800c") == "a b c"
    long = clean("W" * 50)
    assert long.replace("\u200b", "") == "W" * 50
    assert "\u200b" in long
