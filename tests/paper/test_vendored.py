"""What is shipped besides our own code: the typeface, with licence and hashes, and in the wheel."""

from __future__ import annotations

import hashlib
import json
import zipfile
from importlib.resources import files
from pathlib import Path

from hatchling.builders.wheel import WheelBuilder

ROOT = Path(__file__).parents[2]
FONTS = files("beltwright.paper") / "fonts"


def test_every_font_is_listed_with_version_licence_and_its_hash() -> None:
    listed = json.loads((FONTS / "VENDOR.json").read_text(encoding="utf-8"))["vendored"]
    hashes = {name: digest for entry in listed for name, digest in entry["files"].items()}
    there = {path.name for path in FONTS.iterdir()} - {"VENDOR.json"}
    assert there == hashes.keys()
    for name, digest in hashes.items():
        assert hashlib.sha256((FONTS / name).read_bytes()).hexdigest() == digest, name
    for entry in listed:
        assert entry["version"]
        assert entry["licence"] == "OFL-1.1"
        licence = (FONTS / entry["licence_file"]).read_text(encoding="utf-8")
        assert "SIL OPEN FONT LICENSE Version 1.1" in licence
        assert licence.startswith("Copyright")


def test_a_built_wheel_holds_fonts_licence_and_templates(tmp_path: Path) -> None:
    (wheel,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    with zipfile.ZipFile(wheel) as packed:
        names = set(packed.namelist())
        for folder, wanted in (("fonts", "*"), ("templates", "*.typ")):
            for path in (ROOT / "src" / "beltwright" / "paper" / folder).glob(wanted):
                name = f"beltwright/paper/{folder}/{path.name}"
                assert name in names
                assert packed.read(name) == path.read_bytes()
