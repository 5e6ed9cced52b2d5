"""In whose name a call notes something: the person of the session or token, and nobody else's."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated, Final

from fastapi import Depends, Request

from beltwright.desk.people import clean_name
from beltwright.errors import InputError, Refused
from beltwright.plant.identity import now
from beltwright.web import gate
from beltwright.web.visit import Visit, station_of

# how far a phone's clock may be ahead before what it says is not believed
_AHEAD: Final = timedelta(hours=14)
_EARLIEST: Final = datetime(1950, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Caller:
    """Whose name is known; nobody's where the book is served to this computer alone, and any may be given."""

    known: str
    alone: bool

    def name(self, given: str | None) -> str:
        """The name that goes on record; `Refused` for a name that is not the caller's."""
        if self.alone:
            return clean_name(given) if given else self.known or "this computer"
        if given is not None and clean_name(given).casefold() != self.known.casefold():
            raise Refused(f"{self.known} notes in their own name: leave `by` out, or send the token of "
                          f"{clean_name(given)}")
        return self.known


def caller(request: Request) -> Caller:
    """Who calls."""
    alone = gate.door_of(request).alone
    return Caller(Visit(request, station_of(request)).person.name, alone)


def believed(moment: datetime | None) -> datetime:
    """When something was noted: now, or when the caller says, if a clock can have said so."""
    if moment is None:
        return now()
    if moment < _EARLIEST:
        raise InputError(f"{moment.isoformat()} was before there were belts like these: look at the clock")
    if moment.replace(tzinfo=UTC) - timedelta(days=1) > now() or moment > now() + _AHEAD:
        raise InputError(f"{moment.isoformat()} has not come yet: look at the clock of what sent this")
    return moment


By = Annotated[Caller, Depends(caller)]
