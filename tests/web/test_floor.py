"""The shop floor in a real browser: a re-belt job without signal, a job without modules, two people on one job, an
update of the service worker, a wrong clock, what is refused and mended, photos, a full phone.
"""

from __future__ import annotations

import json
import re
import zlib
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from beltwright.bench import carried
from beltwright.bench.card import make_card
from beltwright.bench.procedure import check, progress, steps_for
from beltwright.book.opening import open_book
from beltwright.desk import jobs
from beltwright.errors import Refused
from beltwright.plant.identity import new_id, now
from beltwright.plant.job import Event, Job
from beltwright.web import phone as phone_calls
from tests.bench.drives import a_drive
from tests.web.floor import Served, holds, phone, until, waits


def opened_job(plant: Served, kind: str = "re-belt", tag: str = "FAN-1") -> str:
    with open_book(plant.book, write=True) as book:
        return str(jobs.open_job(book, tag, kind, by="Pat", at=now()).id)


def quiet(page: Page) -> list[str]:
    """What the browser complains of: a page breaks no policy and throws nothing."""
    heard: list[str] = []
    page.on("pageerror", lambda error: heard.append(str(error)))
    page.on("console", lambda line: heard.append(line.text) if "Content Security Policy" in line.text else None)
    return heard


def do_step(page: Page) -> None:
    """Everything confirmed, and done."""
    step = page.locator("section.step:visible")
    before = step.get_attribute("data-step")
    for box in step.locator('input[name="confirm"]').all():
        box.check()
    step.get_by_role("button", name="Done").click()
    page.wait_for_function("(key) => document.querySelector('section.step:not([hidden])')?.dataset.step !== key",
                           arg=before)


def read(page: Page, title: str, **typed: str) -> None:
    """A reading that the step asks for; then back at the step."""
    page.locator("section.step:visible .reads a", has_text=title).click()
    for name, text in typed.items():
        page.fill(f"#b-{name.replace('__', '-')}", text)
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url(re.compile("/jobs/"))
    expect(page.locator("section.step:visible .reads small.here").first).to_be_visible()


def sent(page: Page) -> None:
    """Wait until nothing waits."""
    until(page, """() => new Promise((resolve) => {
        const asking = indexedDB.open("beltwright");
        asking.onsuccess = () => {
            asking.result.transaction("notes").objectStore("notes").getAll().onsuccess = (event) => {
                asking.result.close();
                resolve(event.target.result.every((note) => note.state !== "waiting"));
            };
        };
    })""")


def test_a_whole_re_belt_without_signal(mine: BrowserContext, plant: Served) -> None:
    job = opened_job(plant)
    page = mine.new_page()
    heard = quiet(page)
    page.goto(f"/jobs/{job}")
    holds(page, f"/jobs/{job}")
    holds(page, "/drives/FAN-1/readings/power")   # the last of those taken along
    mine.set_offline(True)
    page.reload()
    page.locator("section.step:visible input[name=by]:not([type=hidden])").fill("Ann")
    forces = {"found-tension": "15", "set-new": "22", "set-new@2": "22", "left-tension@2": "21,5"}
    seen = []
    while (step := page.locator("section.step:visible")).count():
        key = step.get_attribute("data-step") or ""
        seen.append(key)
        if key in forces:
            read(page, "Deflection force", r0__force=forces[key], r1__force=forces[key], r2__force=forces[key])
        if key in ("found-alignment", "align@2"):
            read(page, "Straightedge", r0__driver_far="1", r0__driver_near="1", r0__driven_near="1", r0__driven_far="1")
        if key == "run-in":
            page.get_by_role("button", name="It runs now").click()
            expect(page.locator("[data-clock] output b")).to_have_text(re.compile(r"0:0\d"))
        if page.locator("section.step:visible").get_attribute("data-step") != key:
            page.goto(f"/jobs/{job}?step={key}")
        if key == seen[-1] and page.evaluate("!document.querySelector('section.step:not([hidden])')"):
            break
        last = page.locator("section.step").last.get_attribute("data-step") == key
        if last:
            step.locator("input[name=confirm]").all()
            step.get_by_role("button", name="Done").click()
            expect(page.locator("[data-close]")).to_be_visible()
            break
        do_step(page)
    assert seen[-1] == "start@2"
    assert len(seen) == 48
    page.get_by_role("button", name="Close the job").click()
    expect(page.locator("[data-said]")).to_have_text("This job is closed.")
    expect(page.locator("#notes-waiting")).to_contain_text("notes waiting")
    assert waits(page) == 48 + 4 * 3 + 2 + 1
    mine.set_offline(False)
    page.goto("/waiting")
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    with open_book(plant.book) as book:
        found = jobs.standing(book, jobs.find_job(book, job).id)
    assert found.progress.ended == "closed"
    assert len(found.readings) == 14
    assert {reading.state for reading in found.readings if reading.kind == "force"} == {"as found", "in between",
                                                                                       "as left"}
    assert {reading.typed["force"] for reading in found.readings if reading.state == "as left" and
            reading.kind == "force"} == {"21,5 N"}
    page.goto(f"/jobs/{job}")
    expect(page.locator(".record")).to_contain_text("Ann")
    assert not heard


def test_a_hands_on_step_is_refused_before_isolation_also_on_the_phone(mine: BrowserContext, plant: Served) -> None:
    job = opened_job(plant)
    page = mine.new_page()
    page.goto(f"/jobs/{job}?step=guard-off")
    page.locator("section.step:visible input[name=by]:not([type=hidden])").fill("Ann")
    expect(page.locator("section.step:visible [data-why]")).to_contain_text("first do “Stop the machine")
    page.locator("section.step:visible").get_by_role("button", name="Done").click()
    expect(page.locator("[data-said]")).to_contain_text("Hands stay away")
    assert waits(page) == 0


def test_a_job_without_modules(browser: Browser, plant: Served) -> None:
    with phone(browser, plant.address, modules=False) as context:
        page = context.new_page()
        page.goto("/drives/FAN-1/jobs")
        page.get_by_label("Re-tension").check()
        page.fill("#by", "Ann")
        page.get_by_role("button", name="Open the job").click()
        expect(page.locator("section.step:visible")).to_have_count(1)
        page.goto(f"{page.url}?step=guard-off")
        page.locator("section.step:visible").get_by_role("button", name="Done").click()
        expect(page.get_by_role("alert").first).to_contain_text("hands stay away")
        page.goto(page.url.partition("?")[0])
        for key in ("tell", "watch", "stop", "lock", "tag", "stored", "try"):
            assert page.locator("section.step:visible").get_attribute("data-step") == key
            page.locator("section.step:visible").get_by_role("button", name="Done").click()
        expect(page.locator("[data-locks]")).to_have_text("Locks on: Ann")
        page.goto(f"{page.url}?step=found-tension")
        page.locator("section.step:visible .reads a", has_text="Deflection force").click()
        page.fill("#b-r0-force", "15")
        page.fill("#b-r1-force", "1,500")
        page.get_by_role("button", name="Note it").click()
        expect(page.locator(".problem")).to_contain_text("ambiguous")
        assert page.input_value("#b-r0-force") == "15"
        page.fill("#b-r1-force", "9")
        page.get_by_role("button", name="Note it").click()
        expect(page.locator(".noted")).to_contain_text("In the band")
        expect(page.locator(".noted")).to_contain_text("Too slack")
        page.locator(".noted").get_by_role("link", name="Back to the step").click()
        expect(page.locator("section.step:visible .reads")).to_contain_text("2 noted")
        page.goto("/drives/FAN-2/readings/alignment")
        for name, gap in zip(("driver_far", "driver_near", "driven_near", "driven_far"), "9911", strict=True):
            page.fill(f"#b-r0-{name}", gap)
        page.get_by_role("button", name="Note it").click()
        expect(page.locator(".noted")).to_contain_text("away from the motor along its shaft")


def test_two_people_on_one_job(browser: Browser, plant: Served) -> None:
    job = opened_job(plant, "re-tension")
    with phone(browser, plant.address) as first, phone(browser, plant.address) as second:
        ann, ben = first.new_page(), second.new_page()
        for page, name in ((ann, "Ann"), (ben, "Ben")):
            page.goto(f"/jobs/{job}")
            holds(page, f"/jobs/{job}")
            page.locator("section.step:visible input[name=by]:not([type=hidden])").fill(name)
        second.set_offline(True)
        for _ in ("tell", "watch", "stop", "lock", "tag", "stored", "try"):
            do_step(ann)
        sent(ann)
        for _ in ("tell", "watch", "stop", "lock"):
            do_step(ben)
        expect(ben.locator("[data-locks]")).to_have_text("Locks on: Ben")
        second.set_offline(False)
        ben.evaluate("dispatchEvent(new Event('online'))")
        expect(ben.locator("[data-locks]")).to_have_text("Locks on: Ann, Ben", timeout=20_000)
        expect(ann.locator("[data-locks]")).to_have_text("Locks on: Ann, Ben", timeout=30_000)
        # Ben had noted that he watched it run while Ann's lock was on already: that cannot be, and he is told
        expect(ben.locator("#notes-waiting")).to_contain_text("1 refused")
        ben.goto(f"/jobs/{job}?step=guard-off")
        do_step(ben)
        sent(ben)
    with open_book(plant.book) as book:
        assert jobs.standing(book, jobs.find_job(book, job).id).progress.mark("guard-off").by == ("Ben",)


def test_an_update_of_the_worker_keeps_what_waits(mine: BrowserContext, plant: Served,
                                                  monkeypatch: pytest.MonkeyPatch) -> None:
    job = opened_job(plant)
    page = mine.new_page()
    page.goto(f"/jobs/{job}")
    holds(page, "/drives/FAN-1/readings/power")
    page.locator("section.step:visible input[name=by]:not([type=hidden])").fill("Ann")
    mine.set_offline(True)
    do_step(page)
    assert waits(page) == 1
    before = page.evaluate("caches.keys()")
    # a newer server: one more file is carried, so the worker is another
    monkeypatch.setattr(phone_calls, "CARRIED", (*phone_calls.CARRIED, "print.js"))
    mine.route("**/api/v1/sync", lambda route: route.abort())
    mine.set_offline(False)
    page.evaluate("async () => (await navigator.serviceWorker.getRegistration()).update()")
    until(page, """async (before) => {
        const names = await caches.keys();
        return names.filter((name) => name.startsWith("files-")).length === 1
            && names.some((name) => !before.includes(name));
    }""", before)
    mine.set_offline(True)
    page.reload()
    assert waits(page) == 1
    expect(page.locator("[data-done]")).to_have_text("1")
    expect(page.locator("#notes-waiting")).to_contain_text("1 note waiting")
    mine.unroute("**/api/v1/sync")
    mine.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)


def test_a_wrong_clock_on_the_phone_is_said(mine: BrowserContext, plant: Served) -> None:
    page = mine.new_page()
    page.add_init_script("const behind = 3 * 3600e3; const RealDate = Date; globalThis.Date = class extends RealDate {"
                         "constructor(...given) { given.length ? super(...given) : super(RealDate.now() - behind); }"
                         "static now() { return RealDate.now() - behind; } };")
    page.goto("/drives/FAN-1/readings/speed")
    page.fill("#b-r0-driver_speed", "1750")
    page.fill("#b-r0-driven_speed", "1187")
    page.fill("#by", "Ann")
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")
    sent(page)
    expect(page.locator("#notes-waiting")).to_contain_text("180 min behind")
    with open_book(plant.book) as book:
        noted = book.readings(book.drive_by_tag("FAN-1").drive_id)[0]
    assert abs((now() - noted.taken_at).total_seconds()) < 60


def test_what_is_refused_stays_with_its_reason_and_is_mended(mine: BrowserContext, plant: Served) -> None:
    page = mine.new_page()
    page.goto("/drives/FAN-1/readings/force")
    page.fill("#b-r0-force", "9000")
    page.fill("#by", "Ann")
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")
    expect(page.locator("#notes-waiting")).to_contain_text("1 refused")
    page.goto("/waiting")
    line = page.locator("#notes .refused")
    expect(line).to_contain_text("refused: force")
    line.get_by_role("button", name="Mend it").click()
    page.fill("#b-r0-force", "15")
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")
    sent(page)
    with open_book(plant.book) as book:
        assert [each.values["force"] for each in book.readings(book.drive_by_tag("FAN-1").drive_id)] == [15.0]


def picture() -> bytes:
    """A PNG of one dot."""
    def chunk(kind: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4) + kind + data + zlib.crc32(kind + data).to_bytes(4)

    head = (1).to_bytes(4) + (1).to_bytes(4) + bytes((8, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\0")) + chunk(b"IEND", b"")


def test_a_photo_is_kept_until_it_is_sent(mine: BrowserContext, plant: Served) -> None:
    page = mine.new_page()
    page.goto("/drives/FAN-1/readings/seen")
    page.wait_for_function("() => navigator.serviceWorker.controller")
    page.reload()
    mine.set_offline(True)
    page.get_by_label("Cracked").check()
    page.get_by_text("A few words").first.click()
    page.set_input_files("#photo", {"name": "belt.png", "mimeType": "image/png", "buffer": picture()})
    page.fill("#by", "Ann")
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/drives/FAN-1")
    assert waits(page) == 1
    mine.set_offline(False)
    page.goto("/waiting")
    sent(page)
    with open_book(plant.book) as book:
        name = book.readings(book.drive_by_tag("FAN-1").drive_id)[0].extra["files"]
    assert mine.request.get(f"/files/{name}").body() == picture()
    assert mine.request.put(f"/api/v1/files/{name}", data=picture()[:-1]).status == 422


def test_a_full_phone_says_that_it_kept_nothing(mine: BrowserContext) -> None:
    page = mine.new_page()
    page.goto("/drives/FAN-1/readings/power")
    page.evaluate("""() => { IDBObjectStore.prototype.add = function () {
        throw new DOMException("no room", "QuotaExceededError"); }; }""")
    page.fill("#b-r0-power", "7.5")
    page.fill("#by", "Ann")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator("[data-kept]")).to_contain_text("NOT kept")
    assert page.input_value("#b-r0-power") == "7.5"


def test_a_scanned_label_opens_its_drive_also_without_signal(mine: BrowserContext, plant: Served) -> None:
    page = mine.new_page()
    page.goto("/round")
    holds(page, "/drives/FAN-2")   # the last of those taken along
    mine.set_offline(True)
    page.goto("/d/FAN-2")
    expect(page.locator("h1")).to_have_text("FAN-2")
    page.goto("/round/FAN-2")
    page.get_by_label("Squeal at start").check()
    page.fill("#by", "Ann")
    page.get_by_role("button", name="Note it").click()
    page.wait_for_url("**/round*")
    assert waits(page) == 1


def test_a_job_is_not_opened_without_signal_and_that_is_said(mine: BrowserContext, plant: Served) -> None:
    page = mine.new_page()
    page.goto("/drives/FAN-1/jobs")
    holds(page, "/waiting")
    page.reload()   # the worker has taken over and keeps the page
    holds(page, "/drives/FAN-1/jobs")
    mine.set_offline(True)
    page.reload()
    page.get_by_label("What for").fill("squeals")
    page.get_by_label("Your name").fill("Pat")
    page.get_by_role("button", name="Open the job").click()
    expect(page.locator("[data-kept]")).to_contain_text("NOT opened")
    assert page.get_by_label("What for").input_value() == "squeals"
    mine.set_offline(False)
    page.get_by_role("button", name="Open the job").click()
    page.wait_for_url("**/jobs/*-*")
    with open_book(plant.book) as book:
        assert [job.reason for job in book.jobs(open_only=True)] == ["squeals"]


# --- the phone and the book judge alike -------------------------------------------------------------------------------

def test_the_phone_judges_values_and_alignment_as_the_bench_does(mine: BrowserContext) -> None:
    card = make_card(a_drive())
    straight = carried.straight(card)
    assert straight is not None
    page = mine.new_page()
    page.goto("/waiting")
    lines = [("outer", (g / 1000, 0.002, 0.001, h / 1000)) for g in (0, 3, 9) for h in (0, 1, 7)] + [
        ("inner+both", (0.004, 0.001, 0.0, 0.002, 0.003, 0.001, 0.001, 0.0))]
    given = {"straight": carried.carry(straight), "lines": lines}
    found = page.evaluate("""async ({ straight, lines }) => {
        const { inLine, moves } = await import("/static/judge.js");
        return lines.map(([which, gaps]) => { const line = inLine(straight, which, gaps); return { ...line, said: moves(
            straight, line, { unit: "mm", factor: 0.001, digits: 1 }) }; });
    }""", given)
    for (which, gaps), there in zip(lines, found, strict=True):
        here = carried.in_line(straight, which, gaps)
        assert there["verdict"] == here.verdict
        assert there["offset"] == pytest.approx(list(here.offset), abs=1e-12)
        assert there["worst"] == pytest.approx(here.worst[0], abs=1e-12)
        assert there["said"] == list(carried.moves(straight, here, "si"))
    trials: tuple[tuple[str, dict[str, Any]], ...] = (
        ("force", {"force": 15.0}), ("force", {"force": 15.0, "deflection": 0.02}), ("speed", {
            "driver_speed": 183.0, "driven_speed": 100.0}), ("groove", {"left": 0.0009, "right": 0.0}), ("run-out", {
            "sheave": "driver", "radial": 0.001}), ("temperature", {"where": "belt", "temperature": 70.0}))
    for kind, values in trials:
        rules = carried.rules(card, kind)
        for age in ("run-in", "new"):
            there = page.evaluate("""async ({ rules, values, age }) =>
                (await import("/static/judge.js")).held(rules, values, age)
                .map((each) => [each.verdict, each.words])""", {"values": values, "age": age, "rules": [
                    {"field": rule.field, "low": rule.low, "high": rule.high, "below": rule.below, "above": rule.above,
                     "per": rule.per, "when": dict(rule.when), "without": list(rule.without), "age": rule.age}
                    for rule in rules]})
            assert there == [[one.verdict, one.words] for one in carried.held(rules, values, age)]


@pytest.mark.parametrize("kind", ["re-belt", "re-tension", "lay up"])
def test_the_phone_knows_the_order_of_work_as_the_book_does(mine: BrowserContext, kind: Any) -> None:
    import random
    chance = random.Random(7)
    job = Job(new_id(), new_id(), kind, steps_for(kind, {}), now(), "Pat")
    walks, expected = [], []
    for _ in range(25):
        events: list[Event] = []
        for _ in range(60):
            by = chance.choice(("Ann", "Ann", "Ben"))
            marks = progress(job, events)
            ahead = [step.key for step in marks.open[:3]] or [job.steps[0].key]
            key = chance.choice([*ahead, *ahead, chance.choice(job.steps).key])
            words = next(step.confirm for step in job.steps if step.key == key)
            what: Any = chance.choice(("done",) * 8 + ("skipped", "centre moved"))
            event = Event(new_id(), job.id, what, "" if what == "centre moved" else key, by, now(), "reason", words)
            try:
                check(job, events, event)
                allowed = True
                events = [*events, event]
            except Refused:
                allowed = False
            if what == "done":
                walks.append({"key": key, "by": by, "events": [
                    {"kind": each.kind, "step": each.step, "by": each.by, "reason": each.reason}
                    for each in (events[:-1] if allowed else events)]})
                before = progress(job, events[:-1] if allowed else events)
                expected.append([allowed, [mark.state for mark in before.marks], sorted(before.locks)])
    page = mine.new_page()
    page.goto("/waiting")
    found = page.evaluate("""async ({ order, walks }) => {
        const { standing, whyNot } = await import("/static/standing.js");
        return walks.map(({ key, by, events }) => {
            const now = standing(order, events);
            return [!whyNot(order, now, key, by), [...now.marks.values()].map((mark) => mark.state), now.names];
        });
    }""", json.loads(json.dumps({"order": carried.order_of_work(job), "walks": walks})))
    assert found == expected
    assert {allowed for allowed, _, _ in expected} == {True, False}
