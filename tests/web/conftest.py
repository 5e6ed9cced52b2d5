"""Fixtures of the tests of pages: the app over a book with people, and a real browser at the shop floor's book."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser as RealBrowser
from playwright.sync_api import BrowserContext

from tests.web.browser import Browser, app_over
from tests.web.floor import Served, chromium, make_book, phone, served


@pytest.fixture
def app(path: Path) -> Iterator[FastAPI]:
    """The app over the book that a module's own `path` makes."""
    with app_over(path) as app:
        yield app


@pytest.fixture
def kit(app: FastAPI) -> Browser:
    """The keeper of the book, logged in."""
    browser = Browser(app)
    browser.log_in("Kit")
    return browser


@pytest.fixture(scope="module")
def browser() -> Iterator[RealBrowser]:
    """A real browser without a screen."""
    with chromium() as found:
        yield found


@pytest.fixture
def plant(tmp_path: Path) -> Iterator[Served]:
    """A book with two drives, served."""
    with served(make_book(tmp_path)) as found:
        yield found


@pytest.fixture
def mine(browser: RealBrowser, plant: Served) -> Iterator[BrowserContext]:
    """A phone at it."""
    context = phone(browser, plant.address)
    yield context
    context.close()
