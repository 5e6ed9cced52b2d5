"""Pictures of every main page, at the size of a phone and of a desk, for people to look at.

    python -m tests.web.pictures docs/pictures [NAME...]
"""

from __future__ import annotations

import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from playwright.sync_api import Page

from beltwright.bench.findings.targets import targets_for
from beltwright.book.enclosed import name_of
from beltwright.book.opening import open_book
from beltwright.book.sheets import read_sheet
from beltwright.desk import record, survey
from beltwright.desk.plucking import hear_belt, keep
from beltwright.plant.identity import now
from tests.sound.belts import clip_at
from tests.web.chromium import SIZES, browser, served, visitor
from tests.web.mill import EXAMPLES, mill
from tests.web.worked import work

_ANSWERS: Final = ("tag=FAN-40&name=Roof+fan&motor_power_kw=7.5&motor_speed_rpm=1450&driver_outside_mm=190"
                   "&driven_outside_mm=280&belt_marking=B112&belt_count=3")
# name -> address, and what is unfolded or looked at; {open} and {closed} stand for the jobs of `worked`
PAGES: Final[dict[str, tuple[str, str]]] = {
    "plant": ("/", ""),
    "found": ("/?q=elevator", ""),
    "drive": ("/drives/FAN-12", ""),
    "drive-whole": ("/drives/FAN-12", ""),
    "working": ("/drives/FAN-12#deflection", "#deflection"),
    "history": ("/drives/FAN-12#history", "#history"),
    "danger": ("/drives/FAN-21", ""),
    "survey": (f"/survey/driver?{_ANSWERS}", ""),
    "survey-clash": (f"/survey/centre?{_ANSWERS}&centre_mm=1400", ""),
    "look-over": (f"/survey/look?{_ANSWERS}&centre_mm=1055", ""),
    "card": ("/drives/FAN-12/card", ""),
    "whip": ("/drives/FAN-13/whip", ""),
    "starting": ("/drives/FAN-12/starting", ""),
    "why": ("/drives/FAN-31/why", ""),
    "readings": ("/drives/FAN-12/readings", ""),
    "force": ("/drives/FAN-12/readings/force", ""),
    "alignment": ("/drives/FAN-12/readings/alignment", ""),
    "grooves": ("/drives/FAN-12/readings/groove", ""),
    "job-open": ("/drives/FAN-12/jobs", ""),
    "job-lock": ("/jobs/{open}?step=lock", ""),
    "job-step": ("/jobs/{open}?step=found-tension", ""),
    "job-run-in": ("/jobs/{open}?step=run-in", ""),
    "job-record": ("/jobs/{closed}", ""),
    "round": ("/round", ""),
    "stop": ("/round/FAN-12", ""),
    "waiting": ("/waiting", ""),
    "labels": ("/labels?place=Drying+%2F+Line+1", ""),
    "sheet": ("/sheet", ""),
    "book": ("/book", ""),
    "method": ("/book/method", ""),
    "listen": ("/drives/FAN-12/listen", ""),
    "phone-check": ("/phone-check", ""),
    "refused": ("/drives/FAN-99", ""),
}
NIGHT: Final = ("plant", "drive", "history", "survey", "job-step", "round")
_VISITED: Final = ("FAN-12", "FAN-13", "FAN-22")
_STARTS_READ: Final = datetime(2026, 9, 1, 8, tzinfo=UTC)
_LOOKED_AT: Final = datetime(2026, 11, 25, 9, tzinfo=UTC)


def furnish(path: Path) -> None:
    """What the examples say besides: how some drives start, and three rounds at those without visits of their own."""
    with open_book(path, write=True) as book:
        started = read_sheet(EXAMPLES.with_name("starts.csv"))
        survey.hand_in(book, survey.rows_from(started.rows, first=started.first), by="Ann Berg", at=_STARTS_READ)
        rounds = read_sheet(EXAMPLES.with_name("pellet_mill_rounds.csv"))
        rows = [row for row in survey.rows_from(rounds.rows, first=rounds.first) if row.cells["tag"] not in _VISITED]
        record.hand_in(book, rows, by="Ann Berg")


def heard(path: Path) -> str:
    """A belt of FAN-22 heard a moment ago, and where that stands."""
    with open_book(path, write=True) as book:
        drive = book.drive_by_tag("FAN-22").drive
        wants = targets_for(drive).set_to
        assert wants is not None
        clip = clip_at(drive, 1.1 * wants.run_in[0], plucks=3, noise=3e-3)
        book.keep_file(name_of(clip), clip)
        said = hear_belt(book, drive.tag, clip, belt=2, at=min(now(), _LOOKED_AT))
        return f"/drives/FAN-22/heard/{keep(book, said, name_of(clip), by='Jo Lind').id}"


def take(page: Page, name: str, shown: tuple[str, str], to: Path) -> None:
    """One picture."""
    address, unfolded = shown
    page.goto(address)
    if unfolded:
        page.locator(unfolded).evaluate("""folded => {
            folded.open = true;
            folded.scrollIntoView({ block: folded.matches('details') ? 'center' : 'start' });
        }""")
    page.evaluate("document.activeElement.blur()")
    page.wait_for_timeout(250)
    page.screenshot(path=to, full_page=name.endswith("-whole"))


def main() -> None:
    """Take them all."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "docs/pictures")
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place, browser() as running:
        moment = min(now(), _LOOKED_AT)
        path = mill(Path(place) / "plant.book", until=moment)
        furnish(path)
        worked = work(path, moment)
        every = {name: (address.format(open=worked.open, closed=worked.closed), unfolded)
                 for name, (address, unfolded) in PAGES.items()} | {"heard": (heard(path), "")}
        wanted = sys.argv[2:] or list(every)
        with served(path, address="https://belts.northfield.example") as base:
            for size in SIZES:
                for light in ("light", "dark"):
                    sharp = 2 if size == "phone" else 1
                    with visitor(running, base, size, light=light, device_scale_factor=sharp) as who:
                        page = who.new_page()
                        for name in [each for each in every if each in wanted and (light == "light" or each in NIGHT)]:
                            if size == "phone" and name.endswith("-whole"):
                                continue   # nobody looks at a picture ten screens high
                            at = "" if light == "light" else "-night"
                            take(page, name, every[name], folder / f"{name}-{size}{at}.png")


if __name__ == "__main__":
    main()
