"""The pages over a book on a PostgreSQL server: nothing that a person sees or a phone sends knows the difference."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from beltwright.book.enclosed import name_of
from beltwright.book.opening import create_book, open_book
from beltwright.book.register import BookRegister
from beltwright.desk import jobs, people
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.identity import new_id, now
from beltwright.plant.settings import Settings
from beltwright.web.app import create_app
from tests.bench.drives import SOUND
from tests.book.conftest import NEEDS_SERVER, server  # noqa: F401  the fixture
from tests.book.server import Server
from tests.desk.hashes import cheap_hashes
from tests.web.browser import HOST, PASSWORD, Browser
from tests.web.test_people import calls_of, filled

pytestmark = NEEDS_SERVER
JPEG = b"\xff\xd8\xff" + bytes(range(256)) * 400


@pytest.fixture
def where(server: Server) -> str:  # noqa: F811
    place = server.new_database()
    with cheap_hashes(), create_book(place, Settings("Pellet mill"), by="Kit") as store:
        hand_in(store, rows_from([SOUND]), by="Kit", at=now())
        people.add(BookRegister(store), "Kit", "keep the book", by="Kit", at=now(), password=PASSWORD)
        jobs.open_job(store, "FAN-1", "re-tension", by="Kit", at=now())
    return place


@pytest.fixture
def kit(where: str) -> Iterator[Browser]:
    with cheap_hashes(), Browser(create_app(where, hosts=(HOST,), alone=False)) as browser:
        browser.log_in("Kit")
        yield browser


def test_every_page_opens(kit: Browser, where: str) -> None:
    with open_book(where) as store:
        job, = store.jobs()
    for method, path in sorted(calls_of(kit.app)):  # type: ignore[arg-type]
        if method == "GET" and path != "/log-in":
            address = filled(path.replace("{job_id}", str(job.id)).replace("{kind}", "force"))
            answer = kit.get(address)
            assert answer.status_code < 500 or "pg_dump" in answer.text, f"{address}: {answer.text[:300]}"


def test_a_phone_hands_in_its_notes_and_photos_once(kit: Browser, where: str) -> None:
    name = name_of(JPEG)
    assert kit.put(f"/api/v1/files/{name}", content=JPEG).status_code == 201
    assert kit.put(f"/api/v1/files/{name}", content=JPEG).status_code == 200
    fact = {"id": str(new_id()), "kind": "reading", "at": now().isoformat(), "by": "Kit", "tag": "FAN-1",
            "kind_of": "force", "state": "running", "values": {"belt": "1", "force": "20 N"}, "files": [name]}
    handful = {"sent_at": now().isoformat(), "facts": [fact]}
    for became in ("kept", "known"):
        assert [each["became"] for each in kit.post("/api/v1/sync", json=handful).json()["facts"]] == [became]
    assert kit.get(f"/files/{name}").content == JPEG
    assert f"/files/{name}" in kit.get("/drives/FAN-1").text
    exported = kit.get("/book/export.jsonl").text
    assert exported.count('"fact":"photo or clip"') == 1
    with open_book(where) as store:
        assert len(store.readings(store.drive_by_tag("FAN-1").drive_id)) == 1


def test_who_changed_what_and_the_page_of_the_drive_agree(kit: Browser) -> None:
    page = kit.get("/book/changes").text
    for words in ("FAN-1: entered the drive", "FAN-1: opened a job", "Kit: added", "Kit: logged in"):
        assert words in page, words
