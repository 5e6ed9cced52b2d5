"""One drive's inquiry into why it fails: what is on record in, ranked causes, the next check and what is due out.

An inquiry begins where the last one was cured or closed, and no earlier than the set of belts before those on now: what
was answered of belts long gone says nothing. Nothing of it is kept but the readings it is worked out from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from beltwright.bench.causes.checks import Check, next_check
from beltwright.bench.causes.cures import Prices, losses
from beltwright.bench.causes.evidence import Evidence, OnRecord, gather
from beltwright.bench.causes.knowledge import Sign, knowledge
from beltwright.bench.causes.ranking import Ranked, ranked
from beltwright.bench.causes.rates import Counts, counted, rates
from beltwright.bench.findings.fitted import fitted
from beltwright.bench.findings.history import tension_history
from beltwright.bench.findings.judge import Record, judge
from beltwright.bench.findings.noted import NONE, ByKind, Choices, by_kind, in_time
from beltwright.bench.findings.sets import belts_changed
from beltwright.bench.known import complete
from beltwright.bench.verdicts import verdicts
from beltwright.bench.worked import work_out
from beltwright.plant.drive import MakeUp
from beltwright.plant.reading import Reading


@dataclass(frozen=True, slots=True)
class Decided:
    """A cause confirmed or ruled out in this inquiry, by whom and when, and the proof given."""

    cause: str
    verdict: str
    proof: str
    by: str
    at: datetime
    reading: UUID


@dataclass(frozen=True, slots=True)
class ProofDue:
    """A confirmed cause that is not cured yet: what proves the cure, and the kind of reading (empty: a look)."""

    cause: str
    do: tuple[str, ...]
    proof: str
    reading: str
    since: datetime


@dataclass(frozen=True, slots=True)
class Inquiry:
    """How an inquiry stands.

    since:     when it began; none: with all that is on record
    check:     the check worth most per minute, none where asking has ended; others: the next best, in order
    stop:      why there is no further check, empty where there is one
    questions: signs nothing is known of yet
    failures:  belts that failed, all that are on record
    """

    make_up: MakeUp
    since: datetime | None
    evidence: tuple[Evidence, ...]
    causes: tuple[Ranked, ...]
    check: Check | None
    others: tuple[Check, ...]
    stop: str
    questions: tuple[Sign, ...]
    decided: tuple[Decided, ...]
    proofs_due: tuple[ProofDue, ...]
    failures: tuple[Reading, ...]


def inquire(record: Record, *, now: datetime, choices: Choices | None = None, prices: Prices | None = None,
            plant: Counts | None = None, locked_out: bool = False) -> Inquiry:
    """The inquiry of one drive as it stands.

    plant:      the cases of the plant's other drives
    locked_out: the drive is isolated, so that a hands-on check costs no lock-out
    """
    trade, noted, chosen = knowledge(), by_kind(record.readings), choices or Choices()
    failures = tuple(noted.get("belts failed", NONE))
    since = _since(record, noted)
    now_noted = noted if since is None else {
        kind: [reading for reading in some if reading.taken_at >= since] for kind, some in noted.items()}
    findings = judge(record, now=now, choices=chosen)
    worked = work_out(complete(record.make_ups[-1].drive))
    on = fitted(record.make_ups, record.jobs, noted.get("hours", NONE), noted.get("motor move", NONE))
    held = [each for each in tension_history(record) if since is None or each.strands.at >= since]
    evidence = gather(trade, OnRecord(findings, now_noted, on, held, verdicts(worked), worked))
    decided = _decided(now_noted.get("cause", NONE))
    settled = {name: each.verdict for name, each in decided.items()}
    rated = rates(trade, plant=plant or Counts(), drive=counted(_counted(noted)))
    causes = ranked(trade, evidence, rated, decided=settled, prices=prices or Prices(currency=chosen.currency),
                    belts=record.make_ups[-1].drive.belts.count,
                    lost=losses(failures, findings, record.make_ups[0].since, now))
    passed = [str(reading.values["sign"]) for reading in now_noted.get("answer", NONE)]
    asked = next_check(trade, evidence, rated, decided=settled, passed=passed, locked_out=locked_out,
                       belt_at_hand="belts failed" in now_noted and bool(now_noted["belts failed"]))
    proofs = tuple(ProofDue(name, trade.causes[name].cure.do, trade.causes[name].cure.proof,
                            trade.causes[name].cure.reading, each.at)
                   for name, each in decided.items() if each.verdict == "confirmed")
    known = {each.sign for each in evidence}
    return Inquiry(record.make_ups[-1], since, evidence, causes, asked.next,
                   asked.checks[1:] if asked.next is not None else asked.checks, asked.stop,
                   tuple(sign for name, sign in trade.signs.items() if name not in known), tuple(decided.values()),
                   proofs, failures)


def _since(record: Record, noted: ByKind) -> datetime | None:
    """When the inquiry began: after the last closing, or with the set of belts before those on now."""
    ended = [reading.taken_at for reading in noted.get("cause", NONE)
             if reading.values["verdict"] in ("cured", "closed")]
    changed = belts_changed(record)
    starts = [*ended[-1:], *changed[-2:-1]]
    return max(starts, default=None)


def _decided(noted: Sequence[Reading]) -> Mapping[str, Decided]:
    """What was settled of each cause last in this inquiry."""
    found: dict[str, Decided] = {}
    for reading in noted:
        cause, verdict = reading.values.get("cause"), str(reading.values["verdict"])
        if cause and verdict in ("confirmed", "ruled out"):
            found[str(cause)] = Decided(str(cause), verdict, str(reading.values.get("proof", "")), reading.by,
                                        reading.taken_at, reading.id)
    return found


def _counted(noted: ByKind) -> list[Reading]:
    return sorted([*noted.get("cause", NONE), *noted.get("belts failed", NONE)], key=in_time)
