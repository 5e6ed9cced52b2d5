"""Commands for listening: a clip of a plucked span heard, all clips judged again, clips themselves, a phone checked."""

from __future__ import annotations

import os
from pathlib import Path

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, by_option, json_option, opened, units, units_option, write_file

_STATES = ("as found", "as left", "in between")


@click.command(short_help="Tension of a belt from the sound of its plucked span.")
@click.argument("clip", type=click.Path(path_type=Path))
@click.option("--drive", "tag", metavar="TAG", help="Whose belt it is; without it only the note is told.")
@click.option("--belt", type=int, metavar="NUMBER", help="Which belt, counted from the motor side.")
@click.option("--span", metavar="LENGTH", help="Free span, if you measured it, such as '640 mm'.")
@click.option("--mass", metavar="MASS",
              help="Mass per length of one strand, if you weighed it, such as '0.18 kg/m'; of a joined band the whole "
                   "band's, divided by its belts.")
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Write the picture there.")
@click.option("--png", type=click.Path(path_type=Path), metavar="FILE", help="Write the picture there.")
@click.option("--note", "noting", is_flag=True, help="Keep it as a reading, with its clip.")
@click.option("--state", type=click.Choice(_STATES), default="as found", show_default=True, help="When it was taken.")
@click.option("--at", metavar="TIME", help="Day and time, such as 2026-11-25 14:30.  [default: now]")
@click.option("--job", metavar="JOB", help="The job it belongs to: its id, or the tag for the one open there.")
@book_option
@by_option
@units_option
@json_option
def listen(clip: Path, tag: str | None, belt: int | None, span: str | None, mass: str | None, svg: Path | None,
           png: Path | None, noting: bool, state: str, at: str | None, job: str | None, where: str, by: str,
           system: str | None, as_json: bool) -> None:
    """Hear CLIP, a recording of a plucked span, and say what it pulls.

    Lock out first. Turn the drive a few revolutions by hand, so that both spans
    pull alike, then pluck one span three times, a second apart, with the phone
    10 to 20 cm away:

        beltwright listen clip.m4a --drive FAN-12 --belt 2

    Where the ear is not sure it says so, and what to do; then nothing is noted.
    """
    if tag is None:
        if noting or belt is not None or job is not None:
            raise click.UsageError("--note, --belt and --job need --drive")
        _of_no_drive(clip, span, mass, svg, png, as_json)
        return
    from beltwright.book.enclosed import name_of
    from beltwright.cli.listen_text import content, heard_lines, picture_lines, plucked_lines
    from beltwright.cli.readings import moment
    from beltwright.desk import jobs
    from beltwright.desk.plucking import hear_belt, keep
    from beltwright.paper.as_json import printed
    from beltwright.plant.identity import now

    with opened(where, write=noting) as book:
        shown = units(system, book.settings())
        heard = hear_belt(book, tag, clip, belt=belt, state=state, at=moment(at) or now(),
                          span=_measured(span, "length"), mass=_measured(mass, "mass per length"))
        noted = None
        if noting and heard.answered:
            data = clip.read_bytes()
            name = name_of(data)
            book.keep_file(name, data)
            noted = keep(book, heard, name, by=by, job_id=jobs.find_job(book, job).id if job else None)
    listened, meant = heard.listened, heard.plucked
    right = None if meant is None else meant.notes
    said = "" if meant is None else meant.statement().text(shown)
    if as_json:
        screen.show(printed(content(listened, meant, heard.make_up.drive.tag, "" if noted is None else str(noted.id))))
    else:
        width, signs = min(screen.width(), 80), screen.signs()
        screen.show([f"{heard.make_up.drive.tag}  {heard.make_up.drive.name}", ""])
        screen.show(plucked_lines(meant, shown, width, signs) if meant else [])
        screen.show([*heard_lines(listened, width, signs), "", *picture_lines(listened, right, width, signs)])
    _write(listened, right, said, svg, png)
    if noting and not as_json:
        from beltwright.cli.reading_text import reading_line

        screen.show(["", f"noted: {heard.make_up.drive.tag}, {reading_line(noted, shown)}" if noted else
                     "nothing was noted"])


def _of_no_drive(clip: Path, span: str | None, mass: str | None, svg: Path | None, png: Path | None,
                 as_json: bool) -> None:
    from beltwright.cli.listen_text import content, heard_lines, picture_lines
    from beltwright.desk.listen import listen as hear
    from beltwright.paper.as_json import named, printed
    from beltwright.units import show

    listened = hear(clip)
    free, weight = _measured(span, "length"), _measured(mass, "mass per length")
    tension = None
    if free is not None and weight is not None and listened.answered and listened.heard.frequency is not None:
        from beltwright.mechanics.frequency import tension_from_frequency

        tension = float(tension_from_frequency(listened.heard.frequency, free, weight))
    if as_json:
        screen.show(printed(content(listened, None) | ({} if tension is None else named("tension", tension, "force"))))
    else:
        width, signs = min(screen.width(), 80), screen.signs()
        screen.show([*heard_lines(listened, width, signs), *([] if tension is None else [
            f"  As a plain string, {show(tension, 'force', 'si')} in each strand."]), "",
            *picture_lines(listened, None, width, signs)])
    _write(listened, None, "", svg, png)


def _measured(text: str | None, kind: str) -> float | None:
    from beltwright.units import parse

    return None if text is None else parse(text, kind)


def _write(listened: object, right: tuple[float, float] | None, said: str, svg: Path | None, png: Path | None) -> None:
    if svg is None and png is None:
        return
    from beltwright.desk.listen import Listened
    from beltwright.paper.listening import as_png, picture

    assert isinstance(listened, Listened)
    drawn = picture(listened, right, sentence=said)
    if svg is not None:
        write_file(svg, drawn.encode())
        screen.note(f"{svg}: the picture")
    if png is not None:
        write_file(png, as_png(drawn))
        screen.note(f"{png}: the picture")


@click.command(short_help="Judge every clip of the book again.")
@click.argument("tag", required=False)
@click.option("--take-over", "taking", is_flag=True, help="Put the readings right that changed; the old ones stay.")
@click.option("--reason", default="", metavar="TEXT", help="Why, for the record.  [default: the method's name]")
@click.option("--workers", type=click.IntRange(1, 64), metavar="NUMBER",
              help="Processes to use.  [default: one for each core]")
@book_option
@by_option
@json_option
def rejudge(tag: str | None, taking: bool, reason: str, workers: int | None, where: str, by: str,
            as_json: bool) -> None:
    """Hear every clip of the book again, or those of the drive TAG, and show what would change.

    Nothing changes unless --take-over is given: then readings whose clip says another note are put right,
    and the old ones stay on record. A clip the ear is not sure of any more changes nothing by itself.
    """
    from beltwright.cli.listen_text import judged_lines
    from beltwright.desk.kept_clips import judge_again, take_over
    from beltwright.paper.as_json import printed
    from beltwright.plant.identity import now

    with opened(where, write=taking) as book:
        judged = judge_again(book, tag, workers=workers or os.cpu_count() or 1)
        made = take_over(book, judged, by=by, at=now(), reason=reason) if taking else []
    if as_json:
        screen.show(printed([{"tag": each.clip.tag, "reading": str(each.reading.id), "clip": each.clip.name,
                              "was_hz": each.reading.values.get("frequency"), "became": each.became,
                              "says": each.words} for each in judged]))
        return
    screen.show(judged_lines(judged, screen.width(), screen.signs()))
    screen.show(["", f"Put right: {len(made)}; the old readings stay on record." if taking else
                 "Nothing was changed. To put right what says another note: beltwright rejudge --take-over"])


@click.group(short_help="The clips of readings: listed, handed out, deleted.")
def clips() -> None:
    """The clips that readings have: listed, written out as files, deleted."""


@clips.command("list", short_help="Which readings have a clip.")
@click.argument("tag", required=False)
@book_option
@json_option
def clips_list(tag: str | None, where: str, as_json: bool) -> None:
    """The clips of the plant, or of the drive TAG, with the reading each belongs to."""
    from beltwright.cli.listen_text import clips_lines
    from beltwright.desk.kept_clips import clips as kept
    from beltwright.paper.as_json import printed

    with opened(where) as book:
        found = kept(book, tag)
    if as_json:
        screen.show(printed([{"tag": clip.tag, "reading": str(clip.reading.id) if clip.reading else None,
                              "clip": clip.name, "here": clip.here, "deleted": clip.deleted} for clip in found]))
        return
    screen.show(clips_lines(found, screen.width(), screen.signs()))


@clips.command("out", short_help="Write clips as files.")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.argument("tag", required=False)
@book_option
def clips_out(folder: Path, tag: str | None, where: str) -> None:
    """Write the clips of the plant, or of the drive TAG, into FOLDER, named by drive, day and belt."""
    from beltwright.desk.kept_clips import clips as kept

    folder.mkdir(parents=True, exist_ok=True)
    with opened(where) as book:
        found = [clip for clip in kept(book, tag) if clip.here]
        for clip in found:
            plain = "".join(sign if sign.isalnum() else "-" for sign in clip.tag)
            about = "of-no-reading" if clip.reading is None else (
                f"{plain}_{clip.reading.taken_at:%Y-%m-%d_%H%M}_belt{clip.reading.values.get('belt', '')}")
            write_file(folder / f"{about}_{clip.name[:8]}.{clip.name.rpartition('.')[2]}", book.file(clip.name))
    screen.show([f"{folder}: {len(found)} clip{'' if len(found) == 1 else 's'}."])


@clips.command("delete", short_help="Delete a clip; its reading stays.")
@click.argument("name")
@click.option("--reason", required=True, metavar="TEXT", help="Why it is deleted.")
@book_option
@by_option
def clips_delete(name: str, reason: str, where: str, by: str) -> None:
    """Delete the clip NAME, or the one whose name begins so. Its reading stays and says who deleted it and why."""
    from beltwright.desk.kept_clips import delete_clip, find_clip
    from beltwright.plant.identity import now

    with opened(where, write=True) as book:
        clip = find_clip(book, name)
        held = delete_clip(book, clip.name, by=by, why=reason, at=now())
    screen.show([f"deleted: {clip.name[:12]}, " + (
        f"the clip of {len(held)} reading{'' if len(held) == 1 else 's'} at {clip.tag}; what was heard in it stays"
        if held else "a clip of no reading")])


@click.command("phone-check", short_help="Whether a phone may be relied on, by known tensions.")
@click.argument("clips", nargs=-1, required=True, metavar="CLIP=TENSION...")
@click.option("--span", required=True, metavar="LENGTH", help="Length that swings, such as '700 mm'.")
@click.option("--mass", required=True, metavar="MASS", help="Mass per length of the belt, such as '0.19 kg/m'.")
@click.option("--span-doubt", default="1 mm", show_default=True, metavar="LENGTH", help="How well the span is known.")
@click.option("--mass-doubt", default="1 %", show_default=True, metavar="SHARE", help="How well the mass is known.")
@click.option("--tension-doubt", default="0.5 %", show_default=True, metavar="SHARE",
              help="How well the tensions are known: 0.5 % for a weight, 3 % and more for a force gauge.")
@json_option
def phone_check(clips: tuple[str, ...], span: str, mass: str, span_doubt: str, mass_doubt: str, tension_doubt: str,
                as_json: bool) -> None:
    """Judge a phone by clips of a span under known tensions, five or more.

    A hung weight is a tension in kg, a force gauge tells it in N or lbf:

        beltwright phone-check a.m4a='15 kg' b.m4a='20 kg' c.m4a='25 kg' \\
            d.m4a='30 kg' e.m4a='40 kg' --span '700 mm' --mass '0.19 kg/m'

    How to do it: docs/how-to/check-a-phone.md, or the page /phone-check.
    Leaves with code 4 when the phone has not passed.
    """
    from beltwright.cli.listen_text import check_lines
    from beltwright.desk.phone_check import Known, check_phone
    from beltwright.errors import InputError
    from beltwright.paper.as_json import printed
    from beltwright.units import parse

    known, names = [], []
    for each in clips:
        name, equals, tension = each.rpartition("=")
        if not equals or not name:
            raise InputError(f"{each!r}: give each clip with its tension, such as a.m4a='15 kg'")
        known.append(Known(Path(name), parse(tension, "force")))
        names.append(Path(name).name)
    weight = parse(mass, "mass per length")
    check = check_phone(known, span=parse(span, "length"), mass=weight, span_doubt=parse(span_doubt, "length"),
                        mass_doubt=weight * parse(mass_doubt, "share"), tension_doubt=parse(tension_doubt, "share"))
    if as_json:
        screen.show(printed({"passed": check.passed, "sentence": check.sentence, "bias": check.bias,
                             "worst": check.worst, "doubt": check.doubt, "clips": [
                                 {"clip": name, "expected_hz": note, "heard_hz": heard.heard.frequency,
                                  "answered": heard.answered} for name, heard, note in zip(
                                      names, check.heard, check.expected, strict=True)]}))
    else:
        screen.show(check_lines(names, check, screen.width(), screen.signs()))
    if not check.passed:
        raise click.exceptions.Exit(4)
