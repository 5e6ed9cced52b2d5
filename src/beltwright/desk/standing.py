"""How a drive stands, in one word: what its build and what its readings say of it, put in one order of urgency.

The bench judges the build (`verdicts`), the record (`clashes`) and the readings (`findings`) apart. Somebody who asks
which drive needs a hand first wants one list; here it is made, and nothing is judged anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from beltwright.bench.card import Card, make_card
from beltwright.bench.clashes import clashes
from beltwright.bench.figure import Said, say
from beltwright.bench.findings.finding import Finding
from beltwright.bench.known import complete
from beltwright.bench.verdicts import Answer, overall, verdicts
from beltwright.bench.worked import work_out
from beltwright.plant.drive import Drive

Stands = Literal["stop and mend", "mend at next stop", "plan", "watch", "not judged", "sound"]
ORDER: Final[tuple[Stands, ...]] = ("stop and mend", "mend at next stop", "plan", "watch", "not judged", "sound")
# what a verdict on the build asks for, in the words of findings
OF_BUILD: Final[dict[Answer, Stands]] = {
    "danger": "stop and mend", "short": "plan", "note": "watch", "not judged": "not judged",
    "good": "sound"}
_IN_A_HURRY: Final = ORDER[:2]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a drive stands as it does: what, the statement, and what to do first."""

    stands: Stands
    title: str
    said: Said
    do: Said


@dataclass(frozen=True, slots=True)
class Standing:
    """A drive in a word, and why, the most urgent first; no reasons where it is sound."""

    stands: Stands
    reasons: tuple[Reason, ...]

    @property
    def needs_a_hand(self) -> bool:
        """Whether somebody should go there, and not only plan it."""
        return self.stands in _IN_A_HURRY


def standing(drive: Drive, findings: Sequence[Finding], card: Card | None = None) -> Standing:
    """How a drive stands, from how it is built and what was found of it.

    findings: of `judge`, for the drive as it is now; card: the drive's, where it is worked out already
    """
    known = complete(drive) if card is None else card.known
    built = verdicts(work_out(known)) if card is None else card.verdicts
    reasons = [Reason(OF_BUILD[verdict.answer], verdict.title, verdict.statement, _plain(verdict.do))
               for verdict in built if verdict.answer not in ("good", "not judged")]
    reasons += [Reason("plan" if clash.weight == "wrong" else "watch", "Readings disagree", clash.statement, clash.do)
                for clash in clashes(known)]
    reasons += [Reason(finding.urgency, finding.title, finding.statement, _first(finding))
                for finding in findings if finding.urgency != "sound" and not finding.explained_by]
    if overall(built) == "not judged":
        reasons += _to_read(drive)
    reasons.sort(key=lambda reason: ORDER.index(reason.stands))
    return Standing(reasons[0].stands if reasons else "sound", tuple(reasons))


def _first(finding: Finding) -> Said:
    """The first thing to do of a finding."""
    first = finding.do[0] if finding.do else ""
    return first if isinstance(first, Said) else _plain(first)


def _plain(words: str) -> Said:
    return say("{words}", words=words.rstrip("."))


def _to_read(drive: Drive) -> list[Reason]:
    return [Reason("not judged", "Not judged yet", say("read next: {words}", words=gap.words), _plain(""))
            for gap in make_card(drive).gaps[:1]]
