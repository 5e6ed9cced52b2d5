"""Commands shown in the documents: read out of them, run in order, and held against the output that is shown.

In a block marked `console`, a line `$ beltwright ...` is a command and what follows is what it says; `...` stands for
any text within a line and, alone on a line, for any lines. A block marked `csv NAME` is a file of that name, there for
the commands after it.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
_BLOCK = re.compile(r"^```(\w+)([^\n]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Shown:
    """A command with the output shown for it, or a file (`name`) with its text."""

    words: tuple[str, ...] = ()
    output: str = ""
    name: str = ""
    line: int = 0


def documents() -> list[Path]:
    """The README and every page of the documents."""
    return [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]


def shown_in(page: Path) -> Iterator[Shown]:
    """What a page shows, in order."""
    text = page.read_text(encoding="utf-8")
    for block in _BLOCK.finditer(text):
        line = text.count("\n", 0, block.start()) + 1
        kind, rest, body = block.groups()
        if kind == "csv" and rest.strip():
            yield Shown(name=rest.strip(), output=body, line=line)
        elif kind == "console":
            for part in re.split(r"^\$ ", body, flags=re.MULTILINE)[1:]:
                command, _, output = part.partition("\n")
                program, *words = shlex.split(command, comments=True)
                assert program == "beltwright", f"{page.name}, line {line}: only beltwright is run, not {program}"
                yield Shown(tuple(words), output, line=line)


def matches(shown: str, said: str) -> bool:
    """Whether a command said what is shown, trailing blanks and empty ends of the text aside."""
    pattern = ""
    for line in shown.strip("\n").split("\n"):
        pattern += r"(?:[^\n]*\n)*?" if line.strip() == "..." else (
            r"[^\n]*?".join(re.escape(part) for part in line.rstrip().split("...")) + r"[ ]*\n")
    return re.fullmatch(pattern, said.strip("\n") + "\n") is not None
