"""What a plant pays for work and belts, among its choices, as last typed. Light to import: no bench."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from beltwright import units
from beltwright.errors import UnitError
from beltwright.plant.settings import Settings

# names among the plant's choices: money an hour of work, money a belt
PRICE_OF_WORK: Final = "price of work"
PRICE_OF_A_BELT: Final = "price of a belt"


def with_price(settings: Settings, name: str, typed: str) -> Settings:
    """The choices with a price as typed; nothing typed takes it away.

    Errors: `UnitError` for what is no amount above nought.

    >>> with_price(Settings("Mill"), PRICE_OF_WORK, "45").defaults
    {'price of work': '45'}
    """
    text = typed.strip()
    if text and _amount(text) is None:
        raise UnitError(f"{text!r} is no price: an amount above nought is wanted, such as 45 or 12.50")
    return replace(settings, defaults={**settings.defaults, name: text})


def amount_of(settings: Settings, name: str) -> float | None:
    """A price as an amount; none where the plant has not said."""
    return _amount(settings.defaults.get(name, ""))


def _amount(text: str) -> float | None:
    try:
        amount = units.parse(text, "number") if text.strip() else 0.0
    except UnitError:
        return None
    return amount if amount > 0.0 else None
