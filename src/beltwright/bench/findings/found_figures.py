"""The figures of what was found last, each with its working: tension, slip, wear, heat. Computes nothing anew."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from beltwright.bench.figure import Figure, Put, Working
from beltwright.bench.findings.history import Held
from beltwright.bench.findings.targets import Targets, targets_for
from beltwright.bench.known import WHICH, Fact
from beltwright.mechanics.deflection import mark_deflection
from beltwright.plant.reading import Reading
from beltwright.tables import Trust
from beltwright.units import System

_FINE: Final[dict[System, int]] = {"si": 2, "inch": 3}


def tension_found(held: Held) -> Figure:
    """The mean tension of the set as read on one occasion, with what each belt's reading was."""
    found = held.strands
    targets = targets_for(held.make_up.drive)
    by_note = found.by_note
    formula = "T = 4 m t² f²" if by_note else "T = P t/(4 h) − Y (64 h/t)²"
    name = "frequency" if by_note else "force"
    read = [Put("f" if by_note else "P", _belt(reading), float(reading.values[name]), name, "measured",
                1 if by_note else None) for reading in found.readings]
    return Figure("tension_found", f"Tension of one strand, {found.state}", "force", Working(
        f"{formula}, each belt; the mean of them", (*read, *_shared(targets, found.readings, by_note)),
        ("rayleigh1894",) if by_note else ("statics",), "ch. VI" if by_note else "", "derived",
        "at rest; ideal string: short thick spans read a few percent high" if by_note else
        "pressed at mid-span, square to it, belts at rest"), found.mean, spread=found.mean_spread)


def _shared(targets: Targets, readings: tuple[Reading, ...], by_note: bool) -> list[Put]:
    """What the belts of a set share: span, and mass or stiffness."""
    own = [float(reading.values["span"]) for reading in readings if "span" in reading.values]
    span = own[0] if own else targets.span
    puts = [] if span is None else [Put("t", "span", span, "length", "measured" if own else "worked out")]
    if by_note:
        return puts + ([] if targets.mass is None else [
            Put("m", "mass of one strand", targets.mass, "mass per length", "published table")])
    deep = [float(reading.values["deflection"]) for reading in readings if "deflection" in reading.values]
    if deep or span is not None:
        puts.append(Put("h", "deflection", deep[0] if deep else float(mark_deflection(span or 0.0)), "length",
                        "measured" if deep else "worked out", 1))
    if targets.allowance is not None:
        puts.append(Put("Y", "stiffness allowance of one strand", targets.allowance, "force", "published table"))
    return puts


def _belt(reading: Reading) -> str:
    belt = int(reading.values["belt"])
    return f"belt {belt}" if belt else "the whole band"


def slip_found(reading: Reading, value: float, spread: float, facts: Mapping[str, Fact]) -> Figure:
    """Slip by one reading of both speeds."""
    speeds = [Put(symbol, f"{which} speed", float(reading.values[f"{which}_speed"]), "rotation", "measured", 1)
              for symbol, which in zip(("ω₁", "ω₂"), WHICH, strict=True)]
    sizes = [Put(symbol, f"{which} pitch diameter", facts[f"{which}_pitch"].value, "length", digits=1)
             for symbol, which in zip("dD", WHICH, strict=True)]
    return Figure("slip_found", "Slip, creep included", "share", Working(
        "s = 1 − ω₂ D/(ω₁ d)", (*speeds, *sizes), ("dealmeida1995",), "", "derived",
        "both speeds read within the same minute, at the load"), value, spread=spread)


def as_read(key: str, title: str, kind: str, value: float, spread: float, source: str, trust: Trust) -> Figure:
    """A value as it was read, with the source of the limit it is held against."""
    return Figure(key, title, kind, Working("as read", (), (source,), "the limit", trust), value, spread=spread,
                  digits=_FINE if kind == "length" else {})
