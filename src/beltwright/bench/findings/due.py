"""What falls due on a drive: reading new belts again, the season's reading, a job left open; and a lay-up.

The intervals are published (`mechanics.recheck`); which of them a plant keeps is its choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

import numpy as np

from beltwright.bench.figure import Said, say
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.fitted import Fitted
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.moves import how_to_read
from beltwright.bench.findings.noted import ByKind, Case, in_time, of_part
from beltwright.mechanics.recheck import Recheck, again, once, recheck
from beltwright.plant.reading import Reading
from beltwright.units import DAY

# a job that nobody touched for so long was forgotten
FORGOTTEN: Final = timedelta(days=1)
# tension falls to its low limit within this: plan it, or keep an eye on it
SOON: Final = 31 * DAY
IN_SIGHT: Final = 183 * DAY


def laid_up(case: Case) -> list[Finding]:
    """A drive laid up for a long stop: its belts are relaxed until the return job is closed."""
    since = case.fitted.laid_up
    if since is None:
        return []
    return [Finding("laid-up", "stop and mend", "Laid up: do not start", say(
        "do not start: the belts were relaxed for a long stop on {day} and no job that brings it back is closed",
        day=since.date().isoformat()), 1.0, "",
        ("Open a job “bring back”: set the tension, align, tighten the bolts.",),
        ("grooves for rust, belts for set and cracks, seals for what nests there",), "practice", "practice", at=since)]


@dataclass(frozen=True, slots=True)
class Due:
    """A re-check that is due, whether it is overdue, and what has gone by since the belts were fitted or read [s]."""

    recheck: Recheck
    overdue: bool
    gone_by: float


def standings(cases: Sequence[Case]) -> list[list[Due]]:
    """The re-checks due on each drive, all drives in one call for each interval."""
    found: list[list[Due]] = [[] for _ in cases]
    names = dict.fromkeys(name for case in cases for name in case.choices.rechecks)
    last = [last_read(case.noted, case.fitted) for case in cases]
    hours = [case.fitted.hours(case.now) for case in cases]
    for interval in map(recheck, names):
        rows: list[tuple[int, float, float]] = []
        for at, case in enumerate(cases):
            run, reading = hours[at], last[at]
            if interval.name not in case.choices.rechecks:
                continue
            done = interval.name == "run-in" and ran_in(case.fitted)
            if interval.clock == "running" and run is not None and not done:
                # belts that nobody read since they were fitted: even the first interval is open
                rows.append((at, run, 0.0 if reading is None else case.fitted.hours(reading.taken_at) or 0.0))
            elif interval.clock == "calendar" and reading is not None:
                rows.append((at, max(0.0, (case.now - reading.taken_at).total_seconds()), 0.0))
        if not rows:
            continue
        places, gone_by, before = zip(*rows, strict=True)
        passed = np.array(gone_by)
        state = (once(passed, np.array(before), interval.low, interval.high) if interval.clock == "running"
                 else again(passed, interval.low, interval.high))
        for at, since, due, overdue in zip(places, gone_by, np.asarray(state.due).tolist(),
                                           np.asarray(state.overdue).tolist(), strict=True):
            if due:
                found[at].append(Due(interval, overdue, since))
    return found


def last_read(noted: ByKind, fitted: Fitted) -> Reading | None:
    """The last reading of tension of the belts that are on now."""
    last = None
    for kind in ("force", "frequency"):
        some = of_part(noted, fitted, kind, "belts")
        if some and (last is None or in_time(some[-1]) > in_time(last)):
            last = some[-1]
    return last


def on_due(case: Case, tension: Tension | None, standing: Sequence[Due]) -> list[Finding]:
    """Re-checks due and overdue, a tension that is running down, a job left open."""
    last = last_read(case.noted, case.fitted)
    return [*_new_belts(case, standing, last), *_season(case, standing, last), *_running_down(case, tension),
            *_open_job(case)]


def _new_belts(case: Case, standing: Sequence[Due], last: Reading | None) -> list[Finding]:
    """The last of the re-checks of new belts that has come due; the earlier ones are made with it."""
    some = [due for due in standing if due.recheck.clock == "running"]
    if not some:
        return []
    due = max(some, key=lambda due: due.recheck.low)
    urgency: Urgency = "mend at next stop" if due.overdue else "plan"
    do: tuple[Said | str, ...] = ("Read the tension of every belt and set it again.",)
    return [Finding("due-new-belts", urgency, "Belts to be set again after their first hours",
                    say("the belts have run about {hours} since they were fitted: {words}, and nobody has read them "
                        "since", hours=(due.gone_by, "time"), words=due.recheck.words), 1.0,
                    "running time taken as all day, for nobody said how many hours it runs" if case.fitted.assumed and
                    not case.fitted.clock else "", (*do, *how_to_read(case.targets, None, new=False)),
                    ("alignment and hold-down bolts after the setting",), due.recheck.source, due.recheck.trust,
                    **behind(() if last is None else (last,)))]


def _season(case: Case, standing: Sequence[Due], last: Reading | None) -> list[Finding]:
    """Looks that come round by the calendar; and a drive whose belts nobody has ever read."""
    if last is None:
        if case.fitted.hours(case.now) is not None:
            return []
        return [Finding("due-never-read", "plan", "Tension never read",
                        say("no tension of these belts is on record; about 95 in 100 troubles of belts are low "
                            "tension"), 1.0, "", ("Read the tension of every belt at the next stop and note it.",
                                                  *how_to_read(case.targets, None, new=False)), (), "practice",
                        "practice")]
    found = []
    for due in standing:
        interval = due.recheck
        if interval.clock != "calendar":
            continue
        what = "Read the tension" if interval.action == "read" else "Look it over"
        found.append(Finding(
            f"due-{interval.name.replace(' ', '-')}", "plan" if due.overdue else "watch",
            "Overdue to be read" if due.overdue else "Due to be read",
            say("read last {days} days ago: {words}", days=str((case.now.date() - last.taken_at.date()).days),
                words=interval.words), 1.0, "",
            (f"{what} at the next stop.",), (), interval.source, interval.trust, **behind((last,))))
    return found


def ran_in(fitted: Fitted) -> bool:
    """Whether a job ran these belts in: its clock is better than hours reckoned from the calendar."""
    done, since = fitted.done.get("run-in"), fitted.since.get("belts")
    return done is not None and since is not None and done >= since


def _running_down(case: Case, tension: Tension | None) -> list[Finding]:
    """The date on which the tension comes down to its low limit, with a band, from the drive's own readings."""
    if tension is None or tension.crossing is None or tension.strands is None or case.targets.set_to is None:
        return []
    crossing, share = tension.crossing, case.fitted.share
    if not 0.0 < crossing.expected < float("inf") or share <= 0.0:
        return []
    days = crossing.expected / share
    if days > IN_SIGHT:
        return []
    urgency: Urgency = "plan" if days <= SOON else "watch"

    def day(running: float) -> str:
        try:
            return (case.now + timedelta(seconds=running / share)).date().isoformat()
        except OverflowError:
            return "no end in sight"

    low = case.targets.set_to.run_in[0]
    statement = say(
        "by {count} readings since the belts were set, their tension ({mean} as read last) comes down to {low} about "
        "{expected}, not before {early}, at the latest {late}", count=str(crossing.readings),
        mean=(tension.strands.mean, "force"), low=(low, "force"), expected=day(crossing.expected),
        early=day(crossing.not_before), late=day(crossing.not_after))
    return [Finding("tension-running-down", urgency, "Tension runs down", statement,
                    0.95 if crossing.not_after < float("inf") else 0.5,
                    "running time taken as all day" if case.fitted.assumed else "",
                    ("Plan a stop to set the tension before then.",), (), "gent2012", "derived",
                    **behind(tension.strands.readings))]


def _open_job(case: Case) -> list[Finding]:
    job = case.fitted.open_job
    if job is None or case.now - job.opened_at < FORGOTTEN:
        return []
    return [Finding("job-open", "watch", "A job was left open",
                    say("the job “{kind}” was opened on {day} by {by} and is neither closed nor abandoned",
                        kind=job.kind, day=job.opened_at.date().isoformat(), by=job.opened_by), 1.0, "",
                    ("Go on with it, close it, or abandon it with the reason.",), (), "practice", "practice",
                    at=job.opened_at)]
