"""Every public function of mechanics says, for each parameter, what it is and in which unit, in one vocabulary."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FunctionType

import pytest

import beltwright.mechanics
from beltwright.tables import sources

GLOSSARY = Path(__file__).parents[2] / "docs" / "glossary.md"


def public_functions() -> Iterator[tuple[str, FunctionType]]:
    for info in pkgutil.iter_modules(beltwright.mechanics.__path__):
        module = importlib.import_module(f"beltwright.mechanics.{info.name}")
        for name, thing in vars(module).items():
            plain = inspect.unwrap(thing) if callable(thing) else thing
            # a package's face is what it lists; its inner modules serve that face alone
            own = name in module.__all__ if info.ispkg else plain.__module__ == module.__name__ if callable(
                plain) else False
            if isinstance(plain, FunctionType) and own and not name.startswith("_"):
                yield f"{info.name}.{name}", plain


FUNCTIONS = dict(public_functions())


def described(function: Callable[..., object]) -> dict[str, str]:
    """Each `name: words` entry of a docstring, continuation lines joined, several names on one line told apart."""
    entries: dict[str, str] = {}
    names: list[str] = []
    for line in inspect.getdoc(function).splitlines():  # type: ignore[union-attr]
        if match := re.match(r"^((?:\w+, )*\w+):\s+(.*)$", line):
            names = match[1].split(", ")
            for name in names:
                entries[name] = match[2]
        elif line.startswith(" ") and names:
            for name in names:
                entries[name] += " " + line.strip()
        else:
            names = []
    return entries


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_parameter_has_a_meaning_and_a_unit(name: str) -> None:
    function = FUNCTIONS[name]
    assert inspect.getdoc(function), f"{name} has no docstring"
    entries = described(function)
    for parameter in inspect.signature(function).parameters:
        assert parameter in entries, f"{name}: {parameter} is not described"
        assert re.search(r"\[[^\]]+\]", entries[parameter]), f"{name}: {parameter} has no unit in [brackets]"
    assert re.search(r"\[[^\]]+\]", entries.get("returns", "")), f"{name}: the result has no unit in [brackets]"


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_source_named_is_in_the_list(name: str) -> None:
    text = inspect.getdoc(FUNCTIONS[name]) or ""
    keys = re.findall(r"^Source: ([\w-]+)", text, re.MULTILINE)
    assert keys, f"{name} names no source"
    assert set(keys) <= set(sources()), f"{name} cites {keys}"


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_parameter_is_in_the_glossary(name: str) -> None:
    words = set(re.findall(r"^\| `(\w+)`", GLOSSARY.read_text(encoding="utf-8"), re.MULTILINE))
    missing = set(inspect.signature(FUNCTIONS[name]).parameters) - words
    assert not missing, f"{name}: not in docs/glossary.md: {sorted(missing)}"
