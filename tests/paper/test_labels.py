"""Labels for guards: a place for every drive, the tag large, a code that opens the drive's page."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader

from beltwright.errors import InputError
from beltwright.paper.labels import WORDS, WORDS_TAG, labels_pdf
from beltwright.paper.press import pages
from tests.paper.demo import cards, text_of

DRIVES = [card.drive for card in cards().values()]
BASE = "https://belts.hollowcreek.example"


@pytest.mark.parametrize(("many", "used", "sheets"), [(1, 0, 1), (10, 0, 1), (11, 0, 2), (10, 1, 2), (1, 9, 1),
                                                      (32, 0, 4)])
def test_ten_to_a_sheet_after_the_places_gone(many: int, used: int, sheets: int) -> None:
    pdf = labels_pdf(DRIVES[:many], base_url=BASE, used=used)
    assert pages(pdf) == len(PdfReader(BytesIO(pdf)).pages) == sheets
    printed = text_of(pdf)
    for drive in DRIVES[:many]:
        assert drive.tag in printed
        assert drive.name in printed
    assert printed.count(WORDS) == many


def test_tag_is_the_largest_thing_on_the_label() -> None:
    sizes: dict[str, float] = {}

    def seen(text: str, _cm: object, tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            sizes[text.strip()] = size * abs(tm[3])

    PdfReader(BytesIO(labels_pdf(DRIVES[:1], base_url=BASE))).pages[0].extract_text(visitor_text=seen)
    tag = sizes[DRIVES[0].tag]
    assert all(size < tag / 2 for text, size in sizes.items() if text != DRIVES[0].tag)


def test_without_an_address_nobody_is_told_to_scan_for_a_card() -> None:
    printed = text_of(labels_pdf(DRIVES[:2]))
    assert WORDS not in printed
    assert printed.count(WORDS_TAG) == 2


@pytest.mark.parametrize("used", [-1, 10, 99])
def test_places_gone_beyond_a_sheet_are_refused(used: int) -> None:
    with pytest.raises(InputError, match="0 to 9"):
        labels_pdf(DRIVES[:1], used=used)


def test_no_drives_no_labels() -> None:
    with pytest.raises(InputError, match="no drives"):
        labels_pdf([])
