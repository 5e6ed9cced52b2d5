"""What the documents show is what happens; every command, link and file they name is there."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from beltwright.cli import manual
from beltwright.cli.line import COMMANDS
from tests.cli.conftest import Run, run  # noqa: F401  the fixture
from tests.docs.snippets import ROOT, documents, matches, shown_in

PAGES = [page for page in documents() if any(True for _ in shown_in(page))]
NAMES = {name for _, names in COMMANDS.values() for name in names}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_what_a_page_shows_is_what_happens(page: Path, run: Run, tmp_path: Path,  # noqa: F811
                                           monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "UTC")
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    for each in shown_in(page):
        if each.name:
            (tmp_path / each.name).write_text(each.output, encoding="utf-8")
            continue
        said = run(*each.words)
        text = said.out + said.err
        if not matches(each.output, text):
            never = [line for line in each.output.splitlines()
                     if not any(matches(line, other) for other in text.splitlines())]
            pytest.fail(f"{page.name}, line {each.line}: beltwright {' '.join(each.words)}\n"
                        f"never said: {never}\nsaid:\n{text[:4000]}")


@pytest.mark.parametrize("page", documents(), ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_link_leads_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if "://" in target:
            continue
        file, _, heading = target.partition("#")
        linked = (page.parent / file).resolve() if file else page
        assert linked.exists(), f"{page.name} links to {target}"
        if heading:
            anchors = {re.sub(r"[^\w\- ]", "", title.casefold()).strip().replace(" ", "-")
                       for title in re.findall(r"^#+ (.*)$", linked.read_text(encoding="utf-8"), re.MULTILINE)}
            assert heading in anchors, f"{page.name} links to {target}"


@pytest.mark.parametrize("page", documents(), ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_command_named_is_there(page: Path) -> None:
    named = set(re.findall(r"`beltwright ([a-z][a-z-]*)", page.read_text(encoding="utf-8")))
    assert named <= NAMES, f"{page.name} names {named - NAMES}"


def test_the_command_pages_are_those_the_commands_make() -> None:
    folder = ROOT / "docs" / "commands"
    made = dict(manual.pages())
    assert {path.name for path in folder.iterdir()} == set(made)
    for name, text in made.items():
        assert (folder / name).read_text(encoding="utf-8") == text, f"{name} is not up to date: make docs"


@pytest.mark.parametrize(("folder", "index"), [("how-to", "README.md"), ("method", "method/README.md")])
def test_every_page_stands_in_its_index(folder: str, index: str) -> None:
    text = (ROOT / "docs" / index).read_text(encoding="utf-8")
    for page in (ROOT / "docs" / folder).glob("*.md"):
        assert page.name == "README.md" or f"{page.name})" in text, f"{page.name} is not in docs/{index}"


# pages that put hands near a drive
HANDS_ON = ("docs/how-to/read-a-card.md", "docs/how-to/note-readings.md", "docs/how-to/do-a-job.md",
            "docs/how-to/enter-drives.md", "docs/tutorial.md")


@pytest.mark.parametrize("name", HANDS_ON)
def test_hands_near_a_drive_start_with_isolation_and_end_with_the_guard(name: str) -> None:
    headings = re.findall(r"^## (.*)$", (ROOT / name).read_text(encoding="utf-8"), re.MULTILINE)
    assert "isolate" in headings[0].casefold()
    assert "guard" in headings[-1].casefold()


@pytest.mark.parametrize(("shown", "said", "same"), [
    ("a\nb", "a\nb\n", True), ("a\n...\nd", "a\nb\nc\nd", True), ("a\n...\nd", "a\nd", True),
    ("a ... c", "a b c", True), ("a ... c", "a b\nc", False),
    ("a", "a\nb", False), ("...", "", True), ("a.c", "abc", False),
    ("", "", True), ("x\n...", "x\ny\nz", True), ("x\n...", "y", False)])
def test_how_shown_and_said_are_compared(shown: str, said: str, same: bool) -> None:
    assert matches(shown, said) == same
