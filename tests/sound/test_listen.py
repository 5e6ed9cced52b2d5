"""From a clip to the sentence and the picture a mechanic sees."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from beltwright.desk.listen import Listened, expected_band, listen, rejudge
from beltwright.errors import InputError
from beltwright.paper.listening import picture
from tests.sound import clips
from tests.sound.strings import RATE
from tests.sound.test_clips import written
from tests.sound.test_hear import plucked


def clear() -> tuple[bytes, float]:
    sound, span = plucked()
    return clips.encode(sound, RATE, "aac"), span.first


def test_a_clear_clip_gives_a_note_its_doubt_and_its_plucks() -> None:
    data, truth = clear()
    said = listen(data)
    assert said.answered
    assert said.heard.frequency == pytest.approx(truth, rel=0.01)
    assert re.fullmatch(r"[\d.]+ Hz, give or take [\d.]+ Hz, from 3 plucks; \d\d% sure\.", said.sentence)


def test_span_mass_and_tension_make_the_band() -> None:
    data, truth = clear()
    tension = 4 * 0.2 * 0.5**2 * truth**2
    said = listen(data, span=0.5, mass=(0.19, 0.21), tension=(0.8 * tension, 1.2 * tension))
    assert said.band == expected_band(0.5, (0.19, 0.21), (0.8 * tension, 1.2 * tension))
    assert said.band[0] < truth < said.band[1]
    assert said.answered


def test_another_drive_s_band_is_told_with_both_notes() -> None:
    data, truth = clear()
    said = listen(data, band=(truth * 2.1, truth * 3))
    assert not said.answered
    assert "not where this drive's should lie" in said.sentence
    assert f"heard {truth:.0f}"[:8] in said.sentence


def test_nothing_heard_tells_what_to_do() -> None:
    said = listen(written(np.zeros(32_000), 16_000, "WAV"))
    assert said.sentence.startswith("Not sure: There is next to no sound in the clip. Allow the microphone")


def test_judging_many_again_keeps_order_and_reasons() -> None:
    data, truth = clear()
    one, two, three = rejudge([data, b"no clip", data], bands=[None, None, (2 * truth, 3 * truth)])
    assert isinstance(one, Listened)
    assert isinstance(three, Listened)
    assert (one.answered, three.answered) == (True, False)
    assert isinstance(two, str)
    assert "not a sound clip" in two


@pytest.mark.parametrize("band", [None, (10.0, 60.0)])
def test_the_picture_is_well_formed_and_marks_what_was_found(band: tuple[float, float] | None) -> None:
    said = listen(clear()[0], band=band)
    svg = picture(said)
    root = ElementTree.fromstring(svg)
    titles = [e.text or "" for e in root.iter("{http://www.w3.org/2000/svg}title")]
    assert titles[0] == said.sentence
    assert sum(t.startswith("pluck ") for t in titles) == said.heard.plucks
    assert sum(t.startswith("partial ") for t in titles) >= 3
    assert any(t.startswith("expected") for t in titles) == (band is not None)
    assert "nan" not in svg


def test_a_refused_clip_can_be_pictured_too() -> None:
    noise = 0.1 * np.random.default_rng(2).standard_normal(2 * RATE)
    ElementTree.fromstring(picture(listen(written(noise, RATE, "WAV"))))


def test_what_is_no_clip_is_an_error() -> None:
    with pytest.raises(InputError):
        listen(b"hello")
