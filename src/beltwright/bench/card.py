"""The card of a drive: its figures, what is judged of it, what does not add up, what to read next.

What a job card, a page or a terminal shows is put together here, once; the faces only lay it out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from beltwright.bench.clashes import Clash, clashes
from beltwright.bench.drive_figures import gauge_figures, geometry_figures, rating_figures, room_figures
from beltwright.bench.figure import Figure
from beltwright.bench.gaps import Gap, gaps
from beltwright.bench.known import Known, complete
from beltwright.bench.limit_figures import limit_figures
from beltwright.bench.tension_figures import belt_life_figures, load_figures, tension_figures
from beltwright.bench.verdicts import Verdict, verdicts
from beltwright.bench.worked import Worked, work_out
from beltwright.errors import NotKnown
from beltwright.plant.drive import Drive
from beltwright.units import System

# changes with every change of a formula or a table that moves a number; stands with each derived value
METHOD = "1"


@dataclass(frozen=True)
class Card:
    """All that is known and judged of a drive from its record alone, without readings."""

    drive: Drive
    worked: Worked
    figures: Mapping[str, Figure]
    verdicts: tuple[Verdict, ...]

    @property
    def known(self) -> Known:
        """The record completed."""
        return self.worked.known

    @cached_property
    def clashes(self) -> tuple[Clash, ...]:
        """Readings that disagree."""
        return clashes(self.known)

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """What to read next."""
        unrated = self.worked.why.get("rating", "").startswith("not judged")
        return gaps(self.known, rated=bool(self.worked.rated_by) or not unrated)

    def figure(self, key: str) -> Figure:
        """One figure; `NotKnown` says what stands in its way."""
        if key in self.figures:
            return self.figures[key]
        reasons = [reason for name, reason in self.worked.why.items() if name in ("shape", "set_to", "rating")]
        reason = reasons[0].removeprefix("not judged: ") if reasons else "see what to read next"
        raise NotKnown(f"{key} of {self.drive.tag} is not known: {reason}")

    def words(self, system: System) -> dict[str, str]:
        """The figures as a person reads them, by key, and what to draw from the store: for the steps of a job."""
        texts = {key: figure.text(system) for key, figure in self.figures.items()}
        if "deflection" in texts:
            texts["deflection"] += f" ({self.figures['deflection_64ths'].text(system)})"
        texts["store"] = self.store()
        return {key: text for key, text in texts.items() if text}

    def store(self) -> str:
        """What to draw from the store: the matched set."""
        belts, marking = self.drive.belts, self.known.marking
        if belts.count is None or marking is None:
            return ""
        if belts.joined:
            return f"1 joined band {marking.text}, {belts.count} ribs, new."
        if belts.count == 1:
            return f"1 belt {marking.text}, new."
        return f"1 matched set of {belts.count} belts {marking.text}, all new, one make."


def make_card(drive: Drive) -> Card:
    """Work out and judge a drive."""
    worked = work_out(complete(drive))
    topics = (geometry_figures, room_figures, rating_figures, tension_figures, load_figures, belt_life_figures,
              gauge_figures, limit_figures)
    figures = {figure.key: figure for topic in topics for figure in topic(worked)}
    return Card(drive, worked, MappingProxyType(figures), verdicts(worked))
