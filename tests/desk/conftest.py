"""A book on disk with the sound drive in it, as every function of the desk is handed one."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from beltwright.book.opening import create_book
from beltwright.book.store import Store
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.settings import Settings
from tests.bench.drives import SOUND

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    store = create_book(tmp_path / "plant.book", Settings("Test plant"), by="Ann")
    assert hand_in(store, rows_from([SOUND]), by="Ann", at=START).entered == ("FAN-1",)
    yield store
    store.close()
