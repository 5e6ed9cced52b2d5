"""A plant's own check of a phone: passes on what it should, fails on a wrong mass, a mute phone, too few clips."""

from __future__ import annotations

import numpy as np
import pytest

from beltwright.desk.phone_check import Known, check_phone
from beltwright.errors import InputError
from tests.sound import strings
from tests.sound.strings import RATE
from tests.sound.test_clips import written

LENGTH, MASS = 0.7, 0.19


def hung(tension: float, seed: int) -> bytes:
    """Three plucks of a hung piece of belt."""
    rng = np.random.default_rng(seed)
    span = strings.Span(LENGTH, MASS, tension, 1e-4, 25.0, 0.2, 0.002)
    sound = 1e-9 * rng.standard_normal(4 * RATE)
    for k in range(3):
        one = strings.pluck(span, strings.Place(0.3, 0.012, False, 0.45, 0.15), 1.0, rng)
        at = int((0.5 + 1.05 * k) * RATE)
        sound[at:at + one.size] += one
    sound = strings.microphone(sound, 1, 80.0)
    return written(0.4 * sound / np.abs(sound).max() + 3e-4 * rng.standard_normal(sound.size), RATE, "WAV")


TENSIONS = (150.0, 200.0, 300.0, 420.0, 600.0)
CLIPS = [Known(hung(tension, i), tension) for i, tension in enumerate(TENSIONS)]
KNOWN = {"span": LENGTH, "span_doubt": 0.002, "mass_doubt": 0.002, "tension_doubt": 0.005}


def test_a_good_phone_passes() -> None:
    check = check_phone(CLIPS, mass=MASS, **KNOWN)
    assert check.passed, check.sentence
    assert check.bias == pytest.approx(0, abs=0.01)
    # by hand: sqrt(0.0025^2 + (0.002/0.19/2)^2 + (0.002/0.7)^2)
    assert check.doubt == pytest.approx(0.00649, abs=2e-5)


def test_a_wrong_mass_does_not() -> None:
    check = check_phone(CLIPS, mass=1.25 * MASS, **KNOWN)
    assert not check.passed
    assert check.bias == pytest.approx(np.sqrt(1.25) - 1, abs=0.02)
    assert "do not rely on this phone" in check.sentence


def test_a_mute_phone_does_not() -> None:
    mute = [Known(written(np.zeros(2 * RATE), RATE, "WAV"), 300.0)] * 5
    assert check_phone(mute, mass=MASS, **KNOWN).sentence.startswith("Not proven: only 0 of 5")


def test_two_clips_are_too_few() -> None:
    with pytest.raises(InputError, match="2 clips are too few"):
        check_phone(CLIPS[:2], mass=MASS, **KNOWN)
