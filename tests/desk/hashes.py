"""Password hashes made cheap while tests run: a hash that is slow on purpose would be most of their time."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from unittest.mock import patch

from argon2 import PasswordHasher

from beltwright.desk import passwords


@contextmanager
def cheap_hashes() -> Iterator[None]:
    """Argon2 all the same, in a thousandth of the time."""
    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    passwords._nobody.cache_clear()
    with patch.object(passwords, "_hasher", lambda: cheap):
        yield
    passwords._nobody.cache_clear()
