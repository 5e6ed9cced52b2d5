"""Listening in a real browser, its microphone hearing a made clip: recorded, counted, heard, waiting without signal."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from beltwright.bench.findings.targets import targets_for
from beltwright.book.opening import open_book
from beltwright.desk.clips import decode
from beltwright.plant.identity import now
from tests.sound.belts import clip_at, silence
from tests.web.chromium import ARGUMENTS, CHROMIUM, NEEDS_CHROMIUM, faint_words, problems_of, served, visitor
from tests.web.mill import mill

pytestmark = [NEEDS_CHROMIUM, pytest.mark.xdist_group("chromium")]

TAG = "FAN-12"
LISTEN = f"/drives/{TAG}/listen"


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return mill(tmp_path_factory.mktemp("mill") / "plant.book", until=now())


@pytest.fixture(scope="module")
def base(path: Path) -> Iterator[str]:
    with served(path) as address:
        yield address


@pytest.fixture(scope="module")
def clip(path: Path) -> Path:
    with open_book(path) as book:
        drive = book.drive_by_tag(TAG).drive
    wants = targets_for(drive).set_to
    assert wants is not None
    file = path.with_name("plucks.wav")
    file.write_bytes(clip_at(drive, 1.25 * wants.run_in[0]))
    return file


@pytest.fixture(scope="module")
def running(clip: Path) -> Iterator[Browser]:
    """A browser whose microphone hears that clip, over and over."""
    microphone = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
                  f"--use-file-for-fake-audio-capture={clip}")
    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=str(CHROMIUM), args=[*ARGUMENTS, *microphone])
        yield found
        found.close()


@pytest.fixture
def phone(running: Browser, base: str) -> Iterator[Page]:
    with visitor(running, base, permissions=["microphone"]) as somebody:
        page = somebody.new_page()
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: said.append(str(error)))
        yield page
        assert [each for each in said if "Failed to load resource" not in each] == []


def record(page: Page, plucks: int = 3) -> None:
    """Record until so many plucks were counted."""
    page.get_by_label("Your name").fill("Jo Lind")
    page.locator("[data-record]").tap()
    expect(page.locator("[data-plucks]")).to_have_text(str(plucks), timeout=15_000)
    page.wait_for_timeout(900)
    page.get_by_role("button", name="Stop", exact=True).tap()


def test_a_belt_is_recorded_counted_heard_and_noted(phone: Page, path: Path) -> None:
    phone.goto(f"{LISTEN}?belt=2")
    record(phone)
    expect(phone.locator("[data-told] .heard-belt")).to_have_text("Belt 2, noted", timeout=20_000)
    expect(phone.locator("[data-told] .state")).to_contain_text("In the band")
    assert phone.locator(".heard-drawing svg").bounding_box()
    assert re.search(rf"/drives/{TAG}/heard/[0-9a-f-]+$", phone.url)
    with open_book(path) as book:
        last = book.readings(book.drive_by_tag(TAG).drive_id, kinds=["frequency"])[-1]
        assert (last.values["belt"], last.by) == (2, "Jo Lind")
        sound = decode(book.file(last.extra["files"]))
    assert 16_000 <= sound.rate < 32_000
    assert sound.seconds > 2


def test_the_microphone_is_asked_for_without_what_takes_low_notes_away(phone: Page) -> None:
    phone.goto(LISTEN)
    phone.evaluate("""() => { const media = navigator.mediaDevices, ask = media.getUserMedia.bind(media);
        media.getUserMedia = (wanted) => { window.wanted = wanted; return ask(wanted); }; }""")
    record(phone, 1)
    assert phone.evaluate("window.wanted.audio") == {"echoCancellation": False, "noiseSuppression": False,
                                                     "autoGainControl": False, "channelCount": 1}


def test_without_signal_the_clip_waits_and_is_heard_later(phone: Page, path: Path) -> None:
    phone.goto(LISTEN)
    phone.wait_for_timeout(500)
    phone.context.set_offline(True)
    record(phone)
    expect(phone.locator("[data-kept]")).to_contain_text("waits on this phone", timeout=25_000)
    expect(phone.locator("#notes-waiting")).to_contain_text("1 note waiting")
    with open_book(path) as book:
        before = len(book.readings(book.drive_by_tag(TAG).drive_id, kinds=["frequency"]))
    phone.context.set_offline(False)
    phone.evaluate("dispatchEvent(new Event('online'))")
    expect(phone.locator("#notes-waiting")).to_be_hidden(timeout=20_000)
    with open_book(path) as book:
        assert len(book.readings(book.drive_by_tag(TAG).drive_id, kinds=["frequency"])) == before + 1


def test_over_plain_http_a_clip_is_handed_in_instead(phone: Page) -> None:
    # what a browser says of a page that did not come by HTTPS
    phone.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false });"
                          "Object.defineProperty(crypto, 'subtle', { value: undefined });")
    phone.goto(LISTEN)
    expect(phone.locator("[data-recorder]")).to_be_hidden()
    expect(phone.locator("[data-no-recorder]")).to_contain_text("needs HTTPS")
    phone.get_by_label("Your name").fill("Jo Lind")
    phone.locator("#clip").set_input_files({"name": "x.wav", "mimeType": "audio/wav", "buffer": silence()})
    phone.get_by_role("button", name="Hear it and note it").tap()
    expect(phone.locator("[data-told]")).to_contain_text("There is next to no sound in the clip", timeout=15_000)


def test_a_file_is_taken_and_what_is_not_understood_is_told(phone: Page) -> None:
    phone.goto(LISTEN)
    phone.get_by_label("Your name").fill("Jo Lind")
    phone.locator("#clip").set_input_files({"name": "x.wav", "mimeType": "audio/wav", "buffer": silence()})
    phone.get_by_role("button", name="Hear it and note it").tap()
    expect(phone.locator("[data-told]")).to_contain_text("There is next to no sound in the clip", timeout=15_000)
    expect(phone.locator("[data-told] .do")).to_contain_text("Allow the microphone")


@pytest.mark.parametrize("script", [True, False], ids=["with JavaScript", "without"])
@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("size", ["phone", "desk"])
def test_the_pages_are_legible_and_within_the_screen(running: Browser, base: str, clip: Path, size: str, light: str,
                                                     script: bool) -> None:
    complaints: list[str] = []
    with visitor(running, base, size, light=light, script=script) as somebody:
        page = somebody.new_page()
        page.goto(LISTEN)
        page.get_by_label("Your name").fill("Jo Lind")
        page.locator("#clip").set_input_files(clip)
        page.get_by_role("button", name="Hear it and note it").click()
        expect(page.locator("[data-told] .heard-belt")).to_have_text("Belt 1, noted", timeout=20_000)
        heard = page.url
        if not script:
            return
        for address in (LISTEN, heard, "/phone-check"):
            page.goto(address)
            page.evaluate("for (const folded of document.querySelectorAll('details')) folded.open = true")
            wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            complaints += [f"{address}: {wide} px stick out"] if wide > 0 else []
            complaints += [f"{address}: {problem}" for problem in problems_of(page)]
            complaints += [f"{address}: {words}" for words in faint_words(page, 7.0)]
    assert not complaints, "\n".join(complaints)
