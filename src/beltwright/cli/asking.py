"""Asking for readings one value at a time, the band or limit in view; what cannot be read is said and asked again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import click

from beltwright.bench.card import Card
from beltwright.cli.table import length, pad, wrapped
from beltwright.desk import record
from beltwright.errors import InputError
from beltwright.plant.reading import KINDS, Field, Kind
from beltwright.units import KINDS as QUANTITIES
from beltwright.units import SHOWN, System, sign

# the figures of the card that a reading of a kind is held against
HELD_AGAINST: Final[Mapping[str, tuple[str, ...]]] = {
    "force": ("deflection", "deflection_64ths", "force_run_in", "force_new"),
    "frequency": ("span", "frequency_run_in", "frequency_new"),
    "alignment": ("alignment_limit", "alignment_target"), "tilt": ("alignment_limit", "alignment_target"),
    "groove": ("gauge", "groove_wear"), "speed": ("driven_speed",), "motor move": ("slack_off", "take_up"),
    "run-out": ("runout_radial_driver", "runout_axial_driver", "runout_radial_driven", "runout_axial_driven"),
    "bow": ("span",), "belt length": ("centre_new",),
}


def in_view(kind: Kind, card: Card, system: System, width: int) -> list[str]:
    """What the reading will be held against, as lines."""
    lines = [f"{card.drive.tag}  {card.drive.name}: {kind.title}"]
    if kind.hands_on:
        lines += wrapped("Hands near the belts: only when the drive is locked out, tagged and tried.", width,
                         first="! ")
    shown = [(card.figures[key].title, card.figures[key].text(system)) for key in HELD_AGAINST.get(kind.name, ())
             if key in card.figures]
    if not shown and HELD_AGAINST.get(kind.name):
        lines += wrapped("The card has no band or limit for it yet; note it all the same.", width, first="  ")
    wide = max((length(title) for title, _ in shown), default=0)
    for title, text in shown:
        lines += wrapped(text, width, first=f"  {pad(title, wide)}  ")
    return [*lines, ""]


def ask_kind() -> Kind:
    """Which kind of reading."""
    names = list(KINDS)
    for at, name in enumerate(names, start=1):
        click.echo(f"{at:3}  {KINDS[name].title} ({name})")
    while True:
        typed: str = click.prompt("Which reading, by number or name")
        if typed.isdigit() and 1 <= int(typed) <= len(names):
            return KINDS[names[int(typed) - 1]]
        try:
            return record.kind_named(typed)
        except InputError as problem:
            click.echo(f"  {problem}")


def ask_values(kind: Kind, card: Card, system: System) -> Iterator[dict[str, str]]:
    """The values of one reading; where it is read belt by belt, one reading for each belt of the set."""
    count, first = card.drive.belts.count, kind.fields[0]
    if first.name != "belt" or not first.required or count is None:
        yield _asked(kind, kind.fields, system)
        return
    numbers = [0] if card.drive.belts.joined and (first.low or 0) == 0 else range(1, count + 1)
    kept: dict[str, str] = {}
    for number in numbers:
        if number:
            click.echo(f"Belt {number} of {count}, counted from the motor side")
        fields = tuple(field for field in kind.fields[1:] if field.required or not kept)
        answers = {"belt": str(number), **kept, **_asked(kind, fields, system)}
        if kind.fields[1:] and not any(name != "belt" for name in answers):
            continue
        kept = {field.name: answers.get(field.name, "") for field in kind.fields if not field.required}
        yield answers


def _asked(kind: Kind, fields: tuple[Field, ...], system: System) -> dict[str, str]:
    del kind
    return {field.name: typed for field in fields if (typed := _ask(field, system))}


def _ask(field: Field, system: System) -> str:
    words = f"  {field.ask}{_accepts(field, system)}"
    while True:
        typed: str = click.prompt(words, default=None if field.required else "", show_default=False)
        if not typed.strip():
            return ""
        try:
            record.understand(field, typed, system)
        except InputError as problem:
            click.echo(f"    {problem}")
            continue
        return typed


def _accepts(field: Field, system: System) -> str:
    parts = []
    if field.choices:
        parts.append(", ".join(field.choices))
    elif field.kind == "yes or no":
        parts.append("yes or no")
    elif field.kind in QUANTITIES and SHOWN[system][field.kind].unit:
        parts.append(sign(SHOWN[system][field.kind].unit))
    if not field.required:
        parts.append("Enter to leave out")
    return f" ({'; '.join(parts)})" if parts else ""
