"""Who is looking, and how they like to see it: name, units and light, kept in cookies of their own browser."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, get_args
from urllib.parse import quote, unquote

from beltwright.units import DAY, System

Light = Literal["as the device", "bright", "dark"]
LIGHTS: Final[tuple[Light, ...]] = get_args(Light)
SYSTEMS: Final[Mapping[System, str]] = {"si": "SI", "inch": "inch-pound"}
# how long a browser keeps a choice [s]
KEPT: Final = round(400 * DAY)
LONGEST_NAME: Final = 60


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody at a page. An empty name: they have not said it yet; on loopback nobody has to."""

    name: str
    system: System
    light: Light


def person(cookies: Mapping[str, str], usual: System) -> Person:
    """The person as their browser remembers; what it cannot have meant counts as not said.

    usual: the plant's units, for those who never chose
    """
    name = " ".join(unquote(cookies.get("name", "")).split())[:LONGEST_NAME]
    system = next((known for known in SYSTEMS if known == cookies.get("units")), usual)
    light = next((known for known in LIGHTS if known == unquote(cookies.get("light", ""))), LIGHTS[0])
    return Person(name, system, light)


def as_cookie(text: str) -> str:
    """Any text as a cookie can hold it."""
    return quote(text, safe="")
