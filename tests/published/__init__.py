"""Checks against published tables and worked examples, one file per source. The printed digits set the tolerance."""

from __future__ import annotations

from decimal import Decimal

import pytest


def printed(text: str) -> object:
    """A printed number with the tolerance its digits claim: "2.555" means +-0.0005, no more and no less."""
    last = Decimal(text).as_tuple().exponent
    assert isinstance(last, int)
    return pytest.approx(float(text), rel=0, abs=0.5 * 10.0**last)
