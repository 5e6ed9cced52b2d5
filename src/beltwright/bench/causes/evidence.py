"""What is known of each sign at one drive, and how surely: answers, findings, readings that found nothing, the card.

Findings enter by themselves with how sure they are. A tension reading enters with the chance that it is below or above
its band, as found before it was set where that is on record. What was read and found in order speaks against: the
reading was made and shows nothing. One thing is taken of each sign; a reading goes before an answer where the bench can
read it. Judges no cause.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from fnmatch import fnmatchcase
from typing import Final, Literal
from uuid import UUID

import numpy as np

from beltwright.bench.causes.knowledge import Array, Knowledge, Sign
from beltwright.bench.figure import Said, say
from beltwright.bench.findings.finding import Finding
from beltwright.bench.findings.fitted import Fitted
from beltwright.bench.findings.history import Held
from beltwright.bench.findings.noted import ByKind, latest
from beltwright.bench.verdicts import Verdict
from beltwright.bench.worked import Worked
from beltwright.mechanics.uncertainty import shares
from beltwright.plant.reading import Reading
from beltwright.units import HOUR

Origin = Literal["answered", "as read", "seen", "by the card", "failed belts"]
# running time below which belts failed within weeks, and from which surely not: judgement [s]
WEEKS: Final = (1000 * HOUR, 3000 * HOUR)
# kinds that say nothing more once the belts or the centre were changed; the others hang on their sheave
_OF_BELTS: Final = ("alignment", "tilt", "speed", "temperature", "ride", "belt", "belt length", "bow", "power",
                    "frequency", "force")


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was noted of a sign.

    present, absent: likelihood of noting it if the sign is there, if it is not; (1, 0) surely there, (0, 1) surely not
    """

    sign: str
    present: float
    absent: float
    origin: Origin
    words: Said
    readings: tuple[UUID, ...] = ()
    at: datetime | None = None

    @property
    def there(self) -> bool:
        """Whether it says rather that the sign is there."""
        return self.present > self.absent

    @property
    def sure(self) -> bool:
        """Whether it leaves no doubt."""
        return 0.0 in (self.present, self.absent)


@dataclass(frozen=True, slots=True)
class OnRecord:
    """What is on record of the drive, as evidence is made from it: all of this inquiry only, since it began."""

    findings: Sequence[Finding]
    noted: ByKind
    fitted: Fitted
    tension: Sequence[Held]
    verdicts: Sequence[Verdict]
    worked: Worked


def gather(knowledge: Knowledge, known: OnRecord) -> tuple[Evidence, ...]:
    """One piece of evidence for each sign of which anything is known, in the order of signs."""
    answered = {each.sign: each for each in _answered(known.noted)}
    unsure = {str(reading.values["sign"]) for reading in known.noted.get("answer", ())} - answered.keys()
    found: dict[str, Evidence] = {}
    for name, sign in knowledge.signs.items():
        read = _as_read(sign, known)
        said = answered.get(name) or (None if name in unsure else _failed(name, known.noted))
        best = (read or said) if sign.group in ("as read", "by the card") else (said or read)
        if best is not None:
            found[name] = best
    return tuple(found.values())


def likelihoods(knowledge: Knowledge, evidence: Sequence[Evidence]) -> tuple[Array, Array]:
    """The evidence as two arrays, one number a sign: likelihood if it is there, if it is not."""
    present, absent = np.ones(len(knowledge.signs)), np.ones(len(knowledge.signs))
    for each in evidence:
        at = knowledge.place[each.sign]
        present[at], absent[at] = each.present, each.absent
    return present, absent


def _answered(noted: ByKind) -> Iterator[Evidence]:
    """The last answer to each question; one that could not be told takes the one before it away."""
    last = {str(reading.values["sign"]): reading for reading in noted.get("answer", ())}
    for sign, reading in last.items():
        answer = reading.values["answer"]
        if answer != "could not tell":
            present, absent = (1.0, 0.0) if answer == "present" else (0.0, 1.0)
            yield Evidence(sign, present, absent, "answered", say("answered: {answer}", answer=str(answer)),
                           (reading.id,), reading.taken_at)


def _failed(sign: str, noted: ByKind) -> Evidence | None:
    """What the belts that failed tell, of the last that do."""
    for reading in reversed(noted.get("belts failed", ())):
        values = reading.values
        if sign in (values.get("look"), values.get("look_too")):
            return Evidence(sign, 1.0, 0.0, "failed belts", say("so the belts looked that failed"), (reading.id,),
                            reading.taken_at)
        hours = values.get("hours")
        if sign == "failed within weeks" and hours is not None:
            ran = float(hours)
            if WEEKS[0] < ran < WEEKS[1]:
                return None
            present = 1.0 if ran <= WEEKS[0] else 0.0
            words = say("they had run {hours}", hours=(ran, "time"))
            return Evidence(sign, present, 1.0 - present, "failed belts", words, (reading.id,), reading.taken_at)
    return None


def _as_read(sign: Sign, known: OnRecord) -> Evidence | None:
    if sign.name in ("tension read low", "tension read high"):
        return _tension(sign, known)
    return _found(sign, known.findings) or _by_card(sign, known) or _in_order(sign, known)


def _found(sign: Sign, findings: Sequence[Finding]) -> Evidence | None:
    """The surest finding that says it."""
    keys = (*sign.findings, f"seen-{sign.seen.replace(' ', '-')}" if sign.seen else "")
    some = [finding for finding in findings if any(fnmatchcase(finding.key, key) for key in keys if key)]
    if not some:
        return None
    if sign.seen and not sign.findings:
        return Evidence(sign.name, 1.0, 0.0, "seen", say("noted as seen, heard or smelt"), some[0].readings, some[0].at)
    sure = [finding for finding in some if finding.sure is not None]
    if not sure:
        return None
    best = max(sure, key=lambda finding: finding.sure or 0.0)
    assert best.sure is not None
    return Evidence(sign.name, best.sure, 1.0 - best.sure, "as read", best.statement, best.readings, best.at)


def _by_card(sign: Sign, known: OnRecord) -> Evidence | None:
    """What the card reckons of the drive's build."""
    some = [verdict for verdict in known.verdicts if any(fnmatchcase(verdict.key, key) for key in sign.verdicts)
            and verdict.answer != "not judged"]
    bad = [verdict for verdict in some if verdict.answer != "good"]
    if bad:
        return Evidence(sign.name, 1.0, 0.0, "by the card", bad[0].statement)
    if some or (sign.verdicts and _reckoned(sign.name, known)):
        words = some[0].statement if some else say("within its guide by the card")
        return Evidence(sign.name, 0.0, 1.0, "by the card", words)
    return None


def _reckoned(sign: str, known: OnRecord) -> bool:
    """Whether the card had what it takes, for verdicts that are given only where something is wrong."""
    match sign:
        case "wrap below the guide":
            return known.worked.shape is not None
        case "span longer than the guide":
            return known.worked.shape is not None and not known.worked.known.drive.belts.joined
        case "sheave below the smallest":
            return known.worked.known.section is not None and {
                "driver_geometry", "driven_geometry"} <= known.worked.known.facts.keys()
        case _:
            return False


def _in_order(sign: Sign, known: OnRecord) -> Evidence | None:
    """A reading that answers the sign was made, of what is on the drive now, and nothing came of it."""
    # the last visit counts: two lines read a year apart do not tell that a face is true
    some = latest([reading for kind in sign.reading for reading in _still_true(kind, known)])
    if len(some) < sign.least or not some:
        return None
    last = some[-1]
    return Evidence(sign.name, 0.0, 1.0, "as read", say("read, and in order"), (last.id,), last.taken_at)


def _still_true(kind: str, known: OnRecord) -> Iterator[Reading]:
    name, _, where = kind.partition(": ")
    parts = ("belts",) if name in _OF_BELTS else ("driver", "driven")
    cuts = [known.fitted.since.get(part) for part in parts]
    if name in _OF_BELTS:
        cuts.append(known.fitted.moved_at)
    cut = max((each for each in cuts if each is not None), default=None)
    for reading in known.noted.get(name, ()):
        if (not where or reading.values.get("where") == where) and (cut is None or reading.taken_at >= cut):
            yield reading


def _tension(sign: Sign, known: OnRecord) -> Evidence | None:
    """The chance that a belt is out of its band on that side: as found last, else as read last."""
    held = [each for each in known.tension if each.band is not None]
    as_found = [each for each in held if each.strands.state == "as found"]
    if not held:
        return None
    last = (as_found or held)[-1]
    assert last.band is not None
    low = sign.name == "tension read low"
    # new belts below the band for new ones are not slack yet; only the next reading tells
    if last.new and low:
        return None
    now = last.strands
    tension, spread = np.array([*now.tension, now.mean]), np.array([*now.spread, now.mean_spread])
    chances = shares(tension, spread, *last.band)
    chance = float(np.max(chances.below if low else chances.above))
    words = say("{mean} where {least} to {most} is right: {side} with chance {chance}", mean=(now.mean, "force"),
                least=(last.band[0], "force"), most=(last.band[1], "force"), side="below" if low else "above",
                chance=(chance, "share", 0))
    return Evidence(sign.name, chance, 1.0 - chance, "as read", words, tuple(reading.id for reading in now.readings),
                    now.at)
