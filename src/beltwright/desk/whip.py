"""Whether spans whip: one drive in full, at its tension as last read, and a whole plant screened."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

import numpy as np

from beltwright.bench import whip
from beltwright.bench.findings.fitted import fitted
from beltwright.bench.findings.held import asked, tensions
from beltwright.bench.findings.noted import NONE, Case, by_kind
from beltwright.bench.findings.targets import Targets, targets_for, targets_of_plant
from beltwright.bench.findings.whip import last_read, run_out
from beltwright.bench.whip import ACROSS, ALONG, CALLED
from beltwright.bench.whip_chart import SIDES, Whip, whip_of
from beltwright.desk.face import Book
from beltwright.desk.judge import record_of
from beltwright.mechanics.whip_shaken import margin_limits
from beltwright.plant.drive import Drive

Stands = Literal["no tension", "another tension", "clear", "not known"]
ORDER: Final[tuple[Stands, ...]] = ("no tension", "another tension", "clear", "not known")
WORDS: Final[dict[Stands, str]] = {
    "no tension": "near at every tension of its band", "another tension": "near in the middle of its band",
    "clear": "not near", "not known": "not known yet"}
# drives screened together
_TOGETHER: Final = 2048


@dataclass(frozen=True, slots=True)
class Screened:
    """A drive as a screening finds it, set to the middle of its band.

    side, by, margin: the nearest span, what is nearest to it, and how near; low, high: the widest part of its band that
    is not near [N], alike for none; why: what stands in the way of a judgement
    """

    drive: Drive
    stands: Stands
    side: str = ""
    by: str = ""
    margin: float = 0.0
    low: float = 0.0
    high: float = 0.0
    why: str = ""


def whip_now(book: Book, tag: str, *, now: datetime) -> Whip:
    """The whip of the drive with that tag, at its tension as last read; `NotKnown` says what to read first."""
    with book.looking():
        record = record_of(book, tag)
    noted = by_kind(record.readings)
    on = fitted(record.make_ups, record.jobs, noted.get("hours", NONE), noted.get("motor move", NONE))
    case = Case(targets_for(record.make_ups[-1].drive), on, noted, asked(noted, on), now)
    return whip_of(case.targets, last_read(tensions([case])[0]), run_out(case))


def screen(book: Book) -> list[Screened]:
    """Every drive of the plant, those first that no tension helps, of these the nearest."""
    with book.looking():
        drives = [make_up.drive for make_up in book.drives()]
    found = list(screened(drives))
    return sorted(found, key=lambda each: (ORDER.index(each.stands), abs(each.margin), each.drive.tag))


def screened(drives: Sequence[Drive]) -> Iterator[Screened]:
    """Drives screened, in their order."""
    for start in range(0, len(drives), _TOGETHER):
        yield from _screened(targets_of_plant(drives[start:start + _TOGETHER]))


def _screened(some: Sequence[Targets]) -> list[Screened]:
    """Drives at once; what is not known of a drive is said of it."""
    places = [at for at, targets in enumerate(some) if whip.whippable(targets)]
    found = [Screened(targets.drive, "not known", why=targets.why or "the speed of the driven shaft is needed")
             for targets in some]
    if not places:
        return found
    setup = whip.setup_of([some[at] for at in places])
    good = whip.runs(setup, setup.low)
    for at, runs in zip(places, good.tolist(), strict=True):
        if not runs:
            found[at] = Screened(some[at].drive, "not known", why="at the low end of its band the slack side carries "
                                                                  "nothing at full load")
    if not np.any(good):
        return found
    setup = whip.Setup(*(part[good] for part in setup))
    window = whip.clear_tensions(setup, margin_limits().near)
    margins = whip.margins_at(setup, 0.5 * (setup.low + setup.high))
    nearest = whip.nearest(margins)
    reach = margins.reach[np.arange(len(setup.low)), nearest.span, nearest.shaker]
    near = np.abs(nearest.margin) < np.maximum(margin_limits().near, reach)
    names = (*(CALLED[key] for key in ACROSS), *(f"{CALLED[key]}, swinging the tension" for key in ALONG))
    columns = (nearest.span, nearest.shaker, nearest.margin, np.asarray(window.low), np.asarray(window.high), near)
    kept = (at for at, runs in zip(places, good.tolist(), strict=True) if runs)
    for at, (span, shaker, margin, low, high, is_near) in zip(kept, zip(*(each.tolist() for each in columns),
                                                                        strict=True), strict=True):
        stands: Stands = "no tension" if high <= low else "another tension" if is_near else "clear"
        found[at] = Screened(some[at].drive, stands, SIDES[span], names[shaker], margin, low, high)
    return found
