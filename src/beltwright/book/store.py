"""The store: a book on SQLite or PostgreSQL behind one class, with the face that the desk asks for.

Here are the connections and the transactions. Every write is one transaction that nobody else's write can enter, on
either database, so that both are one-writer stores and behave alike. What is written is on the disk when the call
returns. A store may be used by several threads. Opening one is in `opening`, the statements in `drives`, `readings`,
`jobs` and `choices`.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from datetime import datetime
from types import TracebackType
from typing import Final, Self
from uuid import UUID

from beltwright.book import choices, drives, enclosed, faults, jobs
from beltwright.book import readings as readings_table
from beltwright.book.databases import Connection, Database
from beltwright.errors import BookDamaged, BookReadOnly
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import now
from beltwright.plant.job import Event, Job
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings

# how long a thread waits for the others of its own store [s]
_PATIENCE: Final = 30.0


class Store:
    """A plant's book. Its methods are those of `desk.face.Book`; what each means is said there."""

    def __init__(self, database: Database, *, write: bool) -> None:
        self.database = database
        self.where = database.where
        self.write = write
        self._here = threading.local()
        self._idle: deque[Connection] = deque()
        self._closed = False
        self._watch: Connection | None = None
        self._watches = 0
        self._watching = threading.Lock()
        self._pen = threading.Lock()
        self._listening: list[Callable[[Collection[UUID]], None]] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, problem: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file or the server; a closed book on SQLite is one file."""
        self._closed = True
        self._close_idle()
        with self._watching:
            self._close_watch()

    # what is done in one go

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One step: nobody else writes in between, and all of it is kept or none."""
        with self.at_work():
            yield

    @contextmanager
    def looking(self) -> Iterator[None]:
        """What is read inside is the record of one moment."""
        with self.at_rest() as connection, self._in_hand(connection, writes=self._writes()):
            yield

    def check(self) -> None:
        """Read the whole book through for damage; `BookDamaged` says what was found. PostgreSQL sees to its own."""
        if self.database.path is None:
            return
        with self.at_rest() as connection:
            found = [row[0] for row in connection.ask("PRAGMA quick_check") if row[0] != "ok"]
            found += [f"{row[0]} points to nothing in {row[2]}" for row in connection.ask("PRAGMA foreign_key_check")]
        if found:
            raise faults.message(BookDamaged, self.where, found[0].replace("\n", " "))

    # what has changed

    def tell(self, listener: Callable[[Collection[UUID]], None]) -> None:
        """Call the listener with the drives that a step of this store has touched, once it is on the disk.

        What others write is seen by the mark alone.
        """
        self._listening.append(listener)

    def _touch(self, drive_ids: Iterable[UUID]) -> None:
        self._here.touched.update(drive_ids)

    def mark(self) -> str:
        """Another word whenever anybody has written to the book since: whoever keeps something in mind asks here."""
        with self._told_plainly(), self._watching:
            if not self.database.lasting:   # such a connection may not see what others write: never the same word
                self._close_watch()
            if self._watch is None:
                self._watch = Connection(self.database)
                self._watches += 1
            try:
                return f"{self._watches}.{self._watch.ask(self.database.mark)[0][0]}"
            except self.database.raises:
                self._close_watch()
                raise

    def fitted_now(self) -> dict[UUID, UUID]:
        """Each drive's id and the id of its make-up now: little to read, even of a large plant."""
        with self.at_rest() as connection:
            return drives.fitted_now(connection)

    def noted_now(self) -> dict[UUID, int]:
        """How many facts touch each drive; facts are only added, so the number tells."""
        with self.at_rest() as connection:
            return drives.noted_now(connection)

    def facts_of(self, tag: str) -> tuple[UUID, UUID, int] | None:
        """Of the drive with this tag its id, that of its make-up now, how many facts touch it; none without such one.

        What follows from the record of one drive is the same while these three are.
        """
        with self.at_rest() as connection:
            return drives.facts_of(connection, tag)

    # the plant's choices

    def settings(self) -> Settings:
        """The choices of the plant as they stand."""
        with self.at_rest() as connection:
            return choices.now(connection)

    def change_settings(self, settings: Settings, *, by: str) -> None:
        """Choose anew; the earlier choices stay on record."""
        with self.at_work() as connection:
            choices.add(connection, choices.Chosen.here(settings, by))

    # drives and what was fitted when

    def add_make_up(self, make_up: MakeUp) -> bool:
        """Note what a drive is from a day on."""
        return self.add_make_ups([make_up]) == 1

    def add_make_ups(self, make_ups: Iterable[MakeUp]) -> int:
        """Note many, all or none."""
        batch = list(make_ups)
        with self.at_work() as connection:
            self._touch(make_up.drive_id for make_up in batch)
            return drives.add(connection, batch)

    def drives(self) -> list[MakeUp]:
        """Every drive as it is now."""
        with self.at_rest() as connection:
            return drives.all_now(connection)

    def drive(self, drive_id: UUID) -> MakeUp:
        """One drive as it is now."""
        with self.at_rest() as connection:
            return drives.one_now(connection, drive_id)

    def drive_by_tag(self, tag: str) -> MakeUp:
        """The drive with this tag as people remember it."""
        with self.at_rest() as connection:
            return drives.by_tag(connection, tag)

    def drives_called(self, tags: Iterable[str]) -> list[MakeUp]:
        """The drives that have one of these tags, in no order."""
        with self.at_rest() as connection:
            return drives.called(connection, tags)

    def search(self, text: str) -> list[MakeUp]:
        """The drives with every word of the text."""
        with self.at_rest() as connection:
            return drives.search(connection, text)

    def make_ups(self, drive_id: UUID) -> list[MakeUp]:
        """What the drive was through the years."""
        with self.at_rest() as connection:
            return drives.history(connection, drive_id)

    def make_up_at(self, drive_id: UUID, when: datetime) -> MakeUp:
        """What was fitted at that time."""
        with self.at_rest() as connection:
            return drives.fitted_at(connection, drive_id, when)

    def make_ups_of_plant(self) -> Iterator[tuple[UUID, list[MakeUp]]]:
        """Each drive's make-ups, one drive at a time."""
        with self.at_rest() as connection:
            yield from drives.histories(connection)

    # readings

    def note(self, reading: Reading) -> bool:
        """Keep a reading."""
        return self.note_many([reading]) == 1

    def note_many(self, readings: Iterable[Reading]) -> int:
        """Keep many readings, all or none."""
        with self.at_work() as connection:
            return readings_table.add(connection, self._seen(readings))

    def _seen(self, readings: Iterable[Reading]) -> Iterator[Reading]:
        corrected = []
        for reading in readings:
            self._touch((reading.drive_id,))
            if reading.supersedes is not None:
                corrected.append(reading.supersedes)
            yield reading
        with self.at_rest() as connection:   # a correction noted at another machine touches the one it corrects
            self._touch(readings_table.drives_of(connection, corrected))

    def reading(self, reading_id: UUID) -> Reading:
        """One reading, also when it was superseded."""
        with self.at_rest() as connection:
            return readings_table.one(connection, reading_id)

    def readings(self, drive_id: UUID, *, kinds: Collection[str] | None = None, since: datetime | None = None,
                 superseded: bool = False) -> list[Reading]:
        """A drive's readings in the order in which they were taken."""
        with self.at_rest() as connection:
            return readings_table.of_drive(connection, drive_id, kinds, since, superseded)

    def readings_of_plant(self, *, since: datetime | None = None,
                          superseded: bool = False) -> Iterator[tuple[UUID, list[Reading]]]:
        """Each drive that has readings, one drive at a time."""
        with self.at_rest() as connection:
            yield from readings_table.of_plant(connection, since, superseded)

    def cases_of_plant(self) -> Iterator[tuple[UUID, list[Reading]]]:
        """Each drive with causes confirmed or belts failed, and those readings."""
        with self.at_rest() as connection:
            yield from readings_table.cases(connection)

    # jobs

    def open_job(self, job: Job) -> bool:
        """Put a job on record."""
        with self.at_work() as connection:
            self._touch((job.drive_id,))
            return jobs.open_job(connection, job)

    def add_event(self, event: Event) -> bool:
        """Put on record what happened to a job."""
        with self.at_work() as connection:
            new = jobs.add_event(connection, event)
            self._touch((jobs.one(connection, event.job_id).drive_id,))
            return new

    def job(self, job_id: UUID) -> Job:
        """One job."""
        with self.at_rest() as connection:
            return jobs.one(connection, job_id)

    def jobs(self, drive_id: UUID | None = None, *, open_only: bool = False) -> list[Job]:
        """The jobs of a drive, or of the plant."""
        with self.at_rest() as connection:
            return jobs.of_drive(connection, drive_id, open_only)

    def events(self, job_id: UUID) -> list[Event]:
        """What happened to a job, in the order in which it was recorded."""
        with self.at_rest() as connection:
            return jobs.events_of(connection, job_id)

    def jobs_of_plant(self) -> Iterator[tuple[UUID, list[tuple[Job, list[Event]]]]]:
        """Each drive that has jobs, one drive at a time."""
        with self.at_rest() as connection:
            yield from jobs.of_plant(connection)

    # photos and clips, by the names that readings give them

    def keep_file(self, name: str, data: bytes) -> bool:
        """Keep a photo or clip; True when it was new."""
        with self.at_work() as connection:
            return enclosed.keep(connection, name, data, now())

    def has_file(self, name: str) -> bool:
        """Whether a photo or clip of that name is here, whole."""
        with self.at_rest() as connection:
            return enclosed.has(connection, name)

    def file(self, name: str) -> bytes:
        """A photo or clip."""
        with self.at_rest() as connection:
            return enclosed.read(connection, name)

    def drop_file(self, name: str) -> bool:
        """Delete a photo or clip; True when it was here."""
        with self.at_work() as connection:
            return enclosed.drop(connection, name)

    def file_names(self) -> list[str]:
        """The name of every photo and clip."""
        with self.at_rest() as connection:
            return enclosed.names(connection)

    # facts one after the other, as they were recorded: for `transfer`

    def choices_recorded(self) -> Iterator[choices.Chosen]:
        """Every choice of the plant ever made."""
        with self.at_rest() as connection:
            yield from choices.as_recorded(connection)

    def make_ups_recorded(self) -> Iterator[MakeUp]:
        """Every make-up."""
        with self.at_rest() as connection:
            yield from drives.as_recorded(connection)

    def events_recorded(self) -> Iterator[Event]:
        """Every event of every job."""
        with self.at_rest() as connection:
            yield from jobs.as_recorded(connection)

    def add_choice(self, chosen: choices.Chosen) -> bool:
        """Put a choice made elsewhere on record."""
        with self.at_work() as connection:
            return choices.add(connection, chosen)

    # connections

    @contextmanager
    def at_work(self) -> Iterator[Connection]:
        """The connection of the step being written, for the other modules of the book."""
        with self._told_plainly():
            if self._writes():
                with self._step_within(self._here.connection):
                    yield self._here.connection
                return
            if not self.write:
                raise BookReadOnly(f"{self.where} was opened for reading only")
            with (self._pen_in_hand(),
                  self._begun(self.database.write, self.database.grow, self.database.shrink) as connection):
                self._here.touched = set()
                with self._in_hand(connection, writes=True):
                    yield connection
                connection.do("COMMIT")
            touched: set[UUID] = self._here.touched
            for listener in self._listening if touched else ():
                listener(touched)

    @contextmanager
    def _pen_in_hand(self) -> Iterator[None]:
        """One thread of this store writes at a time, the next as soon as it is done.

        The database would let them wait, too, but looks only now and then whether it is their turn, and lets some wait
        until they are refused.
        """
        mine = self._pen.acquire(timeout=_PATIENCE)   # after that the database says who holds it
        try:
            yield
        finally:
            if mine:
                self._pen.release()

    @contextmanager
    def at_rest(self) -> Iterator[Connection]:
        """A connection that sees one moment: the one in this thread's hand, or another."""
        with self._told_plainly():
            if in_hand := getattr(self._here, "connection", None):
                yield in_hand
                return
            with self._begun(self.database.look) as connection:
                yield connection
                connection.do("ROLLBACK")

    def _told_plainly(self) -> AbstractContextManager[None]:
        return faults.told_plainly(self.database)

    def _writes(self) -> bool:
        return getattr(self._here, "writes", False)

    @contextmanager
    def _in_hand(self, connection: Connection, *, writes: bool) -> Iterator[None]:
        """Let everything this thread does next go over one connection."""
        before = getattr(self._here, "connection", None), self._writes()
        self._here.connection, self._here.writes = connection, writes
        try:
            yield
        finally:
            self._here.connection, self._here.writes = before

    @contextmanager
    def _step_within(self, connection: Connection) -> Iterator[None]:
        """A step within a step: refused, it leaves nothing of itself, and the outer one goes on."""
        connection.do("SAVEPOINT step")
        try:
            yield
        except BaseException:
            with suppress(self.database.raises):   # where the outer one is lost, too, it will say so itself
                connection.do("ROLLBACK TO SAVEPOINT step")
            raise
        connection.do("RELEASE SAVEPOINT step")

    @contextmanager
    def _begun(self, begin: str, before: Sequence[str] = (), after: Sequence[str] = ()) -> Iterator[Connection]:
        """A connection of nobody else's with a transaction begun; given back when that was ended, else closed."""
        connection = self._take(begin, before)
        try:
            yield connection
        except BaseException:
            try:
                connection.do("ROLLBACK")
            except self.database.raises:   # the database has ended it itself, or is gone
                connection.close()
            else:
                self._give_back(connection, after)
            raise
        self._give_back(connection, after)

    def _take(self, begin: str, before: Sequence[str]) -> Connection:
        with suppress(IndexError):
            connection = self._idle.pop()
            try:
                for statement in (*before, begin):
                    connection.do(statement)
            except self.database.raises as problem:
                connection.close()
                if not faults.is_gone(problem):
                    raise
                self._close_idle()   # the server has been restarted: they are all gone
            else:
                return connection
        connection = Connection(self.database)
        try:
            for statement in (*before, begin):
                connection.do(statement)
        except BaseException:
            connection.close()
            raise
        return connection

    def _give_back(self, connection: Connection, after: Sequence[str]) -> None:
        if self._closed or not self.database.lasting:
            connection.close()
        else:
            for statement in after:
                connection.do(statement)
            self._idle.append(connection)

    def _close_watch(self) -> None:
        if self._watch is not None:
            self._watch.close()
            self._watch = None

    def _close_idle(self) -> None:
        with suppress(IndexError):
            while True:
                self._idle.pop().close()
