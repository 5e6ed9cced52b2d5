"""The command line as a person meets it: what it prints, what it says on the error stream, how it leaves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import click
import pytest

from beltwright.cli.line import main
from tests.bench.drives import SOUND


class Said(NamedTuple):
    """What a command said, and its exit code."""

    code: int
    out: str
    err: str


Run = Callable[..., Said]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command in an empty folder of its own; `typed` answers its questions, line by line."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("BELTWRIGHT_BOOK", raising=False)
    monkeypatch.setenv("BELTWRIGHT_BY", "Ann")
    monkeypatch.setenv("COLUMNS", "80")

    def command(*arguments: str, typed: str = "") -> Said:
        lines = iter(typed.splitlines())

        def answer(words: str = "", *_: object, **__: object) -> str:
            print(words, end="")  # noqa: T201
            try:
                return next(lines)
            except StopIteration:
                raise EOFError from None

        monkeypatch.setattr(click.termui, "visible_prompt_func", answer)
        with pytest.raises(SystemExit) as left:
            main(arguments)
        printed = capsys.readouterr()
        assert isinstance(left.value.code, int)
        assert "Traceback" not in printed.err
        return Said(left.value.code, printed.out, printed.err)

    return command


def write_csv(path: Path, *rows: dict[str, str]) -> Path:
    """A sheet of those rows."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    lines = [";".join(names), *(";".join(row.get(name, "") for name in names) for row in rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def plant(run: Run, tmp_path: Path) -> Run:
    """The same, with a book that holds the sound drive."""
    assert run("new", "Test plant").code == 0
    assert run("survey", str(write_csv(tmp_path / "sound.csv", SOUND))).code == 0
    return run
