"""The versions of the method: the list that people read, the version that is stamped on facts, and the pages agree."""

from __future__ import annotations

import itertools
import tomllib
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

from beltwright.bench import card
from beltwright.book.opening import open_book
from beltwright.desk import jobs, record
from beltwright.plant.identity import new_id, now
from beltwright.web.pages import method
from tests.web.browser import Browser, app_over, plant_book

LISTED = tomllib.loads((files("beltwright.bench") / "methods.toml").read_text(encoding="utf-8"))["method"]


def test_the_newest_version_listed_is_the_one_that_facts_are_stamped_with() -> None:
    assert LISTED[-1]["version"] == card.METHOD
    names = [each["version"] for each in LISTED]
    assert len(set(names)) == len(names)
    for before, after in itertools.pairwise(LISTED):
        assert before["since"] <= after["since"]
    for each in LISTED:
        assert each.keys() == {"version", "since", "changed"}
        assert each["since"] <= now().date()
        assert len(each["changed"]) > 20, "what moved, in words"
    assert [each.now for each in method.versions()] == [False] * (len(LISTED) - 1) + [True]


def test_facts_say_by_which_version_they_were_made_and_old_open_jobs_are_listed(tmp_path: Path) -> None:
    path = plant_book(tmp_path)
    with open_book(path, write=True) as book:
        noted = record.note(book, "FAN-1", "force", {"belt": "1", "force": "20 N"}, state="as found", by="Kit",
                            at=now())
        opened = jobs.open_job(book, "FAN-1", "re-tension", by="Kit", at=now())
        assert noted.method == opened.method == card.METHOD
        jobs.abandon(book, opened.id, by="Kit", at=now(), reason="made anew")
        book.open_job(replace(opened, id=new_id(), method="0.9"))
    with app_over(path, alone=True) as app:
        page = Browser(app, "localhost", "http").get("/book/method").text
    assert page.count("0.9") == 1, "of the open job alone"
    assert LISTED[-1]["changed"].replace("'", "&#39;") in page
