"""The demo: an invented wood-pellet mill, from sheets of what was read at its drives to findings and a job card.

    python examples/demo.py --out out        or: make demo

Runs the very commands a plant would: starts a book, hands in the sheet of drives and that of three rounds of readings,
shows the plant, what the readings say of one drive and another's card, and writes that card as PDF. Asks nothing,
needs no network, and may be run again: the book is made anew each time, so what
you try out in it is gone then. Keep your own plant's book elsewhere.
"""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Sequence
from pathlib import Path

from beltwright.cli.line import main as beltwright

SHEET = Path(__file__).with_name("pellet_mill.csv")
ROUNDS = SHEET.with_name("pellet_mill_rounds.csv")
TROUBLED, TAG = "FAN-21", "FAN-12"


def run(*words: str) -> None:
    """One command, as it would be typed."""
    print(f"\n$ beltwright {shlex.join(words)}", flush=True)
    try:
        beltwright(words)
    except SystemExit as left:
        if left.code:
            sys.exit(left.code)
    sys.stdout.flush()


def fresh(folder: Path, book: Path) -> None:
    """An empty place for the demo's own book."""
    folder.mkdir(parents=True, exist_ok=True)
    for left in (book, *(book.with_name(book.name + tail) for tail in ("-wal", "-shm"))):
        left.unlink(missing_ok=True)


def here(path: Path) -> Path:
    """A path as one would type it from here."""
    return path.relative_to(Path.cwd()) if path.is_relative_to(Path.cwd()) else path


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description="The demo plant, from a sheet of readings to a job card.")
    parser.add_argument("--out", type=Path, default=Path("out"), help="folder for the book and the card (out)")
    folder: Path = parser.parse_args(arguments).out
    book, card = folder / "pellet_mill.book", folder / f"{TAG}.pdf"
    fresh(folder, book)
    at = ("--book", str(book))
    run("new", "Pellet mill", *at)
    run("survey", str(here(SHEET)), *at)
    run("readings", "in", str(here(ROUNDS)), *at)
    run("plant", *at)
    run("findings", TROUBLED, *at)
    run("card", TAG, *at)
    run("card", TAG, "--pdf", str(card), *at)
    print(f"\nThe card to take to the floor:  {card}\nThe book of the demo plant:     {book}")
    program = here(Path(sys.executable).with_name("beltwright"))
    print(f"Go on with:  {program} working {TAG} force_run_in {shlex.join(at)}\n"
          f"             {program} history {TAG} {shlex.join(at)}\n"
          f"             {program} serve {shlex.join(at)}")


if __name__ == "__main__":
    main()
