"""What a plant chose once for all its drives: its name, its units, what energy costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from beltwright.units import System


@dataclass(frozen=True, slots=True)
class Settings:
    """The choices of a plant.

    system:       the units people see unless they ask for others
    energy_price: money for energy [1/J]; currency: how money is written, `EUR`, `$`
    defaults:     what was last chosen, by question, and is offered again: `frequency unit`, `drives a page`
    """

    plant: str
    system: System = "si"
    energy_price: float | None = None
    currency: str = ""
    defaults: Mapping[str, str] = field(default_factory=dict)
