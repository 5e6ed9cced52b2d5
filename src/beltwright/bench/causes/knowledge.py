"""What the trade knows of why drives fail, read from `causes.toml`: causes, signs, how strongly one brings the other.

Every number there is judgement and says its reason. The file is checked whole when it is read: what is missing,
doubled, misspelt or no chance is named with its place. Judges no drive.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, Literal, cast, get_args

import numpy as np
import numpy.typing as npt

from beltwright.errors import InputError
from beltwright.plant.reading import KINDS, SEEN
from beltwright.plant.trouble import CAUSES, SIGNS
from beltwright.tables import Trust
from beltwright.units import MINUTE

Group = Literal["heard", "running", "happened", "at rest", "as read", "by the card", "dead belt"]
GROUPS: Final[tuple[Group, ...]] = get_args(Group)
Array = npt.NDArray[np.float64]
# what is bought for a cure
PARTS: Final = ("", "belts", "sheave and belts")


@dataclass(frozen=True, slots=True)
class Link:
    """How strongly a cause brings a sign: of drives with this cause and no other, the share that shows it; and why."""

    cause: str
    sign: str
    strength: float
    why: str


@dataclass(frozen=True, slots=True)
class Cure:
    """What to do against a cause, in order; its working time [s]; what is bought; what proves it, by which reading."""

    do: tuple[str, ...]
    work: float
    parts: str
    proof: str
    reading: str


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause of trouble.

    base: share of troubles in which it has a part; why: the reason for that share; trust: practice or judgement
    """

    name: str
    title: str
    means: str
    base: float
    why: str
    cure: Cure
    links: tuple[Link, ...]
    trust: Trust = "practice"


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign, and the check that tells it.

    leak:     share of troubled drives that show it with none of its causes; why: by what
    time:     of one check, without lock-out [s]
    reading:  kinds of reading that answer it; `temperature: belt` for one of the belt; empty where a person answers
    least:    how many such readings it takes to say that it is not there
    findings, verdicts: keys of the bench that say it, `*` for any end; seen: word of a reading "seen" that says it
    """

    name: str
    ask: str
    group: Group
    hands_on: bool
    time: float
    tools: tuple[str, ...]
    leak: float
    why: str
    reading: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    verdicts: tuple[str, ...] = ()
    seen: str = ""
    least: int = 1


@dataclass(frozen=True)
class Knowledge:
    """Causes and signs by name, in the order of `plant.trouble`; as arrays in that order too."""

    causes: Mapping[str, Cause]
    signs: Mapping[str, Sign]

    @cached_property
    def base(self) -> Array:
        """The trade's base rate of each cause."""
        return np.array([cause.base for cause in self.causes.values()])

    @cached_property
    def leak(self) -> Array:
        """The leak of each sign."""
        return np.array([sign.leak for sign in self.signs.values()])

    @cached_property
    def strength(self) -> Array:
        """Strengths, causes along rows, signs along columns."""
        made = np.zeros((len(self.causes), len(self.signs)))
        for row, cause in enumerate(self.causes.values()):
            for link in cause.links:
                made[row, self.place[link.sign]] = link.strength
        return made

    @cached_property
    def place(self) -> Mapping[str, int]:
        """Where each sign stands."""
        return {name: at for at, name in enumerate(self.signs)}


@cache
def knowledge() -> Knowledge:
    """What the trade knows, from the file that comes with Beltwright."""
    return read((files(__package__) / "causes.toml").read_text(encoding="utf-8"))


def read(text: str) -> Knowledge:
    """What the trade knows, from the text of such a file; `InputError` names every fault of it."""
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"causes: not readable as TOML: {error}") from error
    causes, signs = found.get("cause", {}), found.get("sign", {})
    wrong = [*_faults(causes, signs)]
    if wrong:
        raise InputError("causes: " + "; ".join(wrong))
    return Knowledge(MappingProxyType({name: _cause(name, causes[name]) for name in CAUSES}),
                     MappingProxyType({name: _sign(name, signs[name]) for name in SIGNS}))


def _cause(name: str, text: Mapping[str, Any]) -> Cause:
    cure = Cure(tuple(text["do"]), text["work"] * MINUTE, text["parts"], text["proof"], text["reading"])
    links = tuple(Link(name, sign, float(strength), why) for strength, sign, why in text["signs"])
    return Cause(name, text["title"], text["means"], float(text["base"]), text["why"], cure, links)


def _sign(name: str, text: Mapping[str, Any]) -> Sign:
    return Sign(name, text["ask"], cast(Group, text["group"]), text.get("hands_on", False), text["minutes"] * MINUTE,
                tuple(text.get("tools", ())), float(text["leak"]), text["else"], tuple(text.get("reading", ())),
                tuple(text.get("finding", ())), tuple(text.get("verdict", ())), text.get("seen", ""),
                text.get("least", 1))


# --- what can be wrong with the file ---------------------------------------------------------------------------------

_OF_CAUSE: Final[Mapping[str, type | tuple[type, ...]]] = {
    "title": str, "means": str, "base": (int, float), "why": str, "do": list, "work": (int, float), "parts": str,
    "proof": str, "reading": str, "signs": list}
_OF_SIGN: Final[Mapping[str, type | tuple[type, ...]]] = {
    "ask": str, "group": str, "leak": (int, float), "else": str, "minutes": (int, float)}
_MAY_OF_SIGN: Final[Mapping[str, type | tuple[type, ...]]] = {
    "tools": list, "hands_on": bool, "seen": str, "finding": list, "verdict": list, "reading": list, "least": int}


def _faults(causes: Mapping[str, Any], signs: Mapping[str, Any]) -> Iterator[str]:
    for what, named, known in (("cause", causes, CAUSES), ("sign", signs, SIGNS)):
        yield from (f"no {what} {name!r}" for name in known if name not in named)
        yield from (f"{what} {name!r} is not one of plant.trouble" for name in named if name not in known)
    for name, text in signs.items():
        yield from (f"sign {name!r}: {fault}" for fault in _faults_of_sign(text))
    for name, text in causes.items():
        yield from (f"cause {name!r}: {fault}" for fault in _faults_of_cause(text))


def _faults_of_sign(text: Mapping[str, Any]) -> Iterator[str]:
    yield from _shape(text, _OF_SIGN, _MAY_OF_SIGN)
    if text.get("group") not in GROUPS:
        yield f"group {text.get('group')!r} is none of {', '.join(GROUPS)}"
    # without a leak a sign no cause of the file explains could not be; the trade always has one cause more
    if not 0.0 < _number(text.get("leak")) < 1.0:
        yield f"leak {text.get('leak')} lies not between 0 and 1"
    if not _number(text.get("minutes")) > 0.0:
        yield f"minutes {text.get('minutes')} are not more than nought"
    yield from (f"no kind of reading {kind!r}" for kind in text.get("reading", ())
                if kind.partition(":")[0] not in KINDS)
    if text.get("seen", "") not in ("", *SEEN):
        yield f"{text['seen']!r} is no word of a reading seen"


def _faults_of_cause(text: Mapping[str, Any]) -> Iterator[str]:
    yield from _shape(text, _OF_CAUSE, {})
    if not 0.0 < _number(text.get("base")) < 1.0:
        yield f"base {text.get('base')} lies not between 0 and 1"
    if text.get("parts") not in PARTS:
        yield f"parts {text.get('parts')!r} are none of {', '.join(filter(None, PARTS))}"
    if text.get("reading", "") not in ("", *KINDS):
        yield f"no kind of reading {text['reading']!r}"
    named: set[str] = set()
    for link in text.get("signs", ()):
        if not (isinstance(link, list) and len(link) == 3):
            yield f"{link!r} is not [strength, sign, reason]"
            continue
        strength, sign, why = link
        if sign not in SIGNS or sign in named:
            yield f"sign {sign!r} is {'named twice' if sign in named else 'not one of plant.trouble'}"
        named.add(sign)
        if not 0.0 < _number(strength) < 1.0:
            yield f"strength {strength} of {sign!r} lies not between 0 and 1"
        if not str(why).strip():
            yield f"no reason for {sign!r}"


def _shape(text: Mapping[str, Any], must: Mapping[str, type | tuple[type, ...]],
           may: Mapping[str, type | tuple[type, ...]]) -> Iterator[str]:
    yield from (f"{name} is missing" for name in must if name not in text)
    for name, value in text.items():
        wanted = must.get(name) or may.get(name)
        if wanted is None:
            yield f"no such entry: {name}"
        elif not isinstance(value, wanted) or (isinstance(value, bool) and wanted is not bool):
            yield f"{name} reads {value!r}"


def _number(value: object) -> float:
    """A number, or one that passes no check."""
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else float("nan")
