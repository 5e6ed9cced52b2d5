"""Whether a drive is adequate as it was built: enough belts, sheaves large enough, rims slow enough, room cool enough.

Each verdict says the number, its limit and what follows; where a published figure is missing it says “not judged”.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from beltwright.bench import whip
from beltwright.bench.figure import Said, say
from beltwright.bench.findings.targets import targets_of
from beltwright.bench.known import WHICH
from beltwright.bench.worked import Worked, value
from beltwright.errors import BeltwrightError
from beltwright.mechanics import heat, sheaves
from beltwright.mechanics.sheave_limits import greatest_rotation, motor_sheave, rim_limit, rim_speed, rim_within
from beltwright.mechanics.takeup import allowances
from beltwright.mechanics.whip_shaken import margin_limits
from beltwright.plant.drive import Sheave
from beltwright.tables import Trust, load

Answer = Literal["danger", "short", "note", "good", "not judged"]
ORDER: Final[tuple[Answer, ...]] = ("danger", "short", "note", "not judged", "good")
# wrap below which a drive is asked to be looked at: lecture-notes' guide, 120 degrees
LEAST_WRAP: Final = 2.0943951023931953
# a span this many times its centre guide is long: whips and turns over (common practice: joined belts)
LONG_CENTRE: Final = 3.0


@dataclass(frozen=True, slots=True)
class Verdict:
    """One judgement on a drive's build: the answer, the statement, what to do, source and trust."""

    key: str
    answer: Answer
    title: str
    statement: Said
    do: str = ""
    source: str = "practice"
    trust: Trust = "practice"


def verdicts(worked: Worked) -> tuple[Verdict, ...]:
    """Every verdict that can be given, the gravest first."""
    checks: tuple[Callable[[Worked], list[Verdict]], ...] = (
        _rims, _belts, _smallest, _motor, _wrap, _long_span, _whip, _room, _grooves, _base)
    found = [verdict for check in checks for verdict in check(worked)]
    return tuple(sorted(found, key=lambda verdict: ORDER.index(verdict.answer)))


def overall(found: tuple[Verdict, ...]) -> Answer:
    """The drive in one word: the gravest verdict; “not judged” only where nothing graver stands."""
    return next((verdict.answer for verdict in found), "not judged")


def _rims(worked: Worked) -> list[Verdict]:
    known, found = worked.known, []
    for which in WHICH:
        sheave: Sheave = getattr(known.drive, which)
        if not {f"{which}_outside", f"{which}_rotation"} <= known.facts.keys():
            continue
        if sheave.material is None:
            found.append(Verdict(f"rim_{which}", "not judged", f"Rim of the {which} sheave",
                                 say("its material is not known"), "read the material or the speed stamped on it"))
            continue
        outside, turn = known.value(f"{which}_outside"), known.value(f"{which}_rotation")
        limit, speed = rim_limit(sheave.material), float(rim_speed(outside, turn))
        good = bool(rim_within(outside, turn, sheave.material))
        most = float(greatest_rotation(outside, sheave.material))
        found.append(Verdict(
            f"rim_{which}", "good" if good else "danger", f"Rim of the {which} sheave",
            say("{speed} at the rim, {material} bears {limit}, that is {most}", speed=(speed, "speed"),
                material=sheave.material, limit=(limit.speed, "speed"), most=(most, "rotation")),
            "" if good else "stop it until a sheave of stronger material or a smaller one is on: rims burst",
            limit.source, limit.trust))
    return found


def _belts(worked: Worked) -> list[Verdict]:
    enough, count = worked.adequacy, worked.known.drive.belts.count
    if enough is None or count is None:
        return [Verdict("belts", "not judged", "Number of belts",
                        say("{why}", why=worked.why.get("rating") or worked.why.get("set_to", "not enough is known")))]
    needed, reached = value(enough.to_fit), value(enough.service_factor_reached)
    numbers = say("{needed} needed, {count} fitted; service factor {reached} reached, {wanted} wanted",
                  needed=(needed, "number", 0), count=str(count), reached=(reached, "number", 2),
                  wanted=(worked.service_factor or 1.0, "number", 2))
    source = {"own table": "practice", "ip20": "ip20-1988", "ip22": "ip22"}[worked.rated_by]
    if count >= needed:
        return [Verdict("belts", "good", "Number of belts", numbers, "", source, worked.rated_trust)]
    empty = min((sheave.grooves for sheave in (worked.known.drive.driver, worked.known.drive.driven)
                 if sheave.grooves is not None), default=0) - count
    do = (f"fit a full set of {needed:.0f}: the grooves are there" if count + empty >= needed and empty > 0
          else "a better section, larger sheaves or more grooves; until then expect short belt life")
    return [Verdict("belts", "short", "Number of belts", numbers, do, source, worked.rated_trust)]


def _smallest(worked: Worked) -> list[Verdict]:
    known, found = worked.known, []
    section = known.section
    if section is None:
        return []
    for which in WHICH:
        if f"{which}_geometry" not in known:
            continue
        args = (known.value(f"{which}_geometry"), section.system.diameter_as, section.name, section.standard)
        if not bool(sheaves.meets_smallest(*args)):
            found.append(Verdict(
                f"smallest_{which}", "short", f"Size of the {which} sheave",
                say("below the smallest for section {section}, {least} {kind} diameter", section=section.name,
                    least=(section.smallest, "length", 0), kind=section.smallest_as),
                "cogged belts bear a smaller sheave; better a larger pair of the same ratio", section.smallest_source,
                section.smallest_trust))
    return found


def _motor(worked: Worked) -> list[Verdict]:
    known, motor = worked.known, worked.known.drive.motor
    if not motor.frame or motor.power is None or motor.speed is None or known.section is None:
        return []
    try:
        row = motor_sheave(motor.frame, motor.power, motor.speed)
    except BeltwrightError as error:
        return [Verdict("motor_sheave", "not judged", "Sheave on the motor frame", say("{why}", why=str(error)))]
    classical = known.section.system.diameter_as == "datum"
    least, kind = (row.classical_diameter, "pitch") if classical else (row.narrow_outside, "outside")
    if least is None or f"driver_{kind}" not in known:
        return []
    have = known.value(f"driver_{kind}")
    good = have >= least - 1e-4
    return [Verdict("motor_sheave", "good" if good else "short", "Sheave on the motor frame",
                    say("{have} {kind} diameter, frame {frame} asks for {least}", have=(have, "length", 0), kind=kind,
                        frame=row.frame, least=(least, "length", 0)),
                    "" if good else "a larger sheave: this one overloads the motor's shaft and bearings", row.source,
                    row.trust)]


def _wrap(worked: Worked) -> list[Verdict]:
    if worked.shape is None:
        return []
    least = min(value(worked.shape.driver_wrap), value(worked.shape.driven_wrap))
    if least >= LEAST_WRAP:
        return []
    return [Verdict("wrap", "note", "Wrap on the small sheave",
                    say("{wrap}, where {least} is the guide", wrap=(least, "angle", 0), least=(LEAST_WRAP, "angle", 0)),
                    "slips early: keep the tension up, or give it a longer centre distance", "lecture-notes", "read")]


def _long_span(worked: Worked) -> list[Verdict]:
    known = worked.known
    if worked.shape is None or known.drive.belts.joined:
        return []
    guide = LONG_CENTRE * (known.value("driver_geometry") + known.value("driven_geometry"))
    centre = value(worked.shape.centre)
    if centre <= guide:
        return []
    return [Verdict("long_span", "note", "Long span",
                    say("centre distance {centre}, where the usual guide ends at {guide}", centre=(centre, "length"),
                        guide=(guide, "length")),
                    "single belts may whip, turn over or jump off: joined belts hold together", "lecture-notes",
                    "read")]


def _whip(worked: Worked) -> list[Verdict]:
    """Worth a look only where no tension in the band helps: what is near at one tension is put right by another."""
    targets = targets_of(worked)
    if not whip.whippable(targets):
        return []
    setup = whip.setup_of([targets])
    if not whip.runs(setup, setup.low)[0]:
        return []
    window = whip.clear_tensions(setup, margin_limits().near)
    if np.any(window.high > window.low):
        return []
    ends = [whip.notes_at(setup, tension)[0] for tension in (setup.low, setup.high)]
    limits = load("whip_margins")
    statement = say("at no tension of the run-in band are both running spans (slack side {slack_low} to {slack_high}, "
                    "tight side {tight_low} to {tight_high}) away from what shakes them",
                    **{f"{side}_{end}": (float(notes[place]), "frequency")
                       for end, notes in zip(("low", "high"), ends, strict=True)
                       for side, place in (("slack", whip.SLACK), ("tight", whip.TIGHT))})
    return [Verdict("whip", "note", "Span near a resonance", statement,
                    "if it flaps: its whip page says what helps and by how much", limits.source[0], limits.trust)]


def _room(worked: Worked) -> list[Verdict]:
    room = worked.known.drive.room
    if room is None:
        return []
    if not bool(heat.room_usable(room)):
        return [Verdict("room", "short", "Room", say("{room} is outside what standard belts bear",
                                                    room=(room, "temperature")),
                        "ask for belts made for it, or bring air to the drive", "shepherd1992", "read")]
    left = float(heat.life_by_room_heat(room_temperature=room))
    if left >= 1.0:
        return []
    return [Verdict("room", "note", "Hot room",
                    say("{room}: belts last about {left} of what they would in a cooler room",
                        room=(room, "temperature"), left=(left, "share", 0)),
                    "open the guard to air (mesh), keep them tight: slip adds heat", "shepherd1992", "read")]


def _grooves(worked: Worked) -> list[Verdict]:
    drive, count = worked.known.drive, worked.known.drive.belts.count
    counted = [sheave.grooves for sheave in (drive.driver, drive.driven) if sheave.grooves is not None]
    grooves = min(counted, default=None)
    if count is None or grooves is None or grooves <= count:
        return []
    return [Verdict("empty_grooves", "note", "Empty grooves",
                    say("{count} belts in {grooves} grooves", count=str(count), grooves=str(grooves)),
                    "find out whether belts are missing; the set-to numbers are for the belts that are on")]


def _base(worked: Worked) -> list[Verdict]:
    """The travel of the base against what laying belts in and tightening them ask for."""
    known = worked.known
    drive, section = known.drive, known.section
    if drive.base == "fixed":
        return [Verdict("base", "note", "Fixed base", say("the motor cannot be moved"),
                        "lay belts in by taking a sheave off its shaft, never by prying; tighten by an idler inside "
                        "the slack span")]
    if section is None or "length" not in known:
        return []
    try:
        rules = allowances(known.value("length"), section.system.length_as, section.name, section.standard).rules
    except BeltwrightError:
        return []
    found = []
    travels = (("slack_off", drive.slack_off, "to lay belts in"), ("take_up", drive.take_up, "to tighten"))
    for key, have, what in travels:
        if have is None:
            continue
        # the rules differ by half: short is what none of them calls enough
        asked = sorted(rules, key=lambda rule: value(getattr(rule, key)))
        least, most = (value(getattr(rule, key)) for rule in (asked[0], asked[-1]))
        good = have >= least
        found.append(Verdict(
            f"base_{key}", "good" if good else "short", f"Travel of the base {what}",
            say("{have} there; the published rules ask for {least} to {most}", have=(have, "length"),
                least=(least, "length"), most=(most, "length")),
            "" if good else "make room on the rails: belts that do not go in by hand get pried" if key == "slack_off"
            else "make room on the rails: a belt that grows comes to their end before it is worn",
            asked[0].source, asked[0].trust))
    return found
