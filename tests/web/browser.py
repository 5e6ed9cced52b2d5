"""A browser without a screen for the tests of pages: it keeps cookies, sends what browsers send, and fills forms in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from httpx2 import Response
from starlette.testclient import TestClient

from beltwright.book.opening import create_book
from beltwright.book.register import BookRegister
from beltwright.desk import people
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.identity import now
from beltwright.plant.settings import Settings
from beltwright.web.app import create_app
from tests.bench.drives import SOUND

HOST = "mill-pc.local"
PASSWORD = "four belts in a row"


class Browser(TestClient):
    """One browser at the app. Answers are not followed; forms are sent with what stood on the page before."""

    def __init__(self, app: FastAPI, host: str = HOST, scheme: str = "https") -> None:
        super().__init__(app, base_url=f"{scheme}://{host}", follow_redirects=False,
                         headers={"Sec-Fetch-Site": "same-origin", "User-Agent": "a phone"})
        self.token = ""

    def open(self, address: str) -> Response:
        """A page; the token of its forms is kept."""
        answer = self.get(address)
        if found := re.search(r'name="form_token" value="([0-9a-f]+)"', answer.text):
            self.token = found[1]
        return answer

    def fill(self, address: str, **typed: str) -> Response:
        """A form of the page opened last."""
        answer = self.post(address, data={"form_token": self.token, **typed})
        if found := re.search(r'name="form_token" value="([0-9a-f]+)"', answer.text):
            self.token = found[1]
        return answer

    def log_in(self, name: str, password: str = PASSWORD) -> Response:
        """Through the door, as a person does."""
        self.open("/log-in")
        answer = self.fill("/log-in", name=name, password=password)
        self.open("/me")
        return answer


def plant_book(folder: Path) -> Path:
    """A book with a sound drive and a person of each role, Lou, Nel, Pat and Kit, who all have the same password."""
    path = folder / "plant.book"
    with create_book(path, Settings("Pellet mill"), by="Kit") as store:
        hand_in(store, rows_from([SOUND]), by="Kit", at=now())
        for name, role in (("Kit", "keep the book"), ("Lou", "look"), ("Nel", "note"), ("Pat", "plan")):
            people.add(BookRegister(store), name, role, by="the computer", at=now(), password=PASSWORD)
    return path


@contextmanager
def app_over(path: Path, *, alone: bool = False, **more: Any) -> Iterator[FastAPI]:
    """The app over a book, its thread running."""
    hosts = ("localhost",) if alone else (HOST,)
    app = create_app(path, hosts=hosts, alone=alone, **more)
    with TestClient(app):
        yield app


class Tags(HTMLParser):
    """The tags of a page with their attributes, as a browser takes them apart."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
