"""The printed record of a job, fit for an audit: laid out from `record`, as many pages as it takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, tzinfo
from typing import Final

from beltwright.bench.card import Card
from beltwright.paper.press import Paper, press
from beltwright.paper.record import record
from beltwright.plant.job import Event, Job
from beltwright.plant.reading import Reading
from beltwright.units import System

WORDS: Final = (
    "Values are as noted by the people named, limits as the drive's card gave them when the job was opened. Nothing "
    "noted was changed afterwards: what was corrected stands beside its correction.")


def record_pdf(job: Job, events: Sequence[Event], readings: Sequence[Reading], card: Card, system: System, *,
               paper: Paper = "a4", plant: str = "", zone: tzinfo = UTC) -> bytes:
    """The record of a job, ready to print.

    events:   in the order recorded; readings: those noted in this job, superseded ones too
    card:     of the drive as it was fitted when the job was opened; zone: the plant's clock
    """
    texts = {"record": asdict(record(job, events, readings, card, system, zone=zone)), "paper": paper, "plant": plant,
             "words": WORDS}
    return press("record", texts, {}, job.opened_at.astimezone(zone).date())
