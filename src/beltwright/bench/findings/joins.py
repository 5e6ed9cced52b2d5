"""Findings that explain each other, joined: which explain which stands in `joins.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files

from beltwright.bench.findings.finding import Finding
from beltwright.bench.findings.seen import meanings, surer
from beltwright.bench.known import WHICH

Pair = tuple[str, str]


@cache
def joins() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every cause with its effects, as patterns."""
    read = tomllib.loads((files(__package__) / "joins.toml").read_text(encoding="utf-8"))
    return tuple((entry["cause"], tuple(entry["effects"])) for entry in read["join"])


def joined(findings: Sequence[Finding]) -> list[Finding]:
    """The same findings, each with the keys of those that it explains and that explain it.

    Slack belts that also explain a trouble low tension usually causes are the surer for it.
    """
    if len(findings) < 2:
        return list(findings)
    keys = [found.key for found in findings]
    pairs = set(_pairs(keys))
    if not pairs:
        return list(findings)
    usual = {f"seen-{word.replace(' ', '-')}" for word, meaning in meanings().items() if meaning.slack}
    result = []
    for found in findings:
        explains = tuple(effect for effect in keys if (found.key, effect) in pairs)
        explained_by = tuple(cause for cause in keys if (cause, found.key) in pairs)
        if found.key == "tension-slack" and usual & set(explains):
            found = surer(found)
        result.append(replace(found, explains=explains, explained_by=explained_by))
    return result


def _pairs(keys: Sequence[str]) -> Iterable[Pair]:
    there = set(keys)
    for pattern, effects in joins():
        for cause in _matching(pattern, there):
            which = next((which for which in WHICH if cause.endswith(f"-{which}")), "")
            for effect_pattern in effects:
                for effect in _matching(effect_pattern.replace("{which}", which), there):
                    if effect != cause:
                        yield cause, effect


def _matching(pattern: str, keys: Iterable[str]) -> list[str]:
    if pattern.endswith("*"):
        return [key for key in keys if key.startswith(pattern[:-1])]
    return [key for key in keys if key == pattern]
