"""Commands for the book itself: start one, its choices, backup, check, export and import."""

from __future__ import annotations

from pathlib import Path

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, by_option, json_option, opened

_PRICE = "Price of energy per kWh, such as 0.14."


@click.command(short_help="Start a new book for a plant.")
@click.argument("plant")
@click.option("--units", "system", type=click.Choice(("si", "inch")), default="si", show_default=True,
              help="Units people see unless they ask for others.")
@book_option
@by_option
def new(plant: str, system: str, where: str, by: str) -> None:
    """Start a new book for the plant called PLANT.

    What is at that place already is never touched.
    """
    from beltwright.book.opening import create_book
    from beltwright.errors import InputError
    from beltwright.plant.settings import Settings

    if not plant.strip():
        raise InputError("the plant needs a name")
    create_book(where, Settings(plant.strip(), "inch" if system == "inch" else "si"), by=by).close()
    screen.show([f"{where}: a new book for {plant.strip()}, in {_WORDS[system]} units."])


_WORDS = {"si": "SI", "inch": "inch-pound"}


@click.command(short_help="Show or change the plant's choices.")
@click.option("--plant", metavar="NAME", help="Name of the plant.")
@click.option("--units", "system", type=click.Choice(("si", "inch")), help="Units people see.")
@click.option("--energy-price", "price", metavar="PRICE", help=_PRICE)
@click.option("--work-price", "work", metavar="PRICE", help="What an hour of work costs, such as 45; '' for not said.")
@click.option("--belt-price", "belt", metavar="PRICE", help="What one belt costs, as a rule; '' for not said.")
@click.option("--currency", metavar="TEXT", help="How money is written, such as EUR or $.")
@book_option
@by_option
@json_option
def settings(plant: str | None, system: str | None, price: str | None, work: str | None, belt: str | None,
             currency: str | None, where: str, by: str, as_json: bool) -> None:
    """Show the plant's choices; with options, change them first.

    Earlier choices stay on record.
    """
    from dataclasses import replace

    from beltwright import units
    from beltwright.desk.prices import PRICE_OF_A_BELT, PRICE_OF_WORK, with_price
    from beltwright.paper.as_json import printed

    given: dict[str, object] = {"plant": plant, "system": system, "currency": currency}
    changes = {name: value for name, value in given.items() if value is not None}
    if price is not None:
        changes["energy_price"] = units.parse(price, "price of energy", default="1/kWh")
    paid = {name: typed for name, typed in ((PRICE_OF_WORK, work), (PRICE_OF_A_BELT, belt)) if typed is not None}
    with opened(where, write=bool(changes or paid)) as book:
        found = book.settings()
        if changes or paid:
            found = replace(found, **changes)  # type: ignore[arg-type]
            for name, typed in paid.items():
                found = with_price(found, name, typed)
            book.change_settings(found, by=by)
    work, belt = (found.defaults.get(name, "") for name in (PRICE_OF_WORK, PRICE_OF_A_BELT))
    if as_json:
        screen.show(printed({"plant": found.plant, "units": found.system, "currency": found.currency,
                             "energy_price_per_kwh": None if found.energy_price is None else units.from_si(
                                 found.energy_price, "1/kWh", "price of energy"),
                             "work_price_per_h": work or None, "belt_price": belt or None}))
        return
    shown = ("not set" if found.energy_price is None else
             f"{units.from_si(found.energy_price, '1/kWh', 'price of energy'):.3f} {found.currency}".strip() + " / kWh")
    screen.show([f"plant         {found.plant}", f"units         {_WORDS[found.system]}",
                 f"energy price  {shown}",
                 f"work price    {f'{work} {found.currency}'.strip() + ' / h' if work else 'not set'}",
                 f"belt price    {f'{belt} {found.currency}'.strip() if belt else 'not set'}",
                 f"currency      {found.currency or 'not set'}"])


@click.command(short_help="Copy the book, whole, while others go on.")
@click.argument("to", type=click.Path(path_type=Path), required=False)
@book_option
def backup(to: Path | None, where: str) -> None:
    """Copy the book to the file TO, whole and consistent while others go on writing.

    Without TO the copy lies beside the book, the day in its name. A file that is there is never written over.
    """
    from datetime import date

    from beltwright.book.opening import back_up

    with opened(where) as book:
        if to is None:
            path = Path(where)
            to = path.with_name(f"{path.stem}-{date.today().isoformat()}{path.suffix}")
        back_up(book, to)
    screen.show([f"{to}: a copy of {where}. To use it, put it in the place of the book."])


@click.command(short_help="Read the whole book through for damage.")
@book_option
def check(where: str) -> None:
    """Read the whole book through for damage."""
    with opened(where) as book, book.looking():
        book.check()
        drives = len(book.drives())
        readings = sum(len(some) for _, some in book.readings_of_plant(superseded=True))
        jobs, still_open = len(book.jobs()), len(book.jobs(open_only=True))
    screen.show([f"{where} is sound: {count(drives, 'drive')}, {count(readings, 'reading')}, {count(jobs, 'job')} "
                 f"({still_open} open)."])


def count(number: int, word: str) -> str:
    """A number of things in words."""
    return f"{number or 'no'} {word}{'' if number == 1 else 's'}"


@click.command(short_help="Who changed what, the latest first.")
@click.option("--most", type=click.IntRange(1, 10_000), default=50, show_default=True, metavar="N",
              help="How many lines at most.")
@json_option
@book_option
def changes(most: int, as_json: bool, where: str) -> None:
    """Who changed what: choices, drives, corrections, jobs opened and ended, people.

    Readings just noted and steps of jobs are no changes: see `history` and `job show`.
    """
    from beltwright.book.changes import latest
    from beltwright.cli.table import Column, table
    from beltwright.paper.as_json import printed

    with opened(where) as book:
        found = latest(book, most=most)
    if as_json:
        screen.show(printed([{"at": change.at.isoformat(), "by": change.by, "what": change.what, "about": change.about,
                              "detail": change.detail} for change in found]))
        return
    screen.show(table((Column("UTC"), Column("who"), Column("what", least=10), Column("of"), Column("", least=12)),
                      [(f"{change.at:%Y-%m-%d %H:%M}", change.by, change.what, change.about, change.detail)
                       for change in found], width=screen.width(), signs=screen.signs()))


@click.command(short_help="Write every fact of the book as lines of JSON.")
@click.argument("to", type=click.Path(path_type=Path), required=False)
@book_option
def export(to: Path | None, where: str) -> None:
    """Write every fact of the book as lines of JSON, SI values, to the file TO or to the screen."""
    import sys

    from beltwright.book.transfer import export as export_book
    from beltwright.cli.options import written

    with opened(where) as book:
        if to is None:
            export_book(book, sys.stdout)
            return
        # line by line: a book may hold more photos than a computer has memory
        with written(to) as half, half.open("w", encoding="utf-8") as out:
            facts = export_book(book, out)
    screen.show([f"{to}: {count(facts, 'fact')} of {where}."])


@click.command(short_help="Take in what another book exported.")
@click.argument("file", type=click.Path(path_type=Path))
@book_option
def import_book(file: Path, where: str) -> None:
    """Take the facts of an export in: what is not in the book yet is added, nothing else is changed."""
    from beltwright.book.transfer import take_in
    from beltwright.errors import InputError

    try:
        lines = file.open(encoding="utf-8")
    except OSError as problem:
        raise InputError(f"{file} could not be read: {problem.strerror}") from problem
    with lines, opened(where, write=True) as book:
        try:
            new_ones = take_in(book, lines)
        except UnicodeDecodeError:
            raise InputError(f"{file} is not a text file: an export is lines of JSON in UTF-8") from None
    what = ", ".join(count(number, word) for word, number in new_ones.items()) or "nothing new"
    screen.show([f"{where}: {what} from {file}."])
