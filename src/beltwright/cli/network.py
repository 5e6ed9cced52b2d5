"""Commands for a book on a plant network: the people who may use it, tokens for programs, the certificate for HTTPS."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from beltwright.cli import screen
from beltwright.cli.options import book_option, by_option, opened

if TYPE_CHECKING:
    from beltwright.desk.register import Register

_ROLES = "look, note, plan, or keep (the book)"


@contextmanager
def _register(where: str, *, write: bool = True) -> Iterator[Register]:
    from beltwright.book.register import BookRegister

    with opened(where, write=write) as book:
        yield BookRegister(book)


@click.group(short_help="Who may use the book on a network.")
def people() -> None:
    """Who may use the book where it is served on a network."""


@people.command("add")
@click.argument("name")
@click.option("--role", required=True, metavar="ROLE", help=f"What they may: {_ROLES}.")
@book_option
@by_option
def add(name: str, role: str, where: str, by: str) -> None:
    """Add NAME; shows a first password to hand over, changed at the first log-in.

    look: sees drives and readings; note: takes readings, does jobs; plan: enters
    drives, opens jobs; keep: people, settings, export and backup.
    """
    from beltwright.desk.people import add as add_person
    from beltwright.plant.identity import now

    with _register(where) as register:
        person, given = add_person(register, name, role, by=by or "the command line", at=now())
    screen.show([f"{person.name} may now {person.role}.", *_handed(given)])


@people.command("list")
@click.option("--changes", is_flag=True, help="Also who changed what.")
@book_option
def list_people(changes: bool, where: str) -> None:
    """List everybody, with role and state."""
    from beltwright.cli.table import Column, table

    with _register(where, write=False) as register:
        rows = [(person.name, person.role, "has left" if person.retired_at else
                 "has a first password" if person.first else "") for person in register.people()]
        lines = register.changes(most=1000) if changes else []
    if not rows:
        screen.show(["The book has no people yet."])
        return
    width, signs = screen.width(), screen.signs()
    shown = list(table((Column("name"), Column("role"), Column("")), rows, width=width, signs=signs))
    if lines:
        said = [(f"{line.at:%Y-%m-%d %H:%M}", line.by, line.what, line.about, line.detail) for line in lines]
        shown += ["", *table((Column("UTC"), Column("who"), Column("what", least=8), Column("whose"),
                              Column("", least=4)), said, width=width, signs=signs)]
    screen.show(shown)


@people.command("role")
@click.argument("name")
@click.argument("role")
@book_option
@by_option
def role(name: str, role: str, where: str, by: str) -> None:
    """Give NAME another ROLE."""
    from beltwright.desk.people import change_role, find
    from beltwright.plant.identity import now

    with _register(where) as register:
        person = change_role(register, find(register, name).id, role, by=by or "the command line", at=now())
    screen.show([f"{person.name} may now {person.role}."])


@people.command("password")
@click.argument("name")
@book_option
@by_option
def password(name: str, where: str, by: str) -> None:
    """Give NAME a first password; ends every log-in of theirs."""
    from beltwright.desk.people import find, reset_password
    from beltwright.plant.identity import now

    with _register(where) as register:
        person = find(register, name)
        given = reset_password(register, person.id, by=by or "the command line", at=now())
    screen.show([f"{person.name} is logged out everywhere.", *_handed(given)])


@people.command("retire")
@click.argument("name")
@book_option
@by_option
def retire(name: str, where: str, by: str) -> None:
    """NAME has left: no way in any more; what they noted stays."""
    from beltwright.desk.people import find
    from beltwright.desk.people import retire as retire_person
    from beltwright.plant.identity import now

    with _register(where) as register:
        person = retire_person(register, find(register, name).id, by=by or "the command line", at=now())
    screen.show([f"{person.name} has no way in any more; what they noted stays."])


@people.command("back")
@click.argument("name")
@book_option
@by_option
def back(name: str, where: str, by: str) -> None:
    """NAME, who had left, is back with the same role."""
    from beltwright.desk.people import bring_back, find
    from beltwright.plant.identity import now

    with _register(where) as register:
        person, given = bring_back(register, find(register, name).id, by=by or "the command line", at=now())
    screen.show([f"{person.name} may {person.role} again.", *_handed(given)])


@click.group(short_help="Tokens for programs that call the pages.")
def token() -> None:
    """Tokens for other programs, each in a person's name."""


@token.command("make")
@click.argument("name")
@click.argument("label")
@click.option("--role", metavar="ROLE", help="No higher than the person's, which it is when not given.")
@book_option
@by_option
def make(name: str, label: str, role: str | None, where: str, by: str) -> None:
    """Make a token in the name of NAME; LABEL says what it is for. Shown once."""
    from beltwright.desk.people import find, make_token
    from beltwright.plant.identity import now

    with _register(where) as register:
        made, secret = make_token(register, find(register, name).id, label, role, by=by or "the command line",
                                  at=now())
    screen.show([f"{made.label}: may {made.role}. Shown this once and kept nowhere:", secret])


@token.command("list")
@book_option
def list_tokens(where: str) -> None:
    """List tokens and calendars that still count."""
    from beltwright.cli.table import Column, table

    with _register(where, write=False) as register:
        names = {person.id: person.name for person in register.people()}
        rows = [(each.id.hex[-_MARK:], each.label, names[each.person_id], each.role, each.purpose,
                 f"{each.used_at:%Y-%m-%d}" if each.used_at else "never")
                for each in register.tokens() if each.ended_at is None]
    if not rows:
        screen.show(["There are no tokens."])
        return
    screen.show(table((Column("mark"), Column("for", least=8), Column("whose"), Column("may"), Column("opens"),
                       Column("used")), rows, width=screen.width(), signs=screen.signs()))


@token.command("end")
@click.argument("mark")
@book_option
@by_option
def end(mark: str, where: str, by: str) -> None:
    """End the token with that MARK, as `list` shows it."""
    from beltwright.desk.people import end_token
    from beltwright.errors import Unknown
    from beltwright.plant.identity import now

    with _register(where) as register:
        found = [each for each in register.tokens() if each.id.hex.endswith(mark.casefold()) and each.ended_at is None]
        if len(found) != 1:
            raise Unknown(f"{'no token has' if not found else 'several tokens have'} the mark {mark!r}: see "
                          "beltwright token list")
        ended = end_token(register, found[0].id, by=by or "the command line", at=now())
    screen.show([f"{ended.label} opens nothing any more."])


@click.command(short_help="Make or renew the certificate for HTTPS.")
@click.option("--name", "names", multiple=True, metavar="NAME",
              help="Name or address by which phones reach this computer; several are taken. Without it, this "
                   "computer's own.")
@click.option("--folder", type=click.Path(path_type=Path), help="Where to keep it; beside the book when not given.")
@click.option("--renew", is_flag=True, help="Make the certificate anew although it still counts.")
@book_option
def tls(names: tuple[str, ...], folder: Path | None, renew: bool, where: str) -> None:
    """Make the plant's own authority, and with it a certificate for this computer.

    Phones that were made to trust the authority (the page /trust says how) go on trusting when the certificate is
    renewed, which `serve` does by itself. The authority can vouch for nothing outside a plant.
    """
    from beltwright.plant.identity import now
    from beltwright.web import certificates

    folder = folder or certificates.beside(where)
    with opened(where) as book:
        plant = book.settings().plant
    made = certificates.make(folder, names or _known_names(folder) or certificates.own_names(), plant=plant, at=now(),
                             renew=renew)
    state = "new" if made.new_server else "as it was"
    screen.show([
        f"certificate  {made.files.server} ({state}), until {made.until:%Y-%m-%d}",
        f"for          {', '.join(made.names)}",
        f"authority    {made.files.authority} ({'new' if made.new_authority else 'as it was'})",
        "fingerprint", *_in_lines(made.fingerprint), "",
        "Keep the two .key files to yourself. Phones: open /trust on the served pages and compare the fingerprint."])


_MARK = 6


def _handed(given: str) -> list[str]:
    return [f"First password: {given}", "Hand it over now: it is shown this once, and changed at the first log-in."]


def _known_names(folder: Path) -> tuple[str, ...]:
    from beltwright.web.certificates import Certificates, names_of

    files = Certificates.at(folder)
    return names_of(files.server) if files.server.exists() else ()


def _in_lines(fingerprint: str) -> list[str]:
    pairs = fingerprint.split(":")
    return [f"  {' '.join(pairs[start:start + 8])}" for start in range(0, len(pairs), 8)]
