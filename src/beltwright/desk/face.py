"""The face of the plant's record: what every store offers and every function of the desk may ask of it.

A store has these methods without naming this class; the desk never knows which kind it was given. Facts are only added:
writing the same fact twice changes nothing and is not an error; the same id with other content is `Refused`. What a
method takes and gives are the records of `plant`. This module knows no file and no database.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from datetime import datetime
from typing import Protocol
from uuid import UUID

from beltwright.plant.drive import MakeUp
from beltwright.plant.job import Event, Job
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings


class Book(Protocol):
    """The plant's record. Every method may raise `BookError`; those that look for one thing raise `Unknown`."""

    # what is done in one go

    def writing(self) -> AbstractContextManager[None]:
        """What is read and written inside is one step: nobody else writes in between, and all of it is kept or none.

        Each method that writes is such a step by itself. May be nested; the outermost one keeps or drops.
        """
        ...

    def looking(self) -> AbstractContextManager[None]:
        """What is read inside is the record of one moment, whoever writes meanwhile."""
        ...

    # the plant's choices

    def settings(self) -> Settings:
        """The choices of the plant as they stand."""
        ...

    def change_settings(self, settings: Settings, *, by: str) -> None:
        """Choose anew; the earlier choices stay on record."""
        ...

    # drives and what was fitted when

    def add_make_up(self, make_up: MakeUp) -> bool:
        """Note what a drive is from a day on; the first one makes the drive. True when it was new.

        A new tag is a make-up with another tag: `drive_id` is the drive, whatever it is called. Of two make-ups since
        the same moment the one written later counts. `Refused` when another drive has the tag.
        """
        ...

    def add_make_ups(self, make_ups: Iterable[MakeUp]) -> int:
        """Note many, all or none; how many were new."""
        ...

    def drives(self) -> Sequence[MakeUp]:
        """Every drive as it is now, in order of tag (`FAN-2` before `FAN-10`)."""
        ...

    def drive(self, drive_id: UUID) -> MakeUp:
        """One drive as it is now."""
        ...

    def drive_by_tag(self, tag: str) -> MakeUp:
        """The drive with this tag as people remember it (`fan12` for `FAN-12`), as it is now.

        `Unknown` says which tags look alike, or what the drive that had the tag is called now.
        """
        ...

    def drives_called(self, tags: Iterable[str]) -> Sequence[MakeUp]:
        """The drives that have one of these tags as people remember them, in no order; no word of those that are none.
        """
        ...

    def search(self, text: str) -> Sequence[MakeUp]:
        """The drives with every word of the text in tag, name, place or belt marking, in order of tag."""
        ...

    def make_ups(self, drive_id: UUID) -> Sequence[MakeUp]:
        """What the drive was through the years, earliest first; the last one is the drive as it is now."""
        ...

    def make_up_at(self, drive_id: UUID, when: datetime) -> MakeUp:
        """What was fitted at that time; before the first make-up on record, the first."""
        ...

    def make_ups_of_plant(self) -> Iterator[tuple[UUID, Sequence[MakeUp]]]:
        """Each drive's make-ups, earliest first; drives in the same order as in `readings_of_plant`."""
        ...

    # readings

    def note(self, reading: Reading) -> bool:
        """Keep a reading; on return it is on the disk. True when it was new.

        A correction names in `supersedes` the reading it replaces, of this drive or (noted at the wrong machine) of
        another; the replaced one stays on record. `Refused` when that one was corrected already.
        """
        ...

    def note_many(self, readings: Iterable[Reading]) -> int:
        """Keep many readings, all or none; how many were new."""
        ...

    def reading(self, reading_id: UUID) -> Reading:
        """One reading, also when it was superseded."""
        ...

    def readings(self, drive_id: UUID, *, kinds: Collection[str] | None = None, since: datetime | None = None,
                 superseded: bool = False) -> Sequence[Reading]:
        """A drive's readings in the order in which they were taken; superseded ones only if asked for."""
        ...

    def readings_of_plant(self, *, since: datetime | None = None,
                          superseded: bool = False) -> Iterator[tuple[UUID, Sequence[Reading]]]:
        """Each drive that has readings, with them in the order in which they were taken, one drive at a time."""
        ...

    def cases_of_plant(self) -> Iterator[tuple[UUID, Sequence[Reading]]]:
        """Each drive with readings of the kinds `cause` and `belts failed`, in time; quick in a large plant, too."""
        ...

    # jobs

    def open_job(self, job: Job) -> bool:
        """Put a job on record. True when it was new."""
        ...

    def add_event(self, event: Event) -> bool:
        """Put on record what happened to a job. True when it was new."""
        ...

    def job(self, job_id: UUID) -> Job:
        """One job."""
        ...

    def jobs(self, drive_id: UUID | None = None, *, open_only: bool = False) -> Sequence[Job]:
        """The jobs of a drive, or of the plant, as opened, earliest first; open: neither closed nor abandoned."""
        ...

    def events(self, job_id: UUID) -> Sequence[Event]:
        """What happened to a job, in the order in which it was recorded, whatever the clocks said."""
        ...

    def jobs_of_plant(self) -> Iterator[tuple[UUID, Sequence[tuple[Job, Sequence[Event]]]]]:
        """Each drive that has jobs, with them as opened and what happened to each, drives as in `readings_of_plant`.

        For judging a plant: the words of steps and events are left out, who, when and which step are there.
        """
        ...
