"""Before going to the machine: the card of a drive, the working of a figure, the plant at a glance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from beltwright.bench.card import Card, make_card
from beltwright.bench.figure import Figure
from beltwright.bench.verdicts import Answer, overall
from beltwright.desk.face import Book
from beltwright.errors import InputError
from beltwright.plant.drive import MakeUp


@dataclass(frozen=True, slots=True)
class Line:
    """A drive in the plant summary: its card, and in one word how it is built."""

    make_up: MakeUp
    card: Card
    answer: Answer


def card(book: Book, tag: str) -> Card:
    """The card of the drive with that tag, as it is fitted now."""
    return make_card(book.drive_by_tag(tag).drive)


def working(book: Book, tag: str, key: str) -> Figure:
    """One figure of a drive's card with its working; `InputError` lists the figures there are."""
    made = card(book, tag)
    name = key.strip().casefold().replace("-", "_").replace(" ", "_")
    if name not in made.figures and name not in FIGURE_KEYS:
        raise InputError(f"no figure {key!r} on the card of {made.drive.tag}: {', '.join(made.figures)}",
                         accepted=made.figures)
    return made.figure(name)


def plant(book: Book) -> Sequence[Line]:
    """Every drive with what is judged of how it is built, in order of place and tag."""
    lines = []
    for make_up in book.drives():
        made = make_card(make_up.drive)
        lines.append(Line(make_up, made, overall(made.verdicts)))
    return sorted(lines, key=lambda line: line.make_up.drive.place)


# figures a complete drive has: asking for one of a drive that lacks readings says what to read, not “no such figure”
FIGURE_KEYS = frozenset((
    "centre", "centre_new", "span", "wrap_driver", "wrap_driven", "deflection", "deflection_64ths", "ratio",
    "driven_speed", "belt_speed", "slack_off", "take_up", "service_factor", "design_power", "power_per_belt",
    "belts_required", "service_factor_reached", "static_tension", "tension_run_in", "tension_new", "force_run_in",
    "force_new", "frequency_run_in", "frequency_new", "pull_run_in", "pull_new", "pull_running", "belt_life", "gauge"))
