"""What others made, for the tests alone: the pages need nothing of theirs; and a wheel holds all that pages need."""

from __future__ import annotations

import hashlib
import json
import zipfile
from pathlib import Path

from hatchling.builders.wheel import WheelBuilder

ROOT = Path(__file__).parents[2]
WEB = ROOT / "src" / "beltwright" / "web"


def test_every_file_of_others_is_listed_with_version_licence_and_its_hash() -> None:
    folder = ROOT / "tests" / "web" / "vendor"
    listed = json.loads((folder / "VENDOR.json").read_text(encoding="utf-8"))["vendored"]
    hashes = {name: digest for entry in listed for name, digest in entry["files"].items()}
    assert {path.name for path in folder.iterdir()} - {"VENDOR.json"} == hashes.keys()
    for name, digest in hashes.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest, name
    for entry in listed:
        assert entry["version"] in entry["from"]
        assert entry["licence"] in ("MIT", "MPL-2.0")
        assert (folder / entry["licence_file"]).stat().st_size > 500


def test_a_built_wheel_holds_static_files_and_templates(tmp_path: Path) -> None:
    (wheel,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    with zipfile.ZipFile(wheel) as packed:
        for path in [*(WEB / "static").rglob("*"), *(WEB / "templates").rglob("*.html")]:
            if path.is_file():
                assert packed.read(f"beltwright/web/{path.relative_to(WEB).as_posix()}") == path.read_bytes()
        assert not [name for name in packed.namelist() if "axe" in name]
