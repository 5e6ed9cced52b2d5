"""Findings on slip and load: speeds against the ratio, what slip costs, power taken against what the belts are for.

Readings from before the belts were last set, or a part was changed, say nothing of how it stands now.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Final, cast

import numpy as np
import numpy.typing as npt

from beltwright.bench.figure import Put, Said, say
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.noted import Case
from beltwright.bench.known import WHICH
from beltwright.mechanics import slip
from beltwright.mechanics.uncertainty import bound_uncertainty, instrument_uncertainty, resolution_uncertainty, shares
from beltwright.plant.reading import Reading
from beltwright.tables import load

Array = npt.NDArray[np.float64]

LIKELIER: Final = 0.5
# slip at which belts burn within hours: what a stalled or nearly stalled drive shows
BURNS: Final = 0.1
# load above the motor's plate from which it is said
OVERLOAD: Final = 1.1


@dataclass(frozen=True, slots=True)
class Slipped:
    """Slip by the speeds read last, and by those read before on the same belts and sheaves, earliest first.

    believable: false where a speed, a diameter or the section must be wrong
    over_creep, over_limit: chance that it is more than normal creep, than what asks for setting
    """

    speeds: Sequence[Reading]
    slip: float
    doubt: float
    believable: bool
    over_creep: float
    over_limit: float


def slips(cases: Sequence[Case]) -> list[Slipped | None]:
    """The slip of each drive by its speeds read last, all in one call; none where speeds or sheaves are not known."""
    found: list[Slipped | None] = [None] * len(cases)
    rows, at = [], []
    for place, case in enumerate(cases):
        facts = case.targets.known.facts
        if "speed" not in case.noted or "driver_pitch" not in facts or "driven_pitch" not in facts:
            continue
        speeds = _speeds(case)
        if not speeds:
            continue
        last = speeds[-1].values
        rows.append((float(last["driver_speed"]), float(last["driven_speed"]), facts["driver_pitch"].value,
                     facts["driven_pitch"].value, facts["driver_pitch"].spread, facts["driven_pitch"].spread,
                     float(last.get("resolution", 0.0))))
        at.append((place, speeds))
    if not rows:
        return found
    value, doubt = slip_by(*np.array(rows).T)
    over = [np.asarray(shares(value, doubt, -1e3, passed).above).tolist() for passed in (
        limit("normal", "high_pct"), limit("retension", "low_pct"))]
    true = np.asarray(slip.believable(value, doubt)).tolist()
    for (place, speeds), each, spread, holds, creep, much in zip(at, np.asarray(value).tolist(), np.asarray(
            doubt).tolist(), true, *over, strict=True):
        found[place] = Slipped(speeds, each, spread, holds, creep, much)
    return found


def slip_by(first: Array, second: Array, driver: Array, driven: Array, driver_spread: Array, driven_spread: Array,
            step: Array) -> tuple[Array, Array]:
    """Slip and its standard uncertainty by two speeds, two pitch diameters with theirs, and the finest step noted."""
    value = slip.measured_slip(first, second, driver, driven)
    # a finest step noted goes before what such instruments usually do
    own = np.hypot(resolution_uncertainty(step), bound_uncertainty(step / 2))
    doubts = [np.where(step > 0.0, own, instrument_uncertainty("optical tachometer", turn)) for turn in (first, second)]
    spread = slip.slip_spread(first, second, driver, driven, driver_rotation_uncertainty=doubts[0],
                              driven_rotation_uncertainty=doubts[1], driver_uncertainty=driver_spread,
                              driven_uncertainty=driven_spread).uncertainty
    return np.asarray(value), np.asarray(spread)


def _speeds(case: Case) -> Sequence[Reading]:
    speeds = case.of("speed", "belts")
    if not any(which in case.fitted.since for which in WHICH):
        return speeds
    return [reading for reading in speeds if not any(case.fitted.before(which, reading.taken_at) for which in WHICH)]


def on_slip(case: Case, slipped: Slipped | None, set_at: datetime | None) -> list[Finding]:
    """Everything to be said of speeds and power; `set_at`: when the tension was last read as left."""
    found: list[Finding] = []
    if "power" in case.noted:
        found += _overload(case)
    if slipped is not None and not settled(case, slipped.speeds[-1].taken_at, set_at):
        found += _slip(case, slipped)
    return found


def settled(case: Case, when: datetime, set_at: datetime | None) -> bool:
    """Whether what was read running at that moment was from before the belts were last set or the motor moved."""
    moved = case.fitted.moved_at
    return ((set_at is not None and when < set_at) or (moved is not None and when < moved)
            or case.fitted.done_since(("set-tension", "set-new", "left-tension"), when))


def _slip(case: Case, slipped: Slipped) -> list[Finding]:
    reading, found, doubt = slipped.speeds[-1], slipped.slip, slipped.doubt
    if not slipped.believable:
        return [Finding("slip-impossible", "plan", "Speeds and sheaves disagree",
                        say("by the diameters the driven shaft runs ahead of its belt by {slip} ± {doubt}, which "
                            "cannot be", slip=(-found, "share"), doubt=(2 * doubt, "share")), 0.95, "",
                        ("Read both speeds again within the same minute, with one instrument.",
                         "Measure both rims: one diameter on record is wrong, or the belts are of another section."),
                        (), "statics", "derived", **behind((reading,)))]
    much = limit("retension", "low_pct")
    if found <= limit("normal", "high_pct"):
        return []
    urgency: Urgency = ("stop and mend" if found > BURNS else "mend at next stop" if bool(slip.needs_setting(found))
                        else "watch")
    chance = slipped.over_creep if urgency == "watch" else slipped.over_limit
    template = ("the driven shaft lags {slip} ± {doubt} behind its ratio; creep is {least} to {most}, from {much} on "
                "the belts are set again")
    numbers: dict[str, tuple[float, str] | tuple[float, str, int] | str] = {
        "slip": (found, "share"), "doubt": (2 * doubt, "share"), "least": (limit("normal", "low_pct"), "share"),
        "most": (limit("normal", "high_pct"), "share"), "much": (much, "share")}
    since = _since_set(case, slipped.speeds)
    if since is not None:
        template += "; {more} more than when they were set"
        numbers["more"] = (since, "share")
    costs, words, also = _costs(case, found)
    return [Finding("slip", urgency, "Belts slip", say(template + words, **numbers, **costs), chance, "",
                    ("Read the tension of every belt and set it.", "If the tension is right: gauge the grooves, look "
                     "for oil and glaze, and hold the load against the card."),
                    ("temperature of the grooves", "both speeds read within the same minute"), "practice", "memory",
                    **behind((reading,)), also=also)]


def _since_set(case: Case, speeds: Sequence[Reading]) -> float | None:
    """How much more it slips than in the first reading after the last setting: diameters cancel."""
    first, last = speeds[0], speeds[-1]
    moved = case.fitted.moved_at
    after = [reading for reading in speeds if moved is None or reading.taken_at >= moved]
    first = after[0] if after else first
    if first.id == last.id:
        return None
    more = float(slip.slip_since(*(float(reading.values[f"{which}_speed"]) for reading in (last, first)
                                   for which in WHICH)))
    return more if more > 0.0 else None


def _costs(case: Case, found: float) -> tuple[dict[str, tuple[float, str] | str], str, dict[str, Put]]:
    """What the slip beyond creep wastes: power, energy in a year, money."""
    power = _power(case)
    beyond = found - limit("normal", "low_pct")
    if power is None or beyond <= 0.0:
        return {}, "", {}
    lost = float(slip.power_lost(power, 1.0 - beyond))
    costs: dict[str, tuple[float, str] | str] = {"lost": (lost, "power")}
    words = "; {lost} goes into heat"
    also: dict[str, Put] = {}
    if not case.fitted.assumed:
        energy = float(slip.yearly_energy(lost, 1.0, 1.0, case.fitted.share))
        costs["energy"] = (energy, "energy")
        words += ", {energy} in a year"
        price = case.choices.energy_price
        if price is not None:
            money = float(slip.money(energy, price))
            also["money_a_year"] = Put("", "money in a year", money, "number", digits=0)
            costs["money"] = f"{money:.0f} {case.choices.currency}".rstrip()
            words += ", {money}"
    return costs, words, also


def _power(case: Case) -> float | None:
    """Power the motor takes as read last, or what the machine needs, or the motor's plate."""
    read = case.of("power")
    if read:
        return float(read[-1].values["power"])
    return case.targets.fact("power")


def _overload(case: Case) -> list[Finding]:
    reading = case.of("power")[-1]
    plate = case.targets.drive.motor.power
    taken = float(reading.values["power"])
    if plate is None or taken <= OVERLOAD * plate:
        return []
    design = case.targets.set_to.design_power if case.targets.set_to is not None else None
    beyond = design is not None and taken > design
    do: tuple[Said | str, ...] = ("Find out what the machine asks for: a blocked filter, a wrong setting, a tight "
                                  "bearing.", "Size belts and motor for the load if it is to stay.")
    template = "the motor takes {taken}, its plate says {plate}"
    numbers: dict[str, tuple[float, str]] = {"taken": (taken, "power"), "plate": (plate, "power")}
    if beyond and design is not None:
        template += "; the belts are set for {design} at most"
        numbers["design"] = (design, "power")
    return [Finding("overload", "mend at next stop" if beyond else "plan", "Motor overloaded", say(template, **numbers),
                    0.9, "", do, ("slip and heat of the belts",), "practice", "practice", **behind((reading,)))]


@cache
def limit(name: str, column: str) -> float:
    """A limit of slip: `normal` or `retension`."""
    return cast(float, load("slip_limits").where(name=name)[0][column])
