"""The server killed while two phones hand in their notes and photos, two hundred times; bodies cut at any byte.

Promised: what was acknowledged is in the book once; what was not is still on the phone.
"""

from __future__ import annotations

import http.client
import json
import random
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from beltwright.book.enclosed import name_of
from beltwright.book.opening import open_book
from beltwright.plant.identity import new_id
from beltwright.web.app import create_app
from tests.web.floor import make_book

ROUNDS = 200
_AT_ONCE = 8


class Phone:
    """The client's side of the sync: an outbox, from which only an acknowledgement takes a note."""

    def __init__(self, name: str, tag: str, port: int, chance: random.Random) -> None:
        self.name, self.tag, self.port, self.chance = name, tag, port, chance
        self.outbox: list[dict[str, Any]] = []
        self.photos: dict[str, bytes] = {}   # not acknowledged yet
        self.handed_over: dict[str, bytes] = {}
        self.made: set[str] = set()
        self.acknowledged: Counter[str] = Counter()
        self.refused: list[dict[str, Any]] = []

    def note(self, count: int) -> None:
        """Note something, signal or not."""
        for _ in range(count):
            mark = str(new_id())
            self.made.add(mark)
            files = []
            if self.chance.random() < 0.3:
                photo = b"\xff\xd8\xff\xda" + self.chance.randbytes(self.chance.randrange(100, 60_000))
                files.append(name_of(photo))
                self.photos[files[0]] = photo
            self.outbox.append({
                "id": mark, "files": files, "kind": "reading", "at": datetime.now(UTC).isoformat(), "by": self.name,
                "tag": self.tag, "kind_of": "speed", "state": "running", "units": "si", "job": None,
                "values": {"driver_speed": f"{self.chance.randint(1740, 1760)}", "driven_speed": "1187"}})

    def send(self, *, cut: bool = False, patience: float = 5.0) -> bool:
        """Hand in a handful; True when an answer came. A cut body is broken off at any byte."""
        some = self.outbox[:_AT_ONCE]
        if not self._send_photos(some, patience):
            return False
        body = json.dumps({"sent_at": datetime.now(UTC).isoformat(), "facts": some}).encode()
        try:
            if cut:
                self._broken_off(body)
                return False
            line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=patience)
            try:
                line.request("POST", "/api/v1/sync", body, {"Content-Type": "application/json", "Host": "localhost"})
                answer = line.getresponse()
                told = json.loads(answer.read())
            finally:
                line.close()
        except (OSError, http.client.HTTPException, ValueError):
            return False
        assert answer.status == 200, told
        became = {each["id"]: each["became"] for each in told["facts"]}
        self.refused += [each for each in told["facts"] if each["became"] == "refused"]
        for fact in some:
            if became[fact["id"]] in ("kept", "known"):
                self.acknowledged[fact["id"]] += 1
                self.outbox.remove(fact)
        return True

    def _send_photos(self, some: list[dict[str, Any]], patience: float) -> bool:
        for name in [name for fact in some for name in fact["files"] if name in self.photos]:
            line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=patience)
            try:
                line.request("PUT", f"/api/v1/files/{name}", self.photos[name], {"Host": "localhost"})
                answer = line.getresponse()
                answer.read()
            except (OSError, http.client.HTTPException):
                return False
            finally:
                line.close()
            assert answer.status in (200, 201)
            self.handed_over[name] = self.photos.pop(name)
        return True

    def _broken_off(self, body: bytes) -> None:
        head = (f"POST /api/v1/sync HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                f"Content-Length: {len(body)}\r\n\r\n").encode()
        whole = head + body
        with socket.create_connection(("127.0.0.1", self.port), timeout=2) as line:
            line.sendall(whole[:self.chance.randrange(1, len(whole))])


def test_what_is_acknowledged_is_there_once_and_all_else_is_on_the_phone(tmp_path: Path) -> None:
    path, chance = make_book(tmp_path), random.Random(20261125)
    with subprocess.Popen([sys.executable, "-m", "tests.web.nursery", str(path)], stdin=subprocess.PIPE,
                          stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2]) as nursery:
        assert nursery.stdin is not None
        assert nursery.stdout is not None

        def say(word: str) -> None:
            assert nursery.stdin is not None
            assert nursery.stdout is not None
            nursery.stdin.write(f"{word}\n")
            nursery.stdin.flush()
            assert nursery.stdout.readline() == "done\n"

        port = int(nursery.stdout.readline())
        phones = [Phone("Ann", "FAN-1", port, random.Random(1)), Phone("Ben", "FAN-2", port, random.Random(2))]
        answered = [_a_life(say, phones, chance) for _ in range(ROUNDS)]
        say("serve")
        for phone in phones:
            while phone.outbox:
                assert phone.send(patience=30.0)
        say("kill")
        nursery.stdin.close()
    # some lives must have been long enough to answer and some too short, or the kills proved nothing
    assert any(answered)
    assert not all(answered)
    with open_book(path) as book:
        for phone in phones:
            kept = [str(reading.id) for reading in book.readings(book.drive_by_tag(phone.tag).drive_id)]
            assert len(kept) == len(set(kept))
            assert set(kept) == set(phone.acknowledged) == phone.made
            assert not phone.refused
            assert not phone.photos
            assert len(phone.handed_over) > 20
            for name, photo in phone.handed_over.items():
                assert book.file(name) == photo
        book.check()


def _a_life(say: Any, phones: list[Phone], chance: random.Random) -> bool:
    """One life of the server; whether every phone was answered in it."""
    for phone in phones:
        phone.note(chance.randint(1, 4))
    say("serve")
    went: dict[str, bool] = {}
    cuts = {phone.name: chance.random() < 0.15 for phone in phones}

    def hand_in(phone: Phone) -> None:
        went[phone.name] = phone.send(cut=cuts[phone.name], patience=0.8)

    threads = [threading.Thread(target=hand_in, args=(phone,)) for phone in phones]
    for thread in threads:
        thread.start()
    time.sleep(chance.uniform(0.0, 0.35))
    say("kill")
    # a request still in the door waits for the next life; here it is hung up on
    for thread in threads:
        thread.join()
    return all(went.values())


def test_a_handful_cut_at_any_byte_keeps_nothing_and_breaks_nothing(tmp_path: Path) -> None:
    path = make_book(tmp_path)
    app = create_app(path)
    with TestClient(app, base_url="http://localhost") as client:
        phone = Phone("Ann", "FAN-1", 0, random.Random(3))
        phone.note(2)
        facts = [{**fact, "files": []} for fact in phone.outbox]
        body = json.dumps({"sent_at": datetime.now(UTC).isoformat(), "facts": facts}).encode()
        photo = b"\xff\xd8\xff" + bytes(range(200))
        for end in range(len(body)):
            answer = client.post("/api/v1/sync", content=body[:end], headers={"Content-Type": "application/json"})
            assert answer.status_code == 422, body[:end]
            assert "none was kept" in answer.json()["problem"]
        for end in range(len(photo)):
            answer = client.put(f"/api/v1/files/{name_of(photo)}", content=photo[:end])
            assert answer.status_code == 422, end
        with open_book(path) as book:
            assert book.readings(book.drive_by_tag("FAN-1").drive_id) == []
            assert book.file_names() == []
        whole = client.post("/api/v1/sync", content=body, headers={"Content-Type": "application/json"}).json()
        assert [each["became"] for each in whole["facts"]] == ["kept", "kept"]
