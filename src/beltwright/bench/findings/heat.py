"""Findings on heat: belt, grooves, bearings and room against their limits, and what heat takes off a belt's life.

The life lost is by the belt's temperature where that was read, else by the room's: both rules say the same thing, so
never both. Heat read before the belts were last set is settled; the room's is not.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from typing import Final, cast

from beltwright.bench.figure import Put, Said, say
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.held import Tension
from beltwright.bench.findings.noted import Case
from beltwright.bench.findings.slip import Slipped, settled
from beltwright.bench.known import WHICH
from beltwright.mechanics import heat
from beltwright.mechanics.bearing_life import EXPONENTS, life_change
from beltwright.mechanics.shaft_load import bearing_loads, static_pull
from beltwright.mechanics.slip import power_lost
from beltwright.mechanics.uncertainty import instrument_uncertainty, shares
from beltwright.plant.drive import Shaft
from beltwright.plant.reading import Reading
from beltwright.tables import Trust, load

_ROOM_LIMITS: Final = "good running"
# belts this short-lived are replaced again and again: mend the cause
SHORT_LIFE: Final = 0.5


def on_heat(case: Case, tension: Tension | None, slipped: Slipped | None, set_at: datetime | None) -> list[Finding]:
    """Everything to be said of temperatures."""
    readings = _last(case, set_at)
    found: list[Finding] = []
    room = readings.get("room")
    ambient = float(room.values["temperature"]) if room is not None else case.targets.drive.room
    belt = readings.get("belt")
    if belt is not None:
        found += _belt(belt, ambient)
    if ambient is not None:
        found += _room(room, ambient, belt is not None)
    for which in WHICH:
        if (reading := readings.get(f"{which} groove")) is not None:
            found += _groove(case, which, reading, ambient, slipped)
        if (reading := readings.get(f"{which} bearing")) is not None:
            found += _bearing(case, which, reading, tension)
    return found


def _last(case: Case, set_at: datetime | None) -> Mapping[str, Reading]:
    """The last reading of each place that still stands."""
    found = {str(reading.values["where"]): reading for reading in case.of("temperature")}
    return {where: reading for where, reading in found.items() if where == "room" or not (
        settled(case, reading.taken_at, set_at) or case.fitted.before("belts", reading.taken_at))}


@cache
def limit(part: str, name: str) -> tuple[float, str, Trust]:
    """A temperature of the table [degC], its source and trust."""
    row = load("temperature_limits").where(part=part, name=name)[0]
    return cast(float, row["high_degC"]), str(row["source"]), cast(Trust, row["trust"])


@cache
def _coldest() -> float:
    return cast(float, load("temperature_limits").where(part="room", name="usable")[0]["low_degC"])


def _chance_above(reading: Reading, highest: float) -> float:
    value = float(reading.values["temperature"])
    return float(shares(value, instrument_uncertainty("infrared thermometer", value), -1e3, highest).above)


def _belt(reading: Reading, ambient: float | None) -> list[Finding]:
    value = float(reading.values["temperature"])
    good, source, trust = limit("belt", "good running")
    if value <= good:
        return []
    most, hard_source, hard_trust = limit("belt", "hard limit")
    if bool(heat.too_hot(value)):
        return [Finding("heat-belt", "stop and mend", "Belts too hot",
                        say("the belt is at {value}: standard belts do not stand more than {most}",
                            value=(value, "temperature"), most=(most, "temperature")), _chance_above(reading, most), "",
                        _COOL, _COOL_TOO, hard_source, hard_trust, **behind((reading,)))]
    left = float(heat.life_by_belt_heat(belt_temperature=value))
    urgency: Urgency = "mend at next stop" if left < SHORT_LIFE else "plan"
    return [Finding("heat-belt", urgency, "Belts hot",
                    say("the belt is at {value}, {good} is good running: belts last about {left} of what they would",
                        value=(value, "temperature"), good=(good, "temperature"), left=(left, "share", 0)),
                    _chance_above(reading, good), "", _COOL if ambient is None or value - ambient > good - limit(
                        "room", _ROOM_LIMITS)[0] else ("Bring air to the drive: the room is hot, not the belts alone.",
                                                       *_COOL), _COOL_TOO, source, trust, **behind((reading,)))]


_COOL: Final = ("Read the tension and both speeds: slip makes most of a belt's heat.", "Open the guard to air: mesh.")
_COOL_TOO: Final = ("small sheave against the smallest for the section", "number of belts against the load",
                    "heat from the machine or the sun")


def _room(reading: Reading | None, ambient: float, belt_known: bool) -> list[Finding]:
    good, _, _ = limit("room", _ROOM_LIMITS)
    if _coldest() <= ambient <= good:
        return []
    if not bool(heat.room_usable(ambient)):
        return [Finding("heat-room", "plan", "Room outside what belts stand",
                        say("the room is at {value}: outside what standard belts are made for",
                            value=(ambient, "temperature")), 0.9, "",
                        ("Ask for belts made for it, or bring air to the drive.",), ("temperature of the belts",),
                        "shepherd1992", "read", **behind(() if reading is None else (reading,)))]
    template, numbers = "the room is at {value}, belts keep cool in up to {good}", {
        "value": (ambient, "temperature"), "good": (good, "temperature")}
    if not belt_known:
        left = float(heat.life_by_room_heat(room_temperature=ambient))
        template += ": belts last about {left} of what they would"
        numbers["left"] = (left, "share")
    return [Finding("heat-room", "watch", "Hot room", say(template, **numbers), 0.9, "",
                    ("Bring air to the drive: mesh guard, a duct, a screen against radiant heat.",
                     "Keep the tension up: slip adds to it."), ("temperature of the belts",), "shepherd1992", "read",
                    **behind(() if reading is None else (reading,)))]


def _groove(case: Case, which: str, reading: Reading, ambient: float | None,
            slipped: Slipped | None) -> list[Finding]:
    value = float(reading.values["temperature"])
    most, source, trust = limit("groove", "hand can rest in it")
    if value <= most:
        return []
    template = ("the grooves of the {which} sheave are at {value}: after a stop a hand can rest in grooves of up to "
                "{most}; hotter says slip, the belts no longer wedge")
    numbers: dict[str, tuple[float, str] | str] = {"which": which, "value": (value, "temperature"),
                                                   "most": (most, "temperature")}
    rise = _rise(case, slipped)
    if rise is not None and ambient is not None:
        template += "; the slip read would warm them {low} to {high} above the room's {ambient}"
        numbers |= {"low": (rise[0], "temperature difference"), "high": (rise[1], "temperature difference"),
                    "ambient": (ambient, "temperature")}
    return [Finding(f"heat-groove-{which}", "mend at next stop", f"Grooves of the {which} sheave hot",
                    say(template, **numbers), _chance_above(reading, most), "",
                    ("Read the tension of every belt and set it.", "Gauge the grooves: worn ones no longer wedge."),
                    ("both speeds: slip", "load"), source, trust, **behind((reading,)))]


def _rise(case: Case, slipped: Slipped | None) -> tuple[float, float] | None:
    """What the slip read last should warm the sheaves and belts by [K], where their surface is known."""
    power = case.targets.fact("power")
    section, drive, length, count = (case.targets.known.section, case.targets.drive, case.targets.length,
                                     case.targets.belts)
    sizes = [case.targets.fact(f"{which}_outside") for which in WHICH]
    widths = [drive.driver.width, drive.driven.width]
    if slipped is None or not slipped.believable or slipped.slip <= 0.0 or power is None:
        return None
    if section is None or length is None or not count:
        return None
    if None in sizes or None in widths:
        return None
    area = sum(float(heat.sheave_area(size, width)) for size, width in zip(sizes, widths, strict=True)
               if size is not None and width is not None)
    area += float(heat.belts_area(length, count, section.width, section.height))
    rise = heat.expected_rise(float(power_lost(power, 1.0 - slipped.slip)), area)
    return float(rise.low), float(rise.high)


def _bearing(case: Case, which: str, reading: Reading, tension: Tension | None) -> list[Finding]:
    value = float(reading.values["temperature"])
    most, source, trust = limit("bearing", "warm")
    if value <= most:
        return []
    template = ("the {which} bearing is at {value}, more than {most}: as a rule belts too tight, or the sheave far out "
                "on its shaft")
    numbers: dict[str, tuple[float, str] | str] = {"which": which, "value": (value, "temperature"),
                                                   "most": (most, "temperature")}
    also: dict[str, Put] = {}
    do: list[Said | str] = []
    pulls = _pulls(case, tension)
    if pulls is None:
        do.append("Read the tension of every belt: whether it is too tight is not known.")
    else:
        pull, asked = pulls
        template += "; the belts as read pull {pull} on the shaft, {asked} is what they are set to at most"
        numbers |= {"pull": (pull, "force"), "asked": (asked, "force")}
        shaft: Shaft = getattr(case.targets.drive, which).shaft
        if pull > asked:
            left = float(life_change(pull / asked, EXPONENTS[shaft.bearing or "ball"]))
            do.append(say("Slacken the belts to their band: as they are the bearing lasts {left} of what it would.",
                          left=(left, "share", 0)))
        if shaft.overhang is not None and shaft.bearing_span:
            near = float(bearing_loads(pull, shaft.overhang, shaft.bearing_span).near)
            also["bearing_load"] = Put("R", "load on the near bearing from belt pull", near, "force")
    do += ["Slide the sheave nearer to the bearing if it can.", "See to the bearing: grease, play, noise."]
    return [Finding(f"heat-bearing-{which}", "mend at next stop", f"The {which} bearing hot", say(template, **numbers),
                    _chance_above(reading, most), "", tuple(do), ("alignment", "grease: too much heats as well as too "
                    "little"), source, trust, **behind((reading,)), also=also)]


def _pulls(case: Case, tension: Tension | None) -> tuple[float, float] | None:
    """Pull on the shafts at rest as read, and at the top of the band the belts are held against."""
    asks, count = case.targets.set_to, case.targets.belts
    if tension is None or tension.strands is None or tension.band is None or asks is None or not count:
        return None
    if tension.moved is not None or tension.strands.mean <= 0.0:
        return None
    pull, asked = (float(static_pull(strand, asks.wrap, count)) for strand in (tension.strands.mean, tension.band[1]))
    return pull, asked
