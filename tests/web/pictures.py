"""Pictures of every main page, at the size of a phone and of a desk, for people to look at.

    python -m tests.web.pictures docs/pictures
"""

from __future__ import annotations

import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from playwright.sync_api import Page

from beltwright.plant.identity import now
from tests.web.chromium import SIZES, browser, served, visitor
from tests.web.mill import mill

_ANSWERS: Final = ("tag=FAN-40&name=Roof+fan&motor_power_kw=7.5&motor_speed_rpm=1450&driver_outside_mm=190"
                   "&driven_outside_mm=280&belt_marking=B112&belt_count=3")
# name -> address, and what is unfolded
PAGES: Final[dict[str, tuple[str, str]]] = {
    "plant": ("/", ""),
    "found": ("/?q=elevator", ""),
    "drive": ("/drives/FAN-12", ""),
    "drive-whole": ("/drives/FAN-12", ""),
    "working": ("/drives/FAN-12#deflection", "#deflection"),
    "danger": ("/drives/FAN-21", ""),
    "survey": (f"/survey/driver?{_ANSWERS}", ""),
    "survey-clash": (f"/survey/centre?{_ANSWERS}&centre_mm=1400", ""),
    "look-over": (f"/survey/look?{_ANSWERS}&centre_mm=1055", ""),
    "card": ("/drives/FAN-12/card", ""),
    "readings": ("/drives/FAN-12/readings", ""),
    "alignment": ("/drives/FAN-12/readings/alignment", ""),
    "round": ("/round", ""),
    "labels": ("/labels?place=Drying+%2F+Line+1", ""),
    "sheet": ("/sheet", ""),
    "book": ("/book", ""),
}
NIGHT: Final = ("plant", "drive", "survey")
_LOOKED_AT: Final = datetime(2026, 11, 25, 9, tzinfo=UTC)


def take(page: Page, name: str, to: Path) -> None:
    """One picture."""
    address, unfolded = PAGES[name]
    page.goto(address)
    if unfolded:
        page.locator(unfolded).evaluate("folded => { folded.open = true; folded.scrollIntoView({ block: 'center' }) }")
    page.evaluate("document.activeElement.blur()")
    page.wait_for_timeout(250)
    page.screenshot(path=to, full_page=name.endswith("-whole"))


def main() -> None:
    """Take them all."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "docs/pictures")
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place, browser() as running:
        path = mill(Path(place) / "plant.book", until=min(now(), _LOOKED_AT))
        with served(path, address="https://belts.northfield.example") as base:
            for size in SIZES:
                for light in ("light", "dark"):
                    sharp = 2 if size == "phone" else 1
                    with visitor(running, base, size, light=light, device_scale_factor=sharp) as who:
                        page = who.new_page()
                        for name in PAGES if light == "light" else NIGHT:
                            if size == "phone" and name.endswith("-whole"):
                                continue   # nobody looks at a picture ten screens high
                            take(page, name, folder / f"{name}-{size}{'' if light == 'light' else '-night'}.png")


if __name__ == "__main__":
    main()
