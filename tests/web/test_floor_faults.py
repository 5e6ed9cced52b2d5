"""What goes wrong at a phone, as really as a browser and a disk can be brought to it: a phone without room, a page
older than the server, a book that somebody else is writing to, a server without room. Said plainly, nothing lost.
"""

from __future__ import annotations

import os
import threading
from contextlib import suppress
from pathlib import Path
from typing import NoReturn

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from beltwright.book.opening import open_book
from beltwright.book.store import Store
from beltwright.errors import BookFull
from beltwright.web.shelf import Shelf
from tests.book.test_faults import Cramped
from tests.web.floor import Served, holds, make_book, phone, served, until, waits
from tests.web.test_floor import opened_job, picture, sent


def note_seen(page: Page, photo: bytes | None = None) -> None:
    """Fill in what was seen, with a photo, and press."""
    page.get_by_label("Cracked").check()
    page.fill("#by", "Ann")
    if photo is not None:
        page.get_by_text("A few words").first.click()
        page.set_input_files("#photo", {"name": "belt.jpg", "mimeType": "image/jpeg", "buffer": photo})
    page.get_by_role("button", name="Note it").click()


def note_power(page: Page, power: str) -> None:
    page.goto("/drives/FAN-1/readings/power")
    page.fill("#b-r0-power", power)
    page.fill("#by", "Ann")
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")


def kinds_kept(plant: Served) -> list[str]:
    with open_book(plant.book) as book:
        return sorted(each.kind for each in book.readings(book.drive_by_tag("FAN-1").drive_id))


def room_for(page: Page, plant: Served, size: int | None) -> None:
    """Leave a phone that much room for this app, in bytes; None: as much as there is."""
    session = page.context.new_cdp_session(page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": plant.address, **(
        {} if size is None else {"quotaSize": size})})


def test_a_phone_without_room_says_that_it_kept_nothing_and_loses_nothing_it_had(mine: BrowserContext,
                                                                                plant: Served) -> None:
    page = mine.new_page()
    page.goto("/waiting")
    # before the first note: for half a minute the browser remembers how much room it found
    room_for(page, plant, 1_000_000)
    mine.route("**/api/v1/sync", lambda route: route.abort())
    note_power(page, "7.5")
    assert waits(page) == 1
    page.goto("/drives/FAN-1/readings/seen")
    note_seen(page, b"\xff\xd8\xff" + os.urandom(3_000_000))
    expect(page.locator("[data-kept]")).to_contain_text("no room left and the note was NOT kept")
    assert waits(page) == 1, "what was there is there"
    assert page.get_by_label("Cracked").is_checked(), "what was filled in stays filled in"
    room_for(page, plant, None)
    page.wait_for_timeout(1000)
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")
    assert waits(page) == 2
    mine.unroute("**/api/v1/sync")
    page.goto("/waiting")
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    assert kinds_kept(plant) == ["power", "seen"]


def test_a_phone_without_room_says_that_it_does_not_hold_the_job(mine: BrowserContext, plant: Served) -> None:
    job = opened_job(plant, "re-tension")
    page = mine.new_page()
    page.goto("/waiting")
    page.wait_for_function("() => navigator.serviceWorker.controller")
    used = page.evaluate("async () => (await navigator.storage.estimate()).usage")
    room_for(page, plant, used + 250_000)
    page.goto(f"/jobs/{job}")
    expect(page.locator("[data-said]")).to_contain_text("does not hold every page of this", timeout=20_000)
    room_for(page, plant, None)
    page.reload()
    holds(page, f"/jobs/{job}")
    holds(page, "/drives/FAN-1/readings/power")
    expect(page.locator("[data-said]")).to_be_hidden()


def test_a_phone_with_no_room_at_all_says_so_on_the_job(mine: BrowserContext, plant: Served) -> None:
    job = opened_job(plant, "re-tension")
    page = mine.new_page()
    page.goto("/waiting")
    room_for(page, plant, 1000)
    page.goto(f"/jobs/{job}")
    expect(page.locator("[data-said]")).to_contain_text("no room left: nothing can be noted on it")


def test_a_page_older_than_the_server_says_so_and_keeps_what_was_noted(mine: BrowserContext, plant: Served,
                                                                       monkeypatch: pytest.MonkeyPatch) -> None:
    page = mine.new_page()
    page.goto("/waiting")
    page.wait_for_function("() => navigator.serviceWorker.controller")
    page.goto("/drives/FAN-1/readings/power")
    # the server is brought up to date while the page stands open
    monkeypatch.setattr(Shelf, "version", property(lambda _self: "of-tomorrow"))
    page.evaluate("""async () => {
        const { add, mark } = await import("/static/outbox.js");
        await add([{ id: mark(), kind: "reading", at: new Date().toISOString(), by: "Ann", tag: "FAN-1",
            kind_of: "power", state: "running", values: { power: "7.5 kW" }, units: "si", job: null, words: "",
            files: [], left_by_an_older_page: true }]);
        const { sendNow } = await import(document.querySelector('script[src*="notes.js"]').src);
        await sendNow();
    }""")
    expect(page.locator("#notes-waiting")).to_contain_text("older than the book it writes to: load it anew")
    sent(page)
    assert kinds_kept(plant) == ["power"]
    page.reload()
    assert page.evaluate("document.documentElement.dataset.pages") == "of-tomorrow"
    expect(page.locator("#notes-waiting")).to_be_hidden()


def test_a_page_older_than_the_notes_on_the_phone_says_so(mine: BrowserContext) -> None:
    page = mine.new_page()
    page.goto("/waiting")
    # a newer page of this app has been here, and its server was put back since
    page.evaluate("""() => new Promise((resolve, reject) => {
        const asking = indexedDB.open("beltwright", 99);
        asking.onsuccess = () => { asking.result.close(); resolve(); };
        asking.onerror = () => reject(asking.error);
    })""")
    page.reload()
    expect(page.locator("#notes-waiting")).to_contain_text("load it anew. What was noted is kept")
    page.goto("/drives/FAN-1/readings/power")
    page.fill("#b-r0-power", "7.5")
    page.fill("#by", "Ann")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator("[data-kept]")).to_contain_text("load it anew")
    assert page.input_value("#b-r0-power") == "7.5"


def test_while_somebody_else_writes_for_long_the_notes_wait(mine: BrowserContext, plant: Served) -> None:
    page = mine.new_page()
    page.goto("/drives/FAN-1")
    release, held = threading.Event(), threading.Event()

    def write() -> None:
        with open_book(plant.book, write=True) as book, book.writing():
            held.set()
            release.wait(60)

    writer = threading.Thread(target=write)
    writer.start()
    assert held.wait(10)
    try:
        note_power(page, "7.5")
        expect(page.locator("#notes-waiting")).to_contain_text("the book cannot be written now", timeout=20_000)
        assert waits(page) == 1
    finally:
        release.set()
        writer.join()
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    assert kinds_kept(plant) == ["power"]


def test_what_was_refused_is_mended_with_its_photo(mine: BrowserContext, plant: Served) -> None:
    page = mine.new_page()
    page.goto("/drives/FAN-1/readings/force")
    page.fill("#b-r1-force", "9000")
    page.fill("#by", "Ann")
    page.get_by_text("A few words").first.click()
    page.fill("#words", "gauge stuck")
    page.set_input_files("#photo", {"name": "belt.png", "mimeType": "image/png", "buffer": picture()})
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")
    expect(page.locator("#notes-waiting")).to_contain_text("1 refused")
    page.goto("/waiting")
    page.get_by_role("button", name="Mend it").click()
    expect(page.locator("#b-r1-force")).to_have_value("9000 N")
    expect(page.locator("#words")).to_have_value("gauge stuck")
    expect(page.locator("[data-kept]")).to_contain_text("1 photo or clip stays with it")
    page.fill("#b-r1-force", "15")
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")
    sent(page)
    with open_book(plant.book) as book:
        reading, = book.readings(book.drive_by_tag("FAN-1").drive_id)
        assert reading.values == {"belt": 2, "force": 15.0}
        assert reading.note == "gauge stuck"
        assert book.file(reading.extra["files"]) == picture()
    assert waits(page) == 0


def _full(_store: Store) -> NoReturn:
    raise BookFull("the disk of the book is full: nothing was written")


def test_a_server_without_room_takes_nothing_and_the_phone_keeps_all(
        browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "small"
    folder.mkdir()
    disk = Cramped(folder)
    try:
        path = make_book(folder)
        with served(path) as plant, phone(browser, plant.address) as context:
            page = context.new_page()
            page.goto("/drives/FAN-1/readings/seen")
            if disk.mounted:
                with (folder / "stuffing").open("wb", buffering=0) as file, suppress(OSError):
                    while file.write(bytes(4096)):
                        pass
            else:   # where no small disk can be made, the server's book says what it says on a full one
                monkeypatch.setattr(Store, "at_work", _full)
            with pytest.raises(BookFull):
                plant.store.change_settings(plant.store.settings(), by="x" * 200_000)
            note_seen(page, b"\xff\xd8\xff" + os.urandom(100_000))
            page.wait_for_url("**/drives/FAN-1")
            expect(page.locator("#notes-waiting")).to_contain_text("the book cannot be written now")
            assert waits(page) == 1
            if disk.mounted:
                (folder / "stuffing").unlink()
            else:
                monkeypatch.undo()
            page.goto("/waiting")   # a page opened sends by itself
            sent(page)
            until(page, "async () => !(await (await import('/static/outbox.js')).notes()).length")
            assert kinds_kept(plant) == ["seen"]
    finally:
        disk.leave()
