"""Findings on alignment: how far out of line, what to move by how much, which readings contradict, which face wobbles.

Two limits are in use and both are shown: what is acceptable, and what to aim for. Numbers come from `aligned`.
"""

from __future__ import annotations

from typing import Final

from beltwright.bench.figure import Put, Said, say, weakest
from beltwright.bench.findings.aligned import LIKELIER, Aligned, limit, wobble_allowed
from beltwright.bench.findings.finding import Finding, Urgency, behind
from beltwright.bench.findings.noted import Case
from beltwright.mechanics.alignment import CONTRADICTION
from beltwright.mechanics.misalignment import offset_at
from beltwright.mechanics.motor_feet import base_slopes, foot_moves, shims
from beltwright.tables import cite

WATCH_FROM: Final = 0.3
_STEPS: Final = ("align",)


def on_alignment(case: Case, aligned: Aligned | None) -> list[Finding]:
    """Everything to be said of the alignment of a drive."""
    stale = _not_read_since(case, aligned)
    if stale is not None:
        return [stale]
    if aligned is None or (case.fitted.moved_at is not None and aligned.at < case.fitted.moved_at):
        return []
    if aligned.why_not:
        return [Finding("alignment-unknown", "watch", "Alignment cannot be worked out",
                        say("{why}", why=aligned.why_not), None, "", (), (), "statics", "derived",
                        **behind(aligned.readings))]
    return [*_contradiction(aligned), *_out(case, aligned), *_wobbles(case, aligned)]


def _not_read_since(case: Case, aligned: Aligned | None) -> Finding | None:
    """After every change of the centre distance alignment is to be read, or aligning to be confirmed."""
    moved = case.fitted.moved_at
    if moved is None or (aligned is not None and aligned.at >= moved) or case.fitted.done_since(_STEPS, moved):
        return None
    return Finding("alignment-unread", "mend at next stop", "Not aligned since the motor was moved",
                   say("the centre distance was changed and alignment was not read since: every change of it moves the "
                       "sheaves out of line"), 1.0, "",
                   ("Lay a straightedge or string across both sheaves, two points on each rim, and again after half a "
                    "turn.",), ("hold-down bolts: they pull a motor aside when tightened",), "practice", "practice",
                   **behind(aligned.readings if aligned is not None else ()))


def _out(case: Case, aligned: Aligned) -> list[Finding]:
    allowed, aim = limit("acceptable"), limit("target")
    angle, doubt = aligned.worst
    if aligned.over_limit > LIKELIER:
        urgency: Urgency = "mend at next stop"
        sure = aligned.over_limit
        template = "out of line by {angle} ± {doubt}, more than the {limit} that is acceptable"
    elif aligned.over_target > LIKELIER:
        urgency, sure = "plan", aligned.over_target
        template = ("out of line by {angle} ± {doubt}: within the {limit} that is acceptable, beyond the {target} to "
                    "aim for")
    elif aligned.over_limit > WATCH_FROM:
        urgency, sure = "watch", aligned.over_limit
        template = ("in line by {angle}, but the readings are good to ± {doubt} only: it may be beyond the {limit} "
                    "that is acceptable")
    else:
        return []
    centre = case.targets.centre or case.targets.drive.centre or 0.0
    offset, offset_doubt = aligned.answers.get("offset", (0.0, 0.0))
    plane, plane_doubt = aligned.answers.get("angle", (0.0, 0.0))
    statement = say(
        template + "; offset {offset} ± {offset_doubt}, angle {plane} ± {plane_doubt}",
        angle=(angle, "angle", 2), doubt=(2 * doubt, "angle", 2), limit=(allowed.angle, "angle", 2),
        target=(aim.angle, "angle", 2), offset=(abs(offset), "length", 1), offset_doubt=(2 * offset_doubt, "length", 1),
        plane=(abs(plane), "angle", 2), plane_doubt=(2 * plane_doubt, "angle", 2))
    also = {"limit_offset": Put("x", "offset that alone would reach the limit",
                                float(offset_at(allowed.angle, centre)), "length"),
            "target_offset": Put("x", "offset that alone would reach the aim", float(offset_at(aim.angle, centre)),
                                 "length"),
            "acceptable": Put("", "acceptable:", f"{allowed.words} ({cite(allowed.source)})"),
            "aim": Put("", "the aim:", f"{aim.words} ({cite(aim.source)})"),
            "chance": Put("chance", "chance that it is so", sure, "share")}
    if "twist" in aligned.answers:
        twist, twist_doubt = aligned.answers["twist"]
        also["twist"] = Put("twist", "twist across the line of centres", abs(twist), "angle", digits=2)
        also["twist_doubt"] = Put("", "known to ±", 2 * twist_doubt, "angle", digits=2)
    check = ["edges of the belts and flanks of the grooves: worn on one side", "whether a shaft or the base has moved"]
    if not aligned.turned:
        check.insert(0, "the same again after half a turn: only then a crooked sheave is told from a crooked shaft")
    return [Finding("alignment-out", urgency, "Sheaves out of line", statement, None if aligned.contradicts else sure,
                    "the readings contradict each other" if aligned.contradicts else "",
                    corrections(case, aligned), tuple(check), allowed.source, weakest(allowed.trust, aim.trust)
                    if urgency == "plan" else allowed.trust, **behind(aligned.readings), also=also)]


def corrections(case: Case, aligned: Aligned) -> tuple[Said | str, ...]:
    """What a person can move, in the order that wastes no work: shims, feet, slide of a sheave, tension, read again."""
    answers = aligned.answers
    sentences: list[Said | str] = [*_feet(case, aligned)]
    offset, doubt = answers.get("offset", (0.0, 0.0))
    if abs(offset) > doubt:
        way, other = ("towards the motor", "away from it") if offset > 0 else ("away from the motor", "towards it")
        sentences.append(say("Slide the driver's sheave {offset} {way} along its shaft, or the driven one as much "
                             "{other}.", offset=(abs(offset), "length", 1), way=way, other=other))
    sentences += ["Tighten the hold-down bolts, set the tension, then read alignment once more."]
    return tuple(sentences)


def _feet(case: Case, aligned: Aligned) -> list[Said | str]:
    """Moves of the motor's feet that turn the driver's plane into the driven's and leave the centre where it is."""
    answers, drive = aligned.answers, case.targets.drive
    angle, doubt = answers.get("angle", (0.0, 0.0))
    twist, twist_doubt = answers.get("twist", (0.0, 0.0))
    if abs(angle) <= doubt and abs(twist) <= twist_doubt:
        return []
    motor, incline = drive.motor, drive.incline or 0.0
    if not (motor.foot_spread and motor.foot_width and motor.foot_reach) or drive.shafts == "vertical":
        diameter = case.targets.fact("driver_outside") or drive.driver.diameter or 0.0
        found: list[Said | str] = []
        if abs(angle) > doubt:
            found.append(say("Turn the motor on its base until its sheave lies in the other's plane: the rim next to "
                             "the driven sheave {way} by {gap} against the far rim.",
                             way="towards the motor" if angle > 0 else "away from the motor",
                             gap=(abs(angle) * diameter, "length", 1)))
        if abs(twist) > twist_doubt:
            found.append(say("Shim the motor until both sheaves stand alike: the top of the driver's rim {way} by "
                             "{gap} against its foot.", way="towards the motor" if twist > 0 else "away from the motor",
                             gap=(abs(twist) * diameter, "length", 1)))
        return found
    plan, tilt = (float(slope) for slope in base_slopes(angle, twist, incline))
    found = []
    if "twist" in answers or incline:
        front, back, _ = (float(part) for part in shims(tilt, incline, motor.foot_spread, motor.foot_reach))
        for feet, height in (("front", front), ("back", back)):
            if height > 0.0:
                found.append(say("Shim both {feet} feet of the motor by {height}.", feet=feet,
                                 height=(height, "length", 2)))
    if abs(plan) > 0.0:
        # how high the shaft stands moves the feet along the shaft only, which sliding the sheave takes care of
        moves = foot_moves(0.0, angle, twist, incline, motor.foot_spread, motor.foot_width, motor.foot_reach,
                           motor.foot_width)
        front, back = float(moves[0, 0]), float(moves[2, 0])
        found.append(say("Move the front feet {front} {front_way} the driven shaft and the back feet {back} "
                         "{back_way} it: the plane turns and the centre distance stays.",
                         front=(abs(front), "length", 1), back=(abs(back), "length", 1), front_way=_way(front),
                         back_way=_way(back)))
    return found


def _way(move: float) -> str:
    return "towards" if move > 0 else "away from"


def _contradiction(aligned: Aligned) -> list[Finding]:
    if not aligned.contradicts:
        return []
    return [Finding("alignment-contradiction", "plan", "Alignment readings contradict each other",
                    say("no two sheaves can stand so that all of these readings are right: one of them was misread, "
                        "the straightedge is bent, or a rim is damaged"), 1.0 - CONTRADICTION, "",
                    ("Read all of them again, each gap from the line to the face; turn the straightedge over.",),
                    ("rims for burrs, rust and paint where the straightedge lies",), "gum", "derived",
                    **behind(aligned.readings))]


def _wobbles(case: Case, aligned: Aligned) -> list[Finding]:
    """A sheave whose face swings more than a sound one may: crooked on its shaft, or bent."""
    found = []
    for which, sure in aligned.crooked.items():
        allowed = wobble_allowed(case, which)
        if sure <= LIKELIER or allowed is None:
            continue
        slope, _ = aligned.answers[f"{which}_wobble"]
        diameter = case.targets.fact(f"{which}_outside") or getattr(case.targets.drive, which).diameter or 0.0
        statement = say("the face of the {which} sheave swings by {swing} in a turn where {allowed} is allowed, along "
                        "the line of centres alone", which=which, swing=(abs(slope) * diameter, "length", 1),
                        allowed=(allowed * diameter, "length", 1))
        found.append(Finding(
            f"sheave-crooked-{which}", "plan", f"The {which} sheave sits crooked", statement, sure, "",
            ("Read its run-out by dial gauge over a full turn.", "Take it off, clean bore, key and taper, put it on "
             "again and tighten evenly; replace it if it is bent."), ("shaft bent",), "ip20-1988", "memory",
            **behind(aligned.readings)))
    return found
