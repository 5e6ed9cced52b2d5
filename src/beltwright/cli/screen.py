"""The screen: how wide it is, which signs it can show, and lines written to it. Loads nothing of the engine."""

from __future__ import annotations

import codecs
import shutil
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, TextIO

NARROWEST, USUAL, WIDEST = 40, 80, 120

# signs of the cards in plain letters, for a screen that has nothing but them
_PLAIN: Final = {
    "−": "-", "–": "-", "—": "-", "×": "x", "·": "-", "±": "+/-", "½": "1/2", "√": "sqrt", "π": "pi", "θ": "theta",
    "μ": "mu", "β": "beta", "ω": "omega", "°": " deg ", "²": "2", "³": "3", "⁶": "6", "“": '"', "”": '"', "‘": "'",
    "’": "'", "†": "+", "‡": "#", "≤": "<=", "≥": ">=", "…": "...", "→": "->", "Σ": "sum", "Δ": "delta ",
}


@dataclass(frozen=True, slots=True)
class Signs:
    """Rules, boxes and marks: drawn where the screen can show them, plain letters elsewhere."""

    heavy: str
    light: str
    box: str
    ticked: str
    caution: str
    marks: dict[str, str]

    def marked(self, answer: str) -> str:
        """An answer with its shape before it: told apart without colour, and without reading."""
        return f"{self.marks.get(answer, ' ')} {answer}"


DRAWN: Final = Signs("━", "─", "☐", "☑", "▲", {
    "danger": "▲", "falls short": "▼", "note": "◆", "good": "●", "not judged": "○", "wrong": "▲", "doubtful": "◆",
    "not used": "○", "stop and mend": "▲", "mend at next stop": "▼", "plan": "◆", "watch": "◇", "sound": "●"})
LETTERS: Final = Signs("=", "-", "[ ]", "[x]", "!", {
    "danger": "!", "falls short": "<", "note": "*", "good": "+", "not judged": "?", "wrong": "!", "doubtful": "*",
    "not used": "?", "stop and mend": "!", "mend at next stop": "<", "plan": "*", "watch": ".", "sound": "+"})


def prepare() -> None:
    """Never fail for a sign that the screen cannot show: it is written in letters."""
    codecs.register_error("beltwright", _in_letters)
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="beltwright")


def _in_letters(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    return "".join(_PLAIN.get(sign, "?") for sign in problem.object[problem.start:problem.end]), problem.end


def signs(stream: TextIO | None = None) -> Signs:
    """The signs that a stream (the screen) can show."""
    encoding = getattr(stream or sys.stdout, "encoding", None) or "ascii"
    try:
        "".join((DRAWN.heavy, DRAWN.light, DRAWN.box, DRAWN.ticked, *DRAWN.marks.values())).encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return LETTERS
    return DRAWN


def width() -> int:
    """Columns to fill: the terminal's, within what is pleasant to read; 80 where there is no terminal."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((USUAL, 24)).columns))


def show(lines: Iterable[str]) -> None:
    """Write lines to the screen, at once: a command that goes on running is heard through a pipe or a log, too."""
    sys.stdout.write("".join(f"{line.rstrip()}\n" for line in lines))
    sys.stdout.flush()


def note(words: str) -> None:
    """A word beside the answer, on the error stream, so that the answer alone can be piped on."""
    sys.stderr.write(f"{words}\n")
