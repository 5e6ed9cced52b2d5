"""Why a drive fails, in a real browser: without signal the questions go on, and what was answered arrives."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from beltwright.book.opening import open_book
from beltwright.plant.reading import Reading
from tests.web.chromium import NEEDS_CHROMIUM, problems_of
from tests.web.floor import Served, holds, phone, until, waits

WHY = "/drives/FAN-1/why"
pytestmark = NEEDS_CHROMIUM


def answered(plant: Served) -> list[Reading]:
    with open_book(plant.book) as book:
        return list(book.readings(book.drive_by_tag("FAN-1").drive_id, kinds=["answer"]))


def asks(page: Page) -> str:
    return page.locator("[data-ask]").inner_text()


def test_without_signal_the_questions_go_on_and_the_answers_arrive(browser: Browser, plant: Served) -> None:
    context = phone(browser, plant.address)
    page = context.new_page()
    page.goto(WHY)
    holds(page, f"{WHY}/ahead")
    context.set_offline(True)
    page.reload()
    page.locator(".ask input[name=by]").fill("Ann")
    asked, leading = [], [page.locator(".ranked").inner_text()]
    for number, answer in enumerate(("Yes, it is there", "No, it is not", "Could not tell"), start=1):
        asked.append(asks(page))
        page.locator(".ask").get_by_role("button", name=answer).click()
        until(page, "(asked) => document.querySelector('[data-ask]').textContent !== asked", asked[-1])
        assert waits(page) == number
        leading.append(page.locator(".ranked").inner_text())
    assert len(set(asked)) == 3
    assert leading[0] != leading[1] != leading[2]
    assert leading[2] == leading[3]   # who could not tell changed nothing
    # opened again without signal it stands where it was
    after = asks(page)
    page.reload()
    expect(page.locator("[data-ask]")).to_have_text(after)
    context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    until(page, "() => document.getElementById('notes-waiting').hidden")
    assert [reading.values["answer"] for reading in answered(plant)] == ["present", "absent", "could not tell"]
    page.goto(WHY)
    expect(page.locator("[data-ask]")).to_have_text(after)
    context.close()


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [360, 1280])
def test_it_is_fit_for_everybody(browser: Browser, plant: Served, width: int, dark: bool) -> None:
    context = phone(browser, plant.address, dark=dark, size={"width": width, "height": 800})
    page = context.new_page()
    page.goto(f"{WHY}?locked_out=1")
    for folded in page.locator("details").all():
        folded.evaluate("folded => { folded.open = true }")
    assert problems_of(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    context.close()


def test_without_modules_an_answer_is_a_plain_form(browser: Browser, plant: Served) -> None:
    context = phone(browser, plant.address, modules=False)
    page = context.new_page()
    page.goto(WHY)
    page.locator(".ask input[name=by]").fill("Bo")
    first = asks(page)
    page.locator(".ask").get_by_role("button", name="No, it is not").click()
    assert asks(page) != first
    assert [reading.by for reading in answered(plant)] == ["Bo"]
    context.close()
