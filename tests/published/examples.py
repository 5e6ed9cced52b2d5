"""Reads the examples of one source and says what tolerance each printed figure claims.

A file holds a list of examples: `id`, `given` (inputs, unit in the name), `printed` (figures as printed, as text) and,
where a figure does not hold to its last digit, `wider`: by how much, and why. A figure under `misprint` is printed
wrong: it is kept with the reason and must not agree. `derived` figures are worked out from others, not printed.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.published import printed


def examples(source: str) -> dict[str, dict[str, Any]]:
    """The examples of a source by their id."""
    path = Path(__file__).with_name(f"{source}.json")
    return {example["id"]: example for example in json.loads(path.read_text(encoding="utf-8"))}


def expected(example: dict[str, Any], figure: str) -> Any:
    """A printed or derived figure with the tolerance it claims, or the wider one stated with its reason."""
    text = {**example.get("derived", {}), **example.get("printed", {})}[figure]
    if wider := example.get("wider", {}).get(figure):
        assert wider["reason"]
        return pytest.approx(float(text), rel=0, abs=wider["by"])
    return printed(text)
