"""The commands of listening as a person meets them: heard, pictured, noted, judged again, deleted, a phone checked."""

from __future__ import annotations

import io
import json
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import soundfile

from beltwright.bench.findings.targets import targets_for
from tests.bench.drives import SOUND, a_drive
from tests.cli.conftest import Run, write_csv
from tests.sound import strings
from tests.sound.belts import as_wav, clip_at, clip_of, silence

LOW = 1.25


@pytest.fixture
def plant(run: Run) -> Run:
    """A book with the sound drive, and three clips beside it."""
    assert run("new", "Test plant").code == 0
    write_csv(Path("survey.csv"), SOUND)
    assert run("survey", "survey.csv").code == 0
    wants = targets_for(a_drive()).set_to
    assert wants is not None
    Path("right.wav").write_bytes(clip_at(a_drive(), LOW * wants.run_in[0]))
    Path("slack.wav").write_bytes(clip_at(a_drive(), 0.6 * wants.run_in[0], seed=3))
    Path("silent.wav").write_bytes(silence())
    return run


def test_a_clip_is_told_as_a_tension_with_its_picture(plant: Run) -> None:
    said = plant("listen", "right.wav", "--drive", "fan1", "--belt", "2", "--svg", "heard.svg", "--png", "heard.png")
    assert said.code == 0
    assert "Belt 2 pulls " in said.out
    assert "for run-in belts: in the band" in " ".join(said.out.split())
    assert "Wave, and the plucks found" in said.out
    assert "] right, " in said.out
    assert all(len(line) <= 80 for line in said.out.splitlines())
    root = ElementTree.fromstring(Path("heard.svg").read_text())
    titles = [each.text or "" for each in root.iter("{http://www.w3.org/2000/svg}title")]
    assert any(title.startswith("right: ") for title in titles)
    assert Path("heard.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("columns", ["40", "50", "80", "120"])
def test_the_picture_fits_any_screen(plant: Run, monkeypatch: pytest.MonkeyPatch, columns: str) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    said = plant("listen", "slack.wav", "--drive", "FAN-1", "--belt", "1")
    assert said.code == 0
    assert "slack" in said.out
    assert max(map(len, said.out.splitlines())) <= min(int(columns), 80)


def test_what_is_not_understood_is_said_with_what_to_do_and_not_noted(plant: Run) -> None:
    said = plant("listen", "silent.wav", "--drive", "FAN-1", "--belt", "2", "--note")
    assert said.code == 0
    assert "Not sure: There is next to no sound in the clip. Allow the microphone" in " ".join(said.out.split())
    assert "nothing was noted" in said.out
    assert "nothing noted yet" in plant("history", "FAN-1", "--kind", "frequency").out


def test_hum_and_what_was_struck_are_told(plant: Run) -> None:
    wants = targets_for(a_drive()).set_to
    assert wants is not None
    sound, rate = soundfile.read(io.BytesIO(clip_at(a_drive(), LOW * wants.run_in[0])))
    times = np.arange(sound.size) / rate
    hum = sum(0.02 / n * np.sin(2 * np.pi * 50 * n * times) for n in (1, 2, 3, 5))
    Path("hum.wav").write_bytes(as_wav(sound + hum))
    said = " ".join(plant("listen", "hum.wav", "--drive", "FAN-1", "--belt", "1").out.split())
    assert "Heard besides, and taken out: mains hum at 50.0 Hz" in said
    told = json.loads(plant("listen", "hum.wav", "--json").out)
    assert {"kind", "frequency_hz"} == told["besides"][0].keys()
    assert told["knocks_at_s"] == []


def test_without_a_drive_the_note_alone_is_told(plant: Run) -> None:
    told = json.loads(plant("listen", "right.wav", "--json", "--span", "1.07 m", "--mass", "0.17 kg/m").out)
    assert told["answered"]
    # T = 4 m t^2 f^2, by hand
    assert told["tension_n"] == pytest.approx(4 * 0.17 * 1.07**2 * told["frequency_hz"] ** 2, rel=1e-6)
    assert plant("listen", "right.wav", "--note").code == 2


def test_noted_listed_judged_again_handed_out_and_deleted(plant: Run) -> None:
    noted = json.loads(plant("listen", "slack.wav", "--drive", "FAN-1", "--belt", "3", "--note", "--json").out)
    assert noted["noted"]
    assert "Belts slack" in plant("findings", "FAN-1").out
    assert "Judged again: 1. The same as before: 1." in plant("rejudge", "--workers", "1").out
    assert "another note" not in plant("rejudge", "--take-over").out
    (listed,) = json.loads(plant("clips", "list", "--json").out)
    assert (listed["here"], listed["reading"]) == (True, noted["noted"])
    assert plant("clips", "out", "handed").code == 0
    (file,) = Path("handed").iterdir()
    assert file.read_bytes() == Path("slack.wav").read_bytes()
    gone = plant("clips", "delete", listed["clip"][:10], "--reason", "voices in it")
    assert "the clip of 1 reading at FAN-1" in gone.out
    assert "deleted by Ann" in " ".join(plant("clips", "list").out.split())
    (still,) = json.loads(plant("history", "FAN-1", "--kind", "frequency", "--json").out)["readings"]
    assert still["reason"] == "voices in it"
    assert still["values"]["frequency_hz"] == pytest.approx(noted["frequency_hz"], abs=1e-3)
    assert plant("clips", "delete", listed["clip"], "--reason", "again").code == 3


def test_another_note_is_shown_and_taken_over_only_when_told(plant: Run) -> None:
    noted = json.loads(plant("listen", "right.wav", "--drive", "FAN-1", "--belt", "1", "--note", "--json").out)
    assert plant("correct", "FAN-1", noted["noted"].replace("-", "")[-6:], "frequency=11 Hz", "--reason",
                 "as an older ear had it").code == 0
    shown = " ".join(plant("rejudge").out.split())
    assert "another note" in shown
    assert "Nothing was changed" in shown
    assert "11.0 Hz" in plant("history", "FAN-1", "--kind", "frequency").out
    assert "Put right: 1" in plant("rejudge", "--take-over", "--reason", "a better ear").out
    after = " ".join(plant("history", "FAN-1", "--kind", "frequency").out.split())
    assert "a better ear" in after
    assert "11.0 Hz" not in after


def test_what_is_no_clip_is_one_line(plant: Run) -> None:
    said = plant("listen", "survey.csv", "--drive", "FAN-1", "--belt", "1")
    assert (said.code, said.out) == (2, "")
    assert "this is not a sound clip" in said.err
    assert "cannot be read" in plant("listen", "nothing.wav").err


def test_a_phone_is_checked_by_hung_weights(plant: Run) -> None:
    tensions = (16.0, 20.0, 30.0, 42.0, 60.0)
    for number, kilograms in enumerate(tensions):
        span = strings.Span(0.7, 0.19, kilograms * 9.80665, 1e-4, 25.0, 0.2, 0.002)
        Path(f"{number}.wav").write_bytes(clip_of(span, seed=number))
    clips = [f"{number}.wav={kilograms:g} kg" for number, kilograms in enumerate(tensions)]
    passed = plant("phone-check", *clips, "--span", "700 mm", "--mass", "0.19 kg/m")
    assert passed.code == 0, passed.out
    assert "Passed: 5 of 5" in passed.out
    failed = plant("phone-check", *clips, "--span", "700 mm", "--mass", "0.25 kg/m")
    assert failed.code == 4
    assert "Not passed" in failed.out
    assert plant("phone-check", *clips[:3], "--span", "700 mm", "--mass", "0.19 kg/m").code == 2
    assert "give each clip with its tension" in plant("phone-check", "0.wav", "--span", "1 m", "--mass", "1 kg/m").err
